"""What a frame's picture says, as a template may print it: patches, readings, the unexplained difference, the proof."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.facts import Fact
from webapp.ledger.consistency import LEAST_STEPS
from webapp.ledger.evidence import BLACK_TO_THE_EYE_STOPS, PatchEvidence
from webapp.ledger.explanations import Attribution, Explanation
from webapp.pictures.readings import PatchReading
from webapp.pictures.reasons import Reason as Noted
from webapp.quantities.by_eye import Seen, seen_text
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.shoots.evidence import StandingEvidence
from webapp.shoots.explain import Explained, HeadKnown
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.readings import PatchOfFrame
from webapp.web.drawings.drawing import Drawing
from webapp.web.pages.figures import signed
from webapp.web.pages.histogram import histogram
from webapp.web.pages.level_chart import Level, level_chart
from webapp.web.pages.patch_form import patch_texts
from webapp.web.pages.read_figures import CLIPPED_SHARE, read_words, tone_of
from webapp.web.pages.standing_evidence_view import proof_lines, room_lines
from webapp.web.words import tone_curve
from webapp.web.words.explanations import sentence_of, telling_frame_of, title_of
from webapp.web.words.listing import joined
from webapp.web.words.say import maybe_say, say

_BY_EYE = "Read by eye: good to about a third of a stop. A file of this frame takes its place once it is measured."
_BLACK_BY_EYE = f"Nothing to be seen puts it at least {-BLACK_TO_THE_EYE_STOPS:.0f} stops below mid-tone, where a screen shows black."
_NO_PATCH = "No patch is drawn: the middle of the picture serves."


# --- the frame's page ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PatchRow:
    """A patch with its reading in this frame."""

    patch_id: str
    name: str
    wanted: str
    read: str
    off: str
    off_tone: str
    predicted: str
    measured: str
    unexplained: str
    tone: str
    tolerance: str
    clipped: str
    notes: tuple[str, ...]
    drawing: Drawing | None
    typed: Mapping[str, str]
    revision: int
    read_exactly: str = ""


@dataclass(frozen=True, slots=True)
class EyeForm:
    """Where what is seen by eye of a frame is typed, on the page for shooting or on its own. `pictured`: a picture of it
    is there to be measured; `example` is what could be typed; `typed` is what was refused, and `problem` why."""

    frame_id: str
    number: int
    pictured: bool
    example: str
    on_set: bool
    typed: str = ""
    problem: str = ""


def eye_form(
    frame: LoggedFrame, patches: Sequence[str], *, on_set: bool = False, typed: str = "", problem: str = ""
) -> EyeForm:
    """The form for a frame; `patches` are the names of those that it can be read at."""
    example = Seen(patches[0] if len(patches) > 1 else "", -1 / 3, about_wanted=True)
    pictured = bool(frame.pictures)
    return EyeForm(frame.row.id, frame.row.number, pictured, seen_text(example), on_set, typed, problem)


@dataclass(frozen=True, slots=True)
class ExplanationView:
    key: str
    title: str
    sentence: str
    leaves: str
    can_take: bool
    set_apart: bool
    contradicted: bool


@dataclass(frozen=True, slots=True)
class EvidenceView:
    """Everything that a frame's picture says."""

    frame_id: str
    revision: int
    levels: Drawing | None
    rows: tuple[PatchRow, ...]
    notes: tuple[str, ...]
    verdict: str
    verdict_tone: str
    gave: tuple[str, ...]
    solo_wanted: str
    series: str
    explanations: tuple[ExplanationView, ...]
    choice: str
    test_frame: str
    said: tuple[str, ...]
    proof: tuple[str, ...]
    room: tuple[str, ...]
    waiting: str


def evidence_view(
    frame: LoggedFrame,
    patches: tuple[PatchOfFrame, ...],
    explained: Explained,
    standing: StandingEvidence,
    *,
    still_to_measure: int = 0,
    lengths: Lengths = CENTIMETRES,
) -> EvidenceView:
    seen = {each.patch_id: each for each in frame.evidence.patches}
    rows = tuple(_patch_row(each, seen.get(each.patch.id if each.patch else None)) for each in patches)
    verdict, tone = _verdict(frame, explained.attribution)
    proof = standing.proof if standing.proof and standing.proof.frame_id == frame.row.id else None
    return EvidenceView(
        frame_id=frame.row.id,
        revision=frame.row.revision,
        levels=level_chart(
            [_level(each, seen.get(each.patch.id if each.patch else None)) for each in patches],
            f"levels-{frame.row.id}",
        ),
        rows=rows,
        notes=_by_patches(rows),
        verdict=verdict,
        verdict_tone=tone,
        gave=tuple(say(each) for each in (*explained.says, *_left_over(explained))),
        solo_wanted=explained.solo_wanted,
        series=tone_curve.series_words(explained.series) if explained.series is not None else "",
        explanations=tuple(_explanation(each, lengths) for each in explained.attribution.explanations),
        choice=_choice(explained.attribution),
        test_frame=telling_frame_of(explained.attribution, lengths),
        said=tuple(_said(frame, patches, explained)),
        proof=proof_lines(proof) if proof else (),
        room=room_lines(proof) if proof else (),
        waiting=_waiting(frame, still_to_measure),
    )


def _by_patches(rows: Sequence[PatchRow]) -> tuple[str, ...]:
    """What is to be noted of the patches, once for all of which the same is."""
    noted: dict[str, list[str]] = {}
    for row in rows:
        for note in (f"{row.clipped}." if row.clipped else "", *row.notes):
            if note:
                noted.setdefault(note, []).append(row.name)
    return tuple(f"{joined(names)}: {note}" for note, names in noted.items())


def _left_over(explained: Explained) -> tuple[Fact, ...]:
    return explained.left_over.says if explained.left_over is not None else ()


def _level(of: PatchOfFrame, seen: PatchEvidence | None) -> Level:
    """A patch on the level chart. Where it was predicted is where it reads, less what is unexplained."""
    if seen is None:
        return Level(of.name, of.wanted_stops)
    read, unexplained = seen.read_stops, seen.unexplained_stops
    return Level(
        of.name,
        seen.wanted_stops,
        read,
        seen.at_most_stops if read is None and not seen.by_eye else None,
        is_least=seen.clipped_high_share > CLIPPED_SHARE,
        by_eye=seen.by_eye,
        predicted_stops=read - unexplained if read is not None and unexplained is not None else None,
        tolerance_stops=seen.tolerance_stops,
        unexplained_stops=unexplained,
    )


def _patch_row(of: PatchOfFrame, seen: PatchEvidence | None) -> PatchRow:
    reading = of.reading
    off = None if seen is None or seen.read_stops is None else seen.read_stops - seen.wanted_stops
    place = of.patch
    return PatchRow(
        patch_id=place.id if place else "",
        name=of.name,
        wanted=signed(of.wanted_stops),
        read=read_words(seen) if seen else "–",
        off=signed(off),
        off_tone="unknown" if off is None else "even" if abs(off) < 0.05 else "over" if off > 0 else "under",
        predicted=signed(seen.predicted_stops if seen else None),
        measured=signed(seen.measured_stops if seen else None),
        unexplained=signed(seen.unexplained_stops if seen else None),
        tone=tone_of(seen) if seen else "unknown",
        tolerance=f"±{seen.tolerance_stops:.2f}" if seen and seen.tolerance_stops else "",
        clipped=_clipped(reading),
        notes=_notes(of, seen),
        drawing=histogram(reading, of.wanted_stops) if reading else None,
        typed=patch_texts(place) if place else {},
        revision=place.revision if place else 1,
        read_exactly=f"{seen.read_stops:.2f}" if seen and seen.read_stops is not None else "",
    )


def _clipped(reading: PatchReading | None) -> str:
    if reading is None:
        return ""
    parts = []
    for channel in reading.channels:
        for share, words in ((channel.clipped_high_share, "white"), (channel.clipped_low_share, "black")):
            if share >= 0.001:
                parts.append(f"{channel.channel} {share:.1%} {words}")
    return ", ".join(parts)


def _notes(of: PatchOfFrame, seen: PatchEvidence | None) -> tuple[str, ...]:
    notes = [of.trouble] if of.trouble else []
    notes += [say(note) for note in (of.reading.notes if of.reading else ()) if note.reason != Noted.NO_PATCH_DRAWN]
    why_not = maybe_say(seen.why_not) if seen is not None else ""
    if why_not and why_not not in notes:
        notes.append(why_not)
    return tuple(notes)


def _verdict(frame: LoggedFrame, attribution: Attribution) -> tuple[str, str]:
    furthest = frame.evidence.furthest
    if frame.is_reference:
        return ("The reference frame: the others are read against it.", "quiet") if frame.evidence.first else ("", "")
    if furthest is None:
        return "", ""
    tolerance = f"±{furthest.tolerance_stops:.1f}"
    if not furthest.is_told:
        return f"The picture reads as the ledger says, within the tolerance of {tolerance}.", "even"
    found = f"{signed(furthest.unexplained_stops)} at {furthest.name} is unexplained (tolerance {tolerance})."
    if not attribution.explanations:
        return f"{found} No usual slip has this size; the log or the light was another.", tone_of(furthest)
    if not attribution.explanations[0].fits:
        return f"{found} No usual slip explains all of it; what comes nearest:", tone_of(furthest)
    return f"{found} What would explain it:", tone_of(furthest)


def _choice(attribution: Attribution) -> str:
    """Where nothing tells the causes apart, whose word counts."""
    offered = [each for each in attribution.explanations if each.can_take]
    if not offered or any(each.set_apart for each in offered):
        return ""
    if len(offered) == 1:
        return "The picture does not prove it: take it if you know it."
    return "The picture does not tell these apart: take one if you know it."


def _explanation(each: Explanation, lengths: Lengths) -> ExplanationView:
    leaves = ", ".join(f"{name} {signed(stops)}" for name, stops in each.leaves.items())
    title, sentence = title_of(each, lengths), sentence_of(each, lengths)
    return ExplanationView(
        each.key, title, sentence, f"leaves {leaves}", each.can_take, each.set_apart, each.contradicted
    )


def _said(frame: LoggedFrame, patches: tuple[PatchOfFrame, ...], explained: Explained) -> list[str]:
    said = []
    if frame.evidence.first is not None and patches and patches[0].patch is None:
        said.append(_NO_PATCH)
    if any(each.by_eye for each in frame.evidence.patches):
        said.append(_BY_EYE)
    if any(each.by_eye and each.read_stops is None for each in frame.evidence.patches):
        said.append(_BLACK_BY_EYE)
    if any(each.estimated for each in frame.evidence.patches):
        said.append(tone_curve.NOT_KNOWN)
    if any(each.scene is not None for each in frame.evidence.patches):
        said.append(tone_curve.KNOWN)
    for name, off in explained.sums:
        said.append(f"At {name} the frames lit by one light alone add up to {signed(off)} of the frame lit by all.")
    said += [words for head in explained.heads for words in head_words(head)]
    if (pair := explained.crossed_pair) is not None:
        count = f"{pair.count} reading{'s' * (pair.count != 1)}"
        said.append(f"These crossed polarisers take {pair.loss_stops:.1f} stops together (median of {count}).")
    return said


def head_words(head: HeadKnown) -> list[str]:
    """What is known of a head: its spread by power, and what a marked stop of it gives."""
    words = []
    for run in head.known.runs:
        spread = run.spread
        words.append(
            f"{head.letter}, {head.name}, {abs(run.power_stops):.1f} stops below full over {spread.count} frames: standard "
            f"deviation {spread.deviation_stops:.2f}, range {spread.range_stops:.2f}, drift {signed(spread.drift_stops, 2)}, "
            f"first frame {signed(spread.first_frame_stops, 2)} against the rest."
            + (
                f" {run.stood_out} of {spread.count + run.stood_out} stood out and are not counted."
                if run.stood_out
                else ""
            )
        )
    step = head.known.step
    if step is not None:
        words.append(
            f"{head.letter}, {head.name}: one marked stop gives {step.slope:.2f} (median of {step.count} changes, scatter "
            f"{step.scatter_stops:.2f}); corrections use it."
        )
    elif head.known.step_readings:
        left = LEAST_STEPS - head.known.step_readings
        if left > 0:
            words.append(
                f"{head.letter}, {head.name}: {left} more changes of power to read before its own curve is known."
            )
    return words


def _waiting(frame: LoggedFrame, still_to_measure: int) -> str:
    if not frame.pictures:
        return "" if frame.evidence.first else "No picture, so nothing to read."
    if not still_to_measure:
        return ""
    return f"{still_to_measure} picture{'s' * (still_to_measure != 1)} of this shot still to be measured."

"""What a frame's picture says, as a template may print it: patches, readings, the unexplained difference, the proof."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from webapp.facts import Fact
from webapp.ledger.ambient_proof import WANTED_MARGIN_STOPS, AmbientProof, Standing
from webapp.ledger.consistency import LEAST_STEPS
from webapp.ledger.evidence import BLACK_TO_THE_EYE_STOPS, FrameEvidence, PatchEvidence, RoomPlace
from webapp.ledger.explanations import Attribution, Explanation
from webapp.ledger.left_over_map import LeftOverMap, Region, left_over_fact
from webapp.ledger.ratio import CONVENTIONS
from webapp.ledger.reasons import Reason as Origin
from webapp.pictures.readings import PatchReading
from webapp.pictures.reasons import Reason as Noted
from webapp.quantities.angles import bearing_text, read_bearing
from webapp.quantities.by_eye import Seen, seen_text
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.numbers import read_number
from webapp.quantities.reading import UNKNOWN, plain
from webapp.records.tables import Patch
from webapp.shoots.evidence import PatchTotal, StandingEvidence
from webapp.shoots.explain import Explained, HeadKnown
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.readings import PatchOfFrame, picture_size
from webapp.web.drawings.drawing import Drawing
from webapp.web.pages.figures import percent, signed
from webapp.web.pages.histogram import histogram
from webapp.web.pages.level_chart import Level, level_chart
from webapp.web.words import tone_curve
from webapp.web.words.explanations import sentence_of, telling_frame_of, title_of
from webapp.web.words.gains import left_over_words
from webapp.web.words.in_picture import in_picture_words
from webapp.web.words.listing import joined
from webapp.web.words.proof import NO_PROOF, age_words, proof_line
from webapp.web.words.ratios import both_ratios, key_to_fill_text
from webapp.web.words.say import maybe_say, say

_OVERLAY_WIDTH = 1000
_USUAL_HEIGHT = 667
_BY_EYE = "Read by eye: good to about a third of a stop. A file of this frame takes its place once it is measured."
_BLACK_BY_EYE = f"Nothing to be seen puts it at least {-BLACK_TO_THE_EYE_STOPS:.0f} stops below mid-tone, where a screen shows black."
# So much of a patch clipped, and what it reads is a bound.
_CLIPPED_SHARE = 0.01
_NO_PATCH = "No patch is drawn: the middle of the picture serves."


_FACES = ("bearing_deg", "elevation_deg")
"""The fields of where a patch's face of the subject points."""


@dataclass(frozen=True, slots=True)
class AmbientLine:
    """The proof as the head of the shot's page says it, with where it was made."""

    text: str
    tone: str
    href: str = ""
    age: str = ""
    key: str = "Ambient check"


def ambient_line(proof: AmbientProof | None) -> AmbientLine:
    """The line about the ambient light."""
    if proof is None:
        return AmbientLine(NO_PROOF, "quiet")
    narrow = proof.standing is Standing.HOLDS and not proof.is_wide
    line = proof_line(proof)
    text = f"{line} ({WANTED_MARGIN_STOPS:.0f} wanted)" if narrow else line
    holds = proof.standing is Standing.HOLDS and proof.is_wide and not proof.is_old
    tone = "even" if holds else "over"
    return AmbientLine(text, tone, f"/frames/{proof.frame_id}", age_words(proof), "Check again")


@dataclass(frozen=True, slots=True)
class RatioView:
    """The lighting ratio as it stands, and the form that aims at another."""

    text: str
    stands: str
    conventions: tuple[str, ...] = CONVENTIONS


def total_lines(evidence: StandingEvidence) -> tuple[str, ...]:
    """The measured totals, a line a patch."""
    return tuple(_total_line(each) for each in evidence.totals)


def _total_line(found: PatchTotal) -> str:
    if found.total.stops is None:
        words = maybe_say(found.total.reason)
        return f"At {found.name}: {words[:1].lower()}{words[1:]}"
    shares = ", ".join(f"{letter} {percent(share)}" for letter, share in sorted(found.shares.by_light.items()))
    where = "the recipe's frame" if _is_of_recipe(found) else "the reference frame"
    how = "read by eye" if found.shares.by_eye else "measured"
    return f"Total at {found.name} {signed(found.total.stops)} (shares {how} in {where}: {shares})."


def _is_of_recipe(found: PatchTotal) -> bool:
    return any(each.reason == Origin.SHARE_OF_RECIPE for each in found.shares.origin.values())


def ratio_view(evidence: StandingEvidence) -> RatioView | None:
    found = evidence.ratio
    if found is None or found.ratio is None:
        return None
    ratio, stops = found.ratio, found.ratio.key_minus_fill_stops
    return RatioView(
        f"Key {ratio.key} to fill {ratio.fill} at {found.name}: {both_ratios(stops)}, {signed(stops)} stops.",
        key_to_fill_text(stops),
    )


# --- a line of the log --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ReadFigures:
    """Reading and unexplained difference as a line of the log has them."""

    read: str = ""
    unexplained: str = ""
    tone: str = "unknown"
    title: str = ""


def read_figures(evidence: FrameEvidence) -> ReadFigures:
    """Of the patch that has most to say: the one furthest off for its tolerance, else the first."""
    seen = evidence.furthest if evidence.furthest is not None and evidence.furthest.is_told else evidence.first
    if seen is None:
        return ReadFigures()
    more = f"{seen.name}, " if len(evidence.patches) > 1 else ""
    tolerance = f"{more}tolerance ±{seen.tolerance_stops:.1f}" if seen.tolerance_stops else maybe_say(seen.why_not)
    return ReadFigures(read_words(seen), signed(seen.unexplained_stops), _tone(seen), tolerance)


def read_words(seen: PatchEvidence) -> str:
    """What a patch reads, and whether an eye judged it."""
    if seen.by_eye:
        return f"{'black' if seen.read_stops is None else signed(seen.read_stops)} by eye"
    if seen.read_stops is None:
        return f"< {signed(seen.at_most_stops)}"
    return ("≥ " if seen.clipped_high_share > _CLIPPED_SHARE else "") + signed(seen.read_stops)


def _tone(seen: PatchEvidence) -> str:
    if seen.unexplained_stops is None:
        return "unknown"
    return ("over" if seen.unexplained_stops > 0 else "under") if seen.is_told else "even"


# --- the frame's page ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PatchBox:
    """A patch on the overlay, in its units."""

    name: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Mark:
    """What is marked on the picture beside the patches: an outline in the units of the overlay, where its word stands,
    and what a screen reader says of it."""

    path: str
    x: float
    y: float
    word: str
    spoken: str


@dataclass(frozen=True, slots=True)
class Easel:
    """The picture with the patches over it, and what is marked besides."""

    frame_id: str
    picture: str
    alt: str
    original: str
    width: int
    height: int
    boxes: tuple[PatchBox, ...]
    marks: tuple[Mark, ...] = ()


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


def easel(
    frame: LoggedFrame, patches: tuple[PatchOfFrame, ...], left_over: LeftOverMap | None = None
) -> Easel | None:
    """The picture that is shown, with what is marked on it; None where no preview is there yet."""
    shown = next((each for each in frame.pictures if each.preview), None)
    if shown is None:
        return None
    width_px, height_px = picture_size(shown)
    height = round(_OVERLAY_WIDTH * height_px / width_px) if width_px and height_px else _USUAL_HEIGHT
    boxes = tuple(
        PatchBox(
            each.name,
            each.patch.x * _OVERLAY_WIDTH,
            each.patch.y * height,
            each.patch.width * _OVERLAY_WIDTH,
            each.patch.height * height,
        )
        for each in patches
        if each.patch is not None
    )
    return Easel(
        frame.row.id,
        f"/pictures/{shown.digest}/preview",
        f"picture of frame {frame.row.number}",
        f"/pictures/{shown.digest}/original",
        _OVERLAY_WIDTH,
        height,
        boxes,
        (
            *(_room_mark(frame.evidence.room, height) if frame.evidence.room else ()),
            *(_left_over_mark(region, height) for region in (left_over.regions if left_over else ())),
        ),
    )


def _left_over_mark(region: Region, height: float) -> Mark:
    """The outline of a place where light is left over."""
    sides = [
        f"M{x * _OVERLAY_WIDTH:.1f} {y * height:.1f}L{to_x * _OVERLAY_WIDTH:.1f} {to_y * height:.1f}"
        for x, y, to_x, to_y in region.edges
    ]
    told = left_over_fact(region)
    words = left_over_words(told)
    place = in_picture_words(*region.middle).removeprefix("the ")
    at = region.place
    return Mark(
        "".join(sides),
        at.x * _OVERLAY_WIDTH,
        max(at.y * height - 8.0, 28.0),
        signed(region.stops) if abs(region.stops) >= _TOLD_STOPS else "colour",
        f"{place}, {words} left over",
    )


# Less is a colour and no light.
_TOLD_STOPS = 0.1
# A cell is too small to be seen: the mark stands round it.
_LEAST_MARK = 36.0


def _room_mark(room: RoomPlace, height: float) -> Iterator[Mark]:
    """Where the room comes nearest in an ambient check."""
    x, y = room.place.middle
    width, tall = max(room.place.width * _OVERLAY_WIDTH, _LEAST_MARK), max(room.place.height * height, _LEAST_MARK)
    left = min(max(x * _OVERLAY_WIDTH - width / 2, 0.0), _OVERLAY_WIDTH - width)
    top = min(max(y * height - tall / 2, 0.0), height - tall)
    path = f"M{left:.1f} {top:.1f}h{width:.1f}v{tall:.1f}h{-width:.1f}z"
    word = "clipped" if room.clips else "room"
    spoken = f"{'the check is clipped' if room.clips else 'the room comes nearest'} at {in_picture_words(x, y)}"
    yield Mark(path, left, max(top - 8.0, 28.0), word, spoken)


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
        proof=_proof_lines(proof) if proof else (),
        room=_room_lines(proof) if proof else (),
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
        is_least=seen.clipped_high_share > _CLIPPED_SHARE,
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
        tone=_tone(seen) if seen else "unknown",
        tolerance=f"±{seen.tolerance_stops:.2f}" if seen and seen.tolerance_stops else "",
        clipped=_clipped(reading),
        notes=_notes(of, seen),
        drawing=histogram(reading, of.wanted_stops) if reading else None,
        typed=patch_texts(place) if place else {},
        revision=place.revision if place else 1,
        read_exactly=f"{seen.read_stops:.2f}" if seen and seen.read_stops is not None else "",
    )


def patch_texts(patch: Patch) -> dict[str, str]:
    """A patch as the page's form has it; `percents` is the way back."""
    sides = {name: f"{100 * getattr(patch, name):.1f}".removesuffix(".0") for name in ("x", "y", "width", "height")}
    faces = {} if patch.bearing_deg is None else {"bearing_deg": bearing_text(patch.bearing_deg)}
    if patch.elevation_deg is not None:
        faces["elevation_deg"] = f"{patch.elevation_deg:g}"
    return {"name": patch.name, "wanted_stops": signed(patch.wanted_stops), **faces, **sides}


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
        return f"{found} No usual slip has this size; the log or the light was another.", _tone(furthest)
    if not attribution.explanations[0].fits:
        return f"{found} No usual slip explains all of it; what comes nearest:", _tone(furthest)
    return f"{found} What would explain it:", _tone(furthest)


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


def _proof_lines(proof: AmbientProof) -> tuple[str, ...]:
    """What is proven, when it was, and what to do about it."""
    age = age_words(proof)
    lines = (proof_line(proof) + ".", f"{age[:1].upper()}{age[1:]}." if age else "")
    return tuple(filter(None, (*lines, *map(say, proof.advice))))


def _room_lines(proof: AmbientProof) -> tuple[str, ...]:
    """What the room's light does, where, and its colour."""
    lines = []
    if proof.now_stops is not None and proof.mid_tone_lift_stops is not None:
        at_most = "at most " if proof.is_bound else ""
        lines.append(
            f"At a margin of {proof.now_stops:.1f} the room lifts mid-tones by {at_most}"
            f"{signed(proof.mid_tone_lift_stops, 2)} and a shadow five stops down by {at_most}"
            f"{signed(proof.shadow_lift_stops, 2)}."
        )
    return tuple(filter(None, (*lines, maybe_say(proof.where), maybe_say(proof.colour))))


def _waiting(frame: LoggedFrame, still_to_measure: int) -> str:
    if not frame.pictures:
        return "" if frame.evidence.first else "No picture, so nothing to read."
    if not still_to_measure:
        return ""
    return f"{still_to_measure} picture{'s' * (still_to_measure != 1)} of this shot still to be measured."


def percents(said: Mapping[str, str]) -> dict[str, str | float | None]:
    """A patch as the page's form has it, sides in per cent, a bearing in words and true minus signs, as the use-case
    takes it: a number where it is one, what was typed where it is none. A face that is unknown has no direction."""
    values: dict[str, str | float | None] = {}
    for name, typed in said.items():
        if name == "name":
            values[name] = typed
            continue
        if name in _FACES and plain(typed) == UNKNOWN:
            values |= dict.fromkeys(_FACES)
            continue
        try:
            if name in _FACES:
                values[name] = read_bearing(typed) if name == "bearing_deg" else read_number(typed, unit="°")
                continue
            values[name] = read_number(typed, unit="%") / (1.0 if name == "wanted_stops" else 100.0)
        except ValueError:
            values[name] = typed
    return values

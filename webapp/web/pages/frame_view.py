"""The log as a template may print it: a line a frame."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from webapp.ledger import fields
from webapp.ledger.assessment import Assessment
from webapp.ledger.set_up import SetUp
from webapp.quantities.lengths import Lengths
from webapp.quantities.marks import mark_text
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.series import Series, in_series
from webapp.shoots.stack_offers import Run
from webapp.web.pages.figures import MINUS, plural, signed, tone
from webapp.web.pages.read_figures import ReadFigures, read_figures
from webapp.web.words.entries import entry_words
from webapp.web.words.frames import VERDICTS, not_written_words, shown_value
from webapp.web.words.listing import joined
from webapp.web.words.say import say


@dataclass(frozen=True, slots=True)
class ConflictView:
    """File against set-up, for one field."""

    frame_id: str
    field: str
    words: str
    holds: str
    other_words: str
    other: str


@dataclass(frozen=True, slots=True)
class ChangesSince:
    """What was changed since an earlier frame: a line a cause, with what it brought in stops, "" where it brought none.
    Without lines the heading says that nothing was, or nothing at all."""

    heading: str
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class FrameRow:
    """One line of the log; `as_of` is the last change that is in it."""

    id: str
    as_of: int
    number: int
    picture: str
    picture_alt: str
    set_text: str
    changed: str
    balances: tuple[tuple[str, str, str], ...]
    purpose: str
    is_reference: bool
    verdict: str
    verdict_words: str
    because: str
    conflicts: tuple[ConflictView, ...]
    not_written: str
    taken_back: bool
    trouble: str
    edited: bool
    late: str
    logged_by: str
    figures: ReadFigures


@dataclass(frozen=True, slots=True)
class LogLine:
    """A line of the log: one frame, or the frames of a series with the `words` that stand for all of them."""

    rows: tuple[FrameRow, ...]
    words: str = ""

    @property
    def newest(self) -> FrameRow:
        return self.rows[0]


@dataclass(frozen=True, slots=True)
class StackOffer:
    """A run of frames that may be a stack, by the first of them."""

    first_id: str
    words: str


def stack_offers(runs: Iterable[Run]) -> tuple[StackOffer, ...]:
    """ "Frames 2 to 13: a stack?", for each run."""
    return tuple(StackOffer(run[0].id, f"Frames {run[0].number} to {run[-1].number}: a stack?") for run in runs)


@dataclass(frozen=True, slots=True)
class FramesView:
    """The log of a shot, newest first: `rows` are its frames, `lines` the same with each series as one; a page holds at
    most so many (`most`), and the others are those `older_than` a number."""

    shot_id: str
    rows: tuple[FrameRow, ...]
    lines: tuple[LogLine, ...]
    most: int
    older_than: int | None
    notices: tuple[str, ...] = ()
    still_to_measure: int = 0
    stacks: tuple[StackOffer, ...] = ()


def frames_view(
    shot_id: str,
    frames: list[LoggedFrame],
    limit: int,
    lengths: Lengths,
    notices: tuple[str, ...] = (),
    still_to_measure: int = 0,
    stacks: tuple[StackOffer, ...] = (),
) -> FramesView:
    """The newest `limit` frames of those given, and whether there are older ones."""
    shown = frames[:limit]
    older = shown[-1].row.number if shown and len(frames) > limit else None
    lines = tuple(_log_line(found, lengths) for found in in_series(shown))
    rows = tuple(row for line in lines for row in line.rows)
    return FramesView(shot_id, rows, lines, limit, older, notices, still_to_measure, stacks)


def _log_line(found: LoggedFrame | Series, lengths: Lengths) -> LogLine:
    if isinstance(found, Series):
        return LogLine(tuple(frame_row(frame, lengths) for frame in found.frames), series_words(found))
    return LogLine((frame_row(found, lengths),))


def series_words(series: Series) -> str:
    """A series on one line: "Frames 7 to 18 · stack of 12 · focus −0.1 to 3.1 mm, step 0.29 mm"."""
    parts = [f"Frames {series.first_number} to {series.last_number}", f"stack of {series.count}"]
    if series.positions_mm:
        first, last = (
            f"{place:g}".replace("-", MINUS) for place in (series.positions_mm[0], series.positions_mm[-1])
        )
        parts.append(f"focus {first} to {last} mm, step {series.step_mm:.2g} mm")
    return " · ".join([*parts, set_text(series.frames[0].set_up)])


def frame_row(frame: LoggedFrame, lengths: Lengths) -> FrameRow:
    """One frame as a line of the log, its lengths as the reader likes them."""
    row, ledger = frame.row, frame.ledger
    picture = next((each for each in frame.pictures if each.preview), None)
    waiting = next((each for each in frame.pictures if not each.preview), None)
    return FrameRow(
        id=row.id,
        as_of=frame.as_of,
        number=row.number,
        picture=f"/pictures/{picture.digest}/thumbnail" if picture else "",
        picture_alt=f"picture of frame {row.number}",
        set_text=set_text(frame.set_up),
        changed=changed_text(ledger, lengths),
        balances=tuple(
            (line.acts_on, signed(line.stops), tone(line.stops, line.target_stops)) for line in ledger.lit
        ),
        purpose=row.purpose,
        is_reference=frame.is_reference,
        verdict=row.verdict,
        verdict_words=VERDICTS.get(row.verdict, "").lower(),
        because=row.because,
        conflicts=conflict_views(frame),
        not_written=not_written_words(row.not_written, frame.set_up, lengths),
        taken_back=row.taken_back,
        trouble=(waiting.trouble or "preview to come") if waiting and not picture else "",
        edited=row.revision > 1,
        late="" if row.exposed_before is None else f"came late: exposed before frame {row.exposed_before}",
        logged_by=row.logged_by,
        figures=read_figures(frame.evidence),
    )


def conflict_views(frame: LoggedFrame) -> tuple[ConflictView, ...]:
    """Where the file and the set-up differ: what holds now, and the press that makes the other hold."""
    views = []
    for name, (was, told) in frame.conflicts.items():
        set_words, file_words = shown_value(name, was), shown_value(name, told)
        file_holds = fields.field_of(name).get(frame.set_up) == told
        views.append(
            ConflictView(
                frame_id=frame.row.id,
                field=name,
                words=f"file {file_words}, set {set_words}",
                holds="the file's is used" if file_holds else "the set-up's is used",
                other_words=f"Use {set_words}" if file_holds else f"Use {file_words}",
                other="set" if file_holds else "file",
            )
        )
    return tuple(views)


def set_text(set_up: SetUp) -> str:
    """A set-up on one line: "f/5.6 · 1/125 · ISO 100 · A 6.25 J"."""
    parts = [
        mark_text(set_up.f_number),
        mark_text(set_up.shutter),
        mark_text(set_up.iso),
    ]
    if set_up.pops > 1:
        parts.append(plural(set_up.pops, "pop"))
    lit = [f"{light.letter} {light.power_mark()}" for light in set_up.lights if light.lit]
    parts.extend(lit or (["all off"] if set_up.lights else ["no lights"]))
    return " · ".join(parts)


def changes_since(ledger: Assessment, lengths: Lengths) -> ChangesSince:
    """What changed since the frame before, a line a cause."""
    since = ledger.since_previous
    if since is None:
        return ChangesSince("", ())
    told = {entry_words(entry, lengths): signed(entry.stops) for entry in reversed(since.entries)}
    lines = (*reversed(told.items()), *((say(each), "") for each in ledger.switched))
    return ChangesSince(since_heading(ledger.previous_number, changed=bool(lines)), lines)


def since_heading(number: int | None, *, changed: bool) -> str:
    """What changes count from, or that there are none; nothing where there is no frame to compare with.

    >>> since_heading(5, changed=True), since_heading(5, changed=False), since_heading(None, changed=False)
    ('Changed since frame 5', 'The same settings as frame 5.', '')
    """
    if number is None:
        return ""
    return f"Changed since frame {number}" if changed else f"The same settings as frame {number}."


def changed_text(ledger: Assessment, lengths: Lengths) -> str:
    """What changed since the frame before, in a few words."""
    if ledger.since_previous is None:
        lit = joined([line.acts_on for line in ledger.lit])
        return f"first frame with {lit} lit" if lit else "nothing to compare with"
    told: dict[str, None] = {}
    for entry in ledger.since_previous.entries:
        told[entry_words(entry, lengths)] = None
    told.update(dict.fromkeys(map(say, ledger.switched)))
    return ", ".join(told) or "nothing"

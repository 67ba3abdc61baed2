"""Frames that look like a stack and are not called one: offered to be marked so by one press, and not again after a no.

They are a run of test frames with nothing changed between them while the focus moves one way, as their files say; where
the files do not say how far the focus was, frames that follow each other within seconds.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from sqlmodel import Session as Database

from webapp.errors import Conflict
from webapp.facts import fact
from webapp.ledger.assessment import Baselines, NumberedSetUp, assess
from webapp.pictures.metadata import PictureFacts
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.shots import InRun
from webapp.records.tables import Frame
from webapp.shoots.log_frame import keep_revision
from webapp.shoots.reasons import Reason
from webapp.shoots.series import SERIES_PURPOSE
from webapp.shoots.set_up_now import ORDINARY

LEAST: Final = 4
_LOOKED_THROUGH: Final = 200
_SOON: Final = dt.timedelta(seconds=10)
"""From one frame of a stack to the next, with time to turn the rail."""


@dataclass(frozen=True, slots=True)
class Exposed:
    """A frame of a run. `focus_mm` is the distance that its file tells, None where it tells none; `at` when it was
    exposed."""

    id: str
    number: int
    at: dt.datetime
    focus_mm: float | None = None


Run = tuple[Exposed, ...]


def offered(records: Records, shot_id: str) -> tuple[Run, ...]:
    """The runs of a shot that may be stacks, oldest first."""
    with records.reading() as db:
        return _offered(db, shot_id)


def mark(records: Records, shot_id: str, first_id: str) -> None:
    """Mark a run as a stack, by its first frame. Where it is still going on, the next frames belong to it. Raises Conflict
    where it is not offered any more."""
    with records.writing() as db:
        run = _run_from(db, shot_id, first_id)
        for each in run:
            row = shot_records.frame_of(db, each.id)
            # What an ordinary frame is for moves no figure.
            keep_revision(db, row, fact(Reason.FIELDS_CHANGED, fields=("purpose",)))
            row.purpose = SERIES_PURPOSE
            db.add(row)
        standing, before = shot_records.standing_of(db, shot_id), shot_records.frame_before(db, shot_id)
        previous = None if before is None else NumberedSetUp(before.number, before.set_up)
        now = assess(standing.set_up, Baselines(previous=previous))
        if now.is_unchanged and now.previous_number == run[-1].number and standing.purpose == ORDINARY:
            standing.purpose = SERIES_PURPOSE
            db.add(standing)


def decline(records: Records, shot_id: str, first_id: str) -> None:
    """Remember that a run is no stack. Raises Conflict where it is not offered any more."""
    with records.writing() as db:
        run = _run_from(db, shot_id, first_id)
        shot = shot_records.shot_of(db, shot_id)
        shot.no_stacks = (*shot.no_stacks, *(each.id for each in run))
        db.add(shot)


def _run_from(db: Database, shot_id: str, first_id: str) -> Run:
    runs = _offered(db, shot_id)
    found = next((run for run in runs if run[0].id == first_id), None)
    if found is None:
        raise Conflict("These frames are not offered as a stack any more; look at the log again.")
    return found


def _offered(db: Database, shot_id: str) -> tuple[Run, ...]:
    newest = shot_records.newest_with_facts(db, shot_id, _LOOKED_THROUGH)
    declined = newest[0].no_stacks if newest else ()
    rows = list({row.id: row for row in reversed(newest)}.values())
    exposed = (
        [Exposed(row.id, row.number, _at(row.facts, row.logged_at), _focus_mm(row.facts)) for row in group]
        for group in _unchanged(rows)
        if len(group) >= LEAST
    )
    return tuple(run for group in exposed for run in like_stacks(group) if run[0].id not in declined)


def may_go_on(frame: Frame) -> bool:
    """Whether a frame that was just logged can be the last of a run that looks like a stack."""
    return frame.number >= LEAST and frame.purpose == ORDINARY and frame.ledger.is_unchanged


def _unchanged(rows: Sequence[InRun]) -> list[list[InRun]]:
    """The ordinary frames, those together between which nothing was changed."""
    groups: list[list[InRun]] = [[]]
    for row in rows:
        group = groups[-1]
        if group and not (row.ledger.is_unchanged and row.ledger.previous_number == group[-1].number):
            group = []
            groups.append(group)
        if row.purpose == ORDINARY:
            group.append(row)
    return groups


def _focus_mm(facts: PictureFacts | None) -> float | None:
    """How far the focus was; at infinity it tells nothing of a step."""
    told = facts.subject_distance_mm if facts is not None else None
    return told if told is not None and math.isfinite(told) else None


def _at(facts: PictureFacts | None, logged_at: dt.datetime) -> dt.datetime:
    """When a frame was exposed, by the camera's clock where it tells; the two are never compared with each other."""
    if facts is not None and facts.taken_at:
        try:
            return dt.datetime.strptime(facts.taken_at, "%Y:%m:%d %H:%M:%S")
        except ValueError:
            pass
    return logged_at


def like_stacks(frames: Sequence[Exposed]) -> Iterator[Run]:
    """The runs, within frames of one set-up, that look like stacks."""
    run: list[Exposed] = []
    for frame in frames:
        if run and not _goes_on(run, frame):
            yield from _whole(run)
            # Where the focus turned round, the next run begins at the turn.
            run = run[-1:] if len(run) < LEAST and _follows(run[-1], frame) else []
        if len(run) == 1 and _is_same_focus(run[0], frame):
            run = []
        run.append(frame)
    yield from _whole(run)


def _whole(run: Sequence[Exposed]) -> Iterator[Run]:
    """A run that is long enough, without the frames at its end that were taken at one focus."""
    last = len(run)
    while last > 1 and _is_same_focus(run[last - 2], run[last - 1]):
        last -= 1
    if last >= LEAST:
        yield tuple(run[:last])


def _is_same_focus(first: Exposed, second: Exposed) -> bool:
    return first.focus_mm is not None and first.focus_mm == second.focus_mm


def _goes_on(run: Sequence[Exposed], frame: Exposed) -> bool:
    """Whether a frame goes on with a run: its focus further on in the same direction, or, untold, soon after it."""
    if not _follows(run[-1], frame):
        return False
    first, last, focus = run[0].focus_mm, run[-1].focus_mm, frame.focus_mm
    if first is None or last is None or focus is None:
        return True
    return (focus - last) * (last - first) >= 0.0


def _follows(before: Exposed, frame: Exposed) -> bool:
    """Whether both tell their focus, or neither and they follow closely."""
    if before.focus_mm is not None and frame.focus_mm is not None:
        return True
    if before.focus_mm is not None or frame.focus_mm is not None:
        return False
    same_clock = (before.at.tzinfo is None) == (frame.at.tzinfo is None)
    return same_clock and abs(frame.at - before.at) <= _SOON

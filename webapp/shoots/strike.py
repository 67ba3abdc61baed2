"""Closing a shot: what only the standing set knows is asked for, the answers are kept, and the set may be struck.

A closed shot is off the set: no file of the folder goes to it and no frame is logged for it until it is opened again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session as Database

from webapp.errors import Conflict, InvalidValue
from webapp.facts import fact
from webapp.ledger.set_up import SetUp
from webapp.ledger.worth_measuring import WorthMeasuring, completed, worth_measuring
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import Frame, Shot, now
from webapp.shoots.log_frame import keep_revision, recompute_from
from webapp.shoots.reasons import Reason
from webapp.shoots.sessions import put_on_set_in
from webapp.shoots.set_up_now import Change, StandingState, change_in, state_in

_FRAMES_OFFERED = 60


@dataclass(frozen=True, slots=True)
class FrameOffered:
    """A frame that the set may stand as it stood for. `chosen` is the one that a recipe would be made of."""

    id: str
    number: int
    purpose: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class BeforeStriking:
    """What the page before the set is struck needs: the state, the questions, and the frames that may be completed."""

    state: StandingState
    asked: tuple[WorthMeasuring, ...]
    frames: tuple[FrameOffered, ...]


@dataclass(frozen=True, slots=True)
class Struck:
    """What closing did. `completed` names the fields that were written into the frame; `frame_id` is None where nothing was."""

    shot: Shot
    frame_id: str | None
    completed: tuple[str, ...]


def before_striking(records: Records, shot_id: str) -> BeforeStriking:
    """What is asked before the set of a shot is struck."""
    with records.reading() as db:
        shot, standing = shot_records.shot_of(db, shot_id), shot_records.standing_of(db, shot_id)
        state = state_in(db, shot, standing)
        chosen = shot_records.frame_for_recipe(db, shot_id)
        rows = shot_records.frames_that_count(db, shot_id, limit=_FRAMES_OFFERED)
        if chosen is not None and all(row.id != chosen.id for row in rows):
            rows = [chosen, *rows]
    offered = tuple(FrameOffered(row.id, row.number, row.purpose, row is chosen or row == chosen) for row in rows)
    return BeforeStriking(state, worth_measuring(state.set_up), offered)


def strike(
    records: Records,
    shot_id: str,
    answers: Sequence[Change] = (),
    *,
    as_in_frame: str | None = None,
) -> Struck:
    """Close a shot. `answers` go into the standing set-up; what the frame `as_in_frame` does not know and the set does
    is written into it as a revision.

    Raises SeveralInvalid with every answer that cannot be kept and StaleValue where somebody else answered first:
    then nothing is kept, and the shot stays open. Raises Conflict for a shot that is closed already.
    """
    with records.writing() as db:
        shot, standing = shot_records.shot_of(db, shot_id), shot_records.standing_of(db, shot_id)
        if shot.closed_at is not None:
            raise Conflict(f"{shot.title} is closed already; open it again to answer for its set.")
        before = standing.set_up
        change_in(db, standing, answers)
        written: tuple[str, ...] = ()
        if as_in_frame:
            written = _complete(db, shot, as_in_frame, before, standing.set_up)
        shot.on_set = False
        shot.closed_at = now()
        db.add(shot)
        return Struck(shot, as_in_frame if written else None, written)


def _complete(db: Database, shot: Shot, frame_id: str, before: SetUp, stands: SetUp) -> tuple[str, ...]:
    frame: Frame = shot_records.frame_of(db, frame_id)
    if frame.shot_id != shot.id:
        raise InvalidValue("as_in_frame", "That frame belongs to another shot.")
    set_up, written = completed(frame.set_up, before, stands)
    if written:
        keep_revision(db, frame, fact(Reason.COMPLETED_BEFORE_STRIKING, fields=written))
        shot_records.freeze(db, frame, set_up)
        db.add(frame)
        db.flush()
        recompute_from(db, shot, frame)
    return written


def reopen(records: Records, shot_id: str) -> None:
    """Open a closed shot again: it is put on the set. One that is open stays as it is."""
    with records.writing() as db:
        shot = shot_records.shot_of(db, shot_id)
        if shot.closed_at is not None:
            shot.closed_at = None
            put_on_set_in(db, shot)


def fields_asked(asked: Sequence[WorthMeasuring]) -> tuple[str, ...]:
    """The fields of the set-up that the answers may write, whose versions a form carries."""
    names: list[str] = []
    for each in asked:
        of_place = each.field.startswith("lights.") and each.field.count(".") == 1
        names.extend([f"{each.field}.distance", f"{each.field}.position"] if of_place else [each.field])
    return tuple(names)

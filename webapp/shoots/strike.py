"""Closing a shot: what only the standing set knows is asked for, the answers are kept, and the set may be struck.

A closed shot is off the set: no file of the folder goes to it and no frame is logged for it until it is opened again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlmodel import Session as Database

from webapp.errors import Conflict, InvalidValue
from webapp.facts import fact
from webapp.kit.inventory import add_meter_reading
from webapp.ledger.placing import untaped_places
from webapp.ledger.set_up import SetUp
from webapp.ledger.worth_measuring import WorthMeasuring, completed, worth_measuring
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import Frame, Shot, now
from webapp.shoots import aside
from webapp.shoots.ambient_check import begin_ambient_check
from webapp.shoots.log_frame import keep_revision, recompute_from
from webapp.shoots.on_record import Kind, OnRecord, on_record
from webapp.shoots.reasons import Reason
from webapp.shoots.sessions import names_of_sets, put_on_set_in
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
    """What the page before the set is struck needs: the state, the questions, the places that no tape has
    confirmed, as fields, with the names of the sets that they were carried over from, the frames that may be completed, and what is on record of the set."""

    state: StandingState
    asked: tuple[WorthMeasuring, ...]
    untaped: tuple[str, ...]
    sets: Mapping[str, str]
    frames: tuple[FrameOffered, ...]
    on_record: tuple[OnRecord, ...]


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
        found = on_record(db, shot_id, state.set_up, state.evidence.proof)
    sets = names_of_sets(records, state.set_up)
    offered = tuple(FrameOffered(row.id, row.number, row.purpose, row is chosen or row == chosen) for row in rows)
    return BeforeStriking(state, worth_measuring(state.set_up), untaped_places(state.set_up), sets, offered, found)


def set_up(records: Records, shot_id: str, kind: str, about: str = "") -> StandingState:
    """Set up the frame that is missing of a set. Raises InvalidValue for what no frame tells."""
    match kind:
        case Kind.ONE_LIGHT:
            return aside.set_up_one_light(records, shot_id, about)
        case Kind.RULE:
            return aside.set_up_rule(records, shot_id)
        case Kind.AMBIENT:
            return begin_ambient_check(records, shot_id)
    known = ", ".join((Kind.ONE_LIGHT, Kind.RULE, Kind.AMBIENT))
    raise InvalidValue("kind", f"A frame is set up for one of: {known}.")


def keep_meter_reading(records: Records, shot_id: str, letter: str, f_number: str) -> str:
    """Keep what a meter read at the subject of a light, at ISO 100, with the power, the distance and the modifier that
    stand. Raises InvalidValue where one of them is unknown."""
    with records.reading() as db:
        light = shot_records.standing_of(db, shot_id).set_up.light(letter)
    if light is None or light.power_stops is None or light.distance_mm is None:
        raise InvalidValue("about", f"A reading of {letter[:10]} needs its power and its distance: set them first.")
    said = {
        "modifier_id": light.modifier.id if light.modifier else None,
        "f_number": f_number,
        "power": light.power_mark(),
        "distance_mm": light.distance_mm,
    }
    return add_meter_reading(records, light.head.id, said)


def strike(
    records: Records,
    shot_id: str,
    answers: Sequence[Change] = (),
    *,
    as_in_frame: str | None = None,
) -> Struck:
    """Close a shot. `answers` go into the set-up now; what the frame `as_in_frame` does not know and the set does
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
    """Open a closed shot again: it becomes the active shot. One that is open stays as it is."""
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

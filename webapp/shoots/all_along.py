"""What is measured late: one press writes it into the earlier frames that do not know it, and another takes it out.

Each frame keeps what it said as a revision, and every balance that rests on it is worked out anew in the same
transaction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session as Database

from webapp.errors import Conflict
from webapp.facts import fact
from webapp.ledger.all_along import AllAlong, completed, entered_late
from webapp.ledger.assessment import NumberedSetUp
from webapp.ledger.set_up import SetUp
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import Frame
from webapp.shoots.log_frame import keep_revision, recompute_from, restore
from webapp.shoots.reasons import Reason


@dataclass(frozen=True, slots=True)
class Offers:
    """What may be written into earlier frames, and what was written into them last and may be taken out again."""

    to_write: tuple[AllAlong, ...]
    to_take_out: tuple[AllAlong, ...]


def offers(records: Records, shot_id: str) -> Offers:
    """What a shot offers as its set stands now."""
    with records.reading() as db:
        return Offers(_to_write(db, shot_id, shot_records.standing_of(db, shot_id).set_up), _to_take_out(db, shot_id))


def write(records: Records, shot_id: str, field: str) -> None:
    """Write what is known now into the earlier frames that lack it. Raises Conflict where that is not offered any more."""
    with records.writing() as db:
        now = shot_records.standing_of(db, shot_id).set_up
        rows = _rows(db, shot_id, field, _to_write(db, shot_id, now))
        for row in rows:
            keep_revision(db, row, fact(Reason.ENTERED_LATE, field))
            shot_records.freeze(db, row, completed(row.set_up, now, field))
        _save(db, shot_id, rows)


def take_out(records: Records, shot_id: str, field: str) -> None:
    """Put back what the frames said before it was written into them. Raises Conflict where one of them was edited since."""
    with records.writing() as db:
        rows = _rows(db, shot_id, field, _to_take_out(db, shot_id))
        for row in rows:
            earlier = shot_records.revisions_of(db, row.id)[0]
            keep_revision(db, row, fact(Reason.REVISION_PUT_BACK, revision=earlier.revision))
            restore(db, row, earlier.document)
        _save(db, shot_id, rows)


def _to_write(db: Database, shot_id: str, now: SetUp) -> tuple[AllAlong, ...]:
    frozen = shot_records.set_ups_in(db, shot_id)
    return entered_late(now, [NumberedSetUp(number, set_up) for number, set_up in frozen])


def _to_take_out(db: Database, shot_id: str) -> tuple[AllAlong, ...]:
    """By field the frames of which it was the last edit."""
    found: dict[str, list[int]] = {}
    for number, what in shot_records.last_edits_in(db, shot_id):
        for each in what:
            if each.reason == Reason.ENTERED_LATE:
                found.setdefault(each.about, []).append(number)
    return tuple(AllAlong(field, tuple(numbers)) for field, numbers in found.items())


def _rows(db: Database, shot_id: str, field: str, offered: Sequence[AllAlong]) -> list[Frame]:
    numbers = next((each.frames for each in offered if each.field == field), None)
    if numbers is None:
        raise Conflict("The set-up or the frames have changed since this was offered; look at them again.")
    return [row for row in shot_records.all_frames_in(db, shot_id, numbers[0]) if row.number in numbers]


def _save(db: Database, shot_id: str, rows: Sequence[Frame]) -> None:
    db.add_all(rows)
    db.flush()
    shot = shot_records.shot_of(db, shot_id)
    recompute_from(db, shot, next((row for row in rows if row.id == shot.reference_frame_id), rows[0]))

"""Frames after they were logged: read, edit, exclude, include again, make the reference, compare with another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError
from sqlmodel import Session as Database

from webapp.errors import Conflict, InvalidValue, SeveralInvalid
from webapp.facts import Fact, fact
from webapp.ledger import field_values
from webapp.ledger.assessment import Assessment
from webapp.ledger.entries import Comparison, compare
from webapp.ledger.evidence import FrameEvidence
from webapp.ledger.exposures import exposure_of
from webapp.ledger.file_values import FileValue
from webapp.ledger.set_up import SetUp
from webapp.quantities.lengths import Lengths
from webapp.quantities.refused import invalid_fields
from webapp.records import arrivals as arrival_records
from webapp.records import mixes as mix_records
from webapp.records import recipes as recipe_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records, as_of
from webapp.records.revisions import refuse_stale
from webapp.records.tables import Frame, FrameRevision, Picture, Session, Shot
from webapp.shoots import exposures
from webapp.shoots.evidence import target_of, write_lines_of
from webapp.shoots.log_frame import (
    HERO,
    FrameWords,
    can_be_reference,
    keep_revision,
    recompute_all,
    recompute_from,
    restore,
)
from webapp.shoots.reasons import Reason
from webapp.shoots.set_up_now import Change, reader_in
from webapp.shoots.shelf import RecordedShelf

_READ_AT_ONCE = 100


@dataclass(frozen=True, slots=True)
class LoggedFrame:
    """A frame with its set-up, its ledger, what its picture says, and its pictures; `as_of` is the last change that is
    in it."""

    row: Frame
    set_up: SetUp
    ledger: Assessment
    evidence: FrameEvidence
    pictures: tuple[Picture, ...]
    is_reference: bool
    as_of: int

    @property
    def conflicts(self) -> dict[str, tuple[FileValue, FileValue]]:
        """By field: what was set, and what the file says."""
        file_values = self.row.file_values
        return {
            field: (was, file_values[field]) for field, was in self.row.set_values.items() if field in file_values
        }


@dataclass(frozen=True, slots=True)
class FrameStory:
    """A frame with what lies around it: its shot, its session, the frames before and after it, what it said before, and
    the shots that it can be moved to."""

    frame: LoggedFrame
    shot: Shot
    session: Session
    before: Frame | None
    after: Frame | None
    revisions: tuple[FrameRevision, ...]
    other_shots: tuple[Shot, ...]


@dataclass(frozen=True, slots=True)
class OnShow:
    """The frame of a shot that was logged last, and the last one that has a picture to be seen; None where there is no
    such frame. Frames that were taken back are passed over."""

    newest: LoggedFrame | None
    pictured: LoggedFrame | None
    as_of: int


def on_show(records: Records, shot_id: str, newest: LoggedFrame | None = None) -> OnShow:
    """What is on show while shooting. `newest` is the frame logged last, where it was read already."""
    with records.reading() as db:
        seen = as_of(db)
        row = None if newest else shot_records.newest_frame(db, shot_id)
        newest = newest or (_with_pictures(db, row) if row else None)
        if newest is None or any(each.preview for each in newest.pictures):
            return OnShow(newest, newest, seen)
        row = shot_records.newest_frame(db, shot_id, pictured=True)
        return OnShow(newest, _with_pictures(db, row) if row else None, seen)


def _with_pictures(db: Database, row: Frame) -> LoggedFrame:
    pictures = shot_records.pictures_of(db, [row.id])[row.id]
    return _logged(row, shot_records.shot_of(db, row.shot_id), pictures, as_of(db))


def page_of(records: Records, shot_id: str, *, limit: int, before_number: int | None = None) -> list[LoggedFrame]:
    """The newest frames of a shot first; `before_number` gives the older ones after them."""
    with records.reading() as db:
        shot = shot_records.shot_of(db, shot_id)
        rows = shot_records.frames_in(db, shot_id, limit=limit, before_number=before_number)
        pictures = shot_records.pictures_of(db, [row.id for row in rows])
    return [_logged(row, shot, pictures[row.id], as_of(db)) for row in rows]


def in_order(records: Records, shot_id: str, from_number: int = 1) -> Iterator[LoggedFrame]:
    """The frames of a shot, oldest first. They are read a hundred at a time, so that a long shot is never in memory
    whole; what is logged meanwhile may come along."""
    while True:
        with records.reading() as db:
            shot = shot_records.shot_of(db, shot_id)
            rows = shot_records.frames_from(db, shot_id, from_number, _READ_AT_ONCE)
            pictures = shot_records.pictures_of(db, [row.id for row in rows])
        yield from (_logged(row, shot, pictures[row.id], as_of(db)) for row in rows)
        if len(rows) < _READ_AT_ONCE:
            return
        from_number = rows[-1].number + 1


def one(records: Records, frame_id: str) -> LoggedFrame:
    """A frame by itself."""
    with records.reading() as db:
        return _with_pictures(db, shot_records.frame_of(db, frame_id))


def story(records: Records, frame_id: str) -> FrameStory:
    """A frame with its shot, session and revisions."""
    with records.reading() as db:
        row = shot_records.frame_of(db, frame_id)
        shot = shot_records.shot_of(db, row.shot_id)
        session = shot_records.session_of(db, shot.session_id)
        pictures = shot_records.pictures_of(db, [row.id])[row.id]
        before, after = shot_records.neighbours(db, row)
        revisions = shot_records.revisions_of(db, row.id)
        shots = shot_records.shots_in(db, session.id)
    others = tuple(each for each in shots if each.id != shot.id and each.closed_at is None)
    return FrameStory(_logged(row, shot, pictures, as_of(db)), shot, session, before, after, tuple(revisions), others)


def _logged(row: Frame, shot: Shot, pictures: Sequence[Picture], read_as_of: int) -> LoggedFrame:
    return LoggedFrame(
        row,
        row.set_up,
        row.ledger,
        row.seen,
        tuple(pictures),
        shot.reference_frame_id == row.id,
        read_as_of,
    )


@contextmanager
def reading(records: Records, frame_id: str, lengths: Lengths | None = None) -> Iterator[field_values.Reader]:
    """A reader of what was typed for the set-up that a frame froze, in the lengths of the house where none are given.
    Nothing is kept."""
    with records.reading() as db:
        yield reader_in(db, shot_records.frame_of(db, frame_id).set_up, lengths)


def edit(
    records: Records,
    frame_id: str,
    *,
    words: dict[str, Any] | None = None,
    changes: Sequence[Change] = (),
    revision: int | None = None,
    why: Sequence[Fact] = (),
) -> LoggedFrame:
    """Correct what a frame says: its words, its settings, or both. The earlier revision is kept, and every later
    frame that it touches is worked out anew. `revision` is the one that was read. `why` stands with the revision.

    Raises SeveralInvalid with every field that cannot be kept, and StaleRecord; then nothing is changed.
    """
    with records.writing() as db:
        row = shot_records.frame_of(db, frame_id)
        shot = shot_records.shot_of(db, row.shot_id)
        problems: list[InvalidValue] = []
        said = {name: getattr(row, name) for name in FrameWords.model_fields} | (words or {})
        try:
            checked = FrameWords.model_validate(said)
        except ValidationError as error:
            problems.extend(invalid_fields(error).problems)
        set_up, shelf = row.set_up, RecordedShelf(db)
        for each in changes:
            try:
                set_up = field_values.write(set_up, each.field, each.value, shelf, each.lengths)
            except InvalidValue as problem:
                problems.append(problem)
        if problems:
            raise SeveralInvalid(problems)
        moved = [each.field for each in changes] if set_up != row.set_up else []
        reworded = [name for name, value in checked.model_dump().items() if getattr(row, name) != value]
        refuse_stale(
            row,
            revision,
            {name: (getattr(row, name), getattr(checked, name)) for name in reworded}
            | {path: (field_values.text_of(row.set_up, path), field_values.text_of(set_up, path)) for path in moved},
        )
        if moved or reworded:
            keep_revision(db, row, *why, fact(Reason.FIELDS_CHANGED, fields=(*moved, *reworded)))
            for name in reworded:
                setattr(row, name, getattr(checked, name))
            if "verdict" in reworded and row.verdict == HERO:
                _step_down(db, shot_records.heroes_of(db, shot.id, but=row.id))
            shot_records.freeze(db, row, set_up)
            db.add(row)
            db.flush()
            recompute_from(db, shot, row)
    return one(records, frame_id)


def hold(records: Records, frame_id: str, field: str, which: str) -> LoggedFrame:
    """Settle a conflict between file and set-up: `which` is "file" or "set". The other value stays on record."""
    with records.writing() as db:
        row = shot_records.frame_of(db, frame_id)
        shot = shot_records.shot_of(db, row.shot_id)
        values = row.file_values if which == "file" else row.set_values
        if which not in ("file", "set") or field not in values:
            raise InvalidValue(field, "There is no such pair of values to choose from.")
        set_up = field_values.write(row.set_up, field, values[field], RecordedShelf(db))
        keep_revision(db, row, fact(Reason.VALUE_HELD, field, held=which))
        shot_records.freeze(db, row, set_up)
        db.add(row)
        db.flush()
        recompute_from(db, shot, row)
    return one(records, frame_id)


def _step_down(db: Database, heroes: Sequence[Frame]) -> None:
    """A shot has one hero: the one before is kept."""
    for row in heroes:
        keep_revision(db, row, fact(Reason.FIELDS_CHANGED, fields=("verdict",)))
        row.verdict = "stands"
        db.add(row)
        write_lines_of(db, shot_records.shot_of(db, row.shot_id), [row])


def take_back(records: Records, frame_id: str, *, taken_back: bool = True) -> LoggedFrame:
    """Take a frame out of the reckoning (or back in). It stays readable, and its number stays its own."""
    with records.writing() as db:
        row = shot_records.frame_of(db, frame_id)
        shot = shot_records.shot_of(db, row.shot_id)
        if taken_back and shot.reference_frame_id == row.id:
            raise _is_reference(row)
        if row.taken_back != taken_back:
            keep_revision(db, row, fact(Reason.FRAME_TAKEN_BACK if taken_back else Reason.FRAME_BROUGHT_BACK))
            row.taken_back = taken_back
            db.add(row)
            db.flush()
            recompute_from(db, shot, row)
    return one(records, frame_id)


def restore_revision(records: Records, frame_id: str, revision: int) -> LoggedFrame:
    """Put an earlier revision back; what stood until now is kept as a revision too."""
    with records.writing() as db:
        row = shot_records.frame_of(db, frame_id)
        shot = shot_records.shot_of(db, row.shot_id)
        earlier = next((each for each in shot_records.revisions_of(db, frame_id) if each.revision == revision), None)
        if earlier is None:
            raise InvalidValue("revision", f"Frame {row.number} has no revision {revision}.")
        keep_revision(db, row, fact(Reason.REVISION_PUT_BACK, revision=revision))
        restore(db, row, earlier.document)
        if row.taken_back and shot.reference_frame_id == row.id:
            raise Conflict(f"In revision {revision} frame {row.number} was excluded, and now it is the reference.")
        db.add(row)
        db.flush()
        recompute_from(db, shot, row)
    return one(records, frame_id)


def make_reference(records: Records, frame_id: str) -> LoggedFrame:
    """Hold all frames of the shot against this one from now on."""
    with records.writing() as db:
        row = shot_records.frame_of(db, frame_id)
        shot = shot_records.shot_of(db, row.shot_id)
        if row.taken_back:
            raise Conflict(f"Frame {row.number} is excluded: include it again before it can be the reference.")
        if row.purpose == shot_records.AMBIENT_CHECK:
            raise Conflict(f"Frame {row.number} is an ambient check: it has no flash to compare the others with.")
        shot.reference_frame_id = row.id
        db.add(shot)
        db.flush()
        recompute_from(db, shot, row)
    return one(records, frame_id)


def move(records: Records, frame_id: str, shot_id: str) -> LoggedFrame:
    """Move a frame, with its files, to another shot of its session. It stands there where it was exposed, under the next
    number, or under the one that it had there before; both shots are worked out anew. In a shot without a reference it
    becomes that. What is read and seen at the patches of one shot is not read at those of the other, and kept for the way
    back.

    Raises Conflict for a frame that its shot rests on (reference where another can be, hero, in a recipe or a saved mix)
    and for a closed shot, InvalidValue for a shot of another session.
    """
    with records.writing() as db:
        row = shot_records.frame_of(db, frame_id)
        left, shot = shot_records.shot_of(db, row.shot_id), shot_records.shot_of(db, shot_id)
        if left.id != shot.id:
            _refuse_move(db, row, left, shot)
            first, before = row.number, row.exposed_before
            was = fact(Reason.FRAME_MOVED, shot_id=left.id, shot=left.title, number=first, exposed_before=before)
            keep_revision(db, row, was)
            if left.reference_frame_id == row.id:
                left.reference_frame_id = None
            pictures = shot_records.pictures_of(db, [row.id])[row.id]
            row.number, row.exposed_before = _place_in(db, shot, row, pictures)
            row.shot_id = shot.id
            for arrival in arrival_records.of_frame(db, row.id):
                arrival.shot_id = shot.id
            if shot.reference_frame_id is None and target_of(db, shot) is None and can_be_reference(row):
                shot.reference_frame_id = row.id
            db.flush()
            recompute_all(db, left, first)
            recompute_from(db, shot, row)
    return one(records, frame_id)


def _refuse_move(db: Database, row: Frame, left: Shot, shot: Shot) -> None:
    if left.session_id != shot.session_id:
        raise InvalidValue("shot_id", f"A frame is moved within its session, and {shot.title} is of another.")
    if shot.closed_at is not None:
        raise Conflict(f"{shot.title} is closed: its set was struck. Open it again to move a frame to it.")
    others = [each for each in shot_records.all_frames_in(db, left.id) if each.id != row.id]
    if left.reference_frame_id == row.id and any(map(can_be_reference, others)):
        raise _is_reference(row)
    if row.verdict == HERO:
        raise Conflict(
            f"Frame {row.number} is the hero of {left.title}: call another the hero, or leave it open, first."
        )
    if recipe_records.version_of_frame(db, row.id) is not None:
        raise Conflict(f"Frame {row.number} was published in a recipe of {left.title}, and stays in that shot.")
    for mix in mix_records.saved_mixes_in(db, left.id):
        if row.id in mix.frames.values():
            raise Conflict(f"Frame {row.number} is part of the saved mix “{mix.name}”: delete that first.")


def _is_reference(row: Frame) -> Conflict:
    return Conflict(
        f"Frame {row.number} is the reference frame that the others are compared with: make another frame the "
        "reference first."
    )


def _place_in(db: Database, shot: Shot, row: Frame, pictures: Sequence[Picture]) -> tuple[int, int | None]:
    """The number of a frame in a shot that it comes to, and the number of the frame that it stands before."""
    for revision in shot_records.revisions_of(db, row.id):
        for was in revision.what:
            if was.reason == Reason.FRAME_MOVED and was["shot_id"] == shot.id:
                number, before = int(was.number("number")), was["exposed_before"]
                if shot_records.frame_with_number(db, shot.id, number) is None:
                    return number, before if isinstance(before, int) else None
    return shot_records.next_frame_number(db, shot.id), exposures.number_before(db, shot.id, row, pictures)


def ledger_between(records: Records, frame_id: str, against_id: str) -> Comparison:
    """A frame's entries and balances against any other frame."""
    after, before = one(records, frame_id), one(records, against_id)
    return compare(exposure_of(before.set_up), exposure_of(after.set_up))

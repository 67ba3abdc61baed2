"""What a transaction changed, read off the rows that it wrote: no use-case has to say it, and none can forget to.

The kinds are a closed list, by what an open page shows of them. `Records.writing` notes them at every flush and hands
them on after the commit; what was rolled back was never noted.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from sqlalchemy import inspect
from sqlmodel import Session as Database

from webapp.records.kept import shots_left_by
from webapp.records.tables import (
    TOLD_IN_TRAY,
    Arrival,
    ChecklistLine,
    Frame,
    Kit,
    LivePage,
    Notice,
    Patch,
    Picture,
    PictureLight,
    Reading,
    ReadingByEye,
    SavedMix,
    SetPhoto,
    Shot,
    Standing,
    Tape,
    WatchChoice,
)


@dataclass(frozen=True, slots=True)
class SetUpOf:
    """The set-up of a shot, what the next frame is for, the photos of its set, or whether it is on the set or closed."""

    shot_id: str


@dataclass(frozen=True, slots=True)
class FrameOf:
    """A frame of a shot: it is new, or it, its picture or its readings changed."""

    shot_id: str
    frame_id: str


@dataclass(frozen=True, slots=True)
class WholeShot:
    """What is said of a shot, its reference frame, its patches, or many of its frames at once."""

    shot_id: str


@dataclass(frozen=True, slots=True)
class NoticesOf:
    """The lines in a shot's log about files that could not be taken in."""

    shot_id: str


@dataclass(frozen=True, slots=True)
class ChecklistOf:
    """A line of a reshoot's checklist."""

    shot_id: str


@dataclass(frozen=True, slots=True)
class SavedMixesOf:
    """The mixes that are saved of a shot."""

    shot_id: str


@dataclass(frozen=True, slots=True)
class KitOfHouse:
    """The kit that can be chosen from."""


@dataclass(frozen=True, slots=True)
class LengthsOfHouse:
    """How lengths are read, on every page."""


@dataclass(frozen=True, slots=True)
class InTrayOfHouse:
    """What waits in the in-tray."""


@dataclass(frozen=True, slots=True)
class FolderOfHouse:
    """Which folder is watched."""


@dataclass(frozen=True, slots=True)
class LivePageEnded:
    """A live page was withdrawn."""

    token: str


OfShot = SetUpOf | FrameOf | WholeShot | NoticesOf | ChecklistOf | SavedMixesOf
Changed = OfShot | KitOfHouse | LengthsOfHouse | InTrayOfHouse | FolderOfHouse | LivePageEnded


@dataclass(frozen=True, slots=True)
class Noted:
    """What was noted in a block of work: what it changed, and the states that were reckoned in it by shot. `number` is
    that of its change, or for one that only read, of the last change before it."""

    number: int
    changed: frozenset[Changed] = frozenset()
    states: Mapping[str, object] = field(default_factory=dict)


_NOTES: Final = "notes"
_MOST_FRAMES: Final = 3
"""Where more frames than that are worked out anew in one transaction, it is the whole shot that changed."""
_STANDS: Final = ("on_set", "closed_at")


@dataclass(slots=True)
class _Notes:
    changed: set[Changed] = field(default_factory=set)
    # By shot the frames that were rewritten, which are many where others rest on them.
    rewritten: defaultdict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    deleted_shots: set[str] = field(default_factory=set)
    states: dict[str, object] = field(default_factory=dict)


def _notes(db: Database) -> _Notes:
    notes: _Notes = db.info.setdefault(_NOTES, _Notes())
    return notes


def keep_state(db: Database, shot_id: str, state: object) -> None:
    """Keep what was reckoned of a shot for those who are told of the change, so that it is not reckoned again."""
    _notes(db).states[shot_id] = state


def noted(db: Database, number: int) -> Noted:
    """What was noted in a block that has ended well."""
    notes = _notes(db)
    changed = set(notes.changed)
    for shot_id, frame_ids in notes.rewritten.items():
        if len(frame_ids) > _MOST_FRAMES:
            changed.add(WholeShot(shot_id))
        else:
            changed |= {FrameOf(shot_id, frame_id) for frame_id in frame_ids}
    left = {each for each in changed if getattr(each, "shot_id", None) not in notes.deleted_shots}
    return Noted(number, frozenset(left), notes.states)


def note_changes(db: Database) -> None:
    """Note what a flush has written, while new, changed and deleted rows can still be told apart."""
    notes = _notes(db)
    for row in (*db.new, *db.deleted, *(each for each in db.dirty if db.is_modified(each))):
        if isinstance(row, Frame) and row not in db.new:
            notes.rewritten[row.shot_id].add(row.id)
            for left in shots_left_by(row):
                notes.changed |= {WholeShot(left), WholeShot(row.shot_id)}
        elif isinstance(row, Shot) and row in db.deleted:
            notes.deleted_shots.add(row.id)
        elif isinstance(row, Shot):
            notes.changed |= set(_of_shot(db, row, notes))
        else:
            notes.changed |= set(_of_row(db, row))


def _of_shot(db: Database, shot: Shot, notes: _Notes) -> Iterator[Changed]:
    if shot in db.new:
        yield WholeShot(shot.id)
        return
    moved = {each.key for each in inspect(shot).attrs if each.history.has_changes()}
    if moved.intersection(_STANDS):
        yield SetUpOf(shot.id)
    if "reference_frame_id" in moved and shot.reference_frame_id is not None:
        # A frame that becomes the reference as it is logged has a line of its own; no other line reads otherwise.
        is_logged_now = FrameOf(shot.id, shot.reference_frame_id) in notes.changed
        yield SetUpOf(shot.id) if is_logged_now else WholeShot(shot.id)
    if moved.difference(_STANDS, {"reference_frame_id"}):
        yield WholeShot(shot.id)


def _of_row(db: Database, row: Any) -> Iterator[Changed]:
    match row:
        case Standing() | SetPhoto():
            yield SetUpOf(row.shot_id)
        case Frame():
            yield FrameOf(row.shot_id, row.id)
        case Picture():
            yield from _of_picture(db, row)
        case Reading() | PictureLight() if (picture := db.get(Picture, row.picture_id)) is not None:
            yield from _of_picture(db, picture)
        case ReadingByEye() if (frame := db.get(Frame, row.frame_id)) is not None:
            yield FrameOf(frame.shot_id, frame.id)
        case Patch():
            yield WholeShot(row.shot_id)
        case Notice():
            yield NoticesOf(row.shot_id)
        case ChecklistLine():
            yield ChecklistOf(row.shot_id)
        case SavedMix():
            yield SavedMixesOf(row.shot_id)
        case Kit():
            yield KitOfHouse()
        case Tape():
            yield LengthsOfHouse()
        case Arrival() if TOLD_IN_TRAY.intersection(inspect(row).attrs.state.history.sum()):
            yield InTrayOfHouse()
        case WatchChoice():
            yield FolderOfHouse()
        case LivePage() if row.withdrawn_at is not None or row in db.deleted:
            yield LivePageEnded(row.token)


def _of_picture(db: Database, picture: Picture) -> Iterator[Changed]:
    frame = db.get(Frame, picture.frame_id)
    if frame is not None:
        yield FrameOf(frame.shot_id, frame.id)

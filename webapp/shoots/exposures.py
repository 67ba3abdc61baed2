"""When a file was exposed, among the frames of a shot: one that comes late stands where it was exposed.

The order is that of the camera's own clock, among files of one camera. Where the clock was set back, the numbers that
the camera gives its files go on rising: a file with a higher number was not exposed before one with a lower.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from sqlmodel import Session as Database

from webapp.ledger.assessment import NumberedSetUp
from webapp.ledger.set_up import SetUp
from webapp.pictures.metadata import PictureFacts, order_of_exposure
from webapp.records import shots as shot_records
from webapp.records.tables import Frame, Picture
from webapp.shoots.together import moment

_NUMBERED = re.compile(r"(.*?)(\d+)\D*")


class Exposed(Protocol):
    """A file with its name and what it says."""

    @property
    def name(self) -> str: ...

    @property
    def facts(self) -> PictureFacts: ...


@dataclass(frozen=True, slots=True)
class Place:
    """Where a late file stands: before the frame `before_number`, after `previous` (None: before all), with the set-up
    that stood then."""

    before_number: int
    previous: NumberedSetUp | None
    set_up: SetUp


def place_of(db: Database, shot_id: str, file: Exposed) -> Place | None:
    """Where a file stands that was exposed before a frame of the shot; None for one that is the newest, or does not say
    when it was exposed."""
    later = [frame for frame, _ in _exposed_later(db, shot_id, file)]
    if not later:
        return None
    first = min(frame.stands_at for frame in later)
    before = shot_records.frame_before(db, shot_id, first)
    previous = None if before is None else NumberedSetUp(before.number, before.set_up)
    set_up = before.set_up if before is not None else later[0].set_up
    return Place(first, previous, set_up)


def lag_s(db: Database, shot_id: str, file: Exposed) -> float:
    """How many seconds before the newest picture of its camera in a shot a file was exposed; 0 where it is the newest."""
    times = [moment(picture.facts) for _, picture in _exposed_later(db, shot_id, file)]
    at = moment(file.facts)
    return max(((each - at).total_seconds() for each in times if each and at), default=0.0)


def _exposed_later(db: Database, shot_id: str, file: Exposed) -> list[tuple[Frame, Picture]]:
    at = order_of_exposure(file.facts)
    return [
        (frame, picture)
        for frame, picture in (shot_records.exposed_after(db, shot_id, at) if at else ())
        if picture.facts.camera == file.facts.camera and not _counts_on(picture.name, file.name)
    ]


def number_before(db: Database, shot_id: str, frame: Frame, pictures: Sequence[Exposed]) -> int | None:
    """The number of the frame of a shot that a frame of another shot stands before: as its picture was exposed, or, where
    that is not known, as it was logged. None where it is the newest."""
    if any(order_of_exposure(each.facts) for each in pictures):
        places = [found for each in pictures if (found := place_of(db, shot_id, each)) is not None]
        return min((each.before_number for each in places), default=None)
    later = shot_records.frame_logged_after(db, shot_id, frame.logged_at)
    return None if later is None else later.number


def _counts_on(name: str, other: str) -> bool:
    """Whether a camera named the other file after this one: the same letters, and a higher number."""
    first, second = (_NUMBERED.fullmatch(Path(each).stem.casefold()) for each in (name, other))
    if first is None or second is None or first[1] != second[1]:
        return False
    return int(second[2]) > int(first[2])

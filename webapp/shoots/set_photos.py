"""Photos of the set: added, told what they show, placed on the plan, and deleted with their files.

A photo is private: nothing that leaves the house is made of it, unless it was ticked for a recipe (`recipes.share.photos`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from webapp.errors import Conflict, InvalidValue, TooLarge
from webapp.pictures.store import PictureStore
from webapp.plan.positions import FURTHEST_MM
from webapp.records import set_photos as photo_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.revisions import revise
from webapp.records.tables import SetPhoto
from webapp.settings import Settings
from webapp.shoots.deletion import finish_deletion, list_for_deletion
from webapp.shoots.ingest import Intake

MOST_PHOTOS: Final = 60
"""Of one set."""
MOST_BYTES: Final = 100_000_000
LONGEST_CAPTION: Final = 300
_LONGEST_NAME: Final = 200


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a photo was taken, in millimetres from the middle of the subject (x to the camera's right, y the way that it
    looks), and the way that the photo looks, in degrees clockwise from the lens axis; None: at the subject."""

    x_mm: float
    y_mm: float
    looks_deg: float | None = None

    @property
    def looking_deg(self) -> float:
        if self.looks_deg is not None:
            return 180.0 - (180.0 - self.looks_deg) % 360.0
        return math.degrees(math.atan2(-self.x_mm, -self.y_mm)) if self.x_mm or self.y_mm else 0.0


def of_shot(records: Records, shot_id: str) -> Sequence[SetPhoto]:
    """The photos of the set of a shot. Raises NotFound."""
    with records.reading() as db:
        shot_records.shot_of(db, shot_id)
        return photo_records.of_shot(db, shot_id)


def one(records: Records, photo_id: str) -> SetPhoto:
    """A photo. Raises NotFound."""
    with records.reading() as db:
        return photo_records.photo_of(db, photo_id)


def add(records: Records, intake: Intake, shot_id: str, name: str, content: Iterable[bytes]) -> SetPhoto:
    """Add a photo to the set of a shot, also of one that is closed; the same content twice is one photo. Raises NotFound,
    PictureRefused for what is no picture, TooLarge, and Conflict where there are too many."""
    with records.reading() as db:
        shot_records.shot_of(db, shot_id)
        if photo_records.count_of(db, shot_id) >= MOST_PHOTOS:
            raise Conflict(f"A set has {MOST_PHOTOS} photos at most: delete some that you do not need.")
    kept = intake.keep_photo(name, _bounded(content))
    with records.writing() as db:
        shot_records.shot_of(db, shot_id)
        found = photo_records.same_in(db, shot_id, kept.digest)
        if found is None:
            name = name[-_LONGEST_NAME:]
            found = SetPhoto(shot_id=shot_id, digest=kept.digest, name=name, size_bytes=kept.size_bytes)
            db.add(found)
        return found


def _bounded(content: Iterable[bytes]) -> Iterator[bytes]:
    size = 0
    for chunk in content:
        size += len(chunk)
        if size > MOST_BYTES:
            raise TooLarge(f"A photo of the set has at most {MOST_BYTES / 1e6:.0f} MB.")
        yield chunk


def tell(records: Records, photo_id: str, caption: str, revision: int | None = None) -> SetPhoto:
    """Say what a photo shows. Raises InvalidValue, and StaleRecord where somebody else said otherwise since."""
    caption = " ".join(caption.split())
    if len(caption) > LONGEST_CAPTION:
        raise InvalidValue("caption", f"A caption has at most {LONGEST_CAPTION} letters.")
    return _revised(records, photo_id, {"caption": caption}, revision)


def place(records: Records, photo_id: str, spot: Spot | None, revision: int | None = None) -> SetPhoto:
    """Place a photo on the plan, or take it off it (None). Raises InvalidValue and StaleRecord."""
    if spot is None:
        return _revised(records, photo_id, {"x_mm": None, "y_mm": None, "looks_deg": None}, revision)
    if not math.hypot(spot.x_mm, spot.y_mm) <= FURTHEST_MM:
        raise InvalidValue("distance", f"A photo is placed within {FURTHEST_MM / 1000:.0f} m of the subject.")
    said = {"x_mm": spot.x_mm, "y_mm": spot.y_mm, "looks_deg": spot.looking_deg}
    return _revised(records, photo_id, said, revision)


def _revised(records: Records, photo_id: str, said: dict[str, Any], revision: int | None) -> SetPhoto:
    with records.writing() as db:
        photo = photo_records.photo_of(db, photo_id)
        revise(photo, said, revision)
        db.add(photo)
        return photo


def delete(records: Records, settings: Settings, store: PictureStore, photo_id: str) -> str:
    """Delete a photo for good, with its file and its ticks; the answer is its shot. Raises NotFound."""
    with records.writing() as db:
        photo = photo_records.photo_of(db, photo_id)
        shot_id = photo.shot_id
        list_for_deletion(settings, [photo.digest])
        photo_records.delete_photo(db, photo)
    finish_deletion(records, settings, store)
    return shot_id

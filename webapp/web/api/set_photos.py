"""The photos of a set: private, placed on the plan, and shown outside only with the recipes that they were ticked for."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Final, Self

from fastapi import APIRouter, File, Response, UploadFile
from pydantic import BaseModel, Field, model_validator
from starlette.responses import FileResponse

from webapp.errors import InvalidValue, NotKept, PictureRefused, TooLarge
from webapp.plan.positions import FURTHEST_MM, place_at
from webapp.recipes.share import photos
from webapp.records.tables import SetPhoto
from webapp.security.identity import owner_only
from webapp.services import InServices
from webapp.shoots import set_photos
from webapp.shoots.set_photos import LONGEST_CAPTION, Spot
from webapp.web.api.requests import Body, ItemId, JsonRoute, Number, Whole

router = APIRouter(tags=["photos of the set"], route_class=JsonRoute)

Revision = Annotated[Whole, Field(ge=1, le=2**31)]
Length = Annotated[Number, Field(ge=-FURTHEST_MM, le=FURTHEST_MM)]
_CHUNK_BYTES: Final = 1 << 20
_JPEG: Final[dict[int | str, dict[str, Any]]] = {
    200: {"description": "The photo.", "content": {"image/jpeg": {"schema": {"type": "string", "format": "binary"}}}}
}


class SpotAnswer(BaseModel):
    """Where a photo was taken, in millimetres from the middle of the subject (x to the camera's right, y the way that it
    looks), and the way that the photo looks, in degrees clockwise from the lens axis."""

    x_mm: float
    y_mm: float
    looks_deg: float


class SetPhotoAnswer(BaseModel):
    """A photo of the set."""

    id: str
    shot_id: str
    name: str
    size_bytes: int
    caption: str
    place: SpotAnswer | None
    revision: int
    added_at: dt.datetime
    added_by: str = Field(description="whose browser it was; empty for the owner's")

    @classmethod
    def of(cls, photo: SetPhoto) -> SetPhotoAnswer:
        placed = None
        if photo.x_mm is not None and photo.y_mm is not None and photo.looks_deg is not None:
            placed = SpotAnswer(x_mm=photo.x_mm, y_mm=photo.y_mm, looks_deg=photo.looks_deg)
        return cls(
            id=photo.id,
            shot_id=photo.shot_id,
            name=photo.name,
            size_bytes=photo.size_bytes,
            caption=photo.caption,
            place=placed,
            revision=photo.revision,
            added_at=photo.added_at,
            added_by=photo.added_by,
        )


class Captioned(Body):
    """What a photo shows. `revision` is the one that was read: where somebody said otherwise since, nothing is kept."""

    caption: str = Field(max_length=LONGEST_CAPTION)
    revision: Revision | None = None


class Placed(Body):
    """Where a photo was taken: by x and y, or by the distance along the floor and the bearing from the camera. Left out,
    `looks_deg` is at the subject."""

    x_mm: Length | None = None
    y_mm: Length | None = None
    distance_mm: Annotated[Number, Field(ge=0, le=FURTHEST_MM)] | None = None
    bearing_deg: Annotated[Number, Field(ge=-360, le=360)] | None = None
    looks_deg: Annotated[Number, Field(ge=-360, le=360)] | None = None
    revision: Revision | None = None

    @model_validator(mode="after")
    def _one_of_two(self) -> Self:
        told = {name for name in ("x_mm", "y_mm", "distance_mm", "bearing_deg") if getattr(self, name) is not None}
        if told not in ({"x_mm", "y_mm"}, {"distance_mm", "bearing_deg"}):
            raise ValueError("Tell a place by x_mm and y_mm, or by distance_mm and bearing_deg.")
        return self

    def spot(self) -> Spot:
        """The place as it is kept."""
        if self.x_mm is not None and self.y_mm is not None:
            return Spot(self.x_mm, self.y_mm, self.looks_deg)
        at = place_at(self.distance_mm or 0.0, self.bearing_deg or 0.0)
        return Spot(at.x_mm, at.y_mm, self.looks_deg)


@router.get("/shots/{shot_id}/set-photos")
def list_photos(services: InServices, shot_id: ItemId) -> list[SetPhotoAnswer]:
    """The photos of a shot's set, in the order in which they were added."""
    return [SetPhotoAnswer.of(each) for each in set_photos.of_shot(services.records, shot_id)]


@router.post("/shots/{shot_id}/set-photos", status_code=201)
def add_photo(services: InServices, shot_id: ItemId, photo: Annotated[UploadFile, File()]) -> SetPhotoAnswer:
    """Add a photo. The same file again is the photo that it was."""
    content = iter(lambda: photo.file.read(_CHUNK_BYTES), b"")
    try:
        added = set_photos.add(services.records, services.intake, shot_id, photo.filename or "", content)
    except (NotKept, TooLarge):
        raise
    except PictureRefused as reason:
        raise InvalidValue("photo", str(reason)) from reason
    return SetPhotoAnswer.of(added)


@router.get("/set-photos/{photo_id}")
def read_photo(services: InServices, photo_id: ItemId) -> SetPhotoAnswer:
    return SetPhotoAnswer.of(set_photos.one(services.records, photo_id))


@router.patch("/set-photos/{photo_id}")
def tell_photo(services: InServices, photo_id: ItemId, body: Captioned) -> SetPhotoAnswer:
    """Say what a photo shows."""
    return SetPhotoAnswer.of(set_photos.tell(services.records, photo_id, body.caption, body.revision))


@router.put("/set-photos/{photo_id}/place")
def place_photo(services: InServices, photo_id: ItemId, body: Placed) -> SetPhotoAnswer:
    """Place a photo on the plan."""
    return SetPhotoAnswer.of(set_photos.place(services.records, photo_id, body.spot(), body.revision))


@router.delete("/set-photos/{photo_id}/place")
def take_photo_off_the_plan(services: InServices, photo_id: ItemId) -> SetPhotoAnswer:
    return SetPhotoAnswer.of(set_photos.place(services.records, photo_id, None))


@router.get("/set-photos/{photo_id}/picture", response_class=Response, responses=_JPEG)
def picture_of_photo(services: InServices, photo_id: ItemId) -> Response:
    """What a page shows of a photo, made of its pixels alone."""
    path = services.intake.photo_preview(set_photos.one(services.records, photo_id).digest)
    return FileResponse(path, media_type="image/jpeg", headers={"Cache-Control": "private, no-cache"})


class TickedAnswer(BaseModel):
    """A photo that can be ticked for a recipe, and whether it is: students see it at their links."""

    photo: SetPhotoAnswer
    shared: bool


class Ticks(Body):
    """The photos that students are to see at the links to a recipe: these, and no others any more."""

    photo_ids: list[Annotated[str, Field(max_length=60)]] = Field(max_length=set_photos.MOST_PHOTOS)


@router.get("/recipes/{recipe_id}/set-photos")
def list_ticks(services: InServices, recipe_id: ItemId) -> list[TickedAnswer]:
    """The photos of the set that a recipe was published from, and which of them were ticked for it."""
    found = photos.tickable(services.records, recipe_id)
    return [TickedAnswer(photo=SetPhotoAnswer.of(each.photo), shared=each.shared) for each in found]


@router.put("/recipes/{recipe_id}/set-photos")
@owner_only
def tick_photos(services: InServices, recipe_id: ItemId, body: Ticks) -> list[TickedAnswer]:
    """Tick photos for a recipe. One whose tick is taken away is gone from the links at once."""
    photos.tick(services.records, recipe_id, body.photo_ids)
    return list_ticks(services, recipe_id)


@router.delete("/set-photos/{photo_id}", status_code=204)
@owner_only
def delete_photo(services: InServices, photo_id: ItemId) -> None:
    """Delete a photo for good, with its file."""
    set_photos.delete(services.records, services.settings, services.store, photo_id)

"""Patches and what is read at them in the pictures, by the file or by eye; and the scale of a picture."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field
from starlette.background import BackgroundTask
from starlette.responses import Response

from webapp.errors import InvalidValue
from webapp.ledger.evidence import MID_TONE_STOPS, EyeReading
from webapp.pictures.rule import scale_from_rule
from webapp.services import InServices, Services
from webapp.shoots import frames, readings
from webapp.shoots.readings import PatchOfFrame
from webapp.web.api.answers import Said, Stops
from webapp.web.api.facts import Answer, FactAnswer
from webapp.web.api.forms import Revision
from webapp.web.api.requests import Body, ItemId, JsonRoute, Number
from webapp.web.typed import typed_seen

router = APIRouter(tags=["readings"], route_class=JsonRoute)

Side = Annotated[Number, Field(ge=-1, le=1)]
Size = Annotated[Number, Field(gt=0, le=2)]
Level = Annotated[Number, Field(ge=-12, le=6)]
Bearing = Annotated[Number, Field(ge=-180, le=180)]
Elevation = Annotated[Number, Field(ge=-90, le=90)]
Tap = Annotated[Number, Field(ge=0, le=1)]
Name = Annotated[str, Field(min_length=1, max_length=40)]


class NewPatch(Body):
    """A patch for every frame of a shot: its place in fractions of the upright picture from the top left, and the
    level it ought to have, in stops about mid-tone (18 % of clipping)."""

    name: Name
    x: Side
    y: Side
    width: Size
    height: Size
    wanted_stops: Level = 0.0
    bearing_deg: Bearing | None = Field(None, description="where its face of the subject points, as seen from above")
    elevation_deg: Elevation | None = Field(
        None, description="the same, above the level; left out beside a bearing, 0"
    )


class PatchChanges(Body):
    """What is left out stays."""

    name: Name | None = None
    x: Side | None = None
    y: Side | None = None
    width: Size | None = None
    height: Size | None = None
    wanted_stops: Level | None = None
    bearing_deg: Bearing | None = Field(None, description="null, where sent, takes the direction away")
    elevation_deg: Elevation | None = None
    revision: Revision = None


class PatchAnswer(Answer):
    """A patch as it is drawn for a shot."""

    id: str
    shot_id: str
    name: str
    x: float
    y: float
    width: float
    height: float
    wanted_stops: float
    bearing_deg: float | None
    elevation_deg: float | None
    retired: bool
    revision: int
    created_at: dt.datetime


class ChannelAnswer(Answer):
    """One colour: its linear level, 1 being clipping, and what part of its places is clipped."""

    channel: str
    level: float
    clipped_high_share: float
    clipped_low_share: float


class MeasuredAnswer(Answer):
    """What was measured, in linear light. `level_stops` is about clipping; null where the patch cannot be told from
    black: then it is at most `at_most_stops`. `histogram` has the shares in half stops from 16 below clipping."""

    kind: str
    level: float
    level_stops: float | None
    at_most_stops: float
    noise: float
    estimated: bool = Field(description="from a rendered file, whose tone curve is not known")
    tolerance_stops: float | None
    channels: list[ChannelAnswer]
    histogram: list[float]
    notes: list[Said]
    note_facts: list[FactAnswer] = Field(validation_alias="notes")


class EyeAnswer(Answer):
    """What was seen by eye, in stops about mid-tone. `read_stops` is null where nothing was to be seen: the patch then
    is at most `at_most_stops`."""

    read_stops: Stops | None
    at_most_stops: Stops
    tolerance_stops: Stops | None

    @classmethod
    def of(cls, seen: EyeReading) -> EyeAnswer:
        return cls(
            read_stops=seen.read_stops,
            at_most_stops=seen.at_most_stops - MID_TONE_STOPS,
            tolerance_stops=seen.tolerance_stops,
        )


class FrameReadingAnswer(BaseModel):
    """A patch of a frame with its reading; null where it is not measured yet or could not be. A file's reading holds
    before the eye's."""

    patch_id: str | None = Field(description="null for the middle of the picture, where no patch is drawn")
    name: str
    wanted_stops: float
    picture: str
    reading: MeasuredAnswer | None
    trouble: str
    by_eye: EyeAnswer | None

    @classmethod
    def of(cls, found: PatchOfFrame) -> FrameReadingAnswer:
        return cls(
            patch_id=found.patch.id if found.patch else None,
            name=found.name,
            wanted_stops=found.wanted_stops,
            picture=found.picture_name,
            reading=MeasuredAnswer.model_validate(found.reading) if found.reading else None,
            trouble=found.trouble,
            by_eye=EyeAnswer.of(found.by_eye) if found.by_eye else None,
        )


class TypedSeen(Body):
    """What is seen by eye of a patch, as it would be typed; the patch may be left out where there is one or none.
    "unknown" takes back what was typed before."""

    typed: Annotated[
        str,
        Field(min_length=1, max_length=80, examples=["card -0.3", "card a third too bright", "black by eye"]),
    ]


class RuleTaps(Body):
    """Two taps on a rule, in fractions of the upright picture, and the length between them."""

    first: Annotated[list[Tap], Field(min_length=2, max_length=2)]
    second: Annotated[list[Tap], Field(min_length=2, max_length=2)]
    length_mm: Annotated[Number, Field(gt=0, le=100_000)]


class ScaleAnswer(Answer):
    """The scale of the picture; the magnification holds where the file shows the whole sensor."""

    mm_per_pixel: float
    field_width_mm: float
    field_height_mm: float
    magnification: float | None


@router.get("/shots/{shot_id}/patches")
def list_patches(services: InServices, shot_id: ItemId) -> list[PatchAnswer]:
    """The patches of a shot, in their order."""
    return [PatchAnswer.model_validate(each) for each in readings.patches_of(services.records, shot_id)]


@router.post("/shots/{shot_id}/patches", status_code=201, response_model=PatchAnswer)
def draw_patch(services: InServices, shot_id: ItemId, body: NewPatch) -> Response:
    """Draw a patch. Earlier pictures are measured at it off this request."""
    patch_id = readings.draw_patch(services.records, shot_id, body.model_dump())
    return _measured_anew(services, patch_id, 201)


@router.patch("/patches/{patch_id}", response_model=PatchAnswer)
def change_patch(services: InServices, patch_id: ItemId, body: PatchChanges) -> Response:
    """Change a patch. One that moved is measured anew in every picture."""
    said = body.model_dump(exclude_none=True, exclude={"revision"})
    if "bearing_deg" in body.model_fields_set and body.bearing_deg is None:
        said |= {"bearing_deg": None, "elevation_deg": None}
    readings.change_patch(services.records, patch_id, said, body.revision)
    return _measured_anew(services, patch_id)


@router.post("/patches/{patch_id}/retire", response_model=PatchAnswer)
def retire_patch(services: InServices, patch_id: ItemId) -> Response:
    """Measure a patch no more; its readings stay on record."""
    readings.retire_patch(services.records, patch_id)
    return _measured_anew(services, patch_id)


def _measured_anew(services: Services, patch_id: str, status: int = 200) -> Response:
    patch = readings.patch(services.records, patch_id)
    return Response(
        PatchAnswer.model_validate(patch).model_dump_json(),
        status,
        media_type="application/json",
        background=BackgroundTask(services.intake.catch_up, patch.shot_id),
    )


@router.get("/frames/{frame_id}/readings")
def frame_readings(services: InServices, frame_id: ItemId) -> list[FrameReadingAnswer]:
    """Every patch with its reading in this frame; the middle of the picture where none is drawn."""
    return [FrameReadingAnswer.of(each) for each in readings.readings_of_frame(services.records, frame_id)]


@router.post("/frames/{frame_id}/readings", status_code=201)
def read_by_eye(services: InServices, frame_id: ItemId, body: TypedSeen) -> list[FrameReadingAnswer]:
    """Keep what is seen by eye of a patch of this frame, with a picture or without; the answer is every reading."""
    seen = typed_seen(body.typed, readings.names_to_read(services.records, frame_id))
    readings.keep_by_eye(services.records, frame_id, seen)
    return frame_readings(services, frame_id)


@router.post("/frames/{frame_id}/scale")
def take_scale(services: InServices, frame_id: ItemId, body: RuleTaps) -> ScaleAnswer:
    """Millimetres per pixel, the field and the magnification from two taps on a rule. Nothing is kept."""
    frame = frames.one(services.records, frame_id)
    sizes = [readings.picture_size(each) for each in frame.pictures]
    width_px, height_px = next((size for size in sizes if all(size)), (0, 0))
    camera = frame.set_up.camera
    try:
        scale = scale_from_rule(
            (body.first[0], body.first[1]),
            (body.second[0], body.second[1]),
            body.length_mm,
            width_px=width_px,
            height_px=height_px,
            pixel_pitch_mm=max(camera.sensor_width_mm, camera.sensor_height_mm) / max(width_px, height_px, 1),
        )
    except ValueError as problem:
        raise InvalidValue("first", str(problem)) from problem
    return ScaleAnswer.model_validate(scale)

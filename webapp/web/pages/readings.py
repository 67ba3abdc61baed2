"""On a frame's page: draw patches, type what is seen, take an explanation into the frame, take the scale from a rule."""

from __future__ import annotations

import math
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.background import BackgroundTask
from starlette.responses import Response

from webapp.errors import InvalidValue, StaleRecord
from webapp.pictures.rule import RuleScale, scale_from_rule
from webapp.quantities.lengths import CENTIMETRES
from webapp.records.tables import Patch
from webapp.services import InServices, Services
from webapp.shoots import explain, frames, readings
from webapp.shoots.frames import LoggedFrame
from webapp.web.pages.form_view import RevisionView, revision_view
from webapp.web.pages.frames import PatchDraft, ScaleView, page_again
from webapp.web.pages.live_parts import Drawing, shown_fragment
from webapp.web.pages.patch_form import patch_texts, percents
from webapp.web.pages.render import go_to, wants_partial
from webapp.web.pages.shots import FormText
from webapp.web.typed import typed_seen

router = APIRouter()
Typed = Annotated[str, Form(max_length=40)]


@router.post("/frames/{frame_id}/patches")
def draw_patch(
    request: Request,
    services: InServices,
    frame_id: str,
    name: Typed = "",
    x: Typed = "",
    y: Typed = "",
    width: Typed = "",
    height: Typed = "",
    wanted_stops: Typed = "0",
    bearing_deg: Typed = "",
    elevation_deg: Typed = "",
) -> Response:
    """A patch for every frame of the shot, drawn on this one. Sides are in per cent of the picture."""
    said = {"name": name, "x": x, "y": y, "width": width, "height": height, "wanted_stops": wanted_stops}
    faces = {"bearing_deg": bearing_deg, "elevation_deg": elevation_deg}
    said |= {field: text for field, text in faces.items() if text.strip()}
    frame = frames.one(services.records, frame_id)
    try:
        readings.draw_patch(services.records, frame.row.shot_id, percents(said))
    except InvalidValue as problem:
        return page_again(request, services, frame_id, status=422, patch=PatchDraft(said, str(problem)))
    return _measured_anew(request, services, frame.row.shot_id, frame_id)


@router.post("/frames/{frame_id}/patches/{patch_id}")
def change_patch(
    request: Request,
    services: InServices,
    frame_id: str,
    patch_id: str,
    name: Typed = "",
    x: Typed = "",
    y: Typed = "",
    width: Typed = "",
    height: Typed = "",
    wanted_stops: Typed = "",
    bearing_deg: Typed = "",
    elevation_deg: Typed = "",
    revision: Annotated[int | None, Form(ge=1, le=2**31)] = None,
) -> Response:
    """Another name, place or wanted level. What is left empty stays."""
    said = {"name": name, "x": x, "y": y, "width": width, "height": height, "wanted_stops": wanted_stops}
    said |= {"bearing_deg": bearing_deg, "elevation_deg": elevation_deg}
    given = {field: text for field, text in said.items() if text.strip()}
    try:
        patch = readings.change_patch(services.records, patch_id, _moved_only(services, patch_id, given), revision)
    except (InvalidValue, StaleRecord) as error:
        status, problem = (409, "") if isinstance(error, StaleRecord) else (422, str(error))
        drawn = _revision(services, patch_id, given | ({"revision": str(revision)} if revision else {}), error)
        return page_again(
            request, services, frame_id, status=status, patch=PatchDraft(said, problem, patch_id, drawn)
        )
    return _measured_anew(request, services, patch.shot_id, frame_id)


@router.post("/frames/{frame_id}/patches/{patch_id}/retire")
def retire_patch(request: Request, services: InServices, frame_id: str, patch_id: str) -> Response:
    """Measure a patch no more."""
    patch = readings.retire_patch(services.records, patch_id)
    return _measured_anew(request, services, patch.shot_id, frame_id)


@router.post("/frames/{frame_id}/by-eye")
def read_by_eye(
    request: Request,
    services: InServices,
    frame_id: str,
    typed: Annotated[str, Form(max_length=80)] = "",
    on_set: Annotated[bool, Form()] = False,
) -> Response:
    """What is seen by eye of a patch, typed on the page for shooting or on the frame's own. What was refused stays."""
    drawing = Drawing.of(services)
    frame = frames.one(services.records, frame_id)
    shot_id = frame.row.shot_id
    swaps = on_set and wants_partial(request)
    try:
        seen = typed_seen(typed, readings.names_to_read(services.records, frame_id))
        readings.keep_by_eye(services.records, frame_id, seen)
    except InvalidValue as problem:
        refused = drawing.eye_form(frame, on_set=swaps, typed=typed, problem=str(problem))
        if swaps:
            return Response(shown_fragment(drawing.shown(shot_id, refused=refused)), 422, media_type="text/html")
        return page_again(request, services, frame_id, status=422, by_eye=refused)
    if swaps:
        told = shown_fragment(drawing.shown(shot_id)) + drawing.line(shot_id, frames.one(services.records, frame_id))
        return Response(told, media_type="text/html")
    return go_to(request, f"/shots/{shot_id}" if on_set else f"/frames/{frame_id}")


@router.post("/frames/{frame_id}/explanations")
def take_explanation(
    request: Request,
    services: InServices,
    frame_id: str,
    key: FormText,
    revision: Annotated[int | None, Form()] = None,
) -> Response:
    """One press takes an explanation into the frame; what stood before is kept as a revision."""
    explain.take_into_frame(services.records, frame_id, key, revision)
    return go_to(request, f"/frames/{frame_id}")


@router.post("/frames/{frame_id}/scale")
def take_scale(
    request: Request,
    services: InServices,
    frame_id: str,
    x1: Typed = "",
    y1: Typed = "",
    x2: Typed = "",
    y2: Typed = "",
    length: Typed = "",
) -> Response:
    """Two taps on a rule and the length between them: the scale, the field and the magnification, to be taken into
    the set-up now from here."""
    said = {"x1": x1, "y1": y1, "x2": x2, "y2": y2, "length": length}
    frame = frames.one(services.records, frame_id)
    try:
        scale = _scale(frame, said)
    except ValueError as problem:
        return page_again(request, services, frame_id, status=422, scale=ScaleView(said, problem=str(problem)))
    return page_again(request, services, frame_id, scale=_scale_view(said, scale))


def _scale(frame: LoggedFrame, said: dict[str, str]) -> RuleScale:
    picture = next((each for each in frame.pictures if each.preview), None)
    if picture is None:
        raise ValueError("This frame has no picture to take a scale from.")
    width_px, height_px = readings.picture_size(picture)
    if not width_px or not height_px:
        raise ValueError("The file does not say how many pixels it has, so no scale can be taken from it.")
    taps = percents({name: said[name] for name in ("x1", "y1", "x2", "y2")})
    places = [value if isinstance(value, float) else math.nan for value in taps.values()]
    camera = frame.set_up.camera
    sensor_mm = max(camera.sensor_width_mm, camera.sensor_height_mm)
    return scale_from_rule(
        (places[0], places[1]),
        (places[2], places[3]),
        CENTIMETRES.read(said["length"], bare_mm=1.0),
        width_px=width_px,
        height_px=height_px,
        # A file with fewer pixels than the sensor is taken for the whole of it, made smaller.
        pixel_pitch_mm=sensor_mm / max(width_px, height_px),
    )


def _scale_view(said: dict[str, str], scale: RuleScale) -> ScaleView:
    assert scale.magnification is not None
    return ScaleView(
        said,
        words=(
            f"{scale.mm_per_pixel:.4g} mm a pixel; the field is {scale.field_width_mm:.4g} × {scale.field_height_mm:.4g} mm; "
            f"the magnification {scale.magnification:.3g}, if the file shows the whole sensor and the rule lies in the "
            "plane of focus."
        ),
        magnification=f"{scale.magnification:.3g}",
    )


def _revision(
    services: Services, patch_id: str, given: dict[str, str], error: InvalidValue | StaleRecord
) -> RevisionView:
    patch = readings.patch(services.records, patch_id)
    texts = (
        (readings.PatchForm.model_fields[name].title or name, text, given[name])
        for name, text in patch_texts(patch).items()
        if name in given
    )
    return revision_view(patch.revision, given, error, texts)


def _moved_only(services: Services, patch_id: str, given: dict[str, str]) -> dict[str, str | float | None]:
    """The fields that were changed. The page shows sides to a tenth of a per cent; a side that still reads so has
    not moved."""
    patch: Patch = readings.patch(services.records, patch_id)
    said = percents(given)
    return {
        name: value
        for name, value in said.items()
        if not (name in ("x", "y", "width", "height") and isinstance(value, float))
        or abs(value - getattr(patch, name)) > 0.0005 + 1e-9
    }


def _measured_anew(request: Request, services: Services, shot_id: str, frame_id: str) -> Response:
    answer = go_to(request, f"/frames/{frame_id}")
    answer.background = BackgroundTask(services.intake.catch_up, shot_id)
    return answer

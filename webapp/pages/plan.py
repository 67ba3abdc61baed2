"""The plan's page: drawn from the standing set-up or a frame, moved by hand, keys or numbers."""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from typing import Annotated, Any, Final

from fastapi import APIRouter, Form, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from webapp.errors import InvalidValue, SeveralInvalid, StaleValue
from webapp.house import House, InHouse
from webapp.ledger import frames, placing, standing
from webapp.ledger.geometry import plan_of
from webapp.ledger.placing import position_text
from webapp.ledger.proofs import PatchTotal
from webapp.ledger.set_up import SetUp, to_json
from webapp.ledger.standing import Change, StandingState
from webapp.pages.plan_view import Mirror, PlanView, Undo, plan_view
from webapp.pages.render import go_to, render, wants_partial
from webapp.pages.shots import FormText, PageId
from webapp.plan.positions import KINDS, KnownPoint, place_text, snapped, triangulate
from webapp.plan.shadow_card import shadow_card_png, side_by_side_png

router = APIRouter()
_PLACE_NAMES: Final = ("distance", "bearing", "height", "x", "y", "z", "known", "aim_x", "aim_y", "aim_z")


@router.get("/shots/{shot_id}/plan")
def shot_plan(request: Request, house: InHouse, shot_id: str, unit: str = "cm", under: str = "") -> Response:
    """The plan of the standing set-up; `under` is a frame whose plan is laid under it."""
    state = standing.state(house.records, shot_id)
    before = None
    if under:
        frame = frames.one(house.records, under)
        before = (f"frame {frame.row.number}", frame.set_up)
    return _page(request, house, state, unit, before=before)


@router.get("/frames/{frame_id}/plan")
def frame_plan(request: Request, house: InHouse, frame_id: str, unit: str = "cm", under: str = "") -> Response:
    """The plan that a frame froze."""
    story = frames.story(house.records, frame_id)
    before = None
    if under:
        frame = frames.one(house.records, under)
        before = (f"frame {frame.row.number}", frame.set_up)
    view = plan_view(
        story.frame.set_up,
        view_id=f"frame-{frame_id}",
        card=f"/frames/{frame_id}/plan/card.png" + (f"?beside={under}" if under else ""),
        action="",
        title=f"{story.shot.title}, frame {story.frame.row.number}",
        movable=False,
        inches=unit == "in",
        before=before,
    )
    return render(
        request,
        "plan.html",
        "plan.html",
        plan=view,
        shot=story.shot,
        frames=_frame_choices(house, story.shot.id, under),
        here_path=f"/frames/{frame_id}/plan",
    )


@router.get("/shots/{shot_id}/plan/card.png")
def shot_card(house: InHouse, shot_id: str) -> Response:
    """The shadow card of the standing set-up."""
    return _picture(shadow_card_png(plan_of(standing.state(house.records, shot_id).set_up)))


@router.get("/frames/{frame_id}/plan/card.png")
def frame_card(house: InHouse, frame_id: str, beside: str = "") -> Response:
    """The shadow card of a frame, or of two side by side."""
    plan = plan_of(frames.one(house.records, frame_id).set_up)
    if not beside:
        return _picture(shadow_card_png(plan))
    return _picture(side_by_side_png(plan, plan_of(frames.one(house.records, beside).set_up)))


def _picture(png: bytes) -> Response:
    return Response(png, media_type="image/png", headers={"Cache-Control": "no-cache"})


@router.post("/shots/{shot_id}/plan")
async def move(request: Request, house: InHouse, shot_id: str, page: PageId = "") -> Response:
    """Put a light or a thing elsewhere: by numbers, by a drag, or back again."""
    form = await request.form(max_files=0, max_fields=40)
    said = {name: value for name, value in form.items() if isinstance(value, str)}
    return await run_in_threadpool(_move, request, house, shot_id, said, page)


@router.post("/shots/{shot_id}/plan/preview")
async def preview(request: Request, house: InHouse, shot_id: str) -> Response:
    """What would follow from a place, while something is dragged there. Nothing is kept."""
    form = await request.form(max_files=0, max_fields=40)
    said = {name: value for name, value in form.items() if isinstance(value, str)}
    return await run_in_threadpool(_preview, request, house, shot_id, said)


def _move(request: Request, house: House, shot_id: str, said: dict[str, str], page: str) -> Response:
    field, unit = said.get("field", ""), said.get("unit", "cm")
    state = standing.state(house.records, shot_id)
    was = _position_of(state.set_up, field)
    try:
        changed = standing.change(house.records, shot_id, _changes(state.set_up, field, said))
    except (InvalidValue, StaleValue) as error:
        message = str(error.problems[0]) if isinstance(error, SeveralInvalid) else str(error)
        status = 409 if isinstance(error, StaleValue) else 422
        return _page(request, house, state, unit, status=status, problem=(field, message, said))
    house.announce.standing(shot_id, by=page)
    if not wants_partial(request):
        return go_to(request, f"/shots/{shot_id}/plan" + ("?unit=in" if unit == "in" else ""))
    undo = Undo(field, f"Put {_name(field)} back: {was}", was) if was and "undo" not in said else None
    return _page(request, house, changed, unit, undo=undo)


def _preview(request: Request, house: House, shot_id: str, said: dict[str, str]) -> Response:
    state = standing.state(house.records, shot_id)
    field = said.get("field", "")
    try:
        shown = state.set_up
        for each in _changes(shown, field, said):
            shown = placing.written(shown, each.field, each.value)
    except InvalidValue as error:
        return _page(request, house, state, said.get("unit", "cm"), status=422, problem=(field, str(error), said))
    return _page(request, house, state, said.get("unit", "cm"), shown=shown)


@router.post("/shots/{shot_id}/plan/tape")
def tape(
    request: Request,
    house: InHouse,
    shot_id: str,
    field: FormText,
    from_subject: FormText = "",
    from_camera: FormText = "",
    height: FormText = "0",
    side: FormText = "",
    unit: FormText = "cm",
    page: PageId = "",
) -> Response:
    """Two floor distances, from the subject and from the camera, give a place; the side is asked where it is open."""
    state = standing.state(house.records, shot_id)
    said = {"from_subject": from_subject, "from_camera": from_camera, "height": height, "unit": unit}
    camera = plan_of(state.set_up).camera
    try:
        lengths = [placing.read_offset_mm(_with_unit(text, unit)) for text in (from_subject, from_camera, height)]
        subject_point, camera_point = (
            KnownPoint("the subject", 0.0, 0.0),
            KnownPoint("the camera", camera.x_mm, camera.y_mm),
        )
        found = triangulate(subject_point, camera_point, *lengths)
    except ValueError as error:
        return _page(request, house, state, unit, status=422, problem=("tape", str(error), said))
    if len(found) > 1 and side not in ("left", "right"):
        sides = (("left", place_text(found[0], unit == "in")), ("right", place_text(found[-1], unit == "in")))
        return _page(request, house, state, unit, mirror=Mirror(field, sides, said))
    at = found[-1] if side == "right" else found[0]
    placed = {
        "field": field,
        "x": f"{at.x_mm} mm",
        "y": f"{at.y_mm} mm",
        "z": f"{at.z_mm} mm",
        "known": "measured",
    }
    return _move(request, house, shot_id, placed | {"unit": unit}, page)


@router.post("/shots/{shot_id}/plan/things")
def add_thing(
    request: Request,
    house: InHouse,
    shot_id: str,
    kind: Annotated[str, Form(max_length=20)],
    unit: FormText = "cm",
    page: PageId = "",
) -> Response:
    """Put up a camera, a flag, a card, a background, a table or the subject's outline."""
    state = standing.state(house.records, shot_id)
    chosen = next((each for each in KINDS if each == kind), None)
    if chosen is None:
        raise InvalidValue("kind", f"“{kind}” is nothing that stands on a set; those are {', '.join(KINDS)}.")
    field = f"things.{placing.next_thing_id(state.set_up, chosen)}.there"
    changed = standing.change(house.records, shot_id, [Change(field, True)])
    house.announce.standing(shot_id, by=page)
    if not wants_partial(request):
        return go_to(request, f"/shots/{shot_id}/plan")
    return _page(request, house, changed, unit)


def _changes(set_up: SetUp, field: str, said: Mapping[str, str]) -> list[Change]:
    """The fields that a form writes. A place that is dragged is snapped to what a tape would read."""
    version = int(said["version"]) if said.get("version", "").isdecimal() else None
    if "there" in said:
        return [Change(f"{field}.there", said["there"])]
    if "text" in said:
        return [Change(f"{field}.position", said["text"], version=version)]
    unit = said.get("unit", "cm")
    lengths = {
        name: _with_unit(said[name], unit)
        for name in _PLACE_NAMES
        if name not in ("bearing", "known") and name in said
    }
    value: dict[str, Any] = lengths | {name: said[name] for name in ("bearing", "known") if name in said}
    if "drag" in said:
        before = placing.position_of(set_up, field)
        at = snapped(placing.read_place(value, before))
        value = {"x": f"{at.x_mm} mm", "y": f"{at.y_mm} mm", "z": f"{at.z_mm} mm"}
    changes = [Change(f"{field}.position", value, version=version)]
    if field.startswith("things."):
        sizes = {
            name.removeprefix("size_"): _with_unit(text, unit)
            for name, text in said.items()
            if name.startswith("size_")
        }
        changes.extend([Change(f"{field}.size", sizes)] if sizes else [])
        changes.extend([Change(f"{field}.turned", said["turned"])] if said.get("turned") else [])
    return changes


def _with_unit(text: str, unit: str) -> str:
    """A bare number is in the unit of the page."""
    bare = text.strip().replace("−", "-").replace(",", ".")
    return f"{bare} in" if unit == "in" and bare.replace(".", "", 1).removeprefix("-").isdecimal() else bare


def _position_of(set_up: SetUp, field: str) -> str:
    found = placing.position_of(set_up, field)
    return position_text(found) if found else ""


def _name(field: str) -> str:
    return field.partition(".")[2].replace("-", " ")


def _frame_choices(house: House, shot_id: str, under: str) -> list[tuple[str, str, bool]]:
    return [
        (each.row.id, f"frame {each.row.number}", each.row.id == under)
        for each in frames.page_of(house.records, shot_id, limit=60)
    ]


def _page(
    request: Request,
    house: House,
    state: StandingState,
    unit: str,
    *,
    status: int = 200,
    shown: SetUp | None = None,
    before: tuple[str, SetUp] | None = None,
    problem: tuple[str, str, Mapping[str, Any]] | None = None,
    undo: Undo | None = None,
    mirror: Mirror | None = None,
) -> Response:
    view: PlanView = plan_view(
        state.set_up if shown is None else shown,
        view_id=state.shot.id,
        card=f"/shots/{state.shot.id}/plan/card.png?v={_mark_of(state)}",
        action=f"/shots/{state.shot.id}/plan",
        title=f"{state.shot.title}, standing set-up",
        movable=True,
        versions=state.versions,
        inches=unit == "in",
        measured=_measured_patch(state),
        shares=_measured_shares(state),
        before=before,
        problem=problem,
        undo=undo,
        mirror=mirror,
    )
    choices = [] if wants_partial(request) else _frame_choices(house, state.shot.id, "")
    return render(
        request,
        "plan.html",
        "plan.html",
        status=status,
        plan=view,
        shot=state.shot,
        frames=choices,
        here_path=f"/shots/{state.shot.id}/plan",
    )


def _mark_of(state: StandingState) -> str:
    """Another address for another set-up, so that an open page fetches its card anew."""
    return f"{zlib.crc32(to_json(state.set_up).encode()):x}"


def _measured_shares(state: StandingState) -> Mapping[str, float]:
    """The shares that the pictures gave, at the patch that has them all."""
    found = _measured_patch(state)
    if found is None:
        return {}
    lit = [line for line in state.assessment.lit if line.stops is not None and line.acts_on in found.shares.by_light]
    if len(lit) < len(state.assessment.lit):
        return {}
    # The shares are those of the reference frame; each light has moved by its balance since.
    now = {line.acts_on: found.shares.by_light[line.acts_on] * 2.0 ** (line.stops or 0.0) for line in lit}
    total = sum(now.values())
    return {letter: value / total for letter, value in now.items()} if total > 0.0 else {}


def _measured_patch(state: StandingState) -> PatchTotal | None:
    return state.evidence.ratio or next(iter(state.evidence.totals), None)

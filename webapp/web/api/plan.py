"""The plan of a shot's current set-up and of its frames: read it, move what stands on it, draw it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Final, Literal, Self

from fastapi import APIRouter, Path, Query
from pydantic import BeforeValidator, Field, model_validator
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from webapp.errors import InvalidValue, NotFound
from webapp.ledger import placing
from webapp.ledger.geometry import plan_of
from webapp.ledger.set_up import SetUp
from webapp.plan.drawing import draw, standalone
from webapp.plan.positions import FURTHEST_MM
from webapp.plan.scales import ON_PAPER
from webapp.plan.solids import Shape
from webapp.plan.tracing import Asked, shadows_from
from webapp.plan.view import Look
from webapp.quantities.lengths import Lengths
from webapp.quantities.places import Known, ToldPlace, ToldSize, read_known
from webapp.services import InServices, Services
from webapp.shoots import frames, set_up_now
from webapp.shoots.measured_light import choose_surface, read_on, shares_at, shares_of_frame
from webapp.shoots.set_up_now import Change, StandingState
from webapp.web.api.plan_answers import PlanAnswer, ShadowsAnswer
from webapp.web.api.requests import Body, ItemId, JsonRoute, Number, Whole
from webapp.web.api.standing import Letter
from webapp.web.words.drawing import captions

router = APIRouter(tags=["plan"], route_class=JsonRoute)

Length = Annotated[Number, Field(ge=-FURTHEST_MM, le=FURTHEST_MM)]
Distance = Annotated[Number, Field(ge=0, le=FURTHEST_MM)]
Side = Annotated[Number, Field(ge=0, le=20_000)]
Bearing = Annotated[Number, Field(ge=-360, le=360)]
Version = Annotated[Whole, Field(ge=0, le=2**31)]
ThingId = Annotated[
    str,
    Path(
        pattern="^(camera|subject|background|table|(flag|reflector)-[1-9][0-9]?)$",
        description="what it is, with a number where there may be several of it",
        examples=["flag-1"],
    ),
]
Under = Annotated[str, Query(max_length=60, description="a frame whose plan is laid under this one, dotted")]
_POLAR: Final = {"distance_mm", "bearing_deg", "height_mm"}
_SQUARE: Final = {"x_mm", "y_mm", "z_mm"}


def _known(value: Any) -> Any:
    """Also by the name that older clients send."""
    return read_known(value) if isinstance(value, str) else value


class Point(Body):
    """A place, from the middle of the subject."""

    x_mm: Length
    y_mm: Length
    z_mm: Length


class Placing(Body):
    """A place, told either as a tape tells it (distance, bearing, height) or as x, y and z from the middle of the
    subject. `version` is that under which it was read: where somebody moved it since, nothing is written, and both
    places come back."""

    distance_mm: Distance | None = None
    bearing_deg: Bearing | None = None
    height_mm: Length | None = None
    x_mm: Length | None = None
    y_mm: Length | None = None
    z_mm: Length | None = None
    aim: Point | None = None
    known: Annotated[Known, BeforeValidator(_known)] | None = Field(
        None,
        description="left out, a place that moves is planned, and one that stays is known as before. "
        "Alone with the version it says how the place that stands is known: taped, once the tape has confirmed it",
    )
    version: Version | None = None

    @model_validator(mode="after")
    def _one_of_two(self) -> Self:
        told = {name for name in (*_POLAR, *_SQUARE) if getattr(self, name) is not None}
        if told <= _POLAR and {"distance_mm", "bearing_deg"} <= told:
            return self
        if told == _SQUARE or (not told and self.known is not None and self.aim is None):
            return self
        raise ValueError(
            "Tell a place by distance_mm and bearing_deg (and height_mm), or by x_mm, y_mm and z_mm; or tell known alone."
        )

    def told(self) -> ToldPlace:
        """The place as the set-up's fields take it."""
        return ToldPlace(
            distance_mm=self.distance_mm,
            bearing_deg=self.bearing_deg,
            height_mm=0.0 if self.height_mm is None and self.distance_mm is not None else self.height_mm,
            x_mm=self.x_mm,
            y_mm=self.y_mm,
            z_mm=self.z_mm,
            aim_x_mm=self.aim.x_mm if self.aim else None,
            aim_y_mm=self.aim.y_mm if self.aim else None,
            aim_z_mm=self.aim.z_mm if self.aim else None,
            known=self.known,
        )


class Size(Body):
    """How large a thing is; what is left out stays."""

    width_mm: Side | None = None
    height_mm: Side | None = None
    depth_mm: Side | None = None

    def told(self) -> ToldSize:
        """The size as the set-up's fields take it."""
        return ToldSize(self.width_mm, self.height_mm, self.depth_mm)


class ThingPlacing(Placing):
    """The same of a thing, with its size; what is left out stays."""

    size: Size | None = None
    turned_deg: Annotated[Number, Field(gt=-90, lt=90)] | None = Field(
        None, description="of the subject, away from square to the lens"
    )
    tilted_deg: Annotated[Number, Field(ge=-90, le=90)] | None = Field(
        None, description="of the subject, back from there; below nothing forward"
    )
    size_version: Version | None = None
    tilted_version: Version | None = None
    turned_version: Version | None = None


class FiguresFor(Body):
    """The surface that shares, ratio and key to fill are wanted for, by its key; "" leaves it to what was measured."""

    surface: str = Field(max_length=60, examples=["left", "own:label"])


class TakenBack(Body):
    """The move that the plan offered to take back."""

    move: str = Field(max_length=60)


AsShape = Annotated[Shape | None, Query(description="as what the subject is shown; left out, as its size has it")]
_SVG: Final = "image/svg+xml"
_PNG: Final = "image/png"
_A_DRAWING: Final[dict[int | str, dict[str, Any]]] = {200: {"description": "The drawing.", "content": {_SVG: {}}}}
_LATER: Final[dict[int | str, dict[str, Any]]] = {
    503: {"description": "Not traced, or not in time: the process that does it ended, or is at something else."}
}
_WITHIN_S: Final = 40.0
_A_CARD: Final[dict[int | str, dict[str, Any]]] = {200: {"description": "The card.", "content": {_PNG: {}}}}


@router.get("/shots/{shot_id}/plan")
def read_plan(services: InServices, shot_id: ItemId) -> PlanAnswer:
    """The plan of the current set-up."""
    return _told(services, set_up_now.state(services.records, shot_id))


@router.get("/frames/{frame_id}/plan")
def read_frame_plan(services: InServices, frame_id: ItemId) -> PlanAnswer:
    """The plan that a frame froze."""
    frame = frames.one(services.records, frame_id)
    read = read_on(services.records, frame.row.shot_id)
    return PlanAnswer.of(frame.set_up, shares_of_frame(services.records, frame), read=read)


@router.get("/shots/{shot_id}/plan/shadows", responses=_LATER)
async def read_shadows(services: InServices, shot_id: ItemId) -> ShadowsAnswer:
    """The shadows that the lens sees, traced ray by ray."""
    return await _shadows(services, shot_id, lambda: set_up_now.state(services.records, shot_id).set_up)


@router.get("/frames/{frame_id}/plan/shadows", responses=_LATER)
async def read_frame_shadows(services: InServices, frame_id: ItemId) -> ShadowsAnswer:
    """The same of a frame."""
    return await _shadows(services, frame_id, lambda: frames.one(services.records, frame_id).set_up)


async def _shadows(services: Services, of: str, set_up: Callable[[], SetUp]) -> ShadowsAnswer:
    _, answer = await services.tracing.newest(of, lambda: Asked("shadows", plan_of(set_up())), _WITHIN_S)
    return await run_in_threadpool(lambda: ShadowsAnswer.of(shadows_from(answer)))


@router.put("/shots/{shot_id}/plan/lights/{letter}")
def place_light(services: InServices, shot_id: ItemId, letter: Letter, body: Placing) -> PlanAnswer:
    """Put a light somewhere; its distance in the ledger follows."""
    change = Change(f"lights.{letter}.position", body.told(), version=body.version)
    return _told(services, set_up_now.change(services.records, shot_id, [change]))


@router.delete("/shots/{shot_id}/plan/lights/{letter}")
def forget_place_of_light(services: InServices, shot_id: ItemId, letter: Letter) -> PlanAnswer:
    """Where a light stands is unknown. It stays in the set, and its distance in the ledger."""
    return _told(services, set_up_now.change(services.records, shot_id, [Change(f"lights.{letter}.position", None)]))


@router.put("/shots/{shot_id}/plan/things/{thing_id}")
def place_thing(services: InServices, shot_id: ItemId, thing_id: ThingId, body: ThingPlacing) -> PlanAnswer:
    """Add a thing, or move it. The same request twice is one thing."""
    of = f"things.{thing_id}"
    changes = [Change(f"{of}.position", body.told(), version=body.version)]
    if body.size is not None:
        changes.append(Change(f"{of}.size", body.size.told(), version=body.size_version))
    for name, angle, version in (
        ("turned", body.turned_deg, body.turned_version),
        ("tilted", body.tilted_deg, body.tilted_version),
    ):
        if angle is not None:
            if thing_id != "subject":
                raise InvalidValue(f"{name}_deg", f"Only the subject is {name}; everything else is aimed.")
            changes.append(Change(f"{of}.{name}", angle, version=version))
    return _told(services, set_up_now.change(services.records, shot_id, changes))


@router.delete("/shots/{shot_id}/plan/things/{thing_id}")
def take_thing_away(services: InServices, shot_id: ItemId, thing_id: ThingId) -> PlanAnswer:
    """Take a thing away."""
    if placing.thing_of(set_up_now.state(services.records, shot_id).set_up, thing_id) is None:
        raise NotFound(f"There is no {thing_id.replace('-', ' ')} on this set.")
    return _told(services, set_up_now.change(services.records, shot_id, [Change(f"things.{thing_id}.there", False)]))


@router.put("/shots/{shot_id}/plan/figures-for")
def choose_figures_for(services: InServices, shot_id: ItemId, body: FiguresFor) -> PlanAnswer:
    """Say which surface shares, ratio and key to fill are for; the shot remembers it, and its frames follow."""
    choose_surface(services.records, shot_id, body.surface)
    return _told(services, set_up_now.state(services.records, shot_id))


@router.post("/shots/{shot_id}/plan/undo")
def take_move_back(services: InServices, shot_id: ItemId, body: TakenBack) -> PlanAnswer:
    """Take the last move back; 409 where something was moved since it was offered."""
    return _told(services, set_up_now.take_move_back(services.records, shot_id, body.move))


@router.get("/shots/{shot_id}/plan/drawing.svg", response_class=Response, responses=_A_DRAWING)
def draw_plan(services: InServices, shot_id: ItemId, unit: Literal["cm", "in"] = "cm", under: Under = "") -> Response:
    """Plan and elevation to a standard scale, which is stated on it; 180 mm wide."""
    state = set_up_now.state(services.records, shot_id)
    before = plan_of(frames.one(services.records, under).set_up) if under else None
    drawn = draw(
        plan_of(state.set_up), state.shot.title, captions(Lengths(unit == "in")), before=before, room=ON_PAPER
    )
    return Response(standalone(drawn), media_type=_SVG)


@router.get("/frames/{frame_id}/plan/drawing.svg", response_class=Response, responses=_A_DRAWING)
def draw_frame_plan(
    services: InServices, frame_id: ItemId, unit: Literal["cm", "in"] = "cm", under: Under = ""
) -> Response:
    """The same of a frame."""
    story = frames.story(services.records, frame_id)
    before = plan_of(frames.one(services.records, under).set_up) if under else None
    title = f"{story.shot.title}, frame {story.frame.row.number}"
    drawn = draw(plan_of(story.frame.set_up), title, captions(Lengths(unit == "in")), before=before, room=ON_PAPER)
    return Response(standalone(drawn), media_type=_SVG)


@router.get("/shots/{shot_id}/plan/card.png", response_class=Response, responses=_A_CARD | _LATER)
async def shadow_card(services: InServices, shot_id: ItemId, look: Look = "lens", shape: AsShape = None) -> Response:
    """The shadow card: the set in matt grey as the lens, or a place high above it, would see it. An indication."""

    def asked() -> Asked:
        return Asked("card", plan_of(set_up_now.state(services.records, shot_id).set_up), look, shape)

    _, png = await services.tracing.newest(shot_id, asked, _WITHIN_S)
    return Response(png, media_type=_PNG)


@router.get("/frames/{frame_id}/plan/card.png", response_class=Response, responses=_A_CARD | _LATER)
async def frame_shadow_card(
    services: InServices,
    frame_id: ItemId,
    beside: Annotated[str, Query(max_length=60, description="another frame, to be laid beside it")] = "",
    look: Look = "lens",
    shape: AsShape = None,
) -> Response:
    """The same of a frame, or of two side by side."""

    def asked() -> Asked:
        plan = plan_of(frames.one(services.records, frame_id).set_up)
        other = plan_of(frames.one(services.records, beside).set_up) if beside else None
        return Asked("card", plan, look, shape, other)

    _, png = await services.tracing.newest(f"{frame_id} {beside}", asked, _WITHIN_S)
    return Response(png, media_type=_PNG)


def _told(services: Services, state: StandingState) -> PlanAnswer:
    seen = shares_at(state.evidence.totals, state.assessment)
    read = read_on(services.records, state.shot.id)
    return PlanAnswer.of(state.set_up, seen, state.versions, state.last_move, read)

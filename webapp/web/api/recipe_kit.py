"""A recipe on other kit, and made again: solved for pieces of the studio's kit or for kit typed into the body; the
reshoot, and its checklist."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Annotated, Any, Literal, Self

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel, Field, model_validator

from webapp.errors import InvalidValue, NotFound, SeveralInvalid
from webapp.optics.equivalence import Measure
from webapp.quantities.powers import Marking
from webapp.recipes import publish, reshoot
from webapp.recipes.adapt.adapting import OtherKit, adapt
from webapp.recipes.document import Recipe
from webapp.recipes.kit_match import ROOM, own_kit, visitor_kit
from webapp.recipes.reshoot import Checklist, Prepared, TickLine
from webapp.records.engine import Records
from webapp.services import InServices
from webapp.web.api.facts import FactAnswer
from webapp.web.api.frames import SaveKey
from webapp.web.api.recipe_answers import AdaptedAnswer
from webapp.web.api.requests import Body, ItemId, JsonRoute, Number, Switch, Whole, named_in_body
from webapp.web.words.checklist import heading_words
from webapp.web.words.say import say

router = APIRouter(tags=["recipes"], route_class=JsonRoute)

_Id = Annotated[str, Field(max_length=60)]
_Letter = Annotated[str, Field(pattern="^[A-Z]{1,3}$")]
_VersionBody = Annotated[Whole, Field(ge=1, le=10_000)]
_Distance = Annotated[Number, Field(gt=0, le=100_000)]


# --- on other kit -----------------------------------------------------------------------------------------------------


class OwnLight(Body):
    """What stands for a light, out of the studio's kit. `modifier_id` null is bare; `distance_mm` is given where the
    room leaves no choice."""

    head_id: _Id
    modifier_id: _Id | None = None
    distance_mm: _Distance | None = None


class TypedCamera(Body):
    """A camera and a lens by what matters of them."""

    sensor_width_mm: Annotated[Number, Field(gt=0, le=500)]
    sensor_height_mm: Annotated[Number, Field(gt=0, le=500)]
    width_px: Annotated[Whole, Field(gt=0, le=100_000)] = 6000
    height_px: Annotated[Whole, Field(gt=0, le=100_000)] = 4000
    sync_mark: Annotated[str, Field(max_length=20)] = ""
    lowest_iso: Annotated[Number, Field(ge=1, le=1e7)] = 100.0
    highest_iso: Annotated[Number, Field(ge=1, le=1e7)] = 12800.0
    shortest_focal_mm: Annotated[Number, Field(gt=0, le=5000)]
    longest_focal_mm: Annotated[Number | None, Field(gt=0, le=5000)] = None
    widest_f_number: Annotated[Number, Field(ge=0.5, le=128)]
    smallest_f_number: Annotated[Number, Field(ge=0.5, le=512)]
    greatest_magnification: Annotated[Number | None, Field(gt=0, le=100)] = None


class TypedReading(Body):
    """What a meter read with a light alone, its modifier on it, at ISO 100."""

    f_number: Annotated[str, Field(min_length=1, max_length=40, examples=["11"])]
    power: Annotated[str, Field(min_length=1, max_length=40, description="as the dial shows it")] = "full"
    distance_mm: _Distance


class TypedLight(Body):
    """What stands for a light, by its figures. Its meter reading tells where the dial has to stand; `distance_mm` is
    given where the room leaves no choice."""

    full_energy_j: Annotated[Number | None, Field(gt=0, le=100_000)] = None
    range_stops: Annotated[Number, Field(ge=0, le=14)] = 6.0
    step_stops: Annotated[Number, Field(ge=0.01, le=2)] = 0.1
    marking: Marking = Marking.FRACTION
    shape: Literal["point", "disc", "rectangle", "ring"] = "point"
    width_mm: Annotated[Number | None, Field(gt=0, le=20_000)] = None
    height_mm: Annotated[Number | None, Field(gt=0, le=20_000)] = None
    inner_diameter_mm: Annotated[Number | None, Field(ge=0, le=20_000)] = None
    metered: TypedReading | None = None
    distance_mm: _Distance | None = None

    def fields(self) -> dict[str, str]:
        """By the names under which a reader types them."""
        told = self.model_dump(mode="json", exclude={"metered", "distance_mm"}, exclude_none=True)
        told |= self.metered.model_dump() if self.metered else {}
        told |= {} if self.distance_mm is None else {ROOM: self.distance_mm / 10.0}
        return {name: str(value) for name, value in told.items()}


class OwnKitBody(Body):
    """Pieces of the studio's kit, by their ids."""

    camera_id: _Id
    lens_id: _Id
    lights: dict[_Letter, OwnLight] = Field(default_factory=dict, max_length=40)


class TypedKitBody(Body):
    """Kit that is typed in, and kept nowhere."""

    camera: TypedCamera
    lights: dict[_Letter, TypedLight] = Field(default_factory=dict, max_length=40)


class AdaptBody(Body):
    """The kit to solve a version for: `own` or `typed`, one of the two. `held` is the side of the field that must
    stay."""

    version: _VersionBody | None = None
    held: Measure = Measure.WIDTH
    own: OwnKitBody | None = None
    typed: TypedKitBody | None = None

    @model_validator(mode="after")
    def _one_of_two(self) -> Self:
        if (self.own is None) == (self.typed is None):
            raise ValueError("Give the studio's own kit or kit that is typed in, and not both.")
        return self


@router.post("/recipes/{recipe_id}/adapt")
def solve(services: InServices, recipe_id: ItemId, said: AdaptBody) -> AdaptedAnswer:
    """The recipe solved for other kit: same framing, perspective, depth, softness, exposure and ratios, as far as that
    kit goes. Nothing is kept."""
    recipe = publish.read(services.records, recipe_id, said.version).recipe
    kit = _own(services.records, recipe, said.own, said.held) if said.own else _typed(recipe, said)
    try:
        return AdaptedAnswer.of(adapt(recipe, kit))
    except ValueError as problem:
        raise InvalidValue((), str(problem)) from problem


def _own(records: Records, recipe: Recipe, said: OwnKitBody, held: Measure) -> OtherKit:
    chosen = {"camera": said.camera_id, "lens": said.lens_id, "held": held.value}
    for letter, light in said.lights.items():
        chosen |= _light_fields(letter, light.head_id, light.modifier_id, light.distance_mm)
    _refuse_unlit(recipe, said.lights)
    with named_in_body("own"):
        return own_kit(records, recipe, chosen)


def _typed(recipe: Recipe, said: AdaptBody) -> OtherKit:
    assert said.typed is not None
    _refuse_unlit(recipe, said.typed.lights)
    told = said.typed.camera.model_dump(exclude_none=True) | {"held": said.held.value}
    for letter, light in said.typed.lights.items():
        told |= {f"{name}_{letter}": value for name, value in light.fields().items()}
    try:
        return visitor_kit(recipe, {name: str(value) for name, value in told.items()})
    except SeveralInvalid as error:
        raise SeveralInvalid([_at_its_field(each) for each in error.problems]) from error


def _at_its_field(problem: InvalidValue) -> InvalidValue:
    """A problem of a form whose fields end with a light's letter, at its place in the body."""
    name, _, letter = problem.where[0].rpartition("_")
    if letter.isupper():
        within = ("metered", name) if name in TypedReading.model_fields else (name,)
        return InvalidValue(("typed", "lights", letter, *within), str(problem))
    return InvalidValue(("typed", "camera", *problem.where), str(problem))


def _refuse_unlit(recipe: Recipe, lights: Mapping[str, Any]) -> None:
    letters = [light.letter for light in recipe.lit]
    if unknown := sorted(set(lights) - set(letters)):
        there = " and ".join(letters) or "none"
        raise InvalidValue(("lights", unknown[0]), f"The recipe lights no {unknown[0]}; it has {there}.")


def _light_fields(
    letter: str, head_id: str | None, modifier_id: str | None, distance_mm: float | None
) -> dict[str, str]:
    return {
        f"head_{letter}": head_id or "",
        f"modifier_{letter}": modifier_id or "",
        f"distance_{letter}": "" if distance_mm is None else f"{distance_mm / 10.0:.6f}",
    }


# --- made again -------------------------------------------------------------------------------------------------------


class ReshootLight(Body):
    """What stands for a light: `head_id` null leaves it out."""

    head_id: _Id | None
    modifier_id: _Id | None = None
    distance_mm: _Distance | None = None


class ReshootBody(Body):
    """A reshoot to begin. What is left out is as `GET` says: the recipe's own kit, as far as it is in this studio.
    With `session_id` it goes into that session, else into a new one."""

    version: _VersionBody | None = None
    how: Literal["fitting", "written", "solved"] = Field(
        "fitting", description="fitting: as written, but solved where other kit or distances are chosen"
    )
    held: Measure = Measure.WIDTH
    session_id: _Id | None = None
    session_name: Annotated[str | None, Field(min_length=1, max_length=160)] = None
    title: Annotated[str | None, Field(min_length=1, max_length=160)] = None
    camera_id: _Id | None = None
    lens_id: _Id | None = None
    lights: dict[_Letter, ReshootLight] = Field(default_factory=dict, max_length=40)

    def chosen(self) -> dict[str, str]:
        """By the names of the use-case."""
        said = {
            "how": self.how,
            "session": self.session_id,
            "session_name": self.session_name,
            "title": self.title,
            "camera": self.camera_id,
            "lens": self.lens_id,
            "held": self.held.value,
        }
        told = {name: value for name, value in said.items() if value is not None}
        for letter, light in self.lights.items():
            told |= _light_fields(letter, light.head_id, light.modifier_id, light.distance_mm)
        return told


class PreparedLight(BaseModel):
    """What of a light's kit is in this studio; null is not."""

    head_id: str | None
    modifier_id: str | None


class PreparedAnswer(BaseModel):
    """What a reshoot would start from: the recipe's own kit, as far as it is in this studio."""

    version: int
    title: str
    session_name: str
    camera_id: str | None
    lens_id: str | None
    lights: dict[str, PreparedLight]

    @classmethod
    def of(cls, start: Prepared) -> PreparedAnswer:
        said = start.said
        return cls(
            version=start.version.number,
            title=said["title"],
            session_name=said["session_name"],
            camera_id=said["camera"] or None,
            lens_id=said["lens"] or None,
            lights={
                light.letter: PreparedLight(
                    head_id=said[f"head_{light.letter}"] or None,
                    modifier_id=said[f"modifier_{light.letter}"] or None,
                )
                for light in start.recipe.lit
            },
        )


class LineAnswer(BaseModel):
    """A line to tick."""

    id: str
    heading: str
    words: str
    fact: FactAnswer = Field(description="what the words are made of")
    ticked_at: dt.datetime | None

    @classmethod
    def of(cls, line: TickLine) -> LineAnswer:
        return cls(
            id=line.id,
            heading=heading_words(line.heading),
            words=say(line.fact),
            fact=FactAnswer.of(line.fact),
            ticked_at=line.ticked_at,
        )


class ChecklistAnswer(BaseModel):
    """The checklist of a reshoot, in the order in which a set goes up."""

    shot_id: str
    session_id: str
    recipe_id: str
    version: int
    left_open: list[str] = Field(description="what could not be filled in")
    left_open_facts: list[FactAnswer]
    lines: list[LineAnswer]

    @classmethod
    def of(cls, found: Checklist) -> ChecklistAnswer:
        return cls(
            shot_id=found.shot_id,
            session_id=found.session_id,
            recipe_id=found.recipe_id,
            version=found.number,
            left_open=[say(each) for each in found.left_open],
            left_open_facts=FactAnswer.all_of(found.left_open),
            lines=[LineAnswer.of(line) for line in found.lines],
        )


class Tick(Body):
    ticked: Switch


@router.get("/recipes/{recipe_id}/reshoot")
def prepare(
    services: InServices, recipe_id: ItemId, version: Annotated[int | None, Query(ge=1, le=10_000)] = None
) -> PreparedAnswer:
    """What a reshoot of a version (or of the newest) would start from."""
    return PreparedAnswer.of(reshoot.prepared(services.records, recipe_id, version))


@router.post(
    "/recipes/{recipe_id}/reshoot",
    status_code=201,
    responses={200: {"model": ChecklistAnswer, "description": "It was begun before, with the same key."}},
)
def begin(
    services: InServices, recipe_id: ItemId, said: ReshootBody, response: Response, save_key: SaveKey = None
) -> ChecklistAnswer:
    """Begin a reshoot and put it on the set: the standing set-up is filled in, the checklist drafted, and the recipe's
    frame is what the first frames are balanced against."""
    start = reshoot.prepared(services.records, recipe_id, said.version)
    _refuse_unlit(start.recipe, said.lights)
    try:
        begun = reshoot.begin_reshoot(
            services.records, recipe_id, start.version.number, said.chosen(), save_key=save_key
        )
    except InvalidValue as error:
        problems = error.problems if isinstance(error, SeveralInvalid) else [error]
        raise SeveralInvalid([InvalidValue(_place_of(each), str(each)) for each in problems]) from error
    if not begun.is_new:
        response.status_code = 200
    return _answer(reshoot.checklist(services.records, begun.shot_id))


def _place_of(problem: InvalidValue) -> tuple[str, ...]:
    """Where the body has what the use-case calls "camera", "session" or "head_A"."""
    name, _, letter = problem.where[0].partition("_")
    if name in ("head", "modifier"):
        return ("lights", letter, f"{name}_id")
    if name == "distance":
        return ("lights", letter, "distance_mm")
    return (f"{name}_id",) if problem.where[0] in ("camera", "lens", "session") else problem.where


@router.get("/shots/{shot_id}/checklist", tags=["shots"])
def checklist(services: InServices, shot_id: ItemId) -> ChecklistAnswer:
    """The checklist of a reshoot."""
    return _answer(reshoot.checklist(services.records, shot_id))


@router.put("/shots/{shot_id}/checklist/{line_id}", tags=["shots"])
def tick(services: InServices, shot_id: ItemId, line_id: ItemId, said: Tick) -> ChecklistAnswer:
    """Tick a line, or take the tick off. A line that is ticked already keeps its time."""
    found = reshoot.tick(services.records, shot_id, line_id, ticked=said.ticked)
    return _answer(found)


def _answer(found: Checklist | None) -> ChecklistAnswer:
    if found is None:
        raise NotFound("This shot is no reshoot, so it has no checklist.")
    return ChecklistAnswer.of(found)

"""A recipe on other kit, and made again: solved for pieces of the studio's kit or for kit typed into the body; the
reshoot, and its checklist."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Any, Literal, Self

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel, BeforeValidator, Field, model_validator

from webapp.errors import InvalidValue, NotFound, SeveralInvalid
from webapp.ledger.set_up import HeadFigures, ModifierFigures
from webapp.optics.equivalence import Measure
from webapp.quantities.powers import Marking
from webapp.recipes import publish, reshoot
from webapp.recipes.adapt.adapting import OtherKit, adapt
from webapp.recipes.document import Recipe
from webapp.recipes.kit_match import ChosenKit, ChosenLight, own_kit
from webapp.recipes.reshoot import Checklist, Prepared, Way, Wishes
from webapp.records.engine import Records
from webapp.services import InServices
from webapp.web.api.answers import Said
from webapp.web.api.facts import Answer, FactAnswer
from webapp.web.api.frames import SaveKey
from webapp.web.api.recipe_answers import AdaptedAnswer
from webapp.web.api.requests import Body, ItemId, JsonRoute, Number, Switch, Whole, named_in_body
from webapp.web.typed_kit import ROOM, visitor_kit
from webapp.web.words.checklist import heading_words

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

    def chosen(self) -> ChosenLight:
        return ChosenLight(self.head_id, self.modifier_id, self.distance_mm)


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


class TypedTestFrame(Body):
    """One frame of a grey card where the subject stands, at full power and ISO 100, with a light alone: what it reads, in
    stops over mid-tone."""

    f_number: Annotated[str, Field(min_length=1, max_length=40, examples=["8"])] = "8"
    stops: Annotated[Number, Field(ge=-8, le=8)]
    distance_mm: _Distance


class TypedLight(Body):
    """What stands for a light, by its figures. Its meter reading tells where the dial has to stand, or else a test frame,
    or else the guide number of the bare head less `loss_stops`; `distance_mm` is given where the room leaves no
    choice."""

    full_energy_j: Annotated[Number | None, Field(gt=0, le=100_000)] = None
    range_stops: Annotated[Number, Field(ge=0, le=14)] = 6.0
    step_stops: Annotated[Number, Field(ge=0.01, le=2)] = 0.1
    marking: Marking = Marking.FRACTION
    shape: Literal["point", "disc", "rectangle", "ring"] = "point"
    width_mm: Annotated[Number | None, Field(gt=0, le=20_000)] = None
    height_mm: Annotated[Number | None, Field(gt=0, le=20_000)] = None
    inner_diameter_mm: Annotated[Number | None, Field(ge=0, le=20_000)] = None
    loss_stops: Annotated[Number | None, Field(ge=-5, le=15)] = None
    guide_number_m: Annotated[Number | None, Field(gt=0, le=1000)] = None
    metered: TypedReading | None = None
    test_frame: TypedTestFrame | None = None
    distance_mm: _Distance | None = None

    def fields(self) -> dict[str, Any]:
        """By the names under which a reader types them."""
        told = self.model_dump(exclude={"metered", "test_frame", "distance_mm"}, exclude_none=True)
        if self.test_frame is not None:
            told |= {f"test_{name}": value for name, value in self.test_frame.model_dump().items()}
        return told | (self.metered.model_dump() if self.metered else {}) | {ROOM: self.distance_mm}


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
    _refuse_unlit(recipe, said.lights)
    lights = {letter: light.chosen() for letter, light in said.lights.items()}
    with named_in_body("own"):
        return own_kit(records, recipe, ChosenKit(said.camera_id, said.lens_id, held, lights))


def _typed(recipe: Recipe, said: AdaptBody) -> OtherKit:
    assert said.typed is not None
    _refuse_unlit(recipe, said.typed.lights)
    camera = said.typed.camera.model_dump(exclude_none=True) | {"held": said.held}
    try:
        return visitor_kit(recipe, camera, {letter: light.fields() for letter, light in said.typed.lights.items()})
    except SeveralInvalid as error:
        raise SeveralInvalid([_at_its_field(each) for each in error.problems]) from error


def _at_its_field(problem: InvalidValue) -> InvalidValue:
    """A problem of the kit at its place in the body."""
    group, *within = problem.where
    if group != "lights":
        return InvalidValue(("typed", "camera", *problem.where), str(problem))
    letter, name = within
    if name.startswith("test_"):
        return InvalidValue(("typed", "lights", letter, "test_frame", name.removeprefix("test_")), str(problem))
    metered = ("metered",) if name in TypedReading.model_fields else ()
    return InvalidValue(("typed", "lights", letter, *metered, name), str(problem))


def _refuse_unlit(recipe: Recipe, lights: Mapping[str, Any]) -> None:
    letters = [light.letter for light in recipe.lit]
    if unknown := sorted(set(lights) - set(letters)):
        there = " and ".join(letters) or "none"
        raise InvalidValue(("lights", unknown[0]), f"The recipe lights no {unknown[0]}; it has {there}.")


# --- made again -------------------------------------------------------------------------------------------------------


class ReshootLight(Body):
    """What stands for a light: `head_id` null leaves it out."""

    head_id: _Id | None
    modifier_id: _Id | None = None
    distance_mm: _Distance | None = None

    def chosen(self) -> ChosenLight | None:
        return ChosenLight(self.head_id, self.modifier_id, self.distance_mm) if self.head_id else None


class ReshootBody(Body):
    """A reshoot to begin. What is left out is as `GET` says: the recipe's own kit, as far as it is in this studio.
    With `session_id` it goes into that session, else into a new one."""

    version: _VersionBody | None = None
    how: Way = Field(
        Way.FITTING, description="fitting: as written, but solved where other kit or distances are chosen"
    )
    held: Measure = Measure.WIDTH
    session_id: _Id | None = None
    session_name: Annotated[str | None, Field(min_length=1, max_length=160)] = None
    title: Annotated[str | None, Field(min_length=1, max_length=160)] = None
    camera_id: _Id | None = None
    lens_id: _Id | None = None
    lights: dict[_Letter, ReshootLight] = Field(default_factory=dict, max_length=40)

    def over(self, wishes: Wishes) -> Wishes:
        """The wishes with what is said here."""
        told = self.model_dump(include={"session_id", "session_name", "title", "how"}, exclude_none=True)
        pieces = self.model_dump(include={"camera_id", "lens_id", "held"}, exclude_none=True)
        lights = {**wishes.kit.lights, **{letter: light.chosen() for letter, light in self.lights.items()}}
        stand = {letter: light for letter, light in lights.items() if light is not None}
        return replace(wishes, **told, kit=replace(wishes.kit, **pieces, lights=stand))


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
        wishes, own = start.wishes, start.own
        return cls(
            version=start.version.number,
            title=wishes.title,
            session_name=wishes.session_name,
            camera_id=wishes.kit.camera_id or None,
            lens_id=wishes.kit.lens_id or None,
            lights={
                letter: PreparedLight(head_id=_id_of(own.heads, letter), modifier_id=_id_of(own.modifiers, letter))
                for letter in (light.letter for light in start.recipe.lit)
            },
        )


def _id_of(own: Mapping[str, HeadFigures] | Mapping[str, ModifierFigures], letter: str) -> str | None:
    return own[letter].id if letter in own else None


class LineAnswer(Answer):
    """A line to tick."""

    id: str
    heading: Annotated[str, BeforeValidator(heading_words)]
    words: Said = Field(validation_alias="fact")
    fact: FactAnswer = Field(description="what the words are made of")
    ticked_at: dt.datetime | None


class ChecklistAnswer(Answer):
    """The checklist of a reshoot, in the order in which a set goes up."""

    shot_id: str
    session_id: str
    recipe_id: str
    version: int = Field(validation_alias="number")
    left_open: list[Said] = Field(description="what could not be filled in")
    left_open_facts: list[FactAnswer] = Field(validation_alias="left_open")
    lines: list[LineAnswer]


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
    """Begin a reshoot and put it on the set: the current set-up is filled in, the checklist drafted, and the recipe's
    frame is what the first frames are balanced against."""
    start = reshoot.prepared(services.records, recipe_id, said.version)
    _refuse_unlit(start.recipe, said.lights)
    try:
        begun = reshoot.begin_reshoot(services.records, start, said.over(start.wishes), save_key=save_key)
    except InvalidValue as error:
        raise SeveralInvalid([InvalidValue(_place_of(each), str(each)) for each in error.problems]) from error
    if not begun.is_new:
        response.status_code = 200
    return _answer(reshoot.checklist(services.records, begun.shot_id))


def _place_of(problem: InvalidValue) -> tuple[str, ...]:
    """Where the body has what the use-case calls "camera", "session" or "head" of a light."""
    *within, name = problem.where
    return (*within, f"{name}_id") if name in ("camera", "lens", "session", "head", "modifier") else problem.where


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
    return ChecklistAnswer.model_validate(found)

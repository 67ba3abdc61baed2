"""The kit for a recipe, read once where it is chosen or typed in: pieces of the studio's by their ids, or a reader's own by
its figures.

A reader's kit is typed and never kept: it is checked by the same forms as the studio's, and turned into the same
figures. A head's energy names the marks of its own dial; what tells where that dial has to stand is a meter reading
taken with the very head and modifier, or where there is no meter, one test frame, or the guide number of the bare head.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.facts import Fact
from webapp.kit import inventory
from webapp.kit.forms import (
    BY_TAPE,
    CameraForm,
    LensForm,
    LightForm,
    Maybe,
    MaybeTaped,
    MeterReadingForm,
    ModifierForm,
)
from webapp.ledger.set_up import IncidentReading, Light, ModifierFigures
from webapp.optics.equivalence import Measure
from webapp.optics.scales import Dial, Quantity
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.marks import read_mark
from webapp.quantities.refused import invalid_fields
from webapp.recipes.adapt import unmetered
from webapp.recipes.adapt.adapting import OtherKit
from webapp.recipes.document import LightPart, Recipe
from webapp.recipes.kit_match import ChosenKit, ChosenLight
from webapp.recipes.reshoot import Way, Wishes
from webapp.records.tables import Camera, Lens, LightHead, Modifier

Problems = list[InvalidValue]
"""What cannot be read, gathered so that one answer tells it all."""
Choice = TypeVar("Choice", bound=StrEnum)
Form = TypeVar("Form", bound=BaseModel)


def field_of(problem: InvalidValue) -> str:
    """The field of a form that a problem is about: of a light's, the name ends with its letter."""
    return f"{problem.where[2]}_{problem.where[1]}" if problem.where[0] == "lights" else problem.where[0]


def of_light(said: Mapping[str, str], letter: str) -> dict[str, str]:
    """The fields of one light, by their own names."""
    ending = f"_{letter}"
    return {name.removesuffix(ending): text for name, text in said.items() if name.endswith(ending)}


def held_measure(text: str, problems: Problems) -> Measure:
    """The side of the field that holds; its width where nothing was said."""
    return _one_of("held", Measure.WIDTH, text, f"The field is held by one of: {', '.join(Measure)}.", problems)


def _one_of(name: str, usual: Choice, text: str, refusal: str, problems: Problems) -> Choice:
    try:
        return type(usual)(text or usual)
    except ValueError:
        problems.append(InvalidValue(name, refusal))
        return usual


# --- kit of the studio ------------------------------------------------------------------------------------------------


def chosen_kit(recipe: Recipe, said: Mapping[str, str], lengths: Lengths, problems: Problems) -> ChosenKit:
    """What was chosen out of the studio's kit: camera, lens, the side of the field that holds, and for each light its
    head, modifier and, where the room leaves no choice, distance."""
    theirs = {light.letter: of_light(said, light.letter) for light in recipe.lit}
    return ChosenKit(
        said.get("camera", ""),
        said.get("lens", ""),
        held_measure(said.get("held", ""), problems),
        {
            letter: _chosen_light(letter, each, lengths, problems)
            for letter, each in theirs.items()
            if each.get("head")
        },
    )


def _chosen_light(letter: str, theirs: Mapping[str, str], lengths: Lengths, problems: Problems) -> ChosenLight:
    distance_mm = _distance_mm(("lights", letter, "distance"), theirs.get("distance", ""), lengths, problems)
    return ChosenLight(theirs["head"], theirs.get("modifier") or None, distance_mm)


def typed_wishes(recipe: Recipe, said: Mapping[str, str], lengths: Lengths, problems: Problems) -> Wishes:
    """What a reshoot is to be, as its form says it."""
    how = _one_of("how", Way.FITTING, said["how"], f"A set-up is filled in as {' or '.join(Way)}.", problems)
    kit = chosen_kit(recipe, said, lengths, problems)
    return Wishes(kit, said["title"], said["session_name"], said["session"], how)


def _distance_mm(
    where: tuple[str, ...], told: str | float | None, lengths: Lengths, problems: Problems
) -> float | None:
    """A distance as it was typed, in the unit of `lengths` where it has none, or sent in millimetres."""
    if not isinstance(told, str):
        return told
    try:
        return lengths.read(told) if told.strip() else None
    except ValueError as error:
        problems.append(InvalidValue(where, str(error)))
        return None


# --- kit that a reader types in ---------------------------------------------------------------------------------------


class TestFrameForm(BaseModel):
    """One frame of a grey card where the subject stands, with one light alone at full power, for want of a meter."""

    # Its name is that of a test frame, not of a test.
    __test__ = False
    model_config = ConfigDict(str_strip_whitespace=True, extra="forbid")

    test_f_number: str = Field("8", max_length=40, title="or one test frame, at full power and ISO 100, at f/")
    test_stops: Maybe = Field(
        None,
        ge=-8,
        le=8,
        title="it reads",
        description="a grey card where the subject stands: stops over mid-tone, or with a minus under it",
        json_schema_extra={"unit": "stops"},
    )
    test_distance_mm: MaybeTaped = Field(
        None, gt=0, le=100_000, title="the light being away", json_schema_extra=BY_TAPE
    )


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a reader: some of the fields of a form of the house's kit."""

    form: type[BaseModel]
    names: tuple[str, ...]


CAMERA: Final = Asked(
    CameraForm,
    ("sensor_width_mm", "sensor_height_mm", "width_px", "height_px", "sync_mark", "lowest_iso", "highest_iso"),
)
LENS: Final = Asked(
    LensForm,
    ("shortest_focal_mm", "longest_focal_mm", "widest_f_number", "smallest_f_number", "greatest_magnification"),
)
HEAD: Final = Asked(
    LightForm,
    (
        "full_energy_j",
        "range_stops",
        "step_stops",
        "marking",
        "full_number",
        "stops_per_number",
        "guide_number_m",
    ),
)
MODIFIER: Final = Asked(ModifierForm, ("shape", "width_mm", "height_mm", "inner_diameter_mm", "loss_stops"))
READING: Final = Asked(MeterReadingForm, ("f_number", "power", "distance_mm"))
TEST_FRAME: Final = Asked(TestFrameForm, ("test_f_number", "test_stops", "test_distance_mm"))
OF_A_LIGHT: Final = (HEAD, MODIFIER, READING, TEST_FRAME)
ROOM: Final = "distance"
"""The field of a light that says where the room leaves no choice, in centimetres."""

# What is typed only by somebody who has something to stand in for the light.
_TELLING: Final = ("full_energy_j", "guide_number_m", "width_mm", "f_number", "distance_mm", "test_stops", ROOM)


def is_told(theirs: Mapping[str, Any]) -> bool:
    """Whether anything stands in for a light."""
    return theirs.get("shape", "point") != "point" or _says(theirs, *_TELLING)


def _says(theirs: Mapping[str, Any], *names: str) -> bool:
    return any(str(theirs.get(name) or "").strip() for name in names)


def visitor_kit(recipe: Recipe, said: Mapping[str, Any], of_lights: Mapping[str, Mapping[str, Any]]) -> OtherKit:
    """The kit that was typed in, by its figures: it has no names. `said` has the fields of camera and lens and the side
    that is held, `of_lights` those of the lights by their letters; text is read, a number is taken as the records have
    it. Raises SeveralInvalid with every field that cannot be; those of a light are at "lights" and its letter."""
    problems: Problems = []
    camera = _checked(CameraForm, CAMERA, said, problems, name="your camera")
    lens = _checked(LensForm, LENS, said, problems, name="your lens")
    held = held_measure(said.get("held", ""), problems)
    told = [(light, of_lights[light.letter]) for light in recipe.lit if is_told(of_lights.get(light.letter, {}))]
    figures = replace(inventory.camera_figures(Camera(**camera.row_values())), name="") if camera else None
    close_up = unmetered.close_up_stops(recipe, figures, held) if figures else 0.0
    lights = {light.letter: _light(light, theirs, close_up, problems) for light, theirs in told}
    if problems or figures is None or lens is None:
        raise SeveralInvalid(problems)
    return OtherKit(
        figures,
        replace(inventory.lens_figures(Lens(**lens.row_values())), name=""),
        held,
        {letter: light for letter, (light, _) in lights.items() if light is not None},
        chosen=tuple(how for _, how in lights.values() if how is not None),
    )


def _checked(form: type[Form], asked: Asked, said: Mapping[str, Any], problems: Problems, **over: str) -> Form | None:
    """A form from what was said of it; what cannot be is added to the problems."""
    try:
        return form.model_validate({name: said[name] for name in asked.names if name in said} | over)
    except ValidationError as error:
        problems.extend(invalid_fields(error).problems)
        return None


def _light(
    light: LightPart, theirs: Mapping[str, Any], close_up: float, problems: Problems
) -> tuple[Light | None, Fact | None]:
    """What stands in for a light, None where it cannot be read; and by what its dial is told where no meter was.
    `close_up` is what the camera loses at the picture's magnification, in stops."""
    letter, wrong = light.letter, Problems()
    head_form = _checked(LightForm, HEAD, theirs, wrong, name="your head", kind=light.head.kind)
    modifier_form = _checked(ModifierForm, MODIFIER, theirs, wrong, name="your modifier")
    reading_form: MeterReadingForm | None = None
    if _says(theirs, "f_number", "distance_mm"):
        reading_form = _checked(MeterReadingForm, READING, theirs, wrong)
    frame_form = _checked(TestFrameForm, TEST_FRAME, theirs, wrong)
    distance_mm = _distance_mm((ROOM,), theirs.get(ROOM), CENTIMETRES, wrong)
    made: Light | None = None
    how: Fact | None = None
    if head_form is not None and modifier_form is not None and not wrong:
        head = replace(inventory.head_figures(LightHead(**head_form.row_values())), name="")
        try:
            modifier = _modifier(modifier_form)
            incident = inventory.reading_of(reading_form, head) if reading_form else None
            if incident is None and frame_form is not None and frame_form.test_stops is not None:
                incident, how = _of_test_frame(letter, frame_form, frame_form.test_stops, close_up)
            elif incident is None and head.guide_number_m is not None:
                incident, how = unmetered.of_guide_number(letter, head.guide_number_m, modifier)
            made = Light(letter, light.role, head, modifier, distance_mm=distance_mm, incident=incident)
        except InvalidValue as error:
            wrong.append(error)
    problems.extend(InvalidValue(("lights", letter, *each.where), f"{letter}: {each}") for each in wrong)
    return made, how


def _of_test_frame(letter: str, form: TestFrameForm, stops: float, close_up: float) -> tuple[IncidentReading, Fact]:
    if form.test_distance_mm is None:
        raise InvalidValue("test_distance_mm", "A test frame says how far the light was from the grey card.")
    try:
        f_number = read_mark(Quantity.F_NUMBER, form.test_f_number, Dial.THIRD)
    except ValueError as error:
        raise InvalidValue("test_f_number", str(error)) from error
    return unmetered.of_test_frame(letter, f_number, stops, close_up, form.test_distance_mm)


def _modifier(form: ModifierForm) -> ModifierFigures | None:
    """None for a bare head."""
    if form.shape == "point":
        return None
    # The form asks for the shape of the diffusing face.
    return replace(inventory.modifier_figures(Modifier(**form.row_values())), name="", diffuses=True)

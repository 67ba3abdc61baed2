"""The kit of a reader outside of the house, typed in and never kept: checked by the same forms as the house's own kit,
and turned into figures to adapt to.

A head's energy names the marks of its own dial; what tells where that dial has to stand is a meter reading taken with
the very head and modifier, as everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, TypeVar

from pydantic import BaseModel, ValidationError

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.kit import inventory
from webapp.kit.forms import CameraForm, LensForm, LightForm, MeterReadingForm, ModifierForm
from webapp.ledger.set_up import HeadFigures, IncidentReading, ModifierFigures
from webapp.optics.scales import Dial, Quantity
from webapp.quantities.marks import read_mark
from webapp.recipes.adapt.adapting import OtherKit, OtherLight
from webapp.recipes.adapt.own_kit import held_measure, typed_distance_mm
from webapp.recipes.document import LightPart, Recipe
from webapp.recipes.share.plain_kit import head_words, modifier_words
from webapp.records.tables import Camera, Lens, LightHead, Modifier

Form = TypeVar("Form", bound=BaseModel)


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
    LightForm, ("full_energy_j", "range_stops", "step_stops", "marking", "full_number", "stops_per_number")
)
MODIFIER: Final = Asked(ModifierForm, ("shape", "width_mm", "height_mm", "inner_diameter_mm"))
READING: Final = Asked(MeterReadingForm, ("f_number", "power", "distance_mm"))
OF_A_LIGHT: Final = (HEAD, MODIFIER, READING)
ROOM: Final = "distance"
"""The field of a light that says where the room leaves no choice, in centimetres."""

# What is typed only by somebody who has something to stand in for the light.
_TELLING: Final = ("full_energy_j", "width_mm", "f_number", "distance_mm", ROOM)


def said_of_light(said: Mapping[str, str], letter: str) -> dict[str, str]:
    """The fields of one light: in the address each ends with the light's letter."""
    ending = f"_{letter}"
    return {name.removesuffix(ending): value for name, value in said.items() if name.endswith(ending)}


def is_told(theirs: Mapping[str, str]) -> bool:
    """Whether anything stands in for a light."""
    return theirs.get("shape", "point") != "point" or any(theirs.get(name, "").strip() for name in _TELLING)


def visitor_kit(recipe: Recipe, said: Mapping[str, str]) -> OtherKit:
    """The kit that was typed in. Raises SeveralInvalid with every field that cannot be; those of a light end with its
    letter."""
    problems: list[InvalidValue] = []
    camera = _checked(CAMERA.form, CAMERA, said, problems, name="your camera")
    lens = _checked(LENS.form, LENS, said, problems, name="your lens")
    lights: dict[str, OtherLight] = {}
    for light in recipe.lit:
        theirs = said_of_light(said, light.letter)
        if is_told(theirs):
            try:
                lights[light.letter] = _light(light, theirs)
            except SeveralInvalid as error:
                problems.extend(_at_letter(each, light.letter) for each in error.problems)
    try:
        held = held_measure(said)
    except InvalidValue as error:
        problems.append(error)
    if problems or not isinstance(camera, CameraForm) or not isinstance(lens, LensForm):
        raise SeveralInvalid(problems)
    return OtherKit(
        inventory.camera_figures(Camera(**camera.row_values())),
        inventory.lens_figures(Lens(**lens.row_values())),
        held,
        lights,
    )


def _checked(
    form: type[Form], asked: Asked, said: Mapping[str, str], problems: list[InvalidValue], **over: str
) -> Form | None:
    """A form from what was typed into it; what cannot be is added to the problems."""
    typed = {name: said[name] for name in asked.names if name in said}
    try:
        return form.model_validate(typed | over)
    except ValidationError as error:
        problems.extend(inventory.invalid_fields(error).problems)
        return None


def _at_letter(problem: InvalidValue, letter: str) -> InvalidValue:
    return InvalidValue(f"{problem.where[0]}_{letter}", f"{letter}: {problem}")


def _light(light: LightPart, theirs: Mapping[str, str]) -> OtherLight:
    """What stands in for a light. Raises SeveralInvalid."""
    problems: list[InvalidValue] = []
    head_form = _checked(LightForm, HEAD, theirs, problems, name="your head", kind=light.head.kind)
    modifier_form = _checked(ModifierForm, MODIFIER, theirs, problems, name="your modifier")
    distance_mm: float | None = None
    reading_form: MeterReadingForm | None = None
    if theirs.get("f_number", "").strip() or theirs.get("distance_mm", "").strip():
        reading_form = _checked(MeterReadingForm, READING, theirs, problems)
    try:
        distance_mm = typed_distance_mm(ROOM, theirs)
    except InvalidValue as error:
        problems.append(error)
    if problems or head_form is None or modifier_form is None:
        raise SeveralInvalid(problems)
    head = inventory.head_figures(LightHead(**head_form.row_values()))
    return OtherLight(
        head=replace(head, name=f"your {head_words(head)}"),
        modifier=_modifier(modifier_form),
        incident=None if reading_form is None else _incident(head, reading_form),
        distance_mm=distance_mm,
    )


def _modifier(form: ModifierForm) -> ModifierFigures | None:
    """None for a bare head."""
    if form.shape == "point":
        return None
    figures = inventory.modifier_figures(Modifier(**form.row_values()))
    return replace(figures, name=modifier_words(form.shape, form.width_mm, form.height_mm))


def _incident(head: HeadFigures, form: MeterReadingForm) -> IncidentReading:
    try:
        metered = read_mark(Quantity.F_NUMBER, form.f_number, Dial.THIRD)
    except ValueError as error:
        raise SeveralInvalid([InvalidValue("f_number", str(error))]) from error
    try:
        power = head.dial.read(form.power)
    except ValueError as error:
        raise SeveralInvalid([InvalidValue("power", str(error))]) from error
    return IncidentReading(metered.stops, metered.text, power, form.distance_mm)

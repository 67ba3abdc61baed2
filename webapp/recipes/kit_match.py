"""Which pieces of a kit stand for a recipe's pieces: what of the recipe's own kit is in this studio, kit of the studio that
was chosen in its place, kit that a reader from outside types in, and, for the search, whether a kit would do at all.

A piece is the recipe's own where the frame that the recipe was published from names it and it is still in the kit, or
where one has the same name and the same figures. A reader's kit is typed and never kept: it is checked by the same forms
as the studio's, and turned into the same figures. A head's energy names the marks of its own dial; what tells where that
dial has to stand is a meter reading taken with the very head and modifier, as everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Final, Protocol, TypeVar

from pydantic import BaseModel, ValidationError
from sqlmodel import Session as Database

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.kit import inventory
from webapp.kit.forms import CameraForm, LensForm, LightForm, MeterReadingForm, ModifierForm
from webapp.ledger.set_up import (
    CameraFigures,
    FilterFigures,
    HeadFigures,
    IncidentReading,
    LensFigures,
    ModifierFigures,
    SetUp,
)
from webapp.optics.equivalence import Measure
from webapp.optics.scales import Dial, Quantity
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.marks import read_mark
from webapp.recipes.adapt.adapting import OtherKit, OtherLight
from webapp.recipes.document import FilterPart, HeadPart, LightPart, Recipe
from webapp.records import kit as kit_records
from webapp.records.engine import Records
from webapp.records.recipe_search import KitHere, Range, Within
from webapp.records.tables import Camera, Filter, Lens, LightHead, Modifier
from webapp.shoots.set_up_now import RecordedShelf

# --- the recipe's own kit, as far as it is here -----------------------------------------------------------------------


class _Named(Protocol):
    @property
    def id(self) -> str: ...

    @property
    def name(self) -> str: ...


Figures = TypeVar("Figures", bound=_Named)


@dataclass(frozen=True, slots=True)
class KitInUse:
    """The figures of the kit that a studio has in use."""

    cameras: Sequence[CameraFigures] = ()
    lenses: Sequence[LensFigures] = ()
    heads: Sequence[HeadFigures] = ()
    modifiers: Sequence[ModifierFigures] = ()
    filters: Sequence[FilterFigures] = ()


@dataclass(frozen=True, slots=True)
class OwnPieces:
    """The recipe's own kit as far as it is in this studio; lights by their letters."""

    camera: CameraFigures | None = None
    lens: LensFigures | None = None
    heads: Mapping[str, HeadFigures] = field(default_factory=dict)
    modifiers: Mapping[str, ModifierFigures] = field(default_factory=dict)
    filters: Mapping[FilterPart, FilterFigures] = field(default_factory=dict)


def kit_in_use(db: Database) -> KitInUse:
    """What this studio has and has not retired."""
    shelf = RecordedShelf(db)
    return KitInUse(
        cameras=[inventory.camera_figures(row) for row in kit_records.items_in(db, Camera)],
        lenses=[inventory.lens_figures(row) for row in kit_records.items_in(db, Lens)],
        heads=[shelf.head(row.id) for row in kit_records.items_in(db, LightHead)],
        modifiers=[inventory.modifier_figures(row) for row in kit_records.items_in(db, Modifier)],
        filters=[inventory.filter_figures(row) for row in kit_records.items_in(db, Filter)],
    )


def own_pieces(recipe: Recipe, kit: KitInUse, published_from: SetUp | None = None) -> OwnPieces:
    """What of the recipe's kit is here. `published_from` is the frame's set-up where the recipe is of this house."""
    frame = published_from
    lights = {light.letter: light for light in frame.lights} if frame else {}
    fitted = [each for light in lights.values() for each in light.filters] + list(frame.lens_filters if frame else ())
    ids = {each.name: each.id for each in fitted}
    heads: dict[str, HeadFigures] = {}
    modifiers: dict[str, ModifierFigures] = {}
    for part in recipe.lights:
        was = lights.get(part.letter)
        alike = (each for each in kit.heads if _head_key(each) == _head_key(part.head))
        if head := _found(kit.heads, was.head.id if was else None, alike):
            heads[part.letter] = head
        if part.modifier is None:
            continue
        fits = (each for each in kit.modifiers if _modifier_key(each) == _written_modifier_key(part))
        if modifier := _found(kit.modifiers, was.modifier.id if was and was.modifier else None, fits):
            modifiers[part.letter] = modifier
    filters: dict[FilterPart, FilterFigures] = {}
    for filter_part in _filters_of(recipe):
        same = (each for each in kit.filters if _filter_key(each) == _filter_key(filter_part))
        if filter_figures := _found(kit.filters, ids.get(filter_part.name), same):
            filters[filter_part] = filter_figures
    return OwnPieces(
        camera=_found(kit.cameras, frame.camera.id if frame else None, _cameras_like(recipe, kit)),
        lens=_found(kit.lenses, frame.lens.id if frame else None, _lenses_like(recipe, kit)),
        heads=heads,
        modifiers=modifiers,
        filters=filters,
    )


def _found(kit: Sequence[Figures], item_id: str | None, alike: Iterable[Figures]) -> Figures | None:
    """By its id, else the first that has its name and figures."""
    return next((each for each in kit if each.id == item_id), None) or next(iter(alike), None)


def _cameras_like(recipe: Recipe, kit: KitInUse) -> Iterable[CameraFigures]:
    part = recipe.camera
    # A camera that stood upright has its sides the other way round.
    sides = sorted((part.sensor_width_mm, part.sensor_height_mm)) if part else []
    return (
        each
        for each in kit.cameras
        if part and each.name == part.name and sorted((each.sensor_width_mm, each.sensor_height_mm)) == sides
    )


def _lenses_like(recipe: Recipe, kit: KitInUse) -> Iterable[LensFigures]:
    part = recipe.lens
    named = ("name", "shortest_focal_mm", "longest_focal_mm", "widest_f_number")
    return (each for each in kit.lenses if part and all(getattr(each, name) == getattr(part, name) for name in named))


def _head_key(head: HeadFigures | HeadPart) -> tuple[object, ...]:
    return head.name, head.kind, head.form, head.full_energy_j, head.lowest_power_stops


def _modifier_key(modifier: ModifierFigures | None) -> tuple[object, ...] | None:
    if modifier is None:
        return None
    face = modifier.face
    return modifier.name, face.shape, face.width_mm, face.height_mm, face.inner_diameter_mm


def _written_modifier_key(part: LightPart) -> tuple[object, ...] | None:
    if part.modifier is None:
        return None
    return part.modifier, part.shape, part.width_mm, part.height_mm, part.inner_diameter_mm


def _filter_key(part: FilterPart | FilterFigures) -> tuple[object, ...]:
    return part.name, part.kind, part.loss_stops, part.shift_mired


def _filters_of(recipe: Recipe) -> Iterable[FilterPart]:
    yield from recipe.settings.lens_filters
    for light in recipe.lights:
        yield from light.filters


# --- kit of this studio, chosen piece by piece ------------------------------------------------------------------------


def own_kit(records: Records, recipe: Recipe, said: Mapping[str, str], lengths: Lengths = CENTIMETRES) -> OtherKit:
    """The kit that was chosen: camera, lens, the side of the field that holds, and for each light its head, modifier
    and, where the room leaves no choice, distance, typed in the unit of `lengths`. Raises InvalidValue naming what cannot be."""
    held = held_measure(said)
    with records.reading() as db:
        camera = inventory.camera_figures(kit_records.item_of(db, Camera, said.get("camera", "")))
        lens = inventory.lens_figures(kit_records.item_of(db, Lens, said.get("lens", "")))
        lights = {
            light.letter: _own_light(db, light, said, lengths)
            for light in recipe.lit
            if said.get(f"head_{light.letter}")
        }
    return OtherKit(camera, lens, held, lights)


def held_measure(said: Mapping[str, str]) -> Measure:
    """The side of the field that holds; its width where nothing was said. Raises InvalidValue."""
    try:
        return Measure(said.get("held") or "width")
    except ValueError as error:
        raise InvalidValue("held", f"The field is held by one of: {', '.join(Measure)}.") from error


def _own_light(db: Database, light: LightPart, said: Mapping[str, str], lengths: Lengths) -> OtherLight:
    head = inventory.head_figures(kit_records.item_of(db, LightHead, said[f"head_{light.letter}"]))
    modifier_id = said.get(f"modifier_{light.letter}") or None
    modifier = inventory.modifier_figures(kit_records.item_of(db, Modifier, modifier_id)) if modifier_id else None
    return OtherLight(
        head=head,
        modifier=modifier,
        incident=inventory.incident_reading(db, head.id, modifier_id),
        distance_mm=typed_distance_mm(f"distance_{light.letter}", said, lengths),
        is_the_same=_head_key(head) == _head_key(light.head)
        and _modifier_key(modifier) == _written_modifier_key(light),
    )


def typed_distance_mm(name: str, said: Mapping[str, str], lengths: Lengths = CENTIMETRES) -> float | None:
    """A distance that was typed, in the unit of `lengths` where it has none; None where there is none. Raises InvalidValue at
    its name."""
    text = said.get(name, "").strip()
    try:
        return lengths.read(text) if text else None
    except ValueError as error:
        raise InvalidValue(name, str(error)) from error


# --- kit that a reader types in ---------------------------------------------------------------------------------------

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
    """The kit that was typed in, by its figures: it has no names. Raises SeveralInvalid with every field that cannot be; those of a light end with its
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
        replace(inventory.camera_figures(Camera(**camera.row_values())), name=""),
        replace(inventory.lens_figures(Lens(**lens.row_values())), name=""),
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
        head=replace(head, name=""),
        modifier=_modifier(modifier_form),
        incident=None if reading_form is None else _incident(head, reading_form),
        distance_mm=distance_mm,
    )


def _modifier(form: ModifierForm) -> ModifierFigures | None:
    """None for a bare head."""
    if form.shape == "point":
        return None
    return replace(inventory.modifier_figures(Modifier(**form.row_values())), name="")


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


# --- whether a kit would do -------------------------------------------------------------------------------------------

# Said as far as figures tell. Four things are compared: flash heads, rings and lamps by their number; the modifiers by
# their size, because one of like size can be moved until it looks as large (a strip only by a strip); the field by the
# lens that gets closest on the smallest sensor. Powers are not: joules rank only the settings of one head. What a recipe
# leaves unknown is not had.
FACET: Final = "kit owned"
ALL_OF_IT: Final = "can be rebuilt"
# Half as large again, moved as much further away, looks the same and falls off alike; common practice.
LIKE_SIZE: Final = 1.5
# From here on a face is called a strip; common practice.
_STRIP: Final = 2.5
_DISTANT_MM: Final = 1e9
# Sizes from 10 mm to 5 m, in steps of a tenth.
_SMALLEST_MM, _STEPS_AN_OCTAVE, _LAST = 10.0, 7, 62


@dataclass(frozen=True, slots=True)
class Needs:
    """What a recipe needs of a kit. Sizes are bits, one a step; None is unknown."""

    flash_count: int = 0
    ring_count: int = 0
    continuous_count: int = 0
    face_sizes: int | None = 0
    strip_sizes: int | None = 0
    field_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Owned:
    """What a kit has, in the same terms: `field_mm` is the smallest field that fills the frame, None where no lens
    says how close it gets."""

    flash_count: int = 0
    ring_count: int = 0
    continuous_count: int = 0
    face_sizes: int = 0
    strip_sizes: int = 0
    field_mm: float | None = None

    @property
    def ranges(self) -> tuple[Range, ...]:
        """What the line of a recipe has to meet to be rebuilt with this kit."""
        closest = _DISTANT_MM if self.field_mm is None else self.field_mm
        return (
            Range("flash_count", high=self.flash_count),
            Range("ring_count", high=self.ring_count),
            Range("continuous_count", high=self.continuous_count),
            Range("field_mm", low=closest),
        )

    @property
    def sizes(self) -> tuple[Within, ...]:
        return (Within("face_sizes", self.face_sizes), Within("strip_sizes", self.strip_sizes))


def needs_of(recipe: Recipe) -> Needs:
    """What a kit must have to rebuild a recipe."""
    lit = recipe.lit
    faces, strips = _sizes(light for light in lit if light.modifier and light.head.form != "ring")
    return Needs(
        flash_count=sum(light.head.kind == "flash" and light.head.form != "ring" for light in lit),
        ring_count=sum(light.head.form == "ring" for light in lit),
        continuous_count=sum(light.head.kind == "continuous" and light.head.form != "ring" for light in lit),
        face_sizes=faces,
        strip_sizes=strips,
        field_mm=_field_mm(recipe),
    )


def _sizes(lights: Iterable[LightPart]) -> tuple[int | None, int | None]:
    bits = [0, 0]
    for light in lights:
        sides = sorted(side for side in (light.width_mm, light.height_mm) if side)
        if not sides:
            return None, None
        bits[int(_is_strip(light.shape, sides))] |= 1 << _step(sides[-1])
    return bits[0], bits[1]


def _is_strip(shape: str, sides: list[float]) -> bool:
    return shape == "rectangle" and len(sides) == 2 and sides[1] >= _STRIP * sides[0]


def _step(size_mm: float) -> int:
    return min(max(math.floor(_STEPS_AN_OCTAVE * math.log2(size_mm / _SMALLEST_MM)), 0), _LAST)


def _field_mm(recipe: Recipe) -> float | None:
    if recipe.settings.magnification == 0:
        return _DISTANT_MM
    return None if recipe.field_mm is None else max(recipe.field_mm)


def owned_by(kit: KitHere) -> Owned:
    """What a kit has."""
    faces, strips = 0, 0
    for shape, width, height in kit.faces:
        sides = sorted(side for side in (width, height) if side)
        if sides and _is_strip(shape, sides):
            strips |= _like(sides[-1])
        elif sides:
            faces |= _like(sides[-1])
    side, closest = kit.shortest_side_mm, kit.greatest_magnification
    return Owned(
        flash_count=sum(kind != "continuous" and form != "ring" for kind, form in kit.lights),
        ring_count=sum(form == "ring" for _, form in kit.lights),
        continuous_count=sum(kind == "continuous" and form != "ring" for kind, form in kit.lights),
        face_sizes=faces,
        strip_sizes=strips,
        field_mm=side / closest if side and closest else None,
    )


@lru_cache(maxsize=256)
def _like(size_mm: float) -> int:
    """The steps whose sizes a face of this size can stand for."""
    middles = (_SMALLEST_MM * 2.0 ** ((step + 0.5) / _STEPS_AN_OCTAVE) for step in range(_LAST + 1))
    return sum(1 << step for step, middle in enumerate(middles) if 1 / LIKE_SIZE <= size_mm / middle <= LIKE_SIZE)

"""Which pieces of a kit stand for a recipe's pieces: what of the recipe's own kit is in this studio, kit of the studio that
was chosen in its place, and, for the search, whether a kit would do at all.

A piece is the recipe's own where the frame that the recipe was published from names it and it is still in the kit, or
where one has the same name and the same figures.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final, TypeVar

from sqlmodel import Session as Database

from webapp.errors import InvalidValue
from webapp.facts import Fact
from webapp.kit import inventory
from webapp.ledger.set_up import (
    CameraFigures,
    FilterFigures,
    HeadFigures,
    LensFigures,
    Light,
    ModifierFigures,
    Piece,
    SetUp,
)
from webapp.optics.equivalence import Measure
from webapp.recipes.adapt.adapting import OtherKit
from webapp.recipes.adapt.choosing import ChosenLights, best_lens, best_lights
from webapp.recipes.document import LightPart, Recipe
from webapp.recipes.plain_kit import pieces_of
from webapp.recipes.written_frame import camera_of, lens_of, light_of
from webapp.records import kit as kit_records
from webapp.records.engine import Records
from webapp.records.recipe_search import KitHere, Range, Within
from webapp.records.tables import Camera, Filter, Lens, LightHead, Modifier
from webapp.shoots.shelf import RecordedShelf

# --- the recipe's own kit, as far as it is here -----------------------------------------------------------------------


Figures = TypeVar("Figures", bound=Piece)
Key = TypeVar("Key")


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
    """The recipe's own kit as far as it is in this studio; lights by their letters, filters by the written ones."""

    camera: CameraFigures | None = None
    lens: LensFigures | None = None
    heads: Mapping[str, HeadFigures] = field(default_factory=dict)
    modifiers: Mapping[str, ModifierFigures] = field(default_factory=dict)
    filters: Mapping[FilterFigures, FilterFigures] = field(default_factory=dict)


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
    then = published_from
    lights, on_lens = (then.lights, then.lens_filters) if then else ((), ())
    heads = {light.letter: light.head.id for light in lights}
    modifiers = {light.letter: light.modifier.id for light in lights if light.modifier}
    filters = {each.name: each.id for each in (*(each for light in lights for each in light.filters), *on_lens)}
    written = [light_of(part) for part in recipe.lights]
    return OwnPieces(
        camera=_found(kit.cameras, then.camera.id if then else None, camera_of(recipe)),
        lens=_found(kit.lenses, then.lens.id if then else None, lens_of(recipe)),
        heads=_here({each.letter: _found(kit.heads, heads.get(each.letter), each.head) for each in written}),
        modifiers=_here(
            {
                each.letter: _found(kit.modifiers, modifiers.get(each.letter), each.modifier)
                for each in written
                if each.modifier
            }
        ),
        filters=_here(
            {
                each: _found(kit.filters, filters.get(each.name), each)
                for each in pieces_of(recipe)
                if isinstance(each, FilterFigures)
            }
        ),
    )


def _found(kit: Sequence[Figures], item_id: str | None, written: Figures | None) -> Figures | None:
    """By its id, else the first that has the name and the figures of the written one."""
    alike = (each for each in kit if written is not None and _told_by(each) == _told_by(written))
    return next((each for each in kit if each.id == item_id), None) or next(alike, None)


def _here(found: Mapping[Key, Figures | None]) -> dict[Key, Figures]:
    return {key: piece for key, piece in found.items() if piece is not None}


def _told_by(piece: Piece | None) -> object:
    """The name and the figures by which a document tells a piece."""
    match piece:
        case CameraFigures():
            # A camera that stood upright has its sides the other way round.
            return piece.name, sorted((piece.sensor_width_mm, piece.sensor_height_mm))
        case LensFigures():
            return piece.name, piece.shortest_focal_mm, piece.longest_focal_mm, piece.widest_f_number
        case HeadFigures():
            return piece.name, piece.kind, piece.form, piece.full_energy_j, piece.lowest_power_stops
        case ModifierFigures():
            return piece.name, piece.face
        case FilterFigures():
            return piece.name, piece.kind, piece.loss_stops, piece.shift_mired
    return None


# --- kit of this studio, chosen piece by piece ------------------------------------------------------------------------


BEST: Final = "best"
"""In the place of an id: the piece that comes nearest to the recipe's is chosen out of what there is."""


@dataclass(frozen=True, slots=True)
class ChosenLight:
    """What was chosen to stand for a light, by its ids. Without a modifier it is bare; with a head that is BEST the
    modifier is chosen, too. The distance is given where the room leaves no choice."""

    head_id: str
    modifier_id: str | None = None
    distance_mm: float | None = None


@dataclass(frozen=True, slots=True)
class ChosenKit:
    """What was chosen to stand for the recipe's kit, by its ids and its letters: "" where there is none yet. `held` is
    the side of the field that must stay."""

    camera_id: str
    lens_id: str
    held: Measure = Measure.WIDTH
    lights: Mapping[str, ChosenLight] = field(default_factory=dict)


def own_kit(records: Records, recipe: Recipe, chosen: ChosenKit) -> OtherKit:
    """The kit that was chosen, and for BEST what comes nearest to the recipe's. Raises NotFound for a piece that is not
    there, InvalidValue where no lens can be chosen."""
    with records.reading() as db:
        shelf = RecordedShelf(db)
        written = {part.letter: light_of(part) for part in recipe.lights}
        camera, why = shelf.camera(chosen.camera_id), list[Fact]()
        if chosen.lens_id == BEST:
            found = best_lens(recipe, camera, kit_in_use(db).lenses, chosen.held)
            if found is None:
                raise InvalidValue("lens", "No lens can be chosen for this recipe: choose one of your own.")
            lens = found.lens
            why.append(found.why)
        else:
            lens = shelf.lens(chosen.lens_id)
        named = {letter: each for letter, each in chosen.lights.items() if letter in written}
        best = _best_lights(db, recipe, named)
        why += best.why
        lights = {
            letter: _own_light(shelf, written[letter], each)
            for letter, each in (named | _by_id(best, named)).items()
            if each.head_id != BEST
        }
        own = frozenset(letter for letter, light in lights.items() if _is_alike(light, written[letter]))
        return OtherKit(camera, lens, chosen.held, lights, own, tuple(why))


def _best_lights(db: Database, recipe: Recipe, named: Mapping[str, ChosenLight]) -> ChosenLights:
    """What stands for the lights that nothing was named for, out of what the others leave."""
    wanted = [part for part in recipe.lit if part.letter in named and named[part.letter].head_id == BEST]
    if not wanted:
        return ChosenLights({}, ())
    kit = kit_in_use(db)
    own = own_pieces(recipe, kit)
    taken = {each.head_id for each in named.values()} | {each.modifier_id for each in named.values()}
    heads = [each for each in kit.heads if each.id not in taken]
    modifiers = [each for each in kit.modifiers if each.id not in taken]
    return best_lights(wanted, heads, modifiers, own.heads, own.modifiers)


def _by_id(best: ChosenLights, named: Mapping[str, ChosenLight]) -> dict[str, ChosenLight]:
    return {
        letter: ChosenLight(head.id, modifier.id if modifier else None, named[letter].distance_mm)
        for letter, (head, modifier) in best.lights.items()
    }


def _is_alike(light: Light, written: Light) -> bool:
    one, other = ((_told_by(each.head), _told_by(each.modifier)) for each in (light, written))
    return one == other


def _own_light(shelf: RecordedShelf, written: Light, chosen: ChosenLight) -> Light:
    modifier_id = chosen.modifier_id
    return Light(
        letter=written.letter,
        role=written.role,
        head=shelf.head(chosen.head_id),
        modifier=shelf.modifier(modifier_id) if modifier_id else None,
        distance_mm=chosen.distance_mm,
        incident=shelf.incident_reading(chosen.head_id, modifier_id),
    )


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

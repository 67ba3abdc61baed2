"""Whether the kit that is here can rebuild a recipe, said as far as figures tell. Pure.

Four things are compared: flash heads, rings and lamps by their number; the modifiers by their size, because one of
like size can be moved until it looks as large (a strip only by a strip); the field by the lens that gets closest on the
smallest sensor. Powers are not: joules rank only the settings of one head. What a recipe leaves unknown is not had.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from webapp.recipes.document import LightPart, Recipe
from webapp.records.recipe_search import KitHere, Range, Within

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

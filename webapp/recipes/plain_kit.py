"""Kit in plain words made from its figures: what a reader outside of the house is told of it.

The name that a piece of kit has in the house is whatever was typed, a serial number with it. What travels is its form,
its size and its range; so outside it is called by these alone ("flash head, 400 J", "disc 60 cm"), and where a drafted
sentence holds the name, the plain words take its place.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from webapp.ledger.set_up import FilterFigures, HeadFigures, SetUp
from webapp.recipes.document import FilterPart, HeadPart, Recipe

Named = tuple[str, str]
"""A name in the house, and the plain words for it."""

# Sentences of a document are cut at this length, perhaps within a name.
_CUT_AT = 600
_SHORTEST_NAME = 3


def head_words(head: HeadFigures | HeadPart) -> str:
    """A light by its kind and full energy.

    >>> from webapp.recipes.document import HeadPart
    >>> head_words(HeadPart(name="", kind="flash", form="ring", full_energy_j=400, lowest_power_stops=-6, step_stops=1))
    'ring flash, 400 J'
    """
    words = {
        ("flash", "head"): "flash head",
        ("flash", "ring"): "ring flash",
        ("continuous", "head"): "continuous light",
        ("continuous", "ring"): "continuous ring light",
    }[head.kind, head.form]
    return words if head.full_energy_j is None else f"{words}, {head.full_energy_j:g} J"


def modifier_words(
    shape: str, width_mm: float | None, height_mm: float | None, loss_stops: float | None = None
) -> str:
    """A modifier by the shape and size of its face; one with no diffusing face by its loss too, which is what tells a
    grid from a reflector.

    >>> modifier_words("disc", 600, None), modifier_words("rectangle", 300, 1200), modifier_words("point", 180, None, 1.3)
    ('disc 60 cm', 'rectangle 30 × 120 cm', 'modifier 18 cm, takes 1.3 stops')
    """
    size = " × ".join(f"{side / 10:g}" for side in (width_mm, height_mm) if side)
    words = f"{'modifier' if shape == 'point' else shape} {size} cm" if size else "modifier"
    return f"{words}, takes {loss_stops:.1f} stops" if shape == "point" and loss_stops else words


def filter_words(each: FilterFigures | FilterPart) -> str:
    """A filter by its kind, loss and colour shift.

    >>> filter_words(FilterFigures("", "", "gel", 0.3, 64)), filter_words(FilterFigures("", "", "neutral", None))
    ('gel, takes 0.3 stops, +64 mired', 'neutral filter')
    """
    kinds = {"neutral": "neutral filter", "diffusion": "diffusing sheet", "gel": "gel", "polariser": "polariser"}
    parts = [kinds.get(each.kind, "filter")]
    if each.loss_stops:
        parts.append(f"takes {each.loss_stops:.1f} stops")
    if each.shift_mired:
        parts.append(f"{each.shift_mired:+.0f} mired".replace("-", "−"))
    return ", ".join(parts)


def lens_words(shortest_mm: float, longest_mm: float) -> str:
    """A lens by its focal length.

    >>> lens_words(100, 100), lens_words(24, 70)
    ('100 mm lens', '24–70 mm lens')
    """
    reach = f"{shortest_mm:g}" if shortest_mm == longest_mm else f"{shortest_mm:g}–{longest_mm:g}"
    return f"{reach} mm lens"


def camera_words(width_mm: float, height_mm: float) -> str:
    """A camera by its format.

    >>> camera_words(36, 24)
    'camera 36 × 24 mm'
    """
    return f"camera {width_mm:g} × {height_mm:g} mm"


@dataclass(frozen=True, slots=True)
class Renaming:
    """Puts the plain words in the place of the names that it knows."""

    words: dict[str, str]
    pattern: re.Pattern[str] | None

    @classmethod
    def of(cls, named: Iterable[Named]) -> Renaming:
        """A name that says no more than its plain words stays as it is ("50 mm" of a 50 mm lens)."""
        words = {
            name: plain
            for name, plain in named
            if len(name) >= _SHORTEST_NAME and name.casefold() not in plain.casefold()
        }
        longest_first = "|".join(re.escape(name) for name in sorted(words, key=len, reverse=True))
        return cls(words, re.compile(rf"(?<!\w)(?:{longest_first})(?!\w)") if words else None)

    def __call__(self, text: str) -> str:
        """A sentence in plain words."""
        if self.pattern is None:
            return text
        whole = text if len(text) < _CUT_AT else text[: text.rfind(",") + 1] + " …"
        return self.pattern.sub(lambda found: self.words[found.group()], whole)


def named_in_recipe(recipe: Recipe) -> Iterator[Named]:
    """The kit that a document names."""
    if recipe.camera:
        yield recipe.camera.name, camera_words(recipe.camera.sensor_width_mm, recipe.camera.sensor_height_mm)
    if recipe.lens:
        yield recipe.lens.name, lens_words(recipe.lens.shortest_focal_mm, recipe.lens.longest_focal_mm)
    for each in recipe.settings.lens_filters:
        yield each.name, filter_words(each)
    for light in recipe.lights:
        yield light.head.name, head_words(light.head)
        if light.modifier:
            size = (light.width_mm, light.height_mm)
            yield light.modifier, modifier_words(light.shape, *size, light.modifier_loss_stops)
        for each in light.filters:
            yield each.name, filter_words(each)


def named_in_set_up(set_up: SetUp) -> Iterator[Named]:
    """The kit that a set-up has copied."""
    camera, lens = set_up.camera, set_up.lens
    yield camera.name, camera_words(camera.sensor_width_mm, camera.sensor_height_mm)
    yield lens.name, lens_words(lens.shortest_focal_mm, lens.longest_focal_mm)
    for each in set_up.lens_filters:
        yield each.name, filter_words(each)
    for light in set_up.lights:
        yield light.head.name, head_words(light.head)
        if light.modifier:
            face = light.modifier.face
            yield (
                light.modifier.name,
                modifier_words(face.shape, face.width_mm, face.height_mm, light.modifier.loss_stops),
            )
        for each in light.filters:
            yield each.name, filter_words(each)

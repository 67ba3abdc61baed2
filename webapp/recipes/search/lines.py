"""What the search reads of a recipe: its words, its facets, its figures, and the vector that set-ups are likened by.
Pure."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from webapp.optics.scales import Dial, Quantity, nearest_mark
from webapp.recipes.document import LightPart, Recipe, unknown_what
from webapp.recipes.drafting import key_of
from webapp.recipes.kit_match import FACET as KIT_OWNED
from webapp.recipes.kit_match import needs_of
from webapp.recipes.search.vocabulary import tokens

FACETS = (
    "subject type",
    "surface",
    "look",
    "light",
    "direction",
    "modifier",
    "size",
    "aperture",
    "magnification",
    KIT_OWNED,
    "year",
    "measured",
    "tag",
    "not measured",
)
# Words of these facets are looked for as words; the others are figures, or stand among the kit.
_TERMS = ("subject type", "surface", "look", "light", "direction", "size", "tag")
# From these magnifications on, pictures are called close-ups and macro pictures; common practice.
_CLOSE_UP, _MACRO = 0.05, 0.5
_MAGNIFICATIONS = ((0.1, "under 1:10"), (0.25, "1:10 to 1:4"), (0.5, "1:4 to 1:2"), (0.98, "1:2 to 1:1"))
_MEASURED = ((50, "less than half"), (75, "half and more"), (100, "three quarters and more"))


@dataclass(frozen=True, slots=True)
class Vector:
    """A set-up by what makes its light: where the key comes from, how large it looks, how far the next light lies
    under it, how many lights there are, how large the subject is drawn."""

    directions: tuple[str, ...] = ()
    key_direction: str | None = None
    key_angle_deg: float | None = None
    fill_stops: float | None = None
    light_count: int = 0
    magnification: float | None = None
    looks: tuple[str, ...] = ()


def line_fields(recipe: Recipe) -> dict[str, Any]:
    """The columns of the recipe's line, without its keys."""
    distances = [light.distance_mm for light in recipe.lit if light.distance_mm]
    return {
        "title": recipe.title,
        "subject": f"{recipe.subject}\n{recipe.background}",
        "terms": "\n".join(value for facet, value in facets(recipe) if facet in _TERMS),
        "kit": "\n".join(_kit_words(recipe)),
        "words": "\n".join(
            (
                recipe.why,
                *(step.words for step in recipe.steps),
                *recipe.ratios,
                *(light.role for light in recipe.lights),
            )
        ),
        "made_on": recipe.made_on,
        "f_number": recipe.f_number,
        "magnification": recipe.settings.magnification,
        "energy_j": recipe.energy_j,
        "nearest_mm": min(distances, default=None),
        "stack_frames": recipe.settings.stack_frames,
        "light_count": len(recipe.lit),
        "measured": completeness_percent(recipe),
        **asdict(needs_of(recipe)),
        "picture": recipe.result.digest if recipe.result else "",
        "vector": json.dumps(asdict(vector_of(recipe))),
    }


def words_of(recipe: Recipe) -> set[str]:
    """Every word of the line."""
    fields = line_fields(recipe)
    return set(tokens("\n".join(fields[name] for name in ("title", "subject", "terms", "kit", "words"))))


def facets(recipe: Recipe) -> list[tuple[str, str]]:
    """Facet and value, each pair once."""
    return list(dict.fromkeys(_facets(recipe)))


def _facets(recipe: Recipe) -> Iterator[tuple[str, str]]:
    yield from (("subject type", each) for each in recipe.subject_types)
    yield from (("surface", each) for each in recipe.surfaces)
    yield from (("look", each) for each in recipe.looks)
    for light in recipe.lit:
        yield "light", kind_of_light(light)
        if light.direction:
            yield "direction", light.direction
        if light.modifier:
            yield "modifier", light.modifier
    yield from (("size", each) for each in _size_words(recipe.settings.magnification))
    if recipe.f_number:
        yield "aperture", f"about f/{nearest_mark(Quantity.F_NUMBER, 2 * math.log2(recipe.f_number), Dial.FULL).text}"
    if recipe.settings.magnification:
        yield "magnification", _rung(_MAGNIFICATIONS, recipe.settings.magnification, "1:1 and above")
    yield "year", str(recipe.made_on.year)
    yield "measured", _rung(_MEASURED, completeness_percent(recipe), "all of it")
    if recipe.settings.stack_frames:
        yield "tag", "focus stack"
    yield from (("tag", each) for each in recipe.tags)
    yield from (("not measured", unknown_what(each)) for each in recipe.not_measured)


def _rung(ladder: Sequence[tuple[float, str]], value: float, above: str) -> str:
    """The words of the rung that a value stands under."""
    return next((words for top, words in ladder if value < top), above)


def kind_of_light(light: LightPart) -> str:
    """ring light, flash head or continuous light."""
    if light.head.form == "ring":
        return "ring light"
    return "continuous light" if light.head.kind == "continuous" else "flash head"


def _size_words(magnification: float | None) -> tuple[str, ...]:
    if not magnification or magnification < _CLOSE_UP:
        return ()
    return ("close-up", "macro") if magnification >= _MACRO else ("close-up",)


def _kit_words(recipe: Recipe) -> Iterator[str]:
    for light in recipe.lights:
        yield light.head.name
        if light.modifier:
            yield light.modifier
        yield from (each.name for each in light.filters)
    yield from (each.name for each in recipe.settings.lens_filters)
    yield from (part.name for part in (recipe.camera, recipe.lens) if part is not None)


def completeness_percent(recipe: Recipe) -> int:
    """How much of what a rebuild needs is known: the share of settings, distances, directions, powers, readings."""
    settings = recipe.settings
    asked: list[Any] = [settings.f_number, settings.shutter, settings.iso, settings.magnification]
    asked.append(settings.subject_distance_mm)
    for light in recipe.lit:
        asked.extend((light.power_stops, light.distance_mm, light.direction, light.incident_av))
    return round(100 * sum(each is not None for each in asked) / len(asked))


def vector_of(recipe: Recipe) -> Vector:
    """The recipe's set-up as a vector."""
    key = key_of(recipe.lights)
    under = [light.from_key_stops for light in recipe.lit if light is not key and light.from_key_stops is not None]
    return Vector(
        directions=tuple(sorted({light.direction for light in recipe.lit if light.direction})),
        key_direction=key.direction if key else None,
        key_angle_deg=key.angular_size_deg if key else None,
        fill_stops=max(under, default=None),
        light_count=len(recipe.lit),
        magnification=recipe.settings.magnification,
        looks=recipe.looks,
    )


def set_up_distance(one: Vector, other: Vector) -> float:
    """How far two set-ups lie apart, 0 for the same where all is known: a weighted sum of differences, each from 0 to 1.

    Where the light comes from counts most; sizes and magnifications are compared as factors, levels in stops. What is
    unknown on a side counts half. The weights are common practice, not measured.
    """
    parts = (
        (3.0, _unlike(one.key_direction, other.key_direction)),
        (1.5, _apart(set(one.directions), set(other.directions))),
        (1.5, _factor(one.key_angle_deg, other.key_angle_deg, 8.0)),
        (1.0, _difference(one.fill_stops, other.fill_stops, 4.0)),
        (1.0, min(abs(one.light_count - other.light_count) / 3.0, 1.0)),
        (1.5, _factor(one.magnification, other.magnification, 16.0)),
        (2.0, _apart(set(one.looks), set(other.looks))),
    )
    return sum(weight * part for weight, part in parts) / sum(weight for weight, _ in parts)


def read_vector(text: str) -> Vector:
    """A stored vector."""
    said = json.loads(text)
    lists = {name: tuple(said[name]) for name in ("directions", "looks")}
    return Vector(**(said | lists))


def _unlike(one: str | None, other: str | None) -> float:
    return 0.5 if one is None or other is None else float(one != other)


def _apart(one: set[str], other: set[str]) -> float:
    return 0.5 if not one or not other else 1.0 - len(one & other) / len(one | other)


def _factor(one: float | None, other: float | None, furthest: float) -> float:
    if not one or not other:
        return 0.0 if one == other and one is not None else 0.5
    # A difference of logarithms, not the logarithm of a quotient: the same to the last bit from both sides.
    return min(abs(math.log(one) - math.log(other)) / math.log(furthest), 1.0)


def _difference(one: float | None, other: float | None, furthest: float) -> float:
    if one is None or other is None:
        return 0.0 if one == other else 0.5
    return min(abs(one - other) / furthest, 1.0)

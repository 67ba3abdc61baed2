"""What the search reads of a recipe: its words, its facets and marks, its figures, its lights, and the vector that set-ups
are likened by. Pure."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from webapp.optics.scales import Dial, Quantity, nearest_mark
from webapp.optics.sources import angular_size_deg
from webapp.recipes.document import LightPart, Recipe, unknown_what
from webapp.recipes.drafting import key_of
from webapp.recipes.kit_match import FACET as KIT_OWNED
from webapp.recipes.kit_match import needs_of
from webapp.recipes.search import techniques
from webapp.recipes.search.days import MONTHS, season_of
from webapp.recipes.search.marks import COUNTED
from webapp.recipes.search.techniques import Meeting
from webapp.recipes.search.vocabulary import tokens
from webapp.records.recipe_search import Line

FACETS = (
    "subject type",
    "surface",
    "look",
    "technique",
    "lights",
    "light",
    "direction",
    "modifier",
    "energy",
    "size",
    "aperture",
    "magnification",
    "format",
    KIT_OWNED,
    "season",
    "year",
    "measured",
    "tag",
    "not measured",
)
# Words of these facets are looked for as words; the others are figures, or stand among the kit.
_TERMS = ("subject type", "surface", "look", "technique", "light", "direction", "size", "tag")
# From these magnifications on, pictures are called close-ups and macro pictures; common practice.
_CLOSE_UP, _MACRO = 0.05, 0.5
_MAGNIFICATIONS = ((0.1, "under 1:10"), (0.25, "1:10 to 1:4"), (0.5, "1:4 to 1:2"), (0.98, "1:2 to 1:1"))
_ENERGIES = ((25, "under 25 J"), (100, "25 to 100 J"), (400, "100 to 400 J"), (1600, "400 to 1600 J"))
_MANY_LIGHTS = 5
# Formats by the diagonal of the sensor: what is a tenth smaller or larger is still called so (common practice).
_FORMATS = ((23.0, "small sensor"), (36.0, "APS-C"), (48.0, "full frame"))
_MEASURED = ((50, "less than half"), (75, "half and more"), (100, "three quarters and more"))


@dataclass(frozen=True, slots=True)
class Vector:
    """A set-up by what makes its light: how the key meets the subject as the camera sees it, whether through a panel, how
    large it looks; how the other lights do; how far the fill lies under the key, how many lights there are, how large the
    subject is drawn."""

    meetings: tuple[str, ...] = ()
    key_meeting: str | None = None
    through: bool | None = None
    key_angle_deg: float | None = None
    fill_stops: float | None = None
    light_count: int = 0
    magnification: float | None = None
    looks: tuple[str, ...] = ()


def line_of(recipe: Recipe) -> Line:
    """All that is written of a recipe for the search."""
    fields = line_fields(recipe)
    words = tokens("\n".join(fields[name] for name in ("title", "subject", "terms", "kit", "words")))
    return Line(fields, tuple(marks_of(recipe)), frozenset(words), tuple(_lights(recipe)))


def _lights(recipe: Recipe) -> Iterator[dict[str, Any]]:
    for light in recipe.lit:
        yield {
            "letter": light.letter,
            "role": light.role,
            "kind": kind_of_light(light),
            "energy_j": light.energy_j,
            "power_stops": light.power_stops,
            "distance_mm": light.distance_mm,
            "size_mm": max((side for side in (light.width_mm, light.height_mm) if side), default=None),
        }


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
        **_asked_figures(recipe),
        "picture": recipe.result.digest if recipe.result else "",
        "vector": json.dumps(asdict(vector_of(recipe))),
    }


def _asked_figures(recipe: Recipe) -> dict[str, Any]:
    """The figures that are only asked for."""
    settings, room = recipe.settings, techniques.room_mm(recipe)
    return {
        "shutter_s": 2.0**-settings.shutter.stops if settings.shutter else None,
        "iso": 100.0 * 2.0**settings.iso.stops if settings.iso else None,
        "focal_mm": settings.focal_length_mm,
        "ratio_stops": techniques.fill_under_key_stops(recipe),
        "room_long_mm": room[0] if room else None,
        "room_short_mm": room[1] if room else None,
        "open_count": len(recipe.not_measured),
    }


def facets(recipe: Recipe) -> list[tuple[str, str]]:
    """Facet and value, each pair once."""
    return list(dict.fromkeys(_facets(recipe)))


def marks_of(recipe: Recipe) -> list[tuple[str, str]]:
    """The facets, and what is only asked for in words: which lights there are, at which end their dials stand, how many
    have which kind of modifier, the month, and how lights meet the subject."""
    return list(dict.fromkeys((*_facets(recipe), *_only_asked(recipe))))


def _only_asked(recipe: Recipe) -> Iterator[tuple[str, str]]:
    for light in recipe.lit:
        yield "letter", light.letter
        if light.role:
            yield "role", light.role
        if end := techniques.at_an_end(light):
            yield from ((end, which) for which in ("any", light.letter, light.role) if which)
    if "rim" in recipe.looks:
        yield "role", "rim"
    for family, count in techniques.families_of(recipe).items():
        yield "family", family
        if count:
            yield COUNTED, f"{count} {family}"
    yield "month", MONTHS[recipe.made_on.month - 1]
    yield from (("meeting", each) for each in vector_of(recipe).meetings)


def _facets(recipe: Recipe) -> Iterator[tuple[str, str]]:
    yield from (("subject type", each) for each in recipe.subject_types)
    yield from (("surface", each) for each in recipe.surfaces)
    yield from (("look", each) for each in recipe.looks)
    yield from (("technique", each) for each in techniques.techniques_of(recipe))
    count = len(recipe.lit)
    yield "lights", str(count) if count < _MANY_LIGHTS else f"{_MANY_LIGHTS} and more"
    if recipe.energy_j:
        yield "energy", _rung(_ENERGIES, recipe.energy_j, "over 1600 J")
    if recipe.camera:
        diagonal = math.hypot(recipe.camera.sensor_width_mm, recipe.camera.sensor_height_mm)
        yield "format", _rung(_FORMATS, diagonal, "medium format")
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
    yield "season", season_of(recipe.made_on.month)
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
    key, axis = key_of(recipe.lights), techniques.camera_axis(recipe)
    raked = "raking" in recipe.looks
    met = {light.letter: techniques.meeting_of(light, axis, raked) for light in recipe.lit}
    return Vector(
        meetings=tuple(sorted({each for each in met.values() if each})),
        key_meeting=met.get(key.letter) if key else None,
        through=techniques.goes_through(key) if key else None,
        key_angle_deg=_as_seen_deg(key) if key else None,
        fill_stops=techniques.fill_under_key_stops(recipe),
        light_count=len(recipe.lit),
        magnification=recipe.settings.magnification,
        looks=recipe.looks,
    )


def _as_seen_deg(light: LightPart) -> float | None:
    """How large a light looks from the subject, by what the document says or by its face and its distance."""
    size = max((side for side in (light.width_mm, light.height_mm) if side), default=None)
    if light.angular_size_deg is not None or size is None or light.distance_mm is None:
        return light.angular_size_deg
    return angular_size_deg(size, light.distance_mm)


# Ways of meeting the subject that lie beside each other: half as unlike as others.
_BESIDE = frozenset(
    frozenset(pair)
    for pair in (
        (Meeting.ON_AXIS, Meeting.FRONT),
        (Meeting.FRONT, Meeting.SIDE),
        (Meeting.FRONT, Meeting.ABOVE),
        (Meeting.SIDE, Meeting.RAKING),
        (Meeting.SIDE, Meeting.ABOVE),
        (Meeting.BEHIND, Meeting.BELOW),
    )
)


def set_up_distance(one: Vector, other: Vector) -> float:
    """How far two set-ups lie apart, 0 for the same where all is known: a weighted sum of differences, each from 0 to 1.

    How the light meets the subject counts most; sizes and magnifications are compared as factors, levels in stops. What
    is unknown on a side counts half. The weights are common practice, not measured.
    """
    parts = (
        (3.0, _met_unlike(one.key_meeting, other.key_meeting)),
        (1.0, _unlike(one.through, other.through)),
        (1.5, _apart(set(one.meetings), set(other.meetings))),
        (1.5, _factor(one.key_angle_deg, other.key_angle_deg, 8.0)),
        (1.0, _difference(one.fill_stops, other.fill_stops, 4.0)),
        (1.0, min(abs(one.light_count - other.light_count) / 3.0, 1.0)),
        (1.5, _factor(one.magnification, other.magnification, 16.0)),
        (1.0, _apart(set(one.looks), set(other.looks))),
    )
    return sum(weight * part for weight, part in parts) / sum(weight for weight, _ in parts)


def read_vector(text: str) -> Vector:
    """A stored vector."""
    said = json.loads(text)
    lists = {name: tuple(said[name]) for name in ("meetings", "looks")}
    return Vector(**(said | lists))


def _met_unlike(one: str | None, other: str | None) -> float:
    if one is None or other is None:
        return 0.5
    return 0.0 if one == other else 0.5 if frozenset((one, other)) in _BESIDE else 1.0


def _unlike(one: bool | None, other: bool | None) -> float:
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

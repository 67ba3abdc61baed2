"""A recipe's set-up put back together out of a studio's kit: as it is written, or as it is solved for other kit. Pure.

What stands for no piece is said and left open: a light without a head is left out, a head that is another has no power
until it is solved or set.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from webapp.errors import Conflict
from webapp.facts import Fact, fact
from webapp.ledger.fields import LETTERS
from webapp.ledger.placing import with_distance
from webapp.ledger.set_up import FilterFigures, Light, SetUp
from webapp.optics.scales import Quantity, nearest_mark
from webapp.quantities.marks import read_mark
from webapp.recipes.adapt.adapting import Adapted, OtherKit, OtherLight, adapt
from webapp.recipes.document import FilterPart, LightPart, Recipe
from webapp.recipes.kit_match import OwnPieces
from webapp.recipes.reasons import Reason
from webapp.recipes.set_plan import position_of
from webapp.recipes.written_frame import as_written


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """The set-up as it is filled in, what is left open, and the table where it was solved."""

    set_up: SetUp
    left_open: tuple[Fact, ...]
    adapted: Adapted | None = None


def lettered(recipe: Recipe) -> Recipe:
    """The recipe with its lights named as a set names them: each by one capital letter of its own. A recipe of this
    house stays as it is. Raises Conflict where there are more lights than letters."""
    letters = [light.letter for light in recipe.lights]
    if len(set(letters)) == len(letters) and set(letters) <= set(LETTERS):
        return recipe
    if len(letters) > len(LETTERS):
        raise Conflict(f"The recipe has {len(letters)} lights, and a set-up holds at most {len(LETTERS)}.")
    lights = tuple(
        light.model_copy(update={"letter": new}) for light, new in zip(recipe.lights, LETTERS, strict=False)
    )
    # Whose share was whose cannot be told of letters that were taken twice.
    patches = tuple(patch.model_copy(update={"shares": ()}) for patch in recipe.patches)
    return recipe.model_copy(update={"lights": lights, "patches": patches})


def is_as_written(recipe: Recipe, kit: OtherKit, own: OwnPieces) -> bool:
    """Whether every piece that was chosen is the recipe's own, where it stood."""
    chosen = [kit.lights[light.letter] for light in recipe.lit if light.letter in kit.lights]
    return (
        (own.camera is not None and own.camera.id == kit.camera.id)
        and (own.lens is not None and own.lens.id == kit.lens.id)
        and all(light.is_the_same and light.distance_mm is None for light in chosen)
    )


def rebuilt(recipe: Recipe, kit: OtherKit, own: OwnPieces, *, solve: bool) -> Rebuilt:
    """The recipe's set-up out of the pieces that were chosen. With `solve` the figures are those that keep the picture
    on this kit (webapp.recipes.adapt.adapting); where the recipe does not say enough for that, they stand as written."""
    left_open: list[Fact] = []
    adapted: Adapted | None = None
    if solve:
        try:
            adapted = adapt(recipe, kit)
        except ValueError as problem:
            left_open.append(fact(Reason.FIGURES_AS_WRITTEN, problem=str(problem)))
    lights = tuple(
        light
        for part in recipe.lights
        if (light := _rebuilt_light(part, kit.lights.get(part.letter), own, adapted, left_open)) is not None
    )
    set_up = as_written(
        recipe,
        kit.camera,
        kit.lens,
        _fitted(recipe.settings.lens_filters, own, None, left_open),
        lights,
    )
    asked: dict[str, object] = {
        "f_number": set_up.f_number,
        "shutter": set_up.shutter,
        "iso": set_up.iso,
        "magnification": set_up.magnification,
        "subject_distance": set_up.subject_distance_mm,
    }
    left_open.extend(fact(Reason.NOT_IN_RECIPE, name) for name, value in asked.items() if value is None)
    if adapted is not None:
        set_up = _solved(set_up, adapted)
        left_open.extend(adapted.lost)
    return Rebuilt(set_up, tuple(dict.fromkeys(left_open)), adapted)


def _rebuilt_light(
    part: LightPart, chosen: OtherLight | None, own: OwnPieces, adapted: Adapted | None, left_open: list[Fact]
) -> Light | None:
    name = part.name
    if chosen is None:
        if part.lit:
            left_open.append(fact(Reason.LIGHT_LEFT_OUT, part.letter, light=name, head=part.head.name))
        return None
    if part.modifier is not None and chosen.modifier is None:
        left_open.append(fact(Reason.LIGHT_STANDS_BARE, part.letter, light=name, modifier=part.modifier))
    own_head = own.heads.get(part.letter)
    same_head = own_head is not None and own_head.id == chosen.head.id
    power, distance = (part.power_stops if same_head else None), chosen.distance_mm or part.distance_mm
    if adapted is not None and part.lit:
        yours = adapted.light(part.letter)
        power, distance = yours.power_stops, _taped(yours.distance_mm, part.distance_mm)
    elif not same_head:
        left_open.append(fact(Reason.POWER_LEFT_OPEN, part.letter, light=name, head=chosen.head.name))
    light = Light(
        letter=part.letter,
        role=part.role,
        head=chosen.head,
        modifier=chosen.modifier,
        filters=_fitted(part.filters, own, part, left_open),
        lit=part.lit,
        modelling_lamp=part.modelling_lamp,
        power_stops=power,
        distance_mm=part.distance_mm,
        incident=chosen.incident,
        position=position_of(part.position) if part.position else None,
    )
    return light if distance == part.distance_mm else with_distance(light, distance)


def _taped(solved_mm: float | None, written_mm: float | None) -> float | None:
    """A solved distance as a tape has it: within a millimetre of the written one it is that one."""
    if solved_mm is None or (written_mm is not None and abs(solved_mm - written_mm) < 1.0):
        return written_mm
    return round(solved_mm, 1)


def _fitted(
    parts: Sequence[FilterPart], own: OwnPieces, light: LightPart | None, left_open: list[Fact]
) -> tuple[FilterFigures, ...]:
    missing = [part.name for part in parts if part not in own.filters]
    letter, where = (light.letter, light.name) if light else ("", None)
    left_open.extend(
        fact(Reason.FILTER_LEFT_OUT, letter, light=where, filter=name) for name in dict.fromkeys(missing)
    )
    return tuple(own.filters[part] for part in parts if part in own.filters)


def _solved(set_up: SetUp, adapted: Adapted) -> SetUp:
    """With the camera's figures as they were solved, each at the nearest mark of its dial."""
    f_number = nearest_mark(Quantity.F_NUMBER, 2.0 * math.log2(adapted.f_number), set_up.lens.f_number_dial)
    iso = nearest_mark(Quantity.ISO, math.log2(adapted.iso / 100.0), set_up.camera.iso_dial)
    solved = replace(
        set_up,
        f_number=read_mark(Quantity.F_NUMBER, f_number.text, set_up.lens.f_number_dial),
        iso=read_mark(Quantity.ISO, iso.text, set_up.camera.iso_dial),
        magnification=adapted.magnification,
        focal_length_mm=adapted.focal_length_mm,
        subject_distance_mm=adapted.subject_distance_mm,
    )
    written = set_up.shutter
    if adapted.shutter_stops is None or (written is not None and written.stops == adapted.shutter_stops):
        return solved
    shutter = nearest_mark(Quantity.SHUTTER, adapted.shutter_stops, set_up.camera.shutter_dial)
    return replace(solved, shutter=read_mark(Quantity.SHUTTER, shutter.text, set_up.camera.shutter_dial))

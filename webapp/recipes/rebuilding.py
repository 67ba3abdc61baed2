"""A recipe's set-up put back together out of a studio's kit: as it is written, or as it is solved for other kit; and the
recipe's own frame as what a reshoot is balanced against. Pure.

What stands for no piece is said and left open: a light without a head is left out, a head that is another has no power
until it is solved or set.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from webapp.errors import Conflict
from webapp.facts import Fact, fact
from webapp.ledger import placing
from webapp.ledger.fields import LETTERS
from webapp.ledger.placing import with_distance
from webapp.ledger.reshoot_target import ReshootTarget
from webapp.ledger.set_up import FilterFigures, Light, SetUp
from webapp.recipes.adapt.adapting import Adapted, OtherKit, adapt
from webapp.recipes.document import Recipe
from webapp.recipes.kit_match import OwnPieces
from webapp.recipes.patches import target_patch
from webapp.recipes.reasons import Reason
from webapp.recipes.written_frame import camera_of, lens_of, set_up_of


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """The set-up as it is filled in, and what is left open."""

    set_up: SetUp
    left_open: tuple[Fact, ...]


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
        and all(light.letter in kit.own and light.distance_mm is None for light in chosen)
    )


def rebuilt(recipe: Recipe, kit: OtherKit, own: OwnPieces, *, solve: bool, recipe_id: str = "") -> Rebuilt:
    """The recipe's set-up out of the pieces that were chosen. With `solve` the figures are those that keep the picture
    on this kit (webapp.recipes.adapt.adapting); where the recipe does not say enough for that, they stand as written."""
    left_open: list[Fact] = []
    adapted: Adapted | None = None
    if solve:
        try:
            adapted = adapt(recipe, kit)
        except ValueError as problem:
            left_open.append(fact(Reason.FIGURES_AS_WRITTEN, problem=str(problem)))
    written = set_up_of(recipe, kit.camera, kit.lens)
    lights = tuple(
        light
        for was in written.lights
        if (light := _rebuilt_light(was, kit.lights.get(was.letter), own, adapted, left_open)) is not None
    )
    lens_filters = _fitted(written.lens_filters, own, None, left_open)
    asked: dict[str, object] = {
        "f_number": written.f_number,
        "shutter": written.shutter,
        "iso": written.iso,
        "magnification": written.magnification,
        "subject_distance": written.subject_distance_mm,
    }
    left_open.extend(fact(Reason.NOT_IN_RECIPE, name) for name, value in asked.items() if value is None)
    left_open.extend(each.fact for each in (adapted.lost if adapted else ()))
    set_up = replace(adapted.set_up if adapted else written, lights=lights, lens_filters=lens_filters)
    return Rebuilt(placing.from_elsewhere(set_up, recipe_id), tuple(dict.fromkeys(left_open)))


def _rebuilt_light(
    was: Light, chosen: Light | None, own: OwnPieces, adapted: Adapted | None, left_open: list[Fact]
) -> Light | None:
    letter, name = was.letter, was.name
    if chosen is None:
        if was.lit:
            left_open.append(fact(Reason.LIGHT_LEFT_OUT, letter, light=name, head=was.head.name))
        return None
    if was.modifier is not None and chosen.modifier is None:
        left_open.append(fact(Reason.LIGHT_STANDS_BARE, letter, light=name, modifier=was.modifier.name))
    own_head = own.heads.get(letter)
    same_head = own_head is not None and own_head.id == chosen.head.id
    power, distance = (was.power_stops if same_head else None), chosen.distance_mm or was.distance_mm
    if adapted is not None and (yours := adapted.set_up.light(letter)) is not None:
        power, distance = yours.power_stops, _taped(yours.distance_mm, was.distance_mm)
    elif not same_head:
        left_open.append(fact(Reason.POWER_LEFT_OPEN, letter, light=name, head=chosen.head.name))
    light = replace(
        was,
        head=chosen.head,
        modifier=chosen.modifier,
        filters=_fitted(was.filters, own, was, left_open),
        power_stops=power,
        incident=chosen.incident,
    )
    return light if distance == was.distance_mm else with_distance(light, distance)


def _taped(solved_mm: float | None, written_mm: float | None) -> float | None:
    """A solved distance as a tape has it: within a millimetre of the written one it is that one."""
    if solved_mm is None or (written_mm is not None and abs(solved_mm - written_mm) < 1.0):
        return written_mm
    return round(solved_mm, 1)


def _fitted(
    written: Sequence[FilterFigures], own: OwnPieces, light: Light | None, left_open: list[Fact]
) -> tuple[FilterFigures, ...]:
    missing = [each.name for each in written if each not in own.filters]
    letter, where = (light.letter, light.name) if light else ("", None)
    left_open.extend(
        fact(Reason.FILTER_LEFT_OUT, letter, light=where, filter=name) for name in dict.fromkeys(missing)
    )
    return tuple(own.filters[each] for each in written if each in own.filters)


def target_of_recipe(recipe: Recipe, own: OwnPieces, kit: OtherKit) -> ReshootTarget:
    """The recipe's frame as a reshoot is balanced against it. Kit that is here has its id; other kit none of the
    studio's, so that the dials of two heads are never taken for each other."""
    camera, lens = camera_of(recipe) or kit.camera, lens_of(recipe) or kit.lens
    camera = replace(camera, id=own.camera.id if own.camera else "")
    written = set_up_of(recipe, camera, replace(lens, id=own.lens.id if own.lens else ""))
    lights = tuple(_with_ids(light, own) for light in written.lights)
    return ReshootTarget(
        set_up=replace(written, lens_filters=_known_filters(written.lens_filters, own), lights=lights),
        levels={part.letter: part.incident_av for part in recipe.lit if part.incident_av is not None},
        patches=tuple(map(target_patch, recipe.patches)),
    )


def _with_ids(light: Light, own: OwnPieces) -> Light:
    head, modifier = own.heads.get(light.letter), own.modifiers.get(light.letter)
    return replace(
        light,
        head=replace(light.head, id=head.id) if head else light.head,
        modifier=replace(light.modifier, id=modifier.id) if light.modifier and modifier else light.modifier,
        filters=_known_filters(light.filters, own),
    )


def _known_filters(written: Sequence[FilterFigures], own: OwnPieces) -> tuple[FilterFigures, ...]:
    return tuple(replace(each, id=own.filters[each].id) if each in own.filters else each for each in written)

"""Which of the kit that there is stands best for a recipe's: a lens, and one head with one modifier for each light. Pure.

A lens is chosen by what cannot be made up elsewhere, in this order: that it comes close enough, that it keeps the
camera's distance, that it opens or closes far enough. Lights are served the brightest first, each with what is left: the
recipe's own head, else one of its kind and form whose energy is nearest, rather above than below.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from webapp.facts import Fact, Value, fact
from webapp.ledger.set_up import CameraFigures, HeadFigures, LensFigures, Light, ModifierFigures
from webapp.optics import equivalence, macro
from webapp.optics.equivalence import Measure
from webapp.recipes.document import LightPart, Recipe
from webapp.recipes.plain_kit import light_values
from webapp.recipes.reasons import Reason
from webapp.recipes.written_frame import light_of

_UNKNOWN_OCTAVES: Final = 2.0
"""What an unknown figure counts as: worse than a known one that is near, better than one that is far off."""


@dataclass(frozen=True, slots=True)
class ChosenLens:
    """The lens, and why."""

    lens: LensFigures
    why: Fact


@dataclass(frozen=True, slots=True)
class ChosenLights:
    """What stands for each light by its letter, a head and its modifier; and why, or that none was left."""

    lights: Mapping[str, tuple[HeadFigures, ModifierFigures | None]]
    why: tuple[Fact, ...]


def best_lens(
    recipe: Recipe, camera: CameraFigures, lenses: Sequence[LensFigures], held: Measure
) -> ChosenLens | None:
    """The lens that comes nearest to the recipe's framing, perspective and depth; None where there is none, or where
    the recipe does not say its format and magnification."""
    settings = recipe.settings
    if not lenses or recipe.camera is None or settings.magnification is None:
        return None
    sensor = (recipe.camera.sensor_width_mm, recipe.camera.sensor_height_mm)
    scale = equivalence.format_scale(sensor, as_held(sensor, camera), held)
    needed = equivalence.equivalent_magnification(settings.magnification, scale)
    kept = settings.subject_distance_mm
    if kept is None and settings.focal_length_mm and settings.magnification:
        kept = macro.subject_distance_mm(settings.focal_length_mm, settings.magnification)
    f_number = None if recipe.f_number is None else recipe.f_number * scale

    def stands(lens: LensFigures) -> tuple[float | None, float | None]:
        """Its focal length and the camera's distance."""
        if not needed:
            wanted = settings.focal_length_mm
            return (None if wanted is None else _within(wanted * scale, lens)), None
        focal = _within(lens.longest_focal_mm if kept is None else kept / (1.0 + 1.0 / needed), lens)
        return focal, macro.subject_distance_mm(focal, needed)

    def cost(lens: LensFigures) -> tuple[float, ...]:
        focal, distance = stands(lens)
        most = lens.greatest_magnification
        short = _UNKNOWN_OCTAVES if most is None else max(0.0, math.log2(needed / most)) if needed else 0.0
        if distance is not None and kept is not None:
            shift = abs(math.log2(distance / kept))
        elif focal is not None and settings.focal_length_mm and not needed:
            shift = abs(math.log2(focal / (settings.focal_length_mm * scale)))
        else:
            shift = _UNKNOWN_OCTAVES
        beyond = 0.0 if f_number is None else _beyond(f_number, lens.widest_f_number, lens.smallest_f_number)
        return round(short if needed else 0.0, 2), round(shift, 2), round(beyond, 2), shift

    lens = min(lenses, key=cost)
    focal, distance = stands(lens)
    why = fact(
        Reason.LENS_CHOSEN,
        lens=lens.name,
        focal_mm=focal,
        of=len(lenses),
        written_mm=kept,
        yours_mm=distance,
        needed=needed,
        greatest=lens.greatest_magnification,
    )
    return ChosenLens(lens, why)


def as_held(written: tuple[float, float], camera: CameraFigures) -> tuple[float, float]:
    """The sides of a camera's sensor, turned as the recipe's camera was: upright or lying."""
    other = (camera.sensor_width_mm, camera.sensor_height_mm)
    return other if (written[0] >= written[1]) == (other[0] >= other[1]) else (other[1], other[0])


def best_lights(
    lights: Iterable[LightPart],
    heads: Sequence[HeadFigures],
    modifiers: Sequence[ModifierFigures],
    own_heads: Mapping[str, HeadFigures],
    own_modifiers: Mapping[str, ModifierFigures],
) -> ChosenLights:
    """One head for one light, and no modifier twice. `own_heads` and `own_modifiers` are those of the recipe that are
    here, by the letters of its lights."""
    free_heads, free_modifiers = list(heads), list(modifiers)
    chosen: dict[str, tuple[HeadFigures, ModifierFigures | None]] = {}
    why: list[Fact] = []
    for light in sorted(lights, key=_brightness, reverse=True):
        head = _nearest_head(light, free_heads, own_heads.get(light.letter))
        if head is None:
            why.append(fact(Reason.NO_HEAD_LEFT, light.letter))
            continue
        free_heads.remove(head)
        modifier = _nearest_modifier(light, free_modifiers, own_modifiers.get(light.letter))
        if modifier is not None:
            free_modifiers.remove(modifier)
        chosen[light.letter] = head, modifier
        why.append(_why(light, head, modifier, own_heads.get(light.letter), own_modifiers.get(light.letter)))
    return ChosenLights(chosen, tuple(why))


def _brightness(light: LightPart) -> float:
    """By what a meter read, else by its energy: the brightest is the hardest to replace."""
    if light.incident_av is not None:
        return light.incident_av
    return -100.0 + (math.log2(light.energy_j) if light.energy_j else 0.0)


def _nearest_head(light: LightPart, free: Sequence[HeadFigures], own: HeadFigures | None) -> HeadFigures | None:
    if own in free:
        return own
    written = light.head

    def cost(head: HeadFigures) -> tuple[float, ...]:
        octaves = _UNKNOWN_OCTAVES
        if head.full_energy_j and written.full_energy_j:
            octaves = math.log2(head.full_energy_j / written.full_energy_j)
        # What a head has too little of is missed more than what it has too much of.
        apart = octaves if octaves >= 0 else -2.0 * octaves
        return float(head.kind != written.kind), float(head.form != written.form), apart

    return min(free, key=cost, default=None)


def _nearest_modifier(
    light: LightPart, free: Sequence[ModifierFigures], own: ModifierFigures | None
) -> ModifierFigures | None:
    if not light.modifier:
        return None
    if own in free:
        return own
    size = max((side for side in (light.width_mm, light.height_mm) if side), default=None)

    def cost(modifier: ModifierFigures) -> tuple[float, ...]:
        theirs = modifier.face.largest_mm
        octaves = abs(math.log2(theirs / size)) if theirs and size else _UNKNOWN_OCTAVES
        return float(modifier.diffuses != light.modifier_diffuses), float(modifier.face.shape != light.shape), octaves

    return min(free, key=cost, default=None)


def _why(
    light: LightPart,
    head: HeadFigures,
    modifier: ModifierFigures | None,
    own_head: HeadFigures | None,
    own_modifier: ModifierFigures | None,
) -> Fact:
    written = light_of(light)
    stands = Light(light.letter, light.role, head, modifier)
    told: dict[str, Value] = {
        "is_own": head == own_head and (modifier == own_modifier or not light.modifier),
        "written_j": light.head.full_energy_j,
        "yours_j": head.full_energy_j,
        "written_mm": written.face.largest_mm,
        "yours_mm": stands.face.largest_mm,
    }
    return Fact(Reason.HEAD_CHOSEN, light.letter, light_values(stands) | told)


def _within(focal_mm: float, lens: LensFigures) -> float:
    return min(max(focal_mm, lens.shortest_focal_mm), lens.longest_focal_mm)


def _beyond(f_number: float, widest: float, smallest: float) -> float:
    """How many stops an f-number lies beyond the range of a lens."""
    return max(0.0, 2 * math.log2(widest / f_number), 2 * math.log2(f_number / smallest))

"""The list by which the set of a reshoot is rebuilt: drafted from the recipe and from the set-up that is filled in, a
line for each thing that hands do. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from webapp.ledger.entries import Cause, balance, compare, magnification_text, mark_text
from webapp.ledger.exposures import exposure_of
from webapp.ledger.metered import level_words
from webapp.ledger.reshoot_target import ReshootTarget, camera_entries
from webapp.ledger.set_up import Light, SetUp
from webapp.plan.positions import place_text
from webapp.quantities.angles import bearing_text
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.recipes.document import Recipe

CAMERA, SET, ROOM, STEPS, CHECKS, MIND = "Camera", "On the set", "Room", "Steps", "Before the first frame", "Mind"
_CENTRED_MM = 2.5


@dataclass(frozen=True, slots=True)
class DraftedLine:
    """One line to tick, under the heading of what it is about."""

    heading: str
    words: str


def drafted_checklist(
    recipe: Recipe, set_up: SetUp, target: ReshootTarget, lengths: Lengths = CENTIMETRES
) -> tuple[DraftedLine, ...]:
    """The list, in the order in which a set goes up: room, camera, things, each light, the recipe's own steps, then
    what proves it. `lengths` is how the house reads them."""
    lines = [DraftedLine(ROOM, "Every lamp off: make an ambient check. The room is another than the recipe's.")]
    lines += [DraftedLine(CAMERA, words) for words in _camera(set_up, lengths)]
    lines += [
        DraftedLine(
            SET, f"{thing.name[:1].upper() + thing.name[1:]}: {place_text(thing.position.at, lengths.inches)}."
        )
        for thing in set_up.things
        if thing.kind not in ("camera", "subject")
    ]
    for light in set_up.lights:
        lines += [DraftedLine(light.name, words) for words in _light(light, lengths)]
    lines += [DraftedLine(STEPS, step) for step in recipe.steps]
    lines += [DraftedLine(CHECKS, words) for words in _checks(recipe, set_up, target)]
    lines += [DraftedLine(MIND, caution) for caution in recipe.cautions]
    return tuple(lines)


def _camera(set_up: SetUp, lengths: Lengths) -> Iterator[str]:
    lens = set_up.lens
    zooms = lens.shortest_focal_mm != lens.longest_focal_mm and set_up.focal_length_mm is not None
    yield f"Mount {set_up.camera.name} with {lens.name}{f' at {set_up.focal_length_mm:g} mm' if zooms else ''}."
    if set_up.subject_distance_mm is not None:
        yield f"Place it {lengths.text(set_up.subject_distance_mm)} from the subject."
    if set_up.magnification:
        m, camera = set_up.magnification, set_up.camera
        width, height = camera.sensor_width_mm / m, camera.sensor_height_mm / m
        yield (
            f"Magnification {magnification_text(m)}: the field is {lengths.text(width)} × {lengths.text(height)} at the "
            "subject."
        )
    dials = ((Cause.APERTURE, set_up.f_number), (Cause.SHUTTER, set_up.shutter), (Cause.ISO, set_up.iso))
    yield (
        ", ".join(mark_text(cause, mark) for cause, mark in dials if mark is not None) + "."
        if any(mark is not None for _, mark in dials)
        else "Settings: the recipe does not say them."
    )
    for each in set_up.lens_filters:
        yield f"{each.name} on the lens."


def _light(light: Light, lengths: Lengths) -> Iterator[str]:
    yield f"Put up {light.head.name}."
    if light.modifier is not None:
        yield f"Fit {light.modifier.name}."
    for each in light.filters:
        yield f"Put in {each.name}."
    yield _unknown_or("Distance", light.distance_mm is not None, lengths.text(light.distance_mm), "face to subject")
    if light.position is not None and light.position.known != "unknown":
        at = light.position.at
        if at.floor_mm >= _CENTRED_MM:
            yield f"Bearing: {bearing_text(at.bearing_deg)}, as the camera sees it."
        side = "level with the subject's middle"
        if abs(at.z_mm) >= _CENTRED_MM:
            side = f"{lengths.text(abs(at.z_mm))} {'above' if at.z_mm > 0 else 'below'} the subject's middle"
        yield f"Height: {side}."
    yield _unknown_or("Power", light.power_stops is not None, light.power_mark(), "")
    if light.modelling_lamp:
        yield "Modelling lamp on."
    if not light.lit:
        yield "Leave it off."


def _unknown_or(what: str, known: bool, text: str, more: str) -> str:
    if not known:
        return f"{what}: unknown; find it and set it on the desk."
    return f"{what} {text}{', ' + more if more else ''}."


def _checks(recipe: Recipe, set_up: SetUp, target: ReshootTarget) -> Iterator[str]:
    """A meter reading of each light that the recipe has one of, at what it comes to with this camera; then the
    tolerances."""
    compared = compare(exposure_of(target.set_up), exposure_of(set_up))
    for light in set_up.lights:
        level = target.levels.get(light.letter)
        moved = balance(camera_entries(compared.of(light.letter)))
        if light.lit and level is not None and moved is not None:
            cloth = f" It also proves {light.modifier.name}." if light.modifier and light.modifier.diffuses else ""
            yield f"Meter {light.name} alone at ISO 100: {level_words(level - moved)}.{cloth}"
    for each in recipe.tolerances:
        unit = each.unit if each.unit == "°" else f" {each.unit}"
        yield f"{each.what[:1].upper() + each.what[1:]} within ± {each.within:g}{unit}."
    if recipe.patches:
        yield f"Lay the patches over the first picture: {', '.join(each.name for each in recipe.patches)}."

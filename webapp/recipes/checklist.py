"""The list by which the set of a reshoot is rebuilt: drafted from the recipe and from the set-up that is filled in, a
line for each thing that hands do. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from webapp.facts import Fact, fact
from webapp.ledger import placing
from webapp.ledger.entries import balance, compare
from webapp.ledger.exposures import exposure_of
from webapp.ledger.reshoot_target import ReshootTarget, camera_entries
from webapp.ledger.set_up import Light, SetUp
from webapp.recipes.document import Recipe
from webapp.recipes.reasons import Reason

_CENTRED_MM = 2.5


class Heading(StrEnum):
    """What the lines of a checklist are about, besides the lights, which go by their names."""

    ROOM = "room"
    CAMERA = "camera"
    SET = "set"
    STEPS = "steps"
    CHECKS = "checks"
    CAUTIONS = "cautions"


@dataclass(frozen=True, slots=True)
class DraftedLine:
    """One line to tick, under its heading: a `Heading`, or the name of a light."""

    heading: str
    fact: Fact


def drafted_checklist(recipe: Recipe, set_up: SetUp, target: ReshootTarget) -> tuple[DraftedLine, ...]:
    """The list, in the order in which a set goes up: room, camera, things, each light, the recipe's own steps, then
    what proves it."""
    lines = [DraftedLine(Heading.ROOM, fact(Reason.CHECK_AMBIENT_FIRST))]
    lines += [DraftedLine(Heading.CAMERA, each) for each in _camera(set_up)]
    for thing in set_up.things:
        if thing.kind not in ("camera", "subject"):
            at = thing.position.at
            known = placing.position_of(target.set_up, f"things.{thing.id}")
            place = fact(
                Reason.PLACE_THING,
                thing.name,
                x_mm=at.x_mm,
                y_mm=at.y_mm,
                z_mm=at.z_mm,
                known=None if known is None else known.known,
            )
            lines.append(DraftedLine(Heading.SET, place))
    for light in set_up.lights:
        lines += [DraftedLine(light.name, each) for each in _light(light, target.set_up.light(light.letter))]
    # What the program drafted says the recipe's own figures, which are told above as they are here.
    by_hand = [text for step in recipe.steps if not step.drafted for text in (step.words, step.check) if text]
    lines += [DraftedLine(Heading.STEPS, fact(Reason.AS_WRITTEN, text=text)) for text in by_hand]
    lines += [DraftedLine(Heading.CHECKS, each) for each in _checks(recipe, set_up, target)]
    lines += [DraftedLine(Heading.CAUTIONS, fact(Reason.AS_WRITTEN, text=caution)) for caution in recipe.cautions]
    return tuple(lines)


def _camera(set_up: SetUp) -> Iterator[Fact]:
    camera, lens = set_up.camera, set_up.lens
    zooms = lens.shortest_focal_mm != lens.longest_focal_mm
    yield fact(
        Reason.MOUNT_CAMERA,
        camera=camera.name,
        lens=lens.name,
        focal_mm=set_up.focal_length_mm if zooms else None,
    )
    if set_up.subject_distance_mm is not None:
        yield fact(Reason.PLACE_CAMERA, distance_mm=set_up.subject_distance_mm)
    if set_up.magnification:
        m = set_up.magnification
        yield fact(
            Reason.FIELD_AT_SUBJECT,
            magnification=m,
            width_mm=camera.sensor_width_mm / m,
            height_mm=camera.sensor_height_mm / m,
        )
    f_number, shutter, iso = (mark.text if mark else None for mark in (set_up.f_number, set_up.shutter, set_up.iso))
    yield fact(Reason.SET_DIALS, f_number=f_number, shutter=shutter, iso=iso)
    for each in set_up.lens_filters:
        yield fact(Reason.FILTER_ON_LENS, filter=each.name)


def _light(light: Light, in_recipe: Light | None) -> Iterator[Fact]:
    letter = light.letter
    stood = in_recipe.position if in_recipe else None
    yield fact(Reason.SET_UP_HEAD, letter, head=light.head.name)
    if light.modifier is not None:
        yield fact(Reason.FIT_MODIFIER, letter, modifier=light.modifier.name)
    for each in light.filters:
        yield fact(Reason.FIT_FILTER, letter, filter=each.name)
    if light.held_by != "not said":
        yield fact(Reason.HOLD_BY, letter, held_by=light.held_by)
    yield fact(
        Reason.SET_DISTANCE,
        letter,
        distance_mm=light.distance_mm,
        shines_on=light.shines_on,
        # How well the recipe knew it: here it is only taken over.
        known=None if stood is None else stood.known,
    )
    if light.position is not None and light.position.known != "unknown":
        at = light.position.at
        if at.floor_mm >= _CENTRED_MM:
            yield fact(Reason.SET_BEARING, letter, bearing_deg=at.bearing_deg)
        yield fact(Reason.SET_HEIGHT, letter, above_mm=at.z_mm if abs(at.z_mm) >= _CENTRED_MM else 0.0)
    yield fact(Reason.SET_POWER, letter, mark=None if light.power_stops is None else light.power_mark())
    if light.modelling_lamp:
        yield fact(Reason.LAMP_ON, letter)
    if not light.lit:
        yield fact(Reason.LEAVE_OFF, letter)


def _checks(recipe: Recipe, set_up: SetUp, target: ReshootTarget) -> Iterator[Fact]:
    """A meter reading of each light that the recipe has one of, at what it comes to with this camera; then the
    tolerances."""
    compared = compare(exposure_of(target.set_up), exposure_of(set_up))
    for light in set_up.lights:
        level = target.levels.get(light.letter)
        moved = balance(camera_entries(compared.of(light.letter)))
        if light.lit and level is not None and moved is not None:
            cloth = light.modifier.name if light.modifier and light.modifier.diffuses else None
            yield fact(Reason.METER_ALONE, light.letter, light=light.name, level_av=level - moved, proves=cloth)
    for each in recipe.tolerances:
        yield fact(Reason.WITHIN_TOLERANCE, each.what, within=each.within, unit=each.unit)
    if recipe.patches:
        yield fact(Reason.LAY_PATCHES, patches=tuple(each.name for each in recipe.patches))

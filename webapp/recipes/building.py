"""How the set of a recipe is built again, step by step, with what shows that each step is right and what to look for where
it is not. Pure.

Drafted from the figures of the document alone: how the frame was come by, with its detours, is no part of it. The same
document gives the same steps, so that a reader has them in the units that he reads.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from webapp.facts import Fact, Value, fact
from webapp.ledger.consequences import depth_needs
from webapp.ledger.evidence import LEAST_TOLERANCE_STOPS
from webapp.ledger.exposures import counted
from webapp.ledger.set_up import Light, SetUp
from webapp.optics import distance_law
from webapp.plan.positions import ORIGIN, Place, Position, Thing
from webapp.recipes.document import LightPart, PatchPart, Recipe, StepAbout
from webapp.recipes.reasons import Reason
from webapp.recipes.written_frame import camera_of, filters_of, lens_of, light_of, set_up_of, thing_of

_NEARER: Final = 0.9
"""A distance that is told as a tenth too short: as far as a tape is misread before anybody sees it."""
_MOSTLY: Final = 0.5
_TOLD_STOPS: Final = 0.05


@dataclass(frozen=True, slots=True)
class BuildingStep:
    """One step, as facts. `whose` is the letter of a light or the id of a thing."""

    about: StepAbout
    whose: str
    told: tuple[Fact, ...]
    check: tuple[Fact, ...] = ()
    otherwise: tuple[Fact, ...] = ()


def building_steps(recipe: Recipe) -> tuple[BuildingStep, ...]:
    """The steps in the order in which a set goes up: subject and support, camera, background, proof of the room's light,
    each light with what it shines on, cards, the stack, and all together."""
    things = tuple(map(thing_of, recipe.things))
    steps = [*_subject(recipe, things), *_camera(recipe, things), *_background(things), _room(recipe)]
    put_up: set[str] = set()
    for part in recipe.lit:
        light = light_of(part)
        thing = thing_shone_on(light, things)
        if thing is not None and thing.kind != "background" and thing.id not in put_up:
            put_up.add(thing.id)
            steps.append(_thing(thing))
        steps.append(_light(recipe, part, light, thing))
    steps += [_thing(each) for each in things if each.kind in ("reflector", "flag") and each.id not in put_up]
    steps += [*_stack(recipe), *_together(recipe)]
    return tuple(steps)


def thing_shone_on(light: Light, things: Sequence[Thing]) -> Thing | None:
    """The thing on the set that a light shines on: the background, or of the cards and panels the one that it is aimed
    at. None where it shines on the subject, or on what is not on the set."""
    if light.is_direct:
        return None
    kinds = ("background",) if light.shines_on == "background" else ("reflector", "flag")
    found = [each for each in things if each.kind in kinds]
    aim = light.position.aim if light.position is not None else ORIGIN
    if aim == ORIGIN:
        return found[0] if len(found) == 1 else None
    return min(found, key=lambda each: each.position.at.from_mm(aim), default=None)


def alone_at(recipe: Recipe, letter: str) -> tuple[PatchPart, float] | None:
    """The patch by which a light is judged when it is lit alone, and the level that it gives there: level with all lights
    + log2(share). It is the patch that has most of its light from it; None where none was read, or shares are unknown."""
    shares = {patch.name: _share(recipe, patch, letter) for patch in recipe.patches if patch.read_stops is not None}
    known = [patch for patch in recipe.patches if shares.get(patch.name)]
    patch = max(known, key=lambda each: shares[each.name] or 0.0, default=None)
    if patch is None or patch.read_stops is None:
        return None
    share = shares[patch.name]
    assert share
    return patch, patch.read_stops + math.log2(share)


def _share(recipe: Recipe, patch: PatchPart, letter: str) -> float | None:
    if [light.letter for light in recipe.lit] == [letter]:
        return 1.0
    return next((each.share for each in patch.shares if each.letter == letter), None)


# --- before the lights --------------------------------------------------------------------------------------------


def _subject(recipe: Recipe, things: Sequence[Thing]) -> Iterator[BuildingStep]:
    subject = next((each for each in things if each.kind == "subject"), None)
    table = next((each for each in things if each.kind == "table"), None)
    told = []
    if subject is not None or recipe.subject:
        sizes: dict[str, Value] = dict.fromkeys(("width_mm", "height_mm", "depth_mm"))
        if subject is not None:
            sizes = {"width_mm": subject.width_mm, "height_mm": subject.height_mm, "depth_mm": subject.depth_mm}
        turned, tilted = (subject.turned_deg, subject.tilted_deg) if subject else (0.0, 0.0)
        told.append(
            fact(Reason.STEP_SUBJECT, "", subject=recipe.subject, turned_deg=turned, tilted_deg=tilted, **sizes)
        )
    if table is not None:
        below = -table.position.at.z_mm
        told.append(fact(Reason.STEP_TABLE, width_mm=table.width_mm, depth_mm=table.depth_mm, below_mm=below))
    if told:
        yield BuildingStep("subject", "subject", tuple(told))


def _camera(recipe: Recipe, things: Sequence[Thing]) -> Iterator[BuildingStep]:
    settings, lens = recipe.settings, recipe.lens
    told = []
    if recipe.camera is not None and lens is not None:
        zooms = lens.shortest_focal_mm != lens.longest_focal_mm
        focal = settings.focal_length_mm if zooms else None
        told.append(fact(Reason.MOUNT_CAMERA, camera=recipe.camera.name, lens=lens.name, focal_mm=focal))
    if settings.upright:
        told.append(fact(Reason.CAMERA_UPRIGHT))
    stands = next((each.position for each in things if each.kind == "camera"), None)
    if stands is not None and stands.known != "unknown":
        told.append(fact(Reason.CAMERA_STANDS, "", **_place(stands)))
    elif settings.subject_distance_mm is not None:
        told.append(fact(Reason.PLACE_CAMERA, distance_mm=settings.subject_distance_mm))
    f_number, shutter, iso = (
        mark.text if mark else None for mark in (settings.f_number, settings.shutter, settings.iso)
    )
    told.append(fact(Reason.SET_DIALS, f_number=f_number, shutter=shutter, iso=iso))
    if settings.pops > 1:
        told.append(fact(Reason.SET_POPS, pops=settings.pops))
    fitted = counted([each.name for each in filters_of(settings.lens_filters)])
    told += [fact(Reason.FILTER_ON_LENS, filter=each) for each in fitted]
    check = []
    if recipe.field_seen_mm is not None:
        width, height = recipe.field_seen_mm
        m = settings.magnification
        check.append(fact(Reason.FIELD_AT_SUBJECT, magnification=m, width_mm=width, height_mm=height))
    yield BuildingStep("camera", "", tuple(told), tuple(check))


def _background(things: Sequence[Thing]) -> Iterator[BuildingStep]:
    for each in things:
        if each.kind == "background":
            yield _thing(each, "background")


def _room(recipe: Recipe) -> BuildingStep:
    told = (fact(Reason.STEP_PROVE_AMBIENT),)
    if recipe.ambient is None:
        return BuildingStep("room", "", told)
    ambient = recipe.ambient
    below = fact(
        Reason.ROOM_LIES_BELOW,
        ambient.patch,
        margin_stops=ambient.margin_stops,
        at_least=ambient.at_least,
        by_eye=ambient.by_eye,
    )
    return BuildingStep("room", "", told, (below,), (fact(Reason.LOOK_FOR_ROOM_LIGHT),))


# --- lights and cards ---------------------------------------------------------------------------------------------


def _thing(thing: Thing, about: StepAbout = "card") -> BuildingStep:
    sizes = {"width_mm": thing.width_mm, "height_mm": thing.height_mm}
    told = fact(
        Reason.STEP_THING, thing.name, kind=thing.kind, held_by=thing.held_by, **sizes, **_place(thing.position)
    )
    return BuildingStep(about, thing.id, (told,))


def _light(recipe: Recipe, part: LightPart, light: Light, thing: Thing | None) -> BuildingStep:
    letter, face = part.letter, light.face
    sizes = (face.width_mm, face.height_mm) if light.modifier is not None else (None, None)
    placed: dict[str, Value] = dict.fromkeys(("x_mm", "y_mm", "z_mm", "known"))
    aimed: dict[str, Value] = dict.fromkeys(("aim_x_mm", "aim_y_mm", "aim_z_mm"))
    if light.position is not None and light.position.known != "unknown":
        placed = _place(light.position)
        aim = light.position.aim
        if light.is_direct and aim != ORIGIN:
            aimed = {"aim_x_mm": aim.x_mm, "aim_y_mm": aim.y_mm, "aim_z_mm": aim.z_mm}
    told = fact(
        Reason.STEP_LIGHT,
        letter,
        light=part.name,
        head=part.head.name,
        modifier=part.modifier,
        face_width_mm=sizes[0],
        face_height_mm=sizes[1],
        filters=tuple(counted([each.name for each in part.filters])),
        distance_mm=part.distance_mm,
        carried=recipe.settings.distance_is_carried(part.letter),
        shines_on=part.shines_on,
        held_by=part.held_by,
        onto=thing.name if thing is not None else "",
        direction=part.direction,
        mark=None if part.power_stops is None else part.power_mark,
        lamp=part.modelling_lamp,
        **placed,
        **aimed,
    )
    return BuildingStep("light", letter, (told,), tuple(_proofs(recipe, part)), tuple(_slips(part, light)))


def _proofs(recipe: Recipe, part: LightPart) -> Iterator[Fact]:
    """What shows that a light is right, with every other one off."""
    if part.incident_av is not None:
        yield fact(
            Reason.METERS_ALONE, part.letter, light=part.name, level_av=part.incident_av, here=part.metered_here
        )
    if (found := alone_at(recipe, part.letter)) is not None:
        patch, level = found
        yield fact(Reason.READS_ALONE, part.letter, patch=patch.name, level_stops=level, within=patch_within(patch))


def _slips(part: LightPart, light: Light) -> Iterator[Fact]:
    """What is easily left out or misread on a light, and how it shows."""
    losses = [each.loss_stops for each in part.filters]
    if part.filters and None not in losses:
        stops = sum(loss for loss in losses if loss is not None)
        mired = sum(each.shift_mired for each in part.filters)
        if stops >= _TOLD_STOPS:
            fitted = tuple(counted([each.name for each in part.filters]))
            yield fact(Reason.LOOK_FOR_FILTERS, part.letter, filters=fitted, stops=stops, shift_mired=mired)
    if part.distance_mm is not None:
        nearer = part.distance_mm * _NEARER
        try:
            stops = distance_law.change_with_distance_stops(light.face.source(), part.distance_mm, nearer)
        except ValueError:
            return
        off_mm = part.distance_mm - nearer
        yield fact(Reason.LOOK_FOR_DISTANCE, part.letter, off_mm=off_mm, stops=stops)


def patch_within(patch: PatchPart) -> float:
    """How closely a patch's level is to be met: as closely as it was read, and never closer than a tenth of a stop."""
    return told_up(max(LEAST_TOLERANCE_STOPS, patch.tolerance_stops or 0.0))


def told_up(stops: float) -> float:
    """A tolerance to the tenth that is told, and never to less than is known.

    >>> told_up(0.1), told_up(0.35)
    (0.1, 0.4)
    """
    return math.ceil(10.0 * stops - 1e-6) / 10.0


# --- all of it ----------------------------------------------------------------------------------------------------


def set_up_in(recipe: Recipe) -> SetUp | None:
    """The document as a set-up; None where it names no camera or no lens."""
    camera, lens = camera_of(recipe), lens_of(recipe)
    return set_up_of(recipe, camera, lens) if camera is not None and lens is not None else None


def _stack(recipe: Recipe) -> Iterator[BuildingStep]:
    frames, wanted = recipe.settings.stack_frames, recipe.settings.wanted_depth_mm
    if frames is None:
        return
    set_up = set_up_in(recipe)
    needs = depth_needs(set_up, wanted) if set_up is not None else None
    yield BuildingStep(
        "stack",
        "",
        (
            fact(
                Reason.STEP_STACK,
                frames=frames,
                depth_mm=wanted,
                step_mm=recipe.settings.stack_step_mm,
                most_step_mm=needs.step_mm if needs is not None and needs.frames > 1 else None,
            ),
        ),
    )


def _together(recipe: Recipe) -> Iterator[BuildingStep]:
    read = [each for each in recipe.patches if each.read_stops is not None]
    if not read and len(recipe.lit) < 2:
        return
    told = fact(Reason.STEP_TOGETHER, lights=tuple(each.name for each in recipe.lit))
    check = tuple(
        fact(Reason.READS_TOGETHER, each.name, level_stops=each.read_stops, within=patch_within(each))
        for each in read
    )
    otherwise = [fact(Reason.LOOK_FOR_CAMERA)] if len(read) > 1 else []
    for patch in read:
        most = max(patch.shares, key=lambda each: each.share, default=None)
        if most is not None and most.share > _MOSTLY and len(recipe.lit) > 1:
            otherwise.append(fact(Reason.LOOK_FOR_LIGHT, most.letter, patch=patch.name, share=most.share))
    yield BuildingStep("together", "", (told,), check, tuple(otherwise))


def _place(position: Position) -> dict[str, Value]:
    at: Place = position.at
    return {"x_mm": at.x_mm, "y_mm": at.y_mm, "z_mm": at.z_mm, "known": position.known}

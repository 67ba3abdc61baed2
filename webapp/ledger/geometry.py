"""A set-up seen as geometry: the plan that it makes, and everything that follows from it. Pure: set-ups in, frozen
values out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from webapp.facts import Fact, fact
from webapp.ledger.set_up import Light, SetUp
from webapp.optics import flash, macro, sources
from webapp.optics.working import Step
from webapp.plan.cautions import Caution, cautions
from webapp.plan.cube import Cube, cube_of, surfaces_of
from webapp.plan.levels import (
    Level,
    LightMap,
    Ratio,
    background_stops,
    emissions,
    evenness,
    key_to_fill,
    level_of,
    middle_behind,
    shares,
)
from webapp.plan.positions import Named, Thing
from webapp.plan.reasons import Reason as PlanReason
from webapp.plan.reflections import Gloss, card_behind, gloss
from webapp.plan.sides import TO_LENS, Surface, own_key
from webapp.plan.softness import RING_FILLS_IN, Softness, ring_fills_in_mm, softness
from webapp.plan.staging import Guide, Plan, PlanLight, Reading


@dataclass(frozen=True, slots=True)
class ShareLine:
    """A light's modelled share beside the one that a picture measured, where there is one. `by_guide`: modelled from a
    guide number."""

    letter: str
    modelled: float | None
    why: Fact | None
    measured: float | None
    measured_at: str
    steps: tuple[Step, ...]
    by_guide: bool = False

    @property
    def off_stops(self) -> float | None:
        """Modelled against measured; None where one is unknown or nothing."""
        if not self.modelled or not self.measured:
            return None
        return math.log2(self.modelled / self.measured)


@dataclass(frozen=True, slots=True)
class Follows:
    """What follows from where things stand. `surface` is what the shares and the ratio are for, one of the `surfaces` that
    they can be told of on this set; `middle_behind` names what hides the middle of the subject from the lens."""

    surface: Surface
    surfaces: tuple[Surface, ...]
    cube: Cube | None
    shares: tuple[ShareLine, ...]
    ratio: Ratio | None
    background: tuple[float, Step] | None
    evenness: LightMap | None
    middle_behind: tuple[str, ...]
    softness: tuple[Softness, ...]
    gloss: Gloss | None
    card: tuple[float, float, Step] | None
    rings: tuple[tuple[str, float, Step], ...]
    cautions: tuple[Caution, ...]


def plan_of(set_up: SetUp) -> Plan:
    """The set as geometry needs it."""
    return Plan(
        lights=tuple(map(plan_light, set_up.lights)),
        things=set_up.things,
        field_mm=_field_mm(set_up),
        camera_stops=_camera_stops(set_up),
        lens_at_mm=set_up.subject_distance_mm,
    )


def plan_light(light: Light) -> PlanLight:
    """A light as geometry needs it."""
    reading, head = light.incident, light.head
    guide = None
    if head.guide_number_m is not None:
        guide = Guide(head.guide_number_m, head.guide_reflector, light.guide_holds)
    power = None
    if light.power_stops is not None:
        power = head.learned_slope * (light.power_stops - (reading.power_stops if reading is not None else 0.0))
    losses = [each.loss_stops for each in light.filters]
    known = [loss for loss in losses if loss is not None]
    return PlanLight(
        letter=light.letter,
        name=light.name,
        role=light.role,
        lit=light.lit,
        source=light.face.source(),
        position=light.position,
        reading=None if reading is None else Reading(reading.av, reading.distance_mm),
        power_stops=power,
        filter_stops=sum(known) if len(known) == len(losses) else None,
        guide=guide,
        is_direct=light.is_direct,
        cutoff_deg=light.modifier.cutoff_deg if light.modifier is not None else None,
        gels=tuple(each.name for each in light.filters),
        held_by=light.held_by,
    )


def _field_mm(set_up: SetUp) -> tuple[float, float] | None:
    if not set_up.magnification:
        return None
    camera = set_up.camera
    return camera.sensor_width_mm / set_up.magnification, camera.sensor_height_mm / set_up.magnification


def _camera_stops(set_up: SetUp) -> float | None:
    """The level that the camera is set for, in stops above f/1 at ISO 100."""
    losses = [each.loss_stops for each in set_up.lens_filters]
    known = [loss for loss in losses if loss is not None]
    if set_up.f_number is None or set_up.iso is None or set_up.magnification is None or len(known) < len(losses):
        return None
    close_up = macro.exposure_increase_stops(set_up.magnification, set_up.lens.pupil_ratio)
    return set_up.f_number.stops + close_up + sum(known) - set_up.iso.stops - flash.pops_stops(set_up.pops)


def named_places(lights: Iterable[Light], things: Iterable[Thing]) -> tuple[Named, ...]:
    """Everything that stands somewhere, for comparing two plans."""
    of_lights = (Named(light.letter, light.letter, light.position) for light in lights)
    return (*of_lights, *(Named(each.id, each.name, each.position) for each in things))


def plan_read(set_up: SetUp, own: Sequence[Surface] = (), chosen: str = "", measured_at: str = "") -> Plan:
    """The plan with the surface that its figures are for: the one that was `chosen` (by its key), where this set has it;
    else the face of the patch that pictures measured, where that is one of the subject's `own`; else the face to the
    lens."""
    plan = plan_of(set_up)
    surfaces = {each.key: each for each in surfaces_of(plan, own)}
    found = surfaces.get(chosen) or surfaces.get(own_key(measured_at)) or surfaces[TO_LENS]
    return replace(plan, read_on=found)


def follows(
    set_up: SetUp,
    measured: Mapping[str, float] | None = None,
    measured_at: str = "",
    own: Sequence[Surface] = (),
    chosen: str = "",
) -> Follows:
    """Everything that follows. `measured` are the shares of a patch that pictures gave, by letter; `own` are faces of the
    subject that were named, each as a patch, and `chosen` is the key of the surface that the figures are wanted for. What
    pictures measured stands beside what is modelled where both are of one surface."""
    at = measured_at if measured else ""
    plan = plan_read(set_up, own, chosen, at)
    found = _modelled(plan, tuple(own))
    of_patch = next((each.key for each in own if each.name == at), TO_LENS)
    if not measured or plan.surface.key != of_patch:
        return found
    shares = (
        replace(each, measured=measured.get(each.letter), measured_at=at if measured.get(each.letter) else "")
        for each in found.shares
    )
    return replace(found, shares=tuple(shares))


@lru_cache(maxsize=8)
def _modelled(plan: Plan, own: tuple[Surface, ...]) -> Follows:
    # Asked for again as what stood before the last move, by the page, by its parts and by the drags from one place.
    levels = [level_of(plan, light) for light in plan.lights if light.lit]
    found = shares(levels)
    return Follows(
        surface=plan.surface,
        surfaces=surfaces_of(plan, own),
        cube=cube_of(plan, own),
        shares=tuple(_share_line(level, found) for level in levels),
        ratio=key_to_fill(plan, levels),
        background=background_stops(plan),
        evenness=evenness(plan),
        middle_behind=middle_behind(plan),
        softness=tuple(each for each in map(softness, plan.placed) if each is not None),
        gloss=gloss(plan),
        card=card_behind(plan),
        rings=tuple(_ring_line(light) for light in plan.lights if isinstance(light.source, sources.Ring)),
        cautions=cautions(plan),
    )


def unknown_light(set_up: SetUp) -> Fact | None:
    """Why the light of the set is not known, so that nothing of it can be shown; None where it is, or where no light
    is lit."""
    plan = plan_of(set_up).direct
    if emissions(plan) is not None:
        return None
    levels = (level_of(plan, light) for light in plan.lights if light.lit)
    return next((each.why for each in levels if each.why is not None and not each.dark), None)


def _share_line(level: Level, found: Mapping[str, tuple[float, Step]]) -> ShareLine:
    share = found.get(level.letter)
    steps = tuple(step for step in (level.step, share[1] if share else None) if step is not None)
    why = level.why or (None if share else fact(PlanReason.ANOTHER_LIGHT_UNKNOWN))
    return ShareLine(level.letter, share[0] if share else None, why, None, "", steps, level.by_guide)


def _ring_line(light: PlanLight) -> tuple[str, float, Step]:
    ring = light.source
    assert isinstance(ring, sources.Ring)
    distance_mm = ring_fills_in_mm(ring)
    step = RING_FILLS_IN.worked(distance_mm, R_o=ring.diameter_mm / 2.0, R_i=ring.inner_diameter_mm / 2.0)
    return light.letter, distance_mm, step

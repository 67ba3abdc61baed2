"""A set-up seen as geometry: the plan that it makes, everything that follows from it, and what is worth measuring
before the set is struck. Pure: set-ups in, frozen values out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from webapp.ledger.set_up import Light, SetUp
from webapp.optics import flash, macro, sources
from webapp.optics.working import Relation, Step, Symbol
from webapp.plan import lighting
from webapp.plan.lighting import (
    Caution,
    Level,
    LightMap,
    Mirrored,
    Plan,
    PlanLight,
    Ratio,
    Reading,
    Shadow,
    Softness,
)
from webapp.plan.positions import Named

MOST_ASKED: Final = 4
_TAPE_ERROR_MM: Final = 10.0
_WORTH_ASKING_STOPS: Final = 0.03
_SHADOWED: Final = ("support", "background")

DISTANCE_ERROR: Final = Relation(
    result="error of the light in a reshoot",
    unit="stops",
    formula="Δ = 2 e / (d ln 2)",
    latex=r"\Delta = \frac{2 e}{d \ln 2}",
    symbols=(
        Symbol("e", "error of the distance", "mm"),
        Symbol("d", "distance from the light to the subject", "mm"),
    ),
    source="inverse-square",
    assumptions=("small errors; a large face close by is more forgiving",),
)


@dataclass(frozen=True, slots=True)
class ShareLine:
    """A light's modelled share beside the one that a picture measured, where there is one."""

    letter: str
    modelled: float | None
    why: str
    measured: float | None
    measured_at: str
    steps: tuple[Step, ...]

    @property
    def off_stops(self) -> float | None:
        """Modelled against measured; None where one is unknown or nothing."""
        if not self.modelled or not self.measured:
            return None
        return math.log2(self.modelled / self.measured)


@dataclass(frozen=True, slots=True)
class Follows:
    """What follows from where things stand."""

    shares: tuple[ShareLine, ...]
    ratio: Ratio | None
    background: tuple[float, Step] | None
    evenness: LightMap | None
    softness: tuple[Softness, ...]
    shadows: tuple[Shadow, ...]
    mirrored: tuple[Mirrored, ...]
    card: tuple[float, float, Step] | None
    rings: tuple[tuple[str, float, Step], ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class WorthMeasuring:
    """One thing that only the standing set knows. `field` is where its answer goes; `error_stops` what not knowing
    it better would cost in a reshoot."""

    field: str
    asks: str
    error_stops: float | None
    step: Step | None


def plan_of(set_up: SetUp) -> Plan:
    """The set as geometry needs it."""
    return Plan(
        lights=tuple(_plan_light(light) for light in set_up.lights),
        things=set_up.things,
        field_mm=_field_mm(set_up),
        camera_stops=_camera_stops(set_up),
        lens_at_mm=set_up.subject_distance_mm,
    )


def _plan_light(light: Light) -> PlanLight:
    reading = light.incident
    power = None
    if reading is not None and light.power_stops is not None:
        power = light.head.learned_slope * (light.power_stops - reading.power_stops)
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


def named_places(set_up: SetUp) -> tuple[Named, ...]:
    """Everything that stands somewhere, for comparing two plans."""
    lights = [Named(light.letter, light.letter, light.position) for light in set_up.lights]
    return (*lights, *(Named(each.id, each.name, each.position) for each in set_up.things))


def follows(set_up: SetUp, measured: Mapping[str, float] | None = None, measured_at: str = "") -> Follows:
    """Everything that follows. `measured` are the shares of a patch that pictures gave, by letter."""
    plan = plan_of(set_up)
    lit = [light for light in plan.lights if light.lit]
    levels = [lighting.level_of(plan, light) for light in lit]
    found = lighting.shares(levels)
    return Follows(
        shares=tuple(_share_line(level, found, measured or {}, measured_at) for level in levels),
        ratio=lighting.key_to_fill(plan, levels),
        background=lighting.background_stops(plan),
        evenness=lighting.evenness(plan),
        softness=tuple(each for each in map(lighting.softness, plan.placed) if each is not None),
        shadows=tuple(
            each
            for light in plan.placed
            if light.lit
            for each in (lighting.shadow(plan, light, on) for on in _SHADOWED)
            if each is not None
        ),
        mirrored=_mirrored(plan),
        card=lighting.card_behind(plan),
        rings=tuple(_ring_line(light) for light in plan.lights if isinstance(light.source, sources.Ring)),
        cautions=lighting.cautions(plan),
    )


def _share_line(
    level: Level, found: Mapping[str, tuple[float, Step]], measured: Mapping[str, float], measured_at: str
) -> ShareLine:
    share = found.get(level.letter)
    steps = tuple(step for step in (level.step, share[1] if share else None) if step is not None)
    why = level.why or ("" if share else "another light of the set is unknown")
    seen = measured.get(level.letter)
    return ShareLine(level.letter, share[0] if share else None, why, seen, measured_at if seen else "", steps)


def _mirrored(plan: Plan) -> tuple[Mirrored, ...]:
    of_lights = [
        lighting.mirrored(plan, light.letter, light.source, light.position)
        for light in plan.placed
        if light.position is not None
    ]
    cards = [
        each for each in plan.things if each.kind == "reflector" and each.width_mm > 0.0 and each.height_mm > 0.0
    ]
    of_cards = [
        lighting.mirrored(plan, each.name, sources.Rectangle(each.width_mm, each.height_mm), each.position)
        for each in cards
    ]
    return (*of_lights, *of_cards)


def _ring_line(light: PlanLight) -> tuple[str, float, Step]:
    ring = light.source
    assert isinstance(ring, sources.Ring)
    distance_mm = lighting.ring_fills_in_mm(ring)
    step = lighting.RING_FILLS_IN.worked(distance_mm, R_o=ring.diameter_mm / 2.0, R_i=ring.inner_diameter_mm / 2.0)
    return light.letter, distance_mm, step


# --- before the set is struck ---------------------------------------------------------------------------------


def distance_error_stops(distance_mm: float, error_mm: float = _TAPE_ERROR_MM) -> float:
    """What an error of the distance costs in a reshoot, by inverse square: 2 e/(d ln 2).

    Raises ValueError for a distance that is not above 0.

    >>> round(distance_error_stops(120.0), 2), round(distance_error_stops(1500.0), 2)
    (0.24, 0.02)
    """
    if distance_mm <= 0.0:
        raise ValueError("A light at no distance has no error of its distance.")
    return 2.0 * error_mm / (distance_mm * math.log(2.0))


def worth_measuring(set_up: SetUp) -> tuple[WorthMeasuring, ...]:
    """What only the standing set knows, the dearest in a reshoot first, a few at most. A distance that nobody gave
    costs most: it comes before all errors that can be reckoned."""
    asked = []
    for light in set_up.lights:
        if not light.lit or (light.position is not None and light.position.known == "measured"):
            continue
        field = f"lights.{light.letter}"
        if light.distance_mm is None:
            asked.append(WorthMeasuring(field, f"How far is {light.letter} from the subject?", None, None))
            continue
        error = distance_error_stops(light.distance_mm)
        step = DISTANCE_ERROR.worked(error, e=_TAPE_ERROR_MM, d=light.distance_mm)
        what = "bearing and height" if light.position is None else "position, by the tape"
        if error >= _WORTH_ASKING_STOPS or light.position is None:
            asked.append(WorthMeasuring(field, f"{light.letter}: {what}.", error, step))
    asked.sort(key=lambda each: -math.inf if each.error_stops is None else -each.error_stops)
    return tuple(asked[:MOST_ASKED])

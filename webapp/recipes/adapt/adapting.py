"""A recipe on other kit: the same picture with another camera, another lens, other lights. Pure.

What is kept, in this order: the framing (the side of the field that must hold), the perspective (the camera's
distance), the depth (the effective f-number scales with the format, not the mark), the softness of each light (the
angle that its face fills), and each light's exposure and ratio (its incident level, moved by what the camera now
needs). Where no lens gives both framing and perspective, framing wins and the shift is named. Powers come from the
reader's own meter reading of each light, or, where it is the very head of the recipe, from its own dial.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from webapp.facts import Fact, Value, fact
from webapp.ledger.set_up import CameraFigures, HeadFigures, IncidentReading, LensFigures, ModifierFigures
from webapp.optics import depth, diffraction, distance_law, equivalence, macro, sources
from webapp.optics.assumptions import Assumption
from webapp.optics.equivalence import Measure
from webapp.optics.scales import Quantity, marks, nearest_mark
from webapp.optics.working import Relation, Step, Symbol
from webapp.recipes.document import LightPart, Recipe
from webapp.recipes.plain_kit import head_figures, modifier_figures
from webapp.recipes.reasons import Reason

_SHOWN_STOPS: Final = 0.05

LEVEL: Final = Relation(
    result="level to be metered with this light alone",
    unit="stops",
    formula="A2 = A1 + 2 log2(N2 / N1) − log2(S2 / S1)",
    latex=r"A_2 = A_1 + 2 \log_2 \frac{N_2}{N_1} - \log_2 \frac{S_2}{S_1}",
    symbols=(
        Symbol("A1", "metered level in the recipe, 2 log2 of its f-number", "stops"),
        Symbol("N1", "effective f-number of the recipe"),
        Symbol("N2", "effective f-number on this kit"),
        Symbol("S1", "ISO of the recipe"),
        Symbol("S2", "ISO on this kit"),
    ),
    source="definition",
    assumptions=(Assumption.SAME_FILTERS,),
)
POWER: Final = Relation(
    result="power, in stops below full",
    unit="stops",
    formula="p2 = p1 + Δ − g",
    latex=r"p_2 = p_1 + \Delta - g",
    symbols=(
        Symbol("p1", "power that is known to give a level", "stops"),
        Symbol("Δ", "level wanted, over that one", "stops"),
        Symbol("g", "gained by the distance", "stops"),
    ),
    source="definition",
    assumptions=(Assumption.ONE_HEAD,),
)


@dataclass(frozen=True, slots=True)
class OtherLight:
    """What stands for a light of the recipe. `incident` is the reader's own reading with this head and modifier;
    `distance_mm` is given where the room leaves no choice; `is_the_same` where head and face are the recipe's own."""

    head: HeadFigures
    modifier: ModifierFigures | None = None
    incident: IncidentReading | None = None
    distance_mm: float | None = None
    is_the_same: bool = False

    @property
    def source(self) -> sources.Source:
        return (self.modifier.face if self.modifier else self.head.face).source()

    @property
    def size_mm(self) -> float | None:
        return (self.modifier.face if self.modifier else self.head.face).largest_mm

    @property
    def told(self) -> dict[str, Value]:
        """The pieces as the values of a fact: their names, and the figures that tell those without one."""
        pieces: dict[str, Value] = {"head": self.head.name, "modifier": None, **head_figures(self.head)}
        if self.modifier is not None:
            face, loss = self.modifier.face, self.modifier.loss_stops
            pieces["modifier"] = self.modifier.name
            pieces |= modifier_figures(face.shape, face.width_mm, face.height_mm, loss)
        return pieces


@dataclass(frozen=True, slots=True)
class OtherKit:
    """The reader's kit. `held` is the side of the field that must stay; `lights` is by the recipe's letters."""

    camera: CameraFigures
    lens: LensFigures
    held: Measure = Measure.WIDTH
    lights: Mapping[str, OtherLight] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: what is written and what it comes to on the other kit, as a fact, and its working."""

    fact: Fact
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class YourLight:
    """A light's figures on the other kit; None is unknown."""

    letter: str
    level_av: float | None
    distance_mm: float | None
    power_stops: float | None
    residue_stops: float | None


@dataclass(frozen=True, slots=True)
class Adapted:
    """The recipe on other kit: the figures, the table, and what could not be kept."""

    magnification: float
    focal_length_mm: float | None
    subject_distance_mm: float | None
    exact_f_number: float
    f_number: float
    effective_f_number: float
    iso: float
    shutter_stops: float | None
    lights: tuple[YourLight, ...]
    rows: tuple[Row, ...]
    lost: tuple[Fact, ...]

    def light(self, letter: str) -> YourLight:
        return next(each for each in self.lights if each.letter == letter)


def adapt(recipe: Recipe, kit: OtherKit) -> Adapted:
    """The recipe on another kit. Raises ValueError, with a sentence, where the recipe does not say enough: it needs its
    format, f-number, ISO and magnification."""
    return _Adaptation(recipe, kit).adapted()


class _Adaptation:
    """The table as it grows: each step reads what the ones before it settled."""

    def __init__(self, recipe: Recipe, kit: OtherKit) -> None:
        settings = recipe.settings
        if recipe.camera is None or recipe.f_number is None or settings.iso is None or settings.magnification is None:
            raise ValueError(
                "The recipe does not say its format, f-number, ISO and magnification: there is nothing to go by."
            )
        self.recipe, self.kit = recipe, kit
        self.pupil = recipe.lens.pupil_ratio if recipe.lens else 1.0
        self.sensor = (recipe.camera.sensor_width_mm, recipe.camera.sensor_height_mm)
        self.f_number_was, self.magnification_was = recipe.f_number, settings.magnification
        self.iso_was = 100.0 * math.exp2(settings.iso.stops)
        self.rows: list[Row] = []
        self.lost: list[Fact] = []

    def adapted(self) -> Adapted:
        to = _as_held(self.sensor, (self.kit.camera.sensor_width_mm, self.kit.camera.sensor_height_mm))
        scale = equivalence.format_scale(self.sensor, to, self.kit.held)
        magnification = self._framing(scale, to)
        focal, distance = self._perspective(scale, magnification)
        exact, f_number = self._depth(scale, magnification)
        effective_was = macro.effective_f_number(self.f_number_was, self.magnification_was, self.pupil)
        effective = macro.effective_f_number(f_number, magnification, self.kit.lens.pupil_ratio)
        iso = self._iso()
        shutter = self._shutter(effective_was, effective, iso)
        lights = tuple(self._light(light, effective_was, effective, iso) for light in self.recipe.lit)
        return Adapted(
            magnification,
            focal,
            distance,
            exact,
            f_number,
            effective,
            iso,
            shutter,
            lights,
            tuple(self.rows),
            tuple(self.lost),
        )

    def _framing(self, scale: float, to: tuple[float, float]) -> float:
        magnification = equivalence.equivalent_magnification(self.magnification_was, scale)
        from_size, to_size = (_size(each, self.kit.held) for each in (self.sensor, to))
        self._row(
            fact(
                Reason.ADAPTED_MAGNIFICATION,
                written=self.magnification_was,
                yours=magnification,
                held=self.kit.held.value,
            ),
            equivalence.SCALE.worked(
                scale, a1=from_size, a2=to_size, assuming=(fact(Assumption.FIELD_HELD, held=self.kit.held.value),)
            ),
            equivalence.MAGNIFICATION.worked(magnification, m1=self.magnification_was, k=scale),
        )
        if magnification:
            was, now = (
                tuple(side / m for side in sides)
                for sides, m in ((self.sensor, self.magnification_was), (to, magnification))
            )
            self._row(fact(Reason.ADAPTED_FIELD, written_mm=was, yours_mm=now))
        most = self.kit.lens.greatest_magnification
        if most is not None and magnification > most:
            self.lost.append(
                fact(Reason.NOT_CLOSE_ENOUGH, lens=self.kit.lens.name, greatest=most, needed=magnification)
            )
        return magnification

    def _perspective(self, scale: float, magnification: float) -> tuple[float | None, float | None]:
        settings, lens = self.recipe.settings, self.kit.lens
        if not magnification:
            return self._distant(scale)
        kept = settings.subject_distance_mm
        if kept is None and settings.focal_length_mm:
            kept = macro.subject_distance_mm(settings.focal_length_mm, self.magnification_was)
        if kept is None:
            self.lost.append(fact(Reason.PERSPECTIVE_UNKNOWN))
            return None, None
        wanted = kept / (1.0 + 1.0 / magnification)
        focal = min(max(wanted, lens.shortest_focal_mm), lens.longest_focal_mm)
        distance = macro.subject_distance_mm(focal, magnification)
        step = macro.SUBJECT_DISTANCE.worked(distance, f=focal, m=magnification)
        self._row(
            fact(Reason.ADAPTED_FOCAL_LENGTH, written_mm=settings.focal_length_mm, yours_mm=focal, exact_mm=wanted),
            step,
        )
        self._row(fact(Reason.ADAPTED_CAMERA_DISTANCE, written_mm=kept, yours_mm=distance), step)
        if abs(distance / kept - 1.0) > 0.02:
            self.lost.append(
                fact(
                    Reason.PERSPECTIVE_LOST,
                    written_mm=kept,
                    yours_mm=distance,
                    focal_mm=focal,
                    wanted_focal_mm=wanted,
                )
            )
        return focal, distance

    def _distant(self, scale: float) -> tuple[float | None, float | None]:
        focal_was = self.recipe.settings.focal_length_mm
        if focal_was is None:
            self.lost.append(fact(Reason.FRAMING_UNKNOWN))
            return None, None
        wanted = equivalence.equivalent_focal_length_mm(focal_was, scale)
        focal = min(max(wanted, self.kit.lens.shortest_focal_mm), self.kit.lens.longest_focal_mm)
        step = equivalence.FOCAL_LENGTH.worked(wanted, f1=focal_was, k=scale)
        self._row(fact(Reason.ADAPTED_FOCAL_LENGTH, written_mm=focal_was, yours_mm=focal, exact_mm=wanted), step)
        if abs(focal / wanted - 1.0) > 0.02:
            self.lost.append(fact(Reason.FRAMING_LOST, wanted_focal_mm=wanted, focal_mm=focal))
        return focal, None

    def _depth(self, scale: float, magnification: float) -> tuple[float, float]:
        lens = self.kit.lens
        effective_was = macro.effective_f_number(self.f_number_was, self.magnification_was, self.pupil)
        exact = macro.marked_f_number(effective_was * scale, magnification, lens.pupil_ratio)
        reachable = [
            mark
            for mark in marks(Quantity.F_NUMBER, lens.f_number_dial)
            if lens.widest_f_number / 1.02 <= mark.exact <= lens.smallest_f_number * 1.02
        ]
        mark = min(
            reachable or [nearest_mark(Quantity.F_NUMBER, 2 * math.log2(exact), lens.f_number_dial)],
            key=lambda each: abs(each.stops - 2 * math.log2(exact)),
        )
        residue = mark.stops - 2 * math.log2(exact)
        step = equivalence.F_NUMBER.worked(
            exact, N1=self.f_number_was, m1=self.magnification_was, P=self.pupil, k=scale
        )
        written = self.recipe.settings.f_number.text if self.recipe.settings.f_number else None
        self._row(
            fact(Reason.ADAPTED_F_NUMBER, written=written, yours=mark.text, exact=exact, residue_stops=residue), step
        )
        effective = macro.effective_f_number(mark.exact, magnification, lens.pupil_ratio)
        if magnification >= 0.05:
            self._depth_row(scale, magnification, effective_was, effective)
        self._diffraction_row(effective_was, effective)
        if abs(residue) > 1.0 / 3.0:
            self.lost.append(fact(Reason.DEPTH_LOST, exact=exact, mark=mark.text))
        return exact, mark.exact

    def _depth_row(self, scale: float, magnification: float, effective_was: float, effective: float) -> None:
        circle = depth.circle_of_confusion_mm(*self.sensor)
        was = depth.close_up_depth_mm(self.f_number_was, circle, self.magnification_was, self.pupil)
        now = depth.close_up_depth_mm(
            effective / (1.0 + magnification / self.kit.lens.pupil_ratio),
            circle * scale,
            magnification,
            self.kit.lens.pupil_ratio,
        )
        step = depth.CLOSE_UP_DEPTH.worked(now, c=circle * scale, N_eff=effective, m=magnification)
        self._row(fact(Reason.ADAPTED_DEPTH, written_mm=was, yours_mm=now), step)
        self._row(fact(Reason.ADAPTED_EFFECTIVE_F_NUMBER, written=effective_was, yours=effective))

    def _diffraction_row(self, effective_was: float, effective: float) -> None:
        assert self.recipe.camera is not None
        camera = self.recipe.camera
        pitch_was_um = 1000.0 * camera.sensor_width_mm / camera.width_px
        was, now = diffraction.airy_disc_mm(effective_was), diffraction.airy_disc_mm(effective)
        step = diffraction.AIRY_DISC.worked(now, λ=diffraction.GREEN_LINE_NM, N_eff=effective)
        self._row(
            fact(
                Reason.ADAPTED_DIFFRACTION,
                written_px=diffraction.in_pixels(was, pitch_was_um),
                yours_px=diffraction.in_pixels(now, self.kit.camera.pixel_pitch_um),
            ),
            step,
        )

    def _iso(self) -> float:
        camera = self.kit.camera
        iso = min(max(self.iso_was, camera.lowest_iso), camera.highest_iso)
        self._row(fact(Reason.ADAPTED_ISO, written=self.iso_was, yours=iso))
        if iso != self.iso_was:
            self.lost.append(fact(Reason.ISO_OUT_OF_RANGE, camera=camera.name, written=self.iso_was, yours=iso))
        return iso

    def _shutter(self, effective_was: float, effective: float, iso: float) -> float | None:
        shutter, sync = self.recipe.settings.shutter, self.kit.camera.sync_tv
        if shutter is None:
            return None
        stops, yours = shutter.stops, shutter.text
        flashes = any(light.head.kind == "flash" for light in self.recipe.lit)
        if flashes and sync is not None and stops > sync + 1e-6:
            stops, yours = sync, self.kit.camera.sync_mark or ""
            self.lost.append(
                fact(Reason.PAST_SYNC_SPEED, camera=self.kit.camera.name, written=shutter.text, yours=yours)
            )
        gained = shutter.stops - stops
        self._row(fact(Reason.ADAPTED_SHUTTER, written=shutter.text, yours=yours, stops=gained))
        ambient = gained - 2 * math.log2(effective / effective_was) + math.log2(iso / self.iso_was)
        if flashes:
            self._row(fact(Reason.ADAPTED_AMBIENT, stops=ambient))
        return stops

    def _light(self, light: LightPart, effective_was: float, effective: float, iso: float) -> YourLight:
        moved = 2 * math.log2(effective / effective_was) - math.log2(iso / self.iso_was)
        level = None if light.incident_av is None else light.incident_av + moved
        if light.incident_av is not None and level is not None:
            step = LEVEL.worked(level, A1=light.incident_av, N1=effective_was, N2=effective, S1=self.iso_was, S2=iso)
            metered = fact(
                Reason.ADAPTED_LEVEL, light.letter, written_av=light.incident_av, yours_av=level, stops=moved
            )
            self._row(metered, step)
        else:
            self.lost.append(fact(Reason.NEVER_METERED, light.letter))
        other = self.kit.lights.get(light.letter)
        if other is None:
            return YourLight(light.letter, level, None, None, None)
        distance = self._softness(light, other)
        power, residue = self._power(light, other, level, moved, distance)
        return YourLight(light.letter, level, distance, power, residue)

    def _softness(self, light: LightPart, other: OtherLight) -> float | None:
        size, angle = other.size_mm, light.angular_size_deg
        distance = other.distance_mm
        if distance is None and size and angle:
            distance = sources.distance_for_angular_size_mm(size, angle)
        distance = light.distance_mm if distance is None else distance
        looks: dict[str, Value] = {"written_deg": None, "yours_deg": None}
        steps: tuple[Step, ...] = ()
        if size and angle and distance:
            yours = sources.angular_size_deg(size, distance)
            looks = {"written_deg": angle, "yours_deg": yours}
            steps = (sources.ANGULAR_SIZE.worked(yours, s=size, d=distance),)
            if abs(math.log2(yours / angle)) > 0.2:
                needed = sources.distance_for_angular_size_mm(size, angle)
                self.lost.append(
                    Fact(
                        Reason.SOFTNESS_LOST,
                        light.letter,
                        other.told | looks | {"distance_mm": distance, "needed_mm": needed},
                    )
                )
        moved: dict[str, Value] = {"written_mm": light.distance_mm, "yours_mm": distance}
        self._row(Fact(Reason.ADAPTED_DISTANCE, light.letter, moved | looks), *steps)
        return distance

    def _power(
        self, light: LightPart, other: OtherLight, level: float | None, moved: float, distance: float | None
    ) -> tuple[float | None, float | None]:
        if distance is None:
            return None, None
        if other.incident is not None and level is not None:
            known, wanted, from_mm = other.incident.power_stops, level - other.incident.av, other.incident.distance_mm
        elif other.is_the_same and light.power_stops is not None and light.distance_mm is not None:
            known, wanted, from_mm = light.power_stops, moved, light.distance_mm
        else:
            self.lost.append(Fact(Reason.NO_METER_READING, light.letter, other.told | {"level_av": level}))
            return None, None
        gained = distance_law.change_with_distance_stops(other.source, from_mm, distance)
        exact = known + wanted - gained
        power = other.head.dial.nearest(exact)
        residue = power - exact
        step = POWER.worked(exact, p1=known, Δ=wanted, g=gained)
        mark = other.head.dial.mark(power)
        self._row(
            fact(Reason.ADAPTED_POWER, light.letter, written=light.power_mark, yours=mark, residue_stops=residue),
            step,
        )
        if abs(residue) > other.head.step_stops / 2 + _SHOWN_STOPS:
            self._out_of_range(light, other, distance, residue)
        return power, residue

    def _out_of_range(self, light: LightPart, other: OtherLight, distance: float, residue: float) -> None:
        try:
            there = distance_law.distance_for_change_mm(other.source, distance, -residue)
        except ValueError:
            there = None
        far: dict[str, Value] = {"residue_stops": residue, "distance_mm": distance, "needed_mm": there}
        self.lost.append(Fact(Reason.POWER_OUT_OF_RANGE, light.letter, other.told | far))

    def _row(self, told: Fact, *steps: Step) -> None:
        self.rows.append(Row(told, steps))


def _as_held(written: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    """The other sensor turned as the recipe's camera was: upright or lying."""
    return other if (written[0] >= written[1]) == (other[0] >= other[1]) else (other[1], other[0])


def _size(sensor: tuple[float, float], held: Measure) -> float:
    return {Measure.WIDTH: sensor[0], Measure.HEIGHT: sensor[1]}.get(held, math.hypot(*sensor))

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
from dataclasses import dataclass, field, replace
from typing import Final

from webapp.facts import Fact, Value, fact
from webapp.ledger.set_up import CameraFigures, LensFigures, Light, SetUp
from webapp.optics import depth, diffraction, distance_law, equivalence, macro, sources
from webapp.optics.assumptions import Assumption
from webapp.optics.equivalence import Measure
from webapp.optics.scales import Dial, Marked, Quantity, marks, nearest_mark
from webapp.optics.working import Relation, Step, Symbol
from webapp.quantities.marks import read_mark
from webapp.recipes.document import LightPart, Recipe
from webapp.recipes.plain_kit import light_values
from webapp.recipes.reasons import Reason
from webapp.recipes.written_frame import filters_of, set_up_of

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
class OtherKit:
    """The reader's kit. `held` is the side of the field that must stay. `lights` stand for those of the recipe, by its
    letters: each has the reader's own meter reading with this head and modifier, and a distance only where the room
    leaves no choice. `own` are those whose head and face are the recipe's own."""

    camera: CameraFigures
    lens: LensFigures
    held: Measure = Measure.WIDTH
    lights: Mapping[str, Light] = field(default_factory=dict)
    own: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: what is written and what it comes to on the other kit, as a fact, and its working."""

    fact: Fact
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class Adapted:
    """The recipe on other kit: its set-up there, at the marks of the dials and with the lights that something stands
    for; what the marks round; the table, and what could not be kept. By letter: `levels` is what a meter has to read
    with that light alone, 2 log2 of the f-number at ISO 100, None where the recipe was not metered; `residues` is what
    the dial of a power leaves, in stops."""

    set_up: SetUp
    exact_f_number: float
    effective_f_number: float
    exact_iso: float
    levels: Mapping[str, float | None]
    residues: Mapping[str, float]
    rows: tuple[Row, ...]
    lost: tuple[Fact, ...]


def adapt(recipe: Recipe, kit: OtherKit) -> Adapted:
    """The recipe on another kit. It is read as a document, since that alone says what travels: the incident level and
    the apparent size of each light.

    Raises ValueError, with a sentence, where the recipe does not say enough: it needs its format, f-number, ISO and
    magnification.
    """
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
        self.levels: dict[str, float | None] = {}
        self.residues: dict[str, float] = {}
        self.rows: list[Row] = []
        self.lost: list[Fact] = []

    def adapted(self) -> Adapted:
        to = _as_held(self.sensor, (self.kit.camera.sensor_width_mm, self.kit.camera.sensor_height_mm))
        scale = equivalence.format_scale(self.sensor, to, self.kit.held)
        magnification = self._framing(scale, to)
        focal, distance = self._perspective(scale, magnification)
        exact, f_number = self._depth(scale, magnification)
        effective_was = macro.effective_f_number(self.f_number_was, self.magnification_was, self.pupil)
        effective = macro.effective_f_number(f_number.exact, magnification, self.kit.lens.pupil_ratio)
        iso = self._iso()
        written = set_up_of(self.recipe, self.kit.camera, self.kit.lens)
        shutter = self._shutter(written.shutter, effective_was, effective, iso)
        lights = {light.letter: self._light(light, effective_was, effective, iso) for light in self.recipe.lit}
        set_up = replace(
            written,
            f_number=f_number,
            shutter=shutter,
            iso=_nearest(Quantity.ISO, math.log2(iso / 100.0), self.kit.camera.iso_dial),
            focal_length_mm=focal,
            magnification=magnification,
            subject_distance_mm=distance,
            lights=tuple(light for light in lights.values() if light is not None),
        )
        rows, lost = tuple(self.rows), tuple(self.lost)
        return Adapted(set_up, exact, effective, iso, self.levels, self.residues, rows, lost)

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

    def _depth(self, scale: float, magnification: float) -> tuple[float, Marked]:
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
        return exact, _nearest(Quantity.F_NUMBER, mark.stops, lens.f_number_dial)

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

    def _shutter(self, written: Marked | None, effective_was: float, effective: float, iso: float) -> Marked | None:
        camera = self.kit.camera
        if written is None:
            return None
        yours = written
        flashes = any(light.head.kind == "flash" for light in self.recipe.lit)
        if flashes and camera.sync_tv is not None and written.stops > camera.sync_tv + 1e-6:
            yours = read_mark(Quantity.SHUTTER, camera.sync_mark or "", camera.shutter_dial)
            self.lost.append(fact(Reason.PAST_SYNC_SPEED, camera=camera.name, written=written.text, yours=yours.text))
        gained = written.stops - yours.stops
        self._row(fact(Reason.ADAPTED_SHUTTER, written=written.text, yours=yours.text, stops=gained))
        ambient = gained - 2 * math.log2(effective / effective_was) + math.log2(iso / self.iso_was)
        if flashes:
            self._row(fact(Reason.ADAPTED_AMBIENT, stops=ambient))
        return yours

    def _light(self, light: LightPart, effective_was: float, effective: float, iso: float) -> Light | None:
        moved = 2 * math.log2(effective / effective_was) - math.log2(iso / self.iso_was)
        level = None if light.incident_av is None else light.incident_av + moved
        self.levels[light.letter] = level
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
            return None
        distance = self._softness(light, other)
        power = self._power(light, other, level, moved, distance)
        return replace(other, filters=filters_of(light.filters), distance_mm=distance, power_stops=power)

    def _softness(self, light: LightPart, other: Light) -> float | None:
        size, angle = other.face.largest_mm, light.angular_size_deg
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
                        light_values(other) | looks | {"distance_mm": distance, "needed_mm": needed},
                    )
                )
        moved: dict[str, Value] = {"written_mm": light.distance_mm, "yours_mm": distance}
        self._row(Fact(Reason.ADAPTED_DISTANCE, light.letter, moved | looks), *steps)
        return distance

    def _power(
        self, light: LightPart, other: Light, level: float | None, moved: float, distance: float | None
    ) -> float | None:
        if distance is None:
            return None
        if other.incident is not None and level is not None:
            known, wanted, from_mm = other.incident.power_stops, level - other.incident.av, other.incident.distance_mm
        elif light.letter in self.kit.own and light.power_stops is not None and light.distance_mm is not None:
            known, wanted, from_mm = light.power_stops, moved, light.distance_mm
        else:
            self.lost.append(Fact(Reason.NO_METER_READING, light.letter, light_values(other) | {"level_av": level}))
            return None
        gained = distance_law.change_with_distance_stops(other.face.source(), from_mm, distance)
        exact = known + wanted - gained
        power = other.head.dial.nearest(exact)
        residue = self.residues[light.letter] = power - exact
        step = POWER.worked(exact, p1=known, Δ=wanted, g=gained)
        mark = other.head.dial.mark(power)
        self._row(
            fact(Reason.ADAPTED_POWER, light.letter, written=light.power_mark, yours=mark, residue_stops=residue),
            step,
        )
        if abs(residue) > other.head.step_stops / 2 + _SHOWN_STOPS:
            self._out_of_range(light, other, distance, residue)
        return power

    def _out_of_range(self, light: LightPart, other: Light, distance: float, residue: float) -> None:
        try:
            there = distance_law.distance_for_change_mm(other.face.source(), distance, -residue)
        except ValueError:
            there = None
        far: dict[str, Value] = {"residue_stops": residue, "distance_mm": distance, "needed_mm": there}
        self.lost.append(Fact(Reason.POWER_OUT_OF_RANGE, light.letter, light_values(other) | far))

    def _row(self, told: Fact, *steps: Step) -> None:
        self.rows.append(Row(told, steps))


def _as_held(written: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    """The other sensor turned as the recipe's camera was: upright or lying."""
    return other if (written[0] >= written[1]) == (other[0] >= other[1]) else (other[1], other[0])


def _nearest(quantity: Quantity, stops: float, dial: Dial) -> Marked:
    mark = nearest_mark(quantity, stops, dial)
    return Marked(quantity, mark.text, mark.stops, dial)


def _size(sensor: tuple[float, float], held: Measure) -> float:
    return {Measure.WIDTH: sensor[0], Measure.HEIGHT: sensor[1]}.get(held, math.hypot(*sensor))

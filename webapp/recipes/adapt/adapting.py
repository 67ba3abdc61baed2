"""A recipe on other kit: the same picture with another camera, another lens, other lights. Pure.

What is kept, in this order: the framing (the side of the field that must hold), the perspective (the camera's
distance), the depth (the effective f-number scales with the format, not the mark), the softness of each light (the
angle that its face fills), and each light's exposure and ratio (its incident level, moved by what the camera now
needs). Where no lens gives both framing and perspective, framing wins and the shift is named. Powers come from the
reader's own meter reading of each light, or, where it is the very head of the recipe, from its own dial. Dials of
coarse steps are trimmed together, by the ISO at which their marks come closest to what each light has to give. What
cannot be had is named, with ways to it and their price (`ways`).
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
from webapp.recipes.adapt import ways
from webapp.recipes.adapt.choosing import as_held
from webapp.recipes.document import LightPart, Recipe
from webapp.recipes.plain_kit import light_values
from webapp.recipes.reasons import Reason
from webapp.recipes.written_frame import filters_of, set_up_of

_SHOWN_STOPS: Final = 0.05
# From here on two lights that should match are seen not to; common practice.
_SEEN_RESIDUE_STOPS: Final = 0.15
# A fifth of an octave: from here on a change of apparent size is named.
_SEEN_STOPS: Final = 0.2

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
    leaves no choice. `own` are those whose head and face are the recipe's own. `chosen` says what was chosen out of what
    there is, and why."""

    camera: CameraFigures
    lens: LensFigures
    held: Measure = Measure.WIDTH
    lights: Mapping[str, Light] = field(default_factory=dict)
    own: frozenset[str] = frozenset()
    chosen: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: what is written and what it comes to on the other kit, as a fact, and its working."""

    fact: Fact
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class Lost:
    """What could not be kept, as a fact, and the ways that there are to it."""

    fact: Fact
    ways: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True)
class Adapted:
    """The recipe on other kit: its set-up there, at the marks of the dials and with the lights that something stands
    for; what the marks round; the table, and what could not be kept. By letter: `levels` is what a meter has to read
    with that light alone, 2 log2 of the f-number at ISO 100, None where the recipe was not metered; `residues` is what
    the dial of a power leaves, in stops. `chosen` says which kit was chosen for the reader, and why."""

    set_up: SetUp
    exact_f_number: float
    effective_f_number: float
    exact_iso: float
    levels: Mapping[str, float | None]
    residues: Mapping[str, float]
    rows: tuple[Row, ...]
    lost: tuple[Lost, ...]
    chosen: tuple[Fact, ...] = ()


def adapt(recipe: Recipe, kit: OtherKit) -> Adapted:
    """The recipe on another kit. It is read as a document, since that alone says what travels: the incident level and
    the apparent size of each light.

    Raises ValueError, with a sentence, where the recipe does not say enough: it needs its format, f-number, ISO and
    magnification.
    """
    return _Adaptation(recipe, kit).adapted()


@dataclass(frozen=True, slots=True)
class _Stands:
    """The camera on the other kit, and what its effective f-number was."""

    f_number: Marked
    iso_mark: Marked
    shutter: Marked | None
    effective_was: float
    effective: float
    iso: float


@dataclass(frozen=True, slots=True)
class _Reckoned:
    """A power in the symbols of POWER: what is known, what is wanted over that, what the distance gains."""

    known: float
    wanted: float
    gained: float
    exact: float


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
        self.lost: list[Lost] = []

    def adapted(self) -> Adapted:
        to = as_held(self.sensor, self.kit.camera)
        scale = equivalence.format_scale(self.sensor, to, self.kit.held)
        magnification = self._framing(scale, to)
        focal, distance = self._perspective(scale, magnification)
        exact, f_number = self._depth(scale, magnification)
        effective_was = macro.effective_f_number(self.f_number_was, self.magnification_was, self.pupil)
        effective = macro.effective_f_number(f_number.exact, magnification, self.kit.lens.pupil_ratio)
        written = set_up_of(self.recipe, self.kit.camera, self.kit.lens)
        iso = self._iso(effective_was, effective)
        iso_mark = _nearest(Quantity.ISO, math.log2(iso / 100.0), self.kit.camera.iso_dial)
        shutter = self._shutter(written.shutter, effective_was, effective, iso)
        stands = _Stands(f_number, iso_mark, shutter, effective_was, effective, iso)
        lights = {light.letter: self._light(light, stands) for light in self.recipe.lit}
        set_up = replace(
            written,
            f_number=f_number,
            shutter=shutter,
            iso=iso_mark,
            focal_length_mm=focal,
            magnification=magnification,
            subject_distance_mm=distance,
            lights=tuple(light for light in lights.values() if light is not None),
        )
        rows, lost = tuple(self.rows), tuple(self.lost)
        return Adapted(set_up, exact, effective, iso, self.levels, self.residues, rows, lost, self.kit.chosen)

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
            self._lose(
                fact(Reason.NOT_CLOSE_ENOUGH, lens=self.kit.lens.name, greatest=most, needed=magnification),
                *ways.closer(self.kit.camera, self.kit.lens, magnification),
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
            self._lose(fact(Reason.PERSPECTIVE_UNKNOWN))
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
            self._lose(
                fact(
                    Reason.PERSPECTIVE_LOST,
                    written_mm=kept,
                    yours_mm=distance,
                    focal_mm=focal,
                    wanted_focal_mm=wanted,
                ),
                *ways.perspective(self.kit.camera, focal, kept, magnification, wanted),
            )
        return focal, distance

    def _distant(self, scale: float) -> tuple[float | None, float | None]:
        focal_was = self.recipe.settings.focal_length_mm
        if focal_was is None:
            self._lose(fact(Reason.FRAMING_UNKNOWN))
            return None, None
        wanted = equivalence.equivalent_focal_length_mm(focal_was, scale)
        focal = min(max(wanted, self.kit.lens.shortest_focal_mm), self.kit.lens.longest_focal_mm)
        step = equivalence.FOCAL_LENGTH.worked(wanted, f1=focal_was, k=scale)
        self._row(fact(Reason.ADAPTED_FOCAL_LENGTH, written_mm=focal_was, yours_mm=focal, exact_mm=wanted), step)
        if abs(focal / wanted - 1.0) > 0.02:
            shorter = (ways.crop(self.kit.camera, focal / wanted),) if focal < wanted else ()
            self._lose(
                fact(Reason.FRAMING_LOST, wanted_focal_mm=wanted, focal_mm=focal),
                *shorter,
                fact(Reason.WAY_LENS, focal_mm=wanted),
            )
        return focal, None

    def _depth(self, scale: float, magnification: float) -> tuple[float, Marked]:
        lens = self.kit.lens
        effective_was = macro.effective_f_number(self.f_number_was, self.magnification_was, self.pupil)
        exact = macro.marked_f_number(effective_was * scale, magnification, lens.pupil_ratio)
        mark = min(
            ways.f_numbers_of(lens) or [nearest_mark(Quantity.F_NUMBER, 2 * math.log2(exact), lens.f_number_dial)],
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
            circle = depth.circle_of_confusion_mm(*self.sensor)
            was = 0.0
            if self.magnification_was:
                was = depth.close_up_depth_mm(self.f_number_was, circle, self.magnification_was, self.pupil)
            nearest = _nearest(Quantity.F_NUMBER, mark.stops, lens.f_number_dial)
            self._lose(
                fact(Reason.DEPTH_LOST, exact=exact, mark=mark.text),
                *ways.depths(lens, nearest, exact, magnification, circle * scale, was),
            )
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

    def _iso(self, effective_was: float, effective: float) -> float:
        """The ISO of the recipe as far as the camera has it, moved where that brings coarse dials together."""
        camera = self.kit.camera
        within = min(max(self.iso_was, camera.lowest_iso), camera.highest_iso)
        iso = self._trimmed(within, effective_was, effective)
        self._row(fact(Reason.ADAPTED_ISO, written=self.iso_was, yours=iso))
        if within != self.iso_was:
            self._lose(fact(Reason.ISO_OUT_OF_RANGE, camera=camera.name, written=self.iso_was, yours=within))
        if iso != within:
            self._row(fact(Reason.ADAPTED_TRIM, from_iso=within, yours=iso, stops=math.log2(iso / within)))
        return iso

    def _trimmed(self, iso: float, effective_was: float, effective: float) -> float:
        """The ISO within half a stop at which the largest residue of a dial is least."""
        exact: list[tuple[Light, float]] = []
        for light in self.recipe.lit:
            other = self.kit.lights.get(light.letter)
            distance = self._distance(light, other) if other is not None else None
            if other is None or distance is None:
                continue
            reckoned = self._reckoned(light, other, self._moved(effective_was, effective, iso), distance)
            # What is at the end of a dial is not brought there by a trim.
            if (
                reckoned is not None
                and -0.5 * other.head.step_stops <= reckoned.exact - other.head.lowest_power_stops
            ):
                exact += [(other, reckoned.exact)] if reckoned.exact <= 0.5 * other.head.step_stops else []
        if not exact:
            return iso

        def largest_residue(moved: float) -> float:
            return max(abs(each.head.dial.nearest(power - moved) - (power - moved)) for each, power in exact)

        camera, stands = self.kit.camera, math.log2(iso / 100.0)
        moves = [
            mark.stops - stands
            for mark in marks(Quantity.ISO, camera.iso_dial)
            if abs(mark.stops - stands) <= 0.5 and camera.lowest_iso <= 100.0 * math.exp2(mark.stops) * 1.02
        ]
        best = min(moves, key=lambda each: (round(largest_residue(each), 6), abs(each)), default=0.0)
        return iso * math.exp2(best) if largest_residue(0.0) - largest_residue(best) > _SHOWN_STOPS else iso

    def _shutter(self, written: Marked | None, effective_was: float, effective: float, iso: float) -> Marked | None:
        camera = self.kit.camera
        if written is None:
            return None
        yours = written
        flashes = any(self._kind(light) == "flash" for light in self.recipe.lit)
        if flashes and camera.sync_tv is not None and written.stops > camera.sync_tv + 1e-6:
            yours = read_mark(Quantity.SHUTTER, camera.sync_mark or "", camera.shutter_dial)
            self._lose(
                fact(Reason.PAST_SYNC_SPEED, camera=camera.name, written=written.text, yours=yours.text),
                fact(Reason.WAY_DARKEN, stops=written.stops - yours.stops),
            )
        gained = written.stops - yours.stops
        self._row(fact(Reason.ADAPTED_SHUTTER, written=written.text, yours=yours.text, stops=gained))
        if flashes:
            self._row(fact(Reason.ADAPTED_AMBIENT, stops=gained - self._moved(effective_was, effective, iso)))
        return yours

    def _kind(self, light: LightPart) -> str:
        """Of what stands for a light, or where nothing does, of the light as written."""
        other = self.kit.lights.get(light.letter)
        return light.head.kind if other is None else other.head.kind

    def _moved(self, effective_was: float, effective: float, iso: float) -> float:
        """How much more light the camera needs now, in stops."""
        return 2 * math.log2(effective / effective_was) - math.log2(iso / self.iso_was)

    def _light(self, light: LightPart, stands: _Stands) -> Light | None:
        moved = self._moved(stands.effective_was, stands.effective, stands.iso)
        level = None if light.incident_av is None else light.incident_av + moved
        self.levels[light.letter] = level
        if light.incident_av is not None and level is not None:
            step = LEVEL.worked(
                level,
                A1=light.incident_av,
                N1=stands.effective_was,
                N2=stands.effective,
                S1=self.iso_was,
                S2=stands.iso,
            )
            metered = fact(
                Reason.ADAPTED_LEVEL, light.letter, written_av=light.incident_av, yours_av=level, stops=moved
            )
            self._row(metered, step)
        else:
            self._lose(fact(Reason.NEVER_METERED, light.letter))
        other = self.kit.lights.get(light.letter)
        if other is None:
            gone = fact(Reason.LEFT_WITHOUT_A_HEAD, light.letter, level_av=level, from_key_stops=light.from_key_stops)
            self._lose(gone, *ways.missing(light))
            return None
        self._other_kind(light, other, stands)
        distance = self._distance(light, other)
        self._softness(light, other, distance)
        power = self._power(light, other, level, moved, distance, stands)
        return replace(other, filters=filters_of(light.filters), distance_mm=distance, power_stops=power)

    def _other_kind(self, light: LightPart, other: Light, stands: _Stands) -> None:
        if light.head.kind == other.head.kind:
            return
        shutter = stands.shutter.text if stands.shutter else None
        if other.head.kind == "continuous":
            told: dict[str, Value] = light_values(other) | {"shutter": shutter}
            self._lose(
                Fact(Reason.CONTINUOUS_FOR_FLASH, light.letter, told),
                fact(Reason.WAY_DARK_ROOM),
                fact(Reason.WAY_STILL, shutter=shutter),
            )
        else:
            self._lose(Fact(Reason.FLASH_FOR_CONTINUOUS, light.letter, light_values(other)))

    def _distance(self, light: LightPart, other: Light) -> float | None:
        """Where a light stands: where the room decides, where it looks as large as it did, or as written."""
        size, angle = other.face.largest_mm, light.angular_size_deg
        if other.distance_mm is not None:
            return other.distance_mm
        return sources.distance_for_angular_size_mm(size, angle) if size and angle else light.distance_mm

    def _softness(self, light: LightPart, other: Light, distance: float | None) -> None:
        size, angle = other.face.largest_mm, light.angular_size_deg
        looks: dict[str, Value] = {"written_deg": None, "yours_deg": None}
        steps: tuple[Step, ...] = ()
        if size and angle and distance:
            yours = sources.angular_size_deg(size, distance)
            looks = {"written_deg": angle, "yours_deg": yours}
            steps = (sources.ANGULAR_SIZE.worked(yours, s=size, d=distance),)
            if abs(math.log2(yours / angle)) > _SEEN_STOPS:
                needed = sources.distance_for_angular_size_mm(size, angle)
                far: dict[str, Value] = {"distance_mm": distance, "needed_mm": needed}
                told = Fact(Reason.SOFTNESS_LOST, light.letter, light_values(other) | looks | far)
                self._lose(told, *ways.softer(light, other, distance))
        is_hard = not size or (light.modifier_diffuses and (other.modifier is None or not other.modifier.diffuses))
        if angle and distance and is_hard:
            hard: dict[str, Value] = {"written_deg": angle, "distance_mm": distance}
            told = Fact(Reason.MADE_HARD, light.letter, light_values(other) | hard)
            self._lose(told, *ways.softer(light, replace(other, modifier=None), distance))
        moved: dict[str, Value] = {"written_mm": light.distance_mm, "yours_mm": distance}
        self._row(Fact(Reason.ADAPTED_DISTANCE, light.letter, moved | looks), *steps)

    def _reckoned(self, light: LightPart, other: Light, moved: float, distance: float) -> _Reckoned | None:
        """The power that a light needs, from the reader's own reading or the recipe's own dial; None where nothing
        tells it. The reader's reading is without the recipe's filters, which are fitted here too: they take their loss
        of it."""
        losses = [each.loss_stops for each in light.filters]
        if other.incident is not None and light.incident_av is not None and None not in losses:
            known, from_mm = other.incident.power_stops, other.incident.distance_mm
            taken = sum(loss for loss in losses if loss is not None)
            wanted = light.incident_av + moved - other.incident.av + taken
        elif light.letter in self.kit.own and light.power_stops is not None and light.distance_mm is not None:
            known, wanted, from_mm = light.power_stops, moved, light.distance_mm
        else:
            return None
        gained = distance_law.change_with_distance_stops(other.face.source(), from_mm, distance)
        return _Reckoned(known, wanted, gained, known + wanted - gained)

    def _power(
        self,
        light: LightPart,
        other: Light,
        level: float | None,
        moved: float,
        distance: float | None,
        stands: _Stands,
    ) -> float | None:
        if distance is None:
            return None
        reckoned = self._reckoned(light, other, moved, distance)
        if reckoned is None:
            self._lose(Fact(Reason.NO_METER_READING, light.letter, light_values(other) | {"level_av": level}))
            return None
        power = other.head.dial.nearest(reckoned.exact)
        residue = self.residues[light.letter] = power - reckoned.exact
        step = POWER.worked(reckoned.exact, p1=reckoned.known, Δ=reckoned.wanted, g=reckoned.gained)
        mark = other.head.dial.mark(power)
        self._row(
            fact(Reason.ADAPTED_POWER, light.letter, written=light.power_mark, yours=mark, residue_stops=residue),
            step,
        )
        if abs(residue) > other.head.step_stops / 2 + _SHOWN_STOPS:
            self._out_of_range(other, distance, residue, stands)
        elif abs(residue) > _SEEN_RESIDUE_STOPS:
            left = Fact(Reason.RESIDUE_LEFT, light.letter, light_values(other) | {"residue_stops": residue})
            self._lose(left, *ways.residue(other, distance, residue))
        return power

    def _out_of_range(self, other: Light, distance: float, residue: float, stands: _Stands) -> None:
        try:
            there = distance_law.distance_for_change_mm(other.face.source(), distance, -residue)
        except ValueError:
            there = None
        far: dict[str, Value] = {"residue_stops": residue, "distance_mm": distance, "needed_mm": there}
        told = Fact(Reason.POWER_OUT_OF_RANGE, other.letter, light_values(other) | far)
        now = ways.Now(stands.f_number, stands.iso_mark, stands.shutter, distance)
        found = ways.too_strong if residue > 0 else ways.too_weak
        self._lose(told, *found(other, self.kit.camera, self.kit.lens, now, abs(residue)))

    def _lose(self, told: Fact, *to_it: Fact) -> None:
        self.lost.append(Lost(told, to_it))

    def _row(self, told: Fact, *steps: Step) -> None:
        self.rows.append(Row(told, steps))


def _nearest(quantity: Quantity, stops: float, dial: Dial) -> Marked:
    mark = nearest_mark(quantity, stops, dial)
    return Marked(quantity, mark.text, mark.stops, dial)


def _size(sensor: tuple[float, float], held: Measure) -> float:
    return {Measure.WIDTH: sensor[0], Measure.HEIGHT: sensor[1]}.get(held, math.hypot(*sensor))

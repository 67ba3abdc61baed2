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

from webapp.ledger.entries import magnification_text
from webapp.ledger.metered import level_words
from webapp.ledger.set_up import CameraFigures, HeadFigures, IncidentReading, LensFigures, ModifierFigures
from webapp.optics import depth, diffraction, distance_law, equivalence, macro, sources
from webapp.optics.equivalence import Measure
from webapp.optics.scales import Quantity, marks, nearest_mark
from webapp.optics.working import Relation, Step, Symbol
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.recipes.document import LightPart, Recipe

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
    assumptions=("the same filters on the lens",),
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
    assumptions=("one head, whose dial keeps its word",),
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
    def name(self) -> str:
        return self.head.name + (f" with {self.modifier.name}" if self.modifier else "")


@dataclass(frozen=True, slots=True)
class OtherKit:
    """The reader's kit. `held` is the side of the field that must stay; `lights` is by the recipe's letters."""

    camera: CameraFigures
    lens: LensFigures
    held: Measure = Measure.WIDTH
    lights: Mapping[str, OtherLight] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: as written, on your kit, the difference that rounding or a limit leaves."""

    what: str
    written: str
    yours: str
    difference: str = ""
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
    lost: tuple[str, ...]

    def light(self, letter: str) -> YourLight:
        return next(each for each in self.lights if each.letter == letter)


def adapt(recipe: Recipe, kit: OtherKit, lengths: Lengths = CENTIMETRES) -> Adapted:
    """The recipe on another kit, told in the reader's lengths. Raises ValueError, with a sentence, where the recipe does not say enough: it needs
    its format, f-number, ISO and magnification."""
    return _Adaptation(recipe, kit, lengths).adapted()


class _Adaptation:
    """The table as it grows: each step reads what the ones before it settled."""

    def __init__(self, recipe: Recipe, kit: OtherKit, lengths: Lengths) -> None:
        settings = recipe.settings
        if recipe.camera is None or recipe.f_number is None or settings.iso is None or settings.magnification is None:
            raise ValueError(
                "The recipe does not say its format, f-number, ISO and magnification: there is nothing to go by."
            )
        self.recipe, self.kit, self.lengths = recipe, kit, lengths
        self.pupil = recipe.lens.pupil_ratio if recipe.lens else 1.0
        self.sensor = (recipe.camera.sensor_width_mm, recipe.camera.sensor_height_mm)
        self.f_number_was, self.magnification_was = recipe.f_number, settings.magnification
        self.iso_was = 100.0 * math.exp2(settings.iso.stops)
        self.rows: list[Row] = []
        self.lost: list[str] = []

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
        self.rows.append(
            Row(
                "magnification",
                magnification_text(self.magnification_was),
                magnification_text(magnification),
                f"the {self.kit.held.value} of the field holds",
                (
                    equivalence.SCALE.worked(
                        scale, a1=from_size, a2=to_size, assuming=(f"held: {self.kit.held.value}",)
                    ),
                    equivalence.MAGNIFICATION.worked(magnification, m1=self.magnification_was, k=scale),
                ),
            )
        )
        if magnification:
            was, now = (
                tuple(side / m for side in sides)
                for sides, m in ((self.sensor, self.magnification_was), (to, magnification))
            )
            self.rows.append(
                Row(
                    "field",
                    _field(was, self.lengths),
                    _field(now, self.lengths),
                    _field_difference(was, now, self.lengths),
                )
            )
        most = self.kit.lens.greatest_magnification
        if most is not None and magnification > most:
            self.lost.append(
                f"{self.kit.lens.name} goes to {most:.3g}, and {magnification:.3g} is needed: add extension, or crop."
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
            self.lost.append("Perspective: the recipe has neither a camera distance nor a focal length.")
            return None, None
        wanted = kept / (1.0 + 1.0 / magnification)
        focal = min(max(wanted, lens.shortest_focal_mm), lens.longest_focal_mm)
        distance = macro.subject_distance_mm(focal, magnification)
        step = macro.SUBJECT_DISTANCE.worked(distance, f=focal, m=magnification)
        written = "unknown" if settings.focal_length_mm is None else f"{settings.focal_length_mm:g} mm"
        self.rows.append(Row("focal length", written, f"{focal:.4g} mm", f"exact would be {wanted:.4g} mm", (step,)))
        self.rows.append(
            Row(
                "camera distance",
                self.lengths.text(kept),
                self.lengths.text(distance),
                _shift(distance - kept, self.lengths),
                (step,),
            )
        )
        if abs(distance / kept - 1.0) > 0.02:
            self.lost.append(
                f"Perspective: from {self.lengths.text(distance)} instead of {self.lengths.text(kept)}, the only distance at which "
                f"{focal:.4g} mm gives this framing. A lens of {wanted:.3g} mm would keep it."
            )
        return focal, distance

    def _distant(self, scale: float) -> tuple[float | None, float | None]:
        focal_was = self.recipe.settings.focal_length_mm
        if focal_was is None:
            self.lost.append("Framing: the recipe does not say its focal length.")
            return None, None
        wanted = equivalence.equivalent_focal_length_mm(focal_was, scale)
        focal = min(max(wanted, self.kit.lens.shortest_focal_mm), self.kit.lens.longest_focal_mm)
        step = equivalence.FOCAL_LENGTH.worked(wanted, f1=focal_was, k=scale)
        self.rows.append(
            Row("focal length", f"{focal_was:g} mm", f"{focal:.4g} mm", f"exact would be {wanted:.4g} mm", (step,))
        )
        if abs(focal / wanted - 1.0) > 0.02:
            self.lost.append(
                f"Framing: {wanted:.4g} mm is needed from the same place, and this lens has {focal:.4g} mm."
            )
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
        written = f"f/{self.recipe.settings.f_number.text}" if self.recipe.settings.f_number else ""
        self.rows.append(
            Row("f-number", written, f"f/{mark.text}", f"{_stops(residue)} past the exact f/{exact:.3g}", (step,))
        )
        effective = macro.effective_f_number(mark.exact, magnification, lens.pupil_ratio)
        if magnification >= 0.05:
            self._depth_row(scale, magnification, effective_was, effective)
        self._diffraction_row(effective_was, effective)
        if abs(residue) > 1.0 / 3.0:
            self.lost.append(f"Depth: f/{exact:.3g} is needed, and this lens stands at f/{mark.text}.")
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
        self.rows.append(Row("depth", f"{was:.3g} mm", f"{now:.3g} mm", _stops(math.log2(now / was)), (step,)))
        self.rows.append(Row("effective f-number", f"f/{effective_was:.3g}", f"f/{effective:.3g}"))

    def _diffraction_row(self, effective_was: float, effective: float) -> None:
        assert self.recipe.camera is not None
        camera = self.recipe.camera
        pitch_was_um = 1000.0 * camera.sensor_width_mm / camera.width_px
        was, now = diffraction.airy_disc_mm(effective_was), diffraction.airy_disc_mm(effective)
        step = diffraction.AIRY_DISC.worked(now, λ=diffraction.GREEN_LINE_NM, N_eff=effective)
        self.rows.append(
            Row(
                "diffraction disc",
                f"{diffraction.in_pixels(was, pitch_was_um):.1f} pixels",
                f"{diffraction.in_pixels(now, self.kit.camera.pixel_pitch_um):.1f} pixels",
                "",
                (step,),
            )
        )

    def _iso(self) -> float:
        camera = self.kit.camera
        iso = min(max(self.iso_was, camera.lowest_iso), camera.highest_iso)
        self.rows.append(Row("ISO", f"{self.iso_was:.4g}", f"{iso:.4g}", _stops(math.log2(iso / self.iso_was))))
        if iso != self.iso_was:
            self.lost.append(
                f"ISO {self.iso_was:.4g} is outside the range of {camera.name}; {iso:.4g} is the nearest."
            )
        return iso

    def _shutter(self, effective_was: float, effective: float, iso: float) -> float | None:
        shutter, sync = self.recipe.settings.shutter, self.kit.camera.sync_tv
        if shutter is None:
            return None
        stops, yours = shutter.stops, f"{shutter.text} s"
        flashes = any(light.head.kind == "flash" for light in self.recipe.lit)
        if flashes and sync is not None and stops > sync + 1e-6:
            stops, yours = sync, f"{self.kit.camera.sync_mark} s"
            self.lost.append(f"{shutter.text} s is past the sync speed of {self.kit.camera.name}: {yours} instead.")
        self.rows.append(Row("shutter", f"{shutter.text} s", yours, _stops(shutter.stops - stops)))
        ambient = shutter.stops - stops - 2 * math.log2(effective / effective_was) + math.log2(iso / self.iso_was)
        if flashes:
            self.rows.append(
                Row("ambient light in the picture", "as it was", _stops(ambient), "prove it again in the new room")
            )
        return stops

    def _light(self, light: LightPart, effective_was: float, effective: float, iso: float) -> YourLight:
        moved = 2 * math.log2(effective / effective_was) - math.log2(iso / self.iso_was)
        level = None if light.incident_av is None else light.incident_av + moved
        if light.incident_av is not None and level is not None:
            step = LEVEL.worked(level, A1=light.incident_av, N1=effective_was, N2=effective, S1=self.iso_was, S2=iso)
            self.rows.append(
                Row(
                    f"{light.letter} metered at ISO 100",
                    level_words(light.incident_av),
                    level_words(level),
                    _stops(moved),
                    (step,),
                )
            )
        else:
            self.lost.append(
                f"{light.letter} was never metered: its level cannot be told, only its ratio judged by eye."
            )
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
        difference = ""
        steps: tuple[Step, ...] = ()
        if size and angle and distance:
            yours = sources.angular_size_deg(size, distance)
            difference = f"looks {yours:.3g}°, written {angle:.3g}°"
            steps = (sources.ANGULAR_SIZE.worked(yours, s=size, d=distance),)
            if abs(math.log2(yours / angle)) > 0.2:
                self.lost.append(
                    f"Softness of {light.letter}: {other.name} at {self.lengths.text(distance)} {difference}; it would have to "
                    f"stand at {self.lengths.text(sources.distance_for_angular_size_mm(size, angle))}."
                )
        self.rows.append(
            Row(
                f"{light.letter} distance",
                self.lengths.text(light.distance_mm),
                self.lengths.text(distance),
                difference,
                steps,
            )
        )
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
            self.lost.append(
                f"{light.letter}: {other.name} has no meter reading, so its dial cannot be told. Set it so that it "
                f"alone meters {level_words(level)}."
            )
            return None, None
        gained = distance_law.change_with_distance_stops(other.source, from_mm, distance)
        exact = known + wanted - gained
        power = other.head.dial.nearest(exact)
        residue = power - exact
        step = POWER.worked(exact, p1=known, Δ=wanted, g=gained)
        self.rows.append(
            Row(
                f"{light.letter} power",
                light.power_mark,
                other.head.dial.mark(power),
                _stops(residue) + " left by the dial",
                (step,),
            )
        )
        if abs(residue) > other.head.step_stops / 2 + _SHOWN_STOPS:
            self._out_of_range(light, other, distance, residue)
        return power, residue

    def _out_of_range(self, light: LightPart, other: OtherLight, distance: float, residue: float) -> None:
        end, way = ("highest", "too little") if residue < 0 else ("lowest", "too much")
        told = f"{light.letter}: the {end} mark of {other.name} gives {abs(residue):.1f} stops {way}"
        try:
            there = distance_law.distance_for_change_mm(other.source, distance, -residue)
            told += (
                f"; at {self.lengths.text(there)} it would do, and look {'larger' if there < distance else 'smaller'}"
            )
        except ValueError:
            told += "; no distance makes it up"
        self.lost.append(f"{told}.")


def _as_held(written: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    """The other sensor turned as the recipe's camera was: upright or lying."""
    return other if (written[0] >= written[1]) == (other[0] >= other[1]) else (other[1], other[0])


def _size(sensor: tuple[float, float], held: Measure) -> float:
    return {Measure.WIDTH: sensor[0], Measure.HEIGHT: sensor[1]}.get(held, math.hypot(*sensor))


def _field(field_mm: tuple[float, ...], lengths: Lengths) -> str:
    if lengths.inches:
        return lengths.sides(*field_mm)
    return " × ".join(f"{side / 10:.3g}" for side in field_mm) + " cm"


def _field_difference(was: tuple[float, ...], now: tuple[float, ...], lengths: Lengths) -> str:
    told = [
        f"{name} {_shift(new - old, lengths)}"
        for name, old, new in zip(("width", "height"), was, now, strict=True)
        if abs(new / old - 1.0) > 0.005
    ]
    return ", ".join(told) + ": crop to it" if told else ""


def _shift(length_mm: float, lengths: Lengths) -> str:
    return "" if abs(length_mm) < 0.5 else lengths.difference(length_mm)


def _stops(value: float) -> str:
    return f"{value + 0.0:+.2f} stops".replace("-", "−")

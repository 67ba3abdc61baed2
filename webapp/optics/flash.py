"""Flash: energy on the dial, guide numbers, pops, distance, and how long the light lasts.

Power is kept as stops below full: 0 is full, -5 is 1/32. Joules are the stored electrical energy and rank the
settings of one head; two heads of the same energy may differ by a stop and more. Guide number and inverse square
are counted from the flash to the subject, not from the camera, and for a source that is small for its distance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.power_steps import PowerSteps
from webapp.optics.scales import Quantity, stops_of
from webapp.optics.working import Relation, Symbol

MILLIMETRES_PER_METRE: Final = 1000.0
METRES_PER_FOOT: Final = 0.3048

# Half of the last digit that stops are shown with: 1.585 stops are three pops, not four.
_ENOUGH_WITHIN_STOPS: Final = 0.005


def energy_at_j(full_energy_j: float, power_stops: float) -> float:
    """The energy of a flash at a place on its dial, in joules: full 2^power.

    `full_energy_j` is the rated energy, above 0; `power_stops` is 0 at full and negative below. Raises ValueError.
    Source: common-practice.

    >>> energy_at_j(500, -5)
    15.625
    """
    return domain.positive("full energy", full_energy_j, "J") * math.exp2(_power(power_stops))


ENERGY: Final = Relation(
    result="energy of a flash",
    unit="J",
    formula="J = J_full 2^p",
    latex=r"J = J_{\mathrm{full}} \, 2^{p}",
    symbols=(Symbol("J_full", "energy at full power", "J"), Symbol("p", "power, stops below full", "stops")),
    source="common-practice",
    assumptions=(Assumption.FOLLOWS_ENERGY,),
)


def power_from_energy_stops(full_energy_j: float, energy_j: float) -> float:
    """The place on the dial, in stops below full, that gives an energy; the inverse of `energy_at_j`.

    Both are above 0 and in joules. Raises ValueError where `energy_j` is more than the light holds.
    Source: common-practice.

    >>> power_from_energy_stops(1200, 75)
    -4.0
    """
    change = energy_change_stops(full_energy_j, energy_j)
    if change > 0:
        raise ValueError(f"{energy_j:g} J is more than this light holds at full power, {full_energy_j:g} J.")
    return change


def energy_change_stops(from_energy_j: float, to_energy_j: float) -> float:
    """What a change of energy on one head does to its light: log2(J2 / J1). More energy is +.

    Both are above 0. Raises ValueError. Source: common-practice.

    >>> round(energy_change_stops(500, 300), 4)
    -0.737
    """
    domain.positive("energy before", from_energy_j, "J")
    return math.log2(domain.positive("energy after", to_energy_j, "J") / from_energy_j)


ENERGY_CHANGE: Final = Relation(
    result="change by the energy",
    unit="stops",
    formula="Δ = log2(J2 / J1)",
    latex=r"\Delta = \log_2 \frac{J_2}{J_1}",
    symbols=(Symbol("J1", "energy before", "J"), Symbol("J2", "energy after", "J")),
    source="common-practice",
    assumptions=(Assumption.HEADS_DO_NOT_COMPARE,),
)


@dataclass(frozen=True, slots=True)
class EnergyChange:
    """What the dial of a light can do toward a wanted change.

    `residue_stops` is wanted minus reached by one flash at `to_power_stops`. `pops` is the whole number of such
    flashes that gives the wanted energy, 1 where one is enough; `residue_with_pops_stops` is what then
    remains, negative where the pops give more than was wanted.
    """

    energy_j: float
    to_energy_j: float
    to_power_stops: float
    residue_stops: float
    pops: int
    residue_with_pops_stops: float


def change_energy(
    full_energy_j: float,
    power_stops: float,
    change_stops: float,
    *,
    lowest_power_stops: float | None = None,
    step_stops: float | None = None,
) -> EnergyChange:
    """Change the energy of a light by stops, as near as its dial comes.

    `power_stops` is where it stands (0 full, negative below), `change_stops` what is wanted (+ more light).
    `lowest_power_stops` is the bottom of the range (None: no bottom known), `step_stops` the step of the dial,
    counted from full (None: stepless). The nearest place within the range is taken. Above full only more
    flashes help, on a subject that stands still.
    Raises ValueError. Source: common-practice.

    >>> change_energy(400, -1, 3).pops
    4
    """
    standing = _power(power_stops)
    lowest = -domain.MOST_STOPS if lowest_power_stops is None else _power(lowest_power_stops)
    if standing < lowest:
        raise ValueError(f"The light cannot stand at {standing:g} stops: its range ends at {lowest:g}.")
    wanted = domain.stops("wanted power", standing + domain.stops("change", change_stops))
    if step_stops is None:
        reached, half_a_step = min(max(wanted, lowest), 0.0), 0.0
    else:
        reached = PowerSteps(lowest, domain.positive("step of the dial", step_stops, "stops")).nearest(wanted)
        half_a_step = step_stops / 2.0
    residue = wanted - reached
    pops = pops_for(wanted) if wanted > half_a_step else 1
    return EnergyChange(
        energy_j=energy_at_j(full_energy_j, standing),
        to_energy_j=energy_at_j(full_energy_j, reached),
        to_power_stops=reached,
        residue_stops=residue,
        pops=pops,
        residue_with_pops_stops=residue - pops_stops(pops),
    )


def pops_stops(pops: int) -> float:
    """What several equal flashes in one exposure give over a single one: log2 n. 16 pops are 4 stops, not 16.

    `pops` (n) is a whole number, at least 1. The ambient light adds up too, over the whole time. Raises
    ValueError. Source: guide-number.

    >>> pops_stops(16)
    4.0
    """
    if pops < 1:
        raise ValueError(f"A flash fires at least once, not {pops} times.")
    return math.log2(pops)


POPS: Final = Relation(
    result="gain by pops",
    unit="stops",
    formula="Δ = log2 n",
    latex=r"\Delta = \log_2 n",
    symbols=(Symbol("n", "number of flashes"),),
    source="guide-number",
    assumptions=(Assumption.EQUAL_FLASHES,),
)


def pops_for(gain_stops: float) -> int:
    """The smallest whole number of equal flashes that gives a gain (to 0.005 stop): 2^gain, rounded up.

    `gain_stops` is 0 or more. Raises ValueError where it is negative: pops only add. Source: guide-number.

    >>> pops_for(2.5)
    6
    """
    if domain.stops("gain", gain_stops) < 0:
        raise ValueError(f"More flashes only add light; {gain_stops:g} stops is a loss.")
    return max(1, math.ceil(math.exp2(gain_stops - _ENOUGH_WITHIN_STOPS)))


def distance_change_stops(from_distance_mm: float, to_distance_mm: float) -> float:
    """What moving a small light does: -2 log2(d2 / d1). Farther is negative.

    Both distances run from the light to the subject. Within about five times the width of a source the inverse
    square overstates the change. Raises ValueError. Source: inverse-square.

    >>> distance_change_stops(1000, 2000)
    -2.0
    """
    domain.positive("distance before", from_distance_mm, "mm")
    return -2.0 * math.log2(domain.positive("distance after", to_distance_mm, "mm") / from_distance_mm)


DISTANCE_CHANGE: Final = Relation(
    result="change by the distance of the light",
    unit="stops",
    formula="Δ = −2 log2(d2 / d1)",
    latex=r"\Delta = -2 \log_2 \frac{d_2}{d_1}",
    symbols=(Symbol("d1", "distance before", "mm"), Symbol("d2", "distance after", "mm")),
    source="inverse-square",
    assumptions=(Assumption.LIGHT_SMALL,),
)


def guide_number_at(guide_number_m: float, iso: float = 100.0, power_stops: float = 0.0, pops: int = 1) -> float:
    """A guide number at another ISO, power or number of pops: GN 2^(s / 2), s the stops gained.

    `guide_number_m` is in metres, at ISO 100 and full power; `power_stops` is 0 or negative. In metres. Raises
    ValueError. Source: guide-number.

    >>> guide_number_at(32, iso=400)
    64.0
    """
    domain.positive("guide number", guide_number_m, "m")
    gained = stops_of(Quantity.ISO, domain.positive("ISO", iso)) + _power(power_stops) + pops_stops(pops)
    return guide_number_m * math.exp2(gained / 2.0)


GUIDE_NUMBER_AT: Final = Relation(
    result="guide number at this setting",
    unit="m",
    formula="GN_set = GN sqrt(S / 100) sqrt(2^p)",
    latex=r"GN_{\mathrm{set}} = GN \sqrt{\frac{S}{100}} \sqrt{2^{p}}",
    symbols=(
        Symbol("GN", "guide number at ISO 100 and full power", "m"),
        Symbol("S", "ISO"),
        Symbol("p", "power, stops below full", "stops"),
    ),
    source="guide-number",
)


_GUIDE_NUMBER_ASSUMPTIONS: Final = (
    Assumption.FLASH_SMALL,
    Assumption.NO_WALLS,
)


def flash_f_number(guide_number_m: float, distance_mm: float, iso: float = 100.0, power_stops: float = 0.0) -> float:
    """The f-number for a flash at a distance: N = GN / d.

    `guide_number_m` is in metres, at ISO 100 and full power; `distance_mm` (d) runs from the flash to the
    subject. The f-number is the effective one. Raises ValueError. Source: guide-number.

    >>> flash_f_number(40, 2500)
    16.0
    """
    distance_m = domain.positive("distance of the flash", distance_mm, "mm") / MILLIMETRES_PER_METRE
    return guide_number_at(guide_number_m, iso, power_stops) / distance_m


FLASH_F_NUMBER: Final = Relation(
    result="f-number for the flash",
    unit="",
    formula="N = GN_set / d",
    latex=r"N = \frac{GN_{\mathrm{set}}}{d}",
    symbols=(
        Symbol("GN_set", "guide number at this setting", "m"),
        Symbol("d", "distance from the flash to the subject", "m"),
    ),
    source="guide-number",
    assumptions=_GUIDE_NUMBER_ASSUMPTIONS,
)


def flash_distance_mm(guide_number_m: float, f_number: float, iso: float = 100.0, power_stops: float = 0.0) -> float:
    """The distance of a flash for an f-number: d = GN / N, in mm; see `flash_f_number`. Raises ValueError.

    Source: guide-number.

    >>> flash_distance_mm(45, 9)
    5000.0
    """
    at_this_setting = guide_number_at(guide_number_m, iso, power_stops)
    return at_this_setting / domain.positive("f-number", f_number) * MILLIMETRES_PER_METRE


FLASH_DISTANCE: Final = Relation(
    result="distance for the flash",
    unit="m",
    formula="d = GN_set / N",
    latex=r"d = \frac{GN_{\mathrm{set}}}{N}",
    symbols=(Symbol("GN_set", "guide number at this setting", "m"), Symbol("N", "f-number")),
    source="guide-number",
    assumptions=_GUIDE_NUMBER_ASSUMPTIONS,
)


def guide_number_from_m(f_number: float, distance_mm: float, iso: float = 100.0, power_stops: float = 0.0) -> float:
    """The guide number, at ISO 100 and full power, of a flash that suited an f-number at a distance: GN = N d.

    In metres; `iso` and `power_stops` are those it was found at. Raises ValueError. Source: guide-number.

    >>> guide_number_from_m(16, 2500)
    40.0
    """
    distance_m = domain.positive("distance of the flash", distance_mm, "mm") / MILLIMETRES_PER_METRE
    return domain.positive("f-number", f_number) * distance_m / guide_number_at(1.0, iso, power_stops)


GUIDE_NUMBER: Final = Relation(
    result="guide number",
    unit="m",
    formula="GN = N d",
    latex=r"GN = N d",
    symbols=(Symbol("N", "f-number"), Symbol("d", "distance from the flash to the subject", "m")),
    source="guide-number",
    assumptions=_GUIDE_NUMBER_ASSUMPTIONS,
)


def combined_guide_number(guide_numbers: Sequence[float]) -> float:
    """The guide number of several flashes at the same place: the root of the sum of squares.

    At least one, each above 0, in one unit. Raises ValueError. Source: guide-number.

    >>> combined_guide_number([30, 40])
    50.0
    """
    if not guide_numbers:
        raise ValueError("There is no flash to combine: give at least one guide number.")
    return math.hypot(*(domain.positive("guide number", number) for number in guide_numbers))


def guide_number_ft(guide_number_m: float) -> float:
    """A guide number in feet, from metres. Raises ValueError. Source: definition.

    >>> round(guide_number_ft(37), 2)
    121.39
    """
    return domain.positive("guide number", guide_number_m, "m") / METRES_PER_FOOT


class Pulse(StrEnum):
    """How a flash ends: dying away by itself, or cut off electronically."""

    EXPONENTIAL = "exponential"
    CUT = "cut"


TENTH_OVER_HALF: Final = {Pulse.EXPONENTIAL: math.log2(10.0), Pulse.CUT: 1.0}
"""t0.1 over t0.5: an exponential needs log2(10) half-lives to fall to a tenth, a square pulse falls at once. "Three
times", as the trade says, is a rule of thumb between them. Source: flash-duration."""


def tenth_duration_s(t_half_s: float, pulse: Pulse = Pulse.EXPONENTIAL) -> float:
    """t0.1, the time above a tenth of the peak, from t0.5, the time above half of it.

    `t_half_s` is above 0. Raises ValueError. Source: flash-duration.

    >>> round(tenth_duration_s(1 / 1000) * 1000, 4)
    3.3219
    """
    return domain.positive("flash duration t0.5", t_half_s, "s") * TENTH_OVER_HALF[pulse]


TENTH_DURATION: Final = Relation(
    result="flash duration t0.1",
    unit="s",
    formula="t0.1 = t_half r",
    latex=r"t_{0.1} = t_{\mathrm{half}} \, r",
    symbols=(
        Symbol("t_half", "flash duration t0.5, above half of the peak", "s"),
        Symbol("r", "3.3219 for an exponential pulse, 1 for a cut one"),
    ),
    source="flash-duration",
)


def half_duration_s(t_tenth_s: float, pulse: Pulse = Pulse.EXPONENTIAL) -> float:
    """t0.5 from t0.1; the inverse of `tenth_duration_s`. Raises ValueError. Source: flash-duration.

    >>> half_duration_s(1 / 1000, Pulse.CUT)
    0.001
    """
    return domain.positive("flash duration t0.1", t_tenth_s, "s") / TENTH_OVER_HALF[pulse]


def cut_pulse_stops(cut_s: float, t_half_s: float) -> float:
    """What is left of an exponential pulse that ends early, by the shutter or a cut: log2(1 - 2^(-t / t0.5)).

    `cut_s` (t) is the time from the peak to the cut, `t_half_s` the pulse's t0.5. Negative. Raises ValueError.
    Source: flash-duration.

    >>> round(cut_pulse_stops(2, 1), 4)
    -0.415
    """
    domain.positive("time to the cut", cut_s, "s")
    half_lives = cut_s / domain.positive("flash duration t0.5", t_half_s, "s")
    return math.log2(-math.expm1(-half_lives * math.log(2.0)))


def motion_blur_mm(magnification: float, speed_m_s: float, duration_s: float) -> float:
    """How far the image of a moving subject travels on the sensor while the light lasts: m v t, in mm.

    `magnification` (m) and `speed_m_s` (v, across the view) are 0 or more; `duration_s` (t) is above 0: t0.1 of
    the flash, or the exposure time under continuous light. Raises ValueError. Source: motion-blur.

    >>> motion_blur_mm(1, 1, 1 / 2000)
    0.5
    """
    domain.not_negative("magnification", magnification)
    speed_mm_s = domain.not_negative("speed", speed_m_s, "m/s") * MILLIMETRES_PER_METRE
    return magnification * speed_mm_s * domain.positive("duration", duration_s, "s")


MOTION_BLUR: Final = Relation(
    result="motion blur on the sensor",
    unit="mm",
    formula="blur = 1000 m v t",
    latex=r"1000 \, m v t",
    symbols=(
        Symbol("m", "magnification"),
        Symbol("v", "speed across the view", "m/s"),
        Symbol("t", "how long the light lasts", "s"),
    ),
    source="motion-blur",
)


def recycle_at_power_s(full_recycle_s: float, power_stops: float) -> float:
    """An estimate of the recycle time below full power: in proportion to the energy, full 2^power.

    It holds for a charger of constant power; many need longer at low power than this says. `full_recycle_s` is
    0 or more, `power_stops` 0 or negative. Raises ValueError. Source: common-practice.

    >>> recycle_at_power_s(2, -1)
    1.0
    """
    return domain.not_negative("recycle time", full_recycle_s, "s") * math.exp2(_power(power_stops))


def series_duration_s(flashes: int, recycle_s: float) -> float:
    """How long a series takes from its first flash to its last: (n - 1) recycle times, for n flashes.

    `flashes` (n) is at least 1: a frame of several pops counts them all. `recycle_s` is 0 or more. Raises
    ValueError. Source: definition.

    >>> series_duration_s(12, 4)
    44.0
    """
    if flashes < 1:
        raise ValueError(f"A series has at least one flash, not {flashes}.")
    return (flashes - 1) * float(domain.not_negative("recycle time", recycle_s, "s"))


SERIES_DURATION: Final = Relation(
    result="duration of the series",
    unit="s",
    formula="t = (n − 1) r",
    latex=r"t = (n - 1) \, r",
    symbols=(Symbol("n", "number of flashes"), Symbol("r", "recycle time", "s")),
    source="definition",
)


def _power(power_stops: float) -> float:
    if not -domain.MOST_STOPS <= power_stops <= 0.0:
        raise ValueError(
            f"Power is told in stops below full: 0 is full and -5 is 1/32, so {power_stops:g} is not on a dial."
        )
    return power_stops

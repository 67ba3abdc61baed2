"""Colour of light: mired shifts of gels and filters, and what becomes of a mix of colour temperatures.

A gel moves the light by about the same number of mired (10^6/K) whatever light it stands before, and by very
different numbers of kelvin. A mix of two temperatures is neither the mean in kelvin nor quite the mean in mired,
and it lies off the Planckian locus, on the chord between its lights: so it is summed as light (tristimulus
values), and the nearest point of the locus in the CIE 1960 (u, v) diagram names it.

The locus is Planck's law summed with the CIE 1931 colour-matching functions. Sources: cie-15 (correlated colour
temperature, nearest point in u, v), cie-018 (colour-matching functions), ansi-c78-377 (sign of Duv), planck.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.optics.arrays import Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol

LOWEST_KELVIN: Final = 1000.0
HIGHEST_KELVIN: Final = 25_000.0
# A correlated colour temperature is not used farther from the locus than this (cie-15).
LARGEST_DUV: Final = 0.05
# The second radiation constant hc/k in nm·K, from the exact constants of the SI (planck).
_SECOND_RADIATION_NM_K: Final = 1.438_776_877e7

MIRED: Final = Relation(
    result="mired",
    unit="mired",
    formula="M = 10^6 / T",
    latex=r"M = \frac{10^6}{T}",
    symbols=(Symbol("T", "colour temperature", "K"),),
    source="definition",
)
MIRED_SHIFT: Final = Relation(
    result="mired shift",
    unit="mired",
    formula="ΔM = 10^6/T_2 − 10^6/T_1",
    latex=r"\Delta M = \frac{10^6}{T_2} - \frac{10^6}{T_1}",
    symbols=(
        Symbol("T_1", "colour temperature before", "K"),
        Symbol("T_2", "colour temperature after", "K"),
    ),
    source="definition",
    assumptions=(Assumption.PLUS_IS_WARMER,),
)
KELVIN_AFTER_SHIFT: Final = Relation(
    result="colour temperature after the filter",
    unit="K",
    formula="T_2 = 10^6 / (10^6/T_1 + ΔM)",
    latex=r"T_2 = \frac{10^6}{10^6 / T_1 + \Delta M}",
    symbols=(
        Symbol("T_1", "colour temperature before", "K"),
        Symbol("ΔM", "mired shift of the filter", "mired"),
    ),
    source="definition",
    assumptions=(Assumption.NEAR_LOCUS,),
)
COLOUR_MIX: Final = Relation(
    result="correlated colour temperature of the mix",
    unit="K",
    formula="(X, Y, Z) = Σ s_i (x_i/y_i, 1, z_i/y_i); the point of the Planckian locus nearest in (u, v)",
    latex=r"(X, Y, Z) = \sum_i s_i \left( \frac{x_i}{y_i}, 1, \frac{z_i}{y_i} \right), \quad"
    r" u = \frac{4X}{X + 15Y + 3Z}, \quad v = \frac{6Y}{X + 15Y + 3Z}",
    symbols=(
        Symbol("u", "chromaticity u of the mix (CIE 1960)"),
        Symbol("v", "chromaticity v of the mix (CIE 1960)"),
    ),
    source="cie-15",
    assumptions=(Assumption.ON_LOCUS, Assumption.SHARES_OF_LUMINANCE),
)
DUV: Final = Relation(
    result="distance of the mix from the Planckian locus, + above it",
    unit="",
    formula="Duv = ±√((u − u_0)² + (v − v_0)²)",
    latex=r"D_{uv} = \pm \sqrt{(u - u_0)^2 + (v - v_0)^2}",
    symbols=(
        Symbol("u", "chromaticity u of the mix (CIE 1960)"),
        Symbol("v", "chromaticity v of the mix (CIE 1960)"),
        Symbol("u_0", "u of the nearest point of the locus"),
        Symbol("v_0", "v of the nearest point of the locus"),
    ),
    source="ansi-c78-377",
)


def mired(kelvin: float) -> float:
    """The reciprocal colour temperature M = 10^6/T, in which equal steps look about equal.

    Raises ValueError outside 1000 to 25 000 K. Source: definition.

    >>> round(mired(3200.0), 2)
    312.5
    """
    return 1e6 / _require_kelvin(kelvin)


def mired_shift(from_kelvin: float, to_kelvin: float) -> float:
    """The shift that turns one colour temperature into another: 10^6/T2 − 10^6/T1; + is warmer.

    Raises ValueError outside 1000 to 25 000 K. Source: definition.

    >>> round(mired_shift(5500.0, 3200.0))
    131
    """
    return mired(to_kelvin) - mired(from_kelvin)


def kelvin_after_shift(from_kelvin: float, shift_mired: float) -> float:
    """The colour temperature behind a gel or filter of this shift: T2 = 10^6/(10^6/T1 + ΔM); + is warmer.

    Raises ValueError outside 1000 to 25 000 K, before or after; a shift may also lead beyond the bluest light
    there is, where no temperature, however high, would do. Source: definition.

    >>> round(kelvin_after_shift(5500.0, 159.0))
    2934
    """
    before = mired(from_kelvin)
    after = before + shift_mired
    if not after > 0.0:
        raise ValueError(
            f"A shift of {shift_mired:+g} mired takes {from_kelvin:g} K ({before:.1f} mired) past an infinite "
            "colour temperature; a bluer filter than that has no effect that kelvin can name."
        )
    kelvin = 1e6 / after
    if not LOWEST_KELVIN <= kelvin <= HIGHEST_KELVIN:
        raise ValueError(
            f"A shift of {shift_mired:+g} mired takes {from_kelvin:g} K to {kelvin:.0f} K; "
            "colour temperatures are worked with from 1000 K to 25 000 K."
        )
    return kelvin


def _require_kelvin(kelvin: float) -> float:
    if not LOWEST_KELVIN <= kelvin <= HIGHEST_KELVIN:
        raise ValueError(
            f"A colour temperature of {kelvin:g} K is out of range; it lies between 1000 K and 25 000 K."
        )
    return kelvin


@dataclass(frozen=True, slots=True)
class Chromaticity:
    """A place in the CIE 1960 (u, v) diagram."""

    u: float
    v: float


@dataclass(frozen=True, slots=True)
class Correlated:
    """The point of the Planckian locus nearest to a chromaticity, and the distance: `duv` is + above the locus."""

    kelvin: float
    duv: float
    on_locus: Chromaticity


@dataclass(frozen=True, slots=True)
class ColourMix:
    """The light of several colour temperatures together."""

    chromaticity: Chromaticity
    correlated: Correlated


def planckian(kelvin: float) -> Chromaticity:
    """Where a black body of this temperature lies: Planck's law summed with the colour-matching functions.

    Raises ValueError outside 1000 to 25 000 K. Source: planck; cie-018.

    >>> (round(planckian(2855.5).u, 3), round(planckian(2855.5).v, 4))  # standard illuminant A
    (0.256, 0.3495)
    """
    x, y, z = (float(value) for value in _black_body_xyz(np.array([1e6 / _require_kelvin(kelvin)]))[0])
    return _uv(x, y, z)


def _black_body_xyz(mireds: Floats) -> Floats:
    # Its tables are arrays.
    from webapp.optics.observer import COLOUR_MATCHING, WAVELENGTHS_NM

    exponent = _SECOND_RADIATION_NM_K * mireds[:, np.newaxis] / (1e6 * WAVELENGTHS_NM)
    xyz: Floats = (1.0 / (WAVELENGTHS_NM**5 * np.expm1(exponent))) @ COLOUR_MATCHING
    return xyz


def _uv(x: float, y: float, z: float) -> Chromaticity:
    below = x + 15.0 * y + 3.0 * z
    return Chromaticity(4.0 * x / below, 6.0 * y / below)


def correlated(chromaticity: Chromaticity) -> Correlated:
    """The correlated colour temperature and Duv of a chromaticity: the nearest point of the locus in (u, v).

    Within 1 K of steps of one nanometre up to 15 000 K. Raises ValueError for a chromaticity farther than 0.05
    from the locus, where no colour temperature describes the light, and for one whose nearest point lies
    outside 1000 to 25 000 K. Source: cie-15; ansi-c78-377.

    >>> round(correlated(planckian(3200.0)).kelvin)
    3200
    """
    coolest, warmest = 1e6 / HIGHEST_KELVIN, 1e6 / LOWEST_KELVIN
    low, high = coolest - _BEYOND_MIRED, warmest + _BEYOND_MIRED
    # The distance has one valley within the reach allowed: a row of points finds it, ever finer rows its floor.
    for _ in range(_ROWS):
        mireds = np.linspace(low, high, _POINTS_PER_ROW)
        xyz = _black_body_xyz(mireds)
        below = xyz @ np.array([1.0, 15.0, 3.0])
        away = np.hypot(4.0 * xyz[:, 0] / below - chromaticity.u, 6.0 * xyz[:, 1] / below - chromaticity.v)
        nearest = int(np.argmin(away))
        low, high = mireds[max(nearest - 1, 0)], mireds[min(nearest + 1, _POINTS_PER_ROW - 1)]
    found_mired = float(mireds[nearest])
    if not coolest - _AT_THE_END_MIRED <= found_mired <= warmest + _AT_THE_END_MIRED:
        raise ValueError("This light is redder than 1000 K or bluer than 25 000 K, beyond what is worked with here.")
    kelvin = 1e6 / min(max(found_mired, coolest), warmest)
    on_locus = planckian(kelvin)
    distance = math.hypot(chromaticity.u - on_locus.u, chromaticity.v - on_locus.v)
    if not distance <= LARGEST_DUV:
        raise ValueError(
            f"This light lies {distance:.3f} from the Planckian locus; farther than 0.05 it is a colour, and no "
            "colour temperature describes it."
        )
    return Correlated(kelvin, math.copysign(distance, chromaticity.v - on_locus.v), on_locus)


_ROWS: Final = 8
_POINTS_PER_ROW: Final = 65
# The search looks this far past both ends, so that a light beyond them is told from one at the end.
_BEYOND_MIRED: Final = 10.0
_AT_THE_END_MIRED: Final = 1e-3


def mix(kelvins: Sequence[float], shares: Sequence[float]) -> ColourMix:
    """The colour of several lights on one place, each of a colour temperature and with its share of the luminance.

    Tristimulus values are summed in proportion to the shares, (X, Y, Z) = Σ s (x/y, 1, z/y); the shares need not
    sum to 1. Each light is taken to lie on the Planckian locus.
    Raises ValueError where the lists differ in length or are empty, for a negative share or none above 0, and
    for temperatures outside 1000 to 25 000 K. Source: cie-15.

    >>> round(mix([2900.0, 6500.0], [0.5, 0.5]).correlated.duv, 4)
    -0.0052
    """
    if not kelvins or len(kelvins) != len(shares):
        raise ValueError(
            f"{len(kelvins)} colour temperatures and {len(shares)} shares do not pair up; give one share for each."
        )
    if not all(0.0 <= share < math.inf for share in shares) or not sum(shares) > 0.0:
        raise ValueError("A share of the light is 0 or more, and at least one has to be above 0.")
    whole = math.fsum(shares)
    xyz = _black_body_xyz(np.array([mired(kelvin) for kelvin in kelvins]))
    at_equal_luminance = xyz / xyz[:, 1:2]
    x, y, z = (float(value) for value in (np.asarray(shares) / whole) @ at_equal_luminance)
    chromaticity = _uv(x, y, z)
    return ColourMix(chromaticity, correlated(chromaticity))

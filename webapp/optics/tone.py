"""From the codes of a rendered picture to linear light and back (IEC 61966-2-1), and what a code is worth in stops."""

from __future__ import annotations

import math
from typing import Final

from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol

FIRST_LEVEL: Final = 1
LAST_LEVEL: Final = 254
"""The 8-bit levels that have a place in stops: 0 is black of any depth, 255 is clipped at an unknown height."""

# The straight toe of the curve, as printed; the encoded threshold is the one that makes both pieces meet.
SRGB_TOE_SLOPE: Final = 12.92
SRGB_TOE_ENCODED: Final = 0.04045
SRGB_OFFSET: Final = 0.055
SRGB_EXPONENT: Final = 2.4


def linear_from_srgb(encoded: float) -> float:
    """Linear light, 0 to 1, from an sRGB value, 0 to 1: V / 12.92 up to 0.04045, else ((V + 0.055) / 1.055)^2.4.

    Valid for tone that no picture style has bent. Raises ValueError outside 0 to 1. Source: iec-61966-2-1.

    >>> round(linear_from_srgb(118 / 255), 6)
    0.181164
    """
    if not 0.0 <= encoded <= 1.0:
        raise ValueError(f"An sRGB value lies between 0 and 1, not at {encoded:g}.")
    if encoded <= SRGB_TOE_ENCODED:
        return encoded / SRGB_TOE_SLOPE
    return float(((encoded + SRGB_OFFSET) / (1.0 + SRGB_OFFSET)) ** SRGB_EXPONENT)


SRGB: Final = Relation(
    result="linear light",
    unit="",
    formula="L = V / 12.92 if V ≤ 0.04045, else ((V + 0.055) / 1.055)^2.4",
    latex=r"L = \left( \frac{V + 0.055}{1.055} \right)^{2.4}",
    symbols=(Symbol("V", "level over 255"),),
    source="iec-61966-2-1",
    assumptions=(Assumption.NO_PICTURE_STYLE,),
)


def srgb_from_linear(linear: float) -> float:
    """The sRGB value, 0 to 1, of linear light, 0 to 1; the inverse of `linear_from_srgb`.

    Raises ValueError outside 0 to 1. Source: iec-61966-2-1.

    >>> round(255 * srgb_from_linear(0.18), 3)
    117.646
    """
    if not 0.0 <= linear <= 1.0:
        raise ValueError(f"Linear light lies between 0 and 1, not at {linear:g}.")
    if linear <= SRGB_TOE_ENCODED / SRGB_TOE_SLOPE:
        return linear * SRGB_TOE_SLOPE
    return float((1.0 + SRGB_OFFSET) * linear ** (1.0 / SRGB_EXPONENT) - SRGB_OFFSET)


def level_difference_stops(from_level: float, to_level: float) -> float:
    """The difference of two 8-bit sRGB levels in stops, "to" minus "from": log2 of the ratio of their light.

    Both are between 1 and 254 (a mean of several pixels may lie between whole levels, if the mean was taken on
    linear light). Raises ValueError for 0, which has no place in stops, and 255, which is clipped.
    Source: iec-61966-2-1.

    >>> round(level_difference_stops(100, 200), 4)
    2.1802
    """
    return math.log2(_light_of_level(to_level) / _light_of_level(from_level))


LEVEL_DIFFERENCE: Final = Relation(
    result="difference of the levels",
    unit="stops",
    formula="Δ = log2(L2 / L1)",
    latex=r"\Delta = \log_2 \frac{L_2}{L_1}",
    symbols=(Symbol("L1", "linear light before"), Symbol("L2", "linear light after")),
    source="iec-61966-2-1",
    assumptions=(Assumption.NO_PICTURE_STYLE,),
)


def quantisation_stops(level: float) -> float:
    """How far half a code up or down reaches at an 8-bit sRGB level, in stops, as a ± figure.

    Half of log2(light(v + 1/2) / light(v - 1/2)). `level` is between 1 and 254. Raises ValueError.
    Source: iec-61966-2-1.

    >>> round(quantisation_stops(118), 3)
    0.013
    """
    _light_of_level(level)
    above = linear_from_srgb((level + 0.5) / 255.0)
    below = linear_from_srgb((level - 0.5) / 255.0)
    return math.log2(above / below) / 2.0


QUANTISATION: Final = Relation(
    result="uncertainty of a level",
    unit="stops",
    formula="± log2(L_above / L_below) / 2",
    latex=r"\pm \frac{1}{2} \log_2 \frac{L_{\mathrm{above}}}{L_{\mathrm{below}}}",
    symbols=(
        Symbol("L_above", "linear light half a code above"),
        Symbol("L_below", "linear light half a code below"),
    ),
    source="iec-61966-2-1",
)


def _light_of_level(level: float) -> float:
    if not FIRST_LEVEL <= level <= LAST_LEVEL:
        raise ValueError(
            f"Level {level:g} has no place in stops: 0 is black of any depth and 255 is clipped; "
            f"give a level between {FIRST_LEVEL} and {LAST_LEVEL}."
        )
    return linear_from_srgb(level / 255.0)

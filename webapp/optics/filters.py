"""Filters: what they take away, under the three names of the trade, and polarisers.

Every function speaks of the *loss* in stops, positive for light taken away. One filter has three names:

    density D          T = 10^−D           "0.9", "ND 0.9"
    factor F           T = 1/F             "ND8", "8x"
    stops              T = 2^−n            "3 stops"

The first two agree only nearly: density 0.9 is 2.990 stops, factor 8 is exactly 3, and factor 1000 is 9.966
where its label is sold as ten.

Sources: iso-5 (density), malus (polarisers); how labels are read is common practice.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol

# A welder's glass loses about twenty stops; a label that says more than forty is a slip of the finger.
DARKEST_LABEL_STOPS: Final = 40.0
_STOPS_PER_DENSITY: Final = math.log2(10.0)

_STOPS = Symbol("n", "loss", "stops")

STOPS_FROM_DENSITY: Final = Relation(
    result="loss",
    unit="stops",
    formula="n = D / log10(2)",
    latex=r"n = \frac{D}{\log_{10} 2}",
    symbols=(Symbol("D", "density"),),
    source="iso-5",
)
STOPS_FROM_FACTOR: Final = Relation(
    result="loss",
    unit="stops",
    formula="n = log2(F)",
    latex=r"n = \log_2 F",
    symbols=(Symbol("F", "filter factor"),),
    source="definition",
)
DENSITY_FROM_STOPS: Final = Relation(
    result="density",
    unit="",
    formula="D = n log10(2)",
    latex=r"D = n \log_{10} 2",
    symbols=(_STOPS,),
    source="iso-5",
)
FACTOR_FROM_STOPS: Final = Relation(
    result="filter factor",
    unit="",
    formula="F = 2^n",
    latex=r"F = 2^n",
    symbols=(_STOPS,),
    source="definition",
)
TRANSMISSION: Final = Relation(
    result="transmission",
    unit="",
    formula="T = 2^(−n)",
    latex=r"T = 2^{-n}",
    symbols=(_STOPS,),
    source="definition",
)
CROSSED_PAIR: Final = Relation(
    result="loss beyond parallel axes",
    unit="stops",
    formula="n = −2 log2(cos θ)",
    latex=r"n = -2 \log_2 \cos \theta",
    symbols=(Symbol("θ", "angle between the axes of the polarisers", "°"),),
    source="malus",
    assumptions=(Assumption.PERFECT_POLARISERS,),
)


def stops_from_density(density: float) -> float:
    """The loss of a filter of this density: n = D/log10(2), 3.3219 stops for each whole density.

    Raises ValueError below 0 and beyond 200 stops. Source: iso-5.

    >>> round(stops_from_density(0.9), 4)
    2.9897
    """
    return _loss(density * _STOPS_PER_DENSITY, f"a density of {density:g}")


def stops_from_factor(factor: float) -> float:
    """The loss of a filter of this factor: n = log2(F); the factor multiplies the exposure that is needed.

    Raises ValueError below 1 and beyond 200 stops. Source: definition.

    >>> stops_from_factor(64.0)
    6.0
    """
    if not factor >= 1.0:
        raise ValueError(f"A filter factor of {factor:g} would add light; a factor is 1 or more.")
    return _loss(math.log2(factor), f"a filter factor of {factor:g}")


def stops_from_transmission(transmission: float) -> float:
    """The loss of a layer that passes this part of the light: n = −log2(T).

    Raises ValueError outside 0 (excluded) to 1, and beyond 200 stops. Source: definition.

    >>> round(stops_from_transmission(0.35), 3)
    1.515
    """
    if not 0.0 < transmission <= 1.0:
        raise ValueError(f"A transmission of {transmission:g} is none; it lies above 0 and is 1 at most.")
    return _loss(math.log2(1.0 / transmission), f"a transmission of {transmission:g}")


def density_from_stops(loss_stops: float) -> float:
    """The density of a filter with this loss: D = n log10(2). Raises ValueError as `stops_from_density`.

    Source: iso-5.

    >>> round(density_from_stops(10.0), 4)
    3.0103
    """
    return _loss(loss_stops) / _STOPS_PER_DENSITY


def factor_from_stops(loss_stops: float) -> float:
    """The factor of a filter with this loss: F = 2^n. Raises ValueError as `stops_from_density`.

    Source: definition.

    >>> factor_from_stops(10.0)
    1024.0
    """
    return math.exp2(_loss(loss_stops))


def transmission_from_stops(loss_stops: float) -> float:
    """The part of the light that a filter with this loss passes: T = 2^−n. Raises ValueError as
    `stops_from_density`. Source: definition.

    >>> transmission_from_stops(3.0)
    0.125
    """
    return math.exp2(-_loss(loss_stops))


def stacked_stops(losses_stops: Iterable[float]) -> float:
    """The loss of filters or diffusers one behind the other: their sum. Raises ValueError as
    `stops_from_density`. Source: definition.

    >>> round(stacked_stops([stops_from_transmission(0.7), stops_from_transmission(0.7)]), 3)
    1.029
    """
    return _loss(math.fsum(_loss(loss) for loss in losses_stops), "the stack")


def crossed_pair_stops(crossed_deg: float) -> float:
    """What a pair of polarisers loses beyond parallel axes when they are crossed: n = −2 log2(cos θ).

    The loss of each filter itself (a stop for a perfect one in unpolarised light, up to two in practice) comes on
    top. At 90 degrees a perfect pair passes nothing: the result is infinite.
    Raises ValueError outside 0 to 90 degrees. Source: malus.

    >>> round(crossed_pair_stops(60.0), 6)
    2.0
    """
    if not 0.0 <= crossed_deg <= 90.0:
        raise ValueError(f"Two polarisers cannot be crossed by {crossed_deg:g}°; give 0° (parallel) to 90°.")
    if crossed_deg == 90.0:
        return math.inf
    return 2.0 * math.log2(1.0 / math.cos(math.radians(crossed_deg)))


def _loss(loss_stops: float, what: str = "a filter") -> float:
    if not 0.0 <= loss_stops <= domain.MOST_STOPS:
        raise ValueError(
            f"{what.capitalize()} with a loss of {loss_stops:g} stops is no filter; a loss is positive, and "
            f"{domain.MOST_STOPS:g} stops at most."
        )
    return loss_stops


_NUMBER = r"(\d+(?:\.\d+)?|\.\d+)"
_AS_STOPS = re.compile(rf"(?:{_NUMBER}|(?:(\d+)\s+)?(\d)\s*/\s*(\d))\s*-?\s*stops?", re.ASCII)
_AS_DENSITY = re.compile(rf"(?:density|od|d)\s*:?\s*{_NUMBER}", re.ASCII)
_AS_FACTOR = re.compile(rf"(?:filter\s+)?factor\s*{_NUMBER}|(?:nd\s*)?x\s*{_NUMBER}|{_NUMBER}\s*x", re.ASCII)
_AS_LABEL = re.compile(rf"(?:(nd)[\s-]*)?{_NUMBER}", re.ASCII)
_HOW = "write the density with its point (ND 0.9), the factor as a whole number (ND8), or the stops (3 stops)"
_LONGEST_TEXT: Final = 30
# Printed densities end here; a larger number with a point is no density.
_LARGEST_PRINTED_DENSITY: Final = 6.0
# Up to here a whole number may be meant as a count of stops; factors sold below it are powers of two.
_LARGEST_COUNT_OF_STOPS: Final = 20


def read_neutral_density(text: str) -> float:
    """The loss in stops of a neutral density filter, from its label as typed.

    A number with a point is a density ("ND 0.9", "0.9", "ND 2.0": 6.64 stops); a whole number after ND is a factor
    ("ND8", "ND 400", "ND2": 1 stop); and "3 stops", "2/3 stop", "density 0.9", "8x" say it themselves. A comma
    is read as the point. Raises ValueError, with a sentence, for what two readers would take for two filters: a
    bare whole number, and ND1, ND3, ND10 and the like, which are sold as densities, factors and counts of stops.
    Source: common-practice; iso-5.

    >>> read_neutral_density("ND8")
    3.0
    """
    typed = " ".join(text.split()).lower().replace(",", ".")
    if not typed or len(typed) > _LONGEST_TEXT:
        raise ValueError(f"The filter is {'missing' if not typed else 'too long'}: {_HOW}.")
    loss_stops = _stops_of_text(typed, text.strip())
    if loss_stops > DARKEST_LABEL_STOPS:
        raise ValueError(f"“{text.strip()}” is darker than any filter, which is forty stops at most: {_HOW}.")
    return loss_stops


def _stops_of_text(typed: str, text: str) -> float:
    if match := _AS_STOPS.fullmatch(typed):
        return _loss(_stops_of(*match.groups()))
    if match := _AS_DENSITY.fullmatch(typed):
        return stops_from_density(float(match.group(1)))
    if match := _AS_FACTOR.fullmatch(typed):
        return stops_from_factor(float(next(group for group in match.groups() if group)))
    if match := _AS_LABEL.fullmatch(typed):
        return _stops_of_label(has_nd=match.group(1) is not None, number=match.group(2), text=text)
    raise ValueError(f"“{text}” is no neutral density filter: {_HOW}.")


def _stops_of(number: str | None, whole: str | None, above: str | None, below: str | None) -> float:
    if number is not None:
        return float(number)
    if above is None or below is None or int(below) == 0:
        raise ValueError(f"A part of a stop needs a divisor: {_HOW}.")
    return int(whole or 0) + int(above) / int(below)


def _stops_of_label(*, has_nd: bool, number: str, text: str) -> float:
    if "." in number:
        if float(number) > _LARGEST_PRINTED_DENSITY:
            raise ValueError(f"“{text}” would be a density above 6, which is not made: {_HOW}.")
        return stops_from_density(float(number))
    factor = int(number)
    if not has_nd:
        raise ValueError(f"“{text}” may be a density, a factor or stops: {_HOW}.")
    power_of_two = factor > 1 and factor & (factor - 1) == 0
    if factor <= _LARGEST_COUNT_OF_STOPS and not power_of_two:
        raise ValueError(f"“{text}” is sold under more than one meaning: {_HOW}.")
    return stops_from_factor(factor)

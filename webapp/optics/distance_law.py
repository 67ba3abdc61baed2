"""How the light of a source changes with its distance, and how far that is from inverse square.

Lengths run on the source's axis, to a plane that stands parallel to it.
"""

from __future__ import annotations

import math
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.illuminance import illuminance_per_intensity
from webapp.optics.sources import (
    DISTANCE,
    INNER_RADIUS,
    OUTER_RADIUS,
    PANEL_ASSUMPTIONS,
    Disc,
    Rectangle,
    Ring,
    Source,
)
from webapp.optics.working import Relation, Symbol

OVER_INVERSE_SQUARE: Final = Relation(
    result="departure from inverse square",
    unit="stops",
    formula="Δ = log2(e d²), e = E/(L A)",
    latex=r"\Delta = \log_2 (e\, d^2), \quad e = \frac{E}{L A}",
    symbols=(
        Symbol("e", "illuminance per intensity, as the source's shape gives it", "1/mm²"),
        DISTANCE,
    ),
    source="definition",
    assumptions=(Assumption.SQUARE_FROM_FAR,),
)

CHANGE_WITH_DISTANCE: Final = Relation(
    result="change of light",
    unit="stops",
    formula="Δ = log2(e_2 / e_1)",
    latex=r"\Delta = \log_2 \frac{e_2}{e_1}",
    symbols=(
        Symbol("e_1", "illuminance per intensity at the first distance", "1/mm²"),
        Symbol("e_2", "illuminance per intensity at the second distance", "1/mm²"),
    ),
    source="definition",
    assumptions=(Assumption.ON_AXIS_SAME_POWER,),
)

INVERSE_SQUARE: Final = Relation(
    result="change of light",
    unit="stops",
    formula="Δ = 2 log2(d_1 / d_2)",
    latex=r"\Delta = 2 \log_2 \frac{d_1}{d_2}",
    symbols=(
        Symbol("d_1", "first distance", "mm"),
        Symbol("d_2", "second distance", "mm"),
    ),
    source="ies-inverse-square",
    assumptions=(Assumption.POINT_SOURCE,),
)

RING_PEAK: Final = Relation(
    result="distance at which a ring is strongest on its axis",
    unit="mm",
    formula="d = √(R_i R_o)",
    latex=r"d = \sqrt{R_i R_o}",
    symbols=(OUTER_RADIUS, INNER_RADIUS),
    source="definition",
    assumptions=(*PANEL_ASSUMPTIONS, Assumption.RING_DARKER_NEARER),
)


def change_with_distance_stops(source: Source, from_distance_mm: float, to_distance_mm: float) -> float:
    """The change of light on the axis when a source is moved at the same power; + is more light.

    2 log2(d1/d2) for a point; less for a panel; and for a ring moved nearer inside its peak distance the light
    falls. Raises ValueError for a distance out of its domain. Source: howell; ies-inverse-square.

    >>> from webapp.optics.sources import Disc
    >>> round(change_with_distance_stops(Disc(600.0), 1200.0, 600.0), 4)
    1.7655
    """
    to_light = illuminance_per_intensity(source, to_distance_mm)
    return math.log2(to_light / illuminance_per_intensity(source, from_distance_mm))


def over_inverse_square_stops(source: Source, distance_mm: float) -> float:
    """The light on the axis against inverse square extrapolated from far away, in stops.

    log2(e d²) with e = E/I: 0 for a point, negative for every panel: near by it gives less than inverse
    square promises. Raises ValueError for a distance out of its domain. Source: howell.

    >>> from webapp.optics.sources import Disc
    >>> round(over_inverse_square_stops(Disc(600.0), 600.0), 4)
    -0.3219
    """
    return math.log2(illuminance_per_intensity(source, distance_mm) * distance_mm**2)


def ring_peak_distance_mm(ring: Ring) -> float:
    """The distance at which a ring is strongest on its axis: d = √(R_i R_o). Nearer than this, closer is darker.

    A ring without a hole is strongest at its face: 0. Source: definition (the derivative of the annulus form).

    >>> round(ring_peak_distance_mm(Ring(120.0, 80.0)), 4)
    48.9898
    """
    return math.sqrt(ring.diameter_mm * ring.inner_diameter_mm) / 2.0


def ring_peak_relative_illuminance(ring: Ring) -> float:
    """The strongest light of a ring on its axis as E/(πL): (R_o − R_i)/(R_o + R_i). Source: definition.

    >>> round(ring_peak_relative_illuminance(Ring(120.0, 80.0)), 6)
    0.2
    """
    return (ring.diameter_mm - ring.inner_diameter_mm) / (ring.diameter_mm + ring.inner_diameter_mm)


def distance_for_change_mm(source: Source, from_distance_mm: float, change_stops: float) -> float:
    """The distance on the axis to which a source must be moved for a wanted change of light; + is more light.

    The inverse of `change_with_distance_stops`: closed for a point, a disc and a ring, by Newton's method for a
    rectangle. On the axis of a ring two distances give the same
    light, one on each side of its peak; the outer one is returned, also where the ring stands inside the peak.
    Raises ValueError where the source never gives that much light at this power, or only a million
    kilometres away. Source: howell.

    >>> from webapp.optics.sources import Point
    >>> round(distance_for_change_mm(Point(), 1000.0, 2.0), 6)
    500.0
    """
    near_mm, far_mm = _brightest_mm(source), domain.LARGEST
    most = greatest_gain_stops(source, from_distance_mm)
    least = change_with_distance_stops(source, from_distance_mm, far_mm)
    if not math.isfinite(change_stops) or change_stops > most + 1e-12:
        raise ValueError(
            f"From {from_distance_mm:g} mm this source gains at most {max(most, 0.0):.2f} stops by distance alone; "
            f"{change_stops:+.2f} stops need more power."
        )
    if change_stops < least:
        raise ValueError(
            f"A change of {change_stops:+.2f} stops would move the source a million kilometres away; "
            "turn its power down."
        )
    wanted = illuminance_per_intensity(source, from_distance_mm) * 2.0**change_stops
    if isinstance(source, Ring):
        reached_mm = _ring_distance_mm(source, wanted)
    elif isinstance(source, Rectangle):
        reached_mm = _rectangle_distance_mm(source, wanted)
    else:
        radius_mm = source.diameter_mm / 2.0 if isinstance(source, Disc) else 0.0
        reached_mm = math.sqrt(max(1.0 / wanted - radius_mm**2, 0.0))
    return min(max(reached_mm, near_mm), far_mm)


def greatest_gain_stops(source: Source, from_distance_mm: float) -> float:
    """What moving a source nearer gains at most, at the same power: to its face, or to the peak of a ring.

    >>> round(greatest_gain_stops(Disc(600.0), 300.0), 4)
    1.0
    """
    return change_with_distance_stops(source, from_distance_mm, _brightest_mm(source))


def _brightest_mm(source: Source) -> float:
    return max(ring_peak_distance_mm(source) if isinstance(source, Ring) else 0.0, domain.SMALLEST)


def _ring_distance_mm(ring: Ring, wanted: float) -> float:
    """The outer root of e = d² / ((d² + R_i²) (d² + R_o²)), a quadratic in d²."""
    inner, outer = (ring.inner_diameter_mm / 2.0) ** 2, (ring.diameter_mm / 2.0) ** 2
    over = 1.0 - wanted * (inner + outer)
    root = math.sqrt(max(over**2 - 4.0 * wanted**2 * inner * outer, 0.0))
    return math.sqrt(max(over + root, 0.0) / (2.0 * wanted))


def _rectangle_distance_mm(panel: Rectangle, wanted: float) -> float:
    """log2 e falls ever more steeply over log d and lies under inverse square, so that Newton's method, begun where
    inverse square gives the wanted light, comes nearer from the far side with every step and never passes the root."""
    place, level = -0.5 * math.log(wanted), math.log(wanted)
    for _ in range(_MOST_STEPS):
        here = math.log(illuminance_per_intensity(panel, math.exp(place)))
        beside = math.log(illuminance_per_intensity(panel, math.exp(place + _BESIDE)))
        step = (level - here) * _BESIDE / (beside - here)
        place += step
        if abs(step) < _CLOSE:
            break
    return math.exp(place)


# Close to the face, where the light hardly changes with the distance, it takes the most steps.
_MOST_STEPS: Final = 60
_BESIDE: Final = 1e-5
_CLOSE: Final = 1e-12


def five_times_rule_distance_mm(source: Source) -> float:
    """The distance from which inverse square is trusted: five times the largest dimension of the source.

    There a disc is within one per cent; the rule means the diameter, not the radius. 0 for a point.
    Source: ies-inverse-square.

    >>> from webapp.optics.sources import Disc
    >>> five_times_rule_distance_mm(Disc(600.0))
    3000.0
    """
    return 5.0 * source.largest_dimension_mm

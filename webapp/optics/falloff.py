"""How the light of a source falls off beside its axis, and how evenly it lights a flat subject."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from webapp.optics import domain
from webapp.optics.arrays import Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.illuminance import illuminance_per_intensity
from webapp.optics.sources import Source
from webapp.optics.working import Relation, Symbol

OFFSET_AGAINST_AXIS: Final = Relation(
    result="light at the offset against the axis",
    unit="stops",
    formula="Δ = log2(e_a / e_0)",
    latex=r"\Delta = \log_2 \frac{e_a}{e_0}",
    symbols=(
        Symbol("e_a", "illuminance per intensity at the offset", "1/mm²"),
        Symbol("e_0", "illuminance per intensity on the axis at the same distance", "1/mm²"),
    ),
    source="definition",
    assumptions=(Assumption.PLANE_PARALLEL,),
)


def offset_stops(source: Source, distance_mm: float, offset_mm: float, offset_up_mm: float = 0.0) -> float:
    """The light beside the axis against the axis at the same distance, in stops; + is more light.

    Near a ring it is positive: there the centre is the dark spot. Arguments and ValueError cases as for
    `illuminance_per_intensity`. Source: howell; lambert-cosine.

    >>> from webapp.optics.sources import Ring
    >>> round(offset_stops(Ring(120.0, 80.0), 100.0, 30.0), 4)
    -0.089
    """
    at_offset = illuminance_per_intensity(source, distance_mm, offset_mm, offset_up_mm)
    return math.log2(at_offset / illuminance_per_intensity(source, distance_mm))


@dataclass(frozen=True, slots=True, eq=False)
class Evenness:
    """The light over a flat subject in stops against the axis: a row of `stops` for each place in `up_mm`."""

    across_mm: Floats
    up_mm: Floats
    stops: Floats

    @property
    def range_stops(self) -> float:
        """Brightest place minus darkest."""
        return float(self.stops.max() - self.stops.min())


def evenness(
    source: Source,
    distance_mm: float,
    subject_width_mm: float,
    subject_height_mm: float,
    places_per_side: int = 33,
) -> Evenness:
    """How evenly a source lights a flat subject that is parallel to it and centred on its axis.

    The map has `places_per_side` by as many places from edge to edge; an odd number puts one on the axis. The
    subject's width runs along a rectangle's width. Raises ValueError for lengths out of their domain, for a
    subject that reaches more than a hundred distances out, and for fewer than two places. Source: howell.

    >>> from webapp.optics.sources import Rectangle
    >>> round(evenness(Rectangle(600.0, 600.0), 600.0, 400.0, 0.001).range_stops, 4)
    0.1828
    """
    domain.positive("width of the subject", subject_width_mm, "mm")
    domain.positive("height of the subject", subject_height_mm, "mm")
    if places_per_side < 2:
        raise ValueError("A map of the light needs at least two places a side.")
    across_mm = np.linspace(-subject_width_mm / 2.0, subject_width_mm / 2.0, places_per_side)
    up_mm = np.linspace(-subject_height_mm / 2.0, subject_height_mm / 2.0, places_per_side)
    light = illuminance_per_intensity(source, distance_mm, across_mm[np.newaxis, :], up_mm[:, np.newaxis])
    on_axis = illuminance_per_intensity(source, distance_mm)
    return Evenness(across_mm, up_mm, np.log2(light / on_axis))


def point_lamp_falloff_stops(angle_deg: float) -> float:
    """The light of a bare point lamp on a plane, at an angle from its foot: 3 log2(cos θ), never positive.

    Two powers of the cosine for the longer way, one for the slant. Raises ValueError for an angle of 90 degrees
    or more. Source: lambert-cosine.

    >>> round(point_lamp_falloff_stops(45.0), 6)
    -1.5
    """
    return 3.0 * _log2_cosine(angle_deg)


def flat_patch_falloff_stops(angle_deg: float) -> float:
    """The light of a small flat patch on a plane parallel to it, at an angle from its axis: 4 log2(cos θ).

    As for the point lamp, and one more power because the patch is seen at a slant. Raises ValueError for an
    angle of 90 degrees or more. Source: lambert-cosine.

    >>> round(flat_patch_falloff_stops(45.0), 6)
    -2.0
    """
    return 4.0 * _log2_cosine(angle_deg)


def _log2_cosine(angle_deg: float) -> float:
    if not abs(angle_deg) < 90.0:
        raise ValueError(f"At {angle_deg:g}° no light of the lamp reaches the plane; give an angle below 90°.")
    return math.log2(math.cos(math.radians(angle_deg)))

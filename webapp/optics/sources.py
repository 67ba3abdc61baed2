"""Light sources of a size: their shapes, and how large they look.

A source is a flat shape that glows evenly and in every forward direction alike (Lambertian, luminance L). Real
reflectors, grids, honeycombs and tubes throw a beam and are not Lambertian: what is worked out from these shapes holds
for soft, diffused panels, and bounds it for the rest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol

# A strip longer than this many times its width is a line of light.
LONGEST_STRIP: Final = 1e5


@dataclass(frozen=True, slots=True)
class Point:
    """A lamp without size, alike in every direction."""

    @property
    def area_mm2(self) -> float:
        return 0.0

    @property
    def largest_dimension_mm(self) -> float:
        return 0.0


@dataclass(frozen=True, slots=True)
class Disc:
    """A round panel: beauty dish with its sock on, round softbox, the mouth of a diffused reflector."""

    diameter_mm: float

    def __post_init__(self) -> None:
        domain.positive("diameter of the disc", self.diameter_mm, "mm")

    @property
    def area_mm2(self) -> float:
        return math.pi * self.diameter_mm**2 / 4.0

    @property
    def largest_dimension_mm(self) -> float:
        return self.diameter_mm


@dataclass(frozen=True, slots=True)
class Ring:
    """A ring light; `inner_diameter_mm` is its hole. With no hole it is a disc, with no width a circle of light.

    Raises ValueError where the hole is larger than the ring.
    """

    diameter_mm: float
    inner_diameter_mm: float

    def __post_init__(self) -> None:
        domain.positive("diameter of the ring", self.diameter_mm, "mm")
        domain.not_negative("hole of the ring", self.inner_diameter_mm, "mm")
        if self.inner_diameter_mm > self.diameter_mm:
            raise ValueError(
                f"The hole of {self.inner_diameter_mm:g} mm is larger than the ring of {self.diameter_mm:g} mm; "
                "it can be as large as the ring at most."
            )

    @property
    def area_mm2(self) -> float:
        return (
            math.pi * (self.diameter_mm - self.inner_diameter_mm) * (self.diameter_mm + self.inner_diameter_mm) / 4.0
        )

    @property
    def largest_dimension_mm(self) -> float:
        return self.diameter_mm


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A softbox, a lit panel, a window; a strip is a narrow one.

    Raises ValueError where one side is more than a hundred thousand times the other.
    """

    width_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        domain.positive("width of the source", self.width_mm, "mm")
        domain.positive("height of the source", self.height_mm, "mm")
        if max(self.width_mm, self.height_mm) > LONGEST_STRIP * min(self.width_mm, self.height_mm):
            raise ValueError(
                f"A source of {self.width_mm:g} by {self.height_mm:g} mm is a line, not a panel; a strip can be a "
                "hundred thousand times as long as wide at most."
            )

    @property
    def area_mm2(self) -> float:
        return self.width_mm * self.height_mm

    @property
    def largest_dimension_mm(self) -> float:
        return math.hypot(self.width_mm, self.height_mm)


Panel = Disc | Ring | Rectangle

Source = Point | Panel

PANEL_ASSUMPTIONS: Final = (Assumption.PANEL_GLOWS_EVENLY, Assumption.PLANE_PARALLEL)

DISTANCE = Symbol("d", "distance from the source to the plane", "mm")

OUTER_RADIUS = Symbol("R_o", "outer radius of the ring", "mm")

INNER_RADIUS = Symbol("R_i", "radius of its hole", "mm")

ANGULAR_SIZE: Final = Relation(
    result="angular size",
    unit="°",
    formula="θ = 2 atan(s / (2 d))",
    latex=r"\theta = 2 \arctan \frac{s}{2 d}",
    symbols=(Symbol("s", "width or diameter of the source", "mm"), DISTANCE),
    source="definition",
    assumptions=(Assumption.SEEN_FROM_AXIS,),
)


def angular_size_deg(size_mm: float, distance_mm: float) -> float:
    """How large a source of this width looks from its axis: 2 atan(s/(2d)); it decides how soft the light is.

    Raises ValueError for lengths out of their domain. Source: definition.

    >>> round(angular_size_deg(200.0, 100.0), 6)
    90.0
    """
    domain.positive("size of the source", size_mm, "mm")
    domain.positive("distance to the source", distance_mm, "mm")
    return math.degrees(2.0 * math.atan(size_mm / (2.0 * distance_mm)))


def distance_for_angular_size_mm(size_mm: float, angle_deg: float) -> float:
    """Where a source of this width looks as large as wanted: d = s/(2 tan(θ/2)).

    Raises ValueError for an angle outside 0 to 180 degrees (both excluded), or one reached at no length.
    Source: definition.

    >>> round(distance_for_angular_size_mm(200.0, 90.0), 6)
    100.0
    """
    domain.positive("size of the source", size_mm, "mm")
    if not 0.0 < angle_deg < 180.0:
        raise ValueError(f"An angular size of {angle_deg:g}° cannot be had; it lies between 0° and 180°.")
    distance_mm = size_mm / (2.0 * math.tan(math.radians(angle_deg) / 2.0))
    domain.positive("distance for this angular size", distance_mm, "mm")
    return distance_mm

"""How much light a source of a size gives near by.

The lit plane stands parallel to the source at the distance d; offsets run in that plane, from the foot of the source's
axis.

Two quantities carry everything here. `relative_illuminance` is E/(πL), the share of a fully glowing sky.
`illuminance_per_intensity` is E/I with I = L·A, the intensity along the axis as seen from far away: it tends to
1/d² for every shape, keeps its meaning for a point and for a ring without width, and so its logarithm against
1/d² is the departure from inverse square.

The textbook forms subtract two nearly equal numbers far from the source. They are written here with the
difference multiplied out, which is exact near by as well: with s = d² + a², r = R², h = d²,

    n = s − r,   root = √(n² + 4 r h) = √((s + r)² − 4 r a²),
    1/2 (1 − n/root) = 2 r h / (root (root + n)).

Sources: howell (disc, ring as a difference of discs, rectangle by its corners), ies-inverse-square,
lambert-cosine. The ring's peak and the forms multiplied out follow from these.
"""

from __future__ import annotations

import math
from typing import Final, overload

from webapp.optics import domain
from webapp.optics.arrays import Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.sources import (
    DISTANCE,
    INNER_RADIUS,
    OUTER_RADIUS,
    PANEL_ASSUMPTIONS,
    Disc,
    Panel,
    Rectangle,
    Ring,
    Source,
)
from webapp.optics.working import Relation, Symbol

# Beyond this the plane is lit at a grazing angle of less than 0.6 degrees.
LARGEST_OFFSET_IN_DISTANCES: Final = 100.0

# A rectangle that is seen this small is taken as a patch in one place; what is left out is its square.
SMALL_PATCH: Final = 1e-4

# A ring narrower than this part of its diameter is taken as a circle of light.
_THIN_RING: Final = 1e-9


DISC_ON_AXIS: Final = Relation(
    result="relative illuminance E/(πL)",
    unit="",
    formula="E/(π L) = R² / (R² + d²)",
    latex=r"\frac{E}{\pi L} = \frac{R^2}{R^2 + d^2}",
    symbols=(Symbol("R", "radius of the disc", "mm"), DISTANCE),
    source="howell",
    assumptions=PANEL_ASSUMPTIONS,
)


RING_ON_AXIS: Final = Relation(
    result="relative illuminance E/(πL)",
    unit="",
    formula="E/(π L) = d² (R_o² − R_i²) / ((d² + R_i²) (d² + R_o²))",
    latex=r"\frac{E}{\pi L} = \frac{d^2 (R_o^2 - R_i^2)}{(d^2 + R_i^2)(d^2 + R_o^2)}",
    symbols=(OUTER_RADIUS, INNER_RADIUS, DISTANCE),
    source="howell",
    assumptions=(*PANEL_ASSUMPTIONS, Assumption.DISC_LESS_HOLE),
)


RECTANGLE_ON_AXIS: Final = Relation(
    result="relative illuminance E/(πL)",
    unit="",
    formula="E/(π L) = (2/π) [A/√(1 + A²) · atan(B/√(1 + A²)) + B/√(1 + B²) · atan(A/√(1 + B²))],"
    " A = w/(2 d), B = h/(2 d)",
    latex=r"\frac{E}{\pi L} = \frac{2}{\pi} \left( \frac{A}{\sqrt{1 + A^2}} \arctan \frac{B}{\sqrt{1 + A^2}}"
    r" + \frac{B}{\sqrt{1 + B^2}} \arctan \frac{A}{\sqrt{1 + B^2}} \right), \quad"
    r" A = \frac{w}{2d}, \quad B = \frac{h}{2d}",
    symbols=(
        Symbol("w", "width of the source", "mm"),
        Symbol("h", "height of the source", "mm"),
        DISTANCE,
    ),
    source="howell",
    assumptions=(*PANEL_ASSUMPTIONS, Assumption.FOUR_CORNERS),
)


@overload
def illuminance_per_intensity(
    source: Source, distance_mm: float, offset_mm: float = 0.0, offset_up_mm: float = 0.0
) -> float: ...


@overload
def illuminance_per_intensity(
    source: Source,
    distance_mm: float | Floats,
    offset_mm: float | Floats = 0.0,
    offset_up_mm: float | Floats = 0.0,
) -> float | Floats: ...


def illuminance_per_intensity(
    source: Source,
    distance_mm: float | Floats,
    offset_mm: float | Floats = 0.0,
    offset_up_mm: float | Floats = 0.0,
) -> float | Floats:
    """The light that a source of one unit of intensity gives, E/I in 1/mm², with I = L·A for a panel.

    It tends to 1/d² far away on the axis whatever the shape, so ratios of it are changes of light with
    distance, and its ratio to 1/d² the departure from inverse square. A point gives d/(d² + a²)^(3/2).
    `offset_mm` runs along a rectangle's width, `offset_up_mm` along its height. Floats give a float, arrays
    are broadcast against each other and give an array.
    Raises ValueError for a distance out of its domain, and for an offset of more than a hundred distances.
    Source: howell; lambert-cosine.

    >>> from webapp.optics.sources import Point
    >>> illuminance_per_intensity(Point(), 500.0) * 500.0**2
    1.0
    """
    places = (distance_mm, offset_mm, offset_up_mm)
    if any(isinstance(place, np.ndarray) and place.size > _BLOCK for place in places):
        return _in_blocks(source, *places)
    value = _per_intensity(source, *places)
    return value if isinstance(value, np.ndarray) and value.ndim else float(value)


# Arrays are worked through in pieces that stay in the processor's cache, which halves the time of long ones.
_BLOCK: Final = 8192


def _in_blocks(
    source: Source, distance_mm: float | Floats, offset_mm: float | Floats, offset_up_mm: float | Floats
) -> Floats:
    places = np.broadcast_arrays(distance_mm, offset_mm, offset_up_mm)
    rows = [place.reshape(-1) for place in places]
    whole = np.empty(rows[0].size)
    for start in range(0, whole.size, _BLOCK):
        block = slice(start, start + _BLOCK)
        whole[block] = _per_intensity(source, *(row[block] for row in rows))
    return whole.reshape(places[0].shape)


def _per_intensity(
    source: Source, distance_mm: float | Floats, offset_mm: float | Floats, offset_up_mm: float | Floats
) -> float | Floats:
    _require_distance(distance_mm)
    _require_offset(distance_mm, offset_mm)
    _require_offset(distance_mm, offset_up_mm)
    if isinstance(source, Rectangle):
        return _rectangle_per_intensity(source, distance_mm, offset_mm, offset_up_mm)
    h = distance_mm * distance_mm
    s = h + (offset_mm * offset_mm + offset_up_mm * offset_up_mm)
    if isinstance(source, Disc):
        return _disc_per_intensity(source, h, s)
    if isinstance(source, Ring):
        return _ring_per_intensity(source, h, s)
    value: float | Floats = distance_mm / (s * np.sqrt(s))
    return value


def _require_distance(distance_mm: float | Floats) -> None:
    if not isinstance(distance_mm, np.ndarray):
        domain.positive("distance to the source", distance_mm, "mm")
    elif distance_mm.size:
        # NaN comes out as the smallest, and is refused.
        domain.positive("distance to the source", float(distance_mm.min()), "mm")
        domain.positive("distance to the source", float(distance_mm.max()), "mm")


def _require_offset(distance_mm: float | Floats, offset_mm: float | Floats) -> None:
    if not np.all(np.abs(offset_mm) <= LARGEST_OFFSET_IN_DISTANCES * distance_mm):
        raise ValueError(
            "The offset from the axis is more than a hundred times the distance to the source; so far out the "
            "plane is lit at a grazing angle and the figure has no meaning. Give a smaller offset."
        )


def _disc_per_intensity(disc: Disc, h: float | Floats, s: float | Floats) -> float | Floats:
    r = disc.diameter_mm**2 / 4.0
    n = s - r
    root = np.sqrt(n * n + 4.0 * r * h)
    outside = 2.0 * h / (root * (root + np.abs(n)))
    # Within the disc's own cylinder n is negative, and the small part is what is missing to 1.
    value: float | Floats = np.where(n >= 0.0, outside, 1.0 / r - outside)
    return value


def _ring_per_intensity(ring: Ring, h: float | Floats, s: float | Floats) -> float | Floats:
    r_o = ring.diameter_mm**2 / 4.0
    r_i = ring.inner_diameter_mm**2 / 4.0
    n_o = s - r_o
    root_o = np.sqrt(n_o * n_o + 4.0 * r_o * h)
    if ring.diameter_mm - ring.inner_diameter_mm <= _THIN_RING * ring.diameter_mm:
        thin: float | Floats = h * (s + r_o) / (root_o * root_o * root_o)
        return thin
    n_i = s - r_i
    root_i = np.sqrt(n_i * n_i + 4.0 * r_i * h)
    # Between the rims both terms of the plain difference are positive and nothing cancels.
    between_rims = n_i * n_o <= 0.0
    plain = (n_i / root_i - n_o / root_o) / (2.0 * (r_o - r_i))
    crossed = np.where(between_rims, 1.0, n_i * root_o + n_o * root_i)
    multiplied_out = 2.0 * h * (s * s - r_i * r_o) / (root_i * root_o * crossed)
    return np.where(between_rims, plain, multiplied_out)


def _rectangle_per_intensity(
    rectangle: Rectangle, d: float | Floats, offset: float | Floats, offset_up: float | Floats
) -> float | Floats:
    left, right = -rectangle.width_mm / 2.0 - offset, rectangle.width_mm / 2.0 - offset
    below, above = -rectangle.height_mm / 2.0 - offset_up, rectangle.height_mm / 2.0 - offset_up
    from_luminance = 0.5 * (
        _edge(right, below, above, d)
        - _edge(left, below, above, d)
        + _edge(above, left, right, d)
        - _edge(below, left, right, d)
    )
    from_centre_squared = d * d + offset * offset + offset_up * offset_up
    small = rectangle.largest_dimension_mm**2 < SMALL_PATCH**2 * from_centre_squared
    as_patch = d * d / (from_centre_squared * from_centre_squared)
    value: float | Floats = np.where(small, as_patch, from_luminance / rectangle.area_mm2)
    return value


def _edge(away: float | Floats, start: float | Floats, end: float | Floats, d: float | Floats) -> float | Floats:
    """What an edge gives to 2E/L: the angle it spans, seen from the lit place, by the cosine of its plane.

    Two corners share it: atan(end/to_edge) − atan(start/to_edge), as one angle so that a short edge far to the
    side keeps its digits.
    """
    to_edge_squared = d * d + away * away
    to_edge = np.sqrt(to_edge_squared)
    value: float | Floats = away / to_edge * np.arctan2(to_edge * (end - start), to_edge_squared + start * end)
    return value


@overload
def relative_illuminance(
    panel: Panel, distance_mm: float, offset_mm: float = 0.0, offset_up_mm: float = 0.0
) -> float: ...


@overload
def relative_illuminance(
    panel: Panel,
    distance_mm: float | Floats,
    offset_mm: float | Floats = 0.0,
    offset_up_mm: float | Floats = 0.0,
) -> float | Floats: ...


def relative_illuminance(
    panel: Panel,
    distance_mm: float | Floats,
    offset_mm: float | Floats = 0.0,
    offset_up_mm: float | Floats = 0.0,
) -> float | Floats:
    """The light on a plane parallel to a panel, as E/(πL): 1 would be a sky that glows all over.

    L is the panel's luminance. Arguments and ValueError cases as for `illuminance_per_intensity`. A ring without
    width has no area and gives 0; a point has no luminance, so it is no panel. Source: howell.

    >>> round(relative_illuminance(Rectangle(600.0, 600.0), 600.0), 5)
    0.23946
    """
    value = illuminance_per_intensity(panel, distance_mm, offset_mm, offset_up_mm)
    value *= panel.area_mm2 / math.pi
    return value

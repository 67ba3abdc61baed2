"""Light sources of a size: how much light they give near by, and how far that is from inverse square.

A source is a flat shape that glows evenly and in every forward direction alike (Lambertian, luminance L); the
lit plane stands parallel to it at the distance d. Offsets run in that plane, from the foot of the source's axis.
Real reflectors, grids, honeycombs and tubes throw a beam and are not Lambertian: these figures hold for soft,
diffused panels, and bound them for the rest.

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
from dataclasses import dataclass
from typing import Final, overload

import numpy as np
from numpy.typing import NDArray

from webapp.optics import domain
from webapp.optics.working import Relation, Symbol

Floats = NDArray[np.float64]

# Beyond this the plane is lit at a grazing angle of less than 0.6 degrees.
LARGEST_OFFSET_IN_DISTANCES: Final = 100.0
# A strip longer than this many times its width is a line of light.
LONGEST_STRIP: Final = 1e5
# A rectangle that is seen this small is taken as a patch in one place; what is left out is its square.
_SMALL_PATCH: Final = 1e-4
# A ring narrower than this part of its diameter is taken as a circle of light.
_THIN_RING: Final = 1e-9


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

_LUMINANCE_EVEN = "the source glows evenly and alike in every forward direction (Lambertian)"
_PLANE_PARALLEL = "the lit plane is parallel to the source"
_PANEL: Final = (_LUMINANCE_EVEN, _PLANE_PARALLEL)
_DISTANCE = Symbol("d", "distance from the source to the plane", "mm")
_OFFSET = Symbol("a", "offset from the source's axis in the plane", "mm")
_OUTER = Symbol("R_o", "outer radius of the ring", "mm")
_INNER = Symbol("R_i", "radius of its hole", "mm")

DISC_ON_AXIS: Final = Relation(
    result="relative illuminance E/(πL)",
    unit="",
    formula="E/(π L) = R² / (R² + d²)",
    latex=r"\frac{E}{\pi L} = \frac{R^2}{R^2 + d^2}",
    symbols=(Symbol("R", "radius of the disc", "mm"), _DISTANCE),
    source="howell",
    assumptions=_PANEL,
)
DISC_OFF_AXIS: Final = Relation(
    result="relative illuminance E/(πL)",
    unit="",
    formula="E/(π L) = 1/2 [1 − (d² + a² − R²) / √((d² + a² + R²)² − 4 R² a²)]",
    latex=r"\frac{E}{\pi L} = \frac{1}{2} \left( 1 - \frac{d^2 + a^2 - R^2}"
    r"{\sqrt{(d^2 + a^2 + R^2)^2 - 4 R^2 a^2}} \right)",
    symbols=(Symbol("R", "radius of the disc", "mm"), _DISTANCE, _OFFSET),
    source="howell",
    assumptions=_PANEL,
)
RING_ON_AXIS: Final = Relation(
    result="relative illuminance E/(πL)",
    unit="",
    formula="E/(π L) = d² (R_o² − R_i²) / ((d² + R_i²) (d² + R_o²))",
    latex=r"\frac{E}{\pi L} = \frac{d^2 (R_o^2 - R_i^2)}{(d^2 + R_i^2)(d^2 + R_o^2)}",
    symbols=(_OUTER, _INNER, _DISTANCE),
    source="howell",
    assumptions=(*_PANEL, "the ring is a disc less the disc of its hole"),
)
RING_OFF_AXIS: Final = Relation(
    result="relative illuminance E/(πL)",
    unit="",
    formula="E/(π L) = 1/2 [(d² + a² − R_i²) / √((d² + a² + R_i²)² − 4 R_i² a²)"
    " − (d² + a² − R_o²) / √((d² + a² + R_o²)² − 4 R_o² a²)]",
    latex=r"\frac{E}{\pi L} = \frac{1}{2} \left( \frac{d^2 + a^2 - R_i^2}{\sqrt{(d^2 + a^2 + R_i^2)^2 - 4 R_i^2 a^2}}"
    r" - \frac{d^2 + a^2 - R_o^2}{\sqrt{(d^2 + a^2 + R_o^2)^2 - 4 R_o^2 a^2}} \right)",
    symbols=(_OUTER, _INNER, _DISTANCE, _OFFSET),
    source="howell",
    assumptions=(*_PANEL, "the ring is a disc less the disc of its hole"),
)
THIN_RING_ON_AXIS: Final = Relation(
    result="illuminance per intensity E/I",
    unit="1/mm²",
    formula="E/I = d² / (d² + R²)²",
    latex=r"\frac{E}{I} = \frac{d^2}{(d^2 + R^2)^2}",
    symbols=(Symbol("R", "radius of the circle of light", "mm"), _DISTANCE),
    source="lambert-cosine",
    assumptions=(*_PANEL, "the ring is much narrower than its radius"),
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
        _DISTANCE,
    ),
    source="howell",
    assumptions=(*_PANEL, "four equal corners"),
)
RECTANGLE_OFF_AXIS: Final = Relation(
    result="relative illuminance E/(πL)",
    unit="",
    formula="E/(π L) = F(w/2 + a) + F(w/2 − a), F(x) = (1/π) [x/√(d² + x²) · atan((h/2)/√(d² + x²))"
    " + (h/2)/√(d² + h²/4) · atan(x/√(d² + h²/4))]",
    latex=r"\frac{E}{\pi L} = F(\tfrac{w}{2} + a) + F(\tfrac{w}{2} - a), \quad F(x) = \frac{1}{\pi} \left("
    r" \frac{x}{\sqrt{d^2 + x^2}} \arctan \frac{h/2}{\sqrt{d^2 + x^2}}"
    r" + \frac{h/2}{\sqrt{d^2 + h^2/4}} \arctan \frac{x}{\sqrt{d^2 + h^2/4}} \right)",
    symbols=(
        Symbol("w", "width of the source", "mm"),
        Symbol("h", "height of the source", "mm"),
        _DISTANCE,
        Symbol("a", "offset from the source's axis along its width", "mm"),
    ),
    source="howell",
    assumptions=(*_PANEL, "corners are summed with their signs"),
)
OVER_INVERSE_SQUARE: Final = Relation(
    result="departure from inverse square",
    unit="stops",
    formula="Δ = log2(e d²), e = E/(L A)",
    latex=r"\Delta = \log_2 (e\, d^2), \quad e = \frac{E}{L A}",
    symbols=(
        Symbol("e", "illuminance per intensity, as the source's shape gives it", "1/mm²"),
        _DISTANCE,
    ),
    source="definition",
    assumptions=("inverse square is extrapolated from far away",),
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
    assumptions=("on the source's axis, at the same power",),
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
    assumptions=("the source is a point",),
)
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
    assumptions=(_PLANE_PARALLEL,),
)
RING_PEAK: Final = Relation(
    result="distance at which a ring is strongest on its axis",
    unit="mm",
    formula="d = √(R_i R_o)",
    latex=r"d = \sqrt{R_i R_o}",
    symbols=(_OUTER, _INNER),
    source="definition",
    assumptions=(*_PANEL, "nearer than this, closer is darker"),
)
RING_PEAK_ILLUMINANCE: Final = Relation(
    result="relative illuminance at the ring's peak",
    unit="",
    formula="E/(π L) = (R_o − R_i) / (R_o + R_i)",
    latex=r"\frac{E}{\pi L} = \frac{R_o - R_i}{R_o + R_i}",
    symbols=(_OUTER, _INNER),
    source="definition",
    assumptions=_PANEL,
)
FIVE_TIMES_RULE: Final = Relation(
    result="distance from which inverse square holds within one per cent",
    unit="mm",
    formula="d = 5 D",
    latex=r"d = 5 D",
    symbols=(Symbol("D", "largest dimension of the source", "mm"),),
    source="ies-inverse-square",
)
ANGULAR_SIZE: Final = Relation(
    result="angular size",
    unit="°",
    formula="θ = 2 atan(s / (2 d))",
    latex=r"\theta = 2 \arctan \frac{s}{2 d}",
    symbols=(Symbol("s", "width or diameter of the source", "mm"), _DISTANCE),
    source="definition",
    assumptions=("seen from the source's axis",),
)
POINT_LAMP_FALLOFF: Final = Relation(
    result="light at the angle against the axis",
    unit="stops",
    formula="Δ = 3 log2(cos θ)",
    latex=r"\Delta = 3 \log_2 \cos \theta",
    symbols=(Symbol("θ", "angle from the normal of the plane", "°"),),
    source="lambert-cosine",
    assumptions=("a lamp alike in every direction, so small that it has no size",),
)
FLAT_PATCH_FALLOFF: Final = Relation(
    result="light at the angle against the axis",
    unit="stops",
    formula="Δ = 4 log2(cos θ)",
    latex=r"\Delta = 4 \log_2 \cos \theta",
    symbols=(Symbol("θ", "angle from the normal of the plane", "°"),),
    source="lambert-cosine",
    assumptions=(*_PANEL, "the source is so small that it has no size"),
)
EVENNESS: Final = Relation(
    result="range of light over the subject",
    unit="stops",
    formula="Δ = Δ_max − Δ_min",
    latex=r"\Delta = \Delta_{max} - \Delta_{min}",
    symbols=(
        Symbol("Δ_max", "brightest place against the axis", "stops"),
        Symbol("Δ_min", "darkest place against the axis", "stops"),
    ),
    source="definition",
    assumptions=("the subject is flat, parallel to the source and centred on its axis",),
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
    small = rectangle.largest_dimension_mm**2 < _SMALL_PATCH**2 * from_centre_squared
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


def change_with_distance_stops(source: Source, from_distance_mm: float, to_distance_mm: float) -> float:
    """The change of light on the axis when a source is moved at the same power; + is more light.

    2 log2(d1/d2) for a point; less for a panel; and for a ring moved nearer inside its peak distance the light
    falls. Raises ValueError for a distance out of its domain. Source: howell; ies-inverse-square.

    >>> round(change_with_distance_stops(Disc(600.0), 1200.0, 600.0), 4)
    1.7655
    """
    to_light = illuminance_per_intensity(source, to_distance_mm)
    return math.log2(to_light / illuminance_per_intensity(source, from_distance_mm))


def over_inverse_square_stops(source: Source, distance_mm: float) -> float:
    """The light on the axis against inverse square extrapolated from far away, in stops.

    log2(e d²) with e = E/I: 0 for a point, negative for every panel: near by it gives less than inverse
    square promises. Raises ValueError for a distance out of its domain. Source: howell.

    >>> round(over_inverse_square_stops(Disc(600.0), 600.0), 4)
    -0.3219
    """
    return math.log2(illuminance_per_intensity(source, distance_mm) * distance_mm**2)


def offset_stops(source: Source, distance_mm: float, offset_mm: float, offset_up_mm: float = 0.0) -> float:
    """The light beside the axis against the axis at the same distance, in stops; + is more light.

    Near a ring it is positive: there the centre is the dark spot. Arguments and ValueError cases as for
    `illuminance_per_intensity`. Source: howell; lambert-cosine.

    >>> round(offset_stops(Ring(120.0, 80.0), 100.0, 30.0), 4)
    -0.089
    """
    at_offset = illuminance_per_intensity(source, distance_mm, offset_mm, offset_up_mm)
    return math.log2(at_offset / illuminance_per_intensity(source, distance_mm))


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

    The inverse of `change_with_distance_stops`, by bisection. On the axis of a ring two distances give the same
    light, one on each side of its peak; the outer one is returned, also where the ring stands inside the peak.
    Raises ValueError where the source never gives that much light at this power, or only a million
    kilometres away. Source: howell.

    >>> round(distance_for_change_mm(Point(), 1000.0, 2.0), 6)
    500.0
    """
    peak_mm = ring_peak_distance_mm(source) if isinstance(source, Ring) else 0.0
    near_mm, far_mm = max(peak_mm, domain.SMALLEST), domain.LARGEST
    most = change_with_distance_stops(source, from_distance_mm, near_mm)
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
    for _ in range(_HALVINGS):
        middle_mm = math.sqrt(near_mm * far_mm)
        if change_with_distance_stops(source, from_distance_mm, middle_mm) > change_stops:
            near_mm = middle_mm
        else:
            far_mm = middle_mm
    return math.sqrt(near_mm * far_mm)


# Twenty-four decades of length, halved in the logarithm down to the last digit of a float.
_HALVINGS: Final = 64


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


def five_times_rule_distance_mm(source: Source) -> float:
    """The distance from which inverse square is trusted: five times the largest dimension of the source.

    There a disc is within one per cent; the rule means the diameter, not the radius. 0 for a point.
    Source: ies-inverse-square.

    >>> five_times_rule_distance_mm(Disc(600.0))
    3000.0
    """
    return 5.0 * source.largest_dimension_mm


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

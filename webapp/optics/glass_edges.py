"""The dark edge of a glass in front of a bright field: where a ray of the lens goes on through a round glass.

A glass is a tube (bowl, bottle, tumbler) seen across its axis from far away. Places in it are told by their distance x
from the middle of its outline. A ray is bent at each wall by Snell's law, exactly; what the walls mirror besides is left
out. Where it meets the bright field behind, the glass is bright; where it misses it, and meets the cards beside, dark.

Source: snell.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol

# From here on a ray runs along the field or comes back from it.
_PAST_DEG: Final = 89.9
_HALVINGS: Final = 60
_PLACES: Final = 400

_OUTER = Symbol("R", "outer radius of the glass", "mm")
_INNER = Symbol("q", "inner radius, without the wall", "mm")
_PLACE = Symbol("x", "place in the outline, from its middle", "mm")
_INDEX = Symbol("n", "refractive index of the glass")
_INSIDE = Symbol("k", "refractive index of what it holds")

TURN_THROUGH: Final = Relation(
    result="turn of the ray by the glass, + towards the middle",
    unit="°",
    formula="δ = 2 [asin(x/R) − asin(x/(n R))] + 2 [asin(x/(n q)) − asin(x/(k q))]",
    latex=r"\delta = 2 \left[ \arcsin \frac{x}{R} - \arcsin \frac{x}{n R} \right]"
    r" + 2 \left[ \arcsin \frac{x}{n q} - \arcsin \frac{x}{k q} \right]",
    symbols=(_OUTER, _INNER, _PLACE, _INDEX, _INSIDE),
    source="snell",
    assumptions=(Assumption.GLASS_IS_ROUND, Assumption.LENS_FAR_AWAY, Assumption.REFLECTIONS_LEFT_OUT),
)
MEETS_FIELD: Final = Relation(
    result="place where the ray meets the field",
    unit="mm",
    formula="X = x − (b − y) tan δ",
    latex=r"X = x - (b - y) \tan \delta",
    symbols=(
        Symbol("x", "place at which the ray leaves the glass, from the middle", "mm"),
        Symbol("δ", "turn of the ray", "°"),
        Symbol("b", "distance of the field behind the middle of the glass", "mm"),
        Symbol("y", "depth at which the ray leaves the glass", "mm"),
    ),
    source="snell",
    assumptions=(Assumption.GLASS_IS_ROUND,),
)


@dataclass(frozen=True, slots=True)
class Glass:
    """A round glass: outer diameter, thickness of its wall, refractive indices of the glass and of what it holds.

    Raises ValueError for a wall thicker than the glass, and an index below 1.
    """

    diameter_mm: float
    wall_mm: float
    index: float = 1.52
    inside_index: float = 1.0

    def __post_init__(self) -> None:
        domain.positive("diameter of the glass", self.diameter_mm, "mm")
        domain.positive("thickness of the wall", self.wall_mm, "mm")
        if self.wall_mm >= self.diameter_mm / 2.0:
            raise ValueError(
                f"A wall of {self.wall_mm:g} mm fills a glass of {self.diameter_mm:g} mm; the wall is less than half of "
                "it, and for solid glass what it holds has the index of the glass."
            )
        for name, index in (("the glass", self.index), ("what it holds", self.inside_index)):
            if not 1.0 <= index <= 3.0:
                raise ValueError(
                    f"A refractive index of {index:g} cannot be that of {name}: air has 1, water 1.33, glass 1.52. Give 1 to 3."
                )

    @property
    def radius_mm(self) -> float:
        return self.diameter_mm / 2.0

    @property
    def inner_radius_mm(self) -> float:
        return self.radius_mm - self.wall_mm


@dataclass(frozen=True, slots=True)
class Leaving:
    """A ray as it leaves the glass: the place, x across and y behind the middle, and its turn in degrees, + towards the
    middle; beyond 90 it goes back to where the lens is."""

    x_mm: float
    y_mm: float
    turn_deg: float


def ray_through(glass: Glass, place_mm: float) -> Leaving:
    """Where and how a ray of the lens leaves the glass that enters it at this place of its outline.

    The ray keeps its distance from the glass's own axis at every wall (x = n r sin of its angle), so that the turns add
    up. In the wall beyond n times the inner radius it never meets the inside; where the inside is the thinner medium it
    is mirrored at it (total reflection). Raises ValueError outside of the outline. Source: snell.

    >>> round(ray_through(Glass(20.0, 1e-6, 1.5, 1.5), 0.001).turn_deg, 6)
    0.00382
    """
    big, small, n, k = glass.radius_mm, glass.inner_radius_mm, glass.index, glass.inside_index
    x = place_mm
    if not 0.0 <= x < big:
        raise ValueError(f"A place {x:g} mm from the middle lies outside of the glass.")
    into, inside = math.asin(x / big), math.asin(x / (n * big))
    # The way round the axis from where it enters to where it leaves, as an angle: π less the two angles of each chord.
    turn = 2.0 * (into - inside)
    if x < n * small:
        at_wall = math.asin(x / (n * small))
        if x < k * small:
            turn += 2.0 * (at_wall - math.asin(x / (k * small)))
        else:
            # Mirrored at the inside: turned out by what the angle lacks of a right one, twice.
            turn += 2.0 * at_wall - math.pi
    # It leaves as it entered, seen from the axis: under the same angle with the wall.
    leaves = into - turn
    return Leaving(big * math.sin(leaves), big * math.cos(leaves), math.degrees(turn))


def meets_field_mm(glass: Glass, place_mm: float, field_distance_mm: float) -> float:
    """How far from the axis of the view the ray of this place meets a field behind the glass, on either side; without
    end where it never does.

    `field_distance_mm` is from the middle of the glass. Raises ValueError for a field within the glass. Source: snell.
    """
    domain.positive("distance of the field", field_distance_mm, "mm")
    if field_distance_mm <= glass.radius_mm:
        raise ValueError(
            f"A field {field_distance_mm:g} mm behind the middle of a glass of {glass.diameter_mm:g} mm stands in it; "
            "its distance is more than half of the glass."
        )
    ray = ray_through(glass, place_mm)
    if abs(ray.turn_deg) >= _PAST_DEG:
        return math.inf
    return abs(ray.x_mm - (field_distance_mm - ray.y_mm) * math.tan(math.radians(ray.turn_deg)))


def dark_edge_mm(glass: Glass, field_distance_mm: float, field_width_mm: float) -> float:
    """How wide the dark edge of a glass comes out at each side, in front of a field of this width with black beside it.

    Told from the outline inwards to where the field is met for good. Raises ValueError as `meets_field_mm`, and where
    the field is narrower than to show anything in the middle.
    """
    domain.positive("width of the field", field_width_mm, "mm")
    half = field_width_mm / 2.0

    def is_dark(place_mm: float) -> bool:
        return meets_field_mm(glass, place_mm, field_distance_mm) > half

    places = [glass.radius_mm * (index + 0.5) / _PLACES for index in range(_PLACES)]
    dark_from = next((index for index in range(_PLACES) if is_dark(places[index])), None)
    if dark_from is None:
        return 0.0
    if dark_from == 0:
        return glass.radius_mm
    bright, dark = places[dark_from - 1], places[dark_from]
    for _ in range(_HALVINGS):
        middle = (bright + dark) / 2.0
        bright, dark = (bright, middle) if is_dark(middle) else (middle, dark)
    return glass.radius_mm - dark


def field_for_edge_mm(glass: Glass, field_distance_mm: float, edge_mm: float) -> float:
    """The width of the bright field, from card to card, that gives a dark edge of this width: what the rays further in
    meet, and no more.

    Raises ValueError as `meets_field_mm`, for an edge outside of 0 to the radius, and for one narrower than the dark
    that the wall itself makes, which no width of the field brightens.
    """
    domain.positive("width of the dark edge", edge_mm, "mm")
    if edge_mm >= glass.radius_mm:
        raise ValueError(
            f"A dark edge of {edge_mm:g} mm at each side leaves nothing bright in a glass of {glass.diameter_mm:g} mm; "
            "give less than half of it."
        )
    last = glass.radius_mm - edge_mm
    places = [last * (index + 0.5) / _PLACES for index in range(_PLACES)] + [last]
    widest = max(meets_field_mm(glass, place, field_distance_mm) for place in places)
    if not math.isfinite(widest):
        raise ValueError(
            f"The edge is dark over more than {edge_mm:g} mm whatever stands behind: there the glass shows what is "
            "beside it or before it. Ask for a wider edge."
        )
    return 2.0 * widest

"""What a flat glossy subject mirrors into the lens, as bearings about the subject, at any tilt.

The subject's middle is the origin and the lens stands on the axis, D from it. Bearings are measured from the lens's
axis, + towards the side that the subject is tilted to; a light at a distance r stands on the circle of that radius
about the middle. A copy is the same with lights that must not be seen.

Source: the law of reflection (euclid-catoptrics).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol

_SUBJECT_WIDTH = Symbol("W", "width of the subject", "mm")
_LENS_DISTANCE = Symbol("D", "distance from the lens to the middle of the subject", "mm")
_LIGHT_DISTANCE = Symbol("r", "distance from the middle of the subject to the light", "mm")
_TILT = Symbol("a", "tilt of the subject", "°")

MIRRORED_BEARING: Final = Relation(
    result="bearing that the edge of the subject mirrors",
    unit="°",
    formula="θ: where C − E, mirrored at the normal n, meets the circle of radius r about the middle;"
    " E = ± W/2 (cos a, −sin a), C = (0, D), n = (sin a, cos a)",
    latex=r"\vec{v} = 2 (\vec{n} \cdot \vec{c}) \vec{n} - \vec{c}, \quad | \vec{E} + k \vec{v} | = r",
    symbols=(_SUBJECT_WIDTH, _LENS_DISTANCE, _LIGHT_DISTANCE, _TILT),
    source="euclid-catoptrics",
    assumptions=(Assumption.FLAT_MIRROR,),
)
MIDDLE_BEARING: Final = Relation(
    result="bearing that the middle of the subject mirrors",
    unit="°",
    formula="θ = 2 a",
    latex=r"\theta = 2 a",
    symbols=(_TILT,),
    source="euclid-catoptrics",
    assumptions=(Assumption.MIRROR_TURNS_TWICE,),
)
BARRED_BEARING: Final = Relation(
    result="bearing from which a light is not seen",
    unit="°",
    formula="θ = θ_edge(√(r² + (b/2)²)) + atan(b / (2 r))",
    latex=r"\theta = \theta_{\mathrm{edge}} \left( \sqrt{r^2 + (b/2)^2} \right) + \arctan \frac{b}{2 r}",
    symbols=(
        _LIGHT_DISTANCE,
        Symbol("b", "width of the light, turned to the middle", "mm"),
        Symbol("θ_edge", "bearing mirrored at the distance of the light's near edge", "°"),
    ),
    source="euclid-catoptrics",
    assumptions=(Assumption.FLAT_MIRROR, Assumption.LIGHT_FACES_MIDDLE),
)


@dataclass(frozen=True, slots=True)
class MirroredBearings:
    """The stretch of a circle about the subject that it mirrors into the lens, in degrees from the lens's axis."""

    from_deg: float
    to_deg: float


def mirrored_bearing_deg(
    along_mm: float, lens_distance_mm: float, light_distance_mm: float, tilt_deg: float = 0.0
) -> float:
    """The bearing, at this distance from the middle, of what a place of a flat glossy subject mirrors into the lens.

    `along_mm` is the place on the subject, from its middle, + on the side that is tilted away from the lens;
    `tilt_deg` from square on, below 90. Raises ValueError for lengths out of their domain, for a tilt of 90 degrees or
    more, and where the subject reaches out to the light. Source: euclid-catoptrics.

    >>> round(mirrored_bearing_deg(0.0, 1000.0, 800.0, 30.0), 6)
    60.0
    """
    domain.positive("distance of the lens", lens_distance_mm, "mm")
    domain.positive("distance of the light", light_distance_mm, "mm")
    if not abs(tilt_deg) < 90.0:
        raise ValueError(
            f"At a tilt of {tilt_deg:g}° the lens sees the subject's edge or its back, and mirrors nothing in its face; "
            "from 90° on there is no reflection. Give less than 90°."
        )
    if abs(along_mm) >= light_distance_mm:
        raise ValueError("The subject reaches out to the light; move the light further away than half the subject.")
    tilt = math.radians(tilt_deg)
    place_x, place_y = along_mm * math.cos(tilt), -along_mm * math.sin(tilt)
    normal_x, normal_y = math.sin(tilt), math.cos(tilt)
    lens_x, lens_y = -place_x, lens_distance_mm - place_y
    twice = 2.0 * (lens_x * normal_x + lens_y * normal_y)
    ray_x, ray_y = twice * normal_x - lens_x, twice * normal_y - lens_y
    length = math.hypot(ray_x, ray_y)
    ray_x, ray_y = ray_x / length, ray_y / length
    # From inside of the circle a ray meets it once.
    inward = place_x * ray_x + place_y * ray_y
    way = -inward + math.sqrt(inward**2 + light_distance_mm**2 - along_mm**2)
    return math.degrees(math.atan2(place_x + way * ray_x, place_y + way * ray_y))


def mirrored_bearings(
    subject_width_mm: float, lens_distance_mm: float, light_distance_mm: float, tilt_deg: float = 0.0
) -> MirroredBearings:
    """From which bearing to which a flat glossy subject mirrors the circle at the distance of the light.

    Arguments and ValueError cases as for `mirrored_bearing_deg`; either sign of the tilt gives the same. Source:
    euclid-catoptrics.

    >>> round(mirrored_bearings(200.0, 1000.0, 1000.0).to_deg, 4)
    11.4212
    """
    domain.positive("width of the subject", subject_width_mm, "mm")
    half = subject_width_mm / 2.0
    ends = [
        mirrored_bearing_deg(along, lens_distance_mm, light_distance_mm, abs(tilt_deg)) for along in (-half, half)
    ]
    return MirroredBearings(min(ends), max(ends))


def barred_bearings(
    subject_width_mm: float,
    lens_distance_mm: float,
    light_distance_mm: float,
    light_width_mm: float,
    tilt_deg: float = 0.0,
) -> MirroredBearings:
    """Between which bearings the middle of a light must not stand, or part of it is seen in a flat glossy original.

    The light is turned to the middle of the original, `light_width_mm` wide in the plane of the drawing; at the bearing
    its near edge just leaves what the original mirrors. + is the side of the tilt. Raises ValueError as
    `mirrored_bearing_deg`. Source: euclid-catoptrics.

    >>> round(barred_bearings(400.0, 1000.0, 1000.0, 0.001).to_deg, 3)
    22.62
    """
    domain.positive("width of the light", light_width_mm, "mm")
    domain.positive("distance of the light", light_distance_mm, "mm")
    to_edge = math.hypot(light_distance_mm, light_width_mm / 2.0)
    mirrored = mirrored_bearings(subject_width_mm, lens_distance_mm, to_edge, tilt_deg)
    half = math.degrees(math.atan(light_width_mm / (2.0 * light_distance_mm)))
    return MirroredBearings(mirrored.from_deg - half, mirrored.to_deg + half)

"""How large or how near a light has to be for a wanted softness: by how large it looks, or by the edge of its shadows."""

from __future__ import annotations

import math
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.shadows import PENUMBRA
from webapp.optics.working import Relation, Symbol

_ANGLE = Symbol("θ", "how large the light looks", "°")
_PENUMBRA = Symbol("p", "soft edge of the shadow, at each side", "mm")
_WIDTH, _TO_OBJECT, _TO_SURFACE = PENUMBRA.symbols

WIDTH_FOR_ANGLE: Final = Relation(
    result="width of the light",
    unit="mm",
    formula="w = 2 D tan(θ/2)",
    latex=r"w = 2 D \tan \frac{\theta}{2}",
    symbols=(Symbol("D", "distance from the light to the subject", "mm"), _ANGLE),
    source="definition",
    assumptions=(Assumption.SEEN_FROM_AXIS,),
)
DISTANCE_FOR_ANGLE: Final = Relation(
    result="distance of the light",
    unit="mm",
    formula="D = w / (2 tan(θ/2))",
    latex=r"D = \frac{w}{2 \tan (\theta / 2)}",
    symbols=(_WIDTH, _ANGLE),
    source="definition",
    assumptions=(Assumption.SEEN_FROM_AXIS,),
)
WIDTH_FOR_PENUMBRA: Final = Relation(
    result="width of the light",
    unit="mm",
    formula="w = p D / d",
    latex=r"w = \frac{p D}{d}",
    symbols=(_PENUMBRA, _TO_OBJECT, _TO_SURFACE),
    source="definition",
    assumptions=PENUMBRA.assumptions,
)
DISTANCE_FOR_PENUMBRA: Final = Relation(
    result="distance of the light",
    unit="mm",
    formula="D = w d / p",
    latex=r"D = \frac{w d}{p}",
    symbols=(_WIDTH, _TO_SURFACE, _PENUMBRA),
    source="definition",
    assumptions=PENUMBRA.assumptions,
)


def width_for_angle_mm(distance_mm: float, angle_deg: float) -> float:
    """How wide a light at this distance has to be to look as large as wanted: w = 2 D tan(θ/2).

    Raises ValueError for an angle outside of 0 to 180 degrees (both excluded), or a length out of its domain. Source:
    definition.

    >>> round(width_for_angle_mm(1000.0, 90.0), 6)
    2000.0
    """
    domain.positive("distance of the light", distance_mm, "mm")
    if not 0.0 < angle_deg < 180.0:
        raise ValueError(
            f"A light cannot look {angle_deg:g}° large: at 0° it is a point, and at 180° it is everything on its side. "
            "Give more than 0° and less than 180°."
        )
    return 2.0 * distance_mm * math.tan(math.radians(angle_deg) / 2.0)


def width_for_penumbra_mm(penumbra_mm: float, source_distance_mm: float, screen_distance_mm: float) -> float:
    """How wide a light has to be for a soft edge of this width: w = p D / d.

    `source_distance_mm` D is to what throws the shadow, `screen_distance_mm` d from there to the surface. Raises
    ValueError for lengths out of their domain. Source: definition.

    >>> width_for_penumbra_mm(60.0, 1000.0, 100.0)
    600.0
    """
    domain.positive("soft edge", penumbra_mm, "mm")
    domain.positive("distance from the light to what throws the shadow", source_distance_mm, "mm")
    domain.positive("distance from there to the surface", screen_distance_mm, "mm")
    return penumbra_mm * source_distance_mm / screen_distance_mm


def distance_for_penumbra_mm(penumbra_mm: float, source_width_mm: float, screen_distance_mm: float) -> float:
    """How near a light of this width has to stand for a soft edge of this width: D = w d / p.

    Arguments and ValueError cases as for `width_for_penumbra_mm`. Source: definition.

    >>> distance_for_penumbra_mm(60.0, 600.0, 100.0)
    1000.0
    """
    domain.positive("soft edge", penumbra_mm, "mm")
    domain.positive("width of the light", source_width_mm, "mm")
    domain.positive("distance from there to the surface", screen_distance_mm, "mm")
    return source_width_mm * screen_distance_mm / penumbra_mm

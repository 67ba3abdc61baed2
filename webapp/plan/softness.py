"""How soft a light is: how large it looks from the subject."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from webapp.optics import sources
from webapp.optics.assumptions import Assumption
from webapp.optics.sources import Point, Ring, Source
from webapp.optics.working import Relation, Step, Symbol
from webapp.plan.staging import UNKNOWN_AT_MM, PlanLight

RING_FILLS_IN: Final = Relation(
    result="distance from which the middle of a ring's light is no dark spot",
    unit="mm",
    formula="d = √((R_o² − k R_i²) / (k − 1)), k = (R_o/R_i)^(2/3)",
    latex=r"d = \sqrt{\frac{R_o^2 - k R_i^2}{k - 1}}, \quad k = \left( \frac{R_o}{R_i} \right)^{2/3}",
    symbols=(Symbol("R_o", "outer radius of the ring", "mm"), Symbol("R_i", "radius of its hole", "mm")),
    source="howell",
    assumptions=(Assumption.CURVATURE_TURNS,),
)


@dataclass(frozen=True, slots=True)
class Softness:
    """How large a light looks from the subject."""

    letter: str
    across_deg: float
    up_deg: float
    step: Step


def size_mm(source: Source) -> tuple[float, float]:
    """Width and height of a face; nothing for a lamp without size."""
    if isinstance(source, Point):
        return 0.0, 0.0
    if isinstance(source, sources.Rectangle):
        return source.width_mm, source.height_mm
    return source.diameter_mm, source.diameter_mm


def softness(light: PlanLight) -> Softness | None:
    """How large the light looks from the subject; None without a size, or at no distance."""
    if light.position is None or light.position.at.distance_mm < UNKNOWN_AT_MM or isinstance(light.source, Point):
        return None
    distance_mm = light.position.at.distance_mm
    across, up = (sources.angular_size_deg(size, distance_mm) for size in size_mm(light.source))
    larger_mm = max(size_mm(light.source))
    step = sources.ANGULAR_SIZE.worked(max(across, up), s=larger_mm, d=distance_mm)
    return Softness(light.letter, across, up, step)


def ring_fills_in_mm(ring: Ring) -> float:
    """The distance from which the middle of a ring's light is no dark spot: √((R_o² − k R_i²)/(k − 1)) with
    k = (R_o/R_i)^(2/3). For a narrow ring √2 times its radius; 0 without a hole.

    The light beside the axis is 1/2 [..] of the annulus (howell); its second derivative in the middle is
    proportional to R_i²/(d² + R_i²)³ − R_o²/(d² + R_o²)³, and vanishes there.

    >>> round(ring_fills_in_mm(Ring(110.0001, 109.9999)), 1)
    77.8
    """
    if ring.inner_diameter_mm <= 0.0:
        return 0.0
    outer, inner = ring.diameter_mm / 2.0, ring.inner_diameter_mm / 2.0
    if outer - inner < 1e-9 * outer:
        return math.sqrt(2.0) * outer
    k = (outer / inner) ** (2.0 / 3.0)
    return math.sqrt((outer**2 - k * inner**2) / (k - 1.0))

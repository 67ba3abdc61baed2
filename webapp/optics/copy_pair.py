"""Two equal lights at both sides of a flat original: how even they light it together.

The original lies square to the lens, its middle the origin. The lights stand at equal bearings from the lens's axis, as
high as its middle, and are aimed at a place beyond the middle, on the far half, or at the middle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from webapp.optics import domain
from webapp.optics.arrays import np
from webapp.optics.falloff import Evenness
from webapp.optics.turned_panel import TurnedPanel, least_over, together
from webapp.optics.working import Relation, Symbol

STEEPEST_DEG: Final = 80
# The best of these angles is looked for, in whole degrees: nearer the axis both lights shine off the lens.
FLATTEST_DEG: Final = 10

UNEVENNESS: Final = Relation(
    result="light at the brightest place against the darkest",
    unit="stops",
    formula="Δ = log2(e_most / e_least)",
    latex=r"\Delta = \log_2 \frac{e_{\mathrm{most}}}{e_{\mathrm{least}}}",
    symbols=(
        Symbol("e_most", "light of both at the brightest place, per intensity", "1/mm²"),
        Symbol("e_least", "light of both at the darkest place, per intensity", "1/mm²"),
    ),
    source="definition",
)


@dataclass(frozen=True, slots=True)
class CopyPair:
    """The pair: bearing of both, distance from the middle of the original, sides of each light, and how far beyond the
    middle each is aimed."""

    bearing_deg: float
    distance_mm: float
    light_width_mm: float
    light_height_mm: float
    aim_mm: float = 0.0

    @property
    def panels(self) -> tuple[TurnedPanel, TurnedPanel]:
        """Both lights. Raises ValueError for a bearing outside of 0 to below 90 degrees, or a length out of its domain."""
        domain.positive("distance to the lights", self.distance_mm, "mm")
        if not 0.0 <= self.bearing_deg < 90.0:
            raise ValueError(
                f"Lights at {self.bearing_deg:g}° from the lens axis do not reach the original; from 90° on they stand "
                "behind it. Give 0° to less than 90°."
            )
        angle = math.radians(self.bearing_deg)
        x, y = self.distance_mm * math.sin(angle), self.distance_mm * math.cos(angle)
        return self._panel(x, y, 1.0), self._panel(x, y, -1.0)

    def _panel(self, x: float, y: float, side: float) -> TurnedPanel:
        faces = (side * (-self.aim_mm - x), -y, 0.0)
        return TurnedPanel((side * x, y, 0.0), faces, self.light_width_mm, self.light_height_mm)


@dataclass(frozen=True, slots=True, eq=False)
class LightMap(Evenness):
    """The light over the original in stops against its middle, and what the middle gets."""

    middle: float


def light_map(
    pair: CopyPair, original_width_mm: float, original_height_mm: float, across: int = 9, up: int = 7
) -> LightMap:
    """How both lights together light the original, at `across` by `up` places from edge to edge.

    Odd numbers put one place in the middle. Raises ValueError for lengths out of their domain, where part of a light
    stands behind the original's plane, and where a place gets no light. Source: lambert-cosine.
    """
    domain.positive("width of the original", original_width_mm, "mm")
    domain.positive("height of the original", original_height_mm, "mm")
    across_mm = np.linspace(-original_width_mm / 2.0, original_width_mm / 2.0, across)
    up_mm = np.linspace(-original_height_mm / 2.0, original_height_mm / 2.0, up)
    x, z = np.meshgrid(across_mm, up_mm)
    places = np.stack([x.ravel(), np.zeros(x.size), z.ravel()], axis=1)
    places = np.vstack([places, (0.0, 0.0, 0.0)])
    light = together(pair.panels, places, np.broadcast_to((0.0, 1.0, 0.0), places.shape))
    if light.min() <= 0.0:
        raise ValueError("A part of the original gets no light; aim the lights nearer to its middle.")
    middle = float(light[-1])
    return LightMap(across_mm, up_mm, np.log2(light[:-1] / middle).reshape(x.shape), middle)


@dataclass(frozen=True, slots=True)
class Best:
    """The most even angle of a pair, in whole degrees, and the stops that it leaves between brightest and darkest."""

    bearing_deg: float
    range_stops: float


def best_bearing(pair: CopyPair, original_width_mm: float, original_height_mm: float, from_deg: float) -> Best:
    """The angle at which a pair at this distance, with this aim, lights the original most evenly, from `from_deg` on
    (where its reflection leaves the picture). Raises ValueError where no angle there can be had."""

    def spread(bearing_deg: int) -> float:
        turned = CopyPair(
            float(bearing_deg), pair.distance_mm, pair.light_width_mm, pair.light_height_mm, pair.aim_mm
        )
        try:
            return light_map(turned, original_width_mm, original_height_mm, 5, 5).range_stops
        except ValueError:
            return math.inf

    first = max(FLATTEST_DEG, math.ceil(from_deg))
    best = least_over(spread, first, STEEPEST_DEG) if first <= STEEPEST_DEG else None
    if best is None or not math.isfinite(spread(best)):
        raise ValueError(
            "At this distance no angle of the lights is both clear of the glare and in front of the original; move them "
            "further away."
        )
    return Best(float(best), spread(best))

"""Feathering: a soft light turned past a row of subjects, so that its nearer end gets less of it.

The row lies across the picture, its faces to the lens; the light stands at a bearing from the lens's axis, as high as
the row. Turned by 0 it is aimed at the middle of the row, and it is turned towards the lens, past the far end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from webapp.optics import domain
from webapp.optics.arrays import Floats, np
from webapp.optics.turned_panel import TurnedPanel, least_over, light_on_faces
from webapp.optics.working import Relation, Symbol

MOST_TURN_DEG: Final = 85.0
_PLACES: Final = 41

FALL_ACROSS: Final = Relation(
    result="light at the brightest place against the darkest",
    unit="stops",
    formula="Δ = log2(e_most / e_least)",
    latex=r"\Delta = \log_2 \frac{e_{\mathrm{most}}}{e_{\mathrm{least}}}",
    symbols=(
        Symbol("e_most", "light per intensity at the brightest place", "1/mm²"),
        Symbol("e_least", "light per intensity at the darkest place", "1/mm²"),
    ),
    source="definition",
)
COST: Final = Relation(
    result="light in the middle against that aimed at it",
    unit="stops",
    formula="Δ = log2(e_turned / e_aimed)",
    latex=r"\Delta = \log_2 \frac{e_{\mathrm{turned}}}{e_{\mathrm{aimed}}}",
    symbols=(
        Symbol("e_turned", "light per intensity in the middle, turned past it", "1/mm²"),
        Symbol("e_aimed", "light per intensity in the middle, aimed at it", "1/mm²"),
    ),
    source="definition",
)


@dataclass(frozen=True, slots=True, eq=False)
class Across:
    """The light along the row, per intensity in 1/mm², at places from the end away from the light to that near it."""

    places_mm: Floats
    light: Floats

    @property
    def fall_stops(self) -> float:
        """Brightest place minus darkest; without end where a place gets none."""
        least = float(self.light.min())
        return math.inf if least <= 0.0 else math.log2(float(self.light.max()) / least)

    @property
    def middle(self) -> float:
        return float(self.light[len(self.light) // 2])


def light_across(
    width_mm: float,
    height_mm: float,
    distance_mm: float,
    bearing_deg: float,
    row_mm: float,
    turn_deg: float = 0.0,
) -> Across:
    """The light of a panel along a row of faces that look at the lens.

    `distance_mm` is from the middle of the row to that of the panel, `bearing_deg` the panel's from the lens's axis,
    below 90; `turn_deg` as at the head of this module. Raises ValueError for lengths out of their domain, angles beyond
    theirs, and where part of the panel stands behind the row. Source: lambert-cosine.
    """
    domain.positive("distance to the light", distance_mm, "mm")
    domain.positive("width of the row", row_mm, "mm")
    if not 0.0 <= bearing_deg < 90.0:
        raise ValueError(
            f"A light at {bearing_deg:g}° from the lens axis does not reach faces that look at the lens from 90° on. "
            "Give 0° to less than 90°."
        )
    if not 0.0 <= turn_deg <= MOST_TURN_DEG:
        raise ValueError(
            f"Turned by {turn_deg:g}° the light would look away; from 85° on no panel reaches back. Give 0° to 85°."
        )
    stand, looks = math.radians(bearing_deg), math.radians(bearing_deg + 180.0 + turn_deg)
    panel = TurnedPanel(
        (distance_mm * math.sin(stand), distance_mm * math.cos(stand), 0.0),
        (math.sin(looks), math.cos(looks), 0.0),
        width_mm,
        height_mm,
    )
    places_mm = np.linspace(-row_mm / 2.0, row_mm / 2.0, _PLACES)
    places = np.stack([places_mm, np.zeros(_PLACES), np.zeros(_PLACES)], axis=1)
    normals = np.broadcast_to((0.0, 1.0, 0.0), places.shape)
    return Across(places_mm, light_on_faces(panel, places, normals))


def stops_between(light: float, other: float) -> float:
    """One light against another, both per intensity, in stops. Source: definition."""
    return math.log2(light / other)


def most_even_turn_deg(
    width_mm: float, height_mm: float, distance_mm: float, bearing_deg: float, row_mm: float
) -> float:
    """By how many whole degrees to turn a light past the row for the most even light along it; 0 where aiming at it is
    as even as it gets. Arguments and ValueError cases as for `light_across`."""

    def fall(turn_deg: int) -> float:
        try:
            return light_across(width_mm, height_mm, distance_mm, bearing_deg, row_mm, float(turn_deg)).fall_stops
        except ValueError:
            # A panel turned so far that its edge comes behind the row.
            return math.inf

    light_across(width_mm, height_mm, distance_mm, bearing_deg, row_mm)
    return float(least_over(fall, 0, int(MOST_TURN_DEG)))

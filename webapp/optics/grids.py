"""Grids, honeycombs and snoots: the beam that tubes let through.

A grid is a sheet of tubes, a snoot one large one. Seen from an angle off its axis, the far mouth of a tube stands beside
the near one, and light comes through where the two circles overlap; at the cut-off angle, whose tangent is the diameter
of a tube over its length, they part.
"""

from __future__ import annotations

import math
from typing import Final

from webapp.optics import domain
from webapp.optics.arrays import Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol

LET_THROUGH: Final = Relation(
    result="light that a grid lets through, against its axis",
    unit="",
    formula="T = (2/π) (acos x − x √(1 − x²)), x = tan θ / tan θ_c",
    latex=r"T = \frac{2}{\pi} \left( \arccos x - x \sqrt{1 - x^2} \right), \quad x = \frac{\tan\theta}{\tan\theta_c}",
    symbols=(
        Symbol("θ", "angle off the axis of the light", "°"),
        Symbol("θ_c", "cut-off angle of the grid, whose tangent is the tubes' diameter over their length", "°"),
    ),
    source="definition",
    assumptions=(Assumption.TUBES_ARE_BLACK,),
)


def let_through(beside: Floats, ahead: Floats, cutoff_deg: float) -> Floats:
    """The part of the light that tubes let through at places so far beside and ahead of them (in any one unit), against
    that on the axis: the part of a circle that another overlaps whose middle stands tan θ/tan θc diameters beside. It
    falls from 1 on the axis, nearly along a straight line at first, to 0 at the cut-off angle and beyond; 0 behind.

    Raises ValueError for an angle outside 0 to 90 degrees (both excluded). Source: definition.

    >>> [round(float(each), 3) for each in let_through(np.array([0.0, 0.5, 1.0]), np.ones(3), 45.0)]
    [1.0, 0.391, 0.0]
    """
    domain.positive("cut-off angle of the grid", cutoff_deg, "°")
    if cutoff_deg >= 90.0:
        raise ValueError(f"A grid cuts the light off at less than 90°, not at {cutoff_deg:g}°.")
    apart = beside / np.maximum(ahead, 1e-12) / math.tan(math.radians(cutoff_deg))
    x = np.clip(apart, 0.0, 1.0)
    through = (np.arccos(x) - x * np.sqrt(1.0 - x**2)) * 2.0 / math.pi
    return np.asarray(np.where(ahead > 0.0, through, 0.0))

"""A sweep: a sheet that lies on the table under the subject and curves up behind it, without an edge.

Seen from the side: the subject stands at 0, the table is the height 0, the lens at a distance D in front of it and at a
height H; the sheet lies flat to `behind` at its back, turns up along a quarter of a circle of radius R, and goes on
upright. Places on the sheet are told by the length along it from the subject's foot, + backwards.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from webapp.optics import domain
from webapp.optics.arrays import Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.turned_panel import TurnedPanel, light_on_faces
from webapp.optics.working import Relation, Symbol

_PLACES: Final = 61

ARC: Final = Relation(
    result="length of the curve",
    unit="mm",
    formula="c = π R / 2",
    latex=r"c = \frac{\pi R}{2}",
    symbols=(Symbol("R", "radius of the curve", "mm"),),
    source="definition",
)
LENGTH: Final = Relation(
    result="length of the sheet",
    unit="mm",
    formula="l = a + b",
    latex=r"l = a + b",
    symbols=(
        Symbol("a", "along the sheet from the subject to the front of the view", "mm"),
        Symbol("b", "along the sheet from the subject to the top of the view", "mm"),
    ),
    source="definition",
)
WIDTH: Final = Relation(
    result="width of the sheet",
    unit="mm",
    formula="W = F (D + z) / D",
    latex=r"W = \frac{F (D + z)}{D}",
    symbols=(
        Symbol("F", "width of the field at the subject", "mm"),
        Symbol("D", "distance from the lens to the subject", "mm"),
        Symbol("z", "how far behind the subject the sheet is still seen", "mm"),
    ),
    source="definition",
    assumptions=(Assumption.FROM_ENTRANCE_PUPIL,),
)
FALL: Final = Relation(
    result="light on the sheet at the top of the view against that under the subject",
    unit="stops",
    formula="Δ = log2(e_t / e_0)",
    latex=r"\Delta = \log_2 \frac{e_t}{e_0}",
    symbols=(
        Symbol("e_t", "light per intensity at the top of the view", "1/mm²"),
        Symbol("e_0", "light per intensity at the subject's foot", "1/mm²"),
    ),
    source="definition",
    assumptions=(Assumption.PANEL_GLOWS_EVENLY, Assumption.SHEET_IS_MATT),
)


@dataclass(frozen=True, slots=True)
class Sweep:
    """The sheet: how far it lies flat behind the subject, and the radius of its curve."""

    behind_mm: float
    radius_mm: float

    def __post_init__(self) -> None:
        domain.not_negative("flat part behind the subject", self.behind_mm, "mm")
        domain.positive("radius of the curve", self.radius_mm, "mm")

    @property
    def arc_mm(self) -> float:
        return math.pi * self.radius_mm / 2.0

    def place(self, along_mm: float) -> tuple[float, float]:
        """How far behind the subject and how high a place on the sheet lies."""
        turned = self._turned(along_mm)
        behind = min(along_mm, self.behind_mm) + self.radius_mm * math.sin(turned)
        above = self.radius_mm * (1.0 - math.cos(turned)) + max(0.0, along_mm - self.behind_mm - self.arc_mm)
        return behind, above

    def normal(self, along_mm: float) -> tuple[float, float]:
        """The way the sheet looks there: forwards and up."""
        turned = self._turned(along_mm)
        return math.sin(turned), math.cos(turned)

    def _turned(self, along_mm: float) -> float:
        return min(max((along_mm - self.behind_mm) / self.radius_mm, 0.0), math.pi / 2.0)


@dataclass(frozen=True, slots=True)
class View:
    """The lens: its distance in front of the subject and its height, both to the entrance pupil; the height it looks at,
    above the subject's foot; and the field at the subject."""

    distance_mm: float
    height_mm: float
    looks_at_mm: float
    field_width_mm: float
    field_height_mm: float

    def __post_init__(self) -> None:
        domain.positive("distance of the lens", self.distance_mm, "mm")
        domain.not_negative("height of the lens", self.height_mm, "mm")
        domain.not_negative("height that is looked at", self.looks_at_mm, "mm")
        domain.positive("width of the field", self.field_width_mm, "mm")
        domain.positive("height of the field", self.field_height_mm, "mm")

    @property
    def edge_slopes(self) -> tuple[float, float]:
        """How much the lower and the upper edge of the view rise towards the back, for each length."""
        axis = math.atan2(self.looks_at_mm - self.height_mm, self.distance_mm)
        way = math.hypot(self.looks_at_mm - self.height_mm, self.distance_mm)
        half = math.atan(self.field_height_mm / 2.0 / way)
        if axis + half >= math.pi / 2.0 or axis - half <= -math.pi / 2.0:
            raise ValueError("The view reaches straight up or down past the lens; move the lens back.")
        return math.tan(axis - half), math.tan(axis + half)


@dataclass(frozen=True, slots=True)
class Seen:
    """What the lens sees of the sheet: from which length in front of the subject (negative) to which behind; and how far
    behind and how high the top of the view meets it."""

    front_mm: float
    top_mm: float
    back_mm: float
    height_mm: float


def seen(sweep: Sweep, view: View) -> Seen:
    """Where both edges of the view meet the sheet; in front the subject's foot where the lower edge passes above it.
    Raises ValueError for a view that reaches straight up or down."""
    low, high = view.edge_slopes
    front = -view.distance_mm + view.height_mm / -low if low < 0.0 else math.inf
    top = _meets(sweep, view, high)
    return Seen(min(front, 0.0), top, *sweep.place(top))


def _meets(sweep: Sweep, view: View, slope: float) -> float:
    """Where a line of the view meets the sheet behind the subject, along it."""

    def above_sheet(along: float) -> float:
        behind, above = sweep.place(along)
        return view.height_mm + slope * (view.distance_mm + behind) - above

    low, high = 0.0, sweep.behind_mm + sweep.arc_mm
    back = sweep.behind_mm + sweep.radius_mm
    if above_sheet(high) > 0.0:
        # On the upright part, where the line's height is what it is.
        return high + view.height_mm + slope * (view.distance_mm + back) - sweep.radius_mm
    for _ in range(80):
        middle = (low + high) / 2.0
        low, high = (middle, high) if above_sheet(middle) > 0.0 else (low, middle)
    return (low + high) / 2.0


@dataclass(frozen=True, slots=True, eq=False)
class SheetLight:
    """The light along the sheet, in stops against that at the subject's foot."""

    along_mm: Floats
    stops: Floats
    at_foot: float
    at_top: float


def light_along(
    sweep: Sweep,
    found: Seen,
    light_height_mm: float,
    light_forward_mm: float,
    light_width_mm: float,
    light_depth_mm: float,
) -> SheetLight:
    """How a panel above the table, looking straight down, lights the sheet from the front of the view to its top.

    `light_height_mm` is from the table to the panel, `light_forward_mm` how far in front of the subject its middle
    hangs (negative behind), `light_depth_mm` its side from front to back. Raises ValueError where the sheet that is
    seen reaches up to the panel, or the panel hangs over the upright part. Source: lambert-cosine.
    """
    domain.positive("height of the light", light_height_mm, "mm")
    if found.height_mm >= light_height_mm:
        raise ValueError(
            f"The view goes up to {found.height_mm:g} mm, and the light hangs at {light_height_mm:g} mm: it would be in "
            "the picture. Hang it higher or look at a smaller field."
        )
    along = np.append(np.linspace(found.front_mm, found.top_mm, _PLACES), 0.0)
    places = np.asarray([(0.0, *_backwards(sweep.place(each))) for each in along])
    normals = np.asarray([(0.0, *sweep.normal(each)) for each in along])
    panel = TurnedPanel(
        (0.0, light_forward_mm, light_height_mm),
        (0.0, 0.0, -1.0),
        light_width_mm,
        light_depth_mm,
        up=(0.0, 1.0, 0.0),
    )
    light = light_on_faces(panel, places, normals)
    return SheetLight(along[:-1], np.log2(light[:-1] / light[-1]), float(light[-1]), float(light[-2]))


def _backwards(place: tuple[float, float]) -> tuple[float, float]:
    # The panel's axes run forwards and up.
    return -place[0], place[1]

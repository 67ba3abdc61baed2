"""A glass in front of a bright field, cut across: the rays of the lens, and the cards beside the field."""

from __future__ import annotations

import math
from typing import Final

from webapp.optics.glass_edges import ray_through
from webapp.quantities.lengths import Lengths
from webapp.web.drawings.drawing import Drawing
from webapp.web.drawings.plan import Plan
from webapp.web.words.worksheet_figures import length_text
from webapp.worksheets.glass import EdgeCardsAsks, glass_of
from webapp.worksheets.sheet import Sheet

_ROUND: Final = 48
# Rays drawn at these parts of the way from the middle to the dark edge.
_DRAWN: Final = (0.0, 0.5, 0.85)


def across_the_glass(asked: EdgeCardsAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    glass, b, half = glass_of(asked), asked.field_distance_mm, sheet.number("field_width_mm") / 2.0
    edge_place = min(glass.radius_mm - sheet.number("dark_edge_mm"), glass.radius_mm * (1.0 - 1e-6))
    wide = max(1.25 * half, 1.2 * glass.radius_mm)
    before = -1.8 * glass.radius_mm
    plan = Plan([(-wide, b), (wide, b), (0.0, before)], lengths)
    for radius in (glass.radius_mm, glass.inner_radius_mm):
        plan.line(
            [
                (radius * math.sin(math.tau * part / _ROUND), radius * math.cos(math.tau * part / _ROUND))
                for part in range(_ROUND + 1)
            ]
        )
    plan.line([(-half, b), (half, b)])
    for side in (-1.0, 1.0):
        ends = sorted((side * half, side * wide))
        thick = 0.02 * (b - before)
        plan.area([(ends[0], b), (ends[1], b), (ends[1], b + thick), (ends[0], b + thick)])
    for part in (*_DRAWN, 1.0):
        for side in (-1.0, 1.0):
            _ray(plan, asked, side, part * max(edge_place, 0.0), b, wide, before, "line" if part == 1.0 else "dotted")
    plan.label((0.0, b), f"bright field {length_text(2.0 * half, lengths)}", "above")
    plan.label((-half, b), "card", "below")
    plan.label((half, b), "card", "below")
    plan.label((glass.radius_mm, before), "from the lens", "right")
    return plan.done(
        "glass",
        "The glass cut across, lens below",
        f"The ray {length_text(sheet.number('dark_edge_mm'), lengths)} inside of the outline meets the end of a field "
        f"{length_text(2.0 * half, lengths)} wide; those further out meet the cards or pass them.",
    )


def _ray(
    plan: Plan, asked: EdgeCardsAsks, side: float, place: float, b: float, wide: float, before: float, kind: str
) -> None:
    glass = glass_of(asked)
    leaving = ray_through(glass, place)
    entry = (side * place, -math.sqrt(glass.radius_mm**2 - place**2))
    out = (side * leaving.x_mm, leaving.y_mm)
    points = [(side * place, before), entry, out]
    if abs(leaving.turn_deg) < 80.0:
        slope = math.tan(math.radians(leaving.turn_deg))
        # As far as the field, or the edge of the paper.
        way = b - leaving.y_mm
        end = leaving.x_mm - way * slope
        if abs(end) > wide:
            way = (leaving.x_mm - math.copysign(wide, end)) / slope
            end = math.copysign(wide, end)
        points.append((side * end, leaving.y_mm + way))
    plan.line(points, kind)

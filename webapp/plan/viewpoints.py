"""Where photos of the set were taken, on the plan: a numbered spot, and two lines that open the way the photo looks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

from webapp.optics.arrays import Floats, np
from webapp.plan.sheet import Sheet, line, text

_RADIUS: Final = 11.0
_SIGHT: Final = 34.0
_HALF_ANGLE_DEG: Final = 25.0


@dataclass(frozen=True, slots=True)
class Viewpoint:
    """A spot on the floor (millimetres from the middle of the subject), the way that is looked from it (degrees
    clockwise from the lens axis), its number, and what it is called. `href` is where it leads; without one it is the spot
    that a hand or the keys may move."""

    number: int
    x_mm: float
    y_mm: float
    looks_deg: float
    words: str
    href: str = ""

    @property
    def place(self) -> Floats:
        return np.array([self.x_mm, self.y_mm, 0.0])


def drawn(sheet: Sheet, viewpoints: Sequence[Viewpoint], key: str) -> str:
    """The spots on a plan from above."""
    return "".join(_drawn(sheet, each, key) for each in viewpoints)


def _drawn(sheet: Sheet, each: Viewpoint, key: str) -> str:
    x, y = sheet.at(each.place)
    sides = [math.radians(each.looks_deg + turn) for turn in (-_HALF_ANGLE_DEG, _HALF_ANGLE_DEG)]
    sight = "".join(
        line(
            [
                (x + _RADIUS * math.sin(a), y - _RADIUS * math.cos(a)),
                (x + _SIGHT * math.sin(a), y - _SIGHT * math.cos(a)),
            ]
        )
        for a in sides
    )
    spot = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{_RADIUS:g}" class="spot"/>'
    # Room for a finger around it.
    room = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="24" fill="transparent" stroke="none"/>'
    parts = room + sight + spot + text(x, y + 4.5, str(each.number), "middle")
    words = escape(each.words)
    if each.href:
        return f'<a class="viewpoint" href="{escape(each.href)}" aria-label="{words}">{parts}</a>'
    return (
        f'<g class="viewpoint here" id="{key}-viewpoint" tabindex="0" role="button" aria-label="{words}" '
        f'data-x="{each.x_mm:.1f}" data-y="{each.y_mm:.1f}" data-looks="{each.looks_deg:.1f}">{parts}</g>'
    )

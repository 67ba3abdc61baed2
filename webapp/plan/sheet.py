"""A view on the paper: which two directions of space it shows, and how places, lines and outlines come to lie on it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

from webapp.optics.arrays import Floats

PLAN: Final = (0, 1)
SIDE: Final = (1, 2)
"""The directions that the plan and the elevation show."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One view on the paper: which two directions of space it shows, and where their origin lies."""

    axes: tuple[int, int]
    left: float
    top: float
    scale: float

    def at(self, place: Floats) -> tuple[float, float]:
        """Where a place of the set lies on the paper."""
        return self.left + float(place[self.axes[0]]) * self.scale, self.top - float(place[self.axes[1]]) * self.scale

    def all_at(self, places: Floats) -> list[tuple[float, float]]:
        """The same of many places, one a row."""
        across, up = (places[:, axis] for axis in self.axes)
        return list(
            zip((self.left + across * self.scale).tolist(), (self.top - up * self.scale).tolist(), strict=True)
        )


def hull(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The outline around points on the paper (Andrew's monotone chain)."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return ordered
    halves: list[list[tuple[float, float]]] = []
    for run in (ordered, ordered[::-1]):
        half: list[tuple[float, float]] = []
        for x, y in run:
            while len(half) > 1:
                (one_x, one_y), (other_x, other_y) = half[-2:]
                if (other_x - one_x) * (y - one_y) > (other_y - one_y) * (x - one_x):
                    break
                half.pop()
            half.append((x, y))
        halves.append(half[:-1])
    return halves[0] + halves[1]


def shape(sheet: Sheet, places: Floats, extra: str = "") -> str:
    """The outline of places as it is seen in the view."""
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in hull(sheet.all_at(places)))
    return f'<polygon points="{points}"{extra}/>'


def line(ends: Iterable[tuple[float, float]], extra: str = "") -> str:
    """A line over the paper."""
    path = "L".join(f"{x:.1f} {y:.1f}" for x, y in ends)
    return f'<path d="M{path}"{extra}/>'


def text(x: float, y: float, words: str, anchor: str = "start", extra: str = "") -> str:
    """Words on the paper, the line of writing at y."""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="currentColor" stroke="none"{extra}>'
        f"{escape(words)}</text>"
    )

"""Drawings as a workshop would make them, as lists of simple shapes that one template prints as SVG.

Nothing here knows a colour: lines differ by their dashes, areas by their hatching, and the page's ink does the rest.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Final

TEXT_SIZE: Final = 12.0
# An average sans letter against its size; good enough to keep two words apart.
_LETTER: Final = 0.56


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points. `kind` is line, dashed, dotted, rule (a hairline) or dimension (ticked at its ends)."""

    points: tuple[tuple[float, float], ...]
    kind: str = "line"

    @property
    def path(self) -> str:
        return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in self.points)


@dataclass(frozen=True, slots=True)
class Area:
    """A closed outline: `kind` is plain, hatched, cross-hatched or dotted."""

    points: tuple[tuple[float, float], ...]
    kind: str = "plain"

    @property
    def path(self) -> str:
        return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in self.points) + "Z"


@dataclass(frozen=True, slots=True)
class Ring:
    """The small ring at the standing value."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Text:
    """Words at a place; `anchor` is start, middle or end, `kind` label or quiet."""

    x: float
    y: float
    words: str
    anchor: str = "start"
    kind: str = "label"


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing with its name and, for those who do not see it, what it shows."""

    key: str
    title: str
    description: str
    width: float
    height: float
    lines: tuple[Line, ...] = ()
    areas: tuple[Area, ...] = ()
    rings: tuple[Ring, ...] = ()
    texts: tuple[Text, ...] = ()


@dataclass(slots=True)
class Pencil:
    """Collects the shapes of a drawing."""

    lines: list[Line] = field(default_factory=list)
    areas: list[Area] = field(default_factory=list)
    rings: list[Ring] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)

    def line(self, points: Iterable[tuple[float, float]], kind: str = "line") -> None:
        self.lines.append(Line(tuple(points), kind))

    def box(self, x: float, y: float, width: float, height: float, kind: str = "plain") -> None:
        self.areas.append(Area(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), kind))

    def area(self, points: Iterable[tuple[float, float]], kind: str = "plain") -> None:
        self.areas.append(Area(tuple(points), kind))

    def ring(self, x: float, y: float) -> None:
        self.rings.append(Ring(x, y))

    def text(self, x: float, y: float, words: str, anchor: str = "start", kind: str = "label") -> None:
        self.texts.append(Text(x, y, words, anchor, kind))

    def _keep_apart(self, width: float, height: float) -> None:
        """Move words that overprint others, or the edge of the paper, by as little as it takes: first into the paper,
        then up or down."""
        placed: list[Text] = []
        for each in self.texts:
            inside = _within(each, width, height)
            steps = sorted(range(-_MOST_MOVES, _MOST_MOVES + 1), key=abs)
            tried = (replace(inside, y=inside.y + step * _MOVE) for step in steps)
            free = (one for one in tried if _fits(one, height) and not any(overlap(one, other) for other in placed))
            placed.append(next(free, inside))
        self.texts[:] = placed

    def dimension(self, start: float, end: float, y: float, words: str) -> None:
        """A level dimension line, ticked at its ends, with its length above it."""
        self.line([(start, y), (end, y)], "rule")
        for x in (start, end):
            self.line([(x - 3.0, y + 3.0), (x + 3.0, y - 3.0)])
        self.text((start + end) / 2.0, y - 4.0, words, "middle", "quiet")

    def done(self, key: str, title: str, description: str, width: float, height: float) -> Drawing:
        """The drawing, its words kept apart."""
        self._keep_apart(width, height)
        return Drawing(
            key, title, description, width, height,
            tuple(self.lines), tuple(self.areas), tuple(self.rings), tuple(self.texts),
        )  # fmt: skip


def text_width(words: str) -> float:
    """About how wide words come out."""
    return len(words) * TEXT_SIZE * _LETTER


_MOVE: Final = 3.0
_MOST_MOVES: Final = 40


def box_of(text: Text) -> tuple[float, float, float, float]:
    """About what words cover: left, top, right, bottom."""
    width = text_width(text.words)
    left = text.x - {"start": 0.0, "middle": width / 2.0, "end": width}[text.anchor]
    return left, text.y - 0.8 * TEXT_SIZE, left + width, text.y + 0.2 * TEXT_SIZE


def overlap(one: Text, other: Text) -> bool:
    """Whether two texts overprint each other."""
    left, top, right, bottom = box_of(one)
    other_left, other_top, other_right, other_bottom = box_of(other)
    return left < other_right and other_left < right and top < other_bottom and other_top < bottom


def _within(text: Text, width: float, height: float) -> Text:
    left, top, right, bottom = box_of(text)
    across = max(0.0, 2.0 - left) - max(0.0, right - width + 2.0)
    down = max(0.0, 2.0 - top) - max(0.0, bottom - height + 2.0)
    return replace(text, x=text.x + across, y=text.y + down)


def _fits(text: Text, height: float) -> bool:
    _, top, _, bottom = box_of(text)
    return top >= 0.0 and bottom <= height


def spread(places: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Places moved as little as it takes to stand `apart` from each other, in their order, between two ends."""
    order = sorted(range(len(places)), key=lambda index: places[index])
    moved = [min(max(place, low), high) for place in places]
    for before, after in pairwise(order):
        moved[after] = max(moved[after], moved[before] + apart)
    ceiling = high
    for index in reversed(order):
        moved[index] = min(moved[index], ceiling)
        ceiling = moved[index] - apart
    return moved

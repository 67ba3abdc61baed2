"""A dial laid out as a ladder: marks as rungs, the way from one to the other with its gaps counted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.optics.scales import Dial, Quantity, marks
from webapp.web.drawings.chart import MINUS
from webapp.web.drawings.drawing import Drawing, Pencil, text_width

_WIDTH: Final = 380.0
_ROW: Final = 64.0
_LEFT: Final = 84.0
_RIGHT: Final = 26.0
# Full-stop marks shown on each side of the way.
_BESIDE: Final = 1
# More rungs than this cannot be told apart.
_MOST_RUNGS: Final = 24


@dataclass(frozen=True, slots=True)
class Way:
    """From one place on a dial to another, in the dial's own stops; `rungs` are (place, words)."""

    title: str
    start: float
    end: float
    rungs: tuple[tuple[float, str], ...]
    change_stops: float


def camera_way(title: str, quantity: Quantity, start: float, end: float, change_stops: float) -> Way:
    """A way on a camera's dial, with the full-stop marks about it."""
    low, high = math.floor(min(start, end)) - _BESIDE, math.ceil(max(start, end)) + _BESIDE
    rungs = tuple((mark.stops, mark.text) for mark in marks(quantity, Dial.FULL) if low <= mark.stops <= high)
    return Way(title, start, end, rungs, change_stops)


def ladder(key: str, title: str, description: str, ways: Sequence[Way]) -> Drawing:
    """Draw the ways below each other."""
    pencil = Pencil()
    for row, way in enumerate(ways):
        _draw(pencil, way, 34.0 + row * _ROW)
    return pencil.done(key, title, description, _WIDTH, _ROW * len(ways) + 6.0)


def _draw(pencil: Pencil, way: Way, y: float) -> None:
    places = [place for place, _ in way.rungs] + [way.start, way.end]
    low, high = min(places), max(places)
    room = _WIDTH - _LEFT - _RIGHT

    def across(place: float) -> float:
        return _LEFT + ((place - low) / (high - low) if high > low else 0.5) * room

    pencil.text(4.0, y + 4.0, way.title)
    pencil.line([(across(low), y), (across(high), y)], "rule")
    rungs = way.rungs if len(way.rungs) <= _MOST_RUNGS else way.rungs[:: math.ceil(len(way.rungs) / _MOST_RUNGS)]
    last_end = -math.inf
    for place, words in rungs:
        x, width = across(place), text_width(words)
        pencil.line([(x, y - 5.0), (x, y + 5.0)], "rule")
        if x - width / 2.0 > last_end + 3.0:
            pencil.text(x, y + 20.0, words, "middle", "quiet")
            last_end = x + width / 2.0
    start, end = across(way.start), across(way.end)
    pencil.line([(start, y), (end, y)])
    pencil.ring(start, y)
    pencil.ring(end, y)
    if abs(end - start) > 1.0:
        tip = 6.0 if end < start else -6.0
        pencil.line([(end + tip * 1.8, y - 4.0), (end + tip * 0.7, y), (end + tip * 1.8, y + 4.0)])
    change = f"{way.change_stops:+.2f} stops".replace("-", MINUS) if abs(way.change_stops) >= 0.005 else "no change"
    pencil.text((start + end) / 2.0, y - 12.0, change, "middle")

"""A dial laid out as a ladder: marks as rungs, the way from one to the other with its gaps counted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.optics.scales import Dial, Quantity, marks
from webapp.quantities.powers import fraction_text
from webapp.web.drawings.drawing import Drawing, Pencil, text_width
from webapp.web.words.worksheet_figures import MINUS, signed_stops

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
    """From one place on a dial to another, in the dial's own stops; `rungs` are (place, words), `change` is what the way
    is, in `unit`; a `note` stands in its place where there is no way."""

    title: str
    start: float
    end: float
    rungs: tuple[tuple[float, str], ...]
    change: float
    unit: str = "stops"
    note: str | None = None

    @property
    def words(self) -> str:
        if self.note is not None:
            return self.note
        if self.unit != "stops":
            return f"{self.change:+.0f} {self.unit}".replace("-", MINUS)
        return f"{signed_stops(self.change)} stops" if abs(self.change) >= 0.005 else "no change"


def camera_way(title: str, quantity: Quantity, start: float, end: float, change_stops: float) -> Way:
    """A way on a camera's dial, with the full-stop marks about it."""
    low, high = math.floor(min(start, end)) - _BESIDE, math.ceil(max(start, end)) + _BESIDE
    rungs = tuple((mark.stops, mark.text) for mark in marks(quantity, Dial.FULL) if low <= mark.stops <= high)
    return Way(title, start, end, rungs, change_stops)


# So many full-stop rungs of a power dial are drawn at least.
_POWER_RUNGS: Final = 7


def power_way_between(start: float, end: float, lowest: float | None = None) -> Way:
    """A way on a power dial, in stops below full, down to its lowest mark where that is known."""
    if lowest is None:
        lowest = min(start, end, 1.0 - _POWER_RUNGS)
    rungs = tuple((float(place), fraction_text(place)) for place in range(math.ceil(lowest), 1))
    return Way("power", start, end, rungs, end - start)


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
    pencil.text((start + end) / 2.0, y - 12.0, way.words, "middle")

"""A chart: one line, one rule, labelled at the line, units on the axis, the standing value in a small ring."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.optics.scales import Dial, Quantity, marks
from webapp.web.drawings.drawing import TEXT_SIZE, Drawing, Pencil, spread, text_width
from webapp.web.words.worksheet_figures import MINUS

_WIDTH: Final = 380.0
_HEIGHT: Final = 250.0
_LEFT: Final = 46.0
_TOP: Final = 26.0
_BOTTOM: Final = 42.0
_MARGIN: Final = 12.0
_LINE_HEIGHT: Final = 15.0
_TICKS: Final = 5
F_NUMBER_TICKS: Final = tuple((mark.exact, mark.text) for mark in marks(Quantity.F_NUMBER, Dial.FULL))
SHUTTER_TICKS: Final = tuple((mark.exact, mark.text) for mark in marks(Quantity.SHUTTER, Dial.FULL))


@dataclass(frozen=True, slots=True)
class Curve:
    """A line of the chart. Points that are not finite are left out; one whose end is not at the right has no label."""

    label: str
    points: tuple[tuple[float, float], ...]
    kind: str = "line"


@dataclass(frozen=True, slots=True)
class Level:
    """A rule across the chart at a height that matters."""

    label: str
    y: float


@dataclass(frozen=True, slots=True)
class Axis:
    """What is measured along an edge. `ticks` are (place, words); None: round numbers are found."""

    title: str
    logarithmic: bool = False
    ticks: tuple[tuple[float, str], ...] | None = None
    ends: tuple[float, float] | None = None


def chart(
    key: str,
    title: str,
    description: str,
    x: Axis,
    y: Axis,
    curves: Sequence[Curve],
    rings: Sequence[tuple[float, float]] = (),
    levels: Sequence[Level] = (),
) -> Drawing:
    """Draw curves over two axes."""
    curves = [Curve(each.label, _finite(each.points, x, y), each.kind) for each in curves]
    curves = [each for each in curves if len(each.points) > 1]
    rings = _finite(rings, x, y)
    xs = [place for each in curves for place, _ in each.points] + [place for place, _ in rings]
    ys = [place for each in curves for _, place in each.points] + [place for _, place in rings]
    labels = [each.label for each in curves] + [each.label for each in levels]
    right = _WIDTH - _MARGIN - 3.0 - max(map(text_width, labels), default=0.0)
    across = _Scale(x, xs, _LEFT, right)
    up = _Scale(y, ys + [each.y for each in levels], _HEIGHT - _BOTTOM, _TOP)
    pencil = Pencil()
    _frame(pencil, x, y, across, up)
    for level in levels:
        pencil.line([(across.start, up(level.y)), (across.end, up(level.y))], "rule")
    for each in curves:
        pencil.line([(across(px), up(py)) for px, py in each.points], each.kind)
    for px, py in rings:
        pencil.ring(across(px), up(py))
    _labels(pencil, curves, levels, across, up)
    return pencil.done(key, title, description, _WIDTH, _HEIGHT)


def _finite(points: Sequence[tuple[float, float]], x: Axis, y: Axis) -> tuple[tuple[float, float], ...]:
    def shown(value: float, axis: Axis) -> bool:
        return math.isfinite(value) and (value > 0.0 or not axis.logarithmic)

    return tuple((px, py) for px, py in points if shown(px, x) and shown(py, y))


class _Scale:
    """Where a value stands on the paper."""

    def __init__(self, axis: Axis, values: Sequence[float], start: float, end: float) -> None:
        self.start, self.end = start, end
        low, high = axis.ends or (min(values, default=0.0), max(values, default=1.0))
        self._logarithmic = axis.logarithmic
        if axis.logarithmic:
            low, high = math.log10(low), math.log10(high)
        if high - low <= 1e-9 * max(abs(high), abs(low), 1e-9):
            low, high = low - 0.5, high + 0.5
        self.low, self.high = low, high

    def __call__(self, value: float) -> float:
        place = math.log10(value) if self._logarithmic else value
        part = (place - self.low) / (self.high - self.low)
        return self.start + min(max(part, 0.0), 1.0) * (self.end - self.start)

    def holds(self, value: float) -> bool:
        place = math.log10(value) if self._logarithmic else value
        slack = 1e-6 * (self.high - self.low)
        return self.low - slack <= place <= self.high + slack


def _frame(pencil: Pencil, x: Axis, y: Axis, across: _Scale, up: _Scale) -> None:
    bottom, left = up.start, across.start
    last_end = -math.inf
    for value, words in x.ticks if x.ticks is not None else _round_ticks(x, across):
        if not across.holds(value):
            continue
        place, width = across(value), text_width(words)
        pencil.line([(place, bottom), (place, bottom + 4.0)], "rule")
        if place - width / 2.0 > last_end + 4.0:
            pencil.text(place, bottom + 4.0 + TEXT_SIZE, words, "middle", "quiet")
            last_end = place + width / 2.0
    for value, words in y.ticks if y.ticks is not None else _round_ticks(y, up):
        if up.holds(value):
            pencil.line([(left, up(value)), (across.end, up(value))], "hair")
            pencil.text(left - 5.0, up(value) + 4.0, words, "end", "quiet")
    pencil.line([(left, bottom), (across.end, bottom)], "rule")
    pencil.text(left - 40.0, 12.0, y.title, "start", "quiet")
    pencil.text(across.end, _HEIGHT - 6.0, x.title, "end", "quiet")


def _labels(pencil: Pencil, curves: Sequence[Curve], levels: Sequence[Level], across: _Scale, up: _Scale) -> None:
    ends = [(up(each.points[-1][1]), each.label) for each in curves if each.label]
    ends += [(up(each.y), each.label) for each in levels]
    places = spread([place for place, _ in ends], _LINE_HEIGHT, up.end, up.start)
    for place, (_, label) in zip(places, ends, strict=True):
        pencil.text(across.end + 8.0, place + 4.0, label)


def _round_ticks(axis: Axis, scale: _Scale) -> list[tuple[float, str]]:
    values = _decades(scale.low, scale.high) if axis.logarithmic else _steps(scale.low, scale.high)
    return [(value, number_text(value)) for value in values]


def _decades(low: float, high: float) -> list[float]:
    parts = (1.0, 2.0, 5.0) if high - low < 3.0 else (1.0,)
    every = max(1, math.ceil((high - low) / 8.0))
    found = [
        part * 10.0**decade
        for decade in range(math.floor(low), math.ceil(high) + 1)
        if decade % every == 0
        for part in parts
    ]
    held = [value for value in found if low - 1e-9 <= math.log10(value) <= high + 1e-9]
    return held if len(held) > 1 else [10.0**value for value in _steps(low, high)]


def _steps(low: float, high: float) -> list[float]:
    rough = (high - low) / _TICKS
    decade = 10.0 ** math.floor(math.log10(rough))
    step = next(part * decade for part in (1.0, 2.0, 2.5, 5.0, 10.0) if part * decade >= rough * (1.0 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [index * step for index in range(first, math.floor(high / step + 1e-9) + 1)]


def number_text(value: float) -> str:
    """A number on an axis: few digits, a true minus.

    >>> number_text(-0.5), number_text(12000.0), number_text(2e-7)
    ('−0.5', '12 000', '2e−07')
    """
    rounded = float(f"{value:.4g}") + 0.0
    if rounded and not 1e-4 <= abs(rounded) < 1e7:
        return f"{rounded:g}".replace("-", MINUS)
    text = f"{rounded:,.6f}".rstrip("0").rstrip(".") if abs(rounded) < 1e4 else f"{rounded:,.0f}"
    return text.replace(",", " " if abs(rounded) >= 1e4 else "").replace("-", MINUS)


def between(low: float, high: float, count: int = 81, *, logarithmic: bool = False) -> list[float]:
    """Places from one end to the other, evenly along the axis."""
    if logarithmic:
        return [low * (high / low) ** (index / (count - 1)) for index in range(count)]
    return [low + (high - low) * index / (count - 1) for index in range(count)]

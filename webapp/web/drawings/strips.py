"""Ruled strips: a whole divided into its parts, told apart by hatching and by their letters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.web.drawings.drawing import Drawing, Pencil, spread, text_width
from webapp.web.words.figures import percent

_WIDTH: Final = 380.0
_LEFT: Final = 84.0
_RIGHT: Final = 12.0
_STRIP: Final = 30.0
_ROW: Final = 76.0
_TOP: Final = 10.0
_KINDS: Final = ("plain", "hatched", "dotted", "cross-hatched")


@dataclass(frozen=True, slots=True)
class Strip:
    """A row: its name and its (name, part) pairs; a part of 1 is the whole width."""

    title: str
    parts: tuple[tuple[str, float], ...]


def strips(key: str, title: str, description: str, rows: Sequence[Strip]) -> Drawing:
    """Draw the rows below each other. The same name has the same hatching in every row."""
    names = list(dict.fromkeys(name for row in rows for name, _ in row.parts))
    kinds = {name: _KINDS[index % len(_KINDS)] for index, name in enumerate(names)}
    pencil = Pencil()
    for index, row in enumerate(rows):
        _draw(pencil, row, kinds, _TOP + index * _ROW)
    return pencil.done(key, title, description, _WIDTH, _TOP + _ROW * len(rows))


def _draw(pencil: Pencil, row: Strip, kinds: dict[str, str], y: float) -> None:
    room = _WIDTH - _LEFT - _RIGHT
    pencil.text(4.0, y + _STRIP / 2.0 + 4.0, row.title)
    start = _LEFT
    labels: list[tuple[float, str]] = []
    for name, part in row.parts:
        width = part * room
        pencil.box(start, y, width, _STRIP, kinds[name])
        # A sliver is seen, and named in the list of figures.
        if width >= 2.0:
            labels.append((start + width / 2.0, f"{name} {percent(part)}"))
        start += width
    _labels(pencil, labels, y)


def _labels(pencil: Pencil, labels: list[tuple[float, str]], y: float) -> None:
    """On one line where there is room for all of them, else with their letters alone."""
    apart = max((text_width(words) for _, words in labels), default=0.0) + 6.0
    if apart * len(labels) > _WIDTH - _LEFT:
        labels = [(place, words.split()[0]) for place, words in labels]
        apart = max(text_width(words) for _, words in labels) + 4.0
    if apart * len(labels) > _WIDTH - _LEFT:
        return
    places = spread([place for place, _ in labels], apart, _LEFT + apart / 2.0 - 6.0, _WIDTH - apart / 2.0)
    for place, (middle, words) in zip(places, labels, strict=True):
        pencil.line([(middle, y + _STRIP), (middle, y + _STRIP + 4.0), (place, y + _STRIP + 10.0)], "rule")
        pencil.text(place, y + _STRIP + 22.0, words, "middle")

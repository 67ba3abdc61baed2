"""A set seen from above or from the side, to one scale: what is placed in millimetres lands on the paper."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

from webapp.quantities.lengths import Lengths
from webapp.web.drawings.drawing import Drawing, Pencil
from webapp.web.words.worksheet_figures import ruler

WIDTH: Final = 380.0
_HEIGHT: Final = 300.0
_MARGIN: Final = 26.0
_FOOT: Final = 26.0
# Of the width of the paper, at most, for the scale bar.
_BAR: Final = 0.4

Place = tuple[float, float]


class Plan:
    """Paper on which y runs up. It holds all of `places`; the scale bar stands below."""

    def __init__(self, places: Sequence[Place], lengths: Lengths, height: float = _HEIGHT) -> None:
        xs, ys = [x for x, _ in places], [y for _, y in places]
        self.pencil = Pencil()
        self.height = height
        self._lengths = lengths
        room_x, room_y = WIDTH - 2.0 * _MARGIN, height - 2.0 * _MARGIN - _FOOT
        self.scale = min(room_x / max(max(xs) - min(xs), 1e-9), room_y / max(max(ys) - min(ys), 1e-9))
        self._left = (WIDTH - (max(xs) - min(xs)) * self.scale) / 2.0 - min(xs) * self.scale
        self._top = _MARGIN + (room_y - (max(ys) - min(ys)) * self.scale) / 2.0 + max(ys) * self.scale

    def at(self, place: Place) -> Place:
        """Where a place stands on the paper."""
        return self._left + place[0] * self.scale, self._top - place[1] * self.scale

    def line(self, places: Iterable[Place], kind: str = "line") -> None:
        self.pencil.line([self.at(each) for each in places], kind)

    def area(self, places: Iterable[Place], kind: str = "hatched") -> None:
        self.pencil.area([self.at(each) for each in places], kind)

    def ring(self, place: Place) -> None:
        self.pencil.ring(*self.at(place))

    def label(self, place: Place, words: str, side: str = "right") -> None:
        """Words beside a place: at its right or left, above or below."""
        x, y = self.at(place)
        shift_x, shift_y, anchor = _SIDES[side]
        self.pencil.text(x + shift_x, y + shift_y, words, anchor)

    def done(self, key: str, title: str, description: str) -> Drawing:
        self._bar()
        return self.pencil.done(key, title, description, WIDTH, self.height)

    def _bar(self) -> None:
        longest_mm = WIDTH * _BAR / self.scale
        measure = ruler(self._lengths, longest_mm)
        size = _round_below(measure(longest_mm))
        length = size * measure.mm * self.scale
        y = self.height - 8.0
        self.pencil.line([(_MARGIN, y), (_MARGIN + length, y)])
        for x in (_MARGIN, _MARGIN + length):
            self.pencil.line([(x, y - 3.0), (x, y + 3.0)])
        self.pencil.text(_MARGIN + length + 6.0, y + 4.0, f"{size:g} {measure.unit}", "start", "quiet")


_SIDES: Final = {
    "right": (8.0, 4.0, "start"),
    "left": (-8.0, 4.0, "end"),
    "above": (0.0, -9.0, "middle"),
    "below": (0.0, 17.0, "middle"),
}


def _round_below(value: float) -> float:
    decade = 10.0 ** math.floor(math.log10(value))
    return float(max(part * decade for part in (1.0, 2.0, 5.0) if part * decade <= value * (1.0 + 1e-9)))


def turned(length: float, bearing_deg: float) -> Place:
    """A place by its distance and its bearing from straight up, + to the right."""
    angle = math.radians(bearing_deg)
    return length * math.sin(angle), length * math.cos(angle)


def panel(centre: Place, width: float, bearing_deg: float) -> tuple[Place, Place]:
    """The two ends of a panel, seen from above, whose face looks along a bearing."""
    x, y = turned(width / 2.0, bearing_deg + 90.0)
    return (centre[0] - x, centre[1] - y), (centre[0] + x, centre[1] + y)

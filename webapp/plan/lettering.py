"""Letters on a drawing: each is put where it prints over no other, or it is left out.

The boxes are reckoned from the number of letters, a little wide, since the reader's own font sets them. What is left
out of the drawing stands in the list beside it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from webapp.plan.sheet import text

Anchor = Literal["start", "middle", "end"]
LETTER_HEIGHT: Final = 13.0
_WIDTH_TO_HEIGHT: Final = 0.64
_ABOVE_LINE: Final = 0.95
_BELOW_LINE: Final = 0.27
_GAP: Final = 1.5


def width_of(words: str, size: float = LETTER_HEIGHT) -> float:
    """How wide words come out in most fonts, or a little more."""
    return size * _WIDTH_TO_HEIGHT * len(words)


def shortened(words: str, width: float, size: float = LETTER_HEIGHT) -> str:
    """As much of the words as has room.

    >>> shortened("Crackle-glazed tile", 200.0), shortened("Crackle-glazed tile", 100.0)
    ('Crackle-glazed tile', 'Crackle-gla…')
    """
    if width_of(words, size) <= width:
        return words
    return words[: max(int(width / (size * _WIDTH_TO_HEIGHT)) - 1, 0)].rstrip() + "…"


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the paper, turned by an angle about its middle."""

    x: float
    y: float
    half_width: float
    half_height: float
    angle_deg: float = 0.0

    def reach(self, x: float, y: float) -> float:
        """How far it reaches from its middle in a direction, which is one long."""
        cos, sin = math.cos(math.radians(self.angle_deg)), math.sin(math.radians(self.angle_deg))
        return self.half_width * abs(x * cos + y * sin) + self.half_height * abs(y * cos - x * sin)

    def overlaps(self, other: Box) -> bool:
        """Whether two boxes have paper in common: none of their sides parts them."""
        x, y = self.x - other.x, self.y - other.y
        if not self.angle_deg and not other.angle_deg:
            return abs(x) < self.half_width + other.half_width and abs(y) < self.half_height + other.half_height
        # A box is never longer from its middle than its two halves together.
        reach = self.half_width + self.half_height + other.half_width + other.half_height
        if abs(x) > reach or abs(y) > reach:
            return False
        for angle in {self.angle_deg % 90.0, other.angle_deg % 90.0}:
            cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
            for along, beside in ((cos, sin), (-sin, cos)):
                if abs(x * along + y * beside) >= self.reach(along, beside) + other.reach(along, beside):
                    return False
        return True


@dataclass(frozen=True, slots=True)
class Label:
    """Words with the place of their line of writing; turned, they turn about it."""

    words: str
    x: float
    y: float
    anchor: Anchor = "start"
    size: float = LETTER_HEIGHT
    angle_deg: float = 0.0
    style: str = ""

    def box(self) -> Box:
        width = width_of(self.words, self.size)
        along = {"start": width / 2.0, "middle": 0.0, "end": -width / 2.0}[self.anchor]
        off = self.size * (_BELOW_LINE - _ABOVE_LINE) / 2.0
        cos, sin = math.cos(math.radians(self.angle_deg)), math.sin(math.radians(self.angle_deg))
        return Box(
            self.x + along * cos - off * sin,
            self.y + along * sin + off * cos,
            width / 2.0 + _GAP,
            self.size * (_ABOVE_LINE + _BELOW_LINE) / 2.0,
            self.angle_deg,
        )

    def drawn(self) -> str:
        turn = f' transform="rotate({self.angle_deg:.1f} {self.x:.1f} {self.y:.1f})"' if self.angle_deg else ""
        size = f' font-size="{self.size:g}"' if self.size != LETTER_HEIGHT else ""
        return text(self.x, self.y, self.words, self.anchor, f"{self.style}{size}{turn}")


class Lettering:
    """What is taken on a sheet of a width, and where more may go."""

    def __init__(self, width: float) -> None:
        self.width = width
        self._taken: list[Box] = []

    @property
    def taken(self) -> tuple[Box, ...]:
        """Where there are letters already."""
        return tuple(self._taken)

    def take(self, box: Box) -> None:
        """Keep a place free of letters."""
        self._taken.append(box)

    def is_free(self, box: Box) -> bool:
        reach = box.reach(1.0, 0.0)
        on_paper = reach + 2.0 <= box.x <= self.width - 2.0 - reach
        return on_paper and not any(box.overlaps(each) for each in self._taken)

    def put(self, choices: Iterable[Label], rather_not: Sequence[Box] = ()) -> str:
        """The first of the places that is free, as it is drawn; nothing where none is. Those that lie on a box of
        `rather_not` come last."""
        second: tuple[Label, Box] | None = None
        for label in choices:
            box = label.box()
            if not self.is_free(box):
                continue
            if not any(box.overlaps(each) for each in rather_not):
                return self._put(label, box)
            second = second or (label, box)
        return "" if second is None else self._put(*second)

    def _put(self, label: Label, box: Box) -> str:
        self._taken.append(box)
        return label.drawn()


def box_around(corners: Sequence[tuple[float, float]]) -> Box:
    """The upright box that holds places on the paper."""
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return Box(
        (min(xs) + max(xs)) / 2.0, (min(ys) + max(ys)) / 2.0, (max(xs) - min(xs)) / 2.0, (max(ys) - min(ys)) / 2.0
    )


def around(words: str, corners: Sequence[tuple[float, float]], *, inside: bool, style: str) -> list[Label]:
    """The places for the name of a thing with this outline: inside its corners, where there is room for it, else
    beside it."""
    left, right = min(x for x, _ in corners), max(x for x, _ in corners)
    top, bottom = min(y for _, y in corners), max(y for _, y in corners)
    middle_x, middle_y = (left + right) / 2.0, (top + bottom) / 2.0
    size = 11.0
    wide, high = width_of(words, size) + 12.0, size + 8.0
    within: list[tuple[float, float, Anchor]] = []
    if inside and right - left > wide and bottom - top > high:
        within = [
            (left + 6.0, bottom - 6.0, "start"),
            (right - 6.0, bottom - 6.0, "end"),
            (left + 6.0, top + size + 3.0, "start"),
            (right - 6.0, top + size + 3.0, "end"),
        ]
    beside: list[tuple[float, float, Anchor]] = [
        (right + 5.0, middle_y + 4.0, "start"),
        (left - 5.0, middle_y + 4.0, "end"),
        (middle_x + 6.0, top - 5.0, "start"),
        (middle_x - 6.0, top - 5.0, "end"),
        (middle_x + 6.0, bottom + size + 2.0, "start"),
        (middle_x - 6.0, bottom + size + 2.0, "end"),
        (right + 5.0, top - 4.0, "start"),
        (left - 5.0, bottom + size, "end"),
    ]
    return [Label(words, x, y, anchor, size, style=style) for x, y, anchor in [*within, *beside]]

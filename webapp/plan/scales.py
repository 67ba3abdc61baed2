"""How large a drawing may be, and the scale to which it is drawn: any on a screen, a standard one on paper.

On paper the scale is the largest of the standard ones that fits, so that a scale rule can be laid on it: those of
ISO 5455 and of the triangular rules, or an architect's, where lengths are in feet and inches (both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

METRIC: Final = (
    0.2, 0.5, 1.0, 2.0, 2.5, 5.0, 7.5, 10.0, 20.0, 25.0, 30.0, 40.0, 50.0, 75.0, 100.0, 200.0, 250.0, 500.0, 1000.0, 2000.0,
)  # fmt: skip
"""How many times smaller the paper is than the set; 0.2 is five times larger."""
ARCHITECTS: Final = (
    0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 12.0, 16.0, 24.0, 32.0, 48.0, 64.0, 96.0, 128.0, 192.0, 384.0, 960.0, 1920.0,
)  # fmt: skip
"""1 : 12 is an inch to the foot, 1 : 96 an eighth of an inch."""


@dataclass(frozen=True, slots=True)
class Room:
    """What a drawing may take, in its own units, of which its letters are 13 high. `is_filled` has it always as high as
    it may be, so that nothing below it moves. `unit_mm` is the length of a unit on paper; None where it may have any."""

    width: float
    height: float
    is_filled: bool = False
    unit_mm: float | None = None

    def mm(self, length: float) -> float:
        """A length of the drawing on paper, in millimetres; 0 where it has no size of its own."""
        return length * (self.unit_mm or 0.0)


ON_SCREEN: Final = Room(720.0, 800.0, is_filled=True)
IN_THE_HAND: Final = Room(430.0, 560.0, is_filled=True)
"""On a phone the letters would be too small in the drawing for a screen."""
ON_PAPER: Final = Room(720.0, 920.0, unit_mm=0.25)
"""180 by 230 mm, on A4 and on Letter with its margins."""


def standard(fits: float, room: Room, *, inches: bool) -> tuple[float, float | None]:
    """The scale in units of the drawing to a millimetre of the set, where at most `fits` would have room, and how many
    times smaller the paper is than the set (None: not drawn to a stated scale).

    >>> standard(0.31, ON_SCREEN, inches=False)
    (0.31, None)
    >>> standard(0.31, ON_PAPER, inches=False), standard(0.31, ON_PAPER, inches=True)
    ((0.2, 20.0), (0.25, 16.0))
    """
    if room.unit_mm is None:
        return fits, None
    steps = ARCHITECTS if inches else METRIC
    times = next((each for each in steps if 1.0 / (each * room.unit_mm) <= fits), None)
    # A set that is wider than any town is drawn to what fits, and no rule is laid on it.
    return (fits, None) if times is None else (1.0 / (times * room.unit_mm), times)

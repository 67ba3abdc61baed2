"""Patches and readings: the values that measuring takes and gives. Imports nothing heavy."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from webapp.facts import Fact
from webapp.pictures.kinds import Kind


@dataclass(frozen=True, slots=True)
class Patch:
    """A named place in the upright picture; the sides are fractions of its width and height, from the top left.

    Raises ValueError for a side that is no number or a patch without an area.
    """

    name: str
    x: float
    y: float
    width: float
    height: float

    def __post_init__(self) -> None:
        if not all(math.isfinite(side) for side in (self.x, self.y, self.width, self.height)):
            raise ValueError(f"The patch “{self.name}” needs four numbers between 0 and 1.")
        if self.width <= 0 or self.height <= 0:
            raise ValueError(f"The patch “{self.name}” needs a width and a height above 0.")


MIDDLE: Final = Patch("middle", 0.4, 0.4, 0.2, 0.2)
"""What serves where no patch is drawn: the middle fifth of the picture each way."""

LUMINANCE_WEIGHTS: Final = (0.2126, 0.7152, 0.0722)
"""Of red, green and blue in the luminance of linear sRGB (source: iec-61966-2-1, after ITU-R BT.709)."""

HISTOGRAM_LOW_STOPS: Final = -16.0
HISTOGRAM_BINS: Final = 32
"""The histogram reaches from 16 stops below clipping up to it, in half stops; what is darker counts in the first."""


@dataclass(frozen=True, slots=True)
class ChannelReading:
    """One colour of a patch. `level` is linear light (1 is clipping), the shares are of its places."""

    channel: str
    level: float
    clipped_high_share: float
    clipped_low_share: float


@dataclass(frozen=True, slots=True)
class PatchReading:
    """What a patch of a picture file shows, in linear light as a share of saturation.

    `level` is the luminance of a rendered file (Rec. 709 weights) and the green of a raw one; `level_stops` is
    log2 of it: 0 is clipping, −3 three stops below. It is None where the level cannot be told from black;
    `at_most_stops` then is what the file proves. `noise` is the spread from place to place, `standard_error` that
    of the mean. `tolerance_stops` is how far the level may be off for what the file is; None where so much is
    clipped that nothing can be said. `estimated` is true for a rendered file, whose tone curve is not known.
    `patch` is what was measured, after clamping; `notes` is what has to be said beside it.
    """

    patch: Patch
    kind: Kind
    channels: tuple[ChannelReading, ...]
    level: float
    level_stops: float | None
    at_most_stops: float
    noise: float
    standard_error: float
    clipped_high_share: float
    clipped_low_share: float
    estimated: bool
    tolerance_stops: float | None
    histogram: tuple[float, ...]
    place_count: int
    notes: tuple[Fact, ...]

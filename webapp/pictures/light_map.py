"""The light of a whole picture by tiles: what is kept of it beside its patches. Imports nothing heavy.

The picture, upright, is parted into tiles, some thirty on its longer side, and each tile into cells, four by four. Kept
of a tile are the mean of each colour in linear light (1 is clipping), by how much noise leaves it uncertain, how much of
it is clipped, and its brightest cell, so that a lamp mirrored in a glaze is not lost in the mean of its surroundings.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property
from typing import TYPE_CHECKING, Final

from webapp.optics.arrays import Floats, np
from webapp.pictures.readings import LUMINANCE_WEIGHTS

if TYPE_CHECKING:
    from numpy.typing import NDArray

TILES_ON_LONGER_SIDE: Final = 30
CELLS_ON_SIDE: Final = 4
"""Cells of a tile, each way."""
MOST_COLOURS: Final = 4
_BYTES: Final = 2


class Extra(IntEnum):
    """What is kept of a tile behind its colours and their errors."""

    CLIPPED = 0
    PEAK = 1
    PEAK_ERROR = 2
    PEAK_CLIPPED = 3
    PEAK_AT = 4


@dataclass(frozen=True)
class Place:
    """A place in the upright picture; the sides are fractions of its width and height, from the top left."""

    x: float
    y: float
    width: float
    height: float

    @property
    def middle(self) -> tuple[float, float]:
        return self.x + self.width / 2.0, self.y + self.height / 2.0


@dataclass(frozen=True)
class LightMap:
    """The tiles of a picture. `figures` holds them as numbers of two bytes (IEEE 754 half precision, within 0.001 stop),
    plane after plane, each row by row: the colours, the error of each (one standard deviation), and `Extra`.

    Raises ValueError where the figures are not those of so many tiles.
    """

    columns: int
    rows: int
    channels: tuple[str, ...]
    figures: bytes

    def __post_init__(self) -> None:
        counts = (self.columns, self.rows, len(self.channels))
        if not (all(0 < count <= TILES_ON_LONGER_SIDE for count in counts[:2]) and 0 < counts[2] <= MOST_COLOURS):
            raise ValueError("That is no map of a picture's light.")
        if len(self.figures) != self.columns * self.rows * self.planes * _BYTES:
            raise ValueError("The map of a picture's light has not as many figures as it has tiles.")
        if not np.isfinite(self._all).all():
            raise ValueError("The map of a picture's light has a tile without a number.")

    @property
    def planes(self) -> int:
        return 2 * len(self.channels) + len(Extra)

    @cached_property
    def _all(self) -> Floats:
        flat = np.frombuffer(self.figures, dtype="<f2").astype(np.float64)
        return flat.reshape(self.planes, self.rows, self.columns)

    @property
    def levels(self) -> Floats:
        """The mean light of the tiles: colours x rows x columns."""
        return self._all[: len(self.channels)]

    @property
    def errors(self) -> Floats:
        """What noise leaves of each uncertain, likewise."""
        return self._all[len(self.channels) : 2 * len(self.channels)]

    def brightness(self, *, of_raw: bool) -> Floats:
        """The level of the tiles as readings and cells have it: green of a raw file, luminance of a rendered one."""
        weights: tuple[float, ...] = LUMINANCE_WEIGHTS
        if len(self.channels) == 1 or of_raw:
            weights = tuple(float(each in ("green", "grey")) for each in self.channels)
        found: Floats = np.tensordot(weights, self.levels, axes=1)
        return found

    def extra(self, which: Extra) -> Floats:
        """Rows x columns."""
        found: Floats = self._all[2 * len(self.channels) + which]
        return found

    def tile(self, row: int, column: int) -> Place:
        """Where a tile lies."""
        return Place(column / self.columns, row / self.rows, 1.0 / self.columns, 1.0 / self.rows)

    def brightest_cell(self, row: int, column: int) -> Place:
        """Where the brightest cell of a tile lies."""
        down, across = divmod(int(self.extra(Extra.PEAK_AT)[row, column]), CELLS_ON_SIDE)
        width, height = 1.0 / (self.columns * CELLS_ON_SIDE), 1.0 / (self.rows * CELLS_ON_SIDE)
        return Place(column / self.columns + across * width, row / self.rows + down * height, width, height)


def packed_figures(planes: NDArray[np.float64]) -> bytes:
    """Planes (planes x rows x columns) as `LightMap.figures`."""
    most = float(np.finfo(np.float16).max)
    return np.clip(planes, -most, most).astype("<f2").tobytes()

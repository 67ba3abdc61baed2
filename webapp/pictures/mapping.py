"""A decoded picture to the map of its light (`light_map`).

Read as patches are (`measure`): counts of a raw file less their black, each colour by itself; codes of a rendered file
at all their bits. Not every row is read: of a cell a few rows tell its mean as well as all of them, as its noise is
much less than what the kind of file leaves open.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from webapp.errors import PictureRefused
from webapp.optics.arrays import Floats
from webapp.pictures.colours import clipped_codes
from webapp.pictures.decode import RawPicture, upright
from webapp.pictures.light_map import CELLS_ON_SIDE, TILES_ON_LONGER_SIDE, LightMap, packed_figures
from webapp.pictures.readings import LUMINANCE_WEIGHTS
from webapp.pictures.stored import StoredPicture

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Sensors reach saturation over the last hundredth of their range rather than at one count.
RAW_CLIPPED_FROM: Final = 0.99
# Neighbours in a rendered file were mixed by demosaicing and compression; the next but one hardly.
_RENDERED_LAG: Final = 2
_LEAST_CELL_PX: Final = 2
_ROWS_OF_A_CELL: Final = 8
# Noise is the same in every row: one in so many tells it.
_NOISE_ROWS_APART: Final = 4
# Of normal noise: the mean of |a − b| is 2 sigma over the root of pi.
_SIGMA_OF_MEAN_STEP: Final = math.sqrt(math.pi) / 2.0


Light = Floats


def _as_counts(values: NDArray[Any]) -> NDArray[Any]:
    return values.astype(np.float32)


@dataclass(frozen=True, slots=True)
class _Cells:
    """What the cells of a picture hold of one colour, in the stored picture: the sum of their light, how much of it was
    read, how much of that is clipped, the sum of the steps from place to place, and how many those are."""

    light: Light
    count: Light
    clipped: Light
    steps: Light
    step_count: Light

    def added(self, other: _Cells) -> _Cells:
        return _Cells(*(getattr(self, name) + getattr(other, name) for name in self.__slots__))


class SampledRows:
    """The light of a rendered picture, taken from a few of its rows as they go by."""

    def __init__(self, picture: StoredPicture) -> None:
        self._picture = picture
        self._grid = _Grid.of(picture.width_px, picture.height_px, least_px=_LEAST_CELL_PX)
        if self._grid is None:
            return
        colours = picture.colours
        clipped_from, _ = clipped_codes(picture.clipping_white)
        self._wanted = self._grid.sampled_rows()
        self._row_of_cells = 0
        self._read: list[NDArray[Any]] = []
        self._sums = [
            _Sums(
                self._grid,
                light_of=partial(colours.channel_light, channel),
                clipped_from=clipped_from,
                lag=_RENDERED_LAG,
            )
            for channel in range(len(colours.curves))
        ]

    def add(self, codes: NDArray[Any], top: int) -> None:
        """The next rows of the stored picture, which begin at its row so many."""
        if self._grid is None:
            return
        while self._row_of_cells < len(self._wanted):
            wanted = self._wanted[self._row_of_cells]
            here = wanted[(wanted >= top) & (wanted < top + len(codes))]
            if not len(here):
                return
            self._read.append(codes[here - top])
            if here[-1] < wanted[-1]:
                return
            block = np.concatenate(self._read)
            for channel, sums in enumerate(self._sums):
                sums.add(self._row_of_cells, block[:, :, channel], block[:, :, channel - len(self._sums)])
            self._read.clear()
            self._row_of_cells += 1

    def light_map(self) -> LightMap | None:
        """The light of the picture by tiles, once all rows have gone by; None for one of too few pixels."""
        if self._grid is None:
            return None
        colours = self._picture.colours
        cells = _in_linear_srgb([sums.cells for sums in self._sums], colours.to_linear_srgb)
        weights = LUMINANCE_WEIGHTS if len(cells) == 3 else (1.0,)
        untold = colours.step_of_light(0.0)
        return _map_of(colours.channel_names, cells, weights, self._picture.orientation, untold)


def _in_linear_srgb(cells: list[_Cells], matrix: Light | None) -> list[_Cells]:
    """The cells of a picture's own channels as those of linear sRGB: light adds, and independent noise as its square."""
    if matrix is None:
        return cells
    own = [cells[0].light, cells[1].light, cells[2].light]
    steps = [each.steps for each in cells]
    return [
        replace(
            each,
            light=sum(part * light for part, light in zip(row, own, strict=True)),
            steps=np.sqrt(sum((part * step) ** 2 for part, step in zip(row, steps, strict=True))),
        )
        for row, each in zip(matrix, cells, strict=True)
    ]


def map_of_raw(raw: RawPicture) -> LightMap | None:
    """The light of a raw picture by tiles, in the colours of its sensor; None for one of too few pixels. Raises
    PictureRefused for colours that are none."""
    height, width = raw.counts.shape[:2]
    period = 1 if raw.pattern is None else raw.pattern.shape[0]
    grid = _Grid.of(width // period, height // period, least_px=1)
    if grid is None:
        return None
    wanted = grid.sampled_rows()
    found: dict[str, _Cells] = {}
    for colour, plane in _planes_of(raw, period, grid):
        black = raw.black[colour]
        scale = raw.white - black
        if scale < 1:
            raise PictureRefused("The raw file says that its white is no brighter than its black.")
        sums = _Sums(grid, light_of=_as_counts, clipped_from=black + RAW_CLIPPED_FROM * scale, lag=1)
        for row, here in enumerate(wanted):
            block = plane[here]
            sums.add(row, block, block)
        cells = sums.cells
        cells = replace(cells, light=(cells.light - black * cells.count) / scale, steps=cells.steps / scale)
        name = raw.channel_names[colour]
        found[name] = found[name].added(cells) if name in found else cells
    level = next((name for name in ("green", "grey") if name in found), None)
    if level is None:
        raise PictureRefused("The raw file is too small to be measured, or its colours are not red, green and blue.")
    weights = tuple(float(name == level) for name in found)
    untold = 0.5 / (raw.white - max(raw.black))
    return _map_of(tuple(found), list(found.values()), weights, raw.orientation, untold)


def _planes_of(raw: RawPicture, period: int, grid: _Grid) -> list[tuple[int, NDArray[np.uint16]]]:
    """The places of each colour of the pattern: (index of the colour, its counts), as many as the grid has."""
    if raw.pattern is None:
        return [(colour, raw.counts[:, :, colour]) for colour in range(len(raw.channel_names))]
    whole = raw.counts[: grid.height_px * period, : grid.width_px * period]
    return [
        (int(raw.pattern[row, column]), whole[row::period, column::period])
        for row in range(period)
        for column in range(period)
    ]


@dataclass(frozen=True, slots=True)
class _Grid:
    """How the stored picture is parted: the first pixel of each cell, down and across."""

    width_px: int
    height_px: int
    tops: NDArray[np.intp]
    lefts: NDArray[np.intp]

    @classmethod
    def of(cls, width_px: int, height_px: int, *, least_px: int) -> _Grid | None:
        if min(width_px, height_px) < CELLS_ON_SIDE * least_px:
            return None
        longer = max(width_px, height_px)
        tile_px = max(longer / TILES_ON_LONGER_SIDE, float(CELLS_ON_SIDE * least_px))
        return cls(width_px, height_px, _starts(height_px, tile_px), _starts(width_px, tile_px))

    def sampled_rows(self) -> list[NDArray[np.intp]]:
        """The rows that are read of each row of cells."""
        ends = [*self.tops[1:], self.height_px]
        chosen = []
        for top, end in zip(self.tops, ends, strict=True):
            count = min(int(end - top), _ROWS_OF_A_CELL)
            chosen.append((top + (np.arange(count) + 0.5) * (end - top) / count).astype(np.intp))
        return chosen


class _Sums:
    """The cells of one colour, added up a row of cells at a time. `light_of` is the light of its codes, `clipped_from` the
    code from which on they are clipped, `lag` how far a place is from the next that it shares nothing with."""

    def __init__(
        self, grid: _Grid, *, light_of: Callable[[NDArray[Any]], NDArray[Any]], clipped_from: float, lag: int
    ) -> None:
        self._lefts, self._light_of, self._clipped_from, self._lag = grid.lefts, light_of, clipped_from, lag
        self.cells = _Cells(*(np.zeros((len(grid.tops), len(grid.lefts))) for _ in _Cells.__slots__))
        self._widths = np.diff([*grid.lefts, grid.width_px])
        # The steps that begin in each cell and end within the picture.
        self._pairs = np.diff([*np.minimum(grid.lefts, grid.width_px - lag), grid.width_px - lag])

    def add(self, row: int, block: NDArray[Any], clips: NDArray[Any]) -> None:
        """What was read of a row of cells; `clips` tells clipping."""
        cells, lag = self.cells, self._lag
        seen = self._light_of(block)
        cells.light[row] = np.add.reduceat(seen.sum(axis=0, dtype=np.float64), self._lefts)
        cells.count[row] = len(block) * self._widths
        high = clips >= self._clipped_from
        if high.any():
            cells.clipped[row] = np.add.reduceat(high.sum(axis=0, dtype=np.float64), self._lefts)
        if seen.shape[1] > lag:
            sample = seen[::_NOISE_ROWS_APART]
            step = np.abs(sample[:, lag:] - sample[:, :-lag]).sum(axis=0, dtype=np.float64)
            cells.steps[row] = np.add.reduceat(np.concatenate([step, np.zeros(lag)]), self._lefts)
            cells.step_count[row] = len(sample) * self._pairs


def _starts(size_px: int, tile_px: float) -> NDArray[np.intp]:
    tiles = min(max(1, round(size_px / tile_px)), size_px // CELLS_ON_SIDE, TILES_ON_LONGER_SIDE)
    cells = tiles * CELLS_ON_SIDE
    return np.round(np.arange(cells) * size_px / cells).astype(np.intp)


def _map_of(
    names: tuple[str, ...],
    cells: list[_Cells],
    weights: tuple[float, ...],
    orientation: int,
    untold: float,
) -> LightMap:
    """Put a map together, upright. `untold` is the light by which the file's own black may be off."""
    turned = [
        _Cells(*(upright(getattr(each, name)[:, :, np.newaxis], orientation)[:, :, 0] for name in _Cells.__slots__))
        for each in cells
    ]
    levels, errors = zip(*(_levels_of(_tiles(each), untold) for each in turned), strict=True)
    in_cells = [_levels_of(each, untold) for each in turned]
    level = sum(weight * each for weight, (each, _) in zip(weights, in_cells, strict=True))
    error = np.sqrt(sum((weight * each) ** 2 for weight, (_, each) in zip(weights, in_cells, strict=True)))
    clipped = np.max([each.clipped / each.count for each in turned], axis=0)
    whole = np.max([each.clipped / each.count for each in map(_tiles, turned)], axis=0)
    # Brighter than clipping is not to be told: of cells that clip, the most clipped one.
    at = _parted(np.asarray(level) + clipped).argmax(axis=2)
    peaks = [
        np.take_along_axis(_parted(each), at[:, :, np.newaxis], axis=2)[:, :, 0] for each in (level, error, clipped)
    ]
    rows, columns = at.shape
    return LightMap(columns, rows, names, packed_figures(np.array([*levels, *errors, whole, *peaks, at])))


def _levels_of(cells: _Cells, untold: float) -> tuple[Light, Light]:
    """The mean light of each, and its error."""
    noise = _SIGMA_OF_MEAN_STEP * cells.steps / np.maximum(cells.step_count, 1.0)
    return cells.light / cells.count, np.hypot(noise / np.sqrt(cells.count), untold / 2.0)


def _tiles(cells: _Cells) -> _Cells:
    return _Cells(*(_parted(getattr(cells, name)).sum(axis=2) for name in _Cells.__slots__))


def _parted(plane: Any) -> NDArray[Any]:
    """The cells of each tile: rows x columns of tiles x cells, those row by row."""
    rows, columns = (side // CELLS_ON_SIDE for side in plane.shape)
    parted = plane.reshape(rows, CELLS_ON_SIDE, columns, CELLS_ON_SIDE).swapaxes(1, 2)
    cells: NDArray[Any] = parted.reshape(rows, columns, CELLS_ON_SIDE**2)
    return cells

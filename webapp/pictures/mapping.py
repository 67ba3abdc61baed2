"""A decoded picture to the map of its light (`light_map`).

Read as patches are (`measure`): counts of a raw file less their black, each colour by itself; codes of a rendered file
by the sRGB curve. Not every row is read: of a cell a few rows tell its mean as well as all of them, as its noise is
much less than what the kind of file leaves open.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from webapp.errors import PictureRefused
from webapp.pictures.decode import Light, RawPicture, RenderedPicture, light_from_srgb, to_srgb, upright
from webapp.pictures.light_map import CELLS_ON_SIDE, TILES_ON_LONGER_SIDE, LightMap, packed_figures
from webapp.pictures.readings import LUMINANCE_WEIGHTS

if TYPE_CHECKING:
    from numpy.typing import NDArray

# A JPEG's own rounding moves a blown or black code by one; with more than 8 bits the same part of the scale counts.
CLIPPED_HIGH: Final = 253.5 / 255.0
# Sensors reach saturation over the last hundredth of their range rather than at one count.
RAW_CLIPPED_FROM: Final = 0.99
# Neighbours in a rendered file were mixed by demosaicing and compression; the next but one hardly.
_RENDERED_LAG: Final = 2
_LEAST_CELL_PX: Final = 2
_ROWS_OF_A_CELL: Final = 12
# Noise is the same in every row: one in so many tells it.
_NOISE_ROWS_APART: Final = 4
# Of normal noise: the mean of |a − b| is 2 sigma over the root of pi.
_SIGMA_OF_MEAN_STEP: Final = math.sqrt(math.pi) / 2.0


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


def map_of_rendered(picture: RenderedPicture) -> LightMap | None:
    """The light of a rendered picture by tiles; None for one of too few pixels."""
    width, height = picture.image.size
    grid = _Grid.of(width, height, least_px=_LEAST_CELL_PX)
    if grid is None:
        return None
    if grid is None:
        return None
    rows, of_cell = grid.sampled_rows()
    # Row by row: as one array the whole picture would be copied for what is read of it.
    codes = np.concatenate([np.asarray(picture.image.crop((0, row, width, row + 1))) for row in rows.tolist()])
    clipped_from = CLIPPED_HIGH * picture.white_code
    stored = codes.reshape(*codes.shape[:2], -1)
    if picture.profile is not None:
        from PIL import Image

        mode = picture.image.mode
        codes = np.asarray(to_srgb(Image.fromarray(codes, mode if mode == "CMYK" else None), picture.profile))
        codes = codes.reshape(*codes.shape[:2], -1)
        if mode == "CMYK":
            stored = codes
    else:
        codes = stored
    table = _table_of(picture).astype(np.float32)
    cells = [
        grid.cells_of(
            codes[:, :, band],
            of_cell,
            table=table,
            clipped_from=clipped_from,
            clips=stored[:, :, min(band, stored.shape[2] - 1)],
            lag=_RENDERED_LAG,
        )
        for band in range(codes.shape[2])
    ]
    names = ("red", "green", "blue") if len(cells) == 3 else ("grey",)
    weights = LUMINANCE_WEIGHTS if len(cells) == 3 else (1.0,)
    untold = 0.5 / picture.code_steps / 12.92
    return _map_of(names, cells, weights, picture.orientation, untold)


def _table_of(picture: RenderedPicture) -> Light:
    """The light of each code, in sRGB where the picture has a profile of its own."""
    if picture.image.mode.startswith("I;16"):
        return light_from_srgb(np.minimum(np.arange(65536) / picture.white_code, 1.0))
    return picture.light_of_codes


def map_of_raw(raw: RawPicture) -> LightMap | None:
    """The light of a raw picture by tiles, in the colours of its sensor; None for one of too few pixels. Raises
    PictureRefused for colours that are none."""
    height, width = raw.counts.shape[:2]
    period = 1 if raw.pattern is None else raw.pattern.shape[0]
    grid = _Grid.of(width // period, height // period, least_px=1)
    if grid is None:
        return None
    if grid is None:
        return None
    rows, of_cell = grid.sampled_rows()
    found: dict[str, _Cells] = {}
    for colour, plane in _planes_of(raw, period, grid):
        black = raw.black[colour]
        scale = raw.white - black
        if scale < 1:
            raise PictureRefused("The raw file says that its white is no brighter than its black.")
        cells = grid.cells_of(
            plane[rows],
            of_cell,
            table=None,
            clipped_from=black + RAW_CLIPPED_FROM * scale,
            clips=None,
            lag=1,
        )
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

    def sampled_rows(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """The rows that are read, and where those of each cell begin among them."""
        ends = [*self.tops[1:], self.height_px]
        chosen = []
        for top, end in zip(self.tops, ends, strict=True):
            count = min(int(end - top), _ROWS_OF_A_CELL)
            chosen.append(top + (np.arange(count) + 0.5) * (end - top) / count)
        begins = np.cumsum([0, *(len(each) for each in chosen[:-1])])
        return np.concatenate(chosen).astype(np.intp), begins

    def cells_of(
        self,
        values: NDArray[Any],
        of_cell: NDArray[np.intp],
        *,
        table: NDArray[np.float32] | None,
        clipped_from: float,
        clips: NDArray[Any] | None,
        lag: int,
    ) -> _Cells:
        """Add up the rows that were read of one colour; `table` is the light of its codes, None for counts, and `clips`
        what tells clipping where that is not the values themselves."""
        shape = len(self.tops), len(self.lefts)
        light, clipped, steps, step_count = (np.zeros(shape) for _ in range(4))
        ends = [*of_cell[1:], len(values)]
        widths = np.diff([*self.lefts, self.width_px])
        count = np.outer(np.diff([*of_cell, len(values)]), widths).astype(np.float64)
        # The steps that begin in each cell and end within the picture.
        pairs = np.diff([*np.minimum(self.lefts, self.width_px - lag), self.width_px - lag])
        for row, (begin, end) in enumerate(zip(of_cell, ends, strict=True)):
            block = values[begin:end]
            seen = table[block] if table is not None else block.astype(np.float32)
            light[row] = np.add.reduceat(seen.sum(axis=0, dtype=np.float64), self.lefts)
            high = (block if clips is None else clips[begin:end]) >= clipped_from
            if high.any():
                clipped[row] = np.add.reduceat(high.sum(axis=0, dtype=np.float64), self.lefts)
            if seen.shape[1] > lag:
                sample = seen[::_NOISE_ROWS_APART]
                step = np.abs(sample[:, lag:] - sample[:, :-lag]).sum(axis=0, dtype=np.float64)
                padded = np.concatenate([step, np.zeros(lag)])
                steps[row] = np.add.reduceat(padded, self.lefts)
                step_count[row] = len(sample) * pairs
        return _Cells(light, count, clipped, steps, step_count)


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

"""Where a picture is sharp: local contrast by tile, and what another picture gained or lost against it.

The local contrast of a tile is the root mean square of its brightness steps from pixel to pixel, over its mean
brightness, in linear light:

    C = sqrt(G) / L

Light scales both alike, so that exposure takes no part. G comes from the central differences g, across and down, by
two ways that keep noise out, and the larger holds:

- mean(g(y) g(y + 2)): noise of one row knows nothing of the next but one, where an edge or a texture goes on;
- mean(g²) less the noise, where it is more than twice as much: the way that sees detail as fine as single pixels. For
  noise is taken by how much mean(g²) passes the product of two rows in the smoothest tiles of that brightness.

Two pictures are compared in stops of contrast, log2(C2 / C1), at the tiles where either shows detail. The figures
are a measure, not a standard; the thresholds are common practice.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from webapp.errors import PictureRefused
from webapp.optics.arrays import np
from webapp.pictures.colours import light_from_srgb
from webapp.pictures.kinds import kind_of
from webapp.pictures.pillow import broken, refusing
from webapp.pictures.pyramid import streamed
from webapp.pictures.vips import rows_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

TILES_ON_LONGER_SIDE: Final = 36
LEAST_CONTRAST: Final = 0.004
"""Below this a tile has no detail to be sharp or soft: a smooth surface, or the marks of compression."""
TOLD_FROM_STOPS: Final = 0.3
"""A smaller change of contrast is neither gain nor loss."""
_LEAST_TILE_PX: Final = 8
_REDUCING_SHARE: Final = 0.8
"""So much of the time of a picture that is reduced goes into reducing it."""
_LEAST_STEP: Final = 0.02
_SMALLEST_PX: Final = 64
_DARKEST: Final = 2.0**-8
_CLIPPED_CODE: Final = 254
_MOST_CLIPPED: Final = 0.01
_LUMINANCE: Final = (0.2126, 0.7152, 0.0722)
# Demosaicing and compression mix neighbours in a rendered file; the next but one hardly (common practice).
_ROWS_APART: Final = 2
_ERRORS_TO_BE_TOLD: Final = 4.0
# Neighbouring products share their pixels, so that there are fewer of them than are counted.
_PRODUCTS_SHARED_BY: Final = 6.0
_NOISE_TO_BE_PASSED: Final = 2.0
_READ_NOISE_LIGHT: Final = 0.01
# Noise of 4 % of the light at mid-tone: 2 (0.04 × 0.18)² for a central difference, over that light.
_MOST_NOISE: Final = 2.0 * (0.04 * 0.18) ** 2 / 0.18


@dataclass(frozen=True, slots=True)
class SharpnessMap:
    """Local contrast by tile, row by row from the top left, at `longest_px` on the longer side.

    `contrast` has LEAST_CONTRAST where the tile shows less. A tile that is
    not `told` shows no detail; one that is not `fair` is too dark or too much clipped to say.
    """

    columns: int
    rows: int
    longest_px: int
    contrast: tuple[float, ...]
    told: tuple[bool, ...]
    fair: tuple[bool, ...]

    @classmethod
    def from_json(cls, told: dict[str, Any]) -> SharpnessMap:
        """A map as `dataclasses.asdict` and JSON left it."""
        lists = {name: tuple(told[name]) for name in ("contrast", "told", "fair")}
        return cls(told["columns"], told["rows"], told["longest_px"], **lists)

    @property
    def sharp_share(self) -> float:
        """The share of the tiles that shows detail."""
        return sum(self.told) / len(self.told)


def sharpness_of(path: Path, longest_px: int | None = None, so_far: Path | None = None) -> SharpnessMap:
    """The map of a picture file; reduced first where `longest_px` is below its own pixels, so that two pictures of
    different cameras are compared on the same scale. `so_far` is where the share that is measured is written while it
    grows, for `share_measured`.

    Raises PictureRefused where the file is broken or too small, TooLarge past the limit of pixels, ValueError for a
    length below 64.
    """
    if longest_px is not None and longest_px < _SMALLEST_PX:
        raise _too_small(ValueError)
    kind = kind_of(path)
    written = _Written(so_far)
    with streamed(path, kind) as image, refusing(broken(kind)):
        longest = max(image.width, image.height)
        if longest_px is not None and longest > longest_px:
            # Reducing reads the rows of a band again; the reduced picture is small enough to be kept.
            image = image.resize(longest_px / longest)
            image.set_progress(True)
            image.signal_connect("eval", lambda _, done: written.to(_REDUCING_SHARE * done.percent / 100.0))
            image = image.copy_memory()
        width, height = image.width, image.height
        if min(width, height) < _SMALLEST_PX:
            raise _too_small(PictureRefused)

        rows = rows_of(image)
        begun = written.share

        def strip(top: int, bottom: int) -> NDArray[np.uint8]:
            written.to(begun + (1.0 - begun) * top / height)
            return rows(0, top, width, bottom)

        return _mapped(width, height, strip)


def share_measured(so_far: Path) -> float:
    """The share of a picture that is measured, 0 to 1, as it is written in `so_far`; 0 where that has not begun."""
    try:
        return float(so_far.read_text())
    except (FileNotFoundError, ValueError):
        return 0.0


class _Written:
    """A share that grows, written down in steps that are worth the writing."""

    def __init__(self, so_far: Path | None) -> None:
        self._so_far = so_far
        self.share = 0.0

    def to(self, share: float) -> None:
        if share < self.share + _LEAST_STEP:
            return
        self.share = share
        if self._so_far is not None:
            self._so_far.write_text(f"{share:.2f}")


def _too_small(error: type[Exception]) -> Exception:
    return error("A picture below 64 pixels a side is too small to be told sharp or soft.")


def _mapped(width: int, height: int, strip: Callable[[int, int], NDArray[np.uint8]]) -> SharpnessMap:
    tile_px = max(_LEAST_TILE_PX, math.ceil(max(width, height) / TILES_ON_LONGER_SIDE))
    columns, rows = max(1, width // tile_px), max(1, height // tile_px)
    column_edges = [round(width * column / columns) for column in range(columns + 1)]
    row_edges = [round(height * row / rows) for row in range(rows + 1)]
    tiles: list[_Tiles] = []
    for top, bottom in pairwise(row_edges):
        tiles.append(_tiles_of(strip(top, bottom), column_edges))
    joined = {name: np.concatenate([getattr(each, name) for each in tiles]) for name in _Tiles.__slots__}
    fair = (joined["level"] >= _DARKEST) & (joined["clipped"] <= _MOST_CLIPPED)
    certain = joined["power"] > _ERRORS_TO_BE_TOLD * joined["error"]
    by_rows = np.where(certain, joined["power"], 0.0)
    noise = _noise_of_smoothest(joined["level"], joined["steps"] - joined["power"], fair)
    over_noise = np.where(joined["steps"] > _NOISE_TO_BE_PASSED * noise, joined["steps"] - noise, 0.0)
    contrast = np.sqrt(np.maximum(by_rows, over_noise)) / np.maximum(joined["level"], _DARKEST)
    told = fair & (contrast > LEAST_CONTRAST)
    return SharpnessMap(
        columns=columns,
        rows=rows,
        longest_px=max(width, height),
        contrast=tuple(np.where(told, contrast, LEAST_CONTRAST).round(6).tolist()),
        told=tuple(told.tolist()),
        fair=tuple(fair.tolist()),
    )


def _noise_of_smoothest(
    level: NDArray[np.float64], unshared: NDArray[np.float64], fair: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """The mean square step that noise makes at each tile's brightness: shot noise, whose square grows with the light,
    as the smoothest twentieth of the tiles has it, and no more than a usual sensor's."""
    if not fair.any():
        return np.zeros_like(level)
    per_light = np.maximum(unshared[fair], 0.0) / (level[fair] + _READ_NOISE_LIGHT)
    found: NDArray[np.float64] = min(float(np.quantile(per_light, 0.05)), _MOST_NOISE) * (level + _READ_NOISE_LIGHT)
    return found


@dataclass(frozen=True, slots=True)
class _Tiles:
    """One row of tiles: mean light, mean square step, mean product of steps two rows apart with its standard error,
    and the clipped share."""

    level: NDArray[np.float64]
    steps: NDArray[np.float64]
    power: NDArray[np.float64]
    error: NDArray[np.float64]
    clipped: NDArray[np.float64]


@cache
def _tables() -> tuple[NDArray[np.float32], ...]:
    """By colour, the luminance of each code."""
    light = light_from_srgb(np.arange(256) / 255.0)
    return tuple((light * weight).astype(np.float32) for weight in _LUMINANCE)


def _tiles_of(codes: NDArray[np.uint8], edges: list[int]) -> _Tiles:
    red, green, blue = _tables()
    light = red[codes[:, :, 0]]
    light += green[codes[:, :, 1]]
    light += blue[codes[:, :, 2]]
    across = light[:, 2:] - light[:, :-2]
    down = light[2:] - light[:-2]
    products = (across[:-_ROWS_APART] * across[_ROWS_APART:], down[:, :-_ROWS_APART] * down[:, _ROWS_APART:])
    sums, squares, counts = (np.zeros(len(edges) - 1) for _ in range(3))
    for product in products:
        sums += _by_tile(product, edges)
        squares += _by_tile(np.square(product), edges)
        counts += _counts(product, edges)
    power = sums / counts
    variance = np.maximum(squares / counts - power**2, 0.0)
    clipped = np.any(codes >= _CLIPPED_CODE, axis=2)
    return _Tiles(
        level=_by_tile(light, edges) / _counts(light, edges),
        steps=(_by_tile(np.square(across), edges) + _by_tile(np.square(down), edges))
        / (_counts(across, edges) + _counts(down, edges)),
        power=power,
        error=np.sqrt(variance * _PRODUCTS_SHARED_BY / counts),
        clipped=_by_tile(clipped, edges) / _counts(clipped, edges),
    )


def _by_tile(plane: NDArray[Any], edges: list[int]) -> NDArray[np.float64]:
    summed: NDArray[np.float64] = np.add.reduceat(plane.sum(axis=0, dtype=np.float64), _starts(plane, edges))
    return summed


def _counts(plane: NDArray[Any], edges: list[int]) -> NDArray[np.float64]:
    starts = _starts(plane, edges)
    counts: NDArray[np.float64] = np.diff(np.append(starts, plane.shape[1])).astype(np.float64) * plane.shape[0]
    return counts


def _starts(plane: NDArray[Any], edges: list[int]) -> NDArray[np.intp]:
    """Where the tiles begin; the last ones end with the plane, which differences make a few pixels narrower."""
    starts: NDArray[np.intp] = np.minimum(np.array(edges[:-1], dtype=np.intp), plane.shape[1] - 1)
    return starts


# --- two pictures -------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SharpnessDifference:
    """What a picture gained and lost against another, on the grid of the first; stops of contrast by tile, None where
    neither shows detail or one cannot say. The shares are of the tiles with a figure: the subject."""

    columns: int
    rows: int
    stops: tuple[float | None, ...]

    @property
    def subject_tiles(self) -> int:
        return sum(1 for each in self.stops if each is not None)

    @property
    def gained_share(self) -> float | None:
        """The share of the subject that is sharper now; None where there is no subject."""
        return self._share(lambda stops: stops >= TOLD_FROM_STOPS)

    @property
    def lost_share(self) -> float | None:
        """The share of the subject that is softer now."""
        return self._share(lambda stops: stops <= -TOLD_FROM_STOPS)

    @property
    def median_stops(self) -> float | None:
        """How the contrast of the middle tile changed."""
        known = sorted(each for each in self.stops if each is not None)
        return float(np.median(known)) if known else None

    def _share(self, counts: Callable[[float], bool]) -> float | None:
        known = [each for each in self.stops if each is not None]
        return sum(map(counts, known)) / len(known) if known else None


Place = Callable[[float, float], tuple[float, float]]
"""From a point of the first picture, in fractions of its sides, to the same point in the second."""


def same_place(u: float, v: float) -> tuple[float, float]:
    """Where two pictures lie over each other as they are."""
    return u, v


def sharpness_difference(before: SharpnessMap, after: SharpnessMap, place: Place = same_place) -> SharpnessDifference:
    """`after` against `before`, tile by tile, at the same places of the subject."""
    stops: list[float | None] = []
    for here, there in _pairs(before, after, place):
        can_say = there is not None and before.fair[here] and after.fair[there]
        if there is not None and can_say and (before.told[here] or after.told[there]):
            stops.append(math.log2(after.contrast[there] / before.contrast[here]))
        else:
            stops.append(None)
    return SharpnessDifference(before.columns, before.rows, tuple(stops))


def _pairs(before: SharpnessMap, after: SharpnessMap, place: Place) -> list[tuple[int, int | None]]:
    found: list[tuple[int, int | None]] = []
    for index in range(before.columns * before.rows):
        u, v = place((index % before.columns + 0.5) / before.columns, (index // before.columns + 0.5) / before.rows)
        inside = 0.0 <= u < 1.0 and 0.0 <= v < 1.0
        found.append((index, int(v * after.rows) * after.columns + int(u * after.columns) if inside else None))
    return found

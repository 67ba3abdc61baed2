"""Where in a picture nothing explains what it shows: every tile solved as the sum of the lights and the room.

The same sum as of patches (`gains`), over the tiles of the whole picture and each colour by itself, so that a light of
another colour is no place:

    tile of the frame = sum over the sources of gain × tile of the source's own picture

The gains are those that most tiles agree on: least squares that are none negative, solved again with the tiles that
lie far off counting ever less (the biweight of Beaton and Tukey, Technometrics 16, 1974). What is left over somewhere,
past what noise, clipping and the kind of file allow, is light that no gain of any source brings there: a flag, a head
that was turned, a reflection.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from webapp.facts import Fact, fact
from webapp.ledger.evidence_reasons import Reason
from webapp.optics.arrays import Flags, Floats, np
from webapp.optics.least_squares import non_negative
from webapp.pictures.light_map import Place
from webapp.pictures.readings import LUMINANCE_WEIGHTS

if TYPE_CHECKING:
    from numpy.typing import NDArray

_ROUNDS_TO_CHOOSE: Final = 2
_ROUNDS: Final = 4
_PARTS: Final = (2, 3)
"""The picture is left out in so many parts each way."""
# So little that a source which reaches these tiles alone is not lost with them.
_LEFT_OUT: Final = 1e-6
# The usual constant: nineteen of twenty normal readings' worth of information is kept.
_BIWEIGHT: Final = 4.685
_MAD_TO_SIGMA: Final = 1.4826
# Noise alone passes five standard deviations once in two million tiles.
_DEVIATIONS: Final = 5.0
# How well a flash's pattern of light repeats from frame to frame, and by how much of a tile a tripod gives way (common
# practice; a tile is a thirtieth of the picture).
_REPEATS_STOPS: Final = 0.02
_NUDGE_TILES: Final = 0.03
_LEAST_TILES: Final = 2
# A place of one tile has to stand out by so much more.
_ALONE: Final = 2.0
_MOST_REGIONS: Final = 4
_TILES_NEEDED: Final = 24
# Where more than that is left over, the picture is no sum of these frames at all.
_MOST_LEFT_OVER: Final = 0.4
_COLOUR_STOPS: Final = 0.1
_BLACK: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Tiles:
    """The light of a picture (1 is clipping) with the standard deviation of each tile, colours x rows x columns, and
    which of its tiles tell their light: of a clipped one it is at least so much."""

    light: Floats
    error: Floats
    tells: Flags

    def brought(self, stops: float) -> Tiles:
        """The same with so many stops more light."""
        factor = 2.0**stops
        return Tiles(self.light * factor, self.error * factor, self.tells)

    def without(self, other: Tiles) -> Tiles:
        return Tiles(self.light - other.light, np.hypot(self.error, other.error), self.tells & other.tells)


@dataclass(frozen=True, slots=True)
class Region:
    """A place where light is left over: its tiles, (row, column), how many stops more it shows than the lights explain
    (below 0 less), in the mean, and how much redder (against blue; None: a grey picture)."""

    tiles: tuple[tuple[int, int], ...]
    stops: float
    redder_stops: float | None
    columns: int
    rows: int

    @property
    def place(self) -> Place:
        """The tiles' bounds."""
        down, across = [row for row, _ in self.tiles], [column for _, column in self.tiles]
        top, left = min(down), min(across)
        return Place(
            left / self.columns,
            top / self.rows,
            (max(across) + 1 - left) / self.columns,
            (max(down) + 1 - top) / self.rows,
        )

    @property
    def middle(self) -> tuple[float, float]:
        """Where its tiles lie in the mean, as fractions."""
        down, across = (sum(each[side] for each in self.tiles) / len(self.tiles) for side in (0, 1))
        return (across + 0.5) / self.columns, (down + 0.5) / self.rows

    @property
    def edges(self) -> Iterator[tuple[float, float, float, float]]:
        """Its outline, side by side: from x, y to x, y, as fractions of the picture's sides."""
        own = set(self.tiles)
        width, height = 1.0 / self.columns, 1.0 / self.rows
        for row, column in self.tiles:
            left, top = column * width, row * height
            right, bottom = left + width, top + height
            if (row - 1, column) not in own:
                yield left, top, right, top
            if (row + 1, column) not in own:
                yield left, bottom, right, bottom
            if (row, column - 1) not in own:
                yield left, top, left, bottom
            if (row, column + 1) not in own:
                yield right, top, right, bottom


@dataclass(frozen=True, slots=True)
class LeftOverMap:
    """What was found. `fits` False: so much is left over that the picture is no sum of these frames. `tolerance_stops` is
    what the middle one of the tiles may be off by besides its noise."""

    regions: tuple[Region, ...]
    fits: bool
    tolerance_stops: float

    @property
    def says(self) -> tuple[Fact, ...]:
        if not self.fits:
            return (fact(Reason.PICTURE_IS_NO_SUM),)
        said = tuple(left_over_fact(each) for each in self.regions)
        return (*said, fact(Reason.LEFT_OVER_BY_NO_LIGHT)) if said else ()


def left_over_fact(region: Region) -> Fact:
    """What is said of a place."""
    x, y = region.middle
    return fact(Reason.LEFT_OVER_THERE, stops=region.stops, redder_stops=region.redder_stops, x=x, y=y)


def left_over_map(
    seen: Tiles, sources: Sequence[Tiles], tolerance_stops: float | Floats, unchecked: float = 0.0
) -> LeftOverMap | None:
    """Where a frame shows light that its sources do not explain; None where too little of it tells its light.

    `sources` are what each light and the room would have given at the frame's settings, `unchecked` the light of a room
    that was not checked and is none of them. Raises ValueError where their tiles are not those of the frame.
    """
    if any(each.light.shape != seen.light.shape for each in sources):
        raise ValueError("The pictures have different tiles and cannot be compared with each other.")
    tells = seen.tells & np.logical_and.reduce([each.tells for each in sources])
    if not sources or int(tells.sum()) < max(_TILES_NEEDED, 4 * len(sources)):
        return None
    tolerance = np.broadcast_to(tolerance_stops, seen.light.shape)
    parts = [_of_colour(seen, sources, tells, index, tolerance[index], unchecked) for index in range(len(seen.light))]
    stops, strain, bare = (np.array(each) for each in zip(*parts, strict=True))
    past = tells & (np.abs(strain).max(axis=0) > 1.0)
    if (tells & (np.abs(bare).max(axis=0) > 1.0)).sum() > _MOST_LEFT_OVER * tells.sum():
        return LeftOverMap((), fits=False, tolerance_stops=float(np.median(tolerance)))
    found = sorted(_regions(stops, strain, past), key=lambda each: -abs(each[0]))
    regions = tuple(region for _, region in found[:_MOST_REGIONS])
    return LeftOverMap(regions, fits=True, tolerance_stops=float(np.median(tolerance)))


def _of_colour(
    seen: Tiles,
    sources: Sequence[Tiles],
    tells: Flags,
    index: int,
    tolerance_stops: Floats,
    unchecked: float,
) -> tuple[Floats, Floats, Floats]:
    """What is left over of each tile in one colour: in stops; in what it may be off by, with its sign, as widely as the
    tiles scatter; and in what noise and the kind of file alone allow."""
    sum_of = _SumOfSources(seen, sources, tells, index)
    gains = _agreed(sum_of, tells)
    own, model, sigma = seen.light[index], sum_of.model(gains), sum_of.sigma(gains)
    off = own - model
    scatter = max(1.0, _scale(off[tells] / sigma[tells]))
    of_file = np.maximum(model, 0.0) * (2.0**tolerance_stops - 1.0) + unchecked
    stops = np.log2(np.maximum(own, sigma) / np.maximum(model, sigma))
    return stops, off / (_DEVIATIONS * scatter * sigma + of_file), off / (_DEVIATIONS * sigma + of_file)


class _SumOfSources:
    """The sum that is to be solved, in one colour."""

    def __init__(self, seen: Tiles, sources: Sequence[Tiles], tells: Flags, index: int) -> None:
        self._own, self._tells = seen.light[index], tells
        self._light = np.array([each.light[index] for each in sources])
        # What noise leaves of each, and a camera that gave way.
        self._own_square = seen.error[index] ** 2 + _moved(self._own) ** 2
        self._squares = np.array([each.error[index] ** 2 + _moved(each.light[index]) ** 2 for each in sources])
        self._columns, self._values = self._light[:, tells].T, self._own[tells]

    def model(self, gains: Floats) -> Floats:
        found: Floats = np.tensordot(gains, self._light, axes=1)
        return found

    def sigma(self, gains: Floats) -> Floats:
        """What each tile may be off by: a standard deviation."""
        repeats = (2.0**_REPEATS_STOPS - 1.0) * self.model(gains)
        square = self._own_square + np.tensordot(gains**2, self._squares, axes=1) + repeats**2
        found: Floats = np.sqrt(square) + _BLACK
        return found

    def off(self, gains: Floats) -> Floats:
        """What the tiles that tell are off by, in standard deviations."""
        found: Floats = ((self._own - self.model(gains)) / self.sigma(gains))[self._tells]
        return found

    def solved(self, weights: Floats, about: Floats) -> Floats:
        """The gains with the least squares, with the errors that other gains leave."""
        root = np.sqrt(weights) / self.sigma(about)[self._tells]
        return non_negative(self._columns * root[:, None], self._values * root)

    @property
    def as_logged(self) -> Floats:
        return np.ones(len(self._light))


def _agreed(sum_of: _SumOfSources, tells: Flags) -> Floats:
    """The gains that most tiles agree on: from several beginnings, the one that leaves the fewest tiles far off.

    Where few places tell the lights apart, a changed one draws the gains to itself, and least squares that trust it at
    first never leave it. So it is begun with each part of the picture left out, too.
    """
    begun = [sum_of.as_logged]
    begun += [sum_of.solved(each, sum_of.as_logged) for each in _parts_left_out(tells)]
    tried = [_towards(sum_of, each, _ROUNDS_TO_CHOOSE) for each in begun]
    cost = [float(np.minimum(sum_of.off(each) ** 2, _DEVIATIONS**2).mean()) for each in tried]
    return _towards(sum_of, tried[int(np.argmin(cost))], _ROUNDS)


def _parts_left_out(tells: Flags) -> Iterator[Floats]:
    """The tiles that tell, all of them and without each fourth and each ninth of the picture."""
    rows, columns = tells.shape
    yield np.ones(int(tells.sum()))
    for parts in _PARTS:
        down = np.arange(rows)[:, None] * parts // rows
        across = np.arange(columns)[None, :] * parts // columns
        part = (down * parts + across)[tells]
        for each in range(parts**2):
            yield np.where(part == each, _LEFT_OUT, 1.0)


def _towards(sum_of: _SumOfSources, gains: Floats, rounds: int) -> Floats:
    """The gains after so many rounds in which the tiles that lie far off count ever less."""
    for _ in range(rounds):
        off = sum_of.off(gains)
        off = off / max(1.0, _scale(off))
        weights = np.maximum(np.maximum(1.0 - (off / _BIWEIGHT) ** 2, 0.0) ** 2, _LEFT_OUT)
        gains = sum_of.solved(weights, gains)
    return gains


def _scale(off: Floats) -> float:
    """The standard deviation of most of them, however far off the others are."""
    return _MAD_TO_SIGMA * float(np.median(np.abs(off)))


def _moved(light: Floats) -> Floats:
    """What a tile changes by where the camera gives way a little: by so much of the step to its neighbours."""
    steps = np.zeros_like(light)
    down, across = np.abs(np.diff(light, axis=0)), np.abs(np.diff(light, axis=1))
    steps[1:] = np.maximum(steps[1:], down)
    steps[:-1] = np.maximum(steps[:-1], down)
    steps[:, 1:] = np.maximum(steps[:, 1:], across)
    steps[:, :-1] = np.maximum(steps[:, :-1], across)
    return _NUDGE_TILES * steps


def _regions(stops: Floats, strain: Floats, past: Flags) -> Iterator[tuple[float, Region]]:
    """The places that hang together and differ to one side, each with its weight."""
    weights = np.array(LUMINANCE_WEIGHTS if len(stops) == 3 else [1.0 / len(stops)] * len(stops))
    whole = np.tensordot(weights, stops, axes=1)
    redder = stops[0] - stops[-1] if len(stops) == 3 else None
    worst = np.abs(strain).max(axis=0)
    side = np.sign(whole)
    if redder is not None:
        by_colour = np.abs(whole) < np.minimum(_COLOUR_STOPS, np.abs(redder) / 2.0)
        side = np.where(by_colour, 2.0 * np.sign(redder), side)
    rows, columns = past.shape
    for tiles in _together(past, side):
        at = tuple(np.array(tiles).T)
        strongest = float(worst[at].max())
        if len(tiles) < _LEAST_TILES and strongest < _ALONE:
            continue
        redder_there = None if redder is None else float(np.median(redder[at]))
        region = Region(tuple(tiles), float(np.median(whole[at])), redder_there, columns, rows)
        yield float(worst[at].sum()), region


def _together(past: Flags, side: NDArray[Any]) -> Iterator[list[tuple[int, int]]]:
    """Tiles that touch each other and differ to the same side."""
    left = {(int(row), int(column)) for row, column in np.argwhere(past)}
    while left:
        first = min(left)
        left.remove(first)
        found, open_ends = [first], [first]
        while open_ends:
            row, column = open_ends.pop()
            for near in ((row - 1, column), (row + 1, column), (row, column - 1), (row, column + 1)):
                if near in left and side[near] == side[first]:
                    left.remove(near)
                    found.append(near)
                    open_ends.append(near)
        yield sorted(found)

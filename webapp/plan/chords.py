"""How much of a lamp's light comes past what stands on the set, by chords of its face.

Seen from a place, what stands in the way hides of a straight line on the face one stretch, as it has no hollows. The
light of what is left of the line has a closed form, so that only the lines are a finite number: those of two families,
each as much askew to the face's own directions as the other, since edges of shadows mostly run along those, and so that a
set and its mirror image are told alike. The light of each place of the face is that of `illumination.per_intensity`.

Along a line t, with A + B t the height over the slope and D the square of the line's distance from the place:
∫ (A + B t)/(t² + D)² dt = −B/(2 (t² + D)) + A (t/(2 D (t² + D)) + arctan(t/√D)/(2 D^(3/2))), t counted from the foot.

Source: lambert-cosine.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, TypeAlias

from webapp.optics.arrays import Flags, Floats, np
from webapp.optics.sources import Disc, Point, Rectangle, Ring, Source
from webapp.plan.illumination import Face
from webapp.plan.solids import Ball, Block, Rows, Sheet, Solid, column, dot

Stretch: TypeAlias = tuple[Floats, Floats]
"""Where on each line a hidden stretch begins and ends; the end is not beyond the beginning where nothing is hidden."""

ASKEW_RAD: Final = 0.5
_PAIRS_AT_ONCE: Final = 24_000
_NEAREST_MM2: Final = 1.0
_SIDES_OF_ROUND: Final = 32
_NARROWEST: Final = 0.97
_SMALLEST: Final = 1e-30
_FAR: Final = 1e12


@dataclass(frozen=True, slots=True, eq=False)
class _Chords:
    """Chords of a face in its own plane, one a row: middle, direction, half length, how much of the face each stands for
    in a millimetre of its length, and the half of it that a ring's hole takes."""

    middles: Floats
    directions: Floats
    halves: Floats
    weights: Floats
    holes: Floats


def can_tell(source: Source, solids: Iterable[Solid]) -> bool:
    """Whether a lamp has a face to draw lines on, and all that stands in its way is known to hide one stretch of each."""
    if isinstance(source, Point) or (
        isinstance(source, Ring) and source.inner_diameter_mm > _NARROWEST * source.diameter_mm
    ):
        return False
    return all(isinstance(each, Ball | Block | Sheet) for each in solids)


def as_good_as(rays: int) -> int:
    """How many chords tell at least as much as so many rays."""
    return 2 * max(6, round(0.9 * math.sqrt(rays)))


def light_past(
    source: Source,
    face: Face,
    places: Rows,
    normals: Rows,
    things: Sequence[Sequence[tuple[Solid, Flags]]],
    count: int,
    through: bool,
) -> list[Floats]:
    """As `visibility.light_left`, by so many chords; with each thing go the places that it may leave in shadow."""
    chords, found = _chords_of(source, count), [np.zeros(places.shape[1]) for _ in things]
    at_once = max(1, _PAIRS_AT_ONCE // count)
    for first in range(0, places.shape[1], at_once):
        rows = slice(first, first + at_once)
        here, slopes = (np.asarray(each[:, rows], dtype=np.float64) for each in (places, normals))
        near = [[solid for solid, shaded in group if shaded[rows].any()] for group in things]
        for total, light in zip(found, _of_some(chords, face, here, slopes, near, through), strict=True):
            total[rows] = light
    return found


def _of_some(
    chords: _Chords, face: Face, here: Floats, slopes: Floats, things: Sequence[Sequence[Solid]], through: bool
) -> list[Floats]:
    middles, directions = (_in_space(face, each) for each in (chords.middles, chords.directions))
    ways = (middles + face.middle[:, np.newaxis])[:, np.newaxis, :] - here[:, :, np.newaxis]
    lit = _Lit.along(ways, directions, slopes, chords.halves, through)
    before = np.maximum(here.T @ face.normal - float(face.middle @ face.normal), 0.0)[:, np.newaxis] * chords.weights
    ends = np.broadcast_to(chords.halves, lit.shape)
    gone: list[Stretch] = []
    if chords.holes.any():
        gone.append((np.broadcast_to(-chords.holes, lit.shape), np.broadcast_to(chords.holes, lit.shape)))
    whole = lit.upto(ends) - lit.upto(-ends)
    found = []
    for group in things:
        gone.extend(_hidden_by(solid, here, ways, directions) for solid in group)
        left = whole - _of_stretches(lit, gone, ends) if gone else whole
        found.append((np.maximum(left, 0.0) * before).sum(axis=1))
    return found


def _in_space(face: Face, flat: Floats) -> Floats:
    """What is told in the plane of a face, one a row, as columns of three."""
    return np.asarray(np.outer(face.across, flat[:, 0]) + np.outer(face.up, flat[:, 1]))


@lru_cache(maxsize=128)
def _chords_of(source: Source, count: int) -> _Chords:
    one = _family(source, count // 2, ASKEW_RAD)
    other = _family(source, count // 2, -ASKEW_RAD)
    joined = [np.concatenate(each) for each in zip(one, other, strict=True)]
    middles, directions, halves, weights, holes = joined
    area = float((2.0 * (halves - holes) * weights).sum())
    return _Chords(middles, directions, halves, weights / area, holes)


def _family(source: Source, count: int, askew: float) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Lines that lie alike over a face, all in one direction."""
    steps = (np.arange(count) + 0.5) / count
    way, side = np.array([math.cos(askew), math.sin(askew)]), np.array([-math.sin(askew), math.cos(askew)])
    if isinstance(source, Disc | Ring):
        radius = source.diameter_mm / 2.0
        inner = source.inner_diameter_mm / 2.0 if isinstance(source, Ring) else 0.0
        angles = (steps - 0.5) * math.pi
        offsets = radius * np.sin(angles)
        middles, directions = np.outer(offsets, side), np.tile(way, (count, 1))
        holes = np.sqrt(np.maximum(inner**2 - offsets**2, 0.0))
        return middles, directions, radius * np.cos(angles), np.cos(angles), holes
    assert isinstance(source, Rectangle)
    # In a square of the side 1, which is then stretched: its area is told alike.
    reach = (abs(side[0]) + abs(side[1])) / 2.0
    offsets = (2.0 * steps - 1.0) * reach
    starts = np.outer(offsets, side)
    to_side = (np.sign(way) * 0.5 - starts) / way
    from_side = (-np.sign(way) * 0.5 - starts) / way
    end, start = to_side.min(axis=1), from_side.max(axis=1)
    sides = np.array([source.width_mm, source.height_mm])
    middles = (starts + np.outer((start + end) / 2.0, way)) * sides
    stretched = way * sides
    length = float(np.hypot(*stretched))
    directions = np.tile(stretched / length, (count, 1))
    return middles, directions, (end - start) / 2.0 * length, np.ones(count), np.zeros(count)


@dataclass(frozen=True, slots=True, eq=False)
class _Lit:
    """The light of lines at places, for each millimetre of height before the face: up to a place on them."""

    to_foot: Floats
    distance: Floats
    root: Floats
    height: Floats
    rise: Floats
    horizon: Floats
    at_horizon: Floats
    through: bool

    @property
    def shape(self) -> tuple[int, ...]:
        return self.distance.shape

    @classmethod
    def along(cls, ways: Floats, directions: Floats, slopes: Floats, halves: Floats, through: bool) -> _Lit:
        to_foot = np.einsum("ipk,ik->pk", ways, directions)
        distance = np.maximum(dot(ways, ways) - to_foot**2, _NEAREST_MM2)
        rise = slopes.T @ directions
        at_middle = np.einsum("ipk,ip->pk", ways, slopes)
        height = at_middle - rise * to_foot
        small = np.where(np.abs(rise) < _SMALLEST, _SMALLEST, rise)
        horizon = np.clip(-at_middle / small, -halves, halves)
        root = np.sqrt(distance)
        bare = cls(to_foot, distance, root, height, rise, horizon, np.zeros_like(root), through)
        return cls(to_foot, distance, root, height, rise, horizon, bare._antiderivative(horizon), through)

    def upto(self, at: Floats) -> Floats:
        """What the line gives up to a place on it, counted from where it meets the horizon of the slope."""
        over = self.height + self.rise * (at + self.to_foot)
        light = self._antiderivative(at) - self.at_horizon
        if self.through:
            return np.asarray(np.where(over > 0.0, light, -light))
        return np.asarray(np.where(over > 0.0, light, 0.0))

    def _antiderivative(self, at: Floats) -> Floats:
        t = at + self.to_foot
        squared = t * t + self.distance
        bent = self.height * (t / squared + np.arctan(t / self.root) / self.root) / self.distance
        return np.asarray(0.5 * (bent - self.rise / squared))


def _of_stretches(lit: _Lit, stretches: Sequence[Stretch], halves: Floats) -> Floats:
    """The light of all that lies in a stretch, each place of a line counted once."""
    starts = np.stack([np.clip(start, -halves, halves) for start, _ in stretches])
    ends = np.stack([np.clip(end, -halves, halves) for _, end in stretches])
    ends = np.maximum(starts, ends)
    if len(stretches) > 1:
        order = starts.argsort(axis=0)
        starts, ends = np.take_along_axis(starts, order, axis=0), np.take_along_axis(ends, order, axis=0)
    total, reached = np.zeros(lit.shape), -halves
    for start, end in zip(starts, ends, strict=True):
        from_, to = np.maximum(start, reached), np.maximum(end, reached)
        some = to > from_
        if some.any():
            total += np.where(some, lit.upto(to) - lit.upto(from_), 0.0)
        reached = to
    return np.asarray(total)


# --- what hides a stretch ---------------------------------------------------------------------------------------------


def _hidden_by(solid: Solid, here: Floats, ways: Floats, directions: Floats) -> Stretch:
    """The stretch of each line that a thing hides from each place."""
    if isinstance(solid, Ball):
        return _behind_ball(solid, here, ways, directions)
    if isinstance(solid, Block):
        return _behind_block(_Seen.by(solid.axes, solid.middle, here, ways, directions), solid.halves)
    assert isinstance(solid, Sheet)
    face, blocker = solid.blocker.face, solid.blocker
    seen = _Seen.by(np.stack((face.across, face.up, face.normal)), face.middle, here, ways, directions)
    if blocker.round:
        return _behind_round(seen, blocker.width_mm / 2.0)
    return _behind_side(seen, 2, 0.0, (blocker.width_mm / 2.0, blocker.height_mm / 2.0))


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """Places, the ways from them to the middles of lines, and the directions of these, along the axes of a thing."""

    here: Floats
    ways: Floats
    directions: Floats

    @classmethod
    def by(cls, axes: Floats, middle: Floats, here: Floats, ways: Floats, directions: Floats) -> _Seen:
        off = here - middle[:, np.newaxis]
        return cls(
            np.stack([dot(column(axis, off), off) for axis in axes]),
            np.stack([dot(column(axis, ways), ways) for axis in axes]),
            np.stack([dot(column(axis, directions), directions) for axis in axes]),
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Crossing:
    """How ways from places to lines cross a plane. With e the height of the line over it and a that of the place, on the
    place's side, the way meets the plane at a/(a − e) of its length: all that is asked of the place of meeting is linear
    along the line once it is multiplied by a − e. `start` and `stop` are where the line is beyond the plane."""

    seen: _Seen
    above: Floats
    end: Floats
    end_rise: Floats
    start: Floats
    stop: Floats

    @classmethod
    def of(cls, seen: _Seen, axis: int, half: float) -> _Crossing:
        """Of the side of a thing that lies so far along an axis, on the side of each place; a place between both sides
        crosses neither."""
        sign = np.where(seen.here[axis] < 0.0, -1.0, 1.0)[:, np.newaxis]
        above = np.abs(seen.here[axis])[:, np.newaxis] - half
        end, end_rise = above + sign * seen.ways[axis], sign * seen.directions[axis]
        start, stop = _cut(np.full(end.shape, -_FAR), np.full(end.shape, _FAR), end, end_rise)
        return cls(seen, above, end, end_rise, start, np.where(above >= 0.0, stop, -_FAR))

    @property
    def through(self) -> tuple[Floats, Floats]:
        """a − e at the middle of each line, and how it rises along it."""
        return self.above - self.end, -self.end_rise

    def met(self, axis: int) -> tuple[Floats, Floats]:
        """The place of meeting along another axis, times a − e, likewise."""
        at = self.seen.here[axis][:, np.newaxis]
        beyond = at + self.seen.ways[axis]
        return self.above * beyond - self.end * at, self.above * self.seen.directions[axis] - self.end_rise * at


def _cut(start: Floats, stop: Floats, constant: Floats, rise: Floats) -> Stretch:
    """What is left of a stretch where constant + rise t is at most nothing."""
    at = -constant / np.where(np.abs(rise) < _SMALLEST, _SMALLEST, rise)
    forwards = rise >= -_SMALLEST
    return np.where(forwards, start, np.maximum(start, at)), np.where(forwards, np.minimum(stop, at), stop)


def _behind_block(seen: _Seen, halves: Floats) -> Stretch:
    """What has no hollows hides one stretch: from the first that one of its sides hides to the last; from a place
    within it, all."""
    inside: Flags = np.all(np.abs(seen.here) < halves[:, np.newaxis], axis=0)
    within = np.broadcast_to(inside[:, np.newaxis], seen.ways.shape[1:])
    first, last = np.where(within, -_FAR, _FAR), np.where(within, _FAR, -_FAR)
    for axis in range(3):
        reaches = tuple(float(halves[each]) for each in range(3) if each != axis)
        start, stop = _behind_side(seen, axis, float(halves[axis]), reaches)
        some = start < stop
        first, last = np.where(some, np.minimum(first, start), first), np.where(some, np.maximum(last, stop), last)
    return first, last


def _behind_side(seen: _Seen, axis: int, half: float, reaches: Sequence[float]) -> Stretch:
    """What a right-angled side hides that reaches so far along the other axes."""
    crossing = _Crossing.of(seen, axis, half)
    start, stop = crossing.start, crossing.stop
    through, through_rise = crossing.through
    for other, reach in zip((each for each in range(3) if each != axis), reaches, strict=True):
        met, rise = crossing.met(other)
        start, stop = _cut(start, stop, met - reach * through, rise - reach * through_rise)
        start, stop = _cut(start, stop, -met - reach * through, -rise - reach * through_rise)
    return start, stop


def _behind_round(seen: _Seen, radius: float) -> Stretch:
    """A round thing as one of many sides and the same area."""
    crossing = _Crossing.of(seen, 2, 0.0)
    start, stop = crossing.start, crossing.stop
    through, through_rise = crossing.through
    (across, across_rise), (up, up_rise) = crossing.met(0), crossing.met(1)
    turn = math.pi / _SIDES_OF_ROUND
    reach = radius * math.sqrt(turn / math.tan(turn))
    for number in range(_SIDES_OF_ROUND):
        cos, sin = math.cos(2.0 * turn * number), math.sin(2.0 * turn * number)
        constant = cos * across + sin * up - reach * through
        start, stop = _cut(start, stop, constant, cos * across_rise + sin * up_rise - reach * through_rise)
    return start, stop


def _behind_ball(ball: Ball, here: Floats, ways: Floats, directions: Floats) -> Stretch:
    """Between the tangents, and beyond the circle on which they touch; from a place within it, all."""
    to = column(ball.middle, here) - here
    outside = (dot(to, to) - ball.radius**2)[:, np.newaxis]
    tangent = np.maximum(outside, _SMALLEST)
    ahead, ahead_rise = np.einsum("ip,ipk->pk", to, ways), to.T @ directions
    along = np.einsum("ipk,ik->pk", ways, directions)
    a = ahead_rise**2 - tangent
    b = ahead * ahead_rise - tangent * along
    c = ahead**2 - tangent * dot(ways, ways)
    root = b * b - a * c
    half = np.sqrt(np.maximum(root, 0.0))
    safe = np.where(np.abs(a) < _SMALLEST, _SMALLEST, a)
    one, other = (-b - half) / safe, (-b + half) / safe
    low, high = np.minimum(one, other), np.maximum(one, other)
    # A line that runs into the shadow and stays there meets its edge once on this side of the place.
    stays = a > 0.0
    onwards = ahead_rise > 0.0
    start = np.where(stays, np.where(onwards, high, -_FAR), low)
    stop = np.where(stays, np.where(onwards, _FAR, low), high)
    stop = np.where(root > 0.0, stop, -_FAR)
    start, stop = _cut(start, stop, tangent - ahead, -ahead_rise)
    return np.where(outside < 0.0, -_FAR, start), np.where(outside < 0.0, _FAR, stop)

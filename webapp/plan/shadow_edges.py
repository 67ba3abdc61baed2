"""The edge of a shadow and its width from 10 to 90 %.

It is taken where the shadow passes half of the light that it costs, at its far end, on the line on which it runs away
from the light; where the shadow fades out there or leaves the picture, beside the middle of what is seen of it, or
beside its own middle, on the side where it is the harder. On a ball it is taken where its own shadow ends on the side
that the lens sees the straightest. On a flat surface and on a ball these places are looked for along their lines; where
a line comes to no edge that is seen, and on the sides of a block, the nearest of a first look is taken. From there the
surface is walked square across the edge, inwards to where it is darkest, at the foot of the subject at the latest, and
outwards to where the light is whole; the width lies between the places at which a tenth and nine tenths of that
difference are there. Where it is not whole before the surface ends, or before another shadow begins, there is no width,
but the reason why.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final, TypeAlias

from webapp.optics.arrays import Flags, Floats, np
from webapp.plan.reasons import Reason
from webapp.plan.surfaces import Flat, Grid, Patch, Skin

LeftAt: TypeAlias = Callable[[Floats, Floats, int], Floats]
"""The part of the light that is left at places with normals, each told as well as by so many rays; not a number where
there is no light to lose, or the subject stands."""

SeenAt: TypeAlias = Callable[[Floats, Floats], Flags]
"""Whether the lens sees places with normals."""

_ENDS: Final = ("far", "seen", "thrown")
_TRIED: Final = 2
_ALONG: Final = 64
_ON_BALL: Final = math.radians(75.0)
_SHALLOWEST: Final = 0.87
"""A line on which more than this is left everywhere has no shadow to speak of."""
_STEPS: Final = 24
_SOME: Final = 3
_ROUGH: Final = 377
_FINE: Final = 2584
_HARD_MM: Final = 0.02
_HARD_RISE: Final = 0.4
_WIDER: Final = 9
_TURNS: Final = 5
_WITHIN: Final = 0.25
_RISES: Final = 0.02
_LEVEL: Final = 0.002


@dataclass(frozen=True, slots=True, eq=False)
class Sampled:
    """A patch with the part of the light that is left at each place of its grid, and whether it is seen."""

    patch: Patch
    grid: Grid
    part: Floats
    seen: Flags


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """Where the middle of a shadow is thrown, the direction in which it runs, and how far along that the middle of what is
    seen of it lies."""

    middle: Floats
    run: Floats
    abreast_mm: float


@dataclass(frozen=True, slots=True)
class Edge:
    """How wide an edge is, and from its middle inwards and outwards."""

    width_mm: float
    inwards_mm: float
    outwards_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class _Crossing:
    """Where the edge passes between two places, and the way from the darker to the lighter."""

    patch: Patch
    place: Floats
    outwards: Floats
    apart_mm: float
    half: float
    """What is left there."""


def edge_of(sampled: Sequence[Sampled], course: Course, left_at: LeftAt, seen_at: SeenAt) -> Edge | Reason:
    """The edge at the far end of a shadow, or beside it; or why none is told."""
    lowest = min((float(np.nanmin(each.part)) for each in sampled if np.isfinite(each.part).any()), default=1.0)
    why: list[Reason] = []
    for crossings in chain(
        _on_lines(sampled[0], course, left_at) if len(sampled) == 1 else (),
        _on_grids(sampled, (1.0 + lowest) / 2.0, course),
    ):
        found = [_across(each, left_at, seen_at) for each in crossings]
        edges = [each for each in found if isinstance(each, Edge)]
        if edges:
            return min(edges, key=lambda edge: edge.width_mm)
        why.extend(each for each in found if isinstance(each, Reason))
    return next((each for each in why if each != Reason.EDGE_NOT_SEEN), Reason.EDGE_NOT_SEEN)


def _on_lines(sampled: Sampled, course: Course, left_at: LeftAt) -> Iterator[list[_Crossing]]:
    """Where the lines of a shadow leave it: that on which it runs, and those to both sides."""
    patch, places = sampled.patch, sampled.grid.places
    if isinstance(patch, Skin):
        start, way = _most_open(patch, -course.run)
        reach = _ON_BALL * patch.ball.radius
        yield _leaving(patch, start, way, -reach, reach, left_at)
    if not isinstance(patch, Flat):
        return
    beside = np.cross(patch.face.normal, course.run)
    # On the hair before the surface on which the grid lies.
    middle = course.middle + float(patch.face.normal @ (places[:, 0] - course.middle)) * patch.face.normal
    abreast = middle + course.abreast_mm * course.run
    ahead = course.run @ (places - middle[:, np.newaxis])
    yield _leaving(patch, middle, course.run, float(ahead.min(initial=0.0)), float(ahead.max(initial=0.0)), left_at)
    for start in (abreast, middle):
        found: list[_Crossing] = []
        for way in (beside, -beside):
            furthest = float(np.max(way @ (places - start[:, np.newaxis]), initial=0.0))
            found.extend(_leaving(patch, start, way, 0.0, furthest, left_at))
        yield found


def _most_open(skin: Skin, to_light: Floats) -> tuple[Floats, Floats]:
    """The place between the lit and the dark half of a ball that the lens sees the straightest, and the way there
    towards the light."""
    side = skin.towards - float(skin.towards @ to_light) * to_light
    length = float(np.linalg.norm(side))
    normal = side / length if length > 1e-6 else skin.tangents(skin.ball.middle + skin.ball.radius * to_light)[0]
    return skin.walked(skin.ball.middle + skin.ball.radius * normal, to_light, np.zeros(1))[0][:, 0], to_light


def _leaving(
    patch: Patch, start: Floats, way: Floats, from_mm: float, to_mm: float, left_at: LeftAt
) -> list[_Crossing]:
    """Where a line passes for the last time half of the light that the shadow costs on it; none where it does not."""
    lengths = np.linspace(from_mm, to_mm, _ALONG + 1)
    part = _profile(patch, start, way, lengths, _ROUGH, left_at)
    if not np.isfinite(part).any() or float(np.nanmin(part)) > _SHALLOWEST:
        return []
    half = (1.0 + float(np.nanmin(part))) / 2.0
    with np.errstate(invalid="ignore"):
        rises = np.flatnonzero((part[:-1] < half) & (part[1:] >= half))
    if not len(rises):
        return []
    last = int(rises[-1])
    step = float(lengths[1] - lengths[0])
    length = float(lengths[last]) + step * float((half - part[last]) / (part[last + 1] - part[last]))
    place, along = start + length * way, way
    if isinstance(patch, Skin):
        angle = length / patch.ball.radius
        place = patch.walked(start, way, np.array([length]))[0][:, 0]
        along = way * math.cos(angle) - (start - patch.ball.middle) / float(
            np.linalg.norm(start - patch.ball.middle)
        ) * math.sin(angle)
    return [_Crossing(patch, place, along, step, half)]


def _on_grids(sampled: Sequence[Sampled], half: float, course: Course) -> Iterator[list[_Crossing]]:
    """The crossings of the first look that lie the nearest to where each line leaves the shadow."""
    found = [each for one in sampled for each in _crossings(one, half, course)]
    for end in _ENDS:
        there = sorted((cost, number) for number, (name, cost, _) in enumerate(found) if name == end)
        yield [found[number][2] for _, number in there[:_TRIED]]


def _crossings(sampled: Sampled, half: float, course: Course) -> Iterator[tuple[str, float, _Crossing]]:
    places = sampled.grid.places
    part, seen = sampled.part, sampled.seen
    numbers = np.arange(len(part)).reshape(sampled.grid.rows, -1)
    for firsts, seconds in ((numbers[:, :-1], numbers[:, 1:]), (numbers[:-1], numbers[1:])):
        with np.errstate(invalid="ignore"):
            passed = ((part[firsts] - half) * (part[seconds] - half) < 0.0) & (seen[firsts] | seen[seconds])
        if not passed.any():
            continue
        one, other = part[firsts[passed]], part[seconds[passed]]
        start, end = places[:, firsts[passed]], places[:, seconds[passed]]
        share = (half - one) / (other - one)
        at = start + share * (end - start)
        off = at - course.middle[:, np.newaxis]
        forwards = course.run @ off
        beside = np.linalg.norm(off - course.run[:, np.newaxis] * forwards, axis=0)
        costs = {
            "far": np.where(forwards > 0.0, beside, np.inf),
            "seen": np.abs(forwards - course.abreast_mm),
            "thrown": np.abs(forwards),
        }
        for name in _ENDS:
            for best in costs[name].argsort()[:_TRIED]:
                if math.isfinite(costs[name][best]):
                    way = (end - start)[:, best] * (1.0 if other[best] > one[best] else -1.0)
                    apart = float(np.linalg.norm(way))
                    yield (
                        name,
                        float(costs[name][best]),
                        _Crossing(sampled.patch, at[:, best], way / apart, apart, half),
                    )


def _across(crossing: _Crossing, left_at: LeftAt, seen_at: SeenAt) -> Edge | Reason | None:
    """The edge at a crossing; why it is not told; None where a nearer look finds none there."""
    place, outwards, reach = crossing.place, crossing.outwards, crossing.apart_mm
    patch, half = crossing.patch, crossing.half
    for turn in range(_TURNS):
        found = _middle(patch, place, outwards, reach, half, left_at)
        if found is None:
            return None
        was, (place, reach, is_hard) = reach, found
        if turn == 0 and not seen_at(*patch.walked(place, outwards, np.zeros(1)))[0]:
            return Reason.EDGE_NOT_SEEN
        if is_hard and reach < _HARD_MM:
            return Edge(0.0, 0.0, 0.0)
        if not is_hard and 0.7 < was / reach < 1.4:
            break
    # Over a good part of the edge: where two meet in a corner, the way across both of them is taken.
    return _width(patch, place, _steepest(patch, place, outwards, _WITHIN * reach, left_at), reach, left_at)


def _profile(patch: Patch, place: Floats, outwards: Floats, lengths: Floats, samples: int, left_at: LeftAt) -> Floats:
    """What is left along a way; not a number beyond the surface."""
    places, normals = patch.walked(place, outwards, lengths)
    there = np.isfinite(places).all(axis=0)
    found = np.full(len(lengths), np.nan)
    if there.any():
        found[there] = left_at(places[:, there], np.asarray(normals[:, there]), samples)
    return found


def _middle(
    patch: Patch, place: Floats, outwards: Floats, reach: float, half: float, left_at: LeftAt
) -> tuple[Floats, float, bool] | None:
    """The nearest place along a way at which half is left, how wide the edge is about there, and whether it lies between
    two steps."""
    lengths = np.linspace(-reach, reach, 2 * _STEPS + 1)
    part = _profile(patch, place, outwards, lengths, _ROUGH, left_at)
    with np.errstate(invalid="ignore"):
        at = np.flatnonzero((part[:-1] < half) & (part[1:] >= half))
    if not len(at):
        return None
    first = int(at[np.abs(lengths[at]).argmin()])
    rise = float(part[first + 1] - part[first])
    length = lengths[first] + (half - part[first]) / rise * (lengths[1] - lengths[0])
    # Over some steps, as what the finite number of rays leaves out may be as much as a single one; but for a hard edge.
    low, high = max(first - _SOME, 0), min(first + 1 + _SOME, len(part) - 1)
    steepness = float(part[high] - part[low]) / float(lengths[high] - lengths[low])
    if not steepness > 0.0 or rise > 2.0 * _HARD_RISE * (1.0 - half):
        steepness = max(rise / float(lengths[1] - lengths[0]), 1e-9)
    there = patch.walked(place, outwards, np.array([length]))[0][:, 0]
    wide = min(4.0 * reach, max(1.2 * (1.0 - half) / steepness, 1e-4 * reach))
    return there, wide, rise > 2.0 * _HARD_RISE * (1.0 - half)


def _steepest(patch: Patch, place: Floats, outwards: Floats, step: float, left_at: LeftAt) -> Floats:
    """The direction in which the light rises the most."""
    rises = []
    tangents = patch.tangents(place)
    for each in tangents:
        part = _profile(patch, place, each, np.array([-step, step]), _FINE, left_at)
        rises.append(float(part[1] - part[0]))
    length = math.hypot(*rises)
    if not math.isfinite(length) or length < 1e-6:
        return outwards
    return np.asarray((rises[0] * tangents[0] + rises[1] * tangents[1]) / length)


def _width(patch: Patch, place: Floats, outwards: Floats, reach: float, left_at: LeftAt) -> Edge | Reason:
    """The width from 10 to 90 %, looked for further in and out until both ends of the edge are found."""
    inwards, dark = _walked_in(patch, place, outwards, reach, left_at)
    lowest = float(np.nanmin(dark))
    tenth, nine = lowest + 0.1 * (1.0 - lowest), lowest + 0.9 * (1.0 - lowest)
    onwards = _walked_out(patch, place, outwards, reach, nine, lowest, left_at)
    if isinstance(onwards, Reason):
        return onwards
    inside = _reached(inwards, dark, tenth, patch, place, outwards, left_at)
    outside = _reached(*onwards, nine, patch, place, outwards, left_at)
    if inside is None or outside is None:
        return Reason.EDGES_RUN_TOGETHER
    return Edge(outside - inside, -inside, outside)


def _walked_in(patch: Patch, place: Floats, outwards: Floats, reach: float, left_at: LeftAt) -> tuple[Floats, Floats]:
    """The way inwards to where it is darkest: where nothing is left, where it falls no further, where it rises again, or
    where the surface is seen no further."""
    for _ in range(_WIDER):
        lengths = np.linspace(0.0, -reach, _STEPS + 1)
        part = _profile(patch, place, outwards, lengths, _ROUGH, left_at)
        ends = np.flatnonzero(~np.isfinite(part))
        with np.errstate(invalid="ignore"):
            least = np.minimum.accumulate(part)
            again = np.flatnonzero(part > least + _RISES * (1.0 - least))
        stops = [int(each[0]) for each in (ends, again) if len(each)]
        if stops:
            last = max(min(stops), 1)
            return lengths[:last], part[:last]
        if part[-1] <= 1e-3 or float(part[-_STEPS // 4] - part[-1]) < _LEVEL:
            break
        reach *= 1.6
    return lengths, part


def _walked_out(
    patch: Patch, place: Floats, outwards: Floats, reach: float, nine: float, lowest: float, left_at: LeftAt
) -> tuple[Floats, Floats] | Reason:
    """The way outwards to where nine tenths of the light are there; or why it does not come so far."""
    for _ in range(_WIDER):
        lengths = np.linspace(0.0, reach, _STEPS + 1)
        part = _profile(patch, place, outwards, lengths, _ROUGH, left_at)
        with np.errstate(invalid="ignore"):
            come, gone = np.flatnonzero(part >= nine), np.flatnonzero(~np.isfinite(part))
            most = np.fmax.accumulate(part)
            falls = np.flatnonzero(part < most - 2.0 * _RISES * (1.0 - lowest))
        first = int(come[0]) if len(come) else len(part)
        if len(gone) and int(gone[0]) < first:
            off = not np.isfinite(patch.walked(place, outwards, lengths[gone[:1]])[0]).all()
            return Reason.EDGE_CUT_OFF if off else Reason.EDGES_RUN_TOGETHER
        if len(falls) and int(falls[0]) < first:
            return Reason.EDGES_RUN_TOGETHER
        if first < len(part):
            return lengths, part
        reach *= 1.6
    return Reason.EDGES_RUN_TOGETHER


def _reached(
    lengths: Floats, part: Floats, level: float, patch: Patch, place: Floats, outwards: Floats, left_at: LeftAt
) -> float | None:
    """The first length along a way at which a level is passed, worked out with many rays."""
    with np.errstate(invalid="ignore"):
        above = part >= level
        passed = np.flatnonzero((above[:-1] != above[1:]) & np.isfinite(part[:-1]) & np.isfinite(part[1:]))
    if not len(passed):
        return None
    first = int(passed[0])
    low, high = float(lengths[first]), float(lengths[first + 1])
    # A little to both sides, since the rough profile may place it a step too far.
    room = high - low
    near = np.linspace(low - 0.75 * room, high + 0.75 * room, 11)
    finer = _profile(patch, place, outwards, near, _FINE, left_at)
    fit = np.isfinite(finer)
    if fit.sum() < 2:
        return None
    with np.errstate(invalid="ignore"):
        above = finer >= level
        passed = np.flatnonzero((above[:-1] != above[1:]) & fit[:-1] & fit[1:])
    if not len(passed):
        return low + 0.5 * room
    at = int(passed[0])
    share = (level - finer[at]) / (finer[at + 1] - finer[at])
    return float(near[at] + share * (near[at + 1] - near[at]))

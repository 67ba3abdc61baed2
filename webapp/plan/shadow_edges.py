"""The edge of a shadow and its width from 10 to 90 %.

It is taken where the shadow passes half of the light that it costs, at its far end, on the line on which it runs away
from the light; where the shadow fades out there or leaves the picture, beside the middle of what is seen of it, or
beside its own middle, on the side where it is the harder. On a flat surface these places are looked for along their
lines; on one that is not, and where a line comes to no edge that is seen, the nearest of a first look is taken. From
there the surface is walked square across the edge, inwards to where it is darkest and outwards to where the light is
whole; the width lies between the places at which a tenth and nine tenths of that difference are there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final, TypeAlias

from webapp.optics.arrays import Flags, Floats, np
from webapp.plan.surfaces import Flat, Grid, Patch

LeftAt: TypeAlias = Callable[[Floats, Floats, int], Floats]
"""The part of the light that is left at places with normals, with so many rays to each."""

SeenAt: TypeAlias = Callable[[Floats, Floats], Flags]
"""Whether the lens sees places with normals."""

_ENDS: Final = ("far", "seen", "thrown")
_TRIED: Final = 2
_ALONG: Final = 48
_STEPS: Final = 24
_SOME: Final = 3
_ROUGH: Final = 377
_FINE: Final = 2584
_HARD: Final = 0.1
_HARD_MM: Final = 0.02
_HARD_RISE: Final = 0.4
_WIDER: Final = 6
_TURNS: Final = 3
_WHOLE: Final = 0.985
_RISES: Final = 0.02


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


def edge_of(sampled: Sequence[Sampled], course: Course, left_at: LeftAt, seen_at: SeenAt) -> Edge | None:
    """The edge at the far end of a shadow, or beside it. None where no edge of it is seen."""
    lowest = min((float(np.nanmin(each.part)) for each in sampled if np.isfinite(each.part).any()), default=1.0)
    half = (1.0 + lowest) / 2.0
    for crossings in chain(
        _on_lines(sampled, half, course, left_at) if len(sampled) == 1 else (), _on_grids(sampled, half, course)
    ):
        edges = [edge for each in crossings if (edge := _across(each, half, left_at, seen_at)) is not None]
        if edges:
            return min(edges, key=lambda edge: edge.width_mm)
    return None


def _on_lines(sampled: Sequence[Sampled], half: float, course: Course, left_at: LeftAt) -> Iterator[list[_Crossing]]:
    """Where the lines of a flat shadow leave it: that on which it runs, and those to both sides."""
    (only,) = sampled
    patch, places = only.patch, only.grid.places
    if not isinstance(patch, Flat):
        return
    beside = np.cross(patch.face.normal, course.run)
    # On the hair before the surface on which the grid lies.
    middle = course.middle + float(patch.face.normal @ (places[:, 0] - course.middle)) * patch.face.normal
    abreast = middle + course.abreast_mm * course.run
    for start, ways in ((middle, (course.run,)), (abreast, (beside, -beside)), (middle, (beside, -beside))):
        found = []
        for way in ways:
            lengths = np.linspace(0.0, float(np.max(way @ (places - start[:, np.newaxis]), initial=0.0)), _ALONG + 1)
            part = _profile(patch, start, way, lengths, _ROUGH, left_at)
            with np.errstate(invalid="ignore"):
                rises = np.flatnonzero((part[:-1] < half) & (part[1:] >= half))
            if len(rises):
                last = int(rises[-1])
                share = (half - part[last]) / (part[last + 1] - part[last])
                length = float(lengths[last] + share * lengths[1])
                found.append(_Crossing(patch, start + length * way, way, float(lengths[1])))
        yield found


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
                    yield name, float(costs[name][best]), _Crossing(sampled.patch, at[:, best], way / apart, apart)


def _across(crossing: _Crossing, half: float, left_at: LeftAt, seen_at: SeenAt) -> Edge | None:
    place, outwards, reach = crossing.place, crossing.outwards, crossing.apart_mm
    patch = crossing.patch
    for _ in range(_TURNS):
        found = _middle(patch, place, outwards, reach, half, left_at)
        if found is None:
            # An edge that is lost between two steps is narrower than both.
            return Edge(0.0, 0.0, 0.0) if reach < _HARD * crossing.apart_mm else None
        place, reach = found
        if reach < _HARD_MM:
            return Edge(0.0, 0.0, 0.0)
        if not seen_at(*patch.walked(place, outwards, np.zeros(1)))[0]:
            return None
        outwards = _steepest(patch, place, outwards, reach / 6.0, left_at)
    return _width(patch, place, outwards, reach, left_at)


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
) -> tuple[Floats, float] | None:
    """The nearest place along a way at which half is left, and how wide the edge is about there."""
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
    if not steepness > 0.0 or rise > _HARD_RISE:
        steepness = max(rise / float(lengths[1] - lengths[0]), 1e-9)
    there = patch.walked(place, outwards, np.array([length]))[0][:, 0]
    return there, min(2.0 * reach, max(1.2 * (1.0 - half) / steepness, 1e-4 * reach))


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


def _width(patch: Patch, place: Floats, outwards: Floats, reach: float, left_at: LeftAt) -> Edge | None:
    """The width from 10 to 90 %, looked for further out and in until both ends of the edge are found."""
    inner = outer = reach
    for _ in range(_WIDER):
        inwards, onwards = np.linspace(0.0, -inner, _STEPS + 1), np.linspace(0.0, outer, _STEPS + 1)
        dark = _profile(patch, place, outwards, inwards, _ROUGH, left_at)
        light = _profile(patch, place, outwards, onwards, _ROUGH, left_at)
        lowest, highest = float(np.nanmin(dark)), float(np.nanmax(light))
        # The bottom is found where it is dark, where it rises again, or where the surface ends.
        falling = np.isfinite(dark[-1]) and lowest > 1e-3 and float(dark[-1]) < lowest + _RISES * (1.0 - lowest)
        still = falling and float(dark[-_STEPS // 4]) - float(dark[-1]) > 0.002
        rising = bool(np.isfinite(light[-1])) and highest < _WHOLE
        if not still and not rising:
            break
        inner, outer = inner * (1.6 if still else 1.0), outer * (1.6 if rising else 1.0)
    tenth, nine = lowest + 0.1 * (1.0 - lowest), lowest + 0.9 * (1.0 - lowest)
    inside = _reached(inwards, dark, tenth, patch, place, outwards, left_at)
    outside = _reached(onwards, light, nine, patch, place, outwards, left_at)
    if inside is None or outside is None:
        return None
    return Edge(outside - inside, -inside, outside)


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

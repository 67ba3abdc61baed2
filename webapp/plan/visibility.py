"""How much of a lamp's light comes past what stands on the set, at many places at once.

Rays go from every place to places spread over the lamp's face, each for an equal part of it, on a lattice that steps
along one side by the golden ratio: an edge that runs along a side of the face moves by one of them at a time, and any
other by hardly more. The light of each is that of `illumination.per_intensity`: the cosine at the face, the cosine at
the slope, and the inverse square. `turns` shift the lattice from place to place, so that what its finite number leaves
out is grain as fine as the places lie, and never a step.

Source: lambert-cosine.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from webapp.optics import grids
from webapp.optics.arrays import Counts, Floats, np
from webapp.optics.sources import Point, Rectangle, Ring, Source
from webapp.plan import chords
from webapp.plan.illumination import Face, face_of, outline
from webapp.plan.solids import Around, Rows, Solid, column, dot, meets
from webapp.plan.staging import PlanLight

_GOLDEN: Final = (math.sqrt(5.0) - 1.0) / 2.0
_PAIRS_AT_ONCE: Final = 60_000
_NEAREST_MM2: Final = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Lamp:
    """A light's face as it stands. `cutoff_deg` is where its grid lets nothing through, None without one."""

    source: Source
    face: Face
    around: Around
    cutoff_deg: float | None = None


def lamp_of(light: PlanLight) -> Lamp:
    """The face of a light that has a position."""
    assert light.position is not None
    face = face_of(light.position)
    around = Around(face.middle, light.source.largest_dimension_mm / 2.0, outline(light.source, face))
    return Lamp(light.source, face, around, light.cutoff_deg)


def light_past(
    lamp: Lamp,
    places: Rows,
    normals: Rows,
    things: Sequence[Sequence[Solid]],
    samples: int,
    *,
    through: bool = False,
    turns: Rows | None = None,
) -> list[Rows]:
    """The light at places of a slope, per intensity along the lamp's axis, in 1/mm²: past the first things, past the
    first and the second, and so on. Behind the face it is nothing; on the far side of the slope too, unless the light
    is to come `through` what the slope belongs to, as if that were not there."""
    count = 1 if isinstance(lamp.source, Point) else samples
    found = [np.zeros(places.shape[1], dtype=places.dtype) for _ in things]
    at_once = max(1, _PAIRS_AT_ONCE // max(1, places.shape[1]))
    shading = [[(each, np.flatnonzero(each.may_shade(places, lamp.around))) for each in group] for group in things]
    starts, slopes = places[:, :, np.newaxis], normals[:, :, np.newaxis]
    for first in range(0, count, at_once):
        index = np.arange(first, min(first + at_once, count))
        ways = _spots(lamp, index, count, turns, places.dtype.type) - starts
        light = _unhindered(lamp, ways, slopes, through)
        for total, group in zip(found, shading, strict=True):
            for each, rows in group:
                if len(rows):
                    part = light[rows]
                    part[meets(each, starts[:, rows], ways[:, rows])] = 0.0
                    light[rows] = part
            total += light.sum(axis=1)
    return [np.asarray(total / count) for total in found]


def light_left(
    lamp: Lamp,
    places: Rows,
    normals: Rows,
    things: Sequence[Sequence[Solid]],
    rays: int,
    *,
    through: bool = False,
) -> list[Floats]:
    """The same, at least as well as so many rays tell it: by chords of the face (`plan.chords`) wherever they can."""
    if lamp.cutoff_deg is not None or not chords.can_tell(lamp.source, itertools.chain(*things)):
        found = light_past(lamp, places, normals, things, rays, through=through)
        return [np.asarray(each, dtype=np.float64) for each in found]
    shaded = [[(each, each.may_shade(places, lamp.around)) for each in group] for group in things]
    return chords.light_past(lamp.source, lamp.face, places, normals, shaded, chords.as_good_as(rays), through)


def glimpsed(lamp: Lamp, places: Rows, things: Sequence[Solid]) -> Rows:
    """How many of a few places of a lamp are in sight, those at its rim among them: 1 where it is seen whole, 0 where it
    is hidden, and something between where it is seen in part."""
    if isinstance(lamp.source, Point):
        spots = lamp.face.middle[np.newaxis, :]
    else:
        corners = lamp.around.corners
        rim = (
            corners[:: len(corners) // 8]
            if len(corners) > 8
            else np.vstack((corners, (corners + np.roll(corners, 1, 0)) / 2.0))
        )
        spots = np.vstack((rim, (rim[::2] + lamp.face.middle) / 2.0, lamp.face.middle))
    open_ = np.ones((len(spots), places.shape[1]), dtype=np.bool_)
    for each in things:
        rows = np.flatnonzero(each.may_shade(places, lamp.around))
        starts = places[:, rows]
        for number, spot in enumerate(spots if len(rows) else ()):
            open_[number, rows] &= ~meets(each, starts, column(spot, starts) - starts)
    return np.asarray(open_.mean(axis=0, dtype=places.dtype))


def _unhindered(lamp: Lamp, ways: Rows, normals: Rows, through: bool) -> Rows:
    squared = np.maximum(dot(ways, ways), ways.dtype.type(_NEAREST_MM2))
    at_slope = dot(ways, normals)
    at_slope = np.abs(at_slope) if through else np.maximum(at_slope, 0.0)
    towards = -dot(ways, column(lamp.face.normal, ways))
    at_face = (towards > 0.0) * np.sqrt(squared) if isinstance(lamp.source, Point) else np.maximum(towards, 0.0)
    light = at_slope * at_face / (squared * squared)
    if lamp.cutoff_deg is not None:
        beside = np.sqrt(np.maximum(squared - towards * towards, 0.0))
        light = light * _let_through(lamp.cutoff_deg, beside, towards)
    return np.asarray(light)


def _let_through(cutoff_deg: float, beside: Rows, ahead: Rows) -> Rows:
    found = grids.let_through(np.asarray(beside, dtype=np.float64), np.asarray(ahead, dtype=np.float64), cutoff_deg)
    return np.asarray(found, dtype=beside.dtype)


def _spots(lamp: Lamp, index: Counts, count: int, turns: Rows | None, dtype: type[np.floating[Any]]) -> Rows:
    """Places of a face: a block of as many columns as `index`, with a row for each place where the lattice turns."""
    along, beside = (
        ((index + 0.5) / count).astype(dtype),
        ((index * _GOLDEN + 0.5 - _GOLDEN / 2.0) % 1.0).astype(dtype),
    )
    along, beside = along[np.newaxis, :], beside[np.newaxis, :]
    if turns is not None:
        along, beside = (
            _folded(each + turn[:, np.newaxis]) for each, turn in ((along, turns[0]), (beside, turns[1]))
        )
    face = lamp.face
    across, up = _offsets(lamp.source, along, beside)
    like = across[np.newaxis]
    return np.asarray(column(face.middle, like) + column(face.across, like) * across + column(face.up, like) * up)


def _folded(numbers: Rows) -> Rows:
    """Numbers from 0 to 2, as far as they go beyond a whole one."""
    return np.asarray(numbers - (numbers >= 1.0))


def _offsets(source: Source, along: Rows, beside: Rows) -> tuple[Rows, Rows]:
    """Where two numbers from 0 to 1 lie on a face, alike over its area, from its middle."""
    if isinstance(source, Point):
        return np.zeros_like(along), np.zeros_like(along)
    if isinstance(source, Rectangle):
        # The finer of the two goes along the longer side.
        if source.width_mm < source.height_mm:
            along, beside = beside, along
        return (along - 0.5) * source.width_mm, (beside - 0.5) * source.height_mm
    inner = source.inner_diameter_mm / 2.0 if isinstance(source, Ring) else 0.0
    outer = source.diameter_mm / 2.0
    radius, angle = np.sqrt(inner**2 + (outer**2 - inner**2) * along), 2.0 * math.pi * beside
    return radius * np.cos(angle), radius * np.sin(angle)

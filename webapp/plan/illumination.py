"""The light of a finite source that stands and is turned anyhow, at any place and on any slope, by adding up its face.

The face is taken as even and alike in every forward direction, so that a part of it of the fraction w gives
w cos θs cos θp / r² of the intensity along the axis; θs is counted at the face, θp on the lit slope. The parts lie at
Gauss-Legendre places, so that a few hundred of them are as good as the integral; a place near the face has more of
them, down to a twentieth of the face's half width. A lamp without size is taken as alike over its whole front. What stands between, a flag, a card or the camera, hides the
parts behind it.

Sources: lambert-cosine; the parallel case is that of howell and is checked against it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from webapp.optics import grids
from webapp.optics.arrays import Flags, Floats, np
from webapp.optics.sources import Point, Rectangle, Ring, Source
from webapp.plan.positions import Place, Position, Thing

# A place inside the face has no distance to it; a millimetre is near enough to touching.
_NEAREST_MM: Final = 1.0
GLINT_MM: Final = 10.0
"""A lamp without size shows as a glint of this radius."""
_RADII: Final = 8
_ANGLES: Final = 16
_PER_SIDE: Final = 12
# The parts are enough from this part of the face's half size onwards, and twice as many a side for half of it.
_ENOUGH_FROM: Final = 0.4
_FINEST: Final = 8
# So few places can have more of them, for edges of shadows and of the slope's own horizon.
_FEW: Final = 2
_FEW_FINER: Final = 4.0
# Pairs of a place and a part that are held in memory together.
_PAIRS_AT_ONCE: Final = 250_000
# A thing that shades lies so far behind its front: a place or a lamp on the front is never taken for one behind it.
_BACK_MM: Final = 0.05
_ON_THE_WAY: Final = 1e-9
_UP: Final = (0.0, 0.0, 1.0)
_TO_CAMERA: Final = (0.0, -1.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """A flat thing in space: its middle, its normal, and the directions of its width and height."""

    middle: Floats
    normal: Floats
    across: Floats
    up: Floats


def vector(place: Place) -> Floats:
    return np.array([place.x_mm, place.y_mm, place.z_mm])


@lru_cache(maxsize=512)
def face_of(position: Position) -> Face:
    """How a flat thing stands: its normal points to what it is aimed at; its width stays level. A thing that is aimed
    at its own place is turned as if towards the subject, and in the subject towards the camera."""
    middle = vector(position.at)
    normal = _unit(vector(position.aim) - middle)
    if normal is None:
        normal = _unit(-middle)
    if normal is None:
        normal = np.array(_TO_CAMERA)
    return facing(middle, normal)


def facing(middle: Floats, normal: Floats) -> Face:
    """A face at a place with a normal. Straight up or down, its width runs across the lens axis."""
    # Written out: a drag asks for hundreds of them, and the general product takes as long as all the rest.
    x, y, z = normal.tolist()
    level = math.hypot(x, y)
    right, ahead = (-y / level, x / level) if level > 1e-9 else (1.0, 0.0)
    up = np.array([-z * ahead, z * right, x * ahead - y * right])
    return Face(middle, normal, np.array([right, ahead, 0.0]), up)


def _unit(direction: Floats) -> Floats | None:
    length = float(np.linalg.norm(direction))
    return direction / length if length > 1e-9 else None


@lru_cache(maxsize=256)
def parts_of(source: Source, finer: float = 1.0) -> tuple[Floats, Floats]:
    """The parts of a face: places as (across, up) from its middle, and the fraction of the face that each stands
    for; they add up to 1. `finer` has so many times the parts a side."""
    if isinstance(source, Point):
        return np.zeros((1, 2)), np.ones(1)
    if isinstance(source, Rectangle):
        nodes, weights = np.polynomial.legendre.leggauss(round(_PER_SIDE * finer))
        across, up = np.meshgrid(nodes * source.width_mm / 2.0, nodes * source.height_mm / 2.0)
        return np.column_stack((across.ravel(), up.ravel())), np.outer(weights, weights).ravel() / 4.0
    inner_mm = source.inner_diameter_mm if isinstance(source, Ring) else 0.0
    nodes, weights = np.polynomial.legendre.leggauss(round(_RADII * finer))
    # Even in the square of the radius is even over the area.
    low, high = (inner_mm / 2.0) ** 2, (source.diameter_mm / 2.0) ** 2
    radii = np.sqrt(low + (high - low) * (nodes + 1.0) / 2.0)
    count = round(_ANGLES * finer)
    angles = 2.0 * math.pi * (np.arange(count) + 0.5) / count
    places = np.column_stack((np.outer(radii, np.cos(angles)).ravel(), np.outer(radii, np.sin(angles)).ravel()))
    return places, np.repeat(weights / 2.0, count) / count


@lru_cache(maxsize=256)
def _sizes_of(source: Source, finer: float = 1.0) -> Floats:
    """How wide and high the parts of a face are, one row a part; a round face's are as if square."""
    if isinstance(source, Point):
        return np.zeros((1, 2))
    if isinstance(source, Rectangle):
        _, weights = np.polynomial.legendre.leggauss(round(_PER_SIDE * finer))
        across, up = np.meshgrid(weights * source.width_mm / 2.0, weights * source.height_mm / 2.0)
        return np.column_stack((across.ravel(), up.ravel()))
    side = np.sqrt(parts_of(source, finer)[1] * source.area_mm2)
    return np.column_stack((side, side))


def parts_in_space(source: Source, face: Face, finer: float = 1.0) -> tuple[Floats, Floats]:
    """The parts of a face where it stands."""
    places, weights = parts_of(source, finer)
    return _standing(places, face), weights


def _standing(offsets: Floats, face: Face) -> Floats:
    """Where the places of a face at (across, up) from its middle lie in space."""
    return np.asarray(face.middle + offsets[:, :1] * face.across + offsets[:, 1:] * face.up)


def outline(source: Source, face: Face, count: int = 48) -> Floats:
    """Places around the edge of a face."""
    if isinstance(source, Point):
        return face.middle[np.newaxis, :]
    if isinstance(source, Rectangle):
        across, up = source.width_mm / 2.0, source.height_mm / 2.0
        corners = np.array([[-across, -up], [across, -up], [across, up], [-across, up]])
    else:
        angles = 2.0 * math.pi * np.arange(count) / count
        corners = source.diameter_mm / 2.0 * np.column_stack((np.cos(angles), np.sin(angles)))
    return _standing(corners, face)


def on_face(source: Source, across: Floats, up: Floats) -> Flags:
    """Which offsets from the middle lie on a face. A lamp without size is taken as a glint of a centimetre's radius."""
    if isinstance(source, Rectangle):
        return np.asarray((np.abs(across) <= source.width_mm / 2.0) & (np.abs(up) <= source.height_mm / 2.0))
    squared = across**2 + up**2
    if isinstance(source, Point):
        return np.asarray(squared <= GLINT_MM**2)
    inner = source.inner_diameter_mm / 2.0 if isinstance(source, Ring) else 0.0
    return np.asarray((squared <= (source.diameter_mm / 2.0) ** 2) & (squared >= inner**2))


@dataclass(frozen=True, slots=True, eq=False)
class Blocker:
    """A flat thing that lets no light through. `round` is a disc of its width; `kind` is what stands there. A side of a
    box, which looks outwards, stops what comes into the box through it: a way out of it was stopped on its way in."""

    face: Face
    width_mm: float
    height_mm: float
    round: bool = False
    kind: str = ""
    of_box: bool = False


def blocker_of(thing: Thing) -> Blocker:
    """What a thing stops: a table its top, seen from above; anything else is flat and faces its aim."""
    if thing.kind == "table":
        face, height_mm = facing(vector(thing.position.at), np.array(_UP)), thing.depth_mm
    else:
        face, height_mm = face_of(thing.position), thing.height_mm
    behind = replace(face, middle=face.middle - _BACK_MM * face.normal)
    return Blocker(behind, thing.width_mm, height_mm, thing.kind == "camera", thing.kind)


@dataclass(frozen=True, slots=True, eq=False)
class Emitter:
    """A face that gives light. `cutoff_deg` is the angle off its axis from which a grid or snoot before it lets nothing
    through; None is none. A face that does not glow evenly has so many times the parts a side as `finer` says, and
    `glow` is what each of them gives against an even face."""

    source: Source
    face: Face
    cutoff_deg: float | None = None
    finer: float | None = None
    glow: Floats | None = None


def per_intensity(emitter: Emitter, places: Floats, normal: Floats, blockers: Sequence[Blocker] = ()) -> Floats:
    """The light at places of one slope, as illuminance per intensity along the source's axis, in 1/mm².

    `places` is one place a row, `normal` that of the slope. 0 behind the face and on the far side of the slope; never
    infinite. Source: lambert-cosine.
    """
    wanted = fineness(emitter, places)
    light = np.empty(len(places))
    for finer in np.unique(wanted):
        rows = np.flatnonzero(wanted == finer)
        together = max(1, _PAIRS_AT_ONCE // len(parts_of(emitter.source, float(finer))[1]))
        for start in range(0, len(rows), together):
            block = rows[start : start + together]
            parts, strength, seen = _arriving(emitter, places[block], blockers, float(finer))
            rises = np.maximum(parts @ normal - (places[block] @ normal)[:, np.newaxis], 0.0)
            light[block] = np.einsum("pk,pk,pk->p", rises, strength, seen)
    return light


def arriving(emitter: Emitter, place: Place, blockers: Sequence[Blocker] = ()) -> tuple[Floats, Floats, float]:
    """The light that comes to one place, whatever its slope: directions towards the parts of a face, one row each, what
    each gives square to it, as illuminance per intensity in 1/mm², and the share of the face that is hidden from there:
    0 is none of it, 1 all."""
    there = vector(place)[np.newaxis, :]
    finer = float(fineness(emitter, there)[0])
    parts, strength, seen = _arriving(emitter, there, blockers, finer)
    ways = parts - there
    lengths = np.linalg.norm(ways, axis=1)
    hidden = float((1.0 - seen[0]) @ parts_of(emitter.source, finer)[1])
    return ways / np.maximum(lengths, 1e-9)[:, np.newaxis], strength[0] * seen[0] * lengths, hidden


def fineness(emitter: Emitter, places: Floats) -> Floats:
    """How many times the parts a side each place needs. The nodes of Gauss converge by how far a place lies from the
    nearest part of the face, against half the size of the face; a place by itself can have many."""
    source, face = emitter.source, emitter.face
    if isinstance(source, Point) or emitter.finer is not None:
        return np.full(len(places), emitter.finer or 1.0)
    across, up, ahead = (each[:, 0] for each in _along(face, places))
    if isinstance(source, Rectangle):
        half = max(source.width_mm, source.height_mm) / 2.0
        beside = np.hypot(
            np.maximum(np.abs(across) - source.width_mm / 2.0, 0.0),
            np.maximum(np.abs(up) - source.height_mm / 2.0, 0.0),
        )
    else:
        half = source.diameter_mm / 2.0
        beside = np.maximum(np.hypot(across, up) - half, 0.0)
    away = np.maximum(np.hypot(beside, ahead), _NEAREST_MM) / half
    doublings = np.ceil(np.log2(np.clip(_ENOUGH_FROM / away, 1.0, float(_FINEST))))
    least = _FEW_FINER if len(places) <= _FEW else 1.0
    return np.asarray(np.maximum(2.0**doublings, least))


def _arriving(
    emitter: Emitter, places: Floats, blockers: Sequence[Blocker], finer: float
) -> tuple[Floats, Floats, Floats]:
    """The parts of a face; for each place and part what the part gives there for each millimetre that the way from the
    one to the other rises over the slope; and how much of the part is seen from there."""
    source, face = emitter.source, emitter.face
    offsets, weights = parts_of(source, finer)
    if emitter.glow is not None:
        weights = weights * emitter.glow
    # In the directions of the face, where all of its parts are as far ahead.
    across, up, ahead = _along(face, places)
    squared = (offsets[:, 0] - across) ** 2
    squared += (offsets[:, 1] - up) ** 2
    squared += ahead**2
    np.maximum(squared, _NEAREST_MM**2, out=squared)
    at_face = (ahead > 0.0) * np.sqrt(squared) if isinstance(source, Point) else np.maximum(ahead, 0.0)
    strength = at_face * weights / (squared * squared)
    if emitter.cutoff_deg is not None:
        strength *= grids.let_through(np.sqrt(np.maximum(squared - ahead**2, 0.0)), ahead, emitter.cutoff_deg)
    parts, seen = _standing(offsets, face), np.ones_like(squared)
    by_box: Floats | None = None
    for blocker in _between(blockers, parts, places):
        hidden = _hidden(blocker, places, parts, face, _sizes_of(source, finer))
        if blocker.of_box:
            # A way comes into a box through one of its sides: what they hide of a part adds up.
            hidden *= _along(blocker.face, places)[2] > 0.0
            by_box = hidden if by_box is None else by_box + hidden
        else:
            seen *= 1.0 - hidden
    return parts, strength, seen if by_box is None else seen * (1.0 - np.minimum(by_box, 1.0))


def _along(face: Face, places: Floats) -> tuple[Floats, Floats, Floats]:
    """How far places lie across, up and before the middle of a face, each one column."""
    off = places - face.middle
    across, up, ahead = off @ face.across, off @ face.up, off @ face.normal
    return across[:, np.newaxis], up[:, np.newaxis], ahead[:, np.newaxis]


def _between(blockers: Sequence[Blocker], parts: Floats, places: Floats) -> list[Blocker]:
    """Those that a way from some place to some part may run through: most of a set stands out of a light's beam."""
    if not blockers:
        return []
    starts, ends = _corners(places), _corners(parts)
    faces = [each.face for each in blockers]
    middles = np.array([each.middle for each in faces])

    def along(axes: Sequence[Floats]) -> tuple[Floats, Floats]:
        """How far the corners of both lie along an axis of each thing, from its middle: a row a corner."""
        each = np.array(axes)
        off = np.einsum("bi,bi->b", middles, each)
        return (starts @ each.T - off)[:, np.newaxis], ends @ each.T - off

    start, end = along([each.normal for each in faces])
    lowest, highest = (start.min(axis=(0, 1)), end.min(axis=0)), (start.max(axis=(0, 1)), end.max(axis=0))
    may = (np.minimum(*lowest) < 0.0) & (np.maximum(*highest) > 0.0)
    if not may.any():
        return []
    # Where all ways between two boxes cross a plane, they do so within the bounds of those between corners, since a box
    # seen from a place is no larger than its corners.
    cross = (highest[0] < 0.0) & (lowest[1] > 0.0) | (highest[1] < 0.0) & (lowest[0] > 0.0)
    part = start / np.where(cross, start - end, 1.0)
    for axes, sizes in (
        ([each.across for each in faces], [each.width_mm for each in blockers]),
        ([each.up for each in faces], [each.height_mm for each in blockers]),
    ):
        start, end = along(axes)
        met, half = start + part * (end - start), np.array(sizes) / 2.0
        may &= ~cross | (met.min(axis=(0, 1)) <= half) & (met.max(axis=(0, 1)) >= -half)
    return [each for each, found in zip(blockers, may.tolist(), strict=True) if found]


def _corners(places: Floats) -> Floats:
    """The corners of the upright box around places; of one place, that place."""
    if len(places) == 1:
        return places
    (x, y, z), (right, back, top) = places.min(axis=0).tolist(), places.max(axis=0).tolist()
    return np.array([[a, b, c] for a in (x, right) for b in (y, back) for c in (z, top)])


def _hidden(blocker: Blocker, places: Floats, parts: Floats, face: Face, sizes: Floats) -> Floats:
    """How much of each part a flat thing hides from each place, from 0 to 1. An edge of its shadow that runs through a
    part, of `sizes` on the `face`, hides as much of it as lies beyond the edge; a way along its plane misses it."""
    stop = blocker.face
    from_across, from_up, from_height = _along(stop, places)
    to_across, to_up, to_height = (each[:, 0] for each in _along(stop, parts))
    along = to_height - from_height
    np.copyto(along, np.inf, where=np.abs(along) < _ON_THE_WAY)
    part = -from_height / along
    across = (to_across - from_across) * part + from_across
    up = (to_up - from_up) * part + from_up
    # How far the shadow's edge moves on the thing, from one side of the part to the other; seen from the middle of the
    # places, since it hardly differs between them.
    along_it = to_height - from_height.mean()
    along_it[np.abs(along_it) < _ON_THE_WAY] = np.inf
    stretch = -from_height.mean() / along_it
    right, rise = (to_across - from_across.mean()) / along_it, (to_up - from_up.mean()) / along_it
    wide, high, thick = np.zeros(len(sizes)), np.zeros(len(sizes)), np.zeros(len(sizes))
    for axis, size in ((face.across, sizes[:, 0]), (face.up, sizes[:, 1])):
        tilt = float(axis @ stop.normal)
        thick += abs(tilt) * size
        wide += np.abs(stretch * (float(axis @ stop.across) - right * tilt)) * size
        high += np.abs(stretch * (float(axis @ stop.up) - rise * tilt)) * size
    if blocker.round:
        covered = _beyond(blocker.width_mm / 2.0 - np.hypot(across, up), np.hypot(wide, high) / math.sqrt(2.0))
    else:
        covered = _covered(across, blocker.width_mm, wide)
        covered *= _covered(up, blocker.height_mm, high)
    # A part lies behind the thing as far as it is on the other side of its plane than the place.
    behind = np.where(from_height < 0.0, _beyond(to_height, thick), _beyond(-to_height, thick))
    return np.asarray(covered * behind * (part > _ON_THE_WAY))


def _covered(middle: Floats, width_mm: float, step: Floats) -> Floats:
    """How much of a strip of the width `step` about `middle` lies within half a width of nothing."""
    step = np.maximum(step, _ON_THE_WAY)
    covered = np.abs(middle)
    np.subtract((width_mm + step) / 2.0, covered, out=covered)
    covered /= step
    return np.clip(covered, 0.0, np.minimum(width_mm / step, 1.0), out=covered)


def _beyond(inside_mm: Floats, step: Floats) -> Floats:
    """How much of a strip lies on this side of an edge that is so far from its middle."""
    return np.clip(0.5 + inside_mm / np.maximum(step, _ON_THE_WAY), 0.0, 1.0)

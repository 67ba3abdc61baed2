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

from webapp.optics.arrays import Counts, Flags, Floats, np
from webapp.optics.sources import Point, Rectangle, Ring, Source
from webapp.plan.positions import Place, Position, Thing

# A place inside the face has no distance to it; a millimetre is near enough to touching.
_NEAREST_MM: Final = 1.0
_GLINT_MM: Final = 10.0
_RADII: Final = 8
_ANGLES: Final = 16
_PER_SIDE: Final = 12
# The parts are enough from this part of the face's half size onwards, and twice as many a side for half of it.
_ENOUGH_FROM: Final = 0.4
_FINEST: Final = 8
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
    across = _unit(np.cross(_UP, normal))
    if across is None:
        across = np.array([1.0, 0.0, 0.0])
    return Face(middle, normal, across, np.cross(normal, across))


def _unit(direction: Floats) -> Floats | None:
    length = float(np.linalg.norm(direction))
    return direction / length if length > 1e-9 else None


@lru_cache(maxsize=256)
def parts_of(source: Source, finer: int = 1) -> tuple[Floats, Floats]:
    """The parts of a face: places as (across, up) from its middle, and the fraction of the face that each stands
    for; they add up to 1. `finer` has so many times the parts a side."""
    if isinstance(source, Point):
        return np.zeros((1, 2)), np.ones(1)
    if isinstance(source, Rectangle):
        nodes, weights = np.polynomial.legendre.leggauss(_PER_SIDE * finer)
        across, up = np.meshgrid(nodes * source.width_mm / 2.0, nodes * source.height_mm / 2.0)
        return np.column_stack((across.ravel(), up.ravel())), np.outer(weights, weights).ravel() / 4.0
    inner_mm = source.inner_diameter_mm if isinstance(source, Ring) else 0.0
    nodes, weights = np.polynomial.legendre.leggauss(_RADII * finer)
    # Even in the square of the radius is even over the area.
    low, high = (inner_mm / 2.0) ** 2, (source.diameter_mm / 2.0) ** 2
    radii = np.sqrt(low + (high - low) * (nodes + 1.0) / 2.0)
    count = _ANGLES * finer
    angles = 2.0 * math.pi * (np.arange(count) + 0.5) / count
    places = np.column_stack((np.outer(radii, np.cos(angles)).ravel(), np.outer(radii, np.sin(angles)).ravel()))
    return places, np.repeat(weights / 2.0, count) / count


def parts_in_space(source: Source, face: Face, finer: int = 1) -> tuple[Floats, Floats]:
    """The parts of a face where it stands."""
    places, weights = parts_of(source, finer)
    return face.middle + places[:, :1] * face.across + places[:, 1:] * face.up, weights


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
    return np.asarray(face.middle + corners[:, :1] * face.across + corners[:, 1:] * face.up)


def on_face(source: Source, across: Floats, up: Floats) -> Flags:
    """Which offsets from the middle lie on a face. A lamp without size is taken as a glint of a centimetre's radius."""
    if isinstance(source, Rectangle):
        return np.asarray((np.abs(across) <= source.width_mm / 2.0) & (np.abs(up) <= source.height_mm / 2.0))
    squared = across**2 + up**2
    if isinstance(source, Point):
        return np.asarray(squared <= _GLINT_MM**2)
    inner = source.inner_diameter_mm / 2.0 if isinstance(source, Ring) else 0.0
    return np.asarray((squared <= (source.diameter_mm / 2.0) ** 2) & (squared >= inner**2))


@dataclass(frozen=True, slots=True, eq=False)
class Blocker:
    """A flat thing that lets no light through. `round` is a disc of its width."""

    face: Face
    width_mm: float
    height_mm: float
    round: bool = False


def blocker_of(thing: Thing) -> Blocker:
    """What a thing stops: a table its top, seen from above; anything else is flat and faces its aim."""
    if thing.kind == "table":
        face, height_mm = facing(vector(thing.position.at), np.array(_UP)), thing.depth_mm
    else:
        face, height_mm = face_of(thing.position), thing.height_mm
    behind = replace(face, middle=face.middle - _BACK_MM * face.normal)
    return Blocker(behind, thing.width_mm, height_mm, thing.kind == "camera")


def per_intensity(
    source: Source, position: Position, places: Floats, normal: Floats, blockers: Sequence[Blocker] = ()
) -> Floats:
    """The light at places of one slope, as illuminance per intensity along the source's axis, in 1/mm².

    `places` is one place a row, `normal` that of the slope. 0 behind the face and on the far side of the slope; never
    infinite. Source: lambert-cosine.
    """
    face = face_of(position)
    wanted = _fineness(source, face, places)
    light = np.empty(len(places))
    for finer in np.unique(wanted):
        rows = np.flatnonzero(wanted == finer)
        together = max(1, _PAIRS_AT_ONCE // len(parts_of(source, int(finer))[1]))
        for start in range(0, len(rows), together):
            block = rows[start : start + together]
            light[block] = _added_up(source, face, places[block], normal, blockers, int(finer))
    return light


def _fineness(source: Source, face: Face, places: Floats) -> Counts:
    """How many times the parts a side each place needs. The nodes of Gauss converge by how far a place lies from the
    nearest part of the face, against half the size of the face."""
    if isinstance(source, Point):
        return np.ones(len(places), dtype=np.int64)
    ways = places - face.middle
    across, up, ahead = ways @ face.across, ways @ face.up, ways @ face.normal
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
    return np.asarray(2**doublings, dtype=np.int64)


def _added_up(
    source: Source, face: Face, places: Floats, normal: Floats, blockers: Sequence[Blocker], finer: int
) -> Floats:
    parts, weights = parts_in_space(source, face, finer)
    ways = parts[np.newaxis, :, :] - places[:, np.newaxis, :]
    squared = np.maximum(np.einsum("pki,pki->pk", ways, ways), _NEAREST_MM**2)
    at_slope = np.maximum(ways @ normal, 0.0)
    if isinstance(source, Point):
        at_face = (ways @ face.normal < 0.0) * np.sqrt(squared)
    else:
        at_face = np.maximum(-(ways @ face.normal), 0.0)
    light = at_slope * at_face / squared**2
    for blocker in _between(blockers, parts, places):
        light = np.where(_hides(blocker, places, ways), 0.0, light)
    return np.asarray(light @ weights)


def _between(blockers: Sequence[Blocker], parts: Floats, places: Floats) -> list[Blocker]:
    """Those that come near the ways from the places to the parts, and have them on both sides: most of a set stands out
    of a light's beam."""
    start, end = places.mean(axis=0), parts.mean(axis=0)
    way = end - start
    thick = max(
        float(np.max(np.linalg.norm(parts - end, axis=1))),
        float(np.max(np.linalg.norm(places - start, axis=1))),
    )
    near = []
    for blocker in blockers:
        to = blocker.face.middle - start
        part = min(1.0, max(0.0, float(to @ way) / max(float(way @ way), _NEAREST_MM)))
        reach = math.hypot(blocker.width_mm, blocker.height_mm) / 2.0 + thick
        if float(np.linalg.norm(to - part * way)) <= reach and _parts(blocker, places, parts):
            near.append(blocker)
    return near


def _parts(blocker: Blocker, places: Floats, parts: Floats) -> bool:
    """Whether the plane of a flat thing lies between some place and some part."""
    one, other = ((each - blocker.face.middle) @ blocker.face.normal for each in (places, parts))
    return bool(one.min() < 0.0 < other.max() or other.min() < 0.0 < one.max())


def _hides(blocker: Blocker, places: Floats, ways: Floats) -> Flags:
    """Which of the ways from places to parts run through a flat thing. A way along its plane misses it."""
    along = ways @ blocker.face.normal
    level = np.abs(along) < 1e-9
    to_plane = (blocker.face.middle - places) @ blocker.face.normal
    part = to_plane[:, np.newaxis] / np.where(level, 1.0, along)
    hits = places[:, np.newaxis, :] + part[..., np.newaxis] * ways - blocker.face.middle
    across, up = np.abs(hits @ blocker.face.across), np.abs(hits @ blocker.face.up)
    if blocker.round:
        inside = across**2 + up**2 <= (blocker.width_mm / 2.0) ** 2
    else:
        inside = (across <= blocker.width_mm / 2.0) & (up <= blocker.height_mm / 2.0)
    return np.asarray(~level & inside & (part > _ON_THE_WAY) & (part < 1.0 - _ON_THE_WAY))


def hidden_share(source: Source, position: Position, place: Place, blockers: Sequence[Blocker]) -> float:
    """How much of a face is hidden from a place: 0 is none of it, 1 all."""
    if not blockers:
        return 0.0
    parts, weights = parts_in_space(source, face_of(position))
    there = vector(place)[np.newaxis, :]
    ways = parts[np.newaxis, :, :] - there[:, np.newaxis, :]
    hidden = np.zeros(ways.shape[:2], dtype=np.bool_)
    for blocker in _between(blockers, parts, there):
        hidden |= _hides(blocker, there, ways)
    return float((hidden[0] * weights).sum())

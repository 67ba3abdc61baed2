"""The surfaces that a shadow may fall on: the table's top, the front of the background, and the subject itself, as
patches that are sampled place by place and walked along.

Places and normals are columns of three rows. A place lies a hair before its surface, so that a ray from it does not meet
what it lies on.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, Protocol, TypeAlias

from webapp.optics.arrays import Floats, np
from webapp.plan.illumination import Face
from webapp.plan.solids import Ball, Block, Sheet
from webapp.plan.visibility import Lamp

On: TypeAlias = Literal["table", "background", "subject"]
SURFACES: Final[tuple[On, ...]] = ("table", "background", "subject")
_LIFT: Final = 2e-4
_FURTHEST_MM: Final = 20_000.0
_ROOM: Final = 0.06
_LEAST_SIDE: Final = 0.02
_SAME: Final = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Places of a patch, `rows` of them after each other; `cell_mm` is how far they lie apart, across and up."""

    places: Floats
    normals: Floats
    rows: int
    cell_mm: tuple[float, float]


class Patch(Protocol):
    """A piece of a surface."""

    def grid(self, count: int) -> Grid:
        """Places all over it, about `count` squared."""

    def tangents(self, place: Floats) -> tuple[Floats, Floats]:
        """Two directions along it, square to each other."""

    def walked(self, place: Floats, along: Floats, lengths_mm: Floats) -> tuple[Floats, Floats]:
        """The places at these lengths along it, straight on in a direction, and the normals there. Not a number beyond
        its end."""

    def around(self, place: Floats, offsets_mm: Floats) -> tuple[Floats, Floats]:
        """The same at offsets along both tangents of a place, a row each."""


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """A flat piece; `low` and `high` are its lower left and upper right corner, from the middle of its face."""

    face: Face
    low: tuple[float, float]
    high: tuple[float, float]
    within: tuple[tuple[float, float], tuple[float, float]] | None = None
    """The part of it that is looked at: the same corners; None is all of it."""

    def grid(self, count: int) -> Grid:
        low, high = self.within or (self.low, self.high)
        sides = [high[0] - low[0], high[1] - low[1]]
        # As many places along the longer side as make the cells about square, within reason.
        ratio = min(3.0, max(1.0 / 3.0, sides[0] / max(sides[1], _SAME)))
        counts = [max(4, round(count * math.sqrt(ratio))), max(4, round(count / math.sqrt(ratio)))]
        across, up = (low[axis] + (np.arange(counts[axis]) + 0.5) * sides[axis] / counts[axis] for axis in range(2))
        places = (
            self.face.middle[:, np.newaxis, np.newaxis]
            + self.face.across[:, np.newaxis, np.newaxis] * across[np.newaxis, np.newaxis, :]
            + self.face.up[:, np.newaxis, np.newaxis] * up[np.newaxis, :, np.newaxis]
        ).reshape(3, -1)
        normals = np.broadcast_to(self.face.normal[:, np.newaxis], places.shape)
        lifted = places + _LIFT * max(sides) * normals
        return Grid(lifted, normals, counts[1], (sides[0] / counts[0], sides[1] / counts[1]))

    def tangents(self, place: Floats) -> tuple[Floats, Floats]:
        return self.face.across, self.face.up

    def walked(self, place: Floats, along: Floats, lengths_mm: Floats) -> tuple[Floats, Floats]:
        return self._those_on_it(place[:, np.newaxis] + along[:, np.newaxis] * lengths_mm)

    def around(self, place: Floats, offsets_mm: Floats) -> tuple[Floats, Floats]:
        return self._those_on_it(
            place[:, np.newaxis] + np.stack((self.face.across, self.face.up), axis=1) @ offsets_mm
        )

    def _those_on_it(self, places: Floats) -> tuple[Floats, Floats]:
        off = places - self.face.middle[:, np.newaxis]
        across, up = self.face.across @ off, self.face.up @ off
        beyond = (across < self.low[0]) | (across > self.high[0]) | (up < self.low[1]) | (up > self.high[1])
        return np.where(beyond, np.nan, places), np.broadcast_to(self.face.normal[:, np.newaxis], places.shape)


@dataclass(frozen=True, slots=True, eq=False)
class Skin:
    """All around a ball, seen from a direction: its grid is even in angle from there."""

    ball: Ball
    towards: Floats

    def grid(self, count: int) -> Grid:
        east, north = _square_to(self.towards)
        angles = (np.arange(count) + 0.5) / count * math.pi - math.pi / 2.0
        turned, tilted = np.meshgrid(angles, angles)
        normals = (
            self.towards[:, np.newaxis] * (np.cos(tilted) * np.cos(turned)).ravel()
            + east[:, np.newaxis] * (np.cos(tilted) * np.sin(turned)).ravel()
            + north[:, np.newaxis] * np.sin(tilted).ravel()
        )
        places = self.ball.middle[:, np.newaxis] + self.ball.radius * (1.0 + _LIFT) * normals
        step = math.pi / count * self.ball.radius
        return Grid(places, normals, count, (step, step))

    def tangents(self, place: Floats) -> tuple[Floats, Floats]:
        return _square_to((place - self.ball.middle) / np.linalg.norm(place - self.ball.middle))

    def walked(self, place: Floats, along: Floats, lengths_mm: Floats) -> tuple[Floats, Floats]:
        normal = (place - self.ball.middle) / np.linalg.norm(place - self.ball.middle)
        angles = lengths_mm / self.ball.radius
        normals = normal[:, np.newaxis] * np.cos(angles) + along[:, np.newaxis] * np.sin(angles)
        return self._those_of(np.where(np.abs(angles) > math.pi / 2.0, np.nan, normals))

    def around(self, place: Floats, offsets_mm: Floats) -> tuple[Floats, Floats]:
        normal = (place - self.ball.middle) / np.linalg.norm(place - self.ball.middle)
        angles = np.hypot(*offsets_mm) / self.ball.radius
        one, other = self.tangents(place)
        along = (np.outer(one, offsets_mm[0]) + np.outer(other, offsets_mm[1])) / self.ball.radius
        return self._those_of(normal[:, np.newaxis] * np.cos(angles) + along * np.sinc(angles / math.pi))

    def _those_of(self, normals: Floats) -> tuple[Floats, Floats]:
        return self.ball.middle[:, np.newaxis] + self.ball.radius * (1.0 + _LIFT) * normals, normals


def _square_to(normal: Floats) -> tuple[Floats, Floats]:
    """Two directions square to a normal and to each other; the first is level."""
    level = np.array([-normal[1], normal[0], 0.0])
    length = float(np.linalg.norm(level))
    east = level / length if length > 1e-6 else np.array([1.0, 0.0, 0.0])
    return east, np.cross(normal, east)


def patches_of_subject(body: Ball | Block, eye: Floats) -> tuple[Patch, ...]:
    """The sides of the subject that the lens may see: of a block those of some width that face it."""
    if isinstance(body, Ball):
        return (Skin(body, eye / np.linalg.norm(eye)),)
    found: list[Patch] = []
    for axis, sign in itertools.product(range(3), (-1.0, 1.0)):
        one, other = (each for each in range(3) if each != axis)
        normal = sign * body.axes[axis]
        middle = body.middle + normal * body.halves[axis]
        narrow = min(body.halves[one], body.halves[other]) < _LEAST_SIDE * body.halves.max()
        if not narrow and (eye - middle) @ normal > 0.0:
            half = (float(body.halves[one]), float(body.halves[other]))
            face = Face(middle, normal, body.axes[one], body.axes[other])
            found.append(Flat(face, (-half[0], -half[1]), half))
    return tuple(found)


def corners_of(body: Ball | Block) -> Floats:
    """The corners of the block around the subject, one a row."""
    signs = np.array(list(itertools.product((-1.0, 1.0), repeat=3)))
    if isinstance(body, Ball):
        return np.asarray(body.middle + body.radius * signs)
    return np.asarray(body.middle + (signs * body.halves) @ body.axes)


def where_shadow_reaches(flat: Flat, lamp: Lamp, body: Ball | Block) -> Flat | None:
    """The part of a flat surface that the subject may leave in shadow; None where there is none.

    It is a little more than the box around the shadows that the corners of the subject throw from the outermost places of the lamp.
    """
    face = flat.face
    corners, spots = corners_of(body), lamp.around.corners
    spots = spots[:: max(1, len(spots) // 16)]
    height_of_spots = (spots - face.middle) @ face.normal
    spots = spots[height_of_spots > 0.0]
    if not len(spots):
        return None
    above = np.maximum((corners - face.middle) @ face.normal, 0.0)
    corners = corners - np.outer(np.minimum((corners - face.middle) @ face.normal, 0.0), face.normal)
    ways = corners[:, np.newaxis, :] - spots[np.newaxis, :, :]
    down = -(ways @ face.normal)
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(down > 0.0, above[:, np.newaxis] / down, np.inf)
    lengths = np.linalg.norm(ways, axis=2)
    part = np.minimum(part, _FURTHEST_MM / np.maximum(lengths, 1.0))
    landed = (corners[:, np.newaxis, :] + part[..., np.newaxis] * ways - face.middle).reshape(-1, 3)
    across, up = landed @ face.across, landed @ face.up
    # Some lit places around it, so that its edge lies between two that are looked at.
    rooms = (_ROOM * float(np.ptp(across)), _ROOM * float(np.ptp(up)))
    low = (max(flat.low[0], float(across.min()) - rooms[0]), max(flat.low[1], float(up.min()) - rooms[1]))
    high = (min(flat.high[0], float(across.max()) + rooms[0]), min(flat.high[1], float(up.max()) + rooms[1]))
    if low[0] >= high[0] or low[1] >= high[1]:
        return None
    return Flat(face, flat.low, flat.high, (low, high))


def landed(flat: Flat, start: Floats, through: Floats) -> Floats | None:
    """Where the way from a start through a place meets the plane of a surface beyond it; None where it does not."""
    way = through - start
    down = -float(way @ flat.face.normal)
    above = float((through - flat.face.middle) @ flat.face.normal)
    if down <= _SAME or above < 0.0:
        return None
    return np.asarray(through + above / down * way)


def front_of(sheets: Sequence[Sheet], name: On) -> Flat | None:
    """The front of what is flat and called so: the table's top, or the background's front."""
    for each in sheets:
        if each.name == name:
            half = (each.blocker.width_mm / 2.0, each.blocker.height_mm / 2.0)
            return Flat(each.blocker.face, (-half[0], -half[1]), half)
    return None

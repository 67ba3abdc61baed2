"""The solid things of a set, and the rays that meet them: the subject as a block, a ball or a ridged disc, and what is
flat (table, background, cards, flags) or round and flat (the camera).

Many rays are worked out at once: a vector is three rows, one for each axis, with a column a ray (or a block of columns,
places by places of a lamp), so that every sum and product runs through memory in order. A way runs from its start (part
0) to its end (part 1).

Which places a thing can leave in shadow at all is told beforehand: all rays from a place to a face lie in the cone in
which the place sees the ball around that face, and where this cone misses the cone around the thing, no ray meets it;
nor does it meet a flat thing that has both on one side. The test errs on the side of a ray too many, never of one too
few.

Source: definition.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final, Literal, Protocol, TypeAlias

from webapp.optics.arrays import Flags, Floats, np
from webapp.plan.illumination import Blocker, Face, facing
from webapp.plan.staging import Plan

Rows: TypeAlias = "np.ndarray[Any, np.dtype[np.floating[Any]]]"
"""Vectors as three rows, or one number for each: of single precision in the card, of double elsewhere."""

FAR: Final = 1e9
"""The part of a way at which it meets something that it misses."""
Shape: TypeAlias = Literal["block", "ball", "disc"]
SHAPES: Final[tuple[Shape, ...]] = ("block", "ball", "disc")
"""As what the subject can be shown."""
_SMALLEST: Final = 1e-12
_THINNEST_MM: Final = 0.5
_RIDGES: Final = ((1.0, 0.4), (0.78, 0.7), (0.5, 1.0))
"""Of a ridged disc: the radius of each step, and its height, of the whole."""


@dataclass(frozen=True, slots=True, eq=False)
class Around:
    """A ball that a lamp's face fits into, and the outermost places of that face, one a row."""

    middle: Floats
    radius: float
    corners: Floats


class Solid(Protocol):
    """A thing that stops light."""

    @property
    def name(self) -> str:
        """What it is: "subject", "table", "flag" …"""

    def within(self, starts: Rows, ways: Rows) -> tuple[Rows, Rows]:
        """The parts of each way between which it runs inside; the first is not less than the second where it misses."""

    def normals_at(self, places: Rows) -> Rows:
        """The outward normals at places of its surface."""

    def may_shade(self, places: Rows, light: Around) -> Flags:
        """Whether any ray from a place to somewhere in the face of a lamp can meet it."""


def dot(one: Rows, other: Rows) -> Rows:
    """The scalar product, ray by ray."""
    found: Rows = one[0] * other[0] + one[1] * other[1] + one[2] * other[2]
    return found


def column(vector_: Floats, like: Rows) -> Rows:
    """One vector to be set against many, in their precision and shape."""
    return np.asarray(vector_, dtype=like.dtype).reshape((3,) + (1,) * (like.ndim - 1))


def meets(solid: Solid, starts: Rows, ways: Rows) -> Flags:
    """Whether a way meets a thing between its start and its end."""
    start, end = solid.within(starts, ways)
    return np.asarray((start < end) & (end > 0.0) & (start < 1.0))


def enters(solid: Solid, starts: Rows, ways: Rows) -> Rows:
    """The part of each way at which it comes upon a thing from outside; `FAR` where it does not."""
    start, end = solid.within(starts, ways)
    return np.asarray(np.where((start < end) & (start > 0.0), start, FAR))


def stands_in(solid: Solid, places: Rows) -> Flags:
    """Which places lie within a thing."""
    start, end = solid.within(places, np.full_like(places, 1e-6))
    return np.asarray((start < 0.0) & (end > 0.0))


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """A block; `axes` are the directions of its width, depth and height, one a row, `halves` half of each."""

    name: str
    middle: Floats
    axes: Floats
    halves: Floats

    def within(self, starts: Rows, ways: Rows) -> tuple[Rows, Rows]:
        at, along = _turned(self.axes, starts - column(self.middle, starts)), _turned(self.axes, ways)
        halves = column(self.halves, at)
        inverse = _inverse(along)
        one, other = (-halves - at) * inverse, (halves - at) * inverse
        return np.minimum(one, other).max(axis=0), np.maximum(one, other).min(axis=0)

    def normals_at(self, places: Rows) -> Rows:
        at = _turned(self.axes, places - column(self.middle, places)) / column(self.halves, places)
        side = np.abs(at).argmax(axis=0)
        normals = np.zeros_like(places)
        for axis in range(3):
            on_it = side == axis
            normals[:, on_it] = column(self.axes[axis], places) * np.sign(at[axis, on_it])
        return normals

    def may_shade(self, places: Rows, light: Around) -> Flags:
        return _in_cone(self.middle, float(np.linalg.norm(self.halves)), places, light)


@dataclass(frozen=True, slots=True, eq=False)
class Ball:
    name: str
    middle: Floats
    radius: float

    def within(self, starts: Rows, ways: Rows) -> tuple[Rows, Rows]:
        to = starts - column(self.middle, starts)
        a, b, c = dot(ways, ways), dot(to, ways), dot(to, to) - self.radius**2
        return _roots(a, b, c)

    def normals_at(self, places: Rows) -> Rows:
        return np.asarray((places - column(self.middle, places)) / self.radius)

    def may_shade(self, places: Rows, light: Around) -> Flags:
        return _in_cone(self.middle, self.radius, places, light)


@dataclass(frozen=True, slots=True, eq=False)
class Drum:
    """A round slab; the last of its `axes` is that which it turns about."""

    name: str
    middle: Floats
    axes: Floats
    radius: float
    half: float

    def within(self, starts: Rows, ways: Rows) -> tuple[Rows, Rows]:
        at, along = _turned(self.axes, starts - column(self.middle, starts)), _turned(self.axes, ways)
        a = along[0] ** 2 + along[1] ** 2
        b, c = at[0] * along[0] + at[1] * along[1], at[0] ** 2 + at[1] ** 2 - self.radius**2
        start, end = _roots(a, b, c)
        inverse = _inverse(along[2])
        one, other = (-self.half - at[2]) * inverse, (self.half - at[2]) * inverse
        return np.maximum(start, np.minimum(one, other)), np.minimum(end, np.maximum(one, other))

    def normals_at(self, places: Rows) -> Rows:
        at = _turned(self.axes, places - column(self.middle, places))
        around = np.hypot(at[0], at[1])
        normals = (column(self.axes[0], places) * at[0] + column(self.axes[1], places) * at[1]) / np.maximum(
            around, _SMALLEST
        )
        on_top = np.abs(at[2]) / self.half > around / self.radius
        normals[:, on_top] = column(self.axes[2], places) * np.sign(at[2, on_top])
        return np.asarray(normals)

    def may_shade(self, places: Rows, light: Around) -> Flags:
        return _in_cone(self.middle, math.hypot(self.radius, self.half), places, light)


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """What is flat."""

    name: str
    blocker: Blocker

    def within(self, starts: Rows, ways: Rows) -> tuple[Rows, Rows]:
        face = self.blocker.face
        off = starts - column(face.middle, starts)
        normal = column(face.normal, starts)
        part = -dot(off, normal) * _inverse(dot(ways, normal))
        hits = off + part * ways
        across, up = np.abs(dot(hits, column(face.across, hits))), np.abs(dot(hits, column(face.up, hits)))
        half = self.blocker.width_mm / 2.0
        inside = across**2 + up**2 <= half**2
        if not self.blocker.round:
            inside = (across <= half) & (up <= self.blocker.height_mm / 2.0)
        return np.where(inside, part, FAR), np.where(inside, np.nextafter(part, part.dtype.type(FAR)), -FAR)

    def normals_at(self, places: Rows) -> Rows:
        return np.broadcast_to(column(self.blocker.face.normal, places), places.shape).copy()

    def may_shade(self, places: Rows, light: Around) -> Flags:
        face = self.blocker.face
        of_light = (light.corners - face.middle) @ face.normal
        of_places = dot(places - column(face.middle, places), column(face.normal, places))
        apart = (of_places > 0.0) & (of_light.min() < 0.0) | (of_places < 0.0) & (of_light.max() > 0.0)
        reach = math.hypot(self.blocker.width_mm, self.blocker.height_mm) / 2.0
        return np.asarray(apart & _in_cone(face.middle, reach, places, light))


def _turned(axes: Floats, vectors: Rows) -> Rows:
    # Not a product of matrices: its threads would wait for each other longer than they work.
    return np.stack([dot(column(axis, vectors), vectors) for axis in axes])


def _inverse(of: Rows) -> Rows:
    small = of.dtype.type(_SMALLEST)
    return np.asarray(1.0 / np.where(np.abs(of) < small, small, of))


def _roots(a: Rows, b: Rows, c: Rows) -> tuple[Rows, Rows]:
    """Between which parts a t² + 2 b t + c is below nothing."""
    root = b * b - a * c
    half = np.sqrt(np.maximum(root, 0.0))
    inverse = 1.0 / np.maximum(a, a.dtype.type(_SMALLEST))
    # A way straight along the axis of what is round is inside all the way, or nowhere.
    along = a < _SMALLEST
    start = np.where(along, np.where(c < 0.0, -FAR, FAR), np.where(root > 0.0, (-b - half) * inverse, FAR))
    end = np.where(along, np.where(c < 0.0, FAR, -FAR), np.where(root > 0.0, (-b + half) * inverse, -FAR))
    return start, end


def _in_cone(middle: Floats, radius: float, places: Rows, light: Around) -> Flags:
    """Whether the cones in which places see two balls overlap: where the angle between their axes is at most the sum of
    their half angles. A place that lies in either ball is told as one that may be shaded."""
    to_thing, to_light = column(middle, places) - places, column(light.middle, places) - places
    thing_squared, light_squared = dot(to_thing, to_thing), dot(to_light, to_light)
    # A thousandth more than the radii, for what single precision loses.
    thing_sine = np.minimum((1.001 * radius + 1e-3) ** 2 / np.maximum(thing_squared, _SMALLEST), 1.0)
    light_sine = np.minimum((1.001 * light.radius + 1e-3) ** 2 / np.maximum(light_squared, _SMALLEST), 1.0)
    cosine = dot(to_thing, to_light) / np.sqrt(np.maximum(thing_squared * light_squared, _SMALLEST))
    of_sum = np.sqrt((1.0 - thing_sine) * (1.0 - light_sine)) - np.sqrt(thing_sine * light_sine)
    wide = thing_sine + light_sine >= 1.0
    beyond = thing_squared > (np.sqrt(light_squared) + light.radius + radius) ** 2
    return np.asarray((wide | (cosine >= of_sum - 1e-4)) & ~beyond)


# --- the set as solids --------------------------------------------------------------------------------------------


def faces_up(face: Face) -> bool:
    """Whether a face points up or down more than along the floor."""
    return abs(float(face.normal[2])) > math.sqrt(0.5)


def subject_axes(plan: Plan) -> Floats:
    """The directions of the subject's width, depth and height. It stands upright, its front towards the lens in plan
    and turned as it is told; what has no depth lies under a lens that looks down on it."""
    face = plan.subject_face
    depth_mm = plan.subject_mm[2]
    level = np.array([face.normal[0], face.normal[1], 0.0])
    length = float(np.linalg.norm(level))
    if depth_mm <= 0.0 and faces_up(face):
        return np.stack((face.across, face.normal, face.up))
    # Straight below the lens its front is what is at the bottom of the picture.
    front = level / length if length > 1e-6 else -face.up
    upright = facing(np.zeros(3), front)
    return np.stack((upright.across, front, upright.up))


def is_ball(plan: Plan) -> bool:
    """Whether the subject is taken as a ball: where its width, height and depth are one figure."""
    sides = plan.subject_mm
    return plan.thing("subject") is not None and max(sides) - min(sides) < 1e-3 * max(sides)


def subject_of(plan: Plan) -> Ball | Block:
    """The subject as a ball where its three sides are alike, else as a block of its sides."""
    if is_ball(plan):
        return Ball("subject", np.zeros(3), plan.subject_mm[0] / 2.0)
    width_mm, height_mm, depth_mm = plan.subject_mm
    halves = np.maximum(np.array([width_mm, depth_mm, height_mm]), _THINNEST_MM) / 2.0
    return Block("subject", np.zeros(3), subject_axes(plan), halves)


def ridged_disc(plan: Plan) -> tuple[Drum, ...]:
    """A stepped disc of the subject's size, lying or standing as its flattest side does."""
    width_mm, height_mm, depth_mm = plan.subject_mm
    axes, sides = subject_axes(plan), np.maximum(np.array([width_mm, depth_mm, height_mm]), _THINNEST_MM)
    thin = int(sides.argmin())
    # The steps rise towards the lens, or upwards.
    order = [each for each in range(3) if each != thin] + [thin]
    turned, thick = axes[order], float(sides[thin])
    radius = max(float(sides[each]) for each in order[:2]) / 2.0
    return tuple(
        Drum("subject", turned[2] * thick * (part - 1.0) / 2.0, turned, radius * wide, thick * part / 2.0)
        for wide, part in _RIDGES
    )


def flats_of(plan: Plan) -> tuple[Sheet, ...]:
    """All that stands on the set and is flat."""
    return tuple(Sheet(each.kind, each) for each in plan.blockers)


def usual_shape(plan: Plan) -> Shape:
    """How the subject is shown where nobody says how: what lies flat as a ridged disc, what has one figure for all its
    sides as a ball, else as a block."""
    if is_ball(plan):
        return "ball"
    return "disc" if plan.subject_is_flat else "block"


def body_of(plan: Plan, shape: Shape) -> tuple[Solid, ...]:
    """The subject in one of the shapes; a ball lies on what the subject lies on."""
    if shape == "disc":
        return ridged_disc(plan)
    whole = subject_of(plan)
    if shape == "ball" and not isinstance(whole, Ball):
        radius = max(plan.subject_mm) / 2.0
        half = float(np.abs(subject_axes(plan)[:, 2]) @ whole.halves) if isinstance(whole, Block) else radius
        return (Ball("subject", np.array([0.0, 0.0, radius - half]), radius),)
    if shape == "block" and isinstance(whole, Ball):
        return (Block("subject", np.zeros(3), subject_axes(plan), np.full(3, whole.radius)),)
    return (whole,)

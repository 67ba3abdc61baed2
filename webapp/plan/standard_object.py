"""The standard test object of the shadow card, a ball and a wedge of three steps on a table, and the rays that meet it.

Lengths are in the object's own units, with a ball of radius 1. Many rays are worked out at once: a vector is three
rows, one for each axis, with a column a ray, so that every sum and product runs through memory in order.

Which places a light can leave in shadow at all is told beforehand: all rays from a place to a face lie in the cone in
which the place sees the ball around that face, and where this cone misses the cone around the ball or the steps, no
ray meets them. The test errs on the side of a ray too many, never of one too few.

Source: definition.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

Rows = NDArray[np.floating[Any]]
"""Vectors as three rows, or one number for each: of single precision in the cast, of double from the lens."""
Flags = NDArray[np.bool_]
Part = Literal["ball", "steps"]

TABLE_Z: Final = -1.0
FAR: Final = 1e9
"""The part of a way at which it meets something that it misses."""
_BALL_MIDDLE: Final = (-1.0, 0.0, 0.0)
_STEP_DEPTH: Final = 0.6
# From the left to the right side of each step, and its height above the table.
_STEPS: Final = ((0.5, 1.0, 0.5), (1.0, 1.5, 1.0), (1.5, 2.0, 1.5))
_STEPS_MIDDLE: Final = (1.25, 0.0, -0.25)
# A hair more than half the diagonal of the box around them.
_STEPS_RADIUS: Final = math.hypot(0.75, _STEP_DEPTH, 0.75) + 1e-3
_SMALLEST: Final = 1e-12


@dataclass(frozen=True, slots=True)
class Around:
    """A ball that something fits into."""

    middle: tuple[float, float, float]
    radius: float


AROUND: Final[dict[Part, Around]] = {
    "ball": Around(_BALL_MIDDLE, 1.0),
    "steps": Around(_STEPS_MIDDLE, _STEPS_RADIUS),
}


def dot(one: Rows, other: Rows) -> Rows:
    """The scalar product, ray by ray."""
    found: Rows = one[0] * other[0] + one[1] * other[1] + one[2] * other[2]
    return found


def column(vector: tuple[float, float, float] | NDArray[np.float64], like: Rows) -> Rows:
    """One vector to be set against many, in their precision."""
    return np.asarray(vector, dtype=like.dtype)[:, np.newaxis]


def may_shade(part: Part, places: Rows, light: Around) -> Flags:
    """Whether any ray from a place to somewhere within the ball around a light can meet a part of the object.

    The cones overlap where the angle between their axes is at most the sum of their half angles. A place that lies in
    either ball is told as one that may be shaded.
    """
    around = AROUND[part]
    to_part = column(around.middle, places) - places
    to_light = column(light.middle, places) - places
    part_squared, light_squared = dot(to_part, to_part), dot(to_light, to_light)
    # A thousandth more than the radii, for what single precision loses.
    part_squared_sine = np.minimum((1.001 * around.radius) ** 2 / np.maximum(part_squared, _SMALLEST), 1.0)
    light_squared_sine = np.minimum((1.001 * light.radius + 1e-3) ** 2 / np.maximum(light_squared, _SMALLEST), 1.0)
    cosine = dot(to_part, to_light) / np.sqrt(np.maximum(part_squared * light_squared, _SMALLEST))
    of_sum = np.sqrt((1.0 - part_squared_sine) * (1.0 - light_squared_sine)) - np.sqrt(
        part_squared_sine * light_squared_sine
    )
    within = (part_squared_sine >= 1.0) | (light_squared_sine >= 1.0)
    return np.asarray(within | (cosine >= of_sum - 1e-4))


def meets(part: Part, starts: Rows, ways: Rows) -> Flags:
    """Whether a way from a start to its end meets a part of the object."""
    if part == "ball":
        return np.asarray(ball(starts, ways) < 1.0)
    return _meets_steps(starts, ways)


def ball(starts: Rows, ways: Rows) -> Rows:
    """The part of the way at which it enters the ball; far beyond the end where it does not."""
    to = starts - column(_BALL_MIDDLE, starts)
    a, b, c = dot(ways, ways), dot(to, ways), dot(to, to) - 1.0
    root = b * b - a * c
    part = np.where(root > 0.0, (-b - np.sqrt(np.maximum(root, 0.0))) / np.maximum(a, _SMALLEST), FAR)
    return np.asarray(np.where(part > 1e-9, part, FAR))


def steps(starts: Rows, ways: Rows) -> tuple[Rows, Rows]:
    """The same for the steps, with the normal of the side that is met."""
    nearest = np.full(starts.shape[1], FAR, dtype=starts.dtype)
    normals = np.zeros_like(starts)
    inverse = _inverse(ways)
    for step in _STEPS:
        enters, start, end = _slabs(step, starts, inverse)
        hit = (start < end) & (start > 1e-9) & (start < nearest)
        nearest = np.where(hit, start, nearest)
        axis = enters.argmax(axis=0)
        for index in range(3):
            met = hit & (axis == index)
            normals[:, met] = 0.0
            normals[index, met] = -np.sign(ways[index, met])
    return nearest, normals


def _meets_steps(starts: Rows, ways: Rows) -> Flags:
    inverse = _inverse(ways)
    met = np.zeros(starts.shape[1], dtype=np.bool_)
    for step in _STEPS:
        _, start, end = _slabs(step, starts, inverse)
        met |= (start < end) & (start > 1e-9) & (start < 1.0)
    return met


def _inverse(ways: Rows) -> Rows:
    return np.asarray(1.0 / np.where(np.abs(ways) < _SMALLEST, ways.dtype.type(_SMALLEST), ways))


def _slabs(step: tuple[float, float, float], starts: Rows, inverse: Rows) -> tuple[Rows, Rows, Rows]:
    """Where a way comes in between each pair of a step's sides, and where it is within and without all three pairs."""
    left, right, tall = step
    low = (column((left, -_STEP_DEPTH, TABLE_Z), starts) - starts) * inverse
    high = (column((right, _STEP_DEPTH, TABLE_Z + tall), starts) - starts) * inverse
    enters, leaves = np.minimum(low, high), np.maximum(low, high)
    start = np.maximum(np.maximum(enters[0], enters[1]), enters[2])
    end = np.minimum(np.minimum(leaves[0], leaves[1]), leaves[2])
    return enters, start, end

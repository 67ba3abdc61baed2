"""The shadow card: a ball and a stepped wedge on a table as the set would light them, by ray casting.

From every place that the lens sees, rays go to places spread over each light's face; those that reach it add up with
the cosine at the face, the cosine at the surface and the inverse square, and those that meet the ball or a step are
missing. The test object is matt and 18 % grey; nothing is mirrored or thrown back from one surface to another. It is
an indication of where shadows fall and how soft they are, not a picture of the subject.

Source: lambert-cosine.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from webapp.optics.sources import Point, Rectangle, Ring
from webapp.plan.illumination import Floats, face_of
from webapp.plan.lighting import Plan, PlanLight, emissions

WIDTH_PX: Final = 320
HEIGHT_PX: Final = 240
GREY: Final = 0.18
TABLE: Final = 0.30
_SAMPLES: Final = 12
# The object in its own units, with a ball of radius 1: it is drawn as large as the subject's half width.
_BALL_MIDDLE: Final = np.array([-1.0, 0.0, 0.0])
_STEPS: Final = ((0.5, 1.0, 0.5), (1.0, 1.5, 1.0), (1.5, 2.0, 1.5))
_STEP_DEPTH: Final = 0.6
_STEPS_MIDDLE: Final = np.array([1.25, 0.0, -0.25])
_STEPS_RADIUS: Final = 1.23
_TABLE_Z: Final = -1.0
_LEAST_HEIGHT_DEG: Final = 18.0
_FAR: Final = 1e9

Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """What the lens sees: one row a pixel that meets something, in the object's units of `unit_mm`."""

    places: Floats
    normals: Floats
    albedo: Floats
    inside: Flags


def shadow_card_png(plan: Plan, samples: int = _SAMPLES, width: int = WIDTH_PX, height: int = HEIGHT_PX) -> bytes:
    """The card as a PNG in sRGB, at the camera's exposure where that and the lights' readings are known, else with the
    brightest part of the table in the middle of the scale."""
    return _png(shadow_card(plan, samples, width, height))


def side_by_side_png(left: Plan, right: Plan) -> bytes:
    """Two cards beside each other, each as `shadow_card_png` exposes it."""
    one, two = shadow_card(left), shadow_card(right)
    gap = np.ones((HEIGHT_PX, 6))
    return _png(np.hstack((one, gap, two)))


def shadow_card(plan: Plan, samples: int = _SAMPLES, width: int = WIDTH_PX, height: int = HEIGHT_PX) -> Floats:
    """The card in linear light, 1 being white."""
    seen = _seen(plan, width, height)
    unit_mm = unit_of(plan)
    light = np.zeros(len(seen.places))
    sent = emissions(plan)
    known = sent is not None and all(each.reading is not None for each, _ in sent)
    for each, value in sent or ():
        light += value * irradiance(each, seen.places, seen.normals, unit_mm, samples)
    shaded = light * seen.albedo
    if known and plan.camera_stops is not None:
        # A meter's reading is the f-number at which a surface comes out as it is.
        exposed = shaded / 2.0**plan.camera_stops
    else:
        exposed = shaded * (GREY / max(float(np.percentile(shaded, 90.0)), 1e-30)) if sent else shaded
    picture = np.zeros(width * height)
    picture[seen.inside] = exposed
    return picture.reshape(height, width)


def unit_of(plan: Plan) -> float:
    """The radius of the ball in millimetres: a quarter of the subject's larger side."""
    width_mm, height_mm, _ = plan.subject_mm
    return max(width_mm, height_mm) / 4.0


def irradiance(light: PlanLight, places: Floats, normals: Floats, unit_mm: float, samples: int = _SAMPLES) -> Floats:
    """The light at places with normals, per intensity along the light's axis, in 1/mm², with the shadows of the ball
    and the steps. `places` are in the object's units. The samples lie on a fixed pattern: the same every time."""
    assert light.position is not None
    face = face_of(light.position)
    spots = _spread_over(light, samples)
    total = np.zeros(len(places))
    for across, up in spots:
        target = (face.middle + across * face.across + up * face.up) / unit_mm
        ways = target - places
        squared = np.maximum(np.einsum("pi,pi->p", ways, ways), 1e-6)
        at_slope = np.maximum(np.einsum("pi,pi->p", ways, normals), 0.0)
        if isinstance(light.source, Point):
            at_face = (ways @ face.normal < 0.0) * np.sqrt(squared)
        else:
            at_face = np.maximum(-(ways @ face.normal), 0.0)
        given = at_slope * at_face / squared**2
        lit = np.flatnonzero(given > 0.0)
        clear = ~_meets(places[lit] + 1e-4 * normals[lit], ways[lit])
        total[lit] += given[lit] * clear
    return np.asarray(total / len(spots) / unit_mm**2)


def _spread_over(light: PlanLight, samples: int) -> Floats:
    """Places over the face that stand for equal parts of it: a golden-angle spiral for what is round, an R2 sequence
    for what is square."""
    if isinstance(light.source, Point):
        return np.zeros((1, 2))
    index = np.arange(samples) + 0.5
    if not isinstance(light.source, Rectangle):
        inner = light.source.inner_diameter_mm / 2.0 if isinstance(light.source, Ring) else 0.0
        outer = light.source.diameter_mm / 2.0
        radius = np.sqrt(inner**2 + (outer**2 - inner**2) * index / samples)
        angle = index * math.pi * (3.0 - math.sqrt(5.0))
        return np.column_stack((radius * np.cos(angle), radius * np.sin(angle)))
    first = (0.5 + np.arange(samples) * 0.7548776662466927) % 1.0
    second = (0.5 + np.arange(samples) * 0.5698402909980532) % 1.0
    sides = np.array([light.source.width_mm, light.source.height_mm]) / 2.0
    return np.column_stack(((2.0 * first - 1.0) * sides[0], (2.0 * second - 1.0) * sides[1]))


def _meets(starts: Floats, ways: Floats) -> Flags:
    """Whether a way from a start to its end meets the ball or a step."""
    met = _ball(starts, ways) < 1.0
    # Few ways come near the steps; the box of each is tried for those alone.
    near = np.flatnonzero(~met & _near_steps(starts, ways))
    met[near] = _steps(starts[near], ways[near])[0] < 1.0
    return np.asarray(met)


def _near_steps(starts: Floats, ways: Floats) -> Flags:
    to = starts - _STEPS_MIDDLE
    b = np.einsum("pi,pi->p", to, ways)
    c = np.einsum("pi,pi->p", to, to) - _STEPS_RADIUS**2
    return np.asarray((c <= 0.0) | ((b < 0.0) & (b * b >= np.einsum("pi,pi->p", ways, ways) * c)))


def _ball(starts: Floats, ways: Floats) -> Floats:
    """The part of the way at which it enters the ball; far beyond the end where it does not."""
    to = starts - _BALL_MIDDLE
    a = np.einsum("pi,pi->p", ways, ways)
    b = np.einsum("pi,pi->p", to, ways)
    c = np.einsum("pi,pi->p", to, to) - 1.0
    root = b * b - a * c
    part = np.where(root > 0.0, (-b - np.sqrt(np.maximum(root, 0.0))) / np.maximum(a, 1e-12), _FAR)
    return np.where(part > 1e-9, part, _FAR)


def _steps(starts: Floats, ways: Floats) -> tuple[Floats, Floats]:
    """The same for the steps, with the normal of the side that is met."""
    nearest = np.full(len(starts), _FAR)
    normals = np.zeros_like(starts)
    safe = np.where(np.abs(ways) < 1e-12, 1e-12, ways)
    for left, right, tall in _STEPS:
        low = np.array([left, -_STEP_DEPTH, _TABLE_Z])
        high = np.array([right, _STEP_DEPTH, _TABLE_Z + tall])
        one, other = (low - starts) / safe, (high - starts) / safe
        enters, leaves = np.minimum(one, other), np.maximum(one, other)
        start, end = enters.max(axis=1), leaves.min(axis=1)
        hit = (start < end) & (start > 1e-9) & (start < nearest)
        nearest = np.where(hit, start, nearest)
        axis = enters.argmax(axis=1)
        for index in range(3):
            rows = hit & (axis == index)
            normals[rows] = 0.0
            normals[rows, index] = -np.sign(ways[rows, index])
    return nearest, normals


def _seen(plan: Plan, width: int, height: int) -> Seen:
    """Rays from the lens through each pixel. A lens nearly level with the table is lifted to look down on it a little,
    and always shows the whole object."""
    camera = plan.camera
    elevation = min(max(camera.elevation_deg, _LEAST_HEIGHT_DEG), 89.0)
    bearing = math.radians(camera.bearing_deg)
    level = math.cos(math.radians(elevation))
    towards = np.array([level * math.sin(bearing), -level * math.cos(bearing), math.sin(math.radians(elevation))])
    eye = 14.0 * towards
    forward = -towards
    right = np.cross(forward, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    up = np.cross(right, forward)
    across = (np.arange(width) + 0.5) / width * 2.0 - 1.0
    down = 1.0 - (np.arange(height) + 0.5) / height * 2.0
    half = 3.6 / 14.0
    ways = (
        forward
        + half * across[np.newaxis, :, np.newaxis] * right
        + half * height / width * down[:, np.newaxis, np.newaxis] * up
    ).reshape(-1, 3)
    starts = np.broadcast_to(eye + np.array([0.4, 0.0, -0.4]), ways.shape)
    ball, (steps, step_normals) = _ball(starts, ways), _steps(starts, ways)
    with np.errstate(divide="ignore"):
        table = (_TABLE_Z - starts[:, 2]) / ways[:, 2]
    table = np.where(table > 0.0, table, _FAR)
    part = np.minimum(np.minimum(ball, steps), table)
    inside = part < 1e6
    places = (starts + part[:, np.newaxis] * ways)[inside]
    normals = np.zeros_like(places)
    normals[:, 2] = 1.0
    on_ball, on_step = (ball <= part)[inside], (steps <= part)[inside]
    normals[on_step] = step_normals[inside][on_step]
    normals[on_ball] = (places - _BALL_MIDDLE)[on_ball]
    albedo = np.where(on_ball | on_step, GREY, TABLE)
    return Seen(places, normals, albedo, inside)


def _png(picture: Floats) -> bytes:
    """Linear light as an sRGB picture (iec-61966-2-1)."""
    linear = np.clip(picture, 0.0, 1.0)
    encoded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1.0 / 2.4) - 0.055)
    out = io.BytesIO()
    Image.fromarray(np.round(255.0 * encoded).astype(np.uint8)).save(out, "PNG", optimize=False, compress_level=1)
    return out.getvalue()

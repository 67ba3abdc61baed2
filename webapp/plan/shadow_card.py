"""The shadow card: a ball and a stepped wedge on a table as the set would light them, by ray casting.

From every place that the lens sees, rays go to places spread over each light's face; those that reach it add up with
the cosine at the face, the cosine at the surface and the inverse square, and those that meet the ball or a step are
missing. The test object is matt and 18 % grey; nothing is mirrored or thrown back from one surface to another. It is
an indication of where shadows fall and how soft they are, not a picture of the subject.

Rays are spared where they would tell nothing: a place that no ray can leave in shadow has none cast, and only a place
that sees a part of the face, in the soft edge of a shadow, has many. The cast runs in single precision, whose
error is far below what the number of samples leaves.

Source: lambert-cosine.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from PIL import Image

from webapp.optics.arrays import Floats
from webapp.optics.sources import Point, Rectangle, Ring
from webapp.plan.illumination import Face, face_of
from webapp.plan.levels import emission, emissions
from webapp.plan.staging import Plan, PlanLight
from webapp.plan.standard_object import (
    AROUND,
    FAR,
    TABLE_Z,
    Around,
    Flags,
    Part,
    Rows,
    ball,
    column,
    dot,
    may_shade,
    meets,
    steps,
)

WIDTH_PX: Final = 320
HEIGHT_PX: Final = 240
GREY: Final = 0.18
TABLE: Final = 0.30
_SAMPLES: Final = 12
_FINER: Final = 4
"""So many times the samples lie on the face where no ray has to be cast, and in the soft edge of a shadow."""
_LEAST_HEIGHT_DEG: Final = 18.0
# A ray starts this far off its surface, so that it does not meet it; of the ball's radius.
_OFF_SURFACE: Final = 1e-4
_GOLDEN: Final = (math.sqrt(5.0) - 1.0) / 2.0
_PARTS: Final[tuple[Part, ...]] = ("ball", "steps")


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """What the lens sees: one row a pixel that meets something, in the object's units of `unit_mm`."""

    places: Floats
    normals: Floats
    albedo: Floats
    inside: Flags


def shadow_card_png(plan: Plan, samples: int = _SAMPLES, width: int = WIDTH_PX, height: int = HEIGHT_PX) -> bytes:
    """The card as a PNG in sRGB, at the camera's exposure where that and what the lights send are known, else with the
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
    known = sent is not None and all(emission(each) is not None for each, _ in sent)
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
    and the steps. `places` are in the object's units, one a row. The samples lie on a fixed pattern: the same every
    time."""
    assert light.position is not None
    face = face_of(light.position)
    at, upright = (np.ascontiguousarray(each.T, dtype=np.float32) for each in (places, normals))
    spots = _spots(light, face, unit_mm, samples * _FINER)
    given = np.zeros(at.shape[1], dtype=np.float32)
    for spot in spots:
        given += _given(light, face, column(spot, at) - at, upright)
    around = Around(tuple((face.middle / unit_mm).tolist()), light.source.largest_dimension_mm / 2.0 / unit_mm)
    shading = {part: may_shade(part, at, around) & (given > 0.0) for part in _PARTS}
    seen = np.ones(at.shape[1], dtype=np.float32)
    few = _spots(light, face, unit_mm, samples)
    seen[shading["ball"] | shading["steps"]] = _seen_part(light, face, few, at, upright, shading)
    edge = (seen > 0.0) & (seen < 1.0)
    in_edge = {part: each & edge for part, each in shading.items()}
    seen[edge] = _seen_part(light, face, spots, at, upright, in_edge)
    return np.asarray(given * seen / len(spots) / unit_mm**2, dtype=np.float64)


def _given(light: PlanLight, face: Face, ways: Rows, normals: Rows) -> Rows:
    """What a place of the face gives at the start of each way that runs to it, were nothing in between."""
    squared = np.maximum(dot(ways, ways), 1e-6)
    at_slope = np.maximum(dot(ways, normals), 0.0)
    towards = -dot(ways, column(face.normal, ways))
    at_face = (towards > 0.0) * np.sqrt(squared) if isinstance(light.source, Point) else np.maximum(towards, 0.0)
    found: Rows = at_slope * at_face / (squared * squared)
    return found


def _seen_part(
    light: PlanLight, face: Face, spots: Floats, places: Rows, normals: Rows, shading: dict[Part, Flags]
) -> Rows:
    """How much of what a face gives comes past the object, at the places that something of it may shade."""
    chosen = np.flatnonzero(shading["ball"] | shading["steps"])
    at, upright = places[:, chosen], normals[:, chosen]
    starts = at + np.float32(_OFF_SURFACE) * upright
    tried = {part: np.flatnonzero(shading[part][chosen]) for part in _PARTS}
    of_part = {part: np.ascontiguousarray(starts[:, rows]) for part, rows in tried.items()}
    given, past = np.zeros(len(chosen), dtype=np.float32), np.zeros(len(chosen), dtype=np.float32)
    for spot in spots:
        ways = column(spot, at) - at
        light_here = _given(light, face, ways, upright)
        given += light_here
        for part, rows in tried.items():
            light_here[rows[meets(part, of_part[part], ways[:, rows])]] = 0.0
        past += light_here
    return np.asarray(past / np.maximum(given, np.float32(1e-30)))


def _spots(light: PlanLight, face: Face, unit_mm: float, samples: int) -> Floats:
    """The places of a face that rays go to, in the object's units."""
    spread = _spread_over(light, samples)
    return np.asarray((face.middle + spread[:, :1] * face.across + spread[:, 1:] * face.up) / unit_mm)


def _spread_over(light: PlanLight, samples: int) -> Floats:
    """Places over the face that stand for equal parts of it: a golden-angle spiral for what is round, for what
    is square one place to each slice of the longer side, stepping along the shorter by the golden ratio."""
    if isinstance(light.source, Point):
        return np.zeros((1, 2))
    index = np.arange(samples) + 0.5
    if not isinstance(light.source, Rectangle):
        inner = light.source.inner_diameter_mm / 2.0 if isinstance(light.source, Ring) else 0.0
        outer = light.source.diameter_mm / 2.0
        radius = np.sqrt(inner**2 + (outer**2 - inner**2) * index / samples)
        angle = index * math.pi * (3.0 - math.sqrt(5.0))
        return np.column_stack((radius * np.cos(angle), radius * np.sin(angle)))
    along, beside = 2.0 * index / samples - 1.0, 2.0 * ((index * _GOLDEN + 0.5 - _GOLDEN / 2.0) % 1.0) - 1.0
    sides = (along, beside) if light.source.width_mm >= light.source.height_mm else (beside, along)
    return np.column_stack((sides[0] * light.source.width_mm / 2.0, sides[1] * light.source.height_mm / 2.0))


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
        (
            forward
            + half * across[np.newaxis, :, np.newaxis] * right
            + half * height / width * down[:, np.newaxis, np.newaxis] * up
        )
        .reshape(-1, 3)
        .T.copy()
    )
    starts = np.broadcast_to((eye + np.array([0.4, 0.0, -0.4]))[:, np.newaxis], (3, width * height))
    on_ball, (on_steps, step_normals) = ball(starts, ways), steps(starts, ways)
    with np.errstate(divide="ignore"):
        on_table = (TABLE_Z - starts[2]) / ways[2]
    on_table = np.where(on_table > 0.0, on_table, FAR)
    part = np.minimum(np.minimum(on_ball, on_steps), on_table)
    inside = part < 1e6
    places = (starts + part * ways)[:, inside].T
    normals = np.zeros_like(places)
    normals[:, 2] = 1.0
    is_ball, is_step = (on_ball <= part)[inside], (on_steps <= part)[inside]
    normals[is_step] = step_normals.T[inside][is_step]
    normals[is_ball] = places[is_ball] - AROUND["ball"].middle
    albedo = np.where(is_ball | is_step, GREY, TABLE)
    return Seen(places, normals, albedo, inside)


def _png(picture: Floats) -> bytes:
    """Linear light as an sRGB picture (iec-61966-2-1)."""
    linear = np.clip(picture, 0.0, 1.0)
    encoded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1.0 / 2.4) - 0.055)
    out = io.BytesIO()
    Image.fromarray(np.round(255.0 * encoded).astype(np.uint8)).save(out, "PNG", optimize=False, compress_level=1)
    return out.getvalue()

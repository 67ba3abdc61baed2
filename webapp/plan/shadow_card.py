"""The shadow card: what the lens would see of the set in matt grey, by ray casting; or the set from above.

The subject is a block of its width, height and depth, or a ball or a ridged disc of its size. The first view has the
lens where the camera stands and the field of the picture where that is known. Table, background, cards and flags stand
in the view and in the light as they do on the set; the camera stops light only. From every place that is seen, rays go
to places spread over each lamp's face. Nothing is mirrored or thrown back from one surface to another: it is an
indication of where shadows fall and how soft they are, not a picture of the subject.

Rays are spared where they would tell nothing: a place that no thing can leave in shadow has none traced, and only one
in the soft edge of a shadow, or near it in the picture, has many. There the places on the face turn from pixel to pixel,
and the last rounding to a grey of the picture too, so that what is left out is fine grain and never a step.

Source: lambert-cosine.
"""

from __future__ import annotations

import io
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from webapp.optics.arrays import Flags, Floats
from webapp.plan.levels import emission, emissions
from webapp.plan.solids import (
    FAR,
    Around,
    Rows,
    Shape,
    Solid,
    body_of,
    enters,
    flats_of,
    usual_shape,
)
from webapp.plan.staging import Plan
from webapp.plan.view import Look, card_size, card_view
from webapp.plan.visibility import Lamp, glimpsed, lamp_of, light_past

_BRIGHT: Final = 0.30
_LEAST_BRIGHT: Final = 0.2
_DARKEST: Final = 0.05
_LIGHTEST: Final = 0.95
"""Between these the card is exposed as the camera is set: darker or lighter it would show nothing of the shadows."""
_OF: Final = {"subject": 0.22, "flag": 0.04}
_ELSE: Final = 0.30
_SMOOTH: Final = 5
_IN_EDGE: Final = 12
_NEAR_EDGE_PX: Final = 1
_ALIKE: Final = 0.95
# A place is lifted so much off its surface, of the subject's larger side, that its rays do not meet it.
_LIFT: Final = 1e-3
_NOISE: Final = ((0.06711056, 0.00583715, 52.9829189), (0.00583715, 0.06711056, 37.2413187))


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """What is seen: one column a pixel that meets something."""

    places: Rows
    normals: Rows
    albedo: Rows
    inside: Flags


def shadow_card_png(plan: Plan, look: Look = "lens", shape: Shape | None = None) -> bytes:
    """The card as a PNG in sRGB, at the camera's exposure where that and what the lights send are known and matt grey
    keeps its shadows at it, else with its brighter parts a little above the middle of the scale."""
    return _png(shadow_card(plan, look, shape))


def side_by_side_png(left: Plan, right: Plan, shape: Shape | None = None) -> bytes:
    """Two cards beside each other, each as `shadow_card_png` exposes it."""
    one, two = (shadow_card(each, shape=shape) for each in (left, right))
    height = max(len(one), len(two))
    cards = [np.pad(each, ((0, height - len(each)), (0, 0))) for each in (one, two)]
    return _png(np.hstack((cards[0], np.zeros((height, 6)), cards[1])))


def shadow_card(
    plan: Plan, look: Look = "lens", shape: Shape | None = None, size: tuple[int, int] | None = None
) -> Floats:
    """The card in linear light, 1 being white: one row a row of pixels, from the top."""
    width, height = size or card_size(plan, look)
    body = body_of(plan, shape or usual_shape(plan))
    flats = flats_of(plan)
    solids: tuple[Solid, ...] = (*flats, *body)
    seen = _seen(plan, look, body, solids, width, height)
    light = np.zeros(seen.places.shape[1])
    sent = emissions(plan.direct)
    known = sent is not None and all(emission(each) is not None for each, _ in sent)
    for each, value in sent or ():
        light += value * _light_of(lamp_of(each), seen, solids, width, height)
    shaded = light * seen.albedo
    bright = max(float(np.percentile(shaded, 90.0)), _LEAST_BRIGHT * float(shaded.max())) if len(shaded) else 0.0
    # A meter's reading is the f-number at which a surface comes out as it is.
    full = 2.0**plan.camera_stops if known and plan.camera_stops is not None else 0.0
    if full > 0.0 and _DARKEST < bright / full < _LIGHTEST:
        exposed = shaded / full
    else:
        exposed = shaded * (_BRIGHT / bright) if bright > 0.0 else shaded
    picture = np.zeros(width * height)
    picture[seen.inside] = exposed
    return picture.reshape(height, width)


def _seen(plan: Plan, look: Look, body: Sequence[Solid], solids: Sequence[Solid], width: int, height: int) -> Seen:
    """Rays from the lens through each pixel. From above nothing is shown that would hide the subject or the table."""
    view = card_view(plan, look, width, height)
    assert view.field_mm is not None
    across = ((np.arange(width) + 0.5) / width - 0.5) * view.field_mm[0]
    up = (0.5 - (np.arange(height) + 0.5) / height) * view.field_mm[1]
    in_plane = (
        view.face.across[:, np.newaxis, np.newaxis] * across[np.newaxis, np.newaxis, :]
        + view.face.up[:, np.newaxis, np.newaxis] * up[np.newaxis, :, np.newaxis]
    ).reshape(3, -1)
    ways = (in_plane - view.eye[:, np.newaxis]).astype(np.float32)
    starts = np.broadcast_to(view.eye.astype(np.float32)[:, np.newaxis], ways.shape)
    shown = [each for each in solids if each.name != "camera"]
    if look == "above":
        shown = [each for each in solids if each.name in ("subject", "table") or _lies(each)]
    nearest = np.full(ways.shape[1], FAR, dtype=np.float32)
    by = np.full(ways.shape[1], -1)
    for index, each in enumerate(shown):
        at = enters(each, starts, ways)
        nearer = at < nearest
        nearest[nearer], by[nearer] = at[nearer], index
    inside = by >= 0
    places = starts[:, inside] + nearest[inside] * ways[:, inside]
    normals, albedo = np.zeros_like(places), np.zeros(places.shape[1], dtype=np.float32)
    for index, each in enumerate(shown):
        rows = by[inside] == index
        normals[:, rows] = each.normals_at(places[:, rows])
        albedo[rows] = _OF.get(each.name, _ELSE)
    # What is flat is seen, and lit, on the side that the lens is on.
    away = (normals * ways[:, inside]).sum(axis=0) > 0.0
    normals[:, away] *= -1.0
    return Seen(places + np.float32(_LIFT * max(plan.subject_mm)) * normals, normals, albedo, inside)


def _lies(solid: Solid) -> bool:
    """Whether something is a background on which the subject lies."""
    if solid.name != "background":
        return False
    return abs(float(solid.normals_at(np.zeros((3, 1)))[2, 0])) > math.sqrt(0.5)


def _light_of(lamp: Lamp, seen: Seen, solids: Sequence[Solid], width: int, height: int) -> Rows:
    """The light of one lamp at everything that is seen."""
    places, normals = seen.places, seen.normals
    free = light_past(lamp, places, normals, ((),), _SMOOTH)[0]
    part = np.ones_like(free)
    shaded = _may_be_shaded(solids, places, lamp.around) & (free > 0.0)
    part[shaded] = glimpsed(lamp, places[:, shaded], solids)
    edge = _near_edge(part, seen.inside, width, height) & shaded
    turns = _turns(seen.inside, width, height)[:, edge]
    clear, left = light_past(lamp, places[:, edge], normals[:, edge], ((), solids), _IN_EDGE, turns=turns)
    part[edge] = left / np.maximum(clear, np.finfo(clear.dtype).tiny)
    return free * _averaged(part, edge, seen, width, height)


def _averaged(part: Rows, edge: Flags, seen: Seen, width: int, height: int) -> Rows:
    """The soft edges averaged over each pixel and its neighbours on the same slope: nine times the places on the face,
    since the turns of nine such pixels lie evenly between each other's."""
    # A frame of one pixel around the picture, so that every pixel has neighbours.
    value = np.zeros((height + 2, width + 2), dtype=part.dtype)
    slope, soft = np.zeros((3, *value.shape), dtype=part.dtype), np.zeros(value.shape, dtype=np.bool_)
    row, column_ = np.divmod(np.flatnonzero(seen.inside), width)
    at = (row + 1, column_ + 1)
    value[at], slope[:, at[0], at[1]], soft[at] = part, seen.normals, edge
    found, counts = np.zeros((height, width), dtype=part.dtype), np.zeros((height, width), dtype=part.dtype)
    here = slope[:, 1:-1, 1:-1]
    for down, across in itertools.product(range(3), repeat=2):
        near = (slice(down, down + height), slice(across, across + width))
        alike = soft[near] & ((here * slope[(slice(None), *near)]).sum(axis=0) > _ALIKE)
        found += alike * value[near]
        counts += alike
    whole = np.where(soft[1:-1, 1:-1] & (counts > 0.0), found / np.maximum(counts, 1.0), value[1:-1, 1:-1])
    return np.asarray(whole[row, column_])


def _may_be_shaded(solids: Sequence[Solid], places: Rows, light: Around) -> Flags:
    found = np.zeros(places.shape[1], dtype=np.bool_)
    for each in solids:
        found |= each.may_shade(places, light)
    return found


def _near_edge(part: Rows, inside: Flags, width: int, height: int) -> Flags:
    """Where a lamp is seen in part, and the pixels next to it; also where it is seen here and hidden next to it."""
    whole = np.full(width * height, np.nan, dtype=np.float32)
    whole[inside] = part
    grid = whole.reshape(height, width)
    edge = (grid > 0.0) & (grid < 1.0)
    for axis in (0, 1):
        with np.errstate(invalid="ignore"):
            steps = np.abs(np.diff(grid, axis=axis)) > 0.0
        after, before = np.zeros_like(edge), np.zeros_like(edge)
        after[tuple(slice(1, None) if each == axis else slice(None) for each in (0, 1))] = steps
        before[tuple(slice(None, -1) if each == axis else slice(None) for each in (0, 1))] = steps
        edge |= after | before
    for axis in (0, 1):
        spread = edge.copy()
        for by in range(1, _NEAR_EDGE_PX + 1):
            spread |= _shifted(edge, by, axis) | _shifted(edge, -by, axis)
        edge = spread
    return np.asarray(edge.reshape(-1)[inside])


def _shifted(flags: Flags, by: int, axis: int) -> Flags:
    found = np.roll(flags, by, axis)
    index: list[Any] = [slice(None), slice(None)]
    index[axis] = slice(None, by) if by > 0 else slice(by, None)
    found[tuple(index)] = False
    return found


def _turns(inside: Flags, width: int, height: int) -> Rows:
    """Two numbers from 0 to 1 for each pixel that is seen, unlike those of its neighbours: gradient noise, from
    memory."""
    y, x = (each.ravel()[inside] for each in np.mgrid[0:height, 0:width])
    return np.stack([(scale * ((across * x + down * y) % 1.0)) % 1.0 for across, down, scale in _NOISE]).astype(
        np.float32
    )


def _png(picture: Floats) -> bytes:
    """Linear light as an sRGB picture (iec-61966-2-1)."""
    linear = np.clip(picture, 0.0, 1.0)
    encoded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1.0 / 2.4) - 0.055)
    height, width = picture.shape
    grain = _turns(np.ones(width * height, dtype=np.bool_), width, height)[0].reshape(height, width)
    levels: NDArray[np.uint8] = np.clip(np.floor(255.0 * encoded + grain), 0.0, 255.0).astype(np.uint8)
    levels[linear <= 0.0] = 0
    out = io.BytesIO()
    Image.fromarray(levels).save(out, "PNG", optimize=False, compress_level=1)
    return out.getvalue()

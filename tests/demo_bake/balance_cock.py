"""A pierced, frosted-gilt balance cock of a watch, with polished steel, on black flock; ring light A.

The table, the foot and their scrollwork are drawn, given a height, and shaded by the tilt of the surface: a
ring light reaches every point from all sides at the same angle, so that tilt alone decides what the lens sees.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from tests.demo_bake.still_life import Scene, brought_to
from tests.demo_bake.surfaces import (
    Field,
    Pencil,
    Plane,
    Point,
    Rect,
    Size,
    as_plane,
    coloured,
    edge_distance_px,
    fractal_noise,
    gaussian_blur,
    leaf,
    mix,
    noise,
    slopes,
    smooth_curve,
    smoothstep,
)

FIELD_WIDTH_MM: Final = 30.0
RING_RADIUS_MM: Final = 55.0
RING_DISTANCE_MM: Final = 120.0
RING_ANGLE_RAD: Final = math.atan(RING_RADIUS_MM / RING_DISTANCE_MM)
MIRROR_TILT_RAD: Final = RING_ANGLE_RAD / 2
"""A polished surface tilted by half the ring's angle mirrors the ring into the lens."""

TABLE: Final[Point] = (-4.3, 0.0)
TABLE_RADIUS_MM: Final = 7.6
HUB_RADIUS_MM: Final = 3.1
VOLUTES: Final = 8
GILT: Final = (1.0, 0.69, 0.26)
STEEL: Final = (0.92, 0.95, 1.0)
BLUED: Final = (0.10, 0.22, 1.0)
RUBY: Final = (1.0, 0.05, 0.10)
NECK_MM: Final = (2.6, 5.4)
STEP_MM: Final = 1.3
SCREW_HEIGHT_MM: Final = 2.4
ENDPIECE_HEIGHT_MM: Final = 3.0
FOOT_SCREW: Final[Point] = (9.6, 0.0)
LEAF: Final[tuple[Point, ...]] = ((0.0, 0.18), (0.25, 0.75), (0.5, 1.0), (0.78, 0.62), (1.0, 0.0))
FOOT: Final[tuple[Point, ...]] = (
    (1.8, -2.6),
    (4.2, -2.1),
    (5.9, -3.4),
    (7.6, -5.9),
    (10.3, -6.9),
    (12.4, -6.1),
    (12.9, -3.4),
    (13.5, 0.0),
    (12.9, 3.4),
    (12.4, 6.1),
    (10.3, 6.9),
    (7.6, 5.9),
    (5.9, 3.4),
    (4.2, 2.1),
    (1.8, 2.6),
)


def patches_of(size: Size) -> dict[str, Rect]:
    """Where the patch of the balance cock lies in a picture of a size."""
    return {"gilt": Field(size, FIELD_WIDTH_MM).fractions((10.9, 4.4), 1.6, 1.3)}


def balance_cock(size: Size) -> Scene:
    """Light "A" is the ring; the patch is "gilt", plain frosted gilding on the foot."""
    field = Field(size, FIELD_WIDTH_MM)
    rng = np.random.default_rng(1760)
    px = field.px_per_mm
    metal = field.draw(_outline)
    height = _relief(field, metal)
    grain = 0.6 * noise(size, 1.3, rng) + 0.5 * noise(size, 2.6, rng) + 0.35 * noise(size, 6.0, rng)
    frosted = gaussian_blur(height, 0.5) + (grain * 0.0013)
    tilt_x, tilt_y = slopes(frosted, px)
    wear = fractal_noise(size, 5.0 * px, rng, octaves=5)

    flock = coloured(0.005 + 0.0006 * noise(size, 6 * px, rng), 0.92, 0.95, 1.0)
    gilding = _ring_on_gilt(tilt_x, tilt_y) * (1 + 0.035 * wear) * (1 + 0.05 * grain)
    ring = mix(flock, coloured(gilding, *GILT), metal[..., np.newaxis])
    room = mix(
        flock * np.float32(1.5),
        coloured(_room_on_gilt(tilt_x, tilt_y) * (1 + 0.04 * wear), 0.95, 0.70, 0.34),
        metal[..., np.newaxis],
    )
    _set_endpiece(field, ring, room, height)
    _set_screw(field, (ring, room, height), FOOT_SCREW, 1.72, 0.62, STEEL)
    for side, slot_angle in ((-1, 1.25), (1, 0.4)):
        _set_screw(field, (ring, room, height), (TABLE[0], side * 2.02), 0.56, slot_angle, BLUED)

    # the flock is out of focus anyway; beside an edge it takes the edge's height, so that its blur spreads out
    beside = gaussian_blur(np.stack([height * metal, metal], axis=-1), 0.4 * px)
    # the neck is drawn less steep than it is, since a ring light would leave a steep one black
    step = STEP_MM * smoothstep(*NECK_MM, field.grid_mm()[0])
    patches = patches_of(size)
    gilt = patches["gilt"]
    return Scene(
        name="balance-cock",
        lights={"A": brought_to(1.0, ring, gilt)},
        ambient=brought_to(1.0, room, gilt),
        glare={},
        patches=patches,
        height_mm=as_plane(mix(beside[..., 0] / (beside[..., 1] + np.float32(1e-3)), height, metal) - step),
    )


def _polar(radius: float, angle: float, centre: Point = TABLE) -> Point:
    return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)


def _volute(index: int) -> list[Point]:
    """One scroll of the running vine, from its root at the rim to its eye; alternate ones curl the other way."""
    around = (index + 0.5) * math.tau / VOLUTES
    turn = 1 if index % 2 else -1
    eye = _polar(4.82, around)
    curve = []
    for step in range(70):
        u = step / 69
        radius = 1.55 * (1 - u) ** 0.85 + 0.26
        curve.append(_polar(radius, around + turn * (2.0 + u * 1.75 * math.tau), eye))
    return curve


def _leaves() -> list[tuple[Point, float, float, float]]:
    """Root, direction, length and half breadth of each leaf between the scrolls."""
    leaves = []
    for index in range(VOLUTES):
        between = index * math.tau / VOLUTES
        rim, hub = _polar(6.6, between), _polar(3.0, between)
        for lean, length in ((0.0, 1.25), (0.75, 0.95), (-0.75, 0.95)):
            leaves.append((rim, between + math.pi + lean, length, 0.24))
        for lean, length in ((0.0, 1.2), (0.8, 0.8), (-0.8, 0.8)):
            leaves.append((hub, between + lean, length, 0.22))
    return leaves


def _outline(pencil: Pencil) -> None:
    pencil.polygon(smooth_curve(FOOT))
    pencil.disc(TABLE, TABLE_RADIUS_MM)
    pencil.disc(TABLE, 6.55, paint=0)
    pencil.disc(TABLE, HUB_RADIUS_MM)
    for index in range(VOLUTES):
        vine = _volute(index)
        pencil.line(vine, [0.52 - 0.22 * step / len(vine) for step in range(len(vine))])
        pencil.disc(vine[-1], 0.34)
    for one in _leaves():
        pencil.polygon(leaf(LEAF, *one))
    for side in (-1, 1):
        pencil.polygon(leaf(LEAF, (6.1, side * 1.9), side * 0.72, 2.1, 0.42), paint=0)
        pencil.polygon(leaf(LEAF, (7.0, side * 1.2), side * 0.25, 1.1, 0.25), paint=0)


def _engraving(pencil: Pencil) -> None:
    for radius in (6.95, 7.3):
        pencil.line([_polar(radius, math.tau * step / 180) for step in range(181)], 0.055)
    for step in range(96):
        angle = math.tau * (step + 0.5) / 96
        pencil.line([_polar(7.0, angle - 0.012), _polar(7.25, angle + 0.012)], [0.10, 0.03])
    for index in range(VOLUTES):
        pencil.line(_volute(index)[:-6], 0.055)
    for root, angle, length, _ in _leaves():
        pencil.line([root, _polar(length * 0.85, angle, root)], [0.08, 0.03])
    _foot_engraving(pencil)


def _foot_engraving(pencil: Pencil) -> None:
    border = [(8.9 + (x - 8.9) * 0.9, y * 0.9) for x, y in smooth_curve(FOOT[2:13], closed=False)]
    pencil.line(border, 0.06)
    pencil.line([(8.9 + (x - 8.9) * 0.955, y * 0.955) for x, y in border], 0.035)
    ring = [_polar(2.25, math.tau * step / 90, FOOT_SCREW) for step in range(91)]
    pencil.line(ring, 0.06)
    for step in range(36):
        angle = math.tau * step / 36
        start, end = _polar(2.33, angle, FOOT_SCREW), _polar(2.72, angle, FOOT_SCREW)
        pencil.line([start, end], [0.13, 0.03])
    for eye, turn, begin in (((8.3, -4.5), 1, 0.4), ((8.3, 4.5), -1, -0.4)):
        scroll = [
            _polar(1.0 * (1 - u) ** 0.8 + 0.08, begin + turn * u * 1.9 * math.tau, eye)
            for u in (step / 59 for step in range(60))
        ]
        pencil.line(scroll, [0.14 - 0.10 * abs(2 * step / 59 - 0.7) / 1.3 for step in range(60)])
        for petal in range(5):
            lean = begin + turn * (0.5 + petal * 0.55)
            start = _polar(1.08, lean, eye)
            pencil.line([start, _polar(0.36, lean + turn * 0.5, start)], [0.12, 0.03])


def _relief(field: Field, metal: Plane) -> Plane:
    """Height of the gilt: filed edges, scrolls domed a little, the neck sloping from table to foot, and lines
    cut by the graver with a small burr thrown up beside them."""
    px = field.px_per_mm
    x, _ = field.grid_mm()
    inside = np.maximum(edge_distance_px(metal, 0.55 * px), 0) / px
    filed = -0.20 * np.exp(-((inside / 0.11) ** 2)) - 0.10 * np.exp(-inside / 0.22)
    cut = field.draw(_engraving)
    groove = gaussian_blur(cut, 0.022 * px)
    burr = gaussian_blur(cut, 0.06 * px)
    neck = 1.9 + 0.9 * (1 - smoothstep(*NECK_MM, x))
    return as_plane(neck + filed - 0.075 * groove + 0.02 * burr)


def _ring_on_gilt(tilt_x: Plane, tilt_y: Plane) -> Plane:
    """Frosted gilding is a broad lobe about the mirror tilt over a matt base.

    The upper half of the ring is a little the stronger, as the tube's feed is there.
    """
    steep = np.hypot(tilt_x, tilt_y)
    tilt = np.arctan(steep)
    matt = np.cos(np.minimum(tilt, 1.5)) * math.cos(RING_ANGLE_RAD)
    lobe = np.exp(-(((tilt - MIRROR_TILT_RAD) / 0.125) ** 2))
    sided = 1 + 0.30 * tilt_y / np.sqrt(1 + steep**2)
    return as_plane((0.42 * matt**2 + 1.15 * lobe) * sided + 0.015)


def _room_on_gilt(tilt_x: Plane, tilt_y: Plane) -> Plane:
    """A bright ceiling off to the upper left."""
    facing = (0.80 + 0.35 * tilt_x + 0.45 * tilt_y) / np.sqrt(1 + tilt_x**2 + tilt_y**2)
    return np.maximum(facing, 0.05) ** 2


def _mirrored_ring(tilt: Plane, breadth_rad: float) -> Plane:
    """The ring seen in polished steel: a bright band where the tilt is right, the dark lens inside it."""
    tube = np.exp(-(((tilt - MIRROR_TILT_RAD) / breadth_rad) ** 4))
    halo = np.exp(-(((tilt - MIRROR_TILT_RAD) / (4.5 * breadth_rad)) ** 2))
    return as_plane(9.0 * tube + 0.35 * halo)


def _set_screw(
    field: Field,
    layers: tuple[Plane, Plane, Plane],
    centre: Point,
    radius: float,
    slot_angle: float,
    colour: tuple[float, float, float],
) -> None:
    """Set a slotted head, polished and slightly domed, chamfered at its edge, in its own dark gap."""
    rows, columns = field.window(centre, 1.3 * radius)
    ring, room, height = (layer[rows, columns] for layer in layers)
    x, y = field.grid_mm()
    px = field.px_per_mm
    dx, dy = x[:, columns] - centre[0], y[rows] - centre[1]
    r = np.hypot(dx, dy)
    head = np.clip((radius - r) * px + 0.5, 0, 1)[..., np.newaxis]
    gap = np.clip((radius * 1.10 + 0.04 - r) * px * 0.6 + 0.5, 0, 1)[..., np.newaxis]

    dome = 0.50 * r / radius
    brushed = 0.012 * np.sin(r * 2 * math.pi / 0.05)
    steel = 0.045 + _mirrored_ring(dome + brushed, 0.032)
    steel = steel + 0.10 * smoothstep(0.0, 0.9, (r / radius))
    chamfer = smoothstep(0.86, 0.89, (r / radius))
    facing_up = 0.5 - 0.5 * dy / np.maximum(r, 1e-3)
    steel = steel * (1 - chamfer) + chamfer * (0.06 + 0.9 * facing_up**3)
    across = -dx * math.sin(slot_angle) + dy * math.cos(slot_angle)
    width = 0.13 * radius
    slot = np.clip((width - np.abs(across)) * px + 0.5, 0, 1)
    lip = np.exp(-(((np.abs(across) - width * 1.12) * px / 1.1) ** 2)) * (r < 0.88 * radius)
    floor = 0.03 + 0.10 * smoothstep(-width, width, across)
    steel = steel * (1 - slot) + slot * floor + 0.55 * lip

    sky = 0.10 + 0.9 * np.exp(-(((dx + 0.35 * radius) ** 2 + (dy + 0.4 * radius) ** 2) / (0.25 * radius**2)))
    ring[...] = mix(ring * (1 - 0.93 * gap), coloured(steel, *colour), head)
    room_steel = sky * (1 - 0.9 * slot)
    room[...] = mix(room * (1 - 0.93 * gap), coloured(room_steel, *colour), head)
    height[...] = np.maximum(height, SCREW_HEIGHT_MM * head[..., 0])


def _set_endpiece(field: Field, whole_ring: Plane, whole_room: Plane, whole_height: Plane) -> None:
    """Set the steel endpiece, flat and black-polished with a bright bevel, holding a ruby in a gold setting."""
    rows, columns = field.window(TABLE, 3.4)
    ring, room, height = (layer[rows, columns] for layer in (whole_ring, whole_room, whole_height))
    x, y = field.grid_mm()
    px = field.px_per_mm
    dx, dy = x[:, columns] - TABLE[0], y[rows] - TABLE[1]
    plate = field.draw(_endpiece_outline)[rows, columns]
    inside = np.maximum(edge_distance_px(plate, 0.4 * px), 0) / px
    bevel_tilt_x, bevel_tilt_y = slopes(np.minimum(inside, 0.17), px)
    bevel = np.clip(np.hypot(bevel_tilt_x, bevel_tilt_y), 0, 1)
    facing_up = np.clip(bevel_tilt_y, 0, 1)
    grain = 0.012 * np.sin((dx * 0.6 + dy) * 2 * math.pi / 0.09)
    steel = 0.075 + grain + 0.02 * dy + bevel * (0.5 + 1.5 * facing_up)
    shade = gaussian_blur(plate, 0.10 * px)[..., np.newaxis]
    ring[...] = mix(ring * (1 - 0.75 * shade), coloured(steel, *STEEL), plate[..., np.newaxis])
    room[...] = mix(
        room * (1 - 0.6 * shade),
        coloured(0.40 - 0.13 * dy + 0.8 * facing_up, *STEEL),
        plate[..., np.newaxis],
    )

    r = np.hypot(dx, dy)
    setting = np.clip((1.18 - r) * px + 0.5, 0, 1)[..., np.newaxis]
    setting_tilt = 0.9 * (r - 0.98) / 0.16
    gold = 0.10 + 0.25 * _mirrored_ring(np.abs(setting_tilt), 0.10)
    stone = np.clip((0.86 - r) * px + 0.5, 0, 1)[..., np.newaxis]
    depth = 0.10 + 0.55 * np.exp(-(((dx - 0.25) ** 2 + (dy - 0.3) ** 2) / 0.22)) + 0.25 * (r / 0.86) ** 4
    pivot = np.clip((0.13 - r) * px + 0.5, 0, 1)
    mirrored = _mirrored_ring((0.42 * r / 0.86), 0.028) * np.float32(0.55)
    jewel = coloured(depth * (1 - 0.9 * pivot), *RUBY) + mirrored[..., np.newaxis]
    ring[...] = mix(mix(ring, coloured(gold, *GILT), setting), jewel, stone)
    dull = coloured(0.25 + 0.4 * depth, 1.0, 0.25, 0.2)
    room[...] = mix(mix(room, coloured(np.full_like(r, 0.6), *GILT), setting), dull, stone)
    height[...] = np.maximum(height, ENDPIECE_HEIGHT_MM * plate)


def _endpiece_outline(pencil: Pencil) -> None:
    corners: list[Point] = [
        (0.0, -2.85),
        (0.62, -2.6),
        (0.78, -2.0),
        (0.72, -1.55),
        (1.35, -1.0),
        (1.62, 0.0),
        (1.35, 1.0),
        (0.72, 1.55),
        (0.78, 2.0),
        (0.62, 2.6),
        (0.0, 2.85),
    ]
    corners += [(-x, y) for x, y in reversed(corners[1:-1])]
    pencil.polygon(smooth_curve([(TABLE[0] + x, TABLE[1] + y) for x, y in corners]))

"""A hand-made, crackle-glazed tile of 15 cm, square-on, between monolights A (left) and B (right).

How much each light gives at each place follows from where it stands: the cosine of its angle over the square of
its distance. A fired tile bows a little, so its sides lean outwards and each light favours its own side. What
the glaze mirrors is kept apart from what the body under it scatters, since crossed polarisers part the two.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

import numpy as np

from tests.demo_bake.still_life import AMBIENT, LUMINANCE, Scene, brought_to, patch_level, patch_of
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

FIELD_WIDTH_MM: Final = 270.0
HALF_SIDE_MM: Final = 75.0
THICKNESS_MM: Final = 9.0
LIGHT_DISTANCE_MM: Final = 1000.0
LIGHT_ANGLE_RAD: Final = math.radians(45)
BOW_PER_MM: Final = 0.0003
"""How much the tile's face leans outwards for each millimetre from its middle: 0.8 mm of bow over the tile."""
LEVEL: Final = np.zeros((1, 1), dtype=np.float32)
SIDES: Final = {"A": -1.0, "B": 1.0}
PATCHES_MM: Final[Mapping[str, tuple[Point, float, float]]] = {
    "centre": ((0.0, 0.0), 15.0, 15.0),
    "left": ((-69.5, 0.0), 6.0, 44.0),
    "right": ((69.5, 0.0), 6.0, 44.0),
}
GLAZE: Final = (0.74, 1.06, 0.88)
SLIP: Final = (3.1, 2.95, 2.35)
SKY: Final = (0.78, 0.98, 1.22)
DAYLIGHT: Final = (0.92, 1.0, 1.13)
PETAL: Final[tuple[Point, ...]] = ((0.0, 0.12), (0.3, 0.62), (0.62, 1.0), (0.86, 0.72), (1.0, 0.0))
COBALT: Final = (0.035, 0.085, 0.40)
STAIN: Final = (0.16, 0.10, 0.06)


def patches_of(size: Size) -> dict[str, Rect]:
    """Where the patches of the tile lie in a picture of a size."""
    whole = Field(size, FIELD_WIDTH_MM)
    return {name: whole.fractions(*place) for name, place in PATCHES_MM.items()}


def tile(size: Size) -> Scene:
    """Lights "A" and "B" at 0 stops together bring the patch "centre" to 1.0; "left" and "right" lie at the
    tile's sides. `glare` holds the reflections of A, of B, and of a window in the room ("ambient")."""
    whole = Field(size, FIELD_WIDTH_MM)
    rng = np.random.default_rng(1884)
    patches = patches_of(size)
    rows, columns = whole.window((0.0, 0.0), HALF_SIDE_MM + 2)
    tile_only = Field((columns.stop - columns.start, rows.stop - rows.start), _width_mm(columns, whole))
    grain = 0.006 * fractal_noise(size, 5, rng) + 0.004 * noise(size, 1.2, rng)
    board = coloured(0.24 + grain, 0.98, 1.0, 1.04)
    cover = whole.draw(_outline)
    shape = cover[rows, columns]
    inside_mm = edge_distance_px(shape, 3 * whole.px_per_mm) / np.float32(whole.px_per_mm)
    lean_x, lean_y = _body_lean(tile_only, inside_mm, rng)
    glaze_x, glaze_y = _glaze_lean(tile_only, inside_mm, rng)
    painted = _evenly_lit(tile_only, _glaze(tile_only, rng), lean_x, lean_y)
    painted *= (0.35 + 0.65 * smoothstep(0.2, 2.0, inside_mm))[..., np.newaxis]

    lights, glare = {}, {}
    for name, side in SIDES.items():
        shadow = _cast_shadow(whole, cover, side)
        lit = board * (_lambert(whole, side) * (1 - 0.95 * shadow))[..., np.newaxis]
        on_tile = painted * _lambert(tile_only, side, lean_x, lean_y)[..., np.newaxis]
        lit[rows, columns] = mix(lit[rows, columns], on_tile, shape[..., np.newaxis])
        lights[name] = lit
        glare[name] = np.zeros_like(lit)
        glare[name][rows, columns] = coloured(_mirrored_light(side, glaze_x, glaze_y) * shape, 1.0, 0.99, 0.96)
    both = patch_level(lights["A"] + lights["B"], patches["centre"])

    x, y = whole.grid_mm()
    room = board * (1 - 0.0022 * x + 0.0022 * y)[..., np.newaxis]
    x, y = tile_only.grid_mm()
    daylight = np.maximum(1 - 0.0022 * x + 0.0022 * y + 0.9 * (lean_y - lean_x), 0.05)
    room[rows, columns] = mix(room[rows, columns], painted * daylight[..., np.newaxis], shape[..., np.newaxis])
    room *= np.array(DAYLIGHT, dtype=np.float32)
    glare[AMBIENT] = np.zeros_like(room)
    glare[AMBIENT][rows, columns] = coloured(_window_pane(tile_only, glaze_x, glaze_y) * shape, *SKY)
    return Scene(
        name="tile",
        lights={name: light / np.float32(both) for name, light in lights.items()},
        ambient=brought_to(1.0, room, patches["centre"]),
        glare=glare,
        patches=patches,
        height_mm=THICKNESS_MM * cover,
    )


def _width_mm(columns: slice, field: Field) -> float:
    return float((columns.stop - columns.start) / field.px_per_mm)


def _outline(pencil: Pencil) -> None:
    """Cut by hand: corners a little round, sides not quite straight."""
    s, radius = HALF_SIDE_MM, 2.5
    corners: list[Point] = []
    for quarter, wobble in enumerate((0.25, -0.3, 0.2, -0.2)):
        turn = quarter * math.pi / 2
        side = [(-s + 9, s), (-s / 3, s + wobble), (s / 3, s - wobble), (s - 9, s), (s - 5, s)]
        bend = [math.radians(degrees) for degrees in (90, 60, 30, 0)]
        side += [(s - radius + radius * math.cos(a), s - radius + radius * math.sin(a)) for a in bend]
        side += [(s, s - 5)]
        corners += [
            (x * math.cos(turn) + y * math.sin(turn), y * math.cos(turn) - x * math.sin(turn)) for x, y in side
        ]
    pencil.polygon(smooth_curve(corners, steps=10))


def _across(field: Field, plane: Plane) -> Plane:
    """The plane's mean at each of the three patches, carried smoothly across the picture."""
    x, _ = field.grid_mm()
    from_left = sorted(PATCHES_MM.values())
    means = [float(patch_of(plane, field.fractions(*place)).mean()) for place in from_left]
    places = [centre[0] for centre, _, _ in from_left]
    return as_plane(np.interp(x, places, means))


def _evenly_lit(field: Field, painted: Plane, lean_x: Plane, lean_y: Plane) -> Plane:
    """The glaze with the drift of its tone across the patches taken out, so that what they read is the light."""
    x, y = field.grid_mm()
    pressed = sum(_lambert(field, side, lean_x, lean_y) for side in SIDES.values())
    bowed = sum(_lambert(field, side, BOW_PER_MM * x, BOW_PER_MM * y) for side in SIDES.values())
    drift = _across(field, (painted @ LUMINANCE) * pressed / bowed)
    return as_plane(painted / drift[..., np.newaxis])


def _body_lean(field: Field, inside_mm: Plane, rng: np.random.Generator) -> tuple[Plane, Plane]:
    """How far the face leans to the right and downwards: bowed as a whole, hand-pressed, round at the edge."""
    x, y = field.grid_mm()
    px = field.px_per_mm
    pressed = 0.10 * fractal_noise(field.size, 11 * px, rng, octaves=3)
    rounded = -1.1 * np.exp(-np.maximum(inside_mm, 0) / 0.9)
    slope_x, slope_y = slopes(pressed + rounded, px)
    slope_x = slope_x - _across(field, slope_x)
    return as_plane(BOW_PER_MM * x - slope_x), as_plane(BOW_PER_MM * y - slope_y)


def _glaze_lean(field: Field, inside_mm: Plane, rng: np.random.Generator) -> tuple[Plane, Plane]:
    """The skin of the glaze is wavier than the body under it, but pooled flat in the middle."""
    x, y = field.grid_mm()
    px = field.px_per_mm
    wavy = 1 - np.exp(-((np.hypot(x, y) / 27) ** 4))
    skin = 0.66 * noise(field.size, 14 * px, rng) + 0.09 * noise(field.size, 4.5 * px, rng)
    skin += 0.012 * noise(field.size, 1.4 * px, rng)
    rounded = -1.5 * np.exp(-np.maximum(inside_mm, 0) / 1.3)
    slope_x, slope_y = slopes(skin * wavy + rounded, px)
    return as_plane(BOW_PER_MM * x - slope_x), as_plane(BOW_PER_MM * y - slope_y)


def _lambert(field: Field, side: float, lean_x: Plane = LEVEL, lean_y: Plane = LEVEL) -> Plane:
    """Illuminance at each place of a face with that lean, 1 in the middle."""
    x, y = field.grid_mm()
    lamp_x = side * LIGHT_DISTANCE_MM * math.sin(LIGHT_ANGLE_RAD)
    lamp_z = LIGHT_DISTANCE_MM * math.cos(LIGHT_ANGLE_RAD)
    to_x, to_y = lamp_x - x, -y
    square = to_x**2 + to_y**2 + lamp_z**2
    facing = (lean_x * to_x + lean_y * to_y + lamp_z) / np.sqrt(1 + lean_x**2 + lean_y**2)
    return as_plane(np.maximum(facing, 0) * square**-1.5 * (LIGHT_DISTANCE_MM**3 / lamp_z))


def _mirrored_light(side: float, lean_x: Plane, lean_y: Plane) -> Plane:
    """The reflector's image where the glaze leans half the light's angle, with the sheen about it."""
    wanted = side * math.tan(LIGHT_ANGLE_RAD / 2)
    off = (lean_x - wanted) ** 2 + lean_y**2
    return as_plane(7.0 * np.exp(-((off / 0.115**2) ** 2)) + 0.8 * np.exp(-off / 0.17**2))


def _cast_shadow(field: Field, cover: Plane, side: float) -> Plane:
    """The tile's shadow on the board: as far aside as the tile is thick, since the light stands at 45 degrees."""
    px = field.px_per_mm
    aside = round(-side * THICKNESS_MM * math.tan(LIGHT_ANGLE_RAD) * px)
    cast = gaussian_blur(np.roll(cover, aside, axis=1), 1.1 * px)
    contact = gaussian_blur(cover, 2.5 * px)
    return as_plane(np.clip(cast + 0.35 * contact, 0, 1))


def _window_pane(field: Field, lean_x: Plane, lean_y: Plane) -> Plane:
    """A window of six panes, mirrored lower left and bent by the wavy glaze."""
    width, height = field.size
    pane = np.maximum(gaussian_blur(field.draw(_window), 0.5 * field.px_per_mm), 0)
    reach_px, soft_px = 22 * field.px_per_mm, 0.9 * field.px_per_mm
    rows = np.arange(height)[:, np.newaxis] + (gaussian_blur(lean_y, soft_px) * reach_px).astype(np.int64)
    columns = np.arange(width)[np.newaxis, :] + (gaussian_blur(lean_x, soft_px) * reach_px).astype(np.int64)
    bent = pane[np.clip(rows, 0, height - 1), np.clip(columns, 0, width - 1)]
    return as_plane(1.5 * bent)


def _window(pencil: Pencil) -> None:
    for row in range(3):
        for column in range(2):
            left, top = -66 + 21 * column + 2.0 * row, 17 + 16.5 * row
            pencil.polygon([(left, top), (left + 19, top - 2.5), (left + 20.8, top + 12.3), (left + 1.8, top + 14.8)])


def _crackle(field: Field, cell_mm: float, line_mm: float, rng: np.random.Generator) -> Plane:
    """Cracks as the borders between the nearest points of a scattered grid, wandering a little."""
    x, y = field.grid_mm()
    px = field.px_per_mm
    count = math.ceil(2 * HALF_SIDE_MM / cell_mm) + 4
    column, row = np.meshgrid(np.arange(count), np.arange(count))
    seed_x, seed_y = (as_plane(cell + rng.uniform(0.08, 0.92, cell.shape)).ravel() for cell in (column, row))
    wander_x, wander_y = (0.16 * noise(field.size, 0.8 * cell_mm * px, rng) for _ in "xy")
    at_x = (x + HALF_SIDE_MM) / cell_mm + 2 + wander_x
    at_y = (y + HALF_SIDE_MM) / cell_mm + 2 + wander_y
    cell = at_y.astype(np.int64) * count + at_x.astype(np.int64)
    nearest = np.full(at_x.shape, np.inf, dtype=np.float32)
    second = nearest.copy()
    for neighbour in (step_y * count + step_x for step_y in (-1, 0, 1) for step_x in (-1, 0, 1)):
        across = seed_x.take(cell + neighbour, mode="clip") - at_x
        down = seed_y.take(cell + neighbour, mode="clip") - at_y
        distance = np.sqrt(across * across + down * down)
        second = np.minimum(second, np.maximum(nearest, distance))
        nearest = np.minimum(nearest, distance)
    gap = second - nearest
    steepness = np.maximum(np.hypot(*np.gradient(gap)) * px * cell_mm, 0.35)
    from_crack_mm = gap * cell_mm / steepness
    return as_plane(np.exp(-((from_crack_mm / line_mm) ** 2)))


def _glaze(field: Field, rng: np.random.Generator) -> Plane:
    """Green crackle glaze over a flower of white slip, outlined and veined in cobalt."""
    size, px = field.size, field.px_per_mm
    pooled = 1 + 0.06 * fractal_noise(size, 22 * px, rng, octaves=4) + 0.015 * noise(size, 1.2, rng)
    ground = coloured(pooled, *GLAZE)

    flow = np.clip(0.80 + 0.20 * fractal_noise(size, 6 * px, rng, octaves=4), 0.15, 1.0)
    slip = gaussian_blur(field.draw(_slip), 0.3 * px) * flow
    ground = mix(ground, coloured(pooled, *SLIP), slip[..., np.newaxis])
    wash = gaussian_blur(field.draw(_washes), 0.5 * px) * (0.75 + 0.25 * noise(size, 5 * px, rng))
    lines = gaussian_blur(field.draw(_brush_lines), 0.16 * px) * (0.85 + 0.15 * noise(size, 5 * px, rng))
    pigment = np.clip(0.9 * lines + 0.45 * wash, 0, 1)[..., np.newaxis]
    ground = ground * np.array(COBALT, dtype=np.float32) ** pigment

    old = _crackle(field, 19.0, 0.26, rng)
    young = _crackle(field, 7.0, 0.15, rng) * np.clip(0.55 + 0.4 * noise(size, 30 * px, rng), 0.1, 1)
    stained = np.clip(0.8 * old + 0.42 * young, 0, 0.9)[..., np.newaxis]
    specks = np.clip(noise(size, 0.8 * px, rng) - 3.1, 0, 1)[..., np.newaxis]
    return as_plane(ground * np.array(STAIN, dtype=np.float32) ** (stained + specks))


def _petal(around: float, start: float, end: float, half_breadth: float) -> list[Point]:
    root = (start * math.cos(around), start * math.sin(around))
    return leaf(PETAL, root, around, end - start, half_breadth)


def _petals() -> list[list[Point]]:
    large = [_petal(k * math.pi / 4 + math.pi / 8, 19.5, 44.0, 7.2) for k in range(8)]
    small = [_petal(k * math.pi / 4, 24.0, 40.0, 2.6) for k in range(8)]
    return large + small


def _corner_leaves() -> list[list[Point]]:
    leaves = []
    for quarter in range(4):
        turn = math.pi / 4 + quarter * math.pi / 2
        for lean, length in ((0.0, 17.0), (0.62, 13.0), (-0.62, 13.0)):
            root = (72.0 * math.cos(turn), 72.0 * math.sin(turn))
            leaves.append(leaf(PETAL, root, turn + math.pi + lean, length, 2.5))
    return leaves


def _circle(radius: float) -> list[Point]:
    return [(radius * math.cos(math.tau * k / 120), radius * math.sin(math.tau * k / 120)) for k in range(121)]


def _brush_lines(pencil: Pencil) -> None:
    for half, width in ((57.0, 0.7), (59.6, 1.5)):
        square = [(-half, -half), (half, -half), (half, half), (-half, half), (-half, -half)]
        pencil.line(square, width)
    for radius, width in ((14.8, 1.3), (17.0, 0.6), (47.5, 0.7)):
        pencil.line(_circle(radius), width)
    for shape in (*_petals(), *_corner_leaves()):
        swell = [0.55 + 0.35 * math.sin(math.tau * k / len(shape)) for k in range(len(shape) + 1)]
        pencil.line([*shape, shape[0]], swell)
    for k in range(8):
        around = k * math.pi / 4 + math.pi / 8
        for lean in (-0.07, 0.0, 0.07):
            vein = [
                (r * math.cos(around + lean), r * math.sin(around + lean))
                for r in (21.0, 26.0, 33.0 - 40 * abs(lean))
            ]
            pencil.line(vein, [0.7, 0.5, 0.25])


def _slip(pencil: Pencil) -> None:
    for shape in (*_petals(), *_corner_leaves()):
        pencil.polygon(shape)
    for k in range(48):
        around = math.tau * k / 48
        pencil.disc((51.0 * math.cos(around), 51.0 * math.sin(around)), 0.9)


def _washes(pencil: Pencil) -> None:
    for k in range(8):
        pencil.polygon(_petal(k * math.pi / 4 + math.pi / 8, 19.5, 36.0, 3.6))
        pencil.polygon(_petal(k * math.pi / 4, 24.0, 34.0, 1.3))
    pencil.disc((0, 0), 17.0)
    pencil.disc((0, 0), 14.8, paint=0)

"""A hand-blown scent bottle, dark-field: light C behind a white panel with a black card in front of it, and
strip light D from the right for the label.

The camera looks at the card. Only at its edges does the glass bend the view far enough to pass the card and
reach the panel, so the edges light up; the larger the card, the farther the view must be bent, and the thinner
and dimmer the bright rim.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Final

import numpy as np

from tests.demo_bake.still_life import LUMINANCE, Scene, brought_to, patch_of
from tests.demo_bake.surfaces import (
    Field,
    Pencil,
    Plane,
    Point,
    Rect,
    Size,
    as_plane,
    coloured,
    fractal_noise,
    gaussian_blur,
    leaf,
    mix,
    noise,
    smooth_curve,
    smoothstep,
)

FIELD_WIDTH_MM: Final = 180.0
BASE_MM: Final = 88.0
TOP_MM: Final = -92.0
LIQUID_MM: Final = -16.0
FLOOR_MM: Final = 76.0
REFERENCE_CARD_MM: Final = (280.0, 370.0)
FARTHEST_VIEW_MM: Final = 258.3
"""Where on the panel the view lands that passes the outermost edge of the glass."""
PENUMBRA_MM: Final = 16.0
"""The card's edge is out of focus behind the bottle."""
PANEL_FALL_OFF_MM: Final = 1100.0
RIM_LEVEL_STOPS: Final = 2.3
LABEL_FROM_BEHIND_STOPS: Final = -3.3
STRIP_ANGLE_RAD: Final = math.radians(35)
STRIP_HALF_ANGLE_RAD: Final = math.atan(150 / 800)
GLASS: Final = (0.95, 1.0, 0.985)
SCENT: Final = (1.0, 0.50, 0.10)
PAPER: Final = (1.20, 0.97, 0.68)
INK: Final = (0.16, 0.10, 0.07)
LEAF: Final[tuple[Point, ...]] = ((0.0, 0.0), (0.35, 1.0), (0.7, 0.74), (1.0, 0.0))
LABEL_CENTRE: Final[Point] = (0.0, 28.0)
LABEL_HALF_MM: Final = (19.0, 25.0)

# height in the picture, half width, and how deep the bending edge of the glass reaches in, all in mm
PROFILE: Final = (
    (-92.0, 0.2, 2.0),
    (-90.5, 2.4, 2.6),
    (-88.0, 3.4, 3.4),
    (-86.0, 5.5, 5.0),
    (-82.0, 11.0, 6.5),
    (-77.0, 14.2, 7.4),
    (-72.0, 14.8, 7.6),
    (-67.0, 13.0, 7.2),
    (-63.0, 9.2, 5.5),
    (-60.5, 6.6, 4.0),
    (-59.0, 6.2, 3.4),
    (-58.0, 9.0, 3.6),
    (-57.0, 12.0, 4.0),
    (-55.0, 12.6, 4.2),
    (-53.0, 11.6, 4.0),
    (-51.5, 8.4, 3.8),
    (-47.0, 7.6, 3.8),
    (-40.0, 8.0, 4.0),
    (-34.0, 10.6, 4.6),
    (-28.0, 16.6, 5.6),
    (-21.0, 24.2, 6.8),
    (-12.0, 30.6, 7.8),
    (0.0, 34.2, 8.5),
    (14.0, 35.0, 8.5),
    (28.0, 35.0, 8.5),
    (44.0, 34.0, 8.5),
    (60.0, 31.2, 8.3),
    (74.0, 28.2, 8.0),
    (82.0, 27.6, 7.6),
    (86.0, 26.6, 7.0),
    (88.0, 24.4, 6.0),
)


def patches_of(size: Size) -> dict[str, Rect]:
    """Where the patches of the bottle lie in a picture of a size."""
    field = Field(size, FIELD_WIDTH_MM)
    return {"label": field.fractions((0.0, 46.8), 15.0, 4.6), "rim": field.fractions((-32.9, 20.0), 2.4, 22.0)}


def bottle(size: Size, card_mm: tuple[float, float] = REFERENCE_CARD_MM) -> Scene:
    """Light "C" at 0 stops brings the patch "rim" to +2.3 stops with a card of 28 by 37 cm (width by height) and
    the patch "label" to -3.3 stops; light "D" at 0 stops brings "label" to 1.0.

    Raises ValueError where a side of the card is not between 10 cm and 1 m.
    """
    if not all(100 <= side <= 1000 for side in card_mm):
        raise ValueError(
            f"A card of {card_mm[0]:g} x {card_mm[1]:g} mm cannot stand behind the bottle; each side must be "
            "between 100 and 1000 mm."
        )
    field = Field(size, FIELD_WIDTH_MM)
    rng = np.random.default_rng(1923)
    patches = patches_of(size)
    label, rim = patches["label"], patches["rim"]
    glass = _blown(field, rng)
    paper = _paper(field, rng)
    pasted = field.draw(_label_outline)[..., np.newaxis]
    as_calibrated = coloured(_edge_light(glass.part(rim), REFERENCE_CARD_MM), *GLASS)
    gain = 2**RIM_LEVEL_STOPS / float(np.mean(as_calibrated @ LUMINANCE))

    through = _from_behind(field, glass, card_mm) * np.float32(gain)
    through = mix(through, brought_to(2**LABEL_FROM_BEHIND_STOPS, paper, label), pasted)
    strip = _from_the_strip(field, glass, paper, pasted)
    room = _from_the_room(glass, paper, pasted)
    return Scene(
        name="bottle",
        lights={
            "C": _on_black_acrylic(field, through),
            "D": brought_to(1.0, _on_black_acrylic(field, strip), label),
        },
        ambient=brought_to(1.0, _on_black_acrylic(field, room), label),
        glare={},
        patches=patches,
        height_mm=glass.half_width * np.sqrt(1 - glass.turn**2) * glass.cover,
    )


@dataclass(frozen=True, slots=True)
class _Glass:
    """The blown form as it stands in the picture.

    turn: how far the surface turns away, -1 at the left outline, 0 in front, 1 at the right outline.
    out_x, out_y: the direction square to the outline. inside_mm: how far inside the outline.
    bend_mm: how deep the bending edge reaches in.
    """

    x: Plane
    y: Plane
    half_width: Plane
    turn: Plane
    out_x: Plane
    out_y: Plane
    inside_mm: Plane
    bend_mm: Plane
    cover: Plane
    striae: Plane

    def part(self, rect: Rect) -> _Glass:
        return _Glass(*(patch_of(getattr(self, one.name), rect) for one in fields(self)))


def _blown(field: Field, rng: np.random.Generator) -> _Glass:
    px = field.px_per_mm
    x, y = field.grid_mm()
    marks, half_widths, bends = (np.array(column) for column in zip(*PROFILE, strict=True))
    outline = np.array(smooth_curve(list(zip(marks, half_widths, strict=True)), steps=24, closed=False))
    row = y[:, 0]
    half_width = np.interp(row, outline[:, 0], outline[:, 1], left=0.0)
    half_width += (0.2 * np.sin(row / 17 + 0.6) + 0.08 * np.sin(row / 6.1)) * smoothstep(-30, 0, row)
    steps = np.convolve(np.pad(np.gradient(half_width) * px, 4, mode="edge"), np.full(9, 1 / 9), mode="valid")
    lean = np.arctan(np.clip(steps, -6, 6))
    sway = 0.3 * np.sin(row / 31)

    def across(column: Plane) -> Plane:
        return as_plane(np.broadcast_to(column[:, np.newaxis], (field.size[1], field.size[0])))

    shifted = x - sway[:, np.newaxis]
    half, out_x = across(half_width), across(np.cos(lean))
    inside = np.minimum((half - np.abs(shifted)) * out_x, np.minimum(BASE_MM - y, y - TOP_MM))
    return _Glass(
        x=shifted,
        y=across(row),
        half_width=half,
        turn=np.clip(shifted / np.maximum(half, 0.05), -1, 1),
        out_x=out_x,
        out_y=across(np.sin(lean)),
        inside_mm=inside,
        bend_mm=across(np.interp(row, marks, bends)),
        cover=np.clip(inside * px + 0.5, 0, 1),
        striae=fractal_noise(field.size, 4 * px, rng, octaves=4, stretch=(0.7, 3.2)),
    )


def _card_reach_mm(glass: _Glass, card_mm: tuple[float, float]) -> Plane:
    """How far the card reaches from its middle in the direction in which the edge of the glass bends the view."""
    sideways = card_mm[0] / 2 / np.maximum(np.abs(glass.out_x), 0.05)
    upright = card_mm[1] / 2 / np.maximum(np.abs(glass.out_y), 0.05)
    return as_plane(np.minimum(sideways, upright))


def _bent_view(glass: _Glass, card_mm: tuple[float, float]) -> Plane:
    """What the bending edge shows: the card, or past it the panel, which falls off away from its middle."""
    lands_mm = FARTHEST_VIEW_MM * (1 - glass.inside_mm / glass.bend_mm)
    reach_mm = _card_reach_mm(glass, card_mm)
    past_card = smoothstep(reach_mm - PENUMBRA_MM, reach_mm + PENUMBRA_MM, lands_mm)
    panel = (1 + (lands_mm / PANEL_FALL_OFF_MM) ** 2) ** -2
    outermost = 1 - 0.6 * np.exp(-np.maximum(glass.inside_mm, 0) / 0.25)
    return as_plane(past_card * panel * outermost * (1 + 0.03 * glass.striae))


def _edge_light(glass: _Glass, card_mm: tuple[float, float]) -> Plane:
    """The bright rim, the fine line of the inner wall, and what little the glass scatters farther in."""
    spill = 140 / _card_reach_mm(glass, card_mm)
    wall = 0.20 * spill * np.exp(-(((glass.inside_mm / glass.bend_mm - 0.72) / 0.035) ** 2))
    glow = 0.030 * np.exp(-np.maximum(glass.inside_mm, 0) / 7)
    return as_plane(_bent_view(glass, card_mm) + (wall + glow) * (1 + 0.3 * glass.striae))


def _from_behind(field: Field, glass: _Glass, card_mm: tuple[float, float]) -> Plane:
    """The bottle against the card, as light through the panel draws it."""
    inside, depth = glass.inside_mm, glass.inside_mm / glass.bend_mm
    spill = 140 / _card_reach_mm(glass, card_mm)
    edge = _edge_light(glass, card_mm)
    clear = edge * (1 - _foot(glass)) + _foot(glass) * _foot_light(glass, edge, spill)
    clear = clear + _stem(glass) + 0.5 * spill * _rings(field)
    filled = (
        smoothstep(0.60, 0.74, depth) * smoothstep(LIQUID_MM - 0.4, LIQUID_MM + 0.4, glass.y) * (1 - _foot(glass))
    )
    turned = np.abs(glass.turn)
    scent = 0.42 * spill * smoothstep(0.52, 0.98, turned) ** 2 + 0.035 + 0.10 * spill * smoothstep(40, 78, glass.y)
    scent = scent * (1 + 0.06 * glass.striae) + _meniscus(glass)
    below = np.maximum(glass.y - FLOOR_MM + 6.5, 0)
    scent_in_foot = _foot(glass) * 0.16 * np.exp(-below / 4.5) * (0.3 + np.abs(glass.turn))
    inside_light = coloured(filled * scent + scent_in_foot, *SCENT)
    bottle_light = coloured(clear * (1 - 0.8 * filled), *GLASS) + inside_light
    card = coloured(np.full_like(inside, 0.0010), 0.9, 0.95, 1.05)
    return mix(card, bottle_light, glass.cover[..., np.newaxis])


def _foot(glass: _Glass) -> Plane:
    """Cover of the thick foot: below the floor of the hollow, which is pushed up in the middle."""
    floor = FLOOR_MM - 6.5 * (1 - glass.turn**2) ** 2
    return smoothstep(-0.35, 0.35, glass.y - floor)


def _foot_light(glass: _Glass, edge: Plane, spill: Plane) -> Plane:
    below = glass.y - FLOOR_MM + 6.5 * (1 - glass.turn**2) ** 2
    near_side = np.abs(glass.turn) ** 3
    lines = np.exp(-((below / 0.7) ** 2)) + 0.55 * np.exp(-(((below - 3.4 - 2.0 * glass.turn**2) / 0.55) ** 2))
    base = 0.75 * np.exp(-(((BASE_MM - glass.y - 1.1) / 0.8) ** 2))
    body = 0.015 + 0.30 * near_side
    return as_plane(np.maximum(edge, spill * (0.8 * lines * (0.35 + 0.65 * near_side) + 0.6 * base + body)))


def _meniscus(glass: _Glass) -> Plane:
    """The surface of the scent, a flat ring seen almost from the side."""
    curve = 1.1 * np.sqrt(np.maximum(1 - (glass.turn / 0.86) ** 2, 0))
    lines = np.exp(-(((glass.y - LIQUID_MM - curve) / 0.30) ** 2))
    return as_plane(0.85 * lines * (0.4 + 0.6 * np.abs(glass.turn)) * (np.abs(glass.turn) < 0.86))


def _stem(glass: _Glass) -> Plane:
    """The ground stem of the stopper in the neck scatters what reaches it."""
    half = 5.4 - 0.07 * (glass.y + 52)
    within = smoothstep(0.3, -0.3, np.abs(glass.x) - half)
    upright = smoothstep(-52.5, -51.5, glass.y) * smoothstep(-36.5, -37.5, glass.y)
    return as_plane(within * upright * (0.10 + 0.16 * (glass.x / 5.4) ** 2))


def _bubbles() -> list[tuple[float, float, float]]:
    """Left over from blowing: place and radius of each seed in the glass."""
    rng = np.random.default_rng(31)
    places = [(rng.uniform(-25, 25), rng.uniform(-8, 66), rng.uniform(0.25, 0.75)) for _ in range(26)]
    return [
        one for one in places if abs(one[0]) > LABEL_HALF_MM[0] or abs(one[1] - LABEL_CENTRE[1]) > LABEL_HALF_MM[1]
    ]


def _rings(field: Field) -> Plane:
    def draw(pencil: Pencil) -> None:
        for x, y, radius in _bubbles():
            pencil.ellipse((x, y), radius, radius * 1.5)
            pencil.ellipse((x, y), radius * 0.62, radius * 1.0, paint=0)

    return field.draw(draw)


def _strip_image(glass: _Glass, side: float) -> Plane:
    """Where the surface turns half the strip's angle it mirrors the strip, upright and soft at its edges."""
    turned = np.arcsin(glass.turn) * side - STRIP_ANGLE_RAD / 2
    across = smoothstep(STRIP_HALF_ANGLE_RAD / 2 + 0.035, STRIP_HALF_ANGLE_RAD / 2 - 0.035, np.abs(turned))
    along = smoothstep(0.50, 0.28, np.abs(np.arcsin(glass.out_y) - 0.03))
    feathered = 0.65 + 0.35 * smoothstep(-0.12, 0.12, turned)
    return as_plane(across * along * feathered)


def _from_the_strip(field: Field, glass: _Glass, paper: Plane, pasted: Plane) -> Plane:
    """The label lit from the right, and the strip mirrored in the front and, dimmer, in the far wall."""
    waver = 1 + 0.05 * glass.striae
    near, far = _strip_image(glass, 1.0), _strip_image(glass, -1.0)
    filled = smoothstep(LIQUID_MM - 0.4, LIQUID_MM + 0.4, glass.y)[..., np.newaxis]
    far_light = mix(coloured(far, *GLASS), coloured(far, *SCENT), filled)
    edge = 0.05 * smoothstep(0.80, 0.97, glass.turn) * smoothstep(0.3, 1.5, glass.inside_mm)
    sparkle = 0.9 * _rings(field) * smoothstep(-5, 12, glass.x)
    shine = coloured((1.9 * near + edge + sparkle) * waver, 1.0, 1.0, 1.0) + 0.22 * far_light
    haze = coloured(0.006 + 0.012 * np.exp(-glass.inside_mm / 6), 1.0, 0.97, 0.9)
    lit_glass = (shine + haze) * glass.cover[..., np.newaxis] + np.float32(0.0009)
    facing = np.maximum(np.cos(np.arcsin(glass.turn) - STRIP_ANGLE_RAD), 0)
    return mix(lit_glass, paper * facing[..., np.newaxis], pasted)


def _from_the_room(glass: _Glass, paper: Plane, pasted: Plane) -> Plane:
    """Soft and cold from the upper left, with a pale reflection on the shoulder."""
    facing = np.maximum(0.75 + 0.25 * np.cos(np.arcsin(glass.turn) + 0.6), 0)
    pale = np.exp(-(((glass.turn + 0.45) / 0.16) ** 2)) * smoothstep(0.9, 0.1, np.abs(glass.out_y))
    lit_glass = (0.05 + 0.35 * pale + 0.10 * np.exp(-glass.inside_mm / 3)) * glass.cover + 0.014
    cold = np.array([0.86, 1.0, 1.2], dtype=np.float32)
    return mix(coloured(lit_glass, 1.0, 1.0, 1.0), paper * facing[..., np.newaxis], pasted) * cold


def _label_outline(pencil: Pencil) -> None:
    half_x, half_y = LABEL_HALF_MM
    sag = 0.9
    corners: list[Point] = []
    for side in (-1, 1):
        for step in range(13):
            x = side * half_x * (2 * step / 12 - 1) * -1
            corners.append((LABEL_CENTRE[0] + x, LABEL_CENTRE[1] + side * half_y + sag * (1 - (x / half_x) ** 2)))
    pencil.polygon(corners)


def _paper(field: Field, rng: np.random.Generator) -> Plane:
    """Laid kraft paper with a pale border and a sprig printed on it."""
    px = field.px_per_mm
    _, y = field.grid_mm()
    fibre = 1 + 0.020 * fractal_noise(field.size, 2.5 * px, rng, octaves=4, stretch=(1.6, 0.7))
    laid = fibre + 0.010 * np.sin(y * 2 * math.pi / 0.9) + 0.012 * noise(field.size, 1.2, rng)
    sheet = coloured(laid, *PAPER)
    pale = coloured(3.2 * fibre, 1.02, 0.99, 0.90)
    sheet = mix(sheet, pale, field.draw(_pale_print)[..., np.newaxis])
    ink = gaussian_blur(field.draw(_dark_print), 0.06 * px)[..., np.newaxis]
    return mix(sheet, coloured(fibre, *INK), ink)


def _framed(inset: float) -> list[Point]:
    half_x, half_y = LABEL_HALF_MM[0] - inset, LABEL_HALF_MM[1] - inset
    notch = 2.6
    quarter = [(half_x - notch, half_y), (half_x - notch, half_y - notch), (half_x, half_y - notch)]
    outline = quarter + [(x, -y) for x, y in reversed(quarter)]
    outline += [(-x, y) for x, y in reversed(outline)]
    outline.append(outline[0])
    return [(LABEL_CENTRE[0] + x, LABEL_CENTRE[1] + y + 0.7 * (1 - (x / LABEL_HALF_MM[0]) ** 2)) for x, y in outline]


def _sprig() -> tuple[list[Point], list[list[Point]]]:
    stem = [(1.6 * math.sin(t * 2.2 - 0.4), 37.5 - 24.5 * t) for t in (k / 20 for k in range(21))]
    leaves = []
    for k in range(2, 20, 3):
        for side in (-1, 1):
            length = 8.2 - 0.22 * k
            leaves.append(leaf(LEAF, stem[k], -math.pi / 2 + side * (0.95 - 0.015 * k), length, 0.19 * length))
    leaves.append(leaf(LEAF, stem[-1], -math.pi / 2 + 0.1, 4.2, 0.8))
    return stem, leaves


def _pale_print(pencil: Pencil) -> None:
    pencil.line(_framed(1.9), 0.55)
    pencil.line(_framed(2.9), 0.22)
    for one in _sprig()[1]:
        pencil.polygon(one)


def _dark_print(pencil: Pencil) -> None:
    stem, leaves = _sprig()
    pencil.line(stem, 0.32)
    for one in leaves:
        pencil.line([*one, one[0]], 0.17)
        pencil.line([one[0], one[len(one) // 2]], 0.14)
    pencil.line([(-9.0, 41.6), (9.0, 41.6)], 0.25)
    for x in (-1.6, 0.0, 1.6):
        pencil.disc((x, 41.6), 0.55)


def _on_black_acrylic(field: Field, picture: Plane) -> Plane:
    """The bottle stands on a black polished sheet, which gives back a part of it, less towards the camera."""
    px = field.px_per_mm
    height = picture.shape[0]
    base = round(height / 2 + BASE_MM * px)
    below = min(height - base, base)
    if below <= 0:
        return picture
    mirrored = gaussian_blur(picture[base - below : base][::-1], 0.28 * px)
    away_mm = (np.arange(below, dtype=np.float32) / np.float32(px))[:, np.newaxis, np.newaxis]
    standing = picture.copy()
    standing[base : base + below] = 0.0008 + mirrored * 0.30 * np.exp(-away_mm / 16)
    return standing

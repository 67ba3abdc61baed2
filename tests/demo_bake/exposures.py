"""What was really on the set, frame by frame, where the log of a shoot (webapp/demo) has what was written down.

The two are told apart, since a log can be wrong. Stops are about the level at which a light brings its patch to the
wanted level.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from tests.demo_bake.camera import BODY_36X24, BODY_44X33, SHARP, Blur, Body
from tests.demo_bake.scenes import Scene, patch_level, render_scene
from tests.demo_bake.still_life import AMBIENT
from tests.demo_bake.surfaces import Plane, Size
from webapp.demo.cock_shoot import STACK_MM


@dataclass(frozen=True, slots=True)
class OnTheSet:
    """The light that was really there, as `camera.expose` takes it. `render` gives the scene, and is called once
    for all the frames that name it; `laid_in` puts something into the scene for this frame."""

    render: Callable[[], Scene]
    ambient_stops: float
    light_stops: Mapping[str, float] = field(default_factory=dict)
    glare: tuple[str, ...] | None = None
    mired_shifts: Mapping[str, float] = field(default_factory=dict)
    blur: Blur = SHARP
    laid_in: Callable[[Scene], Scene] | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """The frames of a shoot in their order, and what the camera writes of itself and its lens into its files."""

    body: Body
    lens: str
    frames: tuple[OnTheSet, ...]


# --- the bottle ---------------------------------------------------------------------------------------------------

_BOTTLE_ROOM_AT_ONE_SECOND: Final = -1.5
_BOTTLE_ROOM: Final = _BOTTLE_ROOM_AT_ONE_SECOND - 7.0
_GEL: Final = {"D": 42.0}
_GEL_STOPS: Final = 0.3
_FINAL_D: Final = -0.2
# what the nearest marks of the dials left over when the set was built again
_AGAIN_C: Final = 0.03
_AGAIN_D: Final = _FINAL_D - 0.01
_C_NEARER: Final = 0.48
_C_TURNED_DOWN: Final = -1.0
SIZE_AGAIN: Final[Size] = (900, 1350)


def _bottle() -> Scene:
    return render_scene("bottle")


def _bottle_before_large_card() -> Scene:
    return render_scene("bottle", card_width_mm=400, card_height_mm=500)


def _bottle_again() -> Scene:
    """On 36 × 24 held upright, with the width of the field kept."""
    return render_scene("bottle", SIZE_AGAIN)


_BOTTLE: Final = (
    OnTheSet(_bottle_before_large_card, _BOTTLE_ROOM_AT_ONE_SECOND),
    OnTheSet(_bottle_before_large_card, _BOTTLE_ROOM, {"C": 0.0}),
    OnTheSet(_bottle, _BOTTLE_ROOM, {"C": 0.0}),
    OnTheSet(_bottle, _BOTTLE_ROOM, {"D": 0.0}, mired_shifts=_GEL),
    OnTheSet(_bottle, _BOTTLE_ROOM, {"C": 0.0, "D": 0.0}, mired_shifts=_GEL),
    OnTheSet(_bottle, _BOTTLE_ROOM, {"C": 0.0, "D": _FINAL_D}, mired_shifts=_GEL),
)
_BOTTLE_AGAIN: Final = (
    # the assistant left the gel off light D, which the log does not say
    OnTheSet(
        _bottle_again,
        _BOTTLE_ROOM,
        {"C": _AGAIN_C + _C_NEARER + _C_TURNED_DOWN, "D": _AGAIN_D + _GEL_STOPS},
    ),
    OnTheSet(_bottle_again, _BOTTLE_ROOM, {"C": _AGAIN_C, "D": _AGAIN_D}, mired_shifts=_GEL),
)


# --- the tile -----------------------------------------------------------------------------------------------------

_TILE_ROOM_AT_ONE_SECOND: Final = -2.1
"""With the blind closed."""
_SHUTTER_STOPS: Final = 7.0
_LENS_POLARISER_STOPS: Final = 1.5
_CROSSED_PAIR_STOPS: Final = 2.9
_METERED: Final = 0.04
_CROSSED_SHIFT_MIRED: Final = 4.2
"""5600 to 5470 K: the 130 K that the grey card shows."""
_CARD: Final = (0.33, 0.31, 0.34, 0.38)
"""Where the grey card lies, as left, top, width and height in fractions of the picture."""


def _tile() -> Scene:
    return render_scene("tile")


def _grey_card(bare: Scene) -> Scene:
    """An 18 % grey card laid on the tile: neutral, and at the wanted level where the tile's centre is."""

    def with_card(picture: Plane) -> Plane:
        height, width = picture.shape[:2]
        left, top = round(_CARD[0] * width), round(_CARD[1] * height)
        right, bottom = left + round(_CARD[2] * width), top + round(_CARD[3] * height)
        covered = picture.copy()
        covered[top:bottom, left:right] = np.float32(patch_level(picture, bare.patches["centre"]))
        return covered

    lights = {name: with_card(light) for name, light in bare.lights.items()}
    return replace(bare, lights=lights, ambient=with_card(bare.ambient))


def _crossed(a: float, b: float, laid_in: Callable[[Scene], Scene] | None = None) -> OnTheSet:
    return OnTheSet(
        _tile,
        _TILE_ROOM_AT_ONE_SECOND - _SHUTTER_STOPS - _LENS_POLARISER_STOPS,
        {"A": a, "B": b},
        glare=(),
        mired_shifts={"A": _CROSSED_SHIFT_MIRED, "B": _CROSSED_SHIFT_MIRED},
        laid_in=laid_in,
    )


_TILE: Final = (
    OnTheSet(_tile, -0.4, glare=(AMBIENT,)),
    OnTheSet(_tile, _TILE_ROOM_AT_ONE_SECOND, glare=()),
    OnTheSet(_tile, _TILE_ROOM_AT_ONE_SECOND - _SHUTTER_STOPS, {"A": _METERED, "B": _METERED}, glare=("A", "B")),
    _crossed(_METERED - _CROSSED_PAIR_STOPS, _METERED - _CROSSED_PAIR_STOPS),
    _crossed(_METERED, _METERED - 1.0),
    _crossed(0.0, 0.0),
    _crossed(0.0, 0.0, _grey_card),
)


# --- the balance cock ---------------------------------------------------------------------------------------------

_COCK_ROOM_AT_ONE_SECOND: Final = -1.0
_BLUR_PX_PER_MM_AT_F9: Final = 2.4
_F16_BLUR_PX: Final = 1.6
"""Diffraction, drawn stronger than it would be at this size, so that a preview shows it."""
_TABLE_MM: Final = 2.8
"""Height of the pierced table, on which the single frames are focused."""


def _cock() -> Scene:
    return render_scene("balance-cock")


def _lit(read_stops: float, f_number_stops_from_f8: float, blur: Blur) -> OnTheSet:
    ambient = _COCK_ROOM_AT_ONE_SECOND - _SHUTTER_STOPS - f_number_stops_from_f8
    return OnTheSet(_cock, ambient, {"A": read_stops}, blur=blur)


def _focused(focus_mm: float, f_number: float, everywhere_px: float = 0.0) -> Blur:
    return Blur(everywhere_px, focus_mm, _BLUR_PX_PER_MM_AT_F9 * 9 / f_number)


def _cock_frames(stack_mm: tuple[float, ...]) -> tuple[OnTheSet, ...]:
    at_f8 = _focused(_TABLE_MM, 8)
    return (
        OnTheSet(_cock, _COCK_ROOM_AT_ONE_SECOND - _SHUTTER_STOPS, blur=at_f8),
        OnTheSet(_cock, _COCK_ROOM_AT_ONE_SECOND, blur=at_f8),
        _lit(2.2, 0, at_f8),
        _lit(0.3, 2, _focused(_TABLE_MM, 16, _F16_BLUR_PX)),
        _lit(-3.7, 0, at_f8),
        _lit(0.0, 1 / 3, _focused(_TABLE_MM, 9)),
        *(_lit(0.0, 1 / 3, _focused(focus_mm, 9)) for focus_mm in stack_mm),
    )


TAKEN: Final[Mapping[str, Taken]] = {
    "bottle": Taken(BODY_44X33, "Macro 120 mm", _BOTTLE),
    "bottle-again": Taken(BODY_36X24, "Macro 90 mm", _BOTTLE_AGAIN),
    "tile": Taken(BODY_36X24, "Macro 100 mm", _TILE),
    "cock": Taken(BODY_36X24, "Macro 100 mm", _cock_frames(STACK_MM)),
}
"""By the stem of the camera's files."""

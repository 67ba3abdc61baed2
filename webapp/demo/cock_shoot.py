"""The shoot of the balance cock: a ring that cannot go low enough, and three sheets of a density read as stops."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any, Final

from webapp.demo import set_kit
from webapp.demo.shoot import DemoFrame, Rect, Shoot
from webapp.shoots import frames
from webapp.shoots.ambient_check import AMBIENT_CHECK

_DAY: Final = dt.date(2026, 11, 19)
_STEP_MM: Final = 0.29
_FIRST_FOCUS_MM: Final = -0.085
"""The stack begins one step before the frame whose near limit lies on the lowest plane."""
_STACK_FRAMES: Final = 12
STACK_MM: Final = tuple(_FIRST_FOCUS_MM + _STEP_MM * step for step in range(_STACK_FRAMES))
"""The heights over the lowest plane on which the frames of the stack are focused."""
_PATCHES: Final[Mapping[str, tuple[Rect, float]]] = {"gilt": ((0.83667, 0.6875, 0.05333, 0.065), 0.0)}


_SET: Final[Mapping[str, Any]] = {
    "things.subject.position": {"x": "0", "y": "0", "z": "0", "known": "taped"},
    "things.subject.size": {"width": "26 mm", "height": "3 mm", "depth": "16 mm"},
    "things.camera.position": {"x": "0", "y": "0", "z": "18.3 cm", "known": "estimated"},
    "things.background.position": {"x": "0", "y": "0", "z": "-6 cm", "known": "taped"},
    "things.background.size": {"width": "30 cm", "height": "30 cm"},
}
"""The cock lies, and the camera looks down on it: the ring hangs between them, the black flock lies below."""


def balance_cock_shoot(ids: Mapping[str, str]) -> Shoot:
    """Six frames to find the light, then a stack of twelve."""
    return Shoot(
        session={
            "name": "Balance cock, plate for the restorer",
            "day": _DAY,
            "zone": "Europe/Vienna",
            "place": "studio, copy stand",
            "made_for": "Pellwright, watch restorer",
            "brief": "The pierced balance cock, sharp from the foot to the endpiece, on black. No shadows; the "
            "gilding frosted, not burnt out. 30 × 20 mm of it fills the frame.",
            "notes": "Black flock 6 cm below the cock. Camera overhead, tilt 0°. Ring R1 on the lens, its front "
            "120 mm from the cock. Modelling lamp off.",
        },
        shot={
            "title": "Balance cock at 1.2",
            "subject": "balance cock of a verge watch, frosted gilt, pierced, 3.0 mm deep; polished screws",
            "subject_types": "timepiece, metalware",
            "surface": "semi-gloss, with polished steel",
            "look": "shadowless, on black",
            "wanted_depth_mm": 3.0,
        },
        lights={"A": (ids[set_kit.RING], "key")},
        opening=_opening(ids),
        patches=_PATCHES,
        frames=(*_finding_the_light(ids), *_stack()),
        file_stem="cock",
    )


def _opening(ids: Mapping[str, str]) -> dict[str, Any]:
    return {
        "camera": ids[set_kit.BODY_FULL_FRAME],
        "lens": ids[set_kit.MACRO_WITH_TUBE],
        "focal_length": "100",
        "f_number": "8",
        "shutter": "1/125",
        "iso": "100",
        "magnification": "1.2",
        "subject_distance": "",
        "lens_filters": [],
        "lights.A.power": "6.25 J",
        "lights.A.position": {"x": "0", "y": "0", "z": "12 cm", "known": "taped"},
        **_SET,
    }


def _finding_the_light(ids: Mapping[str, str]) -> tuple[DemoFrame, ...]:
    sheet = ids[set_kit.ND_SHEET]
    return (
        DemoFrame(
            at="10:06:12",
            purpose=AMBIENT_CHECK,
            because="ring and modelling lamp off, as in the shoot",
            notes="Black.",
            verdict="stands",
            changes={"shutter": "1/125"},
        ),
        DemoFrame(
            at="10:07:40",
            purpose=AMBIENT_CHECK,
            because="the same at 1 s, to read the room",
            notes="Read −1.0 on the gilt. 1 s is 7.0 stops longer than 1/125: the room lies 8.0 below.",
            verdict="stands",
        ),
        DemoFrame(
            at="10:14:33",
            because="ring at its lowest mark",
            notes="The ring's meter reading said +2.3; read +2.2. Gilt clipped, and the ring goes no lower. From "
            "1 m to 12 cm the ring gains 5.58 stops; inverse square would have it 6.12.",
            verdict="fails",
        ),
        DemoFrame(
            at="10:18:05",
            because="closed two stops, the ring being at its floor",
            notes="+0.3, but effective f/35: Airy disc 47 µm, 9 pixels. Engraving mushy, and only 0.73 mm of the "
            "3.0 mm is sharp (circle 0.015 mm). Back to f/8.",
            verdict="fails",
            changes={"f_number": "16"},
        ),
        DemoFrame(
            at="10:26:51",
            because="three ND 0.6 sheets on the ring for about 2 stops",
            notes="−3.7. 0.6 is a density: 2.0 stops a sheet, 6.0 for the three, and 2.3 were needed. One sheet and "
            "f/9.",
            verdict="fails",
            changes={"f_number": "8", "lights.A.filters": [sheet, sheet, sheet]},
        ),
        DemoFrame(
            at="10:31:07",
            because="one sheet, f/9",
            notes="Read 0.0 where the meter reading said −0.03. The screws show the ring as a bright band; "
            "accepted. Depth at f/9 is 0.41 mm of 3.0, so it will be a stack.",
            verdict="stands",
            changes={"f_number": "9", "lights.A.filters": [sheet]},
            afterwards=frames.make_reference,
        ),
    )


def _stack() -> tuple[DemoFrame, ...]:
    """Ten frames carry sharpness through 3.0 mm, and one at each end is to spare; one every four seconds."""
    begin = dt.datetime.combine(_DAY, dt.time(10, 52, 16))
    notes = {
        1: "0.41 mm sharp in a frame (circle 0.015 mm), 30 % overlap, step 0.29 mm: ten for the 3.0 mm and one to spare at each end. "
        "4 s apart, 44 s in all.",
        _STACK_FRAMES: "The stack is the final picture. Afterwards: rotated +0.8°, cropped 6 %, dust.",
    }
    return tuple(
        DemoFrame(
            at=f"{begin + dt.timedelta(seconds=4 * (index - 1)):%H:%M:%S}",
            purpose="stack",
            because=f"{index} of {_STACK_FRAMES}, focus at {focus_mm:.1f} mm".replace("-", "−"),
            notes=notes.get(index, ""),
            verdict="stands",
        )
        for index, focus_mm in enumerate(STACK_MM, start=1)
    )

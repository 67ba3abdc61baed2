"""The shoot of the scent bottle, and eight months later another for which it had to be built again.

In the second one the assistant moved light C and turned it down, which the log says, and left the gel off light D,
which the log does not say.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any, Final

from webapp.demo import set_kit
from webapp.demo.shoot import DemoFrame, Rect, Shoot
from webapp.shoots import frames
from webapp.shoots.ambient_check import AMBIENT_CHECK

_SUBJECT: Final = {
    "subject": "hand-blown scent bottle, 18 × 7 cm, paper label",
    "subject_types": "bottle, glassware, cosmetic",
    "surface": "glass, paper",
    "look": "dark-field, bright rim",
}


_PATCHES: Final[Mapping[str, tuple[Rect, float]]] = {
    "label": ((0.45778, 0.685, 0.08444, 0.02), 0.0),
    "rim": ((0.31111, 0.5375, 0.01333, 0.09167), 2.3),
}
"""The rim is wanted bright, the label at mid-tone."""
_PATCHES_AGAIN: Final[Mapping[str, tuple[Rect, float]]] = {
    "label": ((0.45778, 0.66519, 0.08444, 0.0163), 0.0),
    "rim": ((0.31111, 0.53333, 0.01333, 0.08148), 2.3),
}
_SET: Final[Mapping[str, Any]] = {
    "things.subject.position": {"x": "0", "y": "0", "z": "0", "known": "taped"},
    "things.subject.size": {"width": "7 cm", "height": "18 cm", "depth": "7 cm"},
    "things.table.position": {"x": "0", "y": "0", "z": "-9 cm", "known": "taped"},
    "things.table.size": {"width": "60 cm", "depth": "50 cm"},
    "things.background.position": {"x": "0", "y": "35 cm", "z": "0", "known": "taped"},
    "things.reflector-1.position": {"x": "0", "y": "45 cm", "z": "0", "known": "taped"},
    "things.reflector-1.size": {"width": "120 cm", "height": "90 cm"},
}
"""The black card stands as the background, the white panel behind it as a reflector. C shines on the panel, and its
logged distance is that to the panel."""


def bottle_first(ids: Mapping[str, str]) -> Shoot:
    """Rim first, then the label, then both."""
    return Shoot(
        session={
            "name": "Scent bottle, dark-field",
            "day": dt.date(2026, 3, 10),
            "zone": "Europe/Vienna",
            "place": "studio, large room",
            "made_for": "Brindlemoor Scent",
            "brief": "The bottle drawn by its edges on black, the label readable and warm. Field 24 × 18 cm. More bottles "
            "may follow and have to match.",
            "used_for": "web shop and press",
            "size": "2400 px high",
            "crop": "3:4 upright",
            "deadline": dt.date(2026, 3, 20),
            "notes": "Entrance pupil to bottle 77.5 cm. Black card 35 cm behind the bottle: the field is 1.452 "
            "times as large there, 34.8 × 26.1 cm. White panel 120 × 90 cm, 45 cm behind the bottle; C in its "
            "reflector 90 cm behind the panel, and that is the distance logged for it. D 35° right.",
        },
        shot={"title": "Scent bottle", **_SUBJECT},
        lights={"C": (ids[set_kit.MONOLIGHT_C], "rim"), "D": (ids[set_kit.STRIP_HEAD], "key")},
        opening=_opening(ids),
        patches=_PATCHES,
        frames=_first_frames(),
        file_stem="bottle",
    )


def _opening(ids: Mapping[str, str]) -> dict[str, Any]:
    return {
        "camera": ids[set_kit.BODY_LARGE],
        "lens": ids[set_kit.MACRO_120],
        "focal_length": "120",
        "f_number": "11",
        "shutter": "1/125",
        "iso": "100",
        "magnification": "0.183",
        "subject_distance": "77.5 cm",
        "lens_filters": [],
        "lights.C.modifier": ids[set_kit.REFLECTOR],
        "lights.C.power": "125 J",
        "lights.C.shines_on": "panel",
        "lights.C.position": {
            "x": "0",
            "y": "135 cm",
            "z": "0",
            "aim_x": "0",
            "aim_y": "45 cm",
            "aim_z": "0",
            "known": "taped",
        },
        "lights.D.modifier": ids[set_kit.STRIP],
        "lights.D.filters": [ids[set_kit.GEL]],
        "lights.D.power": "12.5 J",
        "lights.D.position": {"distance": "80 cm", "bearing": "35 right", "height": "0", "known": "taped"},
        "lights.D.lit": False,
        **_SET,
        "things.camera.position": {"x": "0", "y": "-77.5 cm", "z": "0", "known": "taped"},
        "things.background.size": {"width": "40 cm", "height": "50 cm"},
    }


def _first_frames() -> tuple[DemoFrame, ...]:
    return (
        DemoFrame(
            at="09:48:30",
            purpose=AMBIENT_CHECK,
            because="the room",
            notes="Read −1.5 on the label at 1 s: the room lies 8.5 below.",
            verdict="stands",
        ),
        DemoFrame(
            at="10:03:11",
            because="C alone, black card 50 × 40 cm",
            notes="Rim +0.9 where +2.3 is wanted: a thin line. The card is too large.",
            verdict="fails",
        ),
        DemoFrame(
            at="10:19:44",
            purpose="comparison",
            because="card cut to 37 × 28 cm",
            notes="Rim +2.3. C alone leaves the label at −3.3.",
            verdict="stands",
            changes={"things.background.size": {"width": "28 cm", "height": "37 cm"}},
        ),
        DemoFrame(
            at="10:32:05",
            purpose="comparison",
            because="D alone, for the label",
            notes="Label 0.0.",
            verdict="stands",
            changes={"lights.C.lit": False, "lights.D.lit": True},
        ),
        DemoFrame(
            at="10:36:27",
            because="both",
            notes="Label +0.14: what C leaves on it comes on top.",
            changes={"lights.C.lit": True},
        ),
        DemoFrame(
            at="10:39:50",
            purpose="final",
            because="D down 0.2",
            notes="Label −0.04, rim +2.3. Afterwards: cropped 2 %, not rotated.",
            verdict="stands",
            changes={"lights.D.power": "10.9 J"},
            afterwards=frames.make_reference,
        ),
    )


def bottle_again(ids: Mapping[str, str]) -> Shoot:
    """Another camera, a smaller room, and the set-up carried over from the first shoot."""
    return Shoot(
        session={
            "name": "Scent bottle, second of the range",
            "day": dt.date(2026, 11, 10),
            "zone": "Europe/Vienna",
            "place": "studio, small room",
            "made_for": "Brindlemoor Scent",
            "brief": "The next bottle, to stand beside the one of March.",
            "used_for": "web shop and press",
            "size": "2400 px high",
            "crop": "3:4 upright",
            "deadline": dt.date(2026, 11, 20),
            "must_match": "the bottle of March: same size in the picture, same rim, same label",
            "notes": "36 × 24 upright, field width kept at 18 cm: 90 mm at 76.5 cm, field 27 cm high, to be cropped "
            "to 24. Same depth wants f/8.6; f/9 gives 25.0 mm (circle 0.0218) against 23.9 (circle 0.030). The room leaves C 130 cm from the "
            "panel: +1.06, less 0.67 for the aperture and 0.12 for the bellows, so 154 J. D 6.3 J. The new panel "
            "is 150 × 100 cm, masked to 120 × 90; read its cloth once before trusting it.",
        },
        shot={"title": "Scent bottle, matched", "wanted_depth_mm": 23.9, **_SUBJECT},
        lights={},
        opening={
            "camera": ids[set_kit.BODY_FULL_FRAME],
            "lens": ids[set_kit.MACRO_90],
            "focal_length": "90",
            "f_number": "9",
            "magnification": "0.133",
            "subject_distance": "76.5 cm",
            "lights.C.power": "154 J",
            "lights.C.distance": "130 cm",
            "lights.D.power": "6.25 J",
            "things.camera.position": {"x": "0", "y": "-76.5 cm", "z": "0", "known": "taped"},
        },
        patches=_PATCHES_AGAIN,
        frames=_frames_again(),
        file_stem="bottle-again",
    )


def _frames_again() -> tuple[DemoFrame, ...]:
    return (
        DemoFrame(
            at="11:12:09",
            because="C moved in to hide its stand, and turned down",
            notes="C from 130 to 110 cm is +0.48, from 153.9 to 76.9 J −1.0: rim +1.8 said, +1.8 read. Label −0.1 "
            "said, +0.2 read, and bluer: +0.28 is left over, and the gel alone costs 0.3. Is the gel on D?",
            verdict="fails",
            changes={"lights.C.distance": "110 cm", "lights.C.power": "76.9 J"},
        ),
        DemoFrame(
            at="11:24:40",
            purpose="final",
            because="C back at 130 cm and 154 J; gel on D",
            notes="The gel lay on the floor. Rim +2.3, label 0.0.",
            verdict="stands",
            changes={"lights.C.distance": "130 cm", "lights.C.power": "154 J"},
            afterwards=frames.make_reference,
        ),
    )

"""The shoot of the tile: a window in the glaze, a polariser that costs more than was thought, a dial misread."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any, Final

from webapp.demo import set_kit
from webapp.demo.shoot import DemoFrame, Rect, Shoot
from webapp.kit import inventory
from webapp.records.engine import Records
from webapp.records.tables import Origin
from webapp.shoots import frames
from webapp.shoots.ambient_check import AMBIENT_CHECK

_PATCHES: Final[Mapping[str, tuple[Rect, float]]] = {
    "centre": ((0.4725, 0.45875, 0.055, 0.0825), 0.0),
    "left": ((0.23167, 0.3775, 0.02167, 0.245), 0.0),
    "right": ((0.74667, 0.3775, 0.02167, 0.245), 0.0),
}
_BEARINGS: Final = {"A": "45 left", "B": "45 right"}
_SET: Final[Mapping[str, Any]] = {
    "things.reflector-1.there": False,
    "things.table.there": False,
    "things.subject.position": {"x": "0", "y": "0", "z": "0", "known": "taped"},
    "things.subject.size": {"width": "15 cm", "height": "15 cm", "depth": "1 cm"},
    "things.camera.position": {"x": "0", "y": "-85.2 cm", "z": "0", "known": "estimated"},
    "things.background.position": {"x": "0", "y": "1 cm", "z": "0", "known": "taped"},
    "things.background.size": {"width": "60 cm", "height": "60 cm"},
}
"""The tile hangs on its board, square to the camera. What the bottles had around them is cleared away."""


def tile_shoot(ids: Mapping[str, str]) -> Shoot:
    """Two looks at the room, four frames to the final one, and the grey card."""
    return Shoot(
        session={
            "name": "Tiles for the catalogue",
            "day": dt.date(2026, 11, 17),
            "zone": "Europe/Vienna",
            "place": "studio, north room",
            "made_for": "Tarnwick Tileworks",
            "brief": "The crackle-glazed tile, square on. No glare, even to the edges, colour true to the sample; "
            "the white balance is theirs to check.",
            "notes": "Field 18 cm high. A and B at 45° left and right, 100 cm each. Axes of the sheets parallel, "
            "lens polariser at 90° to them. Modelling lamps off over the sheets.",
        },
        shot={
            "title": "Crackle-glazed tile",
            "subject": "hand-made tile, 15 × 15 cm, green crackle glaze over slip and cobalt",
            "subject_types": "ceramic, artwork",
            "surface": "gloss",
            "look": "even copy, cross-polarised",
        },
        lights={"A": (ids[set_kit.MONOLIGHT_A], "left"), "B": (ids[set_kit.MONOLIGHT_B], "right")},
        opening=_opening(ids),
        patches=_PATCHES,
        frames=(*_room(), *_light(ids)),
        file_stem="tile",
    )


def _opening(ids: Mapping[str, str]) -> dict[str, Any]:
    camera: dict[str, Any] = {
        "camera": ids[set_kit.BODY_FULL_FRAME],
        "lens": ids[set_kit.MACRO_100],
        "focal_length": "100",
        "f_number": "11",
        "shutter": "1/125",
        "iso": "100",
        "magnification": "0.133",
        "subject_distance": "",
        "lens_filters": [],
    }
    lights: dict[str, Any] = {
        f"lights.{letter}.{name}": value
        for letter in "AB"
        for name, value in (
            ("modifier", ids[set_kit.REFLECTOR]),
            ("power", "11.7 J"),
            ("position", {"distance": "100 cm", "bearing": _BEARINGS[letter], "height": "0", "known": "taped"}),
        )
    }
    return {**camera, **lights, **_SET}


def _room() -> tuple[DemoFrame, ...]:
    return (
        DemoFrame(
            at="14:02:20",
            purpose=AMBIENT_CHECK,
            because="the room, before the polarisers",
            notes="Read −0.4 at 1 s: the room lies 7.4 below. Enough in figures, but the glaze shows the window, "
            "lower left.",
            verdict="fails",
        ),
        DemoFrame(
            at="14:05:48",
            purpose=AMBIENT_CHECK,
            because="blind closed",
            notes="Read −2.1: 9.1 below, and the window is gone.",
            verdict="stands",
        ),
    )


def _light(ids: Mapping[str, str]) -> tuple[DemoFrame, ...]:
    sheet, lens_polariser = ids[set_kit.POLARISING_SHEET], ids[set_kit.LENS_POLARISER]

    def learn_the_polariser(records: Records, _frame_id: str) -> None:
        inventory.keep(records, "filters", set_kit.LENS_POLARISER_LEARNED, lens_polariser, origin=Origin.DEMO)

    return (
        DemoFrame(
            at="14:21:15",
            because="no polarisers yet",
            notes="Each meter reading says −0.96; the pair is a stop more, +0.04. The level is right, the glaze "
            "full of glare.",
            verdict="fails",
        ),
        DemoFrame(
            at="14:37:02",
            because="sheets on A and B, lens polariser crossed, same energy",
            notes="Glare gone. Estimate for the pair 2.6; read 2.9 down. The sheet is 1.4 by its maker, so the lens "
            "polariser takes 1.5: put right in the kit.",
            changes={
                "lens_filters": [lens_polariser],
                "lights.A.filters": [sheet],
                "lights.B.filters": [sheet],
            },
            afterwards=learn_the_polariser,
        ),
        DemoFrame(
            at="14:44:29",
            because="A and B up 2.9",
            notes="Left −0.28, centre −0.38, right −0.44: the relief of the glaze leans. B's dial was misread and "
            "stands at 43.5 J. A +2.9, B +1.9, and this copy set wants them equal: B to 87.1 J.",
            verdict="fails",
            changes={"lights.A.power": "87.1 J", "lights.B.power": "43.5 J"},
        ),
        DemoFrame(
            at="14:47:53",
            purpose="final",
            because="B to 87.1 J, as A",
            notes="Said +0.06, +0.04, +0.06; read +0.02, 0.00, +0.02 from left to right. White balance from frame 7. "
            "Afterwards: rotated −0.2°, cropped square.",
            verdict="stands",
            changes={"lights.B.power": "87.1 J"},
            afterwards=frames.make_reference,
        ),
        DemoFrame(
            at="14:52:36",
            purpose="colour target",
            because="grey card, crossed as it stands",
            notes="White balance moved 130 K; used for frame 6.",
            verdict="stands",
        ),
    )

"""A set of three lights whose light is known to the last photon: what is logged goes into the log, what really stood into
the pictures, so that a cause can be planted between the two."""

from __future__ import annotations

import datetime as dt
import math
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from tests import typed
from tests.houses import new_records
from tests.made_pictures import counts_of, jpeg_bytes, mosaic, srgb_codes, write_dng
from webapp.kit import inventory
from webapp.pictures.store import PictureStore
from webapp.records.engine import Records
from webapp.settings import Settings
from webapp.shoots import ambient_check, readings, sessions, set_up_now
from webapp.shoots.ingest import Intake
from webapp.shoots.log_frame import FrameWords, log_frame

Light = NDArray[np.float64]
Curve = Callable[[Light], Light]

MID_TONE: Final = 0.18
PATCHES: Final = ("crown", "dial", "label", "cloth", "edge", "shadow")
# How much of mid-tone each light gives each patch, left to right and down.
REACH: Final[Mapping[str, tuple[float, ...]]] = {
    "A": (0.80, 0.50, 0.20, 0.60, 0.30, 0.10),
    "B": (0.10, 0.30, 0.60, 0.10, 0.40, 0.70),
    "C": (0.05, 0.25, 0.20, 0.35, 0.10, 0.20),
}
# Red, green and blue of each patch in white light.
COLOURS: Final = (
    (1.0, 1.0, 1.0),
    (0.8, 1.0, 0.9),
    (1.1, 1.0, 0.7),
    (0.7, 1.0, 1.2),
    (1.0, 1.0, 0.9),
    (0.9, 1.0, 1.1),
)
ROOM: Final = 0.0008
"""What the room gives at 1/125, against clipping: about eight stops below mid-tone, and warm."""
_ROOM_COLOUR: Final = (1.5, 1.0, 0.5)
_HEIGHT, _WIDTH = 120, 180
_CONTRAST_TAG: Final = 0xA408
_TO_CHECK: Final = 128.0
"""From 1/125 to 1 s, as exact marks."""


def straight(light: Light) -> Light:
    """No curve but that of sRGB."""
    return light


def contrasty(light: Light) -> Light:
    """An S through black, 18 % and white, steeper by 1.3 in the middle, with shoulder and toe: a straight line in the
    logarithm of light over what is missing to white."""
    odds = (light / np.maximum(1.0 - light, 1e-9)) ** 1.3 * (MID_TONE / (1.0 - MID_TONE)) ** (1.0 - 1.3)
    return np.asarray(odds / (1.0 + odds), dtype=float)


def soft(light: Light) -> Light:
    """A gentle power of 1.15, as a portrait style has it, through mid-tone."""
    return np.asarray(np.minimum(MID_TONE * (light / MID_TONE) ** 1.15, 1.0), dtype=float)


def warmer(mired: float) -> tuple[float, float, float]:
    """What a gel does to red, green and blue against green, by Wien's law at 620, 540 and 450 nm (c2 = 14 388 µm K), as
    a sensor sees it whose colours overlap: three quarters of it."""
    shift = 0.75 * mired * 1e-6 * 14388.0
    return tuple(math.exp(-shift * (1 / nm - 1 / 0.540)) for nm in (0.620, 0.540, 0.450))  # type: ignore[return-value]


@dataclass(frozen=True)
class Truth:
    """What really stood: stops of each light against the reference frame (None: dark), stops on everything that the
    camera saw, a gel's mired by light, stops on single patches."""

    lights: Mapping[str, float | None] = field(default_factory=dict)
    camera: float = 0.0
    gels: Mapping[str, float] = field(default_factory=dict)
    local: Mapping[str, float] = field(default_factory=dict)


def picture_of(truth: Truth, room: float = ROOM) -> Light:
    """The light of the whole picture, height x width x 3."""
    seen = np.zeros((_HEIGHT, _WIDTH, 3))
    for index, (name, colour) in enumerate(zip(PATCHES, COLOURS, strict=True)):
        light = room * np.array(_ROOM_COLOUR)
        for letter, reach in REACH.items():
            stops = truth.lights.get(letter, 0.0)
            if stops is not None:
                gel = np.array(warmer(truth.gels.get(letter, 0.0)))
                light = light + MID_TONE * reach[index] * 2.0**stops * gel
        row, column = divmod(index, 3)
        area = (slice(row * 60, row * 60 + 60), slice(column * 60, column * 60 + 60))
        seen[area] = light * np.array(colour) * 2.0 ** (truth.camera + truth.local.get(name, 0.0))
    return seen


@dataclass
class MadeSet:
    """The set of three lights in the records, with a reference frame, a frame lit by each light alone and an ambient
    check. Lights stand at 60 cm and 50 J; the camera knows no aperture of its lens."""

    records: Records
    shot_id: str
    intake: Intake
    folder: Path
    curve: Curve | None = None
    contrast: int | None = None
    kit: dict[str, str] = field(default_factory=dict)
    taken: int = 0
    clock: dt.datetime = dt.datetime(2026, 11, 24, 10)

    def set(self, **fields: Any) -> None:
        """Write fields down; a double underscore stands for the dot."""
        typed.change(self.records, self.shot_id, {name.replace("__", "."): each for name, each in fields.items()})

    def shoot(
        self, light: Light, purpose: str = "test", shutter: tuple[int, int] = (1, 125), after_s: float = 60.0
    ) -> str:
        """Log a frame whose file shows this light; a raw file, or a JPEG through the set's curve."""
        self.taken += 1
        self.clock += dt.timedelta(seconds=after_s)
        stem = f"{self.taken:04d}"
        if self.curve is None:
            counts = counts_of(mosaic(light), noise=0.0006, seed=self.taken)
            # No f-number: a lens without contacts.
            at = f"{self.clock:%Y:%m:%d %H:%M:%S}"
            path = write_dng(self.folder / f"{stem}.dng", counts, f_number=(0, 1), exposure_time=shutter, taken_at=at)
        else:
            # That of photons, which grows as the root of the light: a hundredth at mid-tone, as of ten thousand of them.
            noise = np.random.default_rng(self.taken).normal(0.0, 0.01, light.shape) * np.sqrt(light * MID_TONE)
            path = self.folder / f"{stem}.jpg"
            codes = srgb_codes(self.curve(np.clip(light + noise, 0.0, 1.0)))
            style = {} if self.contrast is None else {_CONTRAST_TAG: self.contrast}
            path.write_bytes(jpeg_bytes(codes, settings=style))
        picture = self.intake.read(path.name, path)
        logged = log_frame(self.records, self.shot_id, FrameWords(purpose=purpose), picture=picture)
        self.read()
        return logged.frame_id

    def read(self) -> None:
        """Have everything measured that is still to be."""
        self.intake.catch_up()
        deadline = time.monotonic() + 120
        while readings.still_to_examine(self.records) and time.monotonic() < deadline:
            time.sleep(0.005)
        assert not readings.still_to_examine(self.records)

    def plant(self, log: Mapping[str, Any], truth: Truth, after_s: float = 60.0) -> str:
        """A frame that is logged one way and was another; the set stands as in the reference frame before and after."""
        self.set(**STANDS)
        before = set_up_now.state(self.records, self.shot_id).set_up
        self.set(**log)
        frame_id = self.shoot(picture_of(truth), after_s=after_s)
        self.set(**STANDS)
        after = set_up_now.state(self.records, self.shot_id).set_up
        assert (after.lights, after.lens_filters) == (before.lights, before.lens_filters)
        return frame_id


STANDS: Final[Mapping[str, Any]] = {
    "f_number": "8",
    "iso": "100",
    "shutter": "1/125",
    "pops": "1",
    "magnification": "0",
    "lens_filters": [],
    **{
        f"lights__{letter}__{name}": value
        for letter in "ABC"
        for name, value in (
            ("power", "50 J"),
            ("distance", "60 cm"),
            ("filters", []),
            ("modifier", "bare"),
            ("lit", "on"),
        )
    },
}


@contextmanager
def made_set(
    folder: Path, curve: Curve | None = None, *, alone: bool = True, contrast: int | None = None
) -> Iterator[MadeSet]:
    """Records in a new folder with the set, and its leading frames shot; without `alone` the reference frame only.
    `contrast` is what the files say of their picture style."""
    records = new_records(folder, kit=True)
    session_id = sessions.begin_session(records, {"name": "made"})
    shot_id = sessions.begin_shot(records, session_id, {"title": "made set"})
    store = PictureStore(folder / "pictures", most_bytes=1 << 28)
    intake = Intake(Settings(data=folder), records, store)
    (folder / "camera").mkdir()
    made = MadeSet(records, shot_id, intake, folder / "camera", curve, contrast)
    for role in ("fill", "rim"):
        head = {"name": f"{role} monolight", "full_energy_j": 400, "range_stops": 6, "step_stops": 0.1}
        head_id = inventory.keep(records, "lights", head | {"marking": "joules", "recycle_s": 1.5})
        set_up_now.add_light(records, shot_id, head_id, role)
    shelf = inventory.choices(records)
    for kind in (shelf.light_filters, shelf.lens_filters, shelf.modifiers):
        made.kit |= {name: item_id for item_id, name in kind}
    made.set(**STANDS)
    for index, name in enumerate(PATCHES):
        row, column = divmod(index, 3)
        side = {"x": column / 3 + 0.1, "y": row / 2 + 0.15, "width": 0.13, "height": 0.2}
        readings.draw_patch(records, shot_id, {"name": name, **side})
    made.shoot(picture_of(Truth()))
    if alone:
        _light_alone(made)
    try:
        yield made
    finally:
        intake.close()
        records.close()


def _light_alone(made: MadeSet) -> None:
    """A frame lit by each light alone, and an ambient check."""
    for letter in "ABC":
        dark = [each for each in "ABC" if each != letter]
        made.set(**{f"lights__{each}__lit": "off" for each in dark})
        made.shoot(picture_of(Truth(dict.fromkeys(dark))))
        made.set(**{f"lights__{each}__lit": "on" for each in dark})
    ambient_check.begin_ambient_check(made.records, made.shot_id)
    made.shoot(
        picture_of(Truth(dict.fromkeys("ABC")), ROOM * _TO_CHECK), purpose=ambient_check.AMBIENT_CHECK, shutter=(1, 1)
    )

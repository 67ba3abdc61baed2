"""A grey card as a camera would write it: linear light, sRGB, Exif. What was really on the set goes into the light;
what the photographer writes down may differ."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from pathlib import Path

import numpy as np

from tests.demo_bake.camera import CameraSettings, write_jpeg

MID_TONE = 0.18


def card(
    path: Path,
    stops: float,
    f_number: float,
    *,
    time: Fraction = Fraction(1, 125),
    minute: int = 0,
    right_stops: float | None = None,
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0),
) -> Path:
    """A card so many stops about mid-tone; `right_stops` gives its right half another level, so that each half may be
    lit by a light of its own."""
    light = np.full((200, 300, 3), MID_TONE * 2.0**stops, dtype=np.float32)
    if right_stops is not None:
        light[:, 150:] = MID_TONE * 2.0**right_stops
    grain = np.random.default_rng(minute).normal(1.0, 0.01, (200, 300, 1)).astype(np.float32)
    settings = CameraSettings(f_number, time, 100, 100.0, datetime(2026, 11, 24, 10, minute))
    write_jpeg(path, light * grain * np.array(tint, dtype=np.float32), settings)
    return path

"""A set whose light is known: what really stood goes into raw files, what is written down into the log."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests import typed
from tests.conftest import Studio
from tests.made_pictures import counts_of, srgb_codes, write_dng
from webapp.pictures.store import PictureStore
from webapp.records.engine import Records
from webapp.settings import Settings
from webapp.shoots import frames, readings
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.ingest import Intake
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.shoots.set_up_now import StandingState

MID_TONE = 0.18


@dataclass
class Stage:
    """Records, one shot, and a camera that shows what really was."""

    records: Records
    shot_id: str
    intake: Intake
    folder: Path
    taken: int = 0
    said: list[str] = field(default_factory=list)

    def set(self, **fields: Any) -> StandingState:
        """Write fields down; a double underscore stands for the dot."""
        return typed.change(
            self.records, self.shot_id, {name.replace("__", "."): each for name, each in fields.items()}
        )

    def shoot(self, stops: float, *, right: float | None = None, raw: bool = True, purpose: str = "test") -> str:
        """Log a frame whose picture lies so many stops about mid-tone (its right half at `right`), and read it."""
        self.taken += 1
        light = np.full((120, 160), MID_TONE * 2.0**stops)
        if right is not None:
            light[:, 80:] = MID_TONE * 2.0**right
        path = self._raw(light) if raw else self._jpeg(light)
        picture = self.intake.read(path.name, path)
        logged = log_frame(self.records, self.shot_id, FrameWords(purpose=purpose), picture=picture)
        self.read()
        return logged.frame_id

    def read(self) -> None:
        """Have everything measured that is still to be."""
        self.intake.catch_up()
        deadline = time.monotonic() + 120
        while readings.still_to_examine(self.records) and time.monotonic() < deadline:
            time.sleep(0.01)
        assert not readings.still_to_examine(self.records)

    def frame(self, frame_id: str) -> LoggedFrame:
        return frames.one(self.records, frame_id)

    def unexplained(self, frame_id: str) -> float | None:
        first = self.frame(frame_id).evidence.first
        assert first is not None
        return first.unexplained_stops

    def _raw(self, light: np.ndarray[Any, Any]) -> Path:
        counts = counts_of(light, noise=0.0005, seed=self.taken)
        marked = self.set().set_up
        assert marked.f_number is not None
        f_number = (round(float(marked.f_number.text) * 10), 10)
        shutter = {"1/125": (1, 125), "1": (1, 1)}[marked.shutter.text if marked.shutter else "1/125"]
        taken_at = f"2026:11:24 10:{self.taken // 60:02d}:{self.taken % 60:02d}"
        path = self.folder / f"raw-{self.taken:04d}.dng"
        return write_dng(path, counts, exposure_time=shutter, f_number=f_number, taken_at=taken_at)

    def _jpeg(self, light: np.ndarray[Any, Any]) -> Path:
        from PIL import Image

        path = self.folder / f"rendered-{self.taken:04d}.jpg"
        noisy = light * np.random.default_rng(self.taken).normal(1.0, 0.01, light.shape)
        Image.fromarray(srgb_codes(np.stack([noisy] * 3, axis=2))).save(path, quality=95)
        return path


@pytest.fixture
def stage(studio: Studio, tmp_path: Path) -> Iterator[Stage]:
    data = tmp_path / "house"
    store = PictureStore(data / "pictures", most_bytes=1 << 28)
    intake = Intake(Settings(data=data), studio.records, store)
    folder = tmp_path / "camera"
    folder.mkdir()
    made = Stage(studio.records, studio.shot_id, intake, folder)
    made.set(f_number="8", lights__A__power="50 J", lights__A__distance="60 cm")
    yield made
    intake.close()

"""A data directory with frames and pictures in it, small and whole."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from tests.houses import new_house
from tests.made_pictures import jpeg_bytes, scene, srgb_codes
from webapp.pictures.store import PictureStore
from webapp.records.engine import Records
from webapp.settings import Settings
from webapp.shoots import sessions
from webapp.shoots.ingest import Intake
from webapp.shoots.log_frame import FrameWords, log_frame

AT = dt.datetime(2026, 11, 29, 14, 2, tzinfo=dt.UTC)


def kept_house(data: Path, pictures: int = 2) -> Settings:
    """A session with one shot, and a frame for each picture, measured and with its preview."""
    settings = Settings(data=new_house(data))
    records = Records(data)
    intake = Intake(settings, records, PictureStore(settings.pictures))
    session_id = sessions.begin_session(records, {"name": "bench day"})
    shot_id = sessions.begin_shot(records, session_id, {"title": "enamel dial"})
    for number in range(pictures):
        content = jpeg_bytes(srgb_codes(scene(24 + number, 32)))
        picture = intake.read(f"IMG_{number}.jpg", [content])
        intake.preview_soon(log_frame(records, shot_id, FrameWords(), picture=picture))
    intake.finish()
    intake.close()
    records.close()
    return settings

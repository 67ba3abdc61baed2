"""Sidecars of frames: named as their picture, with the frame's settings, and without anything private."""

from __future__ import annotations

import io
import zipfile
from datetime import datetime
from pathlib import Path

import pytest
from PIL import Image

from tests import typed
from tests.conftest import Studio
from webapp.errors import NotFound
from webapp.exports import sidecars
from webapp.exports.sidecars import sidecar_of, stem_of
from webapp.pictures.metadata import PictureFacts
from webapp.pictures.store import PictureStore
from webapp.pictures.xmp import Sidecar
from webapp.records import shots as shot_records
from webapp.shoots import frames, sessions
from webapp.shoots.log_frame import FrameWords, IncomingPicture, log_frame
from webapp.web.words.say import say

FACTS = PictureFacts(
    kind="jpeg",
    taken_at="2026:11:24 10:31:07",
    subsecond="120",
    utc_offset="+01:00",
    camera="studio body",
    width_px=4000,
    height_px=6000,
    orientation=6,
)


def log(studio: Studio, folder: Path, name: str | None, shade: int = 0, facts: PictureFacts = FACTS) -> str:
    """Log a frame, with a picture of its own where it has a name."""
    picture = None
    if name is not None:
        out = io.BytesIO()
        Image.new("RGB", (8, 8), (shade, 0, 0)).save(out, "PNG")
        kept = PictureStore(folder / "pictures").keep([out.getvalue()], ending=".jpg")
        picture = IncomingPicture(name, facts, kept)
    words = FrameWords(because="client wants it by Friday", notes="ask for 300")
    return log_frame(studio.records, studio.shot_id, words, picture=picture).frame_id


def sidecar(studio: Studio, frame_id: str) -> Sidecar:
    frame = frames.one(studio.records, frame_id)
    with studio.records.reading() as db:
        shot = shot_records.shot_of(db, studio.shot_id)
    return sidecar_of(frame, shot, frame.pictures[0], say)


def test_the_sidecar_is_named_as_the_picture(studio: Studio, tmp_path: Path) -> None:
    frame_id = log(studio, tmp_path, "BN_0042.JPG")

    assert sidecars.of_frame(studio.records, frame_id, say).name == "BN_0042.xmp"


def test_a_frame_without_a_file_has_no_sidecar(studio: Studio, tmp_path: Path) -> None:
    frame_id = log(studio, tmp_path, None)

    with pytest.raises(NotFound, match="Frame 1 has no picture file"):
        sidecars.of_frame(studio.records, frame_id, say)


def test_marks_are_written_as_cameras_write_them(studio: Studio, tmp_path: Path) -> None:
    said = {"f_number": "5.6", "shutter": "1/125", "iso": "100", "lights.A.power": "100 J"}
    typed.change(studio.records, studio.shot_id, said)

    made = sidecar(studio, log(studio, tmp_path, "a.jpg"))

    assert (str(made.f_number), str(made.exposure_time_s), made.iso) == ("28/5", "1/125", 100)
    assert made.flash_fired is True


def test_the_time_is_the_cameras_own_with_its_zone_and_can_be_read(studio: Studio, tmp_path: Path) -> None:
    made = sidecar(studio, log(studio, tmp_path, "a.jpg"))

    assert made.taken_at == "2026-11-24T10:31:07.120+01:00"
    assert datetime.fromisoformat(made.taken_at).utcoffset() is not None
    assert datetime.fromisoformat(made.logged_at).utcoffset() is not None


def test_a_time_without_a_zone_stays_without_one(studio: Studio, tmp_path: Path) -> None:
    local = PictureFacts(kind="jpeg", taken_at="2026:11:24 10:31:07")

    assert sidecar(studio, log(studio, tmp_path, "a.jpg", facts=local)).taken_at == "2026-11-24T10:31:07"


def test_the_size_is_that_of_the_file_as_it_is_stored(studio: Studio, tmp_path: Path) -> None:
    made = sidecar(studio, log(studio, tmp_path, "a.jpg"))

    assert (made.width_px, made.height_px) == (6000, 4000)


def test_nothing_private_is_written(studio: Studio, tmp_path: Path) -> None:
    private = {"name": "SECRET name", "place": "SECRET place", "made_for": "SECRET client", "notes": "SECRET notes"}
    sessions.describe_session(studio.records, studio.session_id, private)
    frame_id = log(studio, tmp_path, "a.jpg")
    frames.edit(studio.records, frame_id, words={"because": "SECRET reason", "notes": "SECRET price"})

    content = sidecars.of_frame(studio.records, frame_id, say).content.decode()

    assert "SECRET" not in content
    kit = frames.one(studio.records, frame_id).set_up
    for name in (kit.camera.name, kit.lens.name, *(light.head.name for light in kit.lights)):
        assert name not in content


def test_the_zip_has_one_for_each_file_and_loses_none_of_one_name(studio: Studio, tmp_path: Path) -> None:
    for shade, name in enumerate(["card1/DSC1.jpg", "card2/dsc1.jpg", "DSC2.jpg"], start=1):
        log(studio, tmp_path, name, shade)
    log(studio, tmp_path, None)
    frames.take_back(studio.records, log(studio, tmp_path, "DSC3.jpg", 9))

    archive = zipfile.ZipFile(io.BytesIO(sidecars.zipped(studio.records, studio.shot_id, say)))

    assert archive.namelist() == ["DSC1.xmp", "frame-2/dsc1.xmp", "DSC2.xmp"]


@pytest.mark.parametrize(
    ("name", "stem"),
    [("..\\..\\boot.ini", "boot"), ('a"b\r\nc.jpg', "a_b__c"), ("..", "picture"), ("/etc/x.tar.dng", "x.tar")],
)
def test_a_name_climbs_nowhere(name: str, stem: str) -> None:
    assert stem_of(name) == stem

"""Decoding in a worker process, whose end costs only the reading."""

from __future__ import annotations

import fcntl
import os
import signal
import sys
import termios
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.halted import halt, wait_until
from tests.made_pictures import counts_of, jpeg_bytes, mosaic, rational, scene, srgb_codes, write_dng
from webapp.errors import PictureRefused, TooLarge
from webapp.pictures.decode import linear_picture
from webapp.pictures.equalise import lifted_jpeg
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.measure import examine, measure
from webapp.pictures.metadata import read_facts
from webapp.pictures.previews import make_preview
from webapp.pictures.readings import Patch

PATCHES = [Patch("card", 0.2, 0.2, 0.4, 0.4), Patch("rim", 0.9, 0.9, 0.3, 0.3)]


@pytest.fixture(scope="module")
def isolated() -> Iterator[IsolatedPictures]:
    with IsolatedPictures() as pictures:
        yield pictures


@pytest.fixture
def jpeg(tmp_path: Path) -> Path:
    path = tmp_path / "Zeiß 1.jpg"
    # A distance of infinity has to come through as well.
    path.write_bytes(
        jpeg_bytes(srgb_codes(scene()), settings={0x829D: rational(11), 0x9206: rational(4294967295), 0x8827: 0})
    )
    return path


@pytest.fixture
def raw(tmp_path: Path) -> Path:
    return write_dng(tmp_path / "one.dng", counts_of(mosaic(scene()), noise=0.002), orientation=6)


def waiting_bytes(worker: int) -> int:
    """How much of a request lies in the worker's pipe."""
    pipe = os.open(f"/proc/{worker}/fd/0", os.O_RDONLY | os.O_NONBLOCK)
    try:
        return int.from_bytes(fcntl.ioctl(pipe, termios.FIONREAD, b"\0" * 4), sys.byteorder)
    finally:
        os.close(pipe)


@pytest.mark.parametrize("kind", ["jpeg", "raw"])
def test_the_worker_answers_what_this_process_would(
    isolated: IsolatedPictures, kind: str, request: pytest.FixtureRequest
) -> None:
    path: Path = request.getfixturevalue(kind)

    assert isolated.read_facts(path) == read_facts(path)
    assert isolated.measure(path, PATCHES) == measure(path, PATCHES)
    assert isolated.make_preview(path, 64) == make_preview(path, 64)
    asked = {"longest_px": 64, "light": True}
    assert isolated.examine(path, PATCHES, **asked) == examine(path, PATCHES, **asked)
    here, there = linear_picture(path, 64), isolated.linear_picture(path, 64)
    assert np.array_equal(here.rgb, there.rgb)
    assert (here.kind, here.estimated, here.notes) == (there.kind, there.estimated, there.notes)


def test_the_worker_lifts_a_picture_as_this_process_would(isolated: IsolatedPictures, jpeg: Path) -> None:
    assert isolated.lifted_jpeg(jpeg, 1.0) == lifted_jpeg(jpeg, 1.0)
    with pytest.raises(ValueError, match="at most 10"):
        isolated.lifted_jpeg(jpeg, 11.0)


def test_refusals_come_through_with_their_sentence(isolated: IsolatedPictures, tmp_path: Path) -> None:
    empty = tmp_path / "empty.jpg"
    empty.touch()

    with pytest.raises(PictureRefused, match="empty"):
        isolated.measure(empty)
    with pytest.raises(ValueError, match="16 to 4096"):
        isolated.make_preview(empty, 3)


def test_one_worker_serves_many_pictures_and_threads(isolated: IsolatedPictures, jpeg: Path, raw: Path) -> None:
    isolated.warm()
    worker = isolated.worker_id

    with ThreadPoolExecutor(4) as threads:
        got = list(threads.map(isolated.measure, [jpeg, raw] * 6))

    assert got == [measure(jpeg), measure(raw)] * 6
    assert isolated.worker_id == worker


def test_a_worker_that_nobody_asks_is_ended_and_started_again(jpeg: Path) -> None:
    was_idle = threading.Event()
    with IsolatedPictures(idle_s=0.05, when_idle=was_idle.set) as pictures:
        read = pictures.measure(jpeg)

        assert was_idle.wait(120)
        assert pictures.worker_id is None
        assert pictures.measure(jpeg) == read


def test_a_picture_that_kills_the_worker_costs_only_its_reading(isolated: IsolatedPictures, jpeg: Path) -> None:
    isolated.measure(jpeg)
    worker = isolated.worker_id
    assert worker is not None
    halt(worker)

    with ThreadPoolExecutor(1) as threads:
        reading = threads.submit(isolated.measure, jpeg)
        wait_until(lambda: waiting_bytes(worker) > 0)
        os.kill(worker, signal.SIGKILL)
        with pytest.raises(PictureRefused, match="ended the process"):
            reading.result()

    assert isolated.measure(jpeg) == measure(jpeg)
    assert isolated.worker_id != worker


def test_a_picture_that_takes_too_long_is_given_up(jpeg: Path) -> None:
    # Less time than the worker needs to start.
    with IsolatedPictures(time_limit_s=0.01) as hasty:
        for _ in range(2):
            with pytest.raises(PictureRefused, match=r"longer than 0\.01 s"):
                hasty.measure(jpeg)


def test_a_picture_that_needs_more_memory_than_allowed_is_refused(jpeg: Path, tmp_path: Path) -> None:
    # Lab is decoded whole.
    wide = tmp_path / "wide.tif"
    Image.new("LAB", (9000, 8000), (100, 128, 128)).save(wide, compression="tiff_lzw")

    with IsolatedPictures(memory_limit_mb=60) as narrow:
        with pytest.raises(TooLarge, match="memory"):
            narrow.measure(wide)
        assert narrow.measure(jpeg) == measure(jpeg)


def test_a_jpeg_of_100_megapixels_is_read_in_300_megabytes(tmp_path: Path) -> None:
    path = tmp_path / "huge.jpg"
    Image.new("RGB", (12_240, 8_160), (100, 100, 100)).save(path)

    with IsolatedPictures(memory_limit_mb=300) as pictures:
        found = pictures.examine(path, longest_px=1024, light=True)

    # IEC 61966-2-1: code 100 is 0.127438.
    assert found.readings[0].level == pytest.approx(0.127438, rel=0.001)
    assert len(found.preview) > 0
    assert found.light is not None


def test_closing_ends_the_worker_and_refuses_what_comes_after(jpeg: Path) -> None:
    pictures = IsolatedPictures()
    pictures.measure(jpeg)
    worker = pictures.worker_id
    assert worker is not None

    pictures.close()

    assert not Path(f"/proc/{worker}").exists()
    with pytest.raises(PictureRefused, match="being closed"):
        pictures.measure(jpeg)


def test_closing_in_the_middle_of_a_picture_refuses_it(jpeg: Path) -> None:
    pictures = IsolatedPictures()
    pictures.measure(jpeg)
    worker = pictures.worker_id
    assert worker is not None
    halt(worker)

    with ThreadPoolExecutor(1) as threads:
        reading = threads.submit(pictures.measure, jpeg)
        wait_until(lambda: waiting_bytes(worker) > 0)
        pictures.close()
        with pytest.raises(PictureRefused, match="closed"):
            reading.result()

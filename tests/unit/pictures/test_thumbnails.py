"""Pictures small enough to have many of them on a page."""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from PIL import Image

from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.store import write_whole
from webapp.pictures.thumbnails import Thumbnails

DIGEST = "ab12"


@pytest.fixture(scope="module")
def pictures() -> Iterator[IsolatedPictures]:
    with IsolatedPictures() as isolated:
        yield isolated


@pytest.fixture
def workers() -> Iterator[ThreadPoolExecutor]:
    with ThreadPoolExecutor(max_workers=1) as pool:
        yield pool


@pytest.fixture
def thumbnails(tmp_path: Path, pictures: IsolatedPictures, workers: ThreadPoolExecutor) -> Thumbnails:
    kept = tmp_path / "previews"
    kept.mkdir()
    return Thumbnails(kept, pictures, workers)


def preview(path: Path) -> Path:
    Image.effect_noise((1600, 1000), 20).convert("RGB").save(path, "JPEG", quality=85)
    return path


def test_a_thumbnail_is_320_pixels_long_and_a_small_part_of_the_bytes(thumbnails: Thumbnails, tmp_path: Path) -> None:
    source = preview(tmp_path / "preview.jpg")
    assert thumbnails.path_of(DIGEST) is None

    thumbnails.make(DIGEST, source)

    path = thumbnails.path_of(DIGEST)
    assert path is not None
    content = path.read_bytes()
    assert Image.open(io.BytesIO(content)).size == (320, 200)
    assert len(content) < source.stat().st_size / 10
    assert [each.name for each in path.parent.iterdir()] == [path.name]


def test_one_that_is_asked_for_twice_is_made_once(
    thumbnails: Thumbnails, tmp_path: Path, workers: ThreadPoolExecutor
) -> None:
    source = preview(tmp_path / "preview.jpg")
    for _ in range(2):
        thumbnails.make_soon(DIGEST, source)
    workers.submit(lambda: None).result()
    first = thumbnails.path_of(DIGEST)
    assert first is not None
    made_at = first.stat().st_mtime_ns

    thumbnails.make_soon(DIGEST, source)
    workers.submit(lambda: None).result()

    assert first.stat().st_mtime_ns == made_at


def test_what_is_no_picture_has_none_and_the_log_says_so(
    thumbnails: Thumbnails, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    source = tmp_path / "torn.jpg"
    source.write_bytes(b"\xff\xd8\xff\xe0 torn")

    with caplog.at_level(logging.WARNING):
        thumbnails.make(DIGEST, source)

    assert thumbnails.path_of(DIGEST) is None
    assert "torn.jpg" in caplog.text


@pytest.mark.parametrize("digest", ["../previews/ab12", "ab12/..", ""])
def test_a_name_that_is_no_digest_leads_nowhere(thumbnails: Thumbnails, tmp_path: Path, digest: str) -> None:
    thumbnails.make(DIGEST, preview(tmp_path / "preview.jpg"))

    assert thumbnails.path_of(digest) is None


def test_a_write_that_breaks_off_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.jpg"
    write_whole(path, b"before")

    def breaks_off(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", breaks_off)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"after")

    assert path.read_bytes() == b"before"

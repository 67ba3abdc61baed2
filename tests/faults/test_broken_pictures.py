"""Files that lie: measured right or refused with a sentence, never anything else."""

from __future__ import annotations

import errno
import io
import os
import struct
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.made_pictures import counts_of, jpeg_bytes, mosaic, rational, scene, srgb_codes, write_dng
from tests.samples import PILLOW, sample
from webapp.errors import PictureRefused, TooLarge
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.kinds import MOST_PIXELS
from webapp.pictures.measure import examine, measure
from webapp.pictures.metadata import read_facts
from webapp.pictures.previews import make_preview
from webapp.pictures.store import PictureStore

JPEG = jpeg_bytes(
    srgb_codes(scene(48, 64)),
    exif={0x10F: "Invented", 0x110: "Bench 1", 0x112: 6},
    settings={0x829A: rational("1/125"), 0x829D: rational(8), 0x8827: 100, 0x9003: "2026:11:24 10:31:07"},
)


def written(path: Path, content: bytes) -> Path:
    path.write_bytes(content)
    return path


def everything_read(path: Path) -> None:
    """Facts, preview and reading, each refused or right by itself."""
    for read in (read_facts, measure, lambda file: make_preview(file, 64)):
        refused_or_read(read, path)


def refused_or_read(read: Callable[[Path], object], path: Path) -> None:
    said = "Read."
    try:
        read(path)
    except PictureRefused as refusal:
        said = str(refusal)
    assert said.endswith(".")


def png_header(width_px: int, height_px: int) -> bytes:
    import zlib

    header = b"IHDR" + struct.pack(">IIBBBBB", width_px, height_px, 8, 2, 0, 0, 0)
    pixels = b"IDAT" + zlib.compress(b"\0" * 10)
    chunks = [header, pixels, b"IEND"]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(chunk) - 4) + chunk + struct.pack(">I", zlib.crc32(chunk)) for chunk in chunks
    )


def jpeg_header(width_px: int, height_px: int) -> bytes:
    """A small JPEG whose frame header says another size (ITU-T T.81, SOF0)."""
    content = bytearray(jpeg_bytes(np.zeros((8, 8, 3), dtype=np.uint8)))
    frame = content.index(b"\xff\xc0")
    content[frame + 5 : frame + 9] = struct.pack(">HH", height_px, width_px)
    return bytes(content)


@pytest.mark.parametrize("header", [png_header, jpeg_header])
def test_a_picture_of_30_000_by_30_000_is_refused_by_its_header(
    tmp_path: Path, header: Callable[[int, int], bytes]
) -> None:
    path = written(tmp_path / "vast.jpg", header(30_000, 30_000))

    for read in (read_facts, measure, lambda file: make_preview(file, 64)):
        with pytest.raises(TooLarge, match="30000 x 30000 pixels"):
            read(path)


def test_the_limit_of_pixels_lets_a_medium_format_file_through() -> None:
    # 151 megapixels are the most that a camera of 2026 makes (14204 x 10652).
    assert 14_204 * 10_652 < MOST_PIXELS < 30_000 * 30_000


def test_an_empty_file_named_jpg_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PictureRefused, match="The file is empty"):
        read_facts(written(tmp_path / "empty.jpg", b""))


@pytest.mark.parametrize("content", [b"GIF89a" + bytes(50), b"<svg></svg>", b"%!PS-Adobe-3.0 EPSF", bytes(1000)])
def test_what_is_no_camera_picture_is_refused_whatever_its_ending(tmp_path: Path, content: bytes) -> None:
    with pytest.raises(PictureRefused, match="not a picture that can be taken in"):
        read_facts(written(tmp_path / "lies.jpg", content))


@pytest.mark.parametrize("ending", [".dng", ".png", ".tif", ".heic", ".txt"])
def test_a_jpeg_under_another_ending_is_read_as_what_it_is(tmp_path: Path, ending: str) -> None:
    path = written(tmp_path / f"lies{ending}", JPEG)

    assert read_facts(path).f_number == 8.0
    assert measure(path)[0].kind == "jpeg"


def test_a_plain_tiff_under_a_raw_ending_is_refused_with_a_sentence(tmp_path: Path) -> None:
    out = io.BytesIO()
    Image.new("L", (40, 40), 100).save(out, "TIFF")
    path = written(tmp_path / "lies.dng", out.getvalue())

    with pytest.raises(PictureRefused, match="raw file is broken"):
        measure(path)


def test_a_real_file_that_is_cut_short_gives_its_settings_and_no_reading() -> None:
    path = sample(PILLOW, "ultrahdr.jpg")

    assert read_facts(path).iso == 89
    with pytest.raises(PictureRefused, match="cut short"):
        measure(path)
    with pytest.raises(PictureRefused, match="cut short"):
        make_preview(path, 64)


@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.95])
def test_a_truncated_jpeg_is_refused_or_gives_its_settings(tmp_path: Path, share: float) -> None:
    path = written(tmp_path / "cut.jpg", JPEG[: int(len(JPEG) * share)])

    with pytest.raises(PictureRefused, match="cut short"):
        measure(path)
    everything_read(path)


@pytest.mark.parametrize("length", range(1, 16))
@pytest.mark.parametrize(
    "head", [b"\xff\xd8\xff\xe1", b"II*\0\x08\0\0\0\x01\0", b"MM\0*\0\0\0\x08\0\1", b"\0\0\0\x18ftypheic"]
)
def test_a_file_of_a_few_bytes_is_refused(tmp_path: Path, head: bytes, length: int) -> None:
    with pytest.raises(PictureRefused):
        read_facts(written(tmp_path / "short.jpg", head.ljust(16, b"\0")[:length]))


@pytest.mark.parametrize("share", [0.01, 0.2, 0.9])
def test_a_truncated_raw_file_is_refused(tmp_path: Path, share: float) -> None:
    whole = write_dng(tmp_path / "whole.dng", counts_of(mosaic(scene()))).read_bytes()
    path = written(tmp_path / "cut.dng", whole[: int(len(whole) * share)])

    with pytest.raises(PictureRefused):
        measure(path)


def test_a_picture_of_one_pixel_is_measured(tmp_path: Path) -> None:
    path = tmp_path / "one.png"
    Image.new("RGB", (1, 1), (128, 128, 128)).save(path)

    found = examine(path, longest_px=64, light=True)

    # IEC 61966-2-1: code 128 is 0.215861.
    assert found.readings[0].level == pytest.approx(0.215861, rel=1e-5)
    assert Image.open(io.BytesIO(found.preview)).size == (1, 1)
    assert found.light is None


def test_a_folder_and_a_pipe_under_a_picture_name_are_refused(tmp_path: Path) -> None:
    folder, pipe = tmp_path / "folder.jpg", tmp_path / "pipe.jpg"
    folder.mkdir()
    os.mkfifo(pipe)

    for path in (folder, pipe):
        with pytest.raises(PictureRefused, match="not a file"):
            read_facts(path)


def test_a_file_that_has_gone_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PictureRefused, match="cannot be read"):
        measure(tmp_path / "gone.jpg")


def test_a_heic_file_is_read_or_refused_with_the_part_that_is_missing(tmp_path: Path) -> None:
    path = written(tmp_path / "one.heic", struct.pack(">I", 24) + b"ftypheic" + bytes(4) + b"mif1heic" + bytes(40))

    with pytest.raises(PictureRefused, match="HEIC"):
        read_facts(path)


def test_random_bytes_never_raise_anything_else(tmp_path: Path) -> None:
    random = np.random.default_rng(7)
    heads = [
        b"",
        b"\xff\xd8\xff\xe1",
        b"\x89PNG\r\n\x1a\n",
        b"RIFF\0\1\0\0WEBP",
        b"II*\0\x08\0\0\0",
        b"MM\0*\0\0\0\x08",
    ]

    for number, head in enumerate(heads * 5):
        everything_read(written(tmp_path / f"{number}.jpg", head + random.bytes(400)))


@st.composite
def broken_copies(draw: st.DrawFn, whole: bytes) -> bytes:
    """The file with some of its bytes changed, a piece cut out and its end cut off."""
    content = bytearray(whole)
    # Most of what a decoder believes stands near the beginning.
    places = st.one_of(st.integers(0, min(len(whole), 700) - 1), st.integers(0, len(whole) - 1))
    for place, value in draw(st.lists(st.tuples(places, st.integers(0, 255)), max_size=12)):
        content[place] = value
    start, length = draw(places), draw(st.integers(0, 60))
    del content[start : start + length]
    return bytes(content[: draw(st.sampled_from([len(content), len(content) * 3 // 4, 200]))])


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(content=broken_copies(JPEG))
def test_a_damaged_jpeg_never_raises_anything_but_a_refusal(tmp_path: Path, content: bytes) -> None:
    everything_read(written(tmp_path / "damaged.jpg", content))


@pytest.fixture(scope="module")
def isolated() -> Iterator[IsolatedPictures]:
    with IsolatedPictures(time_limit_s=20.0) as pictures:
        yield pictures


@pytest.fixture(scope="module")
def whole_dng(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("raw") / "whole.dng"
    return write_dng(path, counts_of(mosaic(scene(48, 64)))).read_bytes()


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_damaged_raw_file_costs_at_most_its_reading(
    isolated: IsolatedPictures, whole_dng: bytes, tmp_path: Path, data: st.DataObject
) -> None:
    path = written(tmp_path / "damaged.dng", data.draw(broken_copies(whole_dng)))

    for read in (isolated.read_facts, isolated.measure, lambda file: isolated.make_preview(file, 64)):
        refused_or_read(read, path)


@pytest.mark.parametrize("failing", ["fsync", "replace"])
def test_a_full_disk_keeps_nothing_and_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str) -> None:
    store = PictureStore(tmp_path / "pictures")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, failing, full)
    with pytest.raises(PictureRefused, match="could not be written into the store: No space left"):
        store.keep([JPEG], ending=".jpg")
    monkeypatch.undo()

    assert [path for path in (tmp_path / "pictures").rglob("*") if path.is_file()] == []
    assert store.keep([JPEG], ending=".jpg").is_new


def test_an_upload_that_breaks_off_leaves_nothing(tmp_path: Path) -> None:
    store = PictureStore(tmp_path / "pictures")

    def broken_off() -> Iterator[bytes]:
        yield JPEG[:100]
        raise ConnectionError("the line went dead")

    with pytest.raises(ConnectionError):
        store.keep(broken_off(), ending=".jpg")

    assert [path for path in (tmp_path / "pictures").rglob("*") if path.is_file()] == []

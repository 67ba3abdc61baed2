"""The small picture for the page."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps

from tests.made_pictures import (
    counts_of,
    jpeg_bytes,
    matrix_profile,
    mosaic,
    scene,
    srgb_codes,
    write_dng,
    write_dng_with_preview,
)
from tests.samples import PILLOW, sample
from webapp.pictures.previews import make_preview


def opened(preview: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(preview))
    image.load()
    return image


def codes_of(preview: bytes) -> np.ndarray:
    return np.asarray(opened(preview).convert("RGB"), dtype=np.float64)


@pytest.mark.parametrize("name", ["broken_exif_dpi.jpg", "xmp_test.jpg", "frame_size.mpo", "flower.jpg"])
def test_a_preview_of_a_real_file_is_a_bare_jpeg(name: str) -> None:
    image = opened(make_preview(sample(PILLOW, name), 50))

    assert image.format == "JPEG"
    assert max(image.size) == 50
    assert len(image.getexif()) == 0
    assert not {"exif", "icc_profile", "comment", "xmp", "photoshop"} & image.info.keys()


def test_a_preview_looks_like_the_picture() -> None:
    path = sample(PILLOW, "flower.jpg")
    with Image.open(path) as image:
        expected = np.asarray(image.resize((120, 90), Image.Resampling.BOX), dtype=np.float64)

    got = codes_of(make_preview(path, 120))

    assert np.abs(got - expected).mean() < 6


@pytest.mark.parametrize("orientation", range(2, 9))
def test_a_preview_of_a_turned_real_file_is_upright(orientation: int) -> None:
    path = sample(PILLOW, f"hopper_orientation_{orientation}.jpg")
    with Image.open(path) as image:
        upright = np.asarray(ImageOps.exif_transpose(image), dtype=np.float64)

    got = codes_of(make_preview(path, 128))

    assert got.shape == upright.shape
    assert np.abs(got - upright).mean() < 4


def test_a_small_picture_is_not_enlarged(tmp_path: Path) -> None:
    path = tmp_path / "one.png"
    Image.new("RGB", (1, 1), (200, 10, 10)).save(path)

    assert opened(make_preview(path, 1024)).size == (1, 1)


@pytest.mark.parametrize(
    ("mode", "fill"),
    [
        ("1", 1),
        ("L", 200),
        ("P", 200),
        ("LA", (200, 5)),
        ("RGBA", (200, 200, 200, 5)),
        ("I;16", 200 * 257),
        ("CMYK", (0, 0, 0, 55)),
        ("LAB", (204, 128, 128)),
    ],
)
def test_pictures_of_every_mode_become_a_preview(tmp_path: Path, mode: str, fill: int | tuple[int, ...]) -> None:
    path = tmp_path / "one.tif"
    image = Image.new("L", (40, 20), 200).convert("P") if mode == "P" else Image.new(mode, (40, 20), fill)
    image.save(path)

    codes = codes_of(make_preview(path, 20))

    assert codes.shape == (10, 20, 3)
    assert codes.mean() == pytest.approx(255 if mode == "1" else 200, abs=4)


def test_another_profile_is_converted_to_srgb(tmp_path: Path) -> None:
    path = tmp_path / "linear.jpg"
    path.write_bytes(jpeg_bytes(np.full((40, 40, 3), 128, dtype=np.uint8), icc_profile=matrix_profile(gamma=1.0)))

    # IEC 61966-2-1: half of the light is code 187.5.
    assert codes_of(make_preview(path, 20)).mean() == pytest.approx(188, abs=1.5)


def test_a_comment_and_the_metadata_stay_behind(tmp_path: Path) -> None:
    path = tmp_path / "told.jpg"
    path.write_bytes(
        jpeg_bytes(np.zeros((40, 40, 3), dtype=np.uint8), exif={0x10E: "secret"}, comment=b"secret", xmp=b"secret")
    )

    assert b"secret" in path.read_bytes()
    assert b"secret" not in make_preview(path, 20)


@pytest.mark.parametrize(("orientation", "size"), [(1, (64, 48)), (6, (48, 64))])
def test_a_raw_file_without_a_picture_inside_is_developed_upright(
    tmp_path: Path, orientation: int, size: tuple[int, int]
) -> None:
    path = write_dng(tmp_path / "one.dng", counts_of(mosaic(scene())), orientation=orientation)

    assert opened(make_preview(path, 64)).size == size


@pytest.mark.parametrize("inner_orientation", [None, 6])
def test_a_raw_file_shows_the_picture_inside_it_upright(tmp_path: Path, inner_orientation: int | None) -> None:
    codes = np.zeros((96, 128, 3), dtype=np.uint8)
    codes[:48] = (200, 30, 30)
    inside = jpeg_bytes(codes, exif=None if inner_orientation is None else {0x112: inner_orientation})
    path = write_dng_with_preview(tmp_path / "one.dng", counts_of(mosaic(scene())), inside, (128, 96), orientation=6)

    preview = opened(make_preview(path, 64))

    # Orientation 6 (Exif): the upper side of what is stored stands at the right.
    assert preview.size == (48, 64)
    assert preview.getpixel((40, 32)) == pytest.approx((200, 30, 30), abs=12)
    assert preview.getpixel((8, 32)) == pytest.approx((0, 0, 0), abs=12)


def test_a_picture_inside_that_is_too_small_is_passed_over(tmp_path: Path) -> None:
    inside = jpeg_bytes(np.full((24, 32, 3), 255, dtype=np.uint8))
    path = write_dng_with_preview(tmp_path / "one.dng", counts_of(mosaic(scene())), inside, (32, 24), orientation=1)

    preview = opened(make_preview(path, 64))

    assert preview.size == (64, 48)
    assert np.asarray(preview).mean() < 200


def test_a_raw_preview_keeps_the_exposure_it_was_given(tmp_path: Path) -> None:
    light = np.full((80, 120, 3), 0.18)
    path = write_dng(tmp_path / "one.dng", counts_of(mosaic(light)))

    # Green sets the scale; 18 % of saturation is code 117.6 of IEC 61966-2-1, less what the colour matrix takes.
    assert codes_of(make_preview(path, 32))[:, :, 1].mean() == pytest.approx(srgb_codes(np.array([0.18]))[0], abs=12)


@pytest.mark.parametrize("longest_px", [0, 15, 4097])
def test_a_length_that_no_preview_has_is_refused(tmp_path: Path, longest_px: int) -> None:
    with pytest.raises(ValueError, match="16 to 4096 pixels"):
        make_preview(tmp_path / "none.jpg", longest_px)

"""Codes and counts to linear light."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageOps

from tests.made_pictures import (
    colour,
    counts_of,
    jpeg_bytes,
    matrix_profile,
    mosaic,
    scene,
    srgb_codes,
    write_dng,
)
from webapp.facts import fact
from webapp.pictures.colours import light_from_srgb, srgb_from_light
from webapp.pictures.decode import linear_picture
from webapp.pictures.reasons import Reason


def test_the_curve_is_that_of_a_general_colour_library() -> None:
    codes = np.arange(256) / 255

    assert light_from_srgb(codes) == pytest.approx(colour.models.eotf_sRGB(codes), abs=1e-15)


@pytest.mark.parametrize(
    ("code", "light"),
    # IEC 61966-2-1, the curve's own break at 10/11 of 255 and points on it (to the six decimals printed).
    [
        (0, 0.0),
        (10, 0.003035),
        (11, 0.003347),
        (64, 0.051269),
        (128, 0.215861),
        (200, 0.577580),
        (255, 1.0),
    ],
)
def test_points_of_the_standard_curve(code: int, light: float) -> None:
    assert float(light_from_srgb(np.array(code / 255))) == pytest.approx(light, abs=5e-7)


@given(st.floats(0.0, 1.0))
def test_light_to_code_and_back_is_the_same_light(light: float) -> None:
    # The two branches of the standard meet within its own rounding.
    assert float(light_from_srgb(np.array(srgb_from_light(light)))) == pytest.approx(light, rel=1e-6, abs=1e-9)


def test_a_small_linear_picture_averages_light_not_codes(tmp_path: Path) -> None:
    chequered = np.indices((64, 64)).sum(axis=0) % 2 * 128 + 64
    path = tmp_path / "chequered.png"
    Image.fromarray(chequered.astype(np.uint8)).save(path)

    picture = linear_picture(path, longest_px=8)

    expected = colour.models.eotf_sRGB(np.array([64, 192]) / 255).mean()
    assert picture.rgb.shape == (8, 8, 3)
    assert picture.rgb == pytest.approx(np.full((8, 8, 3), expected), rel=1e-5)


def test_a_fine_texture_of_a_large_jpeg_is_averaged_in_light(tmp_path: Path) -> None:
    # A decoder that reduces averages codes: of this one it would make 0.13.
    swing = np.where(np.indices((1200, 1600)).sum(axis=0) % 2, 0.9, -0.9)
    path = tmp_path / "textured.jpg"
    path.write_bytes(jpeg_bytes(srgb_codes(0.2 * (1 + swing))))

    picture = linear_picture(path, longest_px=100)

    assert picture.rgb == pytest.approx(np.full((75, 100, 3), 0.2), rel=0.01)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_small_linear_picture_is_upright(tmp_path: Path, orientation: int) -> None:
    path = tmp_path / "turned.png"
    exif = Image.Exif()
    exif[0x112] = orientation
    stored = Image.fromarray(np.arange(48, dtype=np.uint8).reshape(6, 8) * 5)
    stored.save(path, exif=exif)
    with Image.open(path) as opened:
        upright = np.asarray(ImageOps.exif_transpose(opened))

    picture = linear_picture(path, longest_px=8)

    assert picture.rgb[:, :, 0] == pytest.approx(colour.models.eotf_sRGB(upright / 255), rel=1e-5, abs=1e-9)


def test_another_profile_is_converted_and_said(tmp_path: Path) -> None:
    # Gamma 1: the codes are light.
    codes = np.full((16, 16, 3), 128, dtype=np.uint8)
    path = tmp_path / "linear.png"
    Image.fromarray(codes).save(path, icc_profile=matrix_profile(gamma=1.0))

    picture = linear_picture(path)

    # An 8-bit conversion rounds to half a code of sRGB, here 0.4 % of the light.
    assert picture.rgb.mean() == pytest.approx(128 / 255, rel=0.005)
    assert any(note.reason == Reason.PROFILE_CONVERTED for note in picture.notes)


def test_a_profile_that_is_srgb_changes_nothing(tmp_path: Path) -> None:
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    path = tmp_path / "srgb.png"
    Image.fromarray(np.full((16, 16, 3), 128, dtype=np.uint8)).save(path, icc_profile=profile)

    picture = linear_picture(path)

    assert picture.rgb.mean() == pytest.approx(0.215861, rel=1e-5)
    assert picture.notes == ()


def test_a_broken_profile_is_said_and_the_picture_read_as_srgb(tmp_path: Path) -> None:
    path = tmp_path / "odd.png"
    Image.fromarray(np.full((16, 16, 3), 128, dtype=np.uint8)).save(path, icc_profile=b"no profile")

    picture = linear_picture(path)

    assert picture.rgb.mean() == pytest.approx(0.215861, rel=1e-5)
    assert fact(Reason.PROFILE_BROKEN) in picture.notes


def test_one_stop_more_light_doubles_a_raw_picture(tmp_path: Path) -> None:
    dim = linear_picture(write_dng(tmp_path / "dim.dng", counts_of(mosaic(scene()))))
    bright = linear_picture(write_dng(tmp_path / "bright.dng", counts_of(mosaic(scene() * 2))))

    # Counts are whole numbers: a darkest count of some 300 is good to 0.2 %, twice for the ratio.
    inside = (slice(4, -4), slice(4, -4))
    assert bright.rgb[inside] / dim.rgb[inside] == pytest.approx(np.full_like(dim.rgb[inside], 2.0), rel=0.02)
    assert float(bright.rgb.mean() / dim.rgb.mean()) == pytest.approx(2.0, rel=0.001)
    assert not dim.estimated


def test_two_lights_shot_apart_add_up_to_both_together(tmp_path: Path) -> None:
    key, fill = scene() * 0.8, scene()[:, ::-1] * 0.5
    apart = [
        linear_picture(write_dng(tmp_path / f"{number}.dng", counts_of(mosaic(light)))).rgb
        for number, light in enumerate((key, fill))
    ]

    together = linear_picture(write_dng(tmp_path / "both.dng", counts_of(mosaic(key + fill)))).rgb

    assert apart[0] + apart[1] == pytest.approx(together, abs=0.002)


def test_a_clipped_share_is_told(tmp_path: Path) -> None:
    light = np.full((40, 40, 3), 0.2)
    light[:, :10] = 4.0
    path = tmp_path / "blown.jpg"
    path.write_bytes(jpeg_bytes(srgb_codes(light)))

    assert linear_picture(path).clipped_share == pytest.approx(0.25, abs=0.03)


def test_a_length_below_one_pixel_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "grey.png"
    out = io.BytesIO()
    Image.new("L", (4, 4)).save(out, "PNG")
    path.write_bytes(out.getvalue())

    with pytest.raises(ValueError, match="at least 1 pixel"):
        linear_picture(path, longest_px=0)

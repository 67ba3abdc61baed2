"""Patches to readings, against scenes of known light."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import numpy as np
import pytest
import tifffile
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image, ImageOps

from tests.made_pictures import (
    BLACK,
    WHITE,
    colour,
    counts_of,
    jpeg_bytes,
    matrix_profile,
    mosaic,
    srgb_codes,
    write_dng,
)
from tests.samples import PILLOW, sample
from webapp.errors import PictureRefused
from webapp.facts import fact
from webapp.pictures.measure import examine, measure
from webapp.pictures.metadata import read_facts
from webapp.pictures.readings import HISTOGRAM_BINS, MIDDLE, Patch, PatchReading
from webapp.pictures.reasons import Reason
from webapp.web.words.say import say

CARD = Patch("card", 0.25, 0.25, 0.5, 0.5)


def flat(light: float | tuple[float, float, float], height: int = 80, width: int = 120) -> NDArray[np.float64]:
    return np.full((height, width, 3), light, dtype=np.float64)


def raw_reading(path: Path, light: NDArray[np.float64], *, noise: float = 0.0, patch: Patch = CARD) -> PatchReading:
    return measure(write_dng(path, counts_of(mosaic(light), noise=noise)), [patch])[0]


def jpeg_reading(path: Path, codes: NDArray[np.uint8], *, patch: Patch = CARD) -> PatchReading:
    path.write_bytes(jpeg_bytes(codes))
    return measure(path, [patch])[0]


# --- levels -------------------------------------------------------------------------------------------------------


def test_a_raw_level_is_the_light_that_was_planted_in_each_colour(tmp_path: Path) -> None:
    reading = raw_reading(tmp_path / "one.dng", flat((0.1, 0.18, 0.05)))

    # Whole counts: half of one in the 15 360 of the scale.
    levels = {channel.channel: channel.level for channel in reading.channels}
    assert levels == pytest.approx({"red": 0.1, "green": 0.18, "blue": 0.05}, abs=0.5 / 15_000)
    assert reading.level == levels["green"]
    assert reading.level_stops == pytest.approx(math.log2(0.18), abs=0.001)
    assert not reading.estimated


def test_a_bracket_of_whole_stops_reads_as_whole_stops_from_raw(tmp_path: Path) -> None:
    readings = [raw_reading(tmp_path / f"{k}.dng", flat(0.03 * 2.0**k), noise=0.003) for k in range(5)]

    stops = np.array([reading.level_stops for reading in readings], dtype=np.float64)

    # The aim is 0.05 stop; noise of 0.003 over 1,200 green places leaves 0.01 at the dark end.
    assert np.diff(stops) == pytest.approx(np.ones(4), abs=0.02)
    assert all(reading.tolerance_stops is not None and reading.tolerance_stops < 0.05 for reading in readings)


def test_a_bracket_reads_as_whole_stops_from_plain_srgb(tmp_path: Path) -> None:
    stops = [jpeg_reading(tmp_path / f"{k}.jpg", srgb_codes(flat(0.03 * 2.0**k))).level_stops for k in range(5)]

    # One code at the dark end (code 48) is 0.05 stop.
    assert np.diff(np.array(stops, dtype=np.float64)) == pytest.approx(np.ones(4), abs=0.05)


def test_a_bracket_under_a_camera_tone_curve_stays_within_the_stated_tolerance(tmp_path: Path) -> None:
    def camera_curve(light: NDArray[np.float64]) -> NDArray[np.float64]:
        # Shadows sunk, highlights rounded off: an invented curve of the usual S shape.
        return light**1.12 / (light**1.12 + 0.55 * (1 - light))

    readings = [jpeg_reading(tmp_path / f"{k}.jpg", srgb_codes(camera_curve(flat(0.03 * 2.0**k)))) for k in range(5)]

    for darker, brighter in itertools.pairwise(readings):
        assert darker.level_stops is not None
        assert brighter.level_stops is not None
        assert darker.tolerance_stops is not None
        assert brighter.tolerance_stops is not None
        allowed = max(darker.tolerance_stops, brighter.tolerance_stops)
        assert abs(brighter.level_stops - darker.level_stops - 1) <= allowed


def test_a_rendered_file_says_that_it_is_an_estimate_and_more_so_near_the_ends(tmp_path: Path) -> None:
    middle = jpeg_reading(tmp_path / "middle.jpg", srgb_codes(flat(0.18)))
    bright = jpeg_reading(tmp_path / "bright.jpg", srgb_codes(flat(0.85)))
    dark = jpeg_reading(tmp_path / "dark.jpg", srgb_codes(flat(0.003)))

    assert middle.estimated
    assert middle.tolerance_stops == pytest.approx(0.3, abs=0.05)
    assert bright.tolerance_stops is not None
    assert bright.tolerance_stops > 0.7
    assert dark.tolerance_stops is not None
    assert dark.tolerance_stops > 0.6


def test_luminance_weighs_the_colours_of_a_rendered_file(tmp_path: Path) -> None:
    # The luminance of linear sRGB by a general colour library: the Y of its matrix to CIE XYZ.
    light = np.array([0.4, 0.1, 0.2])
    expected = float((colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ @ light)[1])
    path = tmp_path / "mixed.png"
    Image.fromarray(srgb_codes(flat(tuple(light)))).save(path)

    assert measure(path)[0].level == pytest.approx(expected, rel=0.01)


def test_the_mean_is_taken_in_light_not_in_codes(tmp_path: Path) -> None:
    codes = np.where(np.indices((40, 40)).sum(axis=0) % 2, 64, 192).astype(np.uint8)
    path = tmp_path / "chequered.png"
    Image.fromarray(codes).save(path)

    reading = measure(path, [Patch("all", 0, 0, 1, 1)])[0]

    assert reading.level == pytest.approx(colour.models.eotf_sRGB(np.array([64, 192]) / 255).mean(), rel=1e-12)


def test_a_large_jpeg_is_read_at_all_its_pixels(tmp_path: Path) -> None:
    noise = np.random.default_rng(4).normal(0, 6, (3500, 5000))
    codes = np.clip(np.linspace(40, 200, 5000) + noise, 0, 255).astype(np.uint8)
    path = tmp_path / "large.jpg"
    Image.fromarray(codes).save(path, quality=92)
    with Image.open(path) as full:
        cut = np.asarray(full.crop((2000, 1400, 3000, 2100)))

    reading = measure(path)[0]

    # Another decoder of the same codes may round one of them otherwise.
    expected = math.log2(colour.models.eotf_sRGB(cut / 255).mean())
    assert reading.level_stops == pytest.approx(expected, abs=0.001)
    assert reading.place_count == 1000 * 700


# --- kinds of file ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("mode", "fill"),
    [("L", 128), ("RGB", (128,) * 3), ("RGBA", (128,) * 3 + (9,)), ("LA", (128, 9)), ("P", 128)],
)
def test_grey_palette_and_transparent_pictures_read_alike(
    tmp_path: Path, mode: str, fill: int | tuple[int, ...]
) -> None:
    path = tmp_path / f"{mode}.png"
    image = Image.new("L" if mode == "P" else mode, (40, 30), fill)
    image.convert(mode).save(path)

    # IEC 61966-2-1: code 128 is 0.215861.
    assert measure(path)[0].level == pytest.approx(0.215861, rel=1e-5)


def test_a_grey_tiff_of_16_bits_is_read_with_all_of_them(tmp_path: Path) -> None:
    path = tmp_path / "deep.tif"
    tifffile.imwrite(path, np.full((40, 40), 1000, dtype=np.uint16))

    assert measure(path)[0].level == pytest.approx(float(colour.models.eotf_sRGB(1000 / 65535)), rel=1e-9)


@pytest.mark.parametrize("compression", [None, "zlib"])
def test_a_colour_tiff_of_16_bits_is_read_without_bias(tmp_path: Path, compression: str | None) -> None:
    path = tmp_path / "deep.tif"
    codes = np.random.default_rng(1).integers(5000, 9000, (60, 60, 3)).astype(np.uint16)
    tifffile.imwrite(path, codes, photometric="rgb", compression=compression)

    reading = measure(path, [Patch("all", 0, 0, 1, 1)])[0]

    light = colour.models.eotf_sRGB(codes / 65535).mean(axis=(0, 1)) @ np.array([0.2126, 0.7152, 0.0722])
    assert reading.level == pytest.approx(float(light), rel=0.003)


def test_a_tiff_of_32_bit_whole_numbers_is_refused_with_the_reason(tmp_path: Path) -> None:
    path = tmp_path / "whole.tif"
    tifffile.imwrite(path, np.full((40, 40), 5, dtype=np.uint32))

    with pytest.raises(PictureRefused, match="32-bit whole numbers"):
        measure(path)


def test_printing_colours_without_a_profile_are_read_and_said(tmp_path: Path) -> None:
    path = tmp_path / "cmyk.jpg"
    Image.new("CMYK", (40, 40), (0, 0, 0, 128)).save(path, quality=100)

    reading = measure(path)[0]

    # Black ink of 128 leaves code 127.
    assert reading.level == pytest.approx(float(colour.models.eotf_sRGB(127 / 255)), rel=0.02)
    assert fact(Reason.PRINTING_COLOURS) in reading.notes


def test_a_real_picture_in_printing_colours_is_measured() -> None:
    reading = measure(sample(PILLOW, "pil_sample_cmyk.jpg"))[0]

    assert 0 < reading.level < 1


def test_a_patch_in_another_profile_reads_its_light(tmp_path: Path) -> None:
    path = tmp_path / "linear.jpg"
    path.write_bytes(jpeg_bytes(np.full((64, 64, 3), 128, dtype=np.uint8), icc_profile=matrix_profile(gamma=1.0)))

    reading = measure(path)[0]

    assert reading.level == pytest.approx(128 / 255, rel=0.01)
    assert any("converted to sRGB" in say(note) for note in reading.notes)


def test_a_raw_file_under_a_jpeg_name_is_measured_as_what_it_is(tmp_path: Path) -> None:
    path = write_dng(tmp_path / "one.jpg", counts_of(mosaic(flat(0.18))))

    assert measure(path)[0].kind == "raw"


# --- patches ------------------------------------------------------------------------------------------------------


def test_without_a_patch_the_middle_serves_and_says_so(tmp_path: Path) -> None:
    light = flat(0.02)
    light[32:48, 48:72] = 0.18
    path = write_dng(tmp_path / "one.dng", counts_of(mosaic(light)))

    reading = measure(path)[0]

    assert reading.patch == MIDDLE
    assert reading.level == pytest.approx(0.18, rel=0.001)
    assert fact(Reason.NO_PATCH_DRAWN) in reading.notes


# Raw files are turned, never mirrored.
@pytest.mark.parametrize(
    ("kind", "orientation"),
    [(kind, n) for kind in ("png", "tif") for n in range(1, 9)] + [("dng", n) for n in (1, 3, 6, 8)],
)
def test_a_patch_lies_in_the_upright_picture(tmp_path: Path, kind: str, orientation: int) -> None:
    light = flat(0.02, 80, 120)
    light[:40, :60], light[:40, 60:], light[40:, :60] = 0.04, 0.08, 0.16
    exif = Image.Exif()
    exif[0x112] = orientation
    stored = Image.fromarray(srgb_codes(light))
    stored.save(tmp_path / "one.png", exif=exif)
    with Image.open(tmp_path / "one.png") as opened:
        upright = np.asarray(ImageOps.exif_transpose(opened))
    top_right = colour.models.eotf_sRGB(upright[5, -5, 1] / 255)
    path = tmp_path / "one.png"
    if kind == "dng":
        path = write_dng(tmp_path / "one.dng", counts_of(mosaic(light)), orientation=orientation)
    if kind == "tif":
        path = tmp_path / "one.tif"
        tifffile.imwrite(path, srgb_codes(light), photometric="rgb", extratags=[(274, 3, 1, orientation, True)])
        facts = read_facts(path)
        assert (facts.width_px, facts.height_px) == upright.shape[1::-1]

    reading = measure(path, [Patch("top right", 0.6, 0.1, 0.3, 0.3)])[0]

    assert reading.level == pytest.approx(float(top_right), rel=0.03)


def test_a_patch_past_the_edge_is_cut_and_told(tmp_path: Path) -> None:
    reading = raw_reading(tmp_path / "one.dng", flat(0.18), patch=Patch("rim", 0.9, -0.1, 0.3, 0.3))

    assert reading.patch.x + reading.patch.width == pytest.approx(1.0)
    assert reading.patch.y == 0.0
    assert fact(Reason.PATCH_CUT_AT_EDGE, "rim") in reading.notes
    assert reading.level == pytest.approx(0.18, rel=0.001)


def test_a_patch_wholly_outside_is_cut_to_the_edge_and_told(tmp_path: Path) -> None:
    reading = raw_reading(tmp_path / "one.dng", flat(0.18), patch=Patch("lost", 1.5, 1.5, 0.1, 0.1))

    assert reading.level == pytest.approx(0.18, rel=0.001)
    assert any(note.reason == Reason.PATCH_CUT_AT_EDGE for note in reading.notes)


@pytest.mark.parametrize("sides", [(math.nan, 0, 1, 1), (0, 0, 0, 1), (0, 0, 1, -1), (0, math.inf, 1, 1)])
def test_a_patch_without_an_area_is_refused(sides: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="“card” needs"):
        Patch("card", *sides)


@given(x=st.floats(-1, 2), y=st.floats(-1, 2), width=st.floats(1e-6, 2), height=st.floats(1e-6, 2))
def test_every_patch_of_an_even_picture_reads_the_same(
    tmp_path_factory: pytest.TempPathFactory, x: float, y: float, width: float, height: float
) -> None:
    path = tmp_path_factory.getbasetemp() / "even.png"
    if not path.exists():
        Image.new("RGB", (31, 17), (100, 100, 100)).save(path)

    reading = measure(path, [Patch("any", x, y, width, height)])[0]

    # IEC 61966-2-1: code 100 is 0.127438.
    assert reading.level == pytest.approx(0.127438, rel=1e-5)


# --- clipping, noise, black ---------------------------------------------------------------------------------------


def test_clipped_shares_are_told_by_colour(tmp_path: Path) -> None:
    light = flat(0.2)
    light[:, :30, 0] = 3.0
    reading = raw_reading(tmp_path / "one.dng", light, patch=Patch("all", 0, 0, 1, 1))

    shares = {channel.channel: channel.clipped_high_share for channel in reading.channels}
    assert shares == {"red": 0.25, "green": 0.0, "blue": 0.0}
    assert reading.clipped_high_share == 0.25


def test_a_clipped_patch_states_no_tolerance_but_says_why(tmp_path: Path) -> None:
    light = flat(0.2)
    light[:, :60] = 3.0
    reading = jpeg_reading(tmp_path / "blown.jpg", srgb_codes(light), patch=Patch("all", 0, 0, 1, 1))

    assert reading.clipped_high_share == pytest.approx(0.5, abs=0.02)
    assert reading.tolerance_stops is None
    assert any(note.reason == Reason.PATCH_CLIPS for note in reading.notes)


def test_black_clipping_is_told(tmp_path: Path) -> None:
    light = flat(0.2)
    light[:40] = 0.0
    reading = jpeg_reading(tmp_path / "sunk.jpg", srgb_codes(light), patch=Patch("all", 0, 0, 1, 1))

    assert reading.clipped_low_share == pytest.approx(0.5, abs=0.02)


def test_planted_noise_is_found_and_a_slope_is_not_taken_for_it(tmp_path: Path) -> None:
    light = flat(0.0, 400, 600) + np.linspace(0.1, 0.5, 600)[np.newaxis, :, np.newaxis]
    reading = raw_reading(tmp_path / "one.dng", light, noise=0.005)

    assert reading.noise == pytest.approx(0.005, rel=0.05)
    assert reading.standard_error == pytest.approx(reading.noise / math.sqrt(reading.place_count), rel=1e-9)


def test_a_black_raw_frame_proves_a_bound_and_no_level(tmp_path: Path) -> None:
    reading = raw_reading(tmp_path / "black.dng", flat(0.0, 400, 600), noise=0.002)

    # Noise of 0.002 over 30,000 green places and half a count in 15,360 of doubt about black.
    assert reading.level_stops is None
    assert reading.tolerance_stops is None
    assert -15.0 < reading.at_most_stops < -13.0
    assert any(note.reason == Reason.NOT_TOLD_FROM_BLACK for note in reading.notes)


def test_a_leak_far_below_the_noise_of_one_place_is_still_read(tmp_path: Path) -> None:
    reading = raw_reading(tmp_path / "leak.dng", flat(2.0**-10, 400, 600), noise=0.002)

    assert reading.level_stops is not None
    assert reading.tolerance_stops is not None
    assert reading.level_stops == pytest.approx(-10.0, abs=0.1)
    assert abs(reading.level_stops + 10.0) <= reading.tolerance_stops


def test_a_mean_below_black_gives_no_level_rather_than_a_number(tmp_path: Path) -> None:
    counts = np.full((80, 120), min(BLACK) - 40, dtype=np.uint16)
    reading = measure(write_dng(tmp_path / "under.dng", counts))[0]

    assert reading.level < 0
    assert reading.level_stops is None
    assert math.isfinite(reading.at_most_stops)


def test_the_histogram_counts_every_place_once_in_half_stops(tmp_path: Path) -> None:
    light = flat(2.0**-3.25)
    light[:, :60] = 2.0**-6.25
    reading = raw_reading(tmp_path / "one.dng", light, patch=Patch("all", 0, 0, 1, 1))

    assert len(reading.histogram) == HISTOGRAM_BINS
    assert sum(reading.histogram) == pytest.approx(1.0)
    # Half stops from -16 on: -6.5 to -6 is the twentieth, -3.5 to -3 the twenty-sixth.
    assert reading.histogram[19] == pytest.approx(0.5)
    assert reading.histogram[25] == pytest.approx(0.5)


def test_a_white_at_saturation_is_clipped_at_zero_stops(tmp_path: Path) -> None:
    counts = np.full((80, 120), WHITE, dtype=np.uint16)
    reading = measure(write_dng(tmp_path / "white.dng", counts))[0]

    assert reading.level_stops == pytest.approx(0.0, abs=1e-9)
    assert reading.clipped_high_share == 1.0


def test_one_decoding_gives_the_same_readings_and_a_preview(tmp_path: Path) -> None:
    path = write_dng(tmp_path / "one.dng", counts_of(mosaic(flat(0.18))))

    found = examine(path, [CARD], longest_px=64)

    assert found.readings == measure(path, [CARD])
    assert found.preview.startswith(b"\xff\xd8")

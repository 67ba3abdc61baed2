"""The light of a whole picture by tiles, of made pictures whose light is known."""

from __future__ import annotations

import io
from dataclasses import astuple
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image

from tests.made_pictures import colour, counts_of, jpeg_bytes, matrix_profile, mosaic, srgb_codes, write_dng
from webapp.pictures.light_map import CELLS_ON_SIDE, TILES_ON_LONGER_SIDE, Extra, LightMap
from webapp.pictures.measure import examine

HEIGHT, WIDTH = 480, 720


def tinted_slope() -> NDArray[np.float64]:
    """From 2 % at the left to 40 % at the right, another in each colour and darker downwards."""
    across = np.linspace(0.02, 0.4, WIDTH)[np.newaxis, :, np.newaxis]
    down = np.linspace(1.0, 0.5, HEIGHT)[:, np.newaxis, np.newaxis]
    return across * down * np.array([1.2, 1.0, 0.7])


def tiles_of(light: NDArray[np.float64]) -> NDArray[np.float64]:
    """The means of 24 by 24 pixels, colours first."""
    parted = light.reshape(HEIGHT // 24, 24, WIDTH // 24, 24, -1)
    return parted.mean(axis=(1, 3)).transpose(2, 0, 1)


def light_of(path: Path) -> LightMap:
    found = examine(path, light=True).light
    assert found is not None
    return found


def test_the_tiles_of_a_raw_file_are_the_light_that_fell_there(tmp_path: Path) -> None:
    light = tinted_slope()
    path = write_dng(tmp_path / "slope.dng", counts_of(mosaic(light), noise=0.002, seed=3))

    found = light_of(path)

    assert (found.columns, found.rows, set(found.channels)) == (30, 20, {"red", "green", "blue"})
    for name, wanted in zip(("red", "green", "blue"), tiles_of(light), strict=True):
        index = found.channels.index(name)
        # Half a pixel of the slope is what the places of a colour lie apart from the middle of the four.
        slope = 0.5 * 0.38 / WIDTH * 1.2
        assert (np.abs(found.levels[index] - wanted) < 5 * found.errors[index] + slope).all()
    # 0.002 over the root of the 144 places of red in a tile (24 x 24 / 4); a slope adds to it a little.
    error = found.errors[found.channels.index("red")]
    assert np.median(error) == pytest.approx(0.002 / 12, rel=0.25)


@pytest.mark.parametrize("quality", [95, 80])
def test_the_tiles_of_a_jpeg_are_the_light_that_its_codes_stand_for(tmp_path: Path, quality: int) -> None:
    light = tinted_slope()
    path = tmp_path / "slope.jpg"
    Image.fromarray(srgb_codes(light)).save(path, quality=quality)

    found = light_of(path)

    with Image.open(path) as image:
        decoded = colour.models.eotf_sRGB(np.asarray(image) / 255.0)
    assert found.channels == ("red", "green", "blue")
    assert np.abs(np.log2(found.levels / tiles_of(decoded))).max() < 0.01


def test_a_picture_with_a_profile_of_its_own_is_read_by_it(tmp_path: Path) -> None:
    light = tinted_slope()
    codes = np.rint(np.clip(light, 0, 1) ** (1 / 1.8) * 255).astype(np.uint8)
    path = tmp_path / "gamma.jpg"
    path.write_bytes(jpeg_bytes(codes, icc_profile=matrix_profile(gamma=1.8)))

    found = light_of(path)

    bright = tiles_of(light) > 0.05
    assert np.abs(np.log2(found.levels / tiles_of(light)))[bright].max() < 0.1


def test_grey_of_sixteen_bits_is_one_colour(tmp_path: Path) -> None:
    light = tinted_slope()[:, :, 1]
    path = tmp_path / "grey.png"
    codes = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    Image.fromarray(np.rint(codes * 65535).astype(np.uint16)).save(path)

    found = light_of(path)

    assert found.channels == ("grey",)
    assert np.abs(np.log2(found.levels[0] / tiles_of(light[:, :, np.newaxis])[0])).max() < 0.01


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_map_is_upright_whichever_way_the_camera_was_held(tmp_path: Path, orientation: int) -> None:
    stored = np.full((HEIGHT, WIDTH, 3), 0.05)
    stored[:96, :72] = 0.4
    stored[4:8, 4:8] = 0.9
    path = tmp_path / "held.jpg"
    path.write_bytes(jpeg_bytes(srgb_codes(stored), exif={0x0112: orientation}))
    with Image.open(path) as image:
        from PIL import ImageOps

        upright = np.asarray(ImageOps.exif_transpose(image))[:, :, 1]

    found = light_of(path)

    bright = np.argwhere(upright > 240).mean(axis=0) / upright.shape
    row, column = np.unravel_index(found.extra(Extra.PEAK).argmax(), (found.rows, found.columns))
    middle = found.brightest_cell(int(row), int(column)).middle
    assert found.columns / found.rows == pytest.approx(upright.shape[1] / upright.shape[0])
    assert middle == pytest.approx((bright[1], bright[0]), abs=0.02)


def test_a_glint_smaller_than_a_tile_is_its_peak_and_clipped_there(tmp_path: Path) -> None:
    light = np.full((HEIGHT, WIDTH, 3), 0.01)
    # One cell of the 4 x 4 of a tile of 24 pixels.
    light[102:108, 510:516] = 1.0
    path = write_dng(tmp_path / "glint.dng", counts_of(mosaic(light)))

    found = light_of(path)

    row, column = np.unravel_index(found.extra(Extra.PEAK).argmax(), (found.rows, found.columns))
    assert (int(row), int(column)) == (4, 21)
    assert found.extra(Extra.PEAK)[row, column] == pytest.approx(1.0, abs=0.001)
    assert found.extra(Extra.PEAK_CLIPPED)[row, column] == 1.0
    assert found.extra(Extra.CLIPPED)[row, column] == pytest.approx(1 / 16, abs=0.001)
    cell = astuple(found.brightest_cell(4, 21))
    assert cell == pytest.approx((510 / 720, 102 / 480, 6 / 720, 6 / 480))
    assert (found.extra(Extra.CLIPPED) > 0).sum() == 1


@given(st.integers(1, 400), st.integers(1, 400))
def test_a_picture_of_any_size_has_a_map_or_is_too_small_for_one(width: int, height: int) -> None:
    out = io.BytesIO()
    Image.new("L", (width, height), 128).save(out, "PNG")
    path = Path("/dev/shm") if Path("/dev/shm").is_dir() else Path()
    file = path / f"map-{width}-{height}.png"
    file.write_bytes(out.getvalue())
    try:
        found = examine(file, light=True).light
    finally:
        file.unlink()

    assert (found is None) == (min(width, height) < 2 * CELLS_ON_SIDE)
    if found is not None:
        assert max(found.columns, found.rows) <= TILES_ON_LONGER_SIDE
        assert found.levels == pytest.approx(np.full((1, found.rows, found.columns), 0.215861), rel=1e-3)


@pytest.mark.parametrize(
    ("columns", "figures"),
    [(2, b"\0" * 2), (0, b""), (31, b""), (1, b"\0\x7c" * 7)],
    ids=["too few figures", "no tiles", "too many tiles", "no number"],
)
def test_what_is_no_map_is_refused(columns: int, figures: bytes) -> None:
    with pytest.raises(ValueError, match="map of a picture's light"):
        LightMap(columns, 1, ("grey",), figures)

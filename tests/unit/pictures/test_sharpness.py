"""Local contrast by tile: on pictures blurred by known amounts and on made depth ramps."""

from __future__ import annotations

import math
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter

from tests.made_pictures import srgb_codes
from webapp.errors import PictureRefused
from webapp.pictures.sharpness import SharpnessMap, share_measured, sharpness_difference, sharpness_of

GRAIN_PX = 1.5
SIZE = (360, 540)


def texture(blur_px: float = 0.0, *, size: tuple[int, int] = SIZE, seed: int = 1) -> NDArray[np.float64]:
    """A surface with detail of one size: grain of the standard deviation 1, before it is blurred."""
    grain = gaussian_filter(np.random.default_rng(seed).standard_normal(size), GRAIN_PX, mode="wrap")
    grain /= grain.std()
    return gaussian_filter(grain, blur_px, mode="wrap") if blur_px else grain


def shot(
    grain: NDArray[np.float64], level: float = 0.18, contrast: float = 0.15, noise: float = 0.0
) -> NDArray[np.uint8]:
    """A grey picture of it as sRGB codes, its light about a level, with noise of a share of that."""
    light = level * (1 + contrast * grain)
    if noise:
        light = light + np.random.default_rng(9).normal(0, noise * level, light.shape)
    return srgb_codes(np.repeat(light[:, :, np.newaxis], 3, axis=2))


def map_of(codes: NDArray[np.uint8]) -> SharpnessMap:
    """The map of a file with these codes."""
    with tempfile.TemporaryDirectory() as directory:
        path = Path(directory) / "shot.png"
        Image.fromarray(codes).save(path)
        return sharpness_of(path)


def expected_contrast(blur_px: float, contrast: float = 0.15) -> float:
    """From the autocorrelation of blurred grain: R(r) = (s²/S²) exp(−r²/4S²), S² = s² + blur².

    The mean product of central differences two rows apart is 2 R(2) − 2 R(√8).
    """
    whole = GRAIN_PX**2 + blur_px**2
    r = lambda distance: GRAIN_PX**2 / whole * math.exp(-(distance**2) / (4 * whole))  # noqa: E731
    return contrast * math.sqrt(2 * r(2.0) - 2 * r(math.sqrt(8.0)))


@pytest.mark.parametrize("blur_px", [1.0, 2.0, 3.0])
def test_contrast_is_what_the_autocorrelation_of_the_grain_gives(blur_px: float) -> None:
    found = map_of(shot(texture(blur_px)))

    assert np.median(found.contrast) == pytest.approx(expected_contrast(blur_px), rel=0.12)


def test_the_more_blur_the_less_contrast() -> None:
    medians = [float(np.median(map_of(shot(texture(blur))).contrast)) for blur in (0, 0.7, 1.5, 3, 5)]

    assert medians == sorted(medians, reverse=True)
    assert medians[0] > 5 * medians[-1]


@settings(max_examples=15)
@given(st.floats(0.05, 0.4))
def test_exposure_takes_no_part(level: float) -> None:
    grain = texture(1.0)

    difference = sharpness_difference(map_of(shot(grain)), map_of(shot(grain, level=level)))

    assert difference.median_stops == pytest.approx(0.0, abs=0.05)
    assert (difference.gained_share, difference.lost_share) == (0.0, 0.0)


@pytest.mark.parametrize("noise", [0.01, 0.02, 0.03])
def test_noise_is_not_taken_for_detail(noise: float) -> None:
    grain = texture(1.5)

    clean, noisy = map_of(shot(grain)), map_of(shot(grain, noise=noise))

    assert sharpness_difference(clean, noisy).median_stops == pytest.approx(0.0, abs=0.1)


def test_a_smooth_noisy_surface_has_no_detail() -> None:
    flat = shot(np.zeros(SIZE), noise=0.02)

    assert map_of(flat).sharp_share == 0.0


def test_detail_as_fine_as_pixels_is_seen_beside_a_smooth_surface() -> None:
    fine = np.random.default_rng(3).standard_normal(SIZE)
    fine[:, : SIZE[1] // 2] = 0.0

    found = map_of(shot(fine, contrast=0.2, noise=0.01))

    assert found.sharp_share == pytest.approx(0.5, abs=0.05)


def ramp(focus: float, blur_of_depth: float, everywhere_px: float) -> NDArray[np.uint8]:
    """A textured board that leans from 0 at the left to 1 at the right, in focus at one place of it."""
    width = SIZE[1]
    picture = np.empty(SIZE)
    for left in range(0, width, 15):
        depth = (left + 7.5) / width
        blur = math.hypot(everywhere_px, abs(depth - focus) * blur_of_depth)
        picture[:, left : left + 15] = texture(blur)[:, left : left + 15]
    return shot(picture)


def test_on_a_leaning_board_closing_down_gains_at_the_ends_and_loses_in_the_focus() -> None:
    open_, closed = map_of(ramp(0.5, 12.0, 0.3)), map_of(ramp(0.5, 3.0, 1.8))

    difference = sharpness_difference(open_, closed)

    rows = np.array([math.nan if each is None else each for each in difference.stops]).reshape(
        difference.rows, difference.columns
    )
    by_column = np.nanmedian(rows, axis=0)
    middle = difference.columns // 2
    assert by_column[middle] < -0.3
    assert by_column[1] > 0.3
    assert by_column[-2] > 0.3


def test_the_share_that_gained_is_the_share_of_the_board_that_came_into_depth() -> None:
    before, after = ramp(0.5, 12.0, 1.0), ramp(0.5, 3.0, 1.0)

    difference = sharpness_difference(map_of(before), map_of(after))

    # Where the contrast of the made grain changes by 0.3 stop and more, by its autocorrelation.
    gained = [
        math.log2(
            expected_contrast(math.hypot(1.0, 3.0 * abs(depth - 0.5)))
            / expected_contrast(math.hypot(1.0, 12.0 * abs(depth - 0.5)))
        )
        >= 0.3
        for depth in np.linspace(0, 1, 200)
    ]
    assert difference.gained_share == pytest.approx(np.mean(gained), abs=0.06)
    assert difference.lost_share == 0.0


def test_clipped_and_black_tiles_are_left_out() -> None:
    codes = shot(texture(1.0))
    codes[:, :180] = 255
    codes[:, 360:] = 0

    found = sharpness_difference(map_of(codes), map_of(shot(texture(1.0))))

    assert found.subject_tiles == pytest.approx(found.columns * found.rows / 3, rel=0.1)


def test_a_picture_of_a_few_pixels_is_refused() -> None:
    with pytest.raises(PictureRefused, match="too small"):
        map_of(np.zeros((20, 20, 3), np.uint8))


@pytest.mark.parametrize("longest_px", [None, 300])
def test_the_share_that_is_measured_is_written_while_it_grows(tmp_path: Path, longest_px: int | None) -> None:
    path, so_far = tmp_path / "shot.png", tmp_path / "so-far"
    Image.fromarray(shot(texture())).save(path)
    assert share_measured(so_far) == 0.0

    sharpness_of(path, longest_px, so_far)

    # The last row of tiles is still to be measured when it is fetched.
    assert 0.85 < share_measured(so_far) < 1.0

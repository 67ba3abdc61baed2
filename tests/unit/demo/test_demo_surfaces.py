from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt, gaussian_filter

from tests.demo_bake.surfaces import Field, edge_distance_px, gaussian_blur, gaussian_blurs, smooth_curve


@pytest.mark.parametrize("sigma_px", [1.2, 2.5, 5.0])
def test_blur_agrees_with_a_general_library(sigma_px: float) -> None:
    picture = np.random.default_rng(4).random((61, 83, 3), dtype=np.float32)

    blurred = gaussian_blur(picture, sigma_px)

    expected = gaussian_filter(picture.astype(float), (sigma_px, sigma_px, 0), mode="reflect", truncate=8)
    np.testing.assert_allclose(blurred, expected, atol=0.001)


def test_blurred_point_spreads_by_the_asked_deviation() -> None:
    point = np.zeros((101, 101), dtype=np.float32)
    point[50, 50] = 1.0

    blurred = gaussian_blur(point, 4.0).astype(float)

    away = np.arange(101) - 50
    assert blurred.sum() == pytest.approx(1.0, abs=1e-4)
    assert np.sqrt((blurred.sum(axis=0) * away**2).sum()) == pytest.approx(4.0, abs=0.02)


def test_several_blurs_at_once_equal_them_one_by_one() -> None:
    picture = np.random.default_rng(4).random((50, 40), dtype=np.float32)

    together = gaussian_blurs(picture, [0.0, 1.0, 3.0])

    for blurred, sigma_px in zip(together, (0.0, 1.0, 3.0), strict=True):
        np.testing.assert_allclose(blurred, gaussian_blur(picture, sigma_px), atol=0.0005)


@pytest.mark.parametrize("sigma_px", [-1.0, float("nan"), float("inf")])
def test_blur_of_a_senseless_width_is_refused(sigma_px: float) -> None:
    with pytest.raises(ValueError, match="number of 0 or more"):
        gaussian_blur(np.zeros((20, 20), dtype=np.float32), sigma_px)


def test_edge_distance_agrees_with_counting_pixels_to_the_edge() -> None:
    field = Field((300, 300), 300.0)
    disc = field.draw(lambda pencil: pencil.disc((0, 0), 100))

    distance = edge_distance_px(disc, 12)

    counted = distance_transform_edt(disc > 0.5) - 0.5
    near = (counted > 0) & (counted < 12)
    assert np.abs(distance[near] - counted[near]).max() < 1.0


def test_drawn_disc_covers_the_area_of_a_circle() -> None:
    field = Field((240, 160), 60.0)

    disc = field.draw(lambda pencil: pencil.disc((5.0, -3.0), 12.0))

    rows, columns = np.indices(disc.shape)
    assert disc.sum() / field.px_per_mm**2 == pytest.approx(np.pi * 144, rel=0.01)
    assert np.average(columns + 0.5, weights=disc) == pytest.approx(120 + 5 * 4, abs=0.2)
    assert np.average(rows + 0.5, weights=disc) == pytest.approx(80 - 3 * 4, abs=0.2)


def test_patch_lies_on_whole_pixels_and_about_its_middle() -> None:
    field = Field((600, 400), 30.0)

    left, top, width, height = field.fractions((3.33, -2.0), 1.7, 1.0)

    assert left * 600 == pytest.approx(round(left * 600))
    assert (left + width / 2) * 600 == pytest.approx(300 + 3.33 * 20, abs=0.5)
    assert (top + height / 2) * 400 == pytest.approx(200 - 2.0 * 20, abs=0.5)


def test_patch_outside_the_picture_is_refused() -> None:
    with pytest.raises(ValueError, match="cuts off a patch"):
        Field((600, 400), 30.0).fractions((14.8, 0.0), 1.0, 1.0)


def test_smooth_curve_runs_through_its_corners() -> None:
    corners = [(0.0, 0.0), (4.0, 1.0), (5.0, 5.0), (-1.0, 3.0)]

    curve = smooth_curve(corners, steps=10)

    np.testing.assert_allclose(curve[::10], corners, atol=1e-9)

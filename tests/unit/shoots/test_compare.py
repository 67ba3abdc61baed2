"""How two pictures lie over each other, and where they do not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.ledger.builders import CAMERA
from webapp.shoots.compare import Shown, lay

LARGE = replace(CAMERA, id="cam-2", sensor_width_mm=43.8, sensor_height_mm=32.9, width_px=8256, height_px=6192)
WHOLE = Shown(6000, 4000, CAMERA, 0.5)


def test_two_frames_of_one_camera_lie_pixel_on_pixel() -> None:
    laid = lay(WHOLE, WHOLE)

    assert laid.first == laid.second == (1.0, pytest.approx(2 / 3))
    assert laid.place_in_second(0.3, 0.8) == pytest.approx((0.3, 0.8))


def test_a_smaller_file_of_the_same_shape_is_scaled_to_the_field() -> None:
    laid = lay(WHOLE, replace(WHOLE, width_px=3000, height_px=2000))

    assert laid.first == laid.second
    assert "scaled to the same field" in laid.words


def test_another_camera_lies_by_the_field_about_the_middle() -> None:
    # 36 mm at 0.5 show 72 mm, 43.8 mm at 0.73 show 60 mm.
    laid = lay(WHOLE, Shown(8256, 6192, LARGE, 0.73))

    assert laid.second[0] == pytest.approx(60 / 72)
    assert laid.place_in_second(0.5 + 30 / 72, 0.5)[0] == pytest.approx(1.0)


def test_upright_and_lying_pictures_lie_by_the_field_where_it_is_known() -> None:
    laid = lay(WHOLE, Shown(4000, 6000, CAMERA, 0.5))

    assert laid.second == (pytest.approx(2 / 3), pytest.approx(1.0))


@pytest.mark.parametrize(
    ("other", "reason"),
    [
        (Shown(4000, 6000, CAMERA, None), "upright"),
        (Shown(4000, 4000, CAMERA, 0.5), "cropped"),
        (Shown(8256, 6192, LARGE, 0.0), "different shapes"),
        (Shown(6000, 4000, CAMERA, 0.1), "too far apart"),
    ],
)
def test_what_does_not_lie_over_each_other_is_refused_with_the_reason(other: Shown, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        lay(WHOLE, other)

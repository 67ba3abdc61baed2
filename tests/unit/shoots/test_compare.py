"""How two pictures lie over each other, and where they do not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.ledger.builders import CAMERA
from webapp.facts import Fact, fact
from webapp.shoots.compare import Laid, Shown, lay
from webapp.shoots.reasons import Reason

LARGE = replace(CAMERA, id="cam-2", sensor_width_mm=43.8, sensor_height_mm=32.9, width_px=8256, height_px=6192)
WHOLE = Shown(6000, 4000, CAMERA, 0.5)


def laid_over(first: Shown, second: Shown) -> Laid:
    found = lay(first, second)
    assert isinstance(found, Laid)
    return found


def test_two_frames_of_one_camera_lie_pixel_on_pixel() -> None:
    laid = laid_over(WHOLE, WHOLE)

    assert laid.first == laid.second == (1.0, pytest.approx(2 / 3))
    assert laid.place_in_second(0.3, 0.8) == pytest.approx((0.3, 0.8))


def test_a_smaller_file_of_the_same_shape_is_scaled_to_the_field() -> None:
    laid = laid_over(WHOLE, replace(WHOLE, width_px=3000, height_px=2000))

    assert laid.first == laid.second
    assert laid.rests_on == fact(Reason.SCALED_TO_FIELD)
    assert laid_over(WHOLE, WHOLE).rests_on == fact(Reason.SAME_PIXELS)


def test_another_camera_lies_by_the_field_about_the_middle() -> None:
    # 36 mm at 0.5 show 72 mm, 43.8 mm at 0.73 show 60 mm.
    laid = laid_over(WHOLE, Shown(8256, 6192, LARGE, 0.73))

    assert laid.second[0] == pytest.approx(60 / 72)
    assert laid.rests_on == fact(Reason.LAID_BY_FIELD, first_mm=72.0, second_mm=pytest.approx(60.0))
    assert laid.place_in_second(0.5 + 30 / 72, 0.5)[0] == pytest.approx(1.0)


def test_upright_and_lying_pictures_lie_by_the_field_where_it_is_known() -> None:
    laid = laid_over(WHOLE, Shown(4000, 6000, CAMERA, 0.5))

    assert laid.second == (pytest.approx(2 / 3), pytest.approx(1.0))


@pytest.mark.parametrize(
    ("other", "reason"),
    [
        (Shown(4000, 6000, CAMERA, None), fact(Reason.ONE_ON_ITS_SIDE)),
        (Shown(4000, 4000, CAMERA, 0.5), fact(Reason.CROPPED_SOMEWHERE)),
        (Shown(8256, 6192, LARGE, 0.0), fact(Reason.SHAPES_DIFFER)),
        (Shown(6000, 4000, CAMERA, 0.1), fact(Reason.FIELDS_TOO_FAR_APART, first_mm=72.0, second_mm=360.0)),
    ],
)
def test_what_does_not_lie_over_each_other_is_refused_with_the_reason(other: Shown, reason: Fact) -> None:
    assert lay(WHOLE, other) == reason

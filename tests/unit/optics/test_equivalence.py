"""The same picture on another format."""

from __future__ import annotations

import math

import pytest

from webapp.optics import depth, diffraction, equivalence, macro
from webapp.optics.equivalence import Measure

FULL_FRAME = (36.0, 24.0)


@pytest.mark.parametrize(
    ("sensor", "crop"),
    [((23.5, 15.6), 1.5339), ((22.3, 14.9), 1.6132), ((17.3, 13.0), 1.9994), ((43.8, 32.9), 0.7898), (FULL_FRAME, 1)],
)
def test_the_crop_factor_follows_the_diagonal(sensor: tuple[float, float], crop: float) -> None:
    assert equivalence.crop_factor(sensor) == pytest.approx(crop, abs=5e-5)


def test_formats_of_other_proportions_agree_in_one_measure_only() -> None:
    four_thirds = (17.3, 13.0)

    assert equivalence.crop_factor(four_thirds, Measure.WIDTH) == pytest.approx(2.081, abs=5e-4)
    assert equivalence.crop_factor(four_thirds, Measure.HEIGHT) == pytest.approx(1.846, abs=5e-4)


def test_the_distant_picture_of_a_smaller_sensor_is_told_in_full_frame_terms() -> None:
    assert equivalence.equivalent_focal_length_mm(50, 1.5) == 75
    assert equivalence.equivalent_f_number(2**1.5, 1.5) == pytest.approx(4.243, abs=5e-4)
    assert equivalence.equivalent_iso(100, 1.5) == 225


def test_close_up_the_effective_f_number_is_scaled_and_not_the_mark() -> None:
    mark = equivalence.equivalent_f_number(16, 0.5, magnification=1)

    assert mark == pytest.approx(10.67, abs=5e-3)
    assert macro.effective_f_number(mark, 0.5) == pytest.approx(macro.effective_f_number(16, 1) / 2)


def test_the_equivalent_close_up_has_the_same_depth_and_diffraction() -> None:
    mark = equivalence.equivalent_f_number(16, 0.5, magnification=1, pupil_magnification=1.3)

    circle = depth.circle_of_confusion_mm(*FULL_FRAME)
    assert depth.close_up_depth_mm(mark, circle / 2, 0.5, 1.3) == pytest.approx(
        depth.close_up_depth_mm(16, circle, 1, 1.3)
    )
    assert diffraction.airy_disc_mm(macro.effective_f_number(mark, 0.5, 1.3)) == pytest.approx(
        diffraction.airy_disc_mm(macro.effective_f_number(16, 1, 1.3)) / 2
    )


def test_total_light_is_equal_at_the_equivalent_f_number_only() -> None:
    converted = equivalence.equivalent_f_number(8, 0.5)

    assert equivalence.total_light_change_stops(0.5, 8, converted) == pytest.approx(0, abs=1e-12)
    assert equivalence.total_light_change_stops(0.5, 8, 8) == -2
    assert equivalence.total_light_change_stops(1.5, 8, 8) == pytest.approx(1.170, abs=5e-4)


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf])
def test_a_sensor_without_size_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="height of the sensor"):
        equivalence.crop_factor((36, bad))
    with pytest.raises(ValueError, match="scale of the formats"):
        equivalence.equivalent_iso(100, bad)

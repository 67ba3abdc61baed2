"""Two taps on a rule to the scale of the picture."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.pictures.rule import Point, scale_from_rule

inside = st.tuples(st.floats(0, 1), st.floats(0, 1))


def test_a_field_the_size_of_the_sensor_is_life_size() -> None:
    # A sensor of 36 x 24 mm with 6000 x 4000 pixels; a rule that fills the width shows 36 mm.
    scale = scale_from_rule((0, 0.5), (1, 0.5), 36, width_px=6000, height_px=4000, pixel_pitch_mm=36 / 6000)

    assert scale.magnification == pytest.approx(1.0)
    assert (scale.field_width_mm, scale.field_height_mm) == pytest.approx((36.0, 24.0))


def test_a_slanting_rule_is_measured_along_itself() -> None:
    # 3-4-5: 3000 pixels across and 4000 down are 5000 along.
    scale = scale_from_rule((0.0, 0.0), (0.5, 1.0), 50, width_px=6000, height_px=4000)

    assert scale.taps_px == pytest.approx(5000.0)
    assert scale.mm_per_pixel == pytest.approx(0.01)
    assert scale.magnification is None


@given(inside, inside, st.floats(0.1, 1000))
def test_the_order_of_the_taps_does_not_matter(first: Point, second: Point, length_mm: float) -> None:
    if math.hypot((second[0] - first[0]) * 600, (second[1] - first[1]) * 400) < 2.1:
        return

    there = scale_from_rule(first, second, length_mm, width_px=600, height_px=400)
    back = scale_from_rule(second, first, length_mm, width_px=600, height_px=400)

    assert there == back


@given(st.floats(0.1, 1000), st.floats(1.1, 50))
def test_a_longer_rule_between_the_same_taps_is_a_larger_field(length_mm: float, times: float) -> None:
    short = scale_from_rule((0.1, 0.1), (0.9, 0.9), length_mm, width_px=600, height_px=400, pixel_pitch_mm=0.005)
    long = scale_from_rule(
        (0.1, 0.1), (0.9, 0.9), length_mm * times, width_px=600, height_px=400, pixel_pitch_mm=0.005
    )

    assert long.field_width_mm == pytest.approx(short.field_width_mm * times)
    assert short.magnification is not None
    assert long.magnification == pytest.approx(short.magnification / times)


@pytest.mark.parametrize(
    ("first", "second", "length_mm", "width_px", "pitch_mm", "said"),
    [
        ((0.5, 0.5), (0.5, 0.5), 10, 600, None, "same spot"),
        ((-0.1, 0.5), (0.5, 0.5), 10, 600, None, "inside the picture"),
        ((math.nan, 0.5), (0.5, 0.5), 10, 600, None, "inside the picture"),
        ((0.1, 0.5), (0.9, 0.5), 0, 600, None, "above 0 mm"),
        ((0.1, 0.5), (0.9, 0.5), math.inf, 600, None, "above 0 mm"),
        ((0.1, 0.5), (0.9, 0.5), 10, 0, None, "in pixels must be known"),
        ((0.1, 0.5), (0.9, 0.5), 10, 600, 0.0, "pixel pitch"),
    ],
)
def test_what_gives_no_scale_is_refused(
    first: Point, second: Point, length_mm: float, width_px: int, pitch_mm: float | None, said: str
) -> None:
    with pytest.raises(ValueError, match=said):
        scale_from_rule(first, second, length_mm, width_px=width_px, height_px=400, pixel_pitch_mm=pitch_mm)

"""Depth of field, diffraction, the sharpest aperture, focus stacks."""

from __future__ import annotations

import math

import numpy as np
import pytest

from webapp.optics import depth, macro
from webapp.optics.scales import Dial, Quantity, marks

ALL_BAD = (0, -1, math.nan, math.inf)


@pytest.mark.parametrize(
    ("f", "n", "c", "u", "near", "far"),
    [
        (50, 8, 0.03, 3000, 2337.905, 4185.268),
        (50, 8, 0.03, 10000, 5114.566, 223214.286),
        (50, 8, 0.03, 20000, 6860.593, math.inf),
        (25, 16, 0.015, 3000, 1400.299, math.inf),
        (100, 16, 0.02, 400, 396.1965, 403.8772),
        (100, 2**3.5, 0.03, 200, 199.3235, 200.6811),
        (150, 2**4.5, 0.1, 2000, 1686.273, 2457.146),
    ],
)
def test_the_limits_agree_with_traced_rays(f: float, n: float, c: float, u: float, near: float, far: float) -> None:
    assert depth.near_limit_mm(f, n, c, u) == pytest.approx(near, abs=5e-4)
    assert depth.far_limit_mm(f, n, c, u) == pytest.approx(far, abs=5e-4)


@pytest.mark.parametrize(
    ("f", "n", "c", "m", "p", "traced"),
    [(100, 16, 0.03, 1, 1, 1.92004), (100, 16, 0.03, 1, 0.5, 2.88007), (60, 8, 0.02, 0.5, 2, 1.60005)],
)
def test_the_depth_close_up_agrees_with_traced_rays(
    f: float, n: float, c: float, m: float, p: float, traced: float
) -> None:
    subject_mm = macro.subject_distance_mm(f, m)

    assert depth.depth_of_field_mm(f, n, c, subject_mm, p) == pytest.approx(traced, abs=5e-6)
    assert depth.close_up_depth_mm(n, c, m, p) == pytest.approx(traced, rel=5e-5)


def test_focus_on_the_hyperfocal_distance_reaches_infinity_from_half_of_it() -> None:
    hyperfocal = depth.hyperfocal_mm(50, 8, 0.03)

    assert depth.far_limit_mm(50, 8, 0.03, hyperfocal * (1 + 1e-12)) == math.inf
    assert depth.near_limit_mm(50, 8, 0.03, hyperfocal) == pytest.approx(hyperfocal / 2)
    assert depth.depth_of_field_mm(50, 8, 0.03, 2 * hyperfocal) == math.inf


def test_a_third_in_front_holds_at_a_third_of_the_hyperfocal_distance() -> None:
    subject_mm = depth.hyperfocal_mm(50, 8, 0.03) / 3

    in_front = subject_mm - depth.near_limit_mm(50, 8, 0.03, subject_mm)

    assert in_front / depth.depth_of_field_mm(50, 8, 0.03, subject_mm) == pytest.approx(1 / 3, abs=0.002)


def test_close_up_half_the_depth_lies_in_front() -> None:
    in_front = 200 - depth.near_limit_mm(100, 11, 0.03, 200)

    assert in_front / depth.depth_of_field_mm(100, 11, 0.03, 200) == pytest.approx(0.5, abs=0.002)


def test_a_telephoto_has_more_depth_at_the_same_mark_and_magnification() -> None:
    symmetrical = depth.depth_of_field_mm(100, 16, 0.03, 200)

    assert depth.depth_of_field_mm(100, 16, 0.03, 200, 0.5) == pytest.approx(1.5 * symmetrical)


def test_the_array_form_gives_the_scalar_numbers() -> None:
    distances = np.array([60.0, 500.0, 3000.0, 10466.0, 20000.0])

    near, far, total = depth.depth_limits_array(50, 8, 0.03, distances, 1.4)

    for index, u in enumerate(distances):
        assert near[index] == depth.near_limit_mm(50, 8, 0.03, float(u), 1.4)
        assert far[index] == depth.far_limit_mm(50, 8, 0.03, float(u), 1.4)
        assert total[index] == depth.depth_of_field_mm(50, 8, 0.03, float(u), 1.4)


def test_the_array_form_takes_many_f_numbers_and_leaves_them_alone() -> None:
    f_numbers = np.array([1.0, 8.0, 64.0, 1024.0])

    _, far, total = depth.depth_limits_array(50, f_numbers, 0.03, 3000.0)

    assert list(f_numbers) == [1, 8, 64, 1024]
    assert far[1] == depth.far_limit_mm(50, 8, 0.03, 3000)
    assert list(total[2:]) == [math.inf, math.inf]


@pytest.mark.parametrize("bad", [49.0, math.nan, math.inf])
def test_one_bad_number_in_an_array_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="subject"):
        depth.depth_limits_array(50, 8, 0.03, np.array([100.0, bad, 3000.0]))
    with pytest.raises(ValueError, match="f-number"):
        depth.total_blur_array(np.array([8.0, -bad]), 1.0)


def test_a_subject_within_the_focal_length_has_no_depth() -> None:
    for formula in (depth.near_limit_mm, depth.far_limit_mm, depth.depth_of_field_mm):
        with pytest.raises(ValueError, match="within its focal length"):
            formula(50, 8, 0.03, 40)


@pytest.mark.parametrize("bad", ALL_BAD)
def test_a_circle_of_confusion_that_is_none_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="circle of confusion"):
        depth.hyperfocal_mm(50, 8, bad)
    with pytest.raises(ValueError, match="circle of confusion"):
        depth.usable_f_numbers(2, bad)
    with pytest.raises(ValueError, match="pupil magnification"):
        depth.near_limit_mm(50, 8, 0.03, 3000, bad)


@pytest.mark.parametrize(
    ("width", "height", "circle"),
    [(36, 24, 0.02884), (23.5, 15.6, 0.01880), (17.3, 13, 0.01443), (120, 96, 0.10245)],
)
def test_the_circle_of_confusion_follows_the_diagonal(width: float, height: float, circle: float) -> None:
    assert depth.circle_of_confusion_mm(width, height) == pytest.approx(circle, abs=6e-6)


@pytest.mark.parametrize(
    ("n", "m", "wavelength", "um"),
    [(8, 0, 550, 10.73), (16, 0, 550, 21.47), (16, 1, 550, 42.93), (2**2.5, 5, 550, 45.54), (32, 1, 546, 85.24)],
)
def test_the_airy_disc_grows_with_the_effective_f_number(n: float, m: float, wavelength: float, um: float) -> None:
    airy_mm = depth.airy_disc_mm(macro.effective_f_number(n, m), wavelength)

    assert airy_mm * 1000 == pytest.approx(um, abs=0.006)


def test_an_airy_disc_is_counted_in_pixels() -> None:
    assert depth.in_pixels(0.064, 5) == pytest.approx(12.8)
    with pytest.raises(ValueError, match="pixel pitch"):
        depth.in_pixels(0.064, 0)


@pytest.mark.parametrize(
    ("wanted", "m", "p", "mark"),
    [
        (2, 1, 1, 13.69),
        (5, 1, 1, 21.65),
        (10, 0.5, 1, 20.41),
        (20, 0.25, 1, 17.32),
        (1, 3, 1, 14.52),
        (5, 1, 1.6, 26.65),
    ],
)
def test_the_sharpest_mark_for_a_wanted_depth(wanted: float, m: float, p: float, mark: float) -> None:
    assert depth.sharpest_aperture(wanted, m, p).f_number == pytest.approx(mark, abs=5e-3)


def test_at_the_sharpest_aperture_both_blurs_are_equal() -> None:
    [row] = depth.blur_by_f_number([depth.sharpest_aperture(5, 1, 1.6).f_number], 5, 1, 1.6)

    assert row.defocus_mm == pytest.approx(row.diffraction_mm)
    assert row.blur_mm == pytest.approx(row.defocus_mm * math.sqrt(2))


def test_red_light_asks_for_a_larger_opening() -> None:
    assert depth.sharpest_f_number(2, 650) < depth.sharpest_f_number(2, 546)


@pytest.mark.parametrize(
    ("spread", "circle", "low", "high"),
    [(2, 0.1, 10.09, 74.32), (1, 0.06, 8.49, 44.19), (0.2, 0.03, 3.37, 22.25)],
)
def test_a_circle_of_confusion_leaves_a_range_of_f_numbers(
    spread: float, circle: float, low: float, high: float
) -> None:
    assert depth.usable_f_numbers(spread, circle) == pytest.approx((low, high), abs=5e-3)


def test_for_some_depths_no_f_number_is_sharp_enough() -> None:
    assert depth.usable_f_numbers(2, 0.03) is None
    least = depth.total_blur_mm(depth.sharpest_f_number(2), 2)
    assert least > 0.03


def test_the_table_of_blur_has_its_least_row_at_the_sharpest_mark() -> None:
    dial = [mark.exact for mark in marks(Quantity.F_NUMBER, Dial.THIRD)]

    rows = depth.blur_by_f_number(dial, 5, 1)

    sharpest = min(rows, key=lambda row: row.blur_mm)
    assert sharpest.f_number == pytest.approx(21.65, rel=0.06)
    assert rows[0].blur_mm == pytest.approx(rows[0].defocus_mm, rel=1e-4)


def test_the_array_of_blur_gives_the_scalar_numbers() -> None:
    f_numbers = np.array([1.0, 8.0, 64.0])

    blur = depth.total_blur_array(f_numbers, 2.0, 600)

    assert list(blur) == pytest.approx([depth.total_blur_mm(n, 2, 600) for n in (1, 8, 64)], rel=1e-15)


@pytest.mark.parametrize(
    ("wanted", "m", "n", "c", "overlap", "slice_mm", "step_mm", "frames", "with_ends"),
    [
        (10, 1, 2**2.5, 0.02, 0.25, 0.45255, 0.33941, 30, 31),
        (10, 1, 8, 0.015, 0.3, 0.48, 0.336, 30, 31),
        (30, 0.5, 8, 0.02, 0.2, 1.92, 1.536, 20, 21),
        (0.5, 1, 16, 0.03, 0.2, 1.92, 1.536, 1, 2),
    ],
)
def test_a_stack_is_counted_both_ways(
    wanted: float,
    m: float,
    n: float,
    c: float,
    overlap: float,
    slice_mm: float,
    step_mm: float,
    frames: int,
    with_ends: int,
) -> None:
    stack = depth.focus_stack(wanted, m, n, c, overlap)

    assert (stack.slice_mm, stack.step_mm) == pytest.approx((slice_mm, step_mm), abs=5e-6)
    assert (stack.frames, stack.frames_with_ends) == (frames, with_ends)


def test_ten_whole_slices_take_ten_frames_in_floating_point_too() -> None:
    slice_mm = depth.close_up_depth_mm(8, 0.01, 1)

    stack = depth.focus_stack(10 * slice_mm, 1, 8, 0.01, 0)

    assert (stack.frames, stack.frames_with_ends) == (10, 11)


def test_moving_the_lens_travels_less_than_the_rail_below_life_size() -> None:
    stack = depth.focus_stack(30, 0.5, 8, 0.02, 0.2)

    assert stack.rail_travel_mm == pytest.approx(19 * 1.536)
    assert stack.focus_travel_mm == pytest.approx(stack.rail_travel_mm / 4)


@pytest.mark.parametrize("overlap", [1, 1.5, -0.1, math.nan])
def test_a_stack_that_never_gets_on_is_refused(overlap: float) -> None:
    with pytest.raises(ValueError, match="overlap"):
        depth.focus_stack(10, 1, 8, 0.015, overlap)

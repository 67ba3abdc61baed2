"""What holds for any depth of field and any stack."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from webapp.optics import depth, diffraction, macro, stacks

focal_lengths = st.floats(4, 1200)
f_numbers = st.floats(0.7, 128)
circles = st.floats(0.001, 0.3)
pupils = st.floats(0.3, 3)
magnifications = st.floats(1e-4, 10)
anything_at_all = st.floats(1e-12, 1e12)


@given(focal_lengths, f_numbers, circles, magnifications, pupils)
def test_the_subject_stands_between_the_limits(f: float, n: float, c: float, m: float, p: float) -> None:
    u = macro.subject_distance_mm(f, m)

    near, far = depth.near_limit_mm(f, n, c, u, p), depth.far_limit_mm(f, n, c, u, p)

    assert near <= u * (1 + 1e-12)
    assert far >= u * (1 - 1e-12)
    assert far - near == pytest.approx(depth.depth_of_field_mm(f, n, c, u, p), rel=1e-6, abs=1e-9 * u)


@given(focal_lengths, f_numbers, f_numbers, circles, magnifications, pupils)
def test_closing_down_never_loses_depth(f: float, one: float, other: float, c: float, m: float, p: float) -> None:
    wide, narrow = sorted((one, other))
    u = macro.subject_distance_mm(f, m)

    assert depth.near_limit_mm(f, narrow, c, u, p) <= depth.near_limit_mm(f, wide, c, u, p)
    assert depth.far_limit_mm(f, narrow, c, u, p) >= depth.far_limit_mm(f, wide, c, u, p)
    assert depth.depth_of_field_mm(f, narrow, c, u, p) >= depth.depth_of_field_mm(f, wide, c, u, p)


@given(focal_lengths, f_numbers, circles, magnifications, magnifications, pupils)
def test_a_farther_subject_never_has_less_depth(
    f: float, n: float, c: float, one: float, other: float, p: float
) -> None:
    near_u, far_u = sorted(macro.subject_distance_mm(f, m) for m in (one, other))

    assert depth.depth_of_field_mm(f, n, c, near_u, p) <= depth.depth_of_field_mm(f, n, c, far_u, p) * (1 + 1e-9)


@given(focal_lengths, f_numbers, circles, pupils)
def test_the_far_limit_becomes_infinite_at_the_hyperfocal_distance(f: float, n: float, c: float, p: float) -> None:
    hyperfocal = depth.hyperfocal_mm(f, n, c)

    assert depth.far_limit_mm(f, n, c, f + (hyperfocal - f) * (1 + 1e-9), p) == math.inf
    assert math.isfinite(depth.far_limit_mm(f, n, c, f + (hyperfocal - f) * (1 - 1e-9), p))


@given(focal_lengths, f_numbers, circles, st.floats(0.5, 10), pupils)
def test_the_close_up_form_meets_the_exact_form(f: float, n: float, c: float, m: float, p: float) -> None:
    assume(n * c / f < 0.01 * m)
    exact = depth.depth_of_field_mm(f, n, c, macro.subject_distance_mm(f, m), p)

    close_up = depth.close_up_depth_mm(n, c, m, p)

    assert close_up <= exact * (1 + 1e-9)
    assert close_up == pytest.approx(exact, rel=1.1e-4)


@given(*[anything_at_all] * 5)
def test_extremes_stay_finite_and_ordered(f: float, n: float, c: float, u: float, p: float) -> None:
    assume(u > f)

    near, far = depth.near_limit_mm(f, n, c, u, p), depth.far_limit_mm(f, n, c, u, p)

    assert math.isfinite(near)
    assert near <= far
    assert depth.depth_of_field_mm(f, n, c, u, p) >= 0


@given(st.floats(1e-3, 100), f_numbers, st.floats(380, 780))
def test_no_f_number_is_sharper_than_the_sharpest(spread: float, n: float, wavelength: float) -> None:
    least = diffraction.total_blur_mm(diffraction.sharpest_f_number(spread, wavelength), spread, wavelength)

    assert diffraction.total_blur_mm(n, spread, wavelength) >= least * (1 - 1e-12)


@given(st.floats(1e-3, 100), circles, st.floats(0, 1))
def test_every_f_number_within_the_usable_range_is_sharp_enough(spread: float, c: float, part: float) -> None:
    usable = diffraction.usable_f_numbers(spread, c)
    least = diffraction.total_blur_mm(diffraction.sharpest_f_number(spread), spread)
    assert (usable is not None) == (least <= c) or least == pytest.approx(c, rel=1e-9)
    assume(usable is not None)
    low, high = usable or (0.0, 0.0)

    between = low + part * (high - low)

    assert diffraction.total_blur_mm(between, spread) <= c * (1 + 1e-9)
    assert diffraction.total_blur_mm(high * 1.01, spread) > c
    assert diffraction.total_blur_mm(low / 1.01, spread) > c


@given(st.floats(0.01, 100), st.floats(0.05, 5), st.floats(1, 64), st.floats(0.002, 0.1), st.floats(0, 0.9), pupils)
def test_the_slices_of_a_stack_cover_the_depth_and_no_frame_is_idle(
    wanted: float, m: float, n: float, c: float, overlap: float, p: float
) -> None:
    stack = stacks.focus_stack(wanted, m, n, c, overlap, p)

    covered = stack.slice_mm + (stack.frames - 1) * stack.step_mm
    assert covered >= wanted * (1 - 1e-6)
    assert stack.frames == 1 or covered - stack.step_mm < wanted
    assert stack.frames < stack.frames_with_ends
    assert (stack.frames_with_ends - 1) * stack.step_mm >= wanted * (1 - 1e-6)

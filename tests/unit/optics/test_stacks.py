"""Focus stacks: slices, steps and counts."""

from __future__ import annotations

import math

import pytest

from webapp.optics import depth, stacks


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
    stack = stacks.focus_stack(wanted, m, n, c, overlap)

    assert (stack.slice_mm, stack.step_mm) == pytest.approx((slice_mm, step_mm), abs=5e-6)
    assert (stack.frames, stack.frames_with_ends) == (frames, with_ends)


def test_ten_whole_slices_take_ten_frames_in_floating_point_too() -> None:
    slice_mm = depth.close_up_depth_mm(8, 0.01, 1)

    stack = stacks.focus_stack(10 * slice_mm, 1, 8, 0.01, 0)

    assert (stack.frames, stack.frames_with_ends) == (10, 11)


def test_moving_the_lens_travels_less_than_the_rail_below_life_size() -> None:
    stack = stacks.focus_stack(30, 0.5, 8, 0.02, 0.2)

    assert stack.rail_travel_mm == pytest.approx(19 * 1.536)
    assert stack.focus_travel_mm == pytest.approx(stack.rail_travel_mm / 4)


@pytest.mark.parametrize("overlap", [1, 1.5, -0.1, math.nan])
def test_a_stack_that_never_gets_on_is_refused(overlap: float) -> None:
    with pytest.raises(ValueError, match="overlap"):
        stacks.focus_stack(10, 1, 8, 0.015, overlap)

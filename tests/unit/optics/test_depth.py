"""Depth of field: the limits, the depth between them, the circle of confusion."""

from __future__ import annotations

import math

import pytest

from webapp.optics import depth, diffraction, macro

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


def test_a_subject_within_the_focal_length_has_no_depth() -> None:
    for formula in (depth.near_limit_mm, depth.far_limit_mm, depth.depth_of_field_mm):
        with pytest.raises(ValueError, match="within its focal length"):
            formula(50, 8, 0.03, 40)


@pytest.mark.parametrize("bad", ALL_BAD)
def test_a_circle_of_confusion_that_is_none_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="circle of confusion"):
        depth.hyperfocal_mm(50, 8, bad)
    with pytest.raises(ValueError, match="circle of confusion"):
        diffraction.usable_f_numbers(2, bad)
    with pytest.raises(ValueError, match="pupil magnification"):
        depth.near_limit_mm(50, 8, 0.03, 3000, bad)


@pytest.mark.parametrize(
    ("width", "height", "circle"),
    [(36, 24, 0.02884), (23.5, 15.6, 0.01880), (17.3, 13, 0.01443), (120, 96, 0.10245)],
)
def test_the_circle_of_confusion_follows_the_diagonal(width: float, height: float, circle: float) -> None:
    assert depth.circle_of_confusion_mm(width, height) == pytest.approx(circle, abs=6e-6)

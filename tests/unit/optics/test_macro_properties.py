"""What holds for any close-up."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.optics import macro

f_numbers = st.floats(0.5, 128)
magnifications = st.floats(1e-3, 20)
pupils = st.floats(0.2, 5)
focal_lengths = st.floats(5, 1000)


@given(f_numbers, magnifications, magnifications, pupils, st.booleans())
def test_more_magnification_never_gives_more_light(
    n: float, one: float, other: float, p: float, turned: bool
) -> None:
    low, high = sorted((one, other))

    dark = macro.effective_f_number(n, high, p, reversed_lens=turned)

    assert dark >= macro.effective_f_number(n, low, p, reversed_lens=turned)


@given(f_numbers, magnifications, pupils)
def test_the_close_up_loss_is_never_a_gain_with_the_lens_mounted_normally(n: float, m: float, p: float) -> None:
    assert macro.effective_f_number(n, m, p) >= n
    assert macro.exposure_increase_stops(m, p) >= 0


@given(f_numbers, magnifications, pupils, st.booleans())
def test_marks_and_effective_f_numbers_are_inverse(n: float, m: float, p: float, turned: bool) -> None:
    effective = macro.effective_f_number(n, m, p, reversed_lens=turned)

    assert macro.marked_f_number(effective, m, p, reversed_lens=turned) == pytest.approx(n)


@given(focal_lengths, magnifications)
def test_distance_and_magnification_are_inverse(f: float, m: float) -> None:
    assert macro.magnification_at(f, macro.subject_distance_mm(f, m)) == pytest.approx(m, rel=1e-9)


@given(focal_lengths, magnifications)
def test_the_lens_equation_holds(f: float, m: float) -> None:
    subject = macro.subject_distance_mm(f, m)
    image = macro.subject_to_sensor_mm(f, m) - subject

    assert 1 / subject + 1 / image == pytest.approx(1 / f)


@given(focal_lengths, magnifications)
def test_no_setting_brings_the_subject_nearer_to_the_sensor_than_life_size(f: float, m: float) -> None:
    assert macro.subject_to_sensor_mm(f, m) >= macro.subject_to_sensor_mm(f, 1) * (1 - 1e-12)

"""What holds between any two formats."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.optics import depth, equivalence, macro
from webapp.optics.equivalence import Measure

sides = st.floats(1, 300)
sensors = st.tuples(sides, sides)
measures = st.sampled_from(list(Measure))
f_numbers = st.floats(0.7, 128)
magnifications = st.floats(0, 10)
pupils = st.floats(0.3, 3)
scales = st.floats(0.05, 20)


@given(sensors, sensors, sensors, measures)
def test_scales_chain(
    one: tuple[float, float], two: tuple[float, float], three: tuple[float, float], by: Measure
) -> None:
    in_two = equivalence.format_scale(one, two, by) * equivalence.format_scale(two, three, by)

    assert in_two == pytest.approx(equivalence.format_scale(one, three, by))


@given(f_numbers, scales, magnifications, pupils)
def test_there_and_back_is_the_same_picture(n: float, k: float, m: float, p: float) -> None:
    there = equivalence.equivalent_f_number(n, k, m, p)

    back = equivalence.equivalent_f_number(there, 1 / k, equivalence.equivalent_magnification(m, k), p)

    assert back == pytest.approx(n)


@given(f_numbers, scales, magnifications, pupils)
def test_equivalent_pictures_have_the_same_total_light(n: float, k: float, m: float, p: float) -> None:
    before = macro.effective_f_number(n, m, p)
    mark = equivalence.equivalent_f_number(n, k, m, p)
    after = macro.effective_f_number(mark, equivalence.equivalent_magnification(m, k), p)

    assert equivalence.total_light_change_stops(k, before, after) == pytest.approx(0, abs=1e-9)


@given(st.floats(20, 200), st.floats(1, 32), st.floats(0.3, 3))
def test_a_distant_subject_keeps_its_depth(f: float, n: float, k: float) -> None:
    subject_mm = 1000 * f

    here = depth.near_limit_mm(f, n, 0.03, subject_mm)
    there = depth.near_limit_mm(
        equivalence.equivalent_focal_length_mm(f, k), equivalence.equivalent_f_number(n, k), 0.03 * k, subject_mm
    )

    assert there == pytest.approx(here, rel=0.005)


@given(f_numbers, scales, pupils)
def test_the_close_up_form_meets_the_distant_form(n: float, k: float, p: float) -> None:
    assert equivalence.equivalent_f_number(n, k, 1e-9, p) == pytest.approx(equivalence.equivalent_f_number(n, k))

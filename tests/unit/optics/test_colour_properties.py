"""What holds for every colour temperature and every mix."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from webapp.optics.colour import correlated, kelvin_after_shift, mired_shift, mix, planckian

kelvins = st.floats(1000.0, 25_000.0)
white = st.floats(2000.0, 10_000.0)
shares = st.floats(0.01, 1.0)


@given(kelvins, kelvins, kelvins)
def test_shifts_add_up(first: float, second: float, third: float) -> None:
    in_steps = mired_shift(first, second) + mired_shift(second, third)

    assert math.isclose(in_steps, mired_shift(first, third), abs_tol=1e-9)


@given(st.floats(1001.0, 24_900.0), st.floats(1001.0, 24_900.0))
def test_a_shift_leads_where_it_was_measured_to(start: float, end: float) -> None:
    assert math.isclose(kelvin_after_shift(start, mired_shift(start, end)), end, rel_tol=1e-9)


@given(kelvins)
def test_a_black_body_has_its_own_temperature(kelvin: float) -> None:
    found = correlated(planckian(kelvin))

    assert math.isclose(found.kelvin, kelvin, rel_tol=1e-3)
    assert abs(found.duv) < 1e-6


@given(white, white, shares, shares)
def test_a_mix_lies_between_its_lights_and_not_above_the_locus(
    one: float, other: float, share: float, other_share: float
) -> None:
    mixed = mix([one, other], [share, other_share]).correlated

    assert min(one, other) * (1 - 1e-6) <= mixed.kelvin <= max(one, other) * (1 + 1e-6)
    assert mixed.duv <= 1e-6


@given(white, white, st.floats(0.01, 0.98))
def test_a_larger_share_pulls_the_mix_towards_its_light(one: float, other: float, share: float) -> None:
    cool, warm = max(one, other), min(one, other)

    less = mix([cool, warm], [share, 1 - share]).correlated.kelvin
    more = mix([cool, warm], [share + 0.01, 0.99 - share]).correlated.kelvin

    assert less <= more * (1 + 1e-6)


@given(white, white, shares)
def test_the_order_of_the_lights_does_not_matter(one: float, other: float, share: float) -> None:
    forwards, backwards = mix([one, other], [share, 0.5]), mix([other, one], [0.5, share])

    assert math.isclose(forwards.correlated.kelvin, backwards.correlated.kelvin, rel_tol=1e-6)

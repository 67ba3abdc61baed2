"""What holds for any exposure."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.optics import exposure, mixed_light, tone

f_numbers = st.floats(0.5, 256)
times_s = st.floats(1e-5, 3600)
isos = st.floats(1, 1e6)
levels = st.floats(-60, 60)


@given(f_numbers, times_s, isos)
def test_ev100_is_what_the_meter_constant_says_of_the_luminance(n: float, t: float, s: float) -> None:
    luminance = exposure.luminance_cd_m2(n, t, s)

    assert math.log2(luminance * 100 / exposure.REFLECTED_CONSTANT) == pytest.approx(
        exposure.ev100(n, t, s), abs=1e-9
    )


@given(f_numbers, f_numbers, f_numbers)
def test_changes_of_aperture_add_up(one: float, two: float, three: float) -> None:
    at_once = exposure.aperture_change_stops(one, three)

    in_two = exposure.aperture_change_stops(one, two) + exposure.aperture_change_stops(two, three)

    assert in_two == pytest.approx(at_once, abs=1e-9)


@given(st.lists(levels, min_size=1, max_size=8), levels)
def test_another_light_never_darkens(lights: list[float], another: float) -> None:
    assert mixed_light.total_stops([*lights, another]) >= mixed_light.total_stops(lights)


@given(st.lists(levels, min_size=1, max_size=8), st.floats(-60, 60))
def test_brightening_every_light_brightens_the_total_alike(lights: list[float], stops: float) -> None:
    brightened = mixed_light.total_stops([level + stops for level in lights])

    assert brightened == pytest.approx(mixed_light.total_stops(lights) + stops, abs=1e-9)


@given(st.lists(levels, min_size=1, max_size=8))
def test_shares_make_up_the_whole_light(lights: list[float]) -> None:
    shares = mixed_light.shares(lights)

    assert math.fsum(shares) == pytest.approx(1)
    assert min(shares) >= 0


@given(st.floats(-39, 39))
def test_a_key_to_fill_ratio_comes_back(difference: float) -> None:
    assert mixed_light.stops_from_key_to_fill(mixed_light.key_to_fill(difference)) == pytest.approx(
        difference, abs=1e-9
    )


@given(st.floats(-20, 39))
def test_a_sum_to_fill_ratio_comes_back(difference: float) -> None:
    assert mixed_light.stops_from_sum_to_fill(mixed_light.sum_to_fill(difference)) == pytest.approx(
        difference, abs=1e-8
    )


@given(st.floats(-30, 0), st.floats(0.001, 30))
def test_adding_the_fill_reaches_the_wanted_shadow(shadow: float, lift: float) -> None:
    fill = mixed_light.fill_to_lift_stops(shadow, shadow + lift)

    assert mixed_light.total_stops([shadow, fill]) == pytest.approx(shadow + lift, abs=1e-9)


@given(levels, st.floats(-60, 60))
def test_the_shutter_moves_mixed_light_no_further_than_itself(ambient: float, change: float) -> None:
    total = mixed_light.shutter_on_mixed_light_stops(ambient, change)

    assert abs(total) <= abs(change) + 1e-9
    assert total * change >= 0


@given(st.floats(0, 1))
def test_srgb_comes_back(encoded: float) -> None:
    assert tone.srgb_from_linear(tone.linear_from_srgb(encoded)) == pytest.approx(encoded, abs=1e-12)


@given(st.integers(1, 253))
def test_every_level_is_brighter_than_the_one_below(level: int) -> None:
    assert tone.level_difference_stops(level, level + 1) > 0


@given(st.integers(1, 254), st.integers(1, 254))
def test_half_a_code_reaches_half_way_to_the_next_level(one: int, other: int) -> None:
    uncertainty = tone.quantisation_stops(one) + tone.quantisation_stops(other)

    assert uncertainty > 0
    if one != other:
        assert abs(tone.level_difference_stops(one, other)) > uncertainty * 0.9

"""Colour temperature: domains, signs and conventions. Outside values are in tests/reference."""

from __future__ import annotations

import math

import numpy as np
import pytest

from webapp.optics.colour import Chromaticity, correlated, kelvin_after_shift, mired, mired_shift, mix, planckian
from webapp.optics.observer import COLOUR_MATCHING, WAVELENGTHS_NM


def test_warming_is_positive() -> None:
    assert mired_shift(5600.0, 3200.0) > 0.0
    assert kelvin_after_shift(5600.0, 159.0) < 5600.0


def test_the_shift_between_two_temperatures_leads_from_one_to_the_other() -> None:
    assert kelvin_after_shift(6500.0, mired_shift(6500.0, 3200.0)) == pytest.approx(3200.0)


@pytest.mark.parametrize("kelvin", [999.0, 25_001.0, 0.0, -5600.0, math.nan, math.inf])
def test_a_temperature_out_of_range_is_refused(kelvin: float) -> None:
    with pytest.raises(ValueError, match="between 1000 K and 25 000 K"):
        mired(kelvin)
    with pytest.raises(ValueError, match="between 1000 K and 25 000 K"):
        mix([kelvin, 5600.0], [0.5, 0.5])


@pytest.mark.parametrize("shift_mired", [-178.58, -300.0, math.nan, -math.inf])
def test_a_shift_past_the_bluest_light_is_refused(shift_mired: float) -> None:
    with pytest.raises(ValueError, match="past an infinite colour temperature"):
        kelvin_after_shift(5600.0, shift_mired)


@pytest.mark.parametrize("shift_mired", [-170.0, 900.0, math.inf])
def test_a_shift_out_of_range_is_refused_with_where_it_leads(shift_mired: float) -> None:
    with pytest.raises(ValueError, match=r"takes 5600 K to \d+ K"):
        kelvin_after_shift(5600.0, shift_mired)


def test_lists_that_do_not_pair_up_are_refused() -> None:
    with pytest.raises(ValueError, match="2 colour temperatures and 1 shares do not pair up"):
        mix([3200.0, 5600.0], [1.0])
    with pytest.raises(ValueError, match="0 colour temperatures"):
        mix([], [])


@pytest.mark.parametrize("shares", [[0.0, 0.0], [-0.5, 1.5], [math.nan, 1.0], [math.inf, 1.0]])
def test_shares_that_are_none_are_refused(shares: list[float]) -> None:
    with pytest.raises(ValueError, match="A share of the light is 0 or more"):
        mix([3200.0, 5600.0], shares)


def test_shares_need_not_sum_to_one() -> None:
    assert mix([3200.0, 5600.0], [1.0, 3.0]).correlated.kelvin == pytest.approx(
        mix([3200.0, 5600.0], [0.25, 0.75]).correlated.kelvin
    )


def test_one_light_alone_is_itself_and_on_the_locus() -> None:
    alone = mix([3200.0, 5600.0], [1.0, 0.0]).correlated

    assert alone.kelvin == pytest.approx(3200.0, abs=0.01)
    assert alone.duv == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("kelvin", [1000.0, 25_000.0])
def test_both_ends_of_the_range_can_be_named(kelvin: float) -> None:
    assert correlated(planckian(kelvin)).kelvin == pytest.approx(kelvin, rel=1e-4)


def test_light_above_the_locus_is_positive_and_below_it_negative() -> None:
    white = planckian(5000.0)

    assert correlated(Chromaticity(white.u, white.v + 0.005)).duv > 0.0
    assert correlated(Chromaticity(white.u, white.v - 0.005)).duv < 0.0


def test_a_coloured_light_has_no_colour_temperature() -> None:
    with pytest.raises(ValueError, match="no colour temperature describes it"):
        correlated(Chromaticity(0.1, 0.38))


def test_light_redder_than_the_range_is_refused() -> None:
    with pytest.raises(ValueError, match="redder than 1000 K"):
        correlated(Chromaticity(0.4505, 0.3544))


def test_the_nearest_point_is_nearer_than_its_neighbours() -> None:
    light = Chromaticity(0.23, 0.33)

    found = correlated(light)

    for kelvin in (0.99 * found.kelvin, 1.01 * found.kelvin):
        beside = planckian(kelvin)
        assert abs(found.duv) < math.hypot(light.u - beside.u, light.v - beside.v)


def test_the_observer_has_a_row_for_each_wavelength_and_peaks_in_the_green() -> None:
    assert COLOUR_MATCHING.shape == (WAVELENGTHS_NM.size, 3)
    assert WAVELENGTHS_NM[np.argmax(COLOUR_MATCHING[:, 1])] == 555.0

"""Filters: domains, signs, and how the labels of the trade are read."""

from __future__ import annotations

import math

import pytest

from webapp.optics.filters import (
    crossed_pair_stops,
    density_from_stops,
    factor_from_stops,
    read_neutral_density,
    stacked_stops,
    stops_from_density,
    stops_from_factor,
    stops_from_transmission,
    transmission_from_stops,
)

THREE_STOPS_BY_DENSITY = pytest.approx(2.9897, abs=5e-5)


@pytest.mark.parametrize("text", ["ND 0.9", "ND0.9", "nd.9", "0.9", ".9", "0,9", "density 0.9", "D 0.9", " OD:0.9 "])
def test_a_number_with_a_point_is_a_density(text: str) -> None:
    assert read_neutral_density(text) == THREE_STOPS_BY_DENSITY


@pytest.mark.parametrize("text", ["ND8", "ND 8", "nd-8", "8x", "x8", "NDx8", "ND x8", "factor 8", "filter factor 8"])
def test_a_whole_number_after_nd_is_a_factor(text: str) -> None:
    assert read_neutral_density(text) == 3.0


@pytest.mark.parametrize(
    ("text", "loss_stops"),
    [
        ("3 stops", 3.0),
        ("3-stop", 3.0),
        ("1 stop", 1.0),
        ("2.5 stops", 2.5),
        ("2/3 stop", 2 / 3),
        ("6 2/3 stops", 20 / 3),
    ],
)
def test_stops_that_say_so_are_stops(text: str, loss_stops: float) -> None:
    assert read_neutral_density(text) == pytest.approx(loss_stops)


def test_nd_two_point_nought_is_not_nd_two() -> None:
    assert read_neutral_density("ND 2.0") == pytest.approx(6.6439, abs=5e-5)
    assert read_neutral_density("ND2") == 1.0


def test_a_factor_of_a_thousand_is_not_quite_ten_stops() -> None:
    assert read_neutral_density("ND1000") == pytest.approx(9.9658, abs=5e-5)
    assert read_neutral_density("ND1024") == 10.0


@pytest.mark.parametrize("text", ["3", "8", "64"])
def test_a_bare_whole_number_is_refused_because_it_may_be_three_things(text: str) -> None:
    with pytest.raises(ValueError, match=f"“{text}” may be a density, a factor or stops"):
        read_neutral_density(text)


@pytest.mark.parametrize("text", ["ND1", "ND3", "ND 6", "ND10", "ND15"])
def test_labels_sold_under_two_meanings_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="more than one meaning"):
        read_neutral_density(text)


@pytest.mark.parametrize("text", ["ND 8.0", "16.5"])
def test_a_density_that_is_not_made_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="density above 6"):
        read_neutral_density(text)


@pytest.mark.parametrize(
    "text", ["", "   ", "ND", "dark", "-0.9", "ND 0.9 0.9", "1/0 stop", "٣ stops", "3/4", "ND" + "9" * 40]
)
def test_what_is_no_label_is_told_how_to_write_one(text: str) -> None:
    with pytest.raises(ValueError, match=r"write the density with its point .* or the stops \(3 stops\)\.$"):
        read_neutral_density(text)


@pytest.mark.parametrize("text", ["50 stops", "density 20", "ND" + "9" * 20])
def test_a_label_darker_than_any_filter_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="forty stops at most"):
        read_neutral_density(text)


def test_a_crossed_pair_passes_nothing_and_a_parallel_pair_loses_nothing_more() -> None:
    assert crossed_pair_stops(90.0) == math.inf
    assert crossed_pair_stops(0.0) == 0.0


@pytest.mark.parametrize("crossed_deg", [-1.0, 90.1, math.nan])
def test_polarisers_cannot_be_crossed_by_more_than_a_right_angle(crossed_deg: float) -> None:
    with pytest.raises(ValueError, match="parallel"):
        crossed_pair_stops(crossed_deg)


@pytest.mark.parametrize("bad", [-0.1, math.nan, math.inf, 1e6])
def test_a_loss_that_no_filter_has_is_refused(bad: float) -> None:
    for convert in (stops_from_density, density_from_stops, factor_from_stops, transmission_from_stops):
        with pytest.raises(ValueError, match="200 stops at most"):
            convert(bad)


@pytest.mark.parametrize("factor", [0.0, 0.5, -8.0, math.nan])
def test_a_factor_that_would_add_light_is_refused(factor: float) -> None:
    with pytest.raises(ValueError, match="a factor is 1 or more"):
        stops_from_factor(factor)


@pytest.mark.parametrize("transmission", [0.0, 1.01, -0.5, math.nan])
def test_a_transmission_beyond_all_or_nothing_is_refused(transmission: float) -> None:
    with pytest.raises(ValueError, match="lies above 0 and is 1 at most"):
        stops_from_transmission(transmission)


def test_a_pair_a_hair_from_crossed_still_has_a_density() -> None:
    assert math.isfinite(density_from_stops(crossed_pair_stops(math.nextafter(90.0, 0.0))))


def test_clear_glass_loses_nothing() -> None:
    assert math.copysign(1.0, stops_from_transmission(1.0)) == 1.0
    assert stops_from_density(0.0) == stops_from_factor(1.0) == stops_from_transmission(1.0) == 0.0


def test_an_empty_stack_loses_nothing_and_losses_add() -> None:
    assert stacked_stops([]) == 0.0
    assert stacked_stops([1.0, 0.3, 2.0]) == pytest.approx(3.3)
    with pytest.raises(ValueError, match="200 stops at most"):
        stacked_stops([150.0, 150.0])

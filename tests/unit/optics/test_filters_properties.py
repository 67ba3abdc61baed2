"""What holds for every filter."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from webapp.optics.filters import (
    crossed_pair_stops,
    density_from_stops,
    factor_from_stops,
    read_neutral_density,
    stops_from_density,
    stops_from_factor,
    stops_from_transmission,
    transmission_from_stops,
)

losses = st.floats(0.0, 199.9)


@given(losses)
def test_the_three_names_of_a_loss_lead_back_to_it(loss_stops: float) -> None:
    assert math.isclose(stops_from_density(density_from_stops(loss_stops)), loss_stops, abs_tol=1e-9)
    assert math.isclose(stops_from_factor(factor_from_stops(loss_stops)), loss_stops, abs_tol=1e-9)
    assert math.isclose(stops_from_transmission(transmission_from_stops(loss_stops)), loss_stops, abs_tol=1e-9)


@given(losses, losses)
def test_light_through_two_filters_is_the_product_of_what_each_passes(one: float, other: float) -> None:
    half_one, half_other = one / 2, other / 2

    through_both = transmission_from_stops(half_one + half_other)

    assert math.isclose(through_both, transmission_from_stops(half_one) * transmission_from_stops(half_other))


@given(st.floats(0.0, 90.0), st.floats(0.0, 90.0))
def test_crossing_further_never_lets_more_light_through(one: float, other: float) -> None:
    less, more = sorted((one, other))

    assert 0.0 <= crossed_pair_stops(less) <= crossed_pair_stops(more)


@given(st.integers(0, 60))
def test_a_printed_density_is_read_as_that_density(tenths: int) -> None:
    label = f"ND {tenths / 10:.1f}"

    assert math.isclose(read_neutral_density(label), stops_from_density(tenths / 10))


@given(st.text(max_size=60) | st.from_regex(r"(nd|ND)? ?[0-9.,/ ]{1,8} ?(stops?|x)?", fullmatch=True))
def test_any_text_is_read_as_a_loss_or_refused_with_a_sentence(text: str) -> None:
    refusal = ""
    loss_stops = 0.0
    try:
        loss_stops = read_neutral_density(text)
    except ValueError as error:
        refusal = str(error)

    assert refusal == "" or refusal[-1] == "."
    assert 0.0 <= loss_stops <= 40.0

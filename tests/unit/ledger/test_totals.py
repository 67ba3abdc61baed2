"""Shares, totals and ratios: light adds, stops do not."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.facts import fact
from webapp.ledger.reasons import Reason
from webapp.ledger.totals import (
    LightingRatio,
    Shares,
    Solo,
    lighting_ratio,
    measured_shares,
    predicted_difference,
    summed_stops,
)

stops = st.floats(-6, 6)
levels = st.floats(0.01, 1.0)


def test_three_lights_a_stop_apart_add_to_what_the_sum_of_their_light_is() -> None:
    # EV 10, 9 and 8 together are EV 10.8074 (sum of 2^EV).
    shares = {"A": 1.0, "B": 0.5, "C": 0.25}

    assert summed_stops({"A": 0.0, "B": 0.0, "C": 0.0}, shares) == pytest.approx(0.8074, abs=5e-5)


@given(levels, levels, stops, stops)
def test_the_prediction_is_the_sum_of_the_lights_on_a_logarithmic_scale(
    a: float, b: float, moved_a: float, moved_b: float
) -> None:
    shares = measured_shares(a + b, "AB", [Solo("A", 2, a, 0.0), Solo("B", 3, b, 0.0)]).by_light

    total = predicted_difference({"A": moved_a, "B": moved_b}, "AB", shares)

    # An independent road: logarithms added by a general library.
    expected = np.logaddexp2(np.log2(a) + moved_a, np.log2(b) + moved_b) - np.log2(a + b)
    assert total.stops == pytest.approx(expected, abs=1e-9)


@given(levels, levels, stops)
def test_a_solo_frame_at_another_power_gives_the_same_share(a: float, b: float, balance: float) -> None:
    plain = measured_shares(a + b, "AB", [Solo("A", 2, a, 0.0), Solo("B", 3, b, 0.0)])
    moved = measured_shares(a + b, "AB", [Solo("A", 2, a * 2.0**balance, balance), Solo("B", 3, b, 0.0)])

    assert moved.by_light["A"] == pytest.approx(plain.by_light["A"])


def test_lights_that_moved_alike_need_no_shares() -> None:
    assert predicted_difference({"A": -1.0, "B": -1.0}, "AB", {}).stops == pytest.approx(-1.0)


def test_lights_that_moved_apart_need_them_and_it_is_said_which_frame_gives_them() -> None:
    total = predicted_difference({"A": 0.0, "B": 1.0}, "AB", {"A": 0.6})

    assert total.stops is None
    assert total.reason == fact(Reason.NO_TOTAL_SHARE, "B")


def test_a_light_switched_off_since_the_reference_frame_is_missed_in_the_total() -> None:
    assert predicted_difference({"A": 0.0}, "AB", {"A": 0.25, "B": 0.75}).stops == pytest.approx(-2.0)


def test_an_unknown_balance_leaves_no_total() -> None:
    assert predicted_difference({"A": None}, "A", {"A": 1.0}).stops is None


def test_the_frame_lit_by_all_checks_the_sum_of_the_frames_lit_by_one() -> None:
    shares = measured_shares(0.9, "AB", [Solo("A", 2, 0.6, 0.0), Solo("B", 3, 0.4, 0.0)])

    assert shares.sum_off_stops == pytest.approx(0.152, abs=5e-4)  # log2(1.0 / 0.9)
    assert sum(shares.by_light.values()) == pytest.approx(1.0)


def test_a_last_light_has_what_the_others_leave_unless_they_leave_nothing() -> None:
    assert measured_shares(1.0, "AB", [Solo("A", 2, 0.75, 0.0)]).by_light["B"] == pytest.approx(0.25)
    assert "B" not in measured_shares(1.0, "AB", [Solo("A", 2, 0.99, 0.0)]).by_light


def test_the_only_light_of_the_reference_frame_has_all_of_it() -> None:
    assert measured_shares(0.2, "A", []) == Shares({"A": 1.0}, {"A": fact(Reason.SHARE_OF_ONLY_LIGHT, "A")})


@pytest.mark.parametrize(("key", "fill", "ratio", "with_fill"), [(0.8, 0.2, 4, 5), (0.5, 0.5, 1, 2)])
def test_both_conventions_of_the_lighting_ratio(key: float, fill: float, ratio: float, with_fill: float) -> None:
    # 800:200 is 4:1 as key : fill and 5:1 as (key + fill) : fill, both in use for one encyclopaedia article.
    found = lighting_ratio({"A": "key", "B": "fill"}, {"A": 0.0, "B": 0.0}, {"A": key, "B": fill})

    assert found is not None
    assert found.key_to_fill == pytest.approx(ratio)
    assert found.sum_to_fill == pytest.approx(with_fill)


def test_without_a_fill_there_is_no_ratio() -> None:
    assert lighting_ratio({"A": "key", "B": "rim"}, {"A": 0.0, "B": 0.0}, {"A": 0.5, "B": 0.5}) is None


def test_a_ratio_moves_with_the_balances() -> None:
    found = lighting_ratio({"A": "key", "B": "fill"}, {"A": 1.0, "B": -1.0}, {"A": 0.5, "B": 0.5})

    assert found == LightingRatio("A", "B", 2.0)


def test_a_level_of_nothing_has_no_shares() -> None:
    with pytest.raises(ValueError, match="above 0"):
        measured_shares(0.0, "AB", [])

"""How far a head can be trusted, checked against a general library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.ledger.consistency import StepReading, learned_loss, learned_step, spread_of

runs = st.lists(st.floats(-3, 3), min_size=3, max_size=30)


@given(runs)
def test_a_spread_is_what_a_general_library_says_of_the_run(levels: list[float]) -> None:
    spread = spread_of(levels)

    slope = np.polyfit(np.arange(len(levels)), levels, 1)[0]
    assert spread.mean_stops == pytest.approx(np.mean(levels), abs=1e-9)
    assert spread.deviation_stops == pytest.approx(np.std(levels, ddof=1), abs=1e-9)
    assert spread.range_stops == pytest.approx(np.ptp(levels), abs=1e-9)
    assert spread.drift_stops == pytest.approx(slope * (len(levels) - 1), abs=1e-6)


def test_a_hot_first_frame_shows_as_such_and_not_as_a_change_of_the_rest() -> None:
    spread = spread_of([0.4, 0.0, 0.02, -0.02, 0.0])

    assert spread.first_frame_stops == pytest.approx(0.4)


def test_a_run_of_two_says_nothing() -> None:
    with pytest.raises(ValueError, match="at least 3"):
        spread_of([0.0, 0.1])


def test_a_head_whose_stop_is_four_fifths_is_learned_from_five_changes() -> None:
    marked = (-1.0, 1.0, -2.0, 2.0, -1.0)

    learned = learned_step([StepReading(each, 0.8 * each) for each in marked])

    assert learned is not None
    assert learned.slope == pytest.approx(0.8)
    assert learned.scatter_stops == pytest.approx(0.0, abs=1e-12)


def test_four_changes_and_small_ones_teach_nothing() -> None:
    four = [StepReading(1.0, 0.8)] * 4

    assert learned_step(four) is None
    assert learned_step([*four, StepReading(0.1, 0.3)]) is None


def test_one_wrong_entry_in_the_log_does_not_move_what_is_learned() -> None:
    readings = [StepReading(1.0, 0.8), StepReading(-1.0, -0.8), StepReading(2.0, 1.6), StepReading(1.0, 0.8)]

    learned = learned_step([*readings, StepReading(1.0, 2.0)])

    assert learned is not None
    assert learned.slope == pytest.approx(0.8)
    assert learned.scatter_stops > 0.3


def test_a_pair_of_polarisers_is_learned_from_its_first_reading() -> None:
    learned = learned_loss([2.9])

    assert learned is not None
    assert (learned.loss_stops, learned.count) == (2.9, 1)
    assert learned_loss([]) is None

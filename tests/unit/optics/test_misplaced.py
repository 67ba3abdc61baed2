"""What a light costs that is put up again not quite where it stood."""

from __future__ import annotations

import pytest

from webapp.optics.misplaced import direction_error_stops, distance_error_stops


@pytest.mark.parametrize(("distance_mm", "stops"), [(120.0, 0.24), (600.0, 0.05), (1500.0, 0.02)])
def test_a_centimetre_costs_by_the_inverse_square(distance_mm: float, stops: float) -> None:
    # Common practice: a centimetre is about a quarter of a stop at 12 cm and next to nothing at 150 cm.
    assert distance_error_stops(distance_mm) == pytest.approx(stops, abs=0.005)


def test_fifteen_degrees_at_forty_five_are_half_a_stop() -> None:
    # The cosines of 45° and 60° stand as the square root of two to one: half a stop.
    assert direction_error_stops(45.0, 15.0) == pytest.approx(0.5)


@pytest.mark.parametrize(("angle", "error"), [(-1.0, 10.0), (80.0, 10.0), (45.0, -1.0)])
def test_a_light_that_grazes_the_subject_has_no_such_error(angle: float, error: float) -> None:
    with pytest.raises(ValueError, match="below 90°"):
        direction_error_stops(angle, error)


def test_a_small_error_costs_what_the_exact_law_says() -> None:
    # 60 cm against 61 cm: the difference of their squares, by a pocket calculator.
    assert distance_error_stops(600.0) == pytest.approx(0.0477, abs=0.001)


def test_a_light_at_no_distance_has_no_error_of_its_distance() -> None:
    with pytest.raises(ValueError, match="no distance"):
        distance_error_stops(0.0)

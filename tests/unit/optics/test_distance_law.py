"""The light of a source against its distance: there and back, peaks, and what cannot be had."""

from __future__ import annotations

import math

import pytest

from webapp.optics.distance_law import (
    change_with_distance_stops,
    distance_for_change_mm,
    five_times_rule_distance_mm,
    over_inverse_square_stops,
    ring_peak_distance_mm,
    ring_peak_relative_illuminance,
)
from webapp.optics.illuminance import relative_illuminance
from webapp.optics.sources import Disc, Point, Rectangle, Ring, Source

SHAPES: list[Source] = [Point(), Disc(600.0), Ring(120.0, 80.0), Ring(110.0, 110.0), Rectangle(300.0, 1200.0)]
RING = Ring(120.0, 80.0)


def test_a_point_keeps_to_inverse_square() -> None:
    assert over_inverse_square_stops(Point(), 123.0) == pytest.approx(0.0, abs=1e-12)
    assert change_with_distance_stops(Point(), 1000.0, 2000.0) == pytest.approx(-2.0)


def test_moving_there_and_back_changes_nothing() -> None:
    for source in SHAPES:
        there = change_with_distance_stops(source, 500.0, 120.0)
        assert there + change_with_distance_stops(source, 120.0, 500.0) == pytest.approx(0.0, abs=1e-12)


def test_a_ring_moved_nearer_inside_its_peak_gets_darker() -> None:
    peak_mm = ring_peak_distance_mm(RING)

    assert change_with_distance_stops(RING, peak_mm, 0.8 * peak_mm) < 0.0
    assert change_with_distance_stops(RING, 1.2 * peak_mm, peak_mm) > 0.0


def test_the_peak_of_a_ring_is_where_no_distance_near_by_gives_more() -> None:
    peak_mm = ring_peak_distance_mm(RING)

    at_peak = relative_illuminance(RING, peak_mm)

    assert at_peak == pytest.approx(ring_peak_relative_illuminance(RING), rel=1e-12)
    assert at_peak > relative_illuminance(RING, 0.99 * peak_mm)
    assert at_peak > relative_illuminance(RING, 1.01 * peak_mm)


def test_a_ring_without_a_hole_is_strongest_at_its_face() -> None:
    assert ring_peak_distance_mm(Ring(120.0, 0.0)) == 0.0


@pytest.mark.parametrize("source", SHAPES)
@pytest.mark.parametrize("change_stops", [-7.5, -1.0, 0.0, 0.3])
def test_the_distance_for_a_change_brings_that_change(source: Source, change_stops: float) -> None:
    distance_mm = distance_for_change_mm(source, 700.0, change_stops)

    assert change_with_distance_stops(source, 700.0, distance_mm) == pytest.approx(change_stops, abs=1e-9)


def test_the_distance_for_a_change_of_a_ring_is_outside_its_peak_also_from_inside() -> None:
    distance_mm = distance_for_change_mm(RING, 10.0, 0.0)

    assert distance_mm > ring_peak_distance_mm(RING)
    assert relative_illuminance(RING, distance_mm) == pytest.approx(relative_illuminance(RING, 10.0), rel=1e-9)


def test_a_ring_can_be_moved_right_to_its_peak() -> None:
    most_stops = change_with_distance_stops(RING, 200.0, ring_peak_distance_mm(RING))

    assert distance_for_change_mm(RING, 200.0, most_stops) == pytest.approx(ring_peak_distance_mm(RING), rel=1e-6)


def test_more_light_than_a_source_has_is_refused_with_what_it_has() -> None:
    with pytest.raises(ValueError, match=r"gains at most 2\.18 stops by distance alone; \+3\.00 stops need more"):
        distance_for_change_mm(RING, 200.0, 3.0)
    with pytest.raises(ValueError, match=r"gains at most 1\.00 stops"):
        distance_for_change_mm(Disc(600.0), 300.0, 1.5)


@pytest.mark.parametrize("change_stops", [math.nan, math.inf])
def test_a_change_that_is_no_number_is_refused(change_stops: float) -> None:
    with pytest.raises(ValueError, match="stops"):
        distance_for_change_mm(Point(), 1000.0, change_stops)


def test_a_change_that_needs_a_million_kilometres_is_refused() -> None:
    with pytest.raises(ValueError, match="turn its power down"):
        distance_for_change_mm(Point(), 1000.0, -80.0)


def test_the_five_times_rule_goes_by_the_largest_dimension() -> None:
    assert five_times_rule_distance_mm(Rectangle(300.0, 400.0)) == 2500.0
    assert five_times_rule_distance_mm(RING) == 600.0
    assert five_times_rule_distance_mm(Point()) == 0.0

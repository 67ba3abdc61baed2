"""Sources of a size: their shapes, and how large they look."""

from __future__ import annotations

import math

import pytest

from webapp.optics.sources import Disc, Rectangle, Ring, angular_size_deg, distance_for_angular_size_mm


def test_a_hole_larger_than_the_ring_is_refused_with_a_sentence() -> None:
    with pytest.raises(ValueError, match=r"The hole of 130 mm is larger than the ring of 120 mm"):
        Ring(120.0, 130.0)


@pytest.mark.parametrize("size_mm", [0.0, -1.0, math.nan, math.inf, 1e13])
def test_a_size_that_no_set_can_hold_is_refused(size_mm: float) -> None:
    with pytest.raises(ValueError, match="diameter of the disc"):
        Disc(size_mm)
    with pytest.raises(ValueError, match="diameter of the ring"):
        Ring(size_mm, 0.0)
    with pytest.raises(ValueError, match="height of the source"):
        Rectangle(100.0, size_mm)


def test_a_negative_hole_is_refused() -> None:
    with pytest.raises(ValueError, match="hole of the ring"):
        Ring(120.0, -1.0)


def test_a_source_moved_to_its_wanted_angular_size_has_it() -> None:
    distance_mm = distance_for_angular_size_mm(900.0, 41.0)

    assert angular_size_deg(900.0, distance_mm) == pytest.approx(41.0)


def test_a_softbox_at_the_same_ratio_of_size_to_distance_looks_the_same() -> None:
    assert angular_size_deg(600.0, 800.0) == pytest.approx(angular_size_deg(900.0, 1200.0))


@pytest.mark.parametrize("angle_deg", [0.0, 180.0, -10.0, math.nan])
def test_an_angular_size_that_cannot_be_had_is_refused(angle_deg: float) -> None:
    with pytest.raises(ValueError, match="lies between 0° and 180°"):
        distance_for_angular_size_mm(900.0, angle_deg)


def test_a_line_of_light_is_no_panel() -> None:
    with pytest.raises(ValueError, match="is a line, not a panel"):
        Rectangle(1e6, 1.0)

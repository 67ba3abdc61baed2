"""The light beside the axis, evenness, and falloff with the angle."""

from __future__ import annotations

import math

import pytest

from webapp.optics.falloff import evenness, flat_patch_falloff_stops, offset_stops, point_lamp_falloff_stops
from webapp.optics.sources import Disc, Point, Rectangle, Ring

RING = Ring(120.0, 80.0)


@pytest.mark.parametrize("offset_mm", [10_001.0, -10_001.0, math.nan, math.inf])
def test_an_offset_at_grazing_incidence_is_refused(offset_mm: float) -> None:
    with pytest.raises(ValueError, match="more than a hundred times the distance"):
        offset_stops(Disc(600.0), 100.0, offset_mm)


def test_an_offset_runs_along_the_width_unless_it_is_up() -> None:
    strip, turned = Rectangle(300.0, 1200.0), Rectangle(1200.0, 300.0)

    assert offset_stops(strip, 400.0, 500.0) == pytest.approx(offset_stops(turned, 400.0, 0.0, 500.0))
    assert offset_stops(strip, 400.0, 500.0) < offset_stops(turned, 400.0, 500.0)


def test_light_falls_to_the_side_of_a_disc_but_rises_to_the_side_close_to_a_ring() -> None:
    assert offset_stops(Disc(600.0), 600.0, 100.0) < 0.0
    assert offset_stops(RING, 49.0, 30.0) > 0.0


def test_evenness_is_the_brightest_less_the_darkest_place() -> None:
    map_of_light = evenness(Disc(600.0), 600.0, 200.0, 100.0)

    corner = offset_stops(Disc(600.0), 600.0, 100.0, 50.0)
    assert map_of_light.range_stops == pytest.approx(-corner, rel=1e-12)
    assert map_of_light.stops[0, 0] == pytest.approx(corner, rel=1e-12)
    assert map_of_light.stops[16, 16] == pytest.approx(0.0, abs=1e-12)


def test_the_map_has_its_rows_up_and_its_columns_across() -> None:
    map_of_light = evenness(Rectangle(300.0, 1200.0), 400.0, 600.0, 600.0, places_per_side=5)

    assert map_of_light.across_mm.tolist() == [-300.0, -150.0, 0.0, 150.0, 300.0]
    assert map_of_light.stops[2, 4] < map_of_light.stops[4, 2]


def test_a_map_of_one_place_is_refused() -> None:
    with pytest.raises(ValueError, match="at least two places"):
        evenness(Disc(600.0), 600.0, 200.0, 100.0, places_per_side=1)


@pytest.mark.parametrize("angle_deg", [90.0, -90.0, 120.0, math.nan])
def test_light_from_below_the_plane_is_refused(angle_deg: float) -> None:
    with pytest.raises(ValueError, match="below 90°"):
        point_lamp_falloff_stops(angle_deg)
    with pytest.raises(ValueError, match="below 90°"):
        flat_patch_falloff_stops(angle_deg)


def test_falloff_with_the_angle_is_that_of_the_point_and_of_a_very_small_disc() -> None:
    offset_mm = 1000.0 * math.tan(math.radians(30.0))

    assert point_lamp_falloff_stops(30.0) == pytest.approx(offset_stops(Point(), 1000.0, offset_mm))
    assert flat_patch_falloff_stops(-30.0) == pytest.approx(offset_stops(Disc(0.1), 1000.0, offset_mm), abs=1e-6)

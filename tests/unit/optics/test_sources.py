"""Sources of a size: shapes, domains, conventions and signs. Outside values are in tests/reference."""

from __future__ import annotations

import math

import numpy as np
import pytest

from webapp.optics.sources import (
    Disc,
    Point,
    Rectangle,
    Ring,
    Source,
    angular_size_deg,
    change_with_distance_stops,
    distance_for_angular_size_mm,
    distance_for_change_mm,
    evenness,
    five_times_rule_distance_mm,
    flat_patch_falloff_stops,
    illuminance_per_intensity,
    offset_stops,
    over_inverse_square_stops,
    point_lamp_falloff_stops,
    relative_illuminance,
    ring_peak_distance_mm,
    ring_peak_relative_illuminance,
)

SHAPES: list[Source] = [Point(), Disc(600.0), Ring(120.0, 80.0), Ring(110.0, 110.0), Rectangle(300.0, 1200.0)]
RING = Ring(120.0, 80.0)


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


@pytest.mark.parametrize("source", SHAPES)
@pytest.mark.parametrize("distance_mm", [0.0, -100.0, math.nan, math.inf])
def test_a_distance_that_is_none_is_refused_for_every_shape(source: Source, distance_mm: float) -> None:
    with pytest.raises(ValueError, match="distance to the source"):
        illuminance_per_intensity(source, distance_mm)


@pytest.mark.parametrize("offset_mm", [10_001.0, -10_001.0, math.nan, math.inf])
def test_an_offset_at_grazing_incidence_is_refused(offset_mm: float) -> None:
    with pytest.raises(ValueError, match="more than a hundred times the distance"):
        offset_stops(Disc(600.0), 100.0, offset_mm)


def test_an_array_with_one_bad_distance_is_refused() -> None:
    distances = np.array([100.0, math.nan, 300.0])

    with pytest.raises(ValueError, match="distance to the source"):
        relative_illuminance(Disc(600.0), distances)


def test_a_ring_without_a_hole_lights_like_the_disc() -> None:
    ring, disc = Ring(600.0, 0.0), Disc(600.0)

    for distance_mm, offset_mm in [(1.0, 0.0), (50.0, 299.0), (300.0, 300.0), (5000.0, 800.0)]:
        lit_by_ring = relative_illuminance(ring, distance_mm, offset_mm)
        assert lit_by_ring == pytest.approx(relative_illuminance(disc, distance_mm, offset_mm), rel=1e-12)


def test_a_ring_lights_like_its_disc_less_the_disc_of_its_hole() -> None:
    for distance_mm, offset_mm in [(10.0, 0.0), (49.0, 30.0), (20.0, 50.0), (100.0, 90.0)]:
        whole = relative_illuminance(Disc(120.0), distance_mm, offset_mm)
        hole = relative_illuminance(Disc(80.0), distance_mm, offset_mm)

        lit_by_ring = relative_illuminance(RING, distance_mm, offset_mm)

        assert lit_by_ring == pytest.approx(whole - hole, rel=1e-12)


def test_a_ring_grown_thin_meets_the_circle_of_light_on_and_off_the_axis() -> None:
    circle = Ring(110.0, 110.0)

    for offset_mm in (0.0, 20.0, 54.999, 55.0, 55.001, 90.0):
        thin = illuminance_per_intensity(Ring(110.0, 110.0 * (1 - 1e-7)), 40.0, offset_mm)
        assert thin == pytest.approx(illuminance_per_intensity(circle, 40.0, offset_mm), rel=1e-6)


def test_a_circle_of_light_has_no_area_and_so_no_relative_illuminance() -> None:
    assert relative_illuminance(Ring(110.0, 110.0), 100.0) == 0.0


def test_two_halves_of_a_panel_light_like_the_whole() -> None:
    half = Rectangle(300.0, 900.0)

    left, right = relative_illuminance(half, 500.0, 150.0), relative_illuminance(half, 500.0, -150.0)

    assert left + right == pytest.approx(relative_illuminance(Rectangle(600.0, 900.0), 500.0), rel=1e-12)


def test_an_offset_runs_along_the_width_unless_it_is_up() -> None:
    strip, turned = Rectangle(300.0, 1200.0), Rectangle(1200.0, 300.0)

    assert offset_stops(strip, 400.0, 500.0) == pytest.approx(offset_stops(turned, 400.0, 0.0, 500.0))
    assert offset_stops(strip, 400.0, 500.0) < offset_stops(turned, 400.0, 500.0)


def test_a_panel_seen_very_small_joins_the_corner_form_without_a_step() -> None:
    just_large, just_small = Rectangle(1.0, 1.0), Rectangle(0.999, 0.999)
    distance_mm = math.sqrt(2.0) * 9995.0

    step = illuminance_per_intensity(just_large, distance_mm, 50.0) / illuminance_per_intensity(
        just_small, distance_mm, 50.0
    )

    assert step == pytest.approx(1.0, abs=1e-7)


@pytest.mark.parametrize("source", SHAPES)
def test_arrays_give_what_single_places_give(source: Source) -> None:
    distances, offsets = np.array([40.0, 200.0, 3000.0]), np.array([55.0, -310.0, 20.0])

    together = illuminance_per_intensity(source, distances, offsets)

    one_by_one = [
        illuminance_per_intensity(source, float(d), float(a)) for d, a in zip(distances, offsets, strict=True)
    ]
    np.testing.assert_allclose(together, one_by_one, rtol=1e-13)


@pytest.mark.parametrize("source", SHAPES)
def test_long_arrays_and_maps_keep_their_shape_and_order(source: Source) -> None:
    distances = np.linspace(50.0, 2000.0, 9000)
    across, up = np.linspace(-100.0, 100.0, 120), np.linspace(-50.0, 50.0, 101)

    row = illuminance_per_intensity(source, distances, 10.0)
    field = illuminance_per_intensity(source, 400.0, across[np.newaxis, :], up[:, np.newaxis])

    assert np.shape(row) == (9000,)
    assert np.shape(field) == (101, 120)
    assert np.asarray(row)[8500] == pytest.approx(illuminance_per_intensity(source, float(distances[8500]), 10.0))
    assert np.asarray(field)[90, 7] == pytest.approx(
        illuminance_per_intensity(source, 400.0, float(across[7]), float(up[90]))
    )


def test_single_places_give_plain_floats() -> None:
    for source in SHAPES:
        assert type(illuminance_per_intensity(source, 100.0, 10.0)) is float


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


def test_the_five_times_rule_goes_by_the_largest_dimension() -> None:
    assert five_times_rule_distance_mm(Rectangle(300.0, 400.0)) == 2500.0
    assert five_times_rule_distance_mm(RING) == 600.0
    assert five_times_rule_distance_mm(Point()) == 0.0


def test_a_source_moved_to_its_wanted_angular_size_has_it() -> None:
    distance_mm = distance_for_angular_size_mm(900.0, 41.0)

    assert angular_size_deg(900.0, distance_mm) == pytest.approx(41.0)


def test_a_softbox_at_the_same_ratio_of_size_to_distance_looks_the_same() -> None:
    assert angular_size_deg(600.0, 800.0) == pytest.approx(angular_size_deg(900.0, 1200.0))


@pytest.mark.parametrize("angle_deg", [0.0, 180.0, -10.0, math.nan])
def test_an_angular_size_that_cannot_be_had_is_refused(angle_deg: float) -> None:
    with pytest.raises(ValueError, match="lies between 0° and 180°"):
        distance_for_angular_size_mm(900.0, angle_deg)


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


def test_a_line_of_light_is_no_panel() -> None:
    with pytest.raises(ValueError, match="is a line, not a panel"):
        Rectangle(1e6, 1.0)

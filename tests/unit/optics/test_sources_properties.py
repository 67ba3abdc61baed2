"""What holds for every source, at every distance."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from webapp.optics.distance_law import (
    change_with_distance_stops,
    distance_for_change_mm,
    over_inverse_square_stops,
    ring_peak_distance_mm,
)
from webapp.optics.falloff import offset_stops
from webapp.optics.illuminance import illuminance_per_intensity, relative_illuminance
from webapp.optics.sources import Disc, Panel, Point, Rectangle, Ring, Source

lengths = st.floats(1e-2, 1e7)
anything = st.floats(1e-7, 1e7)
holes = st.just(0.0) | st.floats(1e-5, 1.0)
proportions = st.floats(1.0001e-5, 0.9999e5)


def panels(sizes: st.SearchStrategy[float]) -> st.SearchStrategy[Panel]:
    rings = st.builds(lambda outer, part: Ring(outer, outer * part), sizes, holes)
    rectangles = st.builds(lambda width, proportion: Rectangle(width, width * proportion), sizes, proportions)
    return st.builds(Disc, sizes) | rectangles | rings


sources = st.just(Point()) | panels(lengths)


@given(panels(anything) | st.just(Point()), anything, st.floats(-100.0, 100.0), st.floats(-100.0, 100.0))
def test_light_stays_finite_and_above_nothing_at_every_extreme(
    source: Source, distance_mm: float, across: float, up: float
) -> None:
    light = illuminance_per_intensity(source, distance_mm, across * distance_mm, up * distance_mm)

    assert 0.0 < light < math.inf
    assert math.isfinite(offset_stops(source, distance_mm, across * distance_mm))


@given(panels(anything), anything, st.floats(-100.0, 100.0))
def test_no_panel_lights_more_than_a_sky_that_glows_all_over(panel: Panel, distance_mm: float, across: float) -> None:
    light = relative_illuminance(panel, distance_mm, across * distance_mm)

    assert 0.0 <= light <= 1.0 + 1e-12


@given(panels(st.floats(0.1, 1e4)), st.floats(10.0, 1e3))
def test_from_far_away_every_shape_meets_inverse_square_to_a_hundredth_of_a_stop(
    panel: Panel, distance_in_sizes: float
) -> None:
    distance_mm = panel.largest_dimension_mm * distance_in_sizes

    assert -0.01 < over_inverse_square_stops(panel, distance_mm) <= 1e-9


@given(sources, lengths)
def test_near_by_no_shape_gives_more_than_inverse_square_promises(source: Source, distance_mm: float) -> None:
    assert over_inverse_square_stops(source, distance_mm) <= 1e-9


@given(
    st.just(Point()) | st.builds(Disc, lengths) | st.builds(Rectangle, st.floats(1.0, 1e5), st.floats(1.0, 1e5)),
    lengths,
    lengths,
)
def test_a_source_without_a_hole_never_gets_brighter_when_moved_away(
    source: Source, one: float, other: float
) -> None:
    near_mm, far_mm = sorted((one, other))

    assert change_with_distance_stops(source, near_mm, far_mm) <= 1e-12


@given(lengths, st.floats(0.001, 1.0), st.floats(1.0, 1e3), st.floats(1.0, 1e3))
def test_a_ring_falls_off_on_both_sides_of_its_peak(outer: float, part: float, one: float, other: float) -> None:
    ring = Ring(outer, outer * part)
    peak_mm = ring_peak_distance_mm(ring)
    nearer, further = sorted((one, other))

    assert change_with_distance_stops(ring, peak_mm * nearer, peak_mm * further) <= 1e-9
    assert change_with_distance_stops(ring, peak_mm / nearer, peak_mm / further) <= 1e-9


@given(lengths, lengths, st.floats(-5.0, 5.0))
def test_a_ring_without_a_hole_is_the_disc_everywhere(diameter: float, distance_mm: float, across: float) -> None:
    as_ring = illuminance_per_intensity(Ring(diameter, 0.0), distance_mm, across * distance_mm)
    as_disc = illuminance_per_intensity(Disc(diameter), distance_mm, across * distance_mm)

    assert math.isclose(as_ring, as_disc, rel_tol=1e-9)


@given(panels(st.floats(1.0, 1e4)), st.floats(1.0, 1e4), st.floats(-3.0, 3.0), st.floats(0.1, 10.0))
def test_light_depends_on_proportions_alone(panel: Panel, distance_mm: float, across: float, scale: float) -> None:
    scaled: Panel
    if isinstance(panel, Disc):
        scaled = Disc(panel.diameter_mm * scale)
    elif isinstance(panel, Ring):
        scaled = Ring(panel.diameter_mm * scale, panel.inner_diameter_mm * scale)
    else:
        scaled = Rectangle(panel.width_mm * scale, panel.height_mm * scale)

    before = relative_illuminance(panel, distance_mm, across * distance_mm)
    after = relative_illuminance(scaled, distance_mm * scale, across * distance_mm * scale)

    assert math.isclose(before, after, rel_tol=1e-7, abs_tol=1e-13)


@given(sources, st.floats(1.0, 1e5), st.floats(1.0, 1e5), st.floats(1.0, 1e5))
def test_changes_add_up_along_the_way(source: Source, first: float, second: float, third: float) -> None:
    in_steps = change_with_distance_stops(source, first, second) + change_with_distance_stops(source, second, third)

    assert math.isclose(in_steps, change_with_distance_stops(source, first, third), abs_tol=1e-9)


@given(panels(st.floats(1.0, 1e4)), st.floats(10.0, 1e4), st.floats(-10.0, 0.0))
def test_less_light_can_always_be_had_by_moving_away(panel: Panel, from_mm: float, change_stops: float) -> None:
    to_mm = distance_for_change_mm(panel, from_mm, change_stops)

    assert math.isclose(change_with_distance_stops(panel, from_mm, to_mm), change_stops, abs_tol=1e-6)

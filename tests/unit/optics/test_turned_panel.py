"""Panels turned any way: against the forms for parallel planes, against integration over the panel, and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate

from webapp.optics.arrays import Floats
from webapp.optics.copy_pair import CopyPair, best_bearing, light_map
from webapp.optics.feathering import light_across, most_even_turn_deg
from webapp.optics.illuminance import illuminance_per_intensity
from webapp.optics.sources import Rectangle
from webapp.optics.turned_panel import TurnedPanel, light_on_faces


def integrated(panel: TurnedPanel, place: Floats, normal: Floats) -> float:
    """The two cosines over the square of the way, summed over the panel by quadrature: the definition, and no edge."""
    corners = panel.corners

    def element(across: float, up: float) -> float:
        spot = corners[0] + across * (corners[1] - corners[0]) + up * (corners[3] - corners[0])
        way = spot - place
        square = float(way @ way)
        return float((way @ normal) * -(way @ panel.axis)) / square**2

    value, _ = integrate.dblquad(element, 0, 1, 0, 1, epsabs=1e-12)
    return float(value)


def test_parallel_it_is_the_light_of_a_rectangle() -> None:
    panel = TurnedPanel((0.0, 0.0, 700.0), (0.0, 0.0, -1.0), 600.0, 300.0, up=(0.0, 1.0, 0.0))
    places = np.array([[0.0, 0.0, 0.0], [150.0, 80.0, 0.0], [900.0, -400.0, 0.0]])

    light = light_on_faces(panel, places, np.broadcast_to((0.0, 0.0, 1.0), places.shape))

    # Howell's catalogue, by the corners of the rectangle.
    expected = [illuminance_per_intensity(Rectangle(600.0, 300.0), 700.0, x, y) for x, y, _ in places]
    assert light == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize("turn", [0.0, 25.0, 60.0])
def test_turned_it_is_the_sum_over_the_panel(turn: float) -> None:
    angle = math.radians(200.0 + turn)
    panel = TurnedPanel((500.0, 800.0, 120.0), (math.sin(angle), math.cos(angle), -0.1), 400.0, 600.0)
    normal = np.array([0.2, 0.9, 0.1]) / math.sqrt(0.86)
    for place in (np.array([0.0, 0.0, 0.0]), np.array([-200.0, 50.0, 100.0])):
        light = light_on_faces(panel, place, normal)[0]
        assert light == pytest.approx(integrated(panel, place, normal), rel=1e-6)


def test_far_away_it_is_two_cosines_over_the_square_of_the_distance() -> None:
    panel = TurnedPanel((3000.0, 4000.0, 0.0), (-1.0, 0.0, 0.0), 0.1, 0.1)

    light = light_on_faces(panel, np.zeros(3), np.array([0.0, 1.0, 0.0]))[0]

    # 3, 4, 5: cosines of 3/5 at the panel and 4/5 at the face.
    assert light == pytest.approx(0.6 * 0.8 / 5000.0**2, rel=1e-9)


def test_behind_the_panel_is_dark_and_a_panel_behind_the_face_is_refused() -> None:
    panel = TurnedPanel((0.0, 500.0, 0.0), (0.0, 1.0, 0.0), 100.0, 100.0)
    assert light_on_faces(panel, np.zeros(3), np.array([0.0, 1.0, 0.0]))[0] == 0.0

    beside = TurnedPanel((300.0, 10.0, 0.0), (-1.0, 0.0, 0.0), 100.0, 100.0)
    with pytest.raises(ValueError, match="stands behind the face"):
        light_on_faces(beside, np.zeros(3), np.array([0.0, 1.0, 0.0]))


def test_a_pair_of_small_lights_at_45_degrees_worked_by_hand() -> None:
    # Lights at (± 1, 1) m. Middle: each cos 45° / 2 = 0.353553. Half a metre to the right: from the right
    # 0.948683 · 0.894427 / 1.25 = 0.678823, from the left 0.980581 · 0.554700 / 3.25 = 0.167363; log2 of the sums 0.2590.
    pair = CopyPair(45.0, 1000.0 * math.sqrt(2.0), 0.01, 0.01)

    found = light_map(pair, 1000.0, 1.0, 3, 3)

    assert found.stops[1, 2] == pytest.approx(math.log2((0.678823 + 0.167363) / 0.707107), abs=1e-5)
    assert found.stops[1, 0] == pytest.approx(found.stops[1, 2])
    assert found.stops[1, 1] == 0.0


def test_the_best_angle_is_no_worse_than_any_other_that_is_clear() -> None:
    pair = CopyPair(45.0, 1500.0, 400.0, 400.0)

    best = best_bearing(pair, 600.0, 400.0, 33.0)

    others = [light_map(CopyPair(float(each), 1500.0, 400.0, 400.0), 600.0, 400.0, 5, 5) for each in range(33, 75, 6)]
    assert best.bearing_deg >= 33.0
    assert all(best.range_stops <= each.range_stops + 1e-12 for each in others)


@pytest.mark.parametrize("turn", [0.0, 30.0, 60.0])
def test_the_light_across_a_row_is_the_sum_over_the_panel(turn: float) -> None:
    row = light_across(600.0, 900.0, 1200.0, 60.0, 600.0, turn)

    stand, looks = math.radians(60.0), math.radians(240.0 + turn)
    panel = TurnedPanel(
        (1200.0 * math.sin(stand), 1200.0 * math.cos(stand), 0.0),
        (math.sin(looks), math.cos(looks), 0.0),
        600.0,
        900.0,
    )
    ends = [integrated(panel, np.array([x, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])) for x in (-300.0, 300.0)]
    assert [row.light[0], row.light[-1]] == pytest.approx(ends, rel=1e-6)
    assert row.fall_stops == pytest.approx(math.log2(row.light.max() / row.light.min()))


def test_turned_past_the_row_is_lit_more_evenly_and_less() -> None:
    aimed, turned = (light_across(600.0, 900.0, 1200.0, 60.0, 600.0, each) for each in (0.0, 50.0))
    best = most_even_turn_deg(600.0, 900.0, 1200.0, 60.0, 600.0)

    assert turned.fall_stops < aimed.fall_stops
    assert turned.middle < aimed.middle
    assert light_across(600.0, 900.0, 1200.0, 60.0, 600.0, best).fall_stops <= turned.fall_stops

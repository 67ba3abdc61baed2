"""Fields, softness, ambient light and sweeps against tabulated values, by hand, and by another road."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, optimize

from webapp.optics.ambient_margin import margin
from webapp.optics.framing import angle_of_view_deg, sensor_to_subject_mm
from webapp.optics.softness import distance_for_penumbra_mm, width_for_angle_mm, width_for_penumbra_mm
from webapp.optics.sources import angular_size_deg
from webapp.optics.sweep import Sweep, View, light_along, seen


@pytest.mark.parametrize(
    ("side", "focal_length", "angle"),
    # Tables of angles of view for 36 × 24 mm, as makers print them (common practice, to a tenth of a degree).
    [
        (36, 24, 73.7),
        (36, 35, 54.4),
        (36, 50, 39.6),
        (24, 50, 27.0),
        (36, 85, 23.9),
        (36, 100, 20.4),
        (24, 200, 6.87),
    ],
)
def test_angles_of_view_are_the_tabulated_ones(side: float, focal_length: float, angle: float) -> None:
    assert angle_of_view_deg(side, focal_length) == pytest.approx(angle, abs=0.051)


def test_life_size_is_four_focal_lengths_from_the_sensor() -> None:
    # The shortest there is, by the thin lens (every textbook).
    assert sensor_to_subject_mm(100.0, 1.0) == 400.0
    assert sensor_to_subject_mm(100.0, 1.0, -0.0 + 12.0) == 412.0


def test_close_up_the_angle_narrows_as_the_lens_moves_out() -> None:
    # At life size the sensor lies two focal lengths behind the lens: that of the double focal length far away.
    assert angle_of_view_deg(36.0, 50.0, 1.0) == pytest.approx(angle_of_view_deg(36.0, 100.0))


def test_a_light_three_wide_for_two_of_distance_looks_as_the_triangle_says() -> None:
    # Half of it is 3 against 4: 36.87° each side, the triangle of 3, 4 and 5.
    assert width_for_angle_mm(400.0, 73.73979529) == pytest.approx(600.0, abs=1e-6)
    assert angular_size_deg(width_for_angle_mm(900.0, 40.0), 900.0) == pytest.approx(40.0)


def test_the_soft_edge_is_what_both_ends_of_the_light_draw() -> None:
    # By two straight lines through the edge of the object, from both ends of the light.
    width, distance, behind = width_for_penumbra_mm(50.0, 800.0, 125.0), 800.0, 125.0

    ends = [-end * behind / distance for end in (-width / 2.0, width / 2.0)]

    assert abs(ends[0] - ends[1]) == pytest.approx(50.0)
    assert distance_for_penumbra_mm(50.0, width, behind) == pytest.approx(distance)


@pytest.mark.parametrize(
    ("ambient", "sync", "wanted", "tv", "rest"),
    # Counted on the full-stop series of ISO 516, 1/30 being 5 and 1/250 8: 30, 60, 125, 250.
    [(5, 8, 2, 7, 0), (5, 8, 3, 8, 0), (5, 8, 5, 8, 2), (9, 8, 0, 8, 1), (5, 8, -1, 4, 0)],
)
def test_the_shutter_goes_to_the_sync_speed_and_no_further(
    ambient: float, sync: float, wanted: float, tv: float, rest: float
) -> None:
    found = margin(ambient, sync, wanted)

    assert (found.tv, found.rest_stops, found.by_shutter_stops) == (tv, rest, tv - ambient)


SHEET, LENS = Sweep(300.0, 400.0), View(1500.0, 500.0, 150.0, 600.0, 400.0)


def test_the_view_meets_the_table_where_a_triangle_says() -> None:
    # Looking down by atan(350/1500), the field of 400 at the way of √(350² + 1500²): the lower edge, by its slope.
    down = math.atan(350 / 1500) + math.atan(200 / math.hypot(350, 1500))

    assert seen(SHEET, LENS).front_mm == pytest.approx(500 / math.tan(down) - 1500)


def test_the_view_meets_the_curve_where_its_line_crosses_a_circle() -> None:
    found = seen(SHEET, LENS)
    rise = -math.atan(350 / 1500) + math.atan(200 / math.hypot(350, 1500))

    def off(back: float) -> float:
        line = 500 + math.tan(rise) * (1500 + back)
        return (back - 300) ** 2 + (line - 400) ** 2 - 400**2

    back = optimize.brentq(off, 400, 700)
    assert found.back_mm == pytest.approx(back, abs=1e-6)
    assert found.height_mm == pytest.approx(500 + math.tan(rise) * (1500 + back), abs=1e-6)


def test_along_the_curve_is_its_length() -> None:
    steps = np.linspace(0.0, SHEET.behind_mm + SHEET.arc_mm, 20_001)
    places = np.array([SHEET.place(each) for each in steps])

    assert np.linalg.norm(np.diff(places, axis=0), axis=1).sum() == pytest.approx(300 + math.pi * 200, rel=1e-6)


def test_the_light_at_the_top_of_the_view_is_the_sum_over_the_panel() -> None:
    found = seen(SHEET, LENS)
    light = light_along(SHEET, found, 1200.0, 100.0, 900.0, 600.0)
    forward, up = SHEET.normal(found.top_mm)

    def element(x: float, y: float) -> float:
        way = np.array([x, y + found.back_mm, 1200.0 - found.height_mm])
        return float((way[1] * forward + way[2] * up) * way[2] / (way @ way) ** 2)

    total, _ = integrate.dblquad(element, -200.0, 400.0, -450.0, 450.0, epsabs=1e-12)
    assert light.at_top == pytest.approx(total / (900.0 * 600.0), rel=1e-6)


def test_a_light_in_the_picture_is_refused() -> None:
    with pytest.raises(ValueError, match="in the picture"):
        light_along(SHEET, seen(SHEET, LENS), 250.0, 0.0, 900.0, 600.0)

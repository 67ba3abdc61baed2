"""What a flat glossy subject mirrors, at any tilt: by hand, and by rays sent out from the light."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.optics.arrays import Floats
from webapp.optics.mirrored import barred_bearings, mirrored_bearing_deg, mirrored_bearings
from webapp.optics.shadows import family_of_angles


def _cross(one: Floats, other: Floats) -> float:
    return float(one[0] * other[1] - one[1] * other[0])


def test_square_on_the_edge_is_that_of_a_triangle_worked_by_hand() -> None:
    # From the lens's mirror image 1 m behind, through the edge 0.2 m out: x = 0.2 + 0.2 y on the circle x² + y² = 1 gives
    # y = 12/13 and x = 5/13 of a metre, the triangle of 5, 12 and 13.
    seen = mirrored_bearings(400.0, 1000.0, 1000.0)

    assert seen.to_deg == pytest.approx(math.degrees(math.atan2(5, 12)), abs=1e-9)
    assert seen.from_deg == pytest.approx(-seen.to_deg)


def test_it_agrees_with_the_family_in_a_plane_where_that_is_met() -> None:
    in_plane = family_of_angles(200.0, 1000.0, 800.0, 15.0)

    for along, x in ((-100.0, in_plane.from_mm), (100.0, in_plane.to_mm)):
        # The same ray, followed to the place in that plane.
        r = math.hypot(x, 800.0)
        assert mirrored_bearing_deg(along, 1000.0, r, 15.0) == pytest.approx(math.degrees(math.atan2(x, 800.0)))


@pytest.mark.parametrize("tilt", [0.0, 20.0, 44.9, 45.1, 70.0, 89.0])
def test_a_ray_from_there_is_mirrored_into_the_lens(tilt: float) -> None:
    # The other way round: the angles of light and lens with the face's normal, from the law of reflection alone.
    for along in (-150.0, 0.0, 90.0):
        bearing = math.radians(mirrored_bearing_deg(along, 1000.0, 700.0, tilt))
        a = math.radians(tilt)
        place = np.array([along * math.cos(a), -along * math.sin(a)])
        normal = np.array([math.sin(a), math.cos(a)])
        to_light = 700.0 * np.array([math.sin(bearing), math.cos(bearing)]) - place
        to_lens = np.array([0.0, 1000.0]) - place
        halfway = to_light / np.linalg.norm(to_light) + to_lens / np.linalg.norm(to_lens)
        assert abs(_cross(halfway / np.linalg.norm(halfway), normal)) < 1e-9


@given(st.floats(0.0, 85.0), st.floats(50.0, 500.0), st.floats(600.0, 3000.0))
def test_a_clear_light_lies_outside_of_what_is_mirrored(tilt: float, width: float, distance: float) -> None:
    clear = barred_bearings(width, 1500.0, distance, 300.0, tilt).to_deg

    assert clear > mirrored_bearings(width, 1500.0, distance, tilt).to_deg
    assert clear > barred_bearings(width, 1500.0, distance, 100.0, tilt).to_deg


def test_a_wider_light_has_to_go_further_out() -> None:
    # Its near edge just out of the family of the original: the line through it and the original's edge goes to the mirror
    # image of the lens. Corner of the light by hand: on the circle of √(r² + b²/4), half the light's angle further in.
    bearing = math.radians(barred_bearings(400.0, 1000.0, 1000.0, 600.0).to_deg)
    centre = 1000.0 * np.array([math.sin(bearing), math.cos(bearing)])
    near_edge = centre - 300.0 * np.array([math.cos(bearing), -math.sin(bearing)])

    image, edge = np.array([0.0, -1000.0]), np.array([200.0, 0.0])
    assert abs(_cross(near_edge - image, edge - image)) < 1e-6


@pytest.mark.parametrize("tilt", [90.0, -90.0, 120.0])
def test_from_ninety_degrees_on_nothing_is_mirrored(tilt: float) -> None:
    with pytest.raises(ValueError, match="from 90° on"):
        mirrored_bearings(200.0, 1000.0, 1000.0, tilt)


def test_a_light_inside_of_the_subject_is_refused() -> None:
    with pytest.raises(ValueError, match="reaches out to the light"):
        mirrored_bearings(200.0, 1000.0, 90.0)

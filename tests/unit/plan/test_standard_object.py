"""The rays that meet the card's test object, against places walked along the way and similar triangles, and the sparing
of rays against casting all of them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.optics.sources import Disc, Point
from webapp.plan.positions import Place, Position
from webapp.plan.shadow_card import irradiance
from webapp.plan.staging import PlanLight
from webapp.plan.standard_object import TABLE_Z, Around, Part, ball, may_shade, meets, steps

UNIT_MM = 50.0
UP = np.array([[0.0, 0.0, 1.0]])
near = st.tuples(*(st.floats(-3.0, 3.0) for _ in range(3)))
far = st.tuples(st.floats(-30.0, 30.0), st.floats(-30.0, 30.0), st.floats(0.0, 30.0))


def inside(part: Part, places: np.ndarray[tuple[int, ...], np.dtype[np.float64]], room: float) -> bool:
    """Whether one of the places lies within a part of the object, by `room` at least."""
    if part == "ball":
        return bool(np.any(np.linalg.norm(places - [-1.0, 0.0, 0.0], axis=1) < 1.0 - room))
    x, y, z = places.T
    return any(
        bool(
            np.any((x > left + room) & (x < right - room) & (np.abs(y) < 0.6 - room) & (z > -1.0) & (z < top - room))
        )
        for left, right, top in ((0.5, 1.0, -0.5), (1.0, 1.5, 0.0), (1.5, 2.0, 0.5))
    )


def walked(start: tuple[float, ...], end: tuple[float, ...]) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    part = np.linspace(0.0, 1.0, 2001)[1:, np.newaxis]
    return np.array(start) + part * (np.array(end) - np.array(start))


@pytest.mark.parametrize("part", ["ball", "steps"])
@given(start=near, end=far)
def test_a_way_that_runs_through_a_part_meets_it(
    part: Part, start: tuple[float, float, float], end: tuple[float, float, float]
) -> None:
    places = walked(start, end)
    starts, ways = np.array(start)[:, np.newaxis], (np.array(end) - np.array(start))[:, np.newaxis]

    met = bool(meets(part, starts, ways)[0])

    begins_within = inside(part, np.array([start]), -1e-6)
    if inside(part, places, 1e-3) and not begins_within:
        assert met
    if met:
        assert inside(part, places, -0.05)


@pytest.mark.parametrize("part", ["ball", "steps"])
@given(start=near, middle=far, off=near, radius=st.floats(0.0, 12.0))
def test_no_place_is_spared_whose_ray_to_the_face_meets_something(
    part: Part,
    start: tuple[float, float, float],
    middle: tuple[float, float, float],
    off: tuple[float, float, float],
    radius: float,
) -> None:
    length = math.hypot(*off)
    target = np.array(middle) + np.array(off) * (radius / length if length > 1e-6 else 0.0)
    starts = np.array(start, dtype=np.float32)[:, np.newaxis]

    spared = not may_shade(part, starts, Around(middle, radius))[0]

    if spared:
        assert not inside(part, walked(start, tuple(target)), 0.0)


def test_far_from_the_way_to_a_small_light_no_ray_is_cast() -> None:
    places = np.array([[6.0, 0.0, -1.0], [-2.5, 0.0, -1.0]], dtype=np.float32).T
    light = Around((10.0, 0.0, 4.0), 0.5)

    assert may_shade("ball", places, light).tolist() == [False, True]


def test_a_ray_straight_at_the_ball_meets_it_at_its_front() -> None:
    eye, way = np.array([[-1.0], [-14.0], [0.0]]), np.array([[0.0], [1.0], [0.0]])

    assert ball(eye, way)[0] == pytest.approx(13.0)


def test_a_ray_from_above_meets_the_top_of_the_middle_step() -> None:
    eye, way = np.array([[1.25], [0.0], [5.0]]), np.array([[0.0], [0.0], [-1.0]])

    part, normal = steps(eye, way)

    assert part[0] == pytest.approx(5.0)
    assert normal[:, 0].tolist() == [0.0, 0.0, 1.0]


def lamp(at: Place, source: Disc | Point) -> PlanLight:
    return PlanLight("A", "key A", "key", True, source, Position(at))


def test_the_shadow_of_the_highest_step_ends_where_similar_triangles_say() -> None:
    front, high = 20.0, 6.5
    light = lamp(Place(1.75 * UNIT_MM, -front * UNIT_MM, high * UNIT_MM), Point())
    end = 0.6 + (0.5 - TABLE_Z) * (0.6 + front) / (high - 0.5)

    within, beyond = irradiance(
        light, np.array([[1.75, end - 0.02, TABLE_Z], [1.75, end + 0.02, TABLE_Z]]), np.vstack((UP, UP)), UNIT_MM
    )

    assert within == 0.0
    assert beyond > 0.0


@pytest.mark.parametrize("along", [1.2, 1.8, 2.4, 3.2])
def test_in_the_penumbra_of_the_ball_the_light_is_that_of_the_part_of_the_face_in_sight(along: float) -> None:
    """Against a disc of 40,000 places, each seen or hidden by its distance from the way."""
    source, middle = Disc(300.0), np.array([-1.0, -12.0, 9.0])
    light = lamp(Place(*(middle * UNIT_MM)), source)
    place = np.array([-1.0, along, TABLE_Z + 1e-4])
    normal = -middle / np.linalg.norm(middle)
    across = np.cross([0.0, 0.0, 1.0], normal)
    across /= np.linalg.norm(across)
    side = (np.arange(200) + 0.5) / 100.0 - 1.0
    u, v = (each.ravel() for each in np.meshgrid(side, side))
    within = u**2 + v**2 <= 1.0
    radius = source.diameter_mm / 2.0 / UNIT_MM
    spots = middle + radius * (u[within, None] * across + v[within, None] * np.cross(normal, across))
    ways = spots - place
    to = np.array([-1.0, 0.0, 0.0]) - place
    foot = np.clip((ways @ to) / np.einsum("pi,pi->p", ways, ways), 0.0, 1.0)
    seen = np.linalg.norm(to - foot[:, None] * ways, axis=1) > 1.0
    given_here = ways[:, 2] * -(ways @ normal) / np.einsum("pi,pi->p", ways, ways) ** 2
    expected = float((given_here * seen).mean()) / UNIT_MM**2

    found = float(irradiance(light, place[np.newaxis, :], UP, UNIT_MM)[0])

    assert found == pytest.approx(expected, abs=0.03 * float(given_here.mean()) / UNIT_MM**2)

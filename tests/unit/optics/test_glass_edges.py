"""Rays through round glass: against the focal length of a rod, a trace by vectors, and the limits of the wall."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.optics.arrays import Floats
from webapp.optics.glass_edges import Glass, dark_edge_mm, field_for_edge_mm, meets_field_mm, ray_through


def _next_wall(place: Floats, way: Floats, radius: float) -> float:
    """How far to the circle of this radius; without end where it is missed."""
    inward = float(place @ way)
    inside = inward**2 - float(place @ place) + radius**2
    if inside <= 0.0:
        return math.inf
    ways = [each for each in (-inward - math.sqrt(inside), -inward + math.sqrt(inside)) if each > 1e-9]
    return min(ways, default=math.inf)


def traced(glass: Glass, x: float) -> tuple[Floats, Floats]:
    """The ray from wall to wall, bent by Snell's law as vectors: where it leaves and which way it goes."""
    place, way, here = np.array([x, -10.0 * glass.radius_mm]), np.array([0.0, 1.0]), 1.0
    for _ in range(8):
        walls = {radius: _next_wall(place, way, radius) for radius in (glass.radius_mm, glass.inner_radius_mm)}
        radius = min(walls, key=walls.__getitem__)
        if not math.isfinite(walls[radius]):
            return place, way
        place = place + walls[radius] * way
        outwards = place / radius
        leaving = float(way @ outwards) > 0.0
        other = {
            (True, glass.radius_mm): 1.0,
            (False, glass.radius_mm): glass.index,
            (True, glass.inner_radius_mm): glass.index,
            (False, glass.inner_radius_mm): glass.inside_index,
        }[leaving, radius]
        normal = outwards if leaving else -outwards
        cosine, ratio = float(way @ normal), here / other
        square = 1.0 - ratio**2 * (1.0 - cosine**2)
        if square < 0.0:
            way = way - 2.0 * cosine * normal
        else:
            way = ratio * way + (math.sqrt(square) - ratio * cosine) * normal
            here = other
    raise AssertionError("The ray goes round and round.")


def test_a_rod_has_the_focal_length_of_the_books() -> None:
    # A ball or rod of index n focuses at n R / (2 (n − 1)) from its middle: 1.5 R for 1.5 (ball lens, every catalogue).
    rod = Glass(20.0, 5.0, 1.5, 1.5)

    ray = ray_through(rod, 0.001)

    assert 0.001 / math.tan(math.radians(ray.turn_deg)) == pytest.approx(15.0, rel=1e-6)
    assert meets_field_mm(rod, 0.001, 15.0) == pytest.approx(0.0, abs=1e-8)


def test_an_empty_tube_spreads_the_light_by_its_wall() -> None:
    # Two thin surfaces of each wall: 1/f = (2 (n − 1) / n) (1/R − 1/q), which is below nothing.
    tube = Glass(70.0, 2.0, 1.52, 1.0)

    turn = math.tan(math.radians(ray_through(tube, 0.001).turn_deg))

    assert turn / 0.001 == pytest.approx(2.0 * 0.52 / 1.52 * (1.0 / 35.0 - 1.0 / 33.0), rel=1e-6)


@pytest.mark.parametrize("inside", [1.0, 1.33, 1.52])
@pytest.mark.parametrize("x", [1.0, 12.0, 25.0, 30.0, 32.5, 33.5, 34.5, 34.95])
def test_it_is_the_ray_traced_from_wall_to_wall(inside: float, x: float) -> None:
    glass = Glass(70.0, 2.0, 1.52, inside)

    leaving = ray_through(glass, x)
    place, way = traced(glass, x)

    assert (leaving.x_mm, leaving.y_mm) == pytest.approx((place[0], place[1]), abs=1e-7)
    assert leaving.turn_deg == pytest.approx(math.degrees(math.atan2(-way[0], way[1])), abs=1e-7)


@given(st.floats(2.5, 25.0), st.floats(50.0, 600.0))
def test_a_field_made_for_an_edge_gives_that_edge(edge: float, distance: float) -> None:
    glass = Glass(70.0, 2.0)

    width = field_for_edge_mm(glass, distance, edge)

    # Beyond the place where the field ends the glass is dark.
    assert dark_edge_mm(glass, distance, width) == pytest.approx(edge, abs=0.2)


def test_a_narrower_field_makes_a_wider_edge() -> None:
    glass = Glass(70.0, 2.0)
    edges = [dark_edge_mm(glass, 300.0, width) for width in (400.0, 200.0, 120.0, 80.0)]

    assert edges == sorted(edges)
    assert edges[0] < edges[-1]


def test_water_in_it_makes_a_lens_of_the_glass() -> None:
    assert meets_field_mm(Glass(70.0, 2.0, 1.52, 1.33), 20.0, 300.0) > 2.0 * meets_field_mm(
        Glass(70.0, 2.0), 20.0, 300.0
    )

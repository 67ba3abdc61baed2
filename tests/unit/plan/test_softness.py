"""Shadows and what softens them, against similar triangles, rays and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from tests.unit.plan.lights import background, light
from webapp.optics import falloff, shadows
from webapp.optics.sources import Disc, Ring
from webapp.plan.positions import ORIGIN, Place, Position, Thing
from webapp.plan.softness import ring_fills_in_mm, shadow
from webapp.plan.staging import Plan


def test_a_penumbra_on_a_parallel_background_is_that_of_similar_triangles() -> None:
    plan = Plan((light("A", Place(0.0, -1000.0, 0.0), Disc(600.0)),), (background(100.0),))

    found = shadow(plan, plan.lights[0], "background")

    assert found is not None
    assert found.penumbra_mm == pytest.approx(shadows.penumbra_mm(600.0, 1000.0, 100.0), rel=1e-9)


def test_on_the_lens_axis_the_shadow_hides_behind_the_subject() -> None:
    plan = Plan((light("A", Place(0.0, -700.0, 0.0), Disc(100.0)),), (background(200.0),))

    found = shadow(plan, plan.lights[0], "background")

    assert found is not None
    assert found.shift_mm == pytest.approx(0.0, abs=1e-9)


def test_beside_the_axis_the_shadow_moves_by_similar_triangles() -> None:
    plan = Plan((light("A", Place(500.0, -750.0, 0.0), Disc(100.0)),), (background(50.0),))

    found = shadow(plan, plan.lights[0], "background")

    assert found is not None
    assert found.shift_mm == pytest.approx(shadows.displacement_mm(500.0, 750.0, 50.0), rel=1e-9)


def test_a_ring_around_the_lens_draws_a_halo() -> None:
    camera = Thing("camera", "camera", Position(Place(0.0, -300.0, 0.0)), 0.0, 0.0)
    plan = Plan((light("A", Place(0.0, -300.0, 0.0), Ring(150.0, 60.0)),), (background(60.0), camera))

    found = shadow(plan, plan.lights[0], "background")

    assert found is not None
    assert found.halo_mm == pytest.approx((6.0, 15.0))


def test_a_shadow_on_the_table_spreads_as_rays_over_its_edge_say() -> None:
    subject = Thing("subject", "subject", Position(ORIGIN), 60.0, 100.0, 60.0)
    plan = Plan((light("A", Place(0.0, -600.0, 450.0), Disc(200.0)),), (subject,))

    found = shadow(plan, plan.lights[0], "support")

    # Rays through the top (0, 0, 50) from the face's highest and lowest place to the table at -50.
    normal = np.array([0.0, 600.0, -450.0]) / 750.0
    up = np.cross(normal, np.cross([0.0, 0.0, 1.0], normal) / 0.8)
    ends = []
    for sign in (-1.0, 1.0):
        start = np.array([0.0, -600.0, 450.0]) + sign * 100.0 * up
        ends.append(start[1] * (50.0 + 50.0) / (50.0 - start[2]))
    assert found is not None
    assert found.penumbra_mm == pytest.approx(abs(ends[0] - ends[1]), rel=1e-3)


@given(st.floats(60.0, 400.0), st.floats(0.05, 0.95))
def test_a_ring_fills_in_where_its_middle_stops_being_a_dark_spot(diameter_mm: float, hole: float) -> None:
    ring = Ring(diameter_mm, hole * diameter_mm)
    distance_mm = ring_fills_in_mm(ring)
    aside_mm = diameter_mm * 0.01

    nearer = falloff.offset_stops(ring, distance_mm * 0.97, aside_mm)
    further = falloff.offset_stops(ring, distance_mm * 1.03, aside_mm)

    assert nearer > 0.0 > further


def test_a_ring_is_even_in_its_middle_at_the_distance_that_is_told() -> None:
    ring = Ring(120.0, 100.0)

    flat = minimize_scalar(
        lambda d: abs(falloff.offset_stops(ring, d, 1.0)), bounds=(60.0, 100.0), method="bounded"
    ).x

    assert ring_fills_in_mm(ring) == pytest.approx(flat, rel=1e-3)

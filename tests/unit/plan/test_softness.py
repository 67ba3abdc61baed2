"""What a ring fills in, against its own light beside the axis."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from webapp.optics import falloff
from webapp.optics.sources import Ring
from webapp.plan.softness import ring_fills_in_mm


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

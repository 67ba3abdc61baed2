"""What a flat gloss mirrors, against the law of reflection, and the card behind, against a worked example."""

from __future__ import annotations

import math

import pytest

from tests.unit.plan.lights import background
from webapp.optics import shadows
from webapp.optics.sources import Disc
from webapp.plan.positions import ORIGIN, Position, Thing, place_at
from webapp.plan.reflections import card_behind, mirrored
from webapp.plan.staging import Plan


def test_a_flat_gloss_shows_the_light_that_the_law_of_reflection_says() -> None:
    camera = Thing("camera", "camera", Position(place_at(1000.0, -30.0)), 0.0, 0.0)
    subject = Thing("subject", "subject", Position(ORIGIN), 100.0, 100.0, 0.0)
    turned = Thing("subject", "subject", Position(ORIGIN), 100.0, 100.0, 0.0, turned_deg=30.0)
    square, askew = Plan((), (camera, subject)), Plan((), (camera, turned))
    at = Position(place_at(800.0, 30.0))

    assert mirrored(square, "A", Disc(300.0), at).fraction == 0.0
    # Turned by 30 degrees the subject faces straight ahead: from 30 left the lens sees what stands 30 right.
    assert mirrored(askew, "A", Disc(300.0), at).fraction == 1.0


def test_the_family_of_angles_at_the_lens_is_as_wide_as_the_closed_form() -> None:
    plan = Plan((), (Thing("subject", "subject", Position(ORIGIN), 200.0, 200.0),), lens_at_mm=1000.0)

    found = mirrored(plan, "A", Disc(100.0), Position(place_at(math.hypot(1000.0, 200.0), 0.0)))

    assert found.to_deg is not None
    half_mm = 1000.0 * math.tan(math.radians(found.to_deg))
    assert half_mm == pytest.approx(shadows.family_of_angles(200.0, 1000.0, 1000.0).width_mm / 2.0, rel=1e-6)


def test_the_card_behind_a_dark_field_bottle_fills_the_view() -> None:
    """A field of 24 x 18 cm at 77.5 cm, the card 35 cm behind: 34.8 x 26.1 cm, and a centimetre on every side."""
    plan = Plan((), (background(350.0),), field_mm=(180.0, 240.0), lens_at_mm=775.0)

    found = card_behind(plan)

    assert found is not None
    assert (found[0] - 20.0, found[1] - 20.0) == pytest.approx((261.3, 348.4), abs=0.1)

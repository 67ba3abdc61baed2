"""Places that will not do: named, and everything computed all the same."""

from __future__ import annotations

import math

import pytest

from tests.unit.plan.lights import background, light
from webapp.facts import fact
from webapp.optics.sources import Disc, Ring
from webapp.plan.cautions import cautions
from webapp.plan.levels import background_stops, evenness, level_of
from webapp.plan.positions import ORIGIN, Place, Position, Thing, place_at
from webapp.plan.reasons import Reason
from webapp.plan.reflections import gloss
from webapp.plan.shadows import shadow
from webapp.plan.softness import softness
from webapp.plan.staging import Plan, PlanLight


@pytest.mark.parametrize(
    ("lights", "told"),
    [
        ((light("A", ORIGIN),), Reason.IN_THE_MIDDLE),
        ((light("A", Place(10.0, 0.0, 10.0)),), Reason.INSIDE_SUBJECT),
        ((light("A", Place(0.0, 900.0, 0.0)),), Reason.BEHIND_BACKGROUND),
        ((light("A", Place(0.0, -500.0, 0.0), position=Position(Place(0.0, -500.0, 0.0), Place(0.0, -900.0, 0.0))),), Reason.AIMED_AWAY),
        ((light("A", place_at(500.0, 40.0), Disc(200.0)), light("B", place_at(510.0, 41.0), Disc(200.0))), Reason.IN_ONE_PLACE),
        ((light("A", place_at(300.0, 170.0, 100.0), Disc(100.0)),), Reason.IN_THE_PICTURE),
    ],
)  # fmt: skip
def test_a_place_that_will_not_do_is_named_and_everything_is_computed(
    lights: tuple[PlanLight, ...], told: Reason
) -> None:
    things = (background(600.0), Thing("subject", "subject", Position(ORIGIN), 80.0, 100.0, 60.0))
    plan = Plan(lights, things, field_mm=(150.0, 100.0))

    found = [each.told for each in cautions(plan) if each.told.reason == told]
    assert found
    assert all(each.values.get("shines", True) for each in found)
    for each in lights:
        level = level_of(plan, each)
        assert level.av is None or math.isfinite(level.av)
        thrown = shadow(plan, each, "background")
        assert thrown.edge_mm is None or math.isfinite(thrown.edge_mm)
        softness(each)
    evenness(plan)
    background_stops(plan)
    gloss(plan)


@pytest.mark.parametrize(
    ("placed", "in_picture"),
    [
        # The field is 150 x 100 mm at 1 m: at half the way the lens sees 75 x 50 mm.
        (light("A", Place(0.0, -500.0, 60.0), Disc(60.0)), False),
        (light("A", Place(0.0, -500.0, 50.0), Disc(60.0)), True),
        (light("A", Place(0.0, -500.0, 0.0), Disc(800.0)), True),
        # A ring around the view does not stand in it, whatever its outside.
        (light("A", Place(0.0, -500.0, 0.0), Ring(300.0, 100.0)), False),
        (light("A", Place(0.0, -500.0, 0.0), Ring(300.0, 60.0)), True),
        # Behind the subject of 80 x 100 mm the lens sees nothing of it.
        (light("A", Place(0.0, 300.0, 0.0), Disc(60.0)), False),
        (light("A", Place(0.0, 300.0, 0.0), Disc(120.0)), True),
        (light("A", Place(0.0, -1200.0, 0.0), Disc(60.0)), False),
    ],
)
def test_a_light_stands_in_the_picture_where_the_lens_sees_some_of_its_face(
    placed: PlanLight, in_picture: bool
) -> None:
    plan = Plan(
        (placed,), (Thing("subject", "subject", Position(ORIGIN), 80.0, 100.0, 60.0),), field_mm=(150.0, 100.0)
    )

    told = [each for each in cautions(plan) if each.told.reason == Reason.IN_THE_PICTURE]

    assert bool(told) == in_picture
    assert all(each.bars for each in told)


def test_a_light_beside_the_picture_tells_by_how_much_it_misses_it() -> None:
    """By the angle from the axis, less that of half the diagonal of the field."""
    plan = Plan(
        (light("A", Place(1000.0, 0.0, 0.0), position=Position(Place(400.0, 0.0, 0.0), Place(0.0, -1000.0, 0.0))),),
        (),
        field_mm=(150.0, 100.0),
    )
    outside = math.degrees(math.atan(0.4)) - math.degrees(math.atan(math.hypot(75.0, 50.0) / 1000.0))

    told = [each.told for each in cautions(plan)]

    assert fact(Reason.SHINES_INTO_LENS, "A", beside_deg=round(outside)) in told


@pytest.mark.parametrize(
    ("at", "around_axis"),
    [
        (Place(0.0, -900.0, 0.0), None),
        (Place(0.0, -500.0, 0.0), True),
        (Place(300.0, -900.0, 0.0), False),
    ],
)
def test_a_ring_that_left_the_lens_is_told(at: Place, around_axis: bool | None) -> None:
    camera = Thing("camera", "camera", Position(Place(0.0, -1000.0, 0.0)), 80.0, 80.0)
    plan = Plan((light("A", at, Ring(300.0, 150.0)),), (camera,))

    told = [each.told for each in cautions(plan) if each.told.reason == Reason.RING_OFF_LENS]

    assert [each["around_axis"] for each in told] == ([] if around_axis is None else [around_axis])

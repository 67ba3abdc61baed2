"""The light of a face that stands anyhow, against integration and closed forms, and what a flag hides of it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from scipy.integrate import dblquad

from tests.unit.plan.lights import light
from webapp.optics import illuminance, sources
from webapp.optics.arrays import Floats
from webapp.optics.sources import Disc, Point, Rectangle, Ring
from webapp.plan import illumination
from webapp.plan.illumination import Blocker, Emitter, blocker_of, face_of
from webapp.plan.levels import level_of
from webapp.plan.positions import ORIGIN, Place, Position, Thing
from webapp.plan.staging import Plan

TO_CAMERA = np.array([0.0, -1.0, 0.0])


def hidden_share(source: sources.Source, position: Position, blockers: Sequence[Blocker]) -> float:
    """How much of a face is hidden from the middle of the subject."""
    return illumination.arriving(Emitter(source, face_of(position)), ORIGIN, blockers)[2]


def per_intensity(
    source: sources.Source, position: Position, places: Floats, normal: Floats, blockers: Sequence[Blocker] = ()
) -> Floats:
    return illumination.per_intensity(Emitter(source, face_of(position)), places, normal, blockers)


@pytest.mark.parametrize("source", [Disc(600.0), Ring(120.0, 80.0), Rectangle(600.0, 900.0), Point()], ids=repr)
@pytest.mark.parametrize("offset_mm", [0.0, 120.0])
def test_a_parallel_face_gives_the_light_of_the_closed_form(source: sources.Source, offset_mm: float) -> None:
    place = np.array([[offset_mm, 0.0, 0.0]])

    light_there = per_intensity(source, Position(Place(0.0, -500.0, 0.0), aim=ORIGIN), place, TO_CAMERA)[0]

    closed = float(illuminance.illuminance_per_intensity(source, 500.0, offset_mm))
    assert abs(math.log2(light_there / closed)) < 1e-4


def test_a_panel_that_stands_askew_gives_the_light_of_its_integral() -> None:
    at, aim = np.array([-500.0, -400.0, 300.0]), np.array([60.0, 0.0, 20.0])
    normal = (aim - at) / np.linalg.norm(aim - at)
    across = np.cross([0.0, 0.0, 1.0], normal)
    across /= np.linalg.norm(across)
    up = np.cross(normal, across)
    place = np.array([40.0, 0.0, -30.0])

    def part(v: float, u: float) -> float:
        way = at + u * across + v * up - place
        return float((-way @ normal) * (way @ TO_CAMERA) / (way @ way) ** 2)

    integral = dblquad(part, -200.0, 200.0, -300.0, 300.0)[0] / (400.0 * 600.0)
    position = Position(Place(*at), aim=Place(*aim))
    found = per_intensity(Rectangle(400.0, 600.0), position, place[np.newaxis, :], TO_CAMERA)[0]

    assert found == pytest.approx(integral, rel=1e-6)


def test_a_flag_over_half_of_a_panel_hides_half_of_it() -> None:
    panel = light("A", Place(0.0, -1000.0, 0.0), Rectangle(400.0, 400.0))
    flag = Thing("flag-1", "flag", Position(Place(100.0, -500.0, 0.0), aim=Place(100.0, 0.0, 0.0)), 200.0, 1000.0)
    assert panel.position is not None

    assert hidden_share(panel.source, panel.position, [blocker_of(flag)]) == pytest.approx(0.5)


@pytest.mark.parametrize("source", [Disc(1200.0), Rectangle(1200.0, 600.0), Ring(600.0, 300.0)], ids=repr)
@pytest.mark.parametrize("distance_mm", [30.0, 60.0, 120.0])
@pytest.mark.parametrize("offset_mm", [0.0, 150.0])
def test_close_to_a_large_face_its_light_is_still_that_of_the_closed_form(
    source: sources.Source, distance_mm: float, offset_mm: float
) -> None:
    position = Position(Place(0.0, -distance_mm, 0.0), aim=ORIGIN)

    found = per_intensity(source, position, np.array([[offset_mm, 0.0, 0.0]]), TO_CAMERA)[0]

    closed = float(illuminance.illuminance_per_intensity(source, distance_mm, offset_mm))
    assert abs(math.log2(found / closed)) < 0.01


def test_many_places_near_a_face_have_the_light_of_each_by_itself() -> None:
    places = np.column_stack((np.linspace(-400.0, 400.0, 60), np.zeros(60), np.linspace(-10.0, 30.0, 60)))
    position = Position(Place(0.0, -60.0, 0.0), aim=ORIGIN)

    together = per_intensity(Disc(600.0), position, places, TO_CAMERA)

    # Three at a time: one by itself has more parts.
    alone = [per_intensity(Disc(600.0), position, np.tile(each, (3, 1)), TO_CAMERA)[0] for each in places]
    assert together == pytest.approx(alone, rel=1e-12)


TABLE = Thing("table", "table", Position(Place(0.0, 0.0, -90.0)), 1200.0, 0.0, 800.0)
BACKGROUND = Thing("background", "background", Position(Place(0.0, 600.0, 0.0)), 1000.0, 1000.0)


@pytest.mark.parametrize(
    ("at", "hidden"),
    [
        (Place(0.0, -300.0, -400.0), 1.0),
        # Before the table's edge there is nothing in between.
        (Place(0.0, -900.0, -180.0), 0.0),
        (Place(0.0, -300.0, 400.0), 0.0),
        (Place(0.0, 900.0, 200.0), 1.0),
        (Place(0.0, 900.0, 2000.0), 0.0),
        # What lies on the table or leans on the background lies before it.
        (Place(200.0, 0.0, -90.0), 0.0),
        (Place(200.0, 600.0, 0.0), 0.0),
    ],
)
def test_a_table_and_a_background_stop_a_light_that_is_beyond_them(at: Place, hidden: float) -> None:
    plan = Plan((light("A", at),), (TABLE, BACKGROUND))
    assert plan.lights[0].position is not None

    assert hidden_share(Point(), plan.lights[0].position, plan.blockers) == hidden


def test_a_place_on_a_table_is_lit_from_above_and_not_through_the_table() -> None:
    plan = Plan((), (TABLE,))
    on_it, up = np.array([[100.0, 0.0, -90.0]]), np.array([0.0, 0.0, 1.0])
    above, below = (Position(Place(0.0, 0.0, z_mm)) for z_mm in (500.0, -500.0))

    free = per_intensity(Point(), above, on_it, up)

    assert per_intensity(Point(), above, on_it, up, plan.blockers) == pytest.approx(free)
    assert per_intensity(Point(), below, on_it, -up, plan.blockers) == pytest.approx(0.0)


def test_a_table_that_was_put_up_in_the_middle_of_the_subject_carries_it() -> None:
    subject = Thing("subject", "subject", Position(ORIGIN), 100.0, 100.0, 100.0)
    table = Thing("table", "table", Position(ORIGIN), 1200.0, 0.0, 800.0)
    beside = light("A", Place(-300.0, -300.0, -40.0))
    plan = Plan((beside,), (subject, table))

    assert level_of(plan, beside).hidden == 0.0

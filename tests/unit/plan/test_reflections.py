"""What a flat gloss mirrors, against the law of reflection, and the card behind, against a worked example."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.unit.plan.lights import background, light
from webapp.optics import shadows
from webapp.optics.arrays import Floats, np
from webapp.optics.sources import Disc, Point, Rectangle
from webapp.plan.illumination import vector
from webapp.plan.positions import ORIGIN, Place, Position, Thing, place_at
from webapp.plan.reflections import Mirrored, card_behind, gloss
from webapp.plan.staging import Plan

SUBJECT = Thing("subject", "subject", Position(ORIGIN), 100.0, 80.0, 60.0)
ANGLES = st.floats(-70.0, 70.0)


def shown(plan: Plan, name: str = "A") -> Mirrored:
    found = gloss(plan)
    assert found is not None
    return next(each for each in found.mirrored if each.name == name)


def camera(at: Place) -> Thing:
    return Thing("camera", "camera", Position(at), 0.0, 0.0)


def mirrored_way(plan: Plan, across_mm: float, up_mm: float) -> tuple[Floats, Floats]:
    """A place of the gloss, and the way on which the lens sees the set there."""
    face = plan.subject_face
    place = across_mm * face.across + up_mm * face.up
    comes = place - vector(plan.camera)
    goes = comes - 2.0 * (comes @ face.normal) * face.normal
    return place, goes / np.linalg.norm(goes)


def test_a_flat_gloss_shows_the_light_that_the_law_of_reflection_says() -> None:
    lens = camera(place_at(1000.0, -30.0))
    lit = light("A", place_at(800.0, 30.0), Disc(300.0))
    askew = replace(SUBJECT, turned_deg=30.0)

    assert shown(Plan((lit,), (lens, SUBJECT))).fraction == 0.0
    # Turned by 30 degrees the subject faces straight ahead: from 30 left the lens sees what stands 30 right.
    assert shown(Plan((lit,), (lens, askew))).fraction == pytest.approx(1.0)


def test_a_gloss_tilted_by_an_eighth_of_a_circle_shows_what_hangs_above_it() -> None:
    plan = Plan((light("A", Place(0.0, 0.0, 900.0), Disc(400.0)),), (replace(SUBJECT, tilted_deg=45.0),))

    found = shown(plan)

    assert found.fraction == pytest.approx(1.0)
    assert found.family is not None
    assert found.family.side == "above"
    assert found.family.from_deg < 90.0 < found.family.to_deg


def test_the_family_of_angles_at_the_lens_is_as_wide_as_the_closed_form() -> None:
    subject = Thing("subject", "subject", Position(ORIGIN), 200.0, 1e-6)
    at = place_at(math.hypot(1000.0, 200.0), 0.0)

    family = shown(Plan((light("A", at, Disc(100.0)),), (subject,), lens_at_mm=1000.0)).family

    assert family is not None
    assert (family.from_deg, family.side) == (0.0, "")
    half_mm = 1000.0 * math.tan(math.radians(family.to_deg))
    assert half_mm == pytest.approx(shadows.family_of_angles(200.0, 1000.0, 1000.0).width_mm / 2.0, rel=1e-6)


@pytest.mark.parametrize("tilted_deg", [90.0, -90.0])
def test_of_a_subject_that_lies_flat_before_a_level_lens_there_is_no_gloss(tilted_deg: float) -> None:
    assert gloss(Plan((light(),), (replace(SUBJECT, tilted_deg=tilted_deg),))) is None


def test_from_overhead_the_gloss_is_as_high_as_the_subject_is_deep() -> None:
    found = gloss(Plan((), (camera(Place(0.0, 0.0, 700.0)), SUBJECT)))

    assert found is not None
    width, height = found.outline.max(axis=0) - found.outline.min(axis=0)
    assert (width, height) == pytest.approx((100.0, 60.0))


def test_from_overhead_a_subject_that_is_turned_turns_its_gloss() -> None:
    """Over a level gloss a light is mirrored where the line from the lens to its mirror image comes through: at x H/(H + h)
    for a lens at H and a light at x and h (law of reflection). 60 mm beside the axis and as high as the lens that is 30 mm
    off the middle: within a bar 100 mm long, and outside its width of 20 mm."""
    bar = replace(SUBJECT, depth_mm=20.0)
    lens = camera(Place(0.0, 0.0, 700.0))
    beside, beyond = light("A", Place(60.0, 0.0, 700.0), Disc(8.0)), light("A", Place(0.0, 60.0, 700.0), Disc(8.0))

    lies, stands = (
        [Plan((each,), (lens, bar)) for each in (beside, beyond)] for bar in (bar, replace(bar, turned_deg=90.0))
    )
    aslant = gloss(Plan((), (lens, replace(bar, turned_deg=30.0))))

    assert [shown(each).fraction > 0.0 for each in lies] == [True, False]
    assert [shown(each).fraction > 0.0 for each in stands] == [False, True]
    assert aslant is not None
    # Against the clock as the lens sees it, as it is drawn.
    cos, sin = math.cos(math.radians(30.0)), math.sin(math.radians(30.0))
    assert aslant.outline[2] == pytest.approx((50.0 * cos - 10.0 * sin, 50.0 * sin + 10.0 * cos))


def test_a_flag_shows_from_behind_and_a_light_does_not() -> None:
    away = Position(Place(0.0, -500.0, 0.0), Place(0.0, -900.0, 0.0))
    flag = Thing("flag-1", "flag", away, 400.0, 400.0)
    lens = camera(Place(0.0, -400.0, 0.0))

    assert shown(Plan((), (SUBJECT, lens, flag)), "flag 1").fraction == pytest.approx(1.0)
    assert shown(Plan((light("A", position=away, source=Disc(400.0)),), (SUBJECT, lens))).fraction == 0.0


@settings(max_examples=40)
@given(
    lens=st.tuples(ANGLES, st.floats(-300.0, 800.0)),
    turned=st.floats(-40.0, 40.0),
    tilted=st.floats(-40.0, 40.0),
    place=st.tuples(st.floats(-0.4, 0.4), st.floats(-0.4, 0.4)),
    far_mm=st.floats(200.0, 3000.0),
    further=st.floats(1.2, 4.0),
)
def test_a_light_stays_in_the_gloss_as_it_moves_along_its_mirrored_way(
    lens: tuple[float, float],
    turned: float,
    tilted: float,
    place: tuple[float, float],
    far_mm: float,
    further: float,
) -> None:
    subject = replace(SUBJECT, turned_deg=turned, tilted_deg=tilted)
    plan = Plan((), (camera(place_at(900.0, lens[0], lens[1])), subject))
    empty = gloss(plan)
    assume(empty is not None)
    height_mm = 60.0 if abs(plan.camera.z_mm) > plan.camera.floor_mm else 80.0
    start, way = mirrored_way(plan, place[0] * 100.0, place[1] * height_mm)
    for distance_mm in (far_mm, further * far_mm):
        lit = light("A", Place(*(start + distance_mm * way)), Point())
        found = shown(replace(plan, lights=(lit,)))
        assert found.fraction > 0.0
        assert found.outlines


@settings(max_examples=40)
@given(
    lens=st.tuples(st.floats(-40.0, 40.0), st.floats(0.0, 800.0)),
    turned=st.floats(-40.0, 40.0),
    tilted=st.floats(-30.0, 60.0),
    at=st.tuples(ANGLES, st.floats(-200.0, 600.0)),
    flag=st.tuples(ANGLES, st.floats(-100.0, 300.0)),
)
def test_a_set_mirrored_left_for_right_shows_the_same_mirrored(
    lens: tuple[float, float],
    turned: float,
    tilted: float,
    at: tuple[float, float],
    flag: tuple[float, float],
) -> None:
    def built(side: float) -> Plan:
        subject = replace(SUBJECT, turned_deg=side * turned, tilted_deg=tilted)
        card = Thing("flag-1", "flag", Position(place_at(500.0, side * flag[0], flag[1])), 200.0, 150.0)
        lit = light("A", place_at(900.0, side * at[0], at[1]), Rectangle(500.0, 700.0))
        return Plan((lit,), (camera(place_at(900.0, side * lens[0], lens[1])), subject, card))

    one, other = gloss(built(1.0)), gloss(built(-1.0))

    assert (one is None) == (other is None)
    if one is None or other is None:
        return
    for left, right in zip(one.mirrored, other.mirrored, strict=True):
        assert left.fraction == pytest.approx(right.fraction, abs=1e-9)
        assert left.hidden == pytest.approx(right.hidden, abs=1e-9)
        if left.middle is not None and right.middle is not None and left.hidden == 0.0:
            assert left.middle == pytest.approx((-right.middle[0], right.middle[1]), abs=1e-6)


def test_the_card_behind_a_dark_field_bottle_fills_the_view() -> None:
    """A field of 24 x 18 cm at 77.5 cm, the card 35 cm behind: 34.8 x 26.1 cm, and a centimetre on every side."""
    plan = Plan((), (background(350.0),), field_mm=(180.0, 240.0), lens_at_mm=775.0)

    found = card_behind(plan)

    assert found is not None
    assert (found[0] - 20.0, found[1] - 20.0) == pytest.approx((261.3, 348.4), abs=0.1)


@pytest.mark.parametrize("bearing_deg", [0.0, 90.0])
def test_what_lies_flat_on_a_table_mirrors_in_its_top_however_far_the_lens_is_off_the_vertical(
    bearing_deg: float,
) -> None:
    """A lens 20° off the vertical sees in the middle of a level gloss what stands 20° off it on the other side (law of
    reflection), and not itself."""
    lens = place_at(1000.0, bearing_deg, 1000.0 * math.cos(math.radians(20.0)))
    opposite, beside_lens = Place(-lens.x_mm, -lens.y_mm, lens.z_mm), lens.scaled(0.9)
    tray = Thing("subject", "subject", Position(ORIGIN), 100.0, 10.0, 80.0)
    table = Thing("table", "table", Position(Place(0.0, 0.0, -5.0)), 600.0, 0.0, 600.0)

    mirrored, square = (
        [
            shown(Plan((light("A", at, Disc(30.0)),), (tray, *under, camera(lens)))).fraction > 0.0
            for at in (opposite, beside_lens)
        ]
        for under in ((table,), ())
    )

    assert mirrored == [True, False]
    assert square == [False, True]

"""Places: told, taped, snapped and compared."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.plan.positions import (
    KnownPoint,
    Named,
    Place,
    Position,
    at_distance,
    differences,
    place_at,
    snapped,
    triangulate,
)
from webapp.web.words.say import say

SUBJECT = KnownPoint("the subject", 0.0, 0.0)
CAMERA = KnownPoint("the camera", 0.0, -1000.0)
LENGTHS = st.floats(-3000.0, 3000.0)


@given(LENGTHS, LENGTHS, LENGTHS)
def test_distance_bearing_and_height_give_the_place_back(x: float, y: float, z: float) -> None:
    place = Place(x, y, z)

    back = place_at(place.distance_mm, place.bearing_deg, z)

    assert back.from_mm(place) < 0.01 + 1e-7 * place.distance_mm or place.floor_mm < 1.0


@given(LENGTHS, LENGTHS)
def test_taping_a_place_finds_it_again(x: float, y: float) -> None:
    from_subject, from_camera = math.hypot(x, y), math.hypot(x, y + 1000.0)

    found = triangulate(SUBJECT, CAMERA, from_subject, from_camera)

    # A flat triangle loses half the digits of the tapes.
    assert min(each.from_mm(Place(x, y, 0.0)) for each in found) < 2.6


def test_two_tapes_close_on_both_sides_of_the_line() -> None:
    left, right = triangulate(SUBJECT, CAMERA, 600.0, 800.0, 150.0)

    # 600, 800, 1000: the right angle is at the light, so it stands 480 beside the axis and 360 in front.
    assert (left.x_mm, left.y_mm, left.z_mm) == pytest.approx((-480.0, -360.0, 150.0))
    assert (right.x_mm, right.y_mm) == pytest.approx((480.0, -360.0))


@pytest.mark.parametrize(
    ("from_subject", "from_camera", "told"),
    [
        (300.0, 500.0, "Check the tape from the subject"),
        (2000.0, 700.0, "Check the tape from the subject"),
        (700.0, 2000.0, "Check the tape from the camera"),
    ],
)
def test_tapes_that_cannot_meet_name_the_one_to_check(from_subject: float, from_camera: float, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        triangulate(SUBJECT, CAMERA, from_subject, from_camera)


def test_a_height_beyond_the_tape_is_refused() -> None:
    with pytest.raises(ValueError, match="longest of the three"):
        place_at(300.0, 0.0, 400.0)


@given(LENGTHS, LENGTHS, LENGTHS)
def test_a_snapped_place_stays_where_it_is(x: float, y: float, z: float) -> None:
    once = snapped(Place(x, y, z))

    assert snapped(once).from_mm(once) < 0.01


def test_another_distance_keeps_the_line_from_the_subject() -> None:
    moved = at_distance(Place(300.0, -400.0, 500.0), 1000.0)

    assert moved.distance_mm == pytest.approx(1000.0)
    assert (moved.y_mm / moved.x_mm, moved.z_mm / moved.x_mm) == pytest.approx((-4 / 3, 5 / 3))


def told(before: list[Named], after: list[Named]) -> list[str]:
    return [say(each) for each in differences(before, after)]


def test_a_move_is_told_as_nearer_forward_and_higher() -> None:
    before, after = (Named("B", "B", Position(at)) for at in (place_at(1000.0, -60.0), place_at(800.0, -45.0, 100.0)))

    assert told([before], [after]) == ["B moved 20 cm nearer, 15° forward and 10 cm higher."]


def test_two_plans_differ_by_what_came_went_and_moved() -> None:
    there = Position(place_at(800.0, 30.0))
    before = [Named("A", "A", there), Named("B", "B", there)]
    after = [Named("A", "A", Position(place_at(800.0, 50.0))), Named("C", "C", there)]

    assert told(before, after) == [
        "A moved 20° back.",
        "C came in, 80 cm from the subject, 30° right, level with it.",
        "B went out.",
    ]

"""What is asked before the set is struck: ranked by what not knowing it costs, a few at most; and what a frame gets."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.ledger.builders import HEAD, set_up, standing_light
from webapp.facts import fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.worth_measuring import completed, worth_measuring
from webapp.plan.positions import Position, Thing, place_at

MEASURED = Position(place_at(600.0, -45.0, 100.0), known="taped")
ESTIMATED = replace(MEASURED, known="estimated")
RING = replace(HEAD, form="ring")


def test_what_cannot_be_reckoned_comes_first_and_the_cheap_last() -> None:
    lights = (
        standing_light("A", position=ESTIMATED),
        standing_light("B", distance_mm=None),
        standing_light("C", power=None, position=MEASURED),
    )

    asked = worth_measuring(set_up("8", *lights, magnification=0.0))

    assert [each.field for each in asked] == ["lights.B", "lights.C.power", "lights.A", "subject_distance"]
    assert [each.error_stops for each in asked] == [None, 3.0, pytest.approx(0.048, abs=0.001), 0.0]


def test_a_measured_set_leaves_nothing_to_ask() -> None:
    measured = set_up("8", standing_light("A", position=MEASURED), magnification=0.5, subject_distance_mm=300.0)

    assert worth_measuring(measured) == ()


def test_a_light_that_is_off_is_not_asked_for() -> None:
    off = set_up("8", standing_light("A", lit=False, distance_mm=None), subject_distance_mm=300.0)

    assert worth_measuring(off) == ()


def test_a_ring_on_the_lens_is_asked_for_its_distance_and_not_for_its_direction() -> None:
    ring = set_up("8", standing_light("A", head=RING, distance_mm=120.0), subject_distance_mm=120.0)
    head = set_up("8", standing_light("A", distance_mm=120.0), subject_distance_mm=120.0)

    assert [each.because for each in worth_measuring(ring)] == [fact(Reason.DISTANCE_OFF, tape_mm=10.0)]
    assert [each.because for each in worth_measuring(head)] == [fact(Reason.DIRECTION_OFF, off_deg=15.0)]
    assert [each.asks for each in worth_measuring(ring)] == [fact(Reason.ASK_BY_TAPE, "A", only_distance=True)]
    assert [each.stands for each in worth_measuring(head)] == [
        fact(Reason.KNOWN_DISTANCE, distance_mm=120.0, and_direction=True)
    ]
    assert [[blank.name for blank in each.blanks] for each in worth_measuring(ring)] == [["lights.A.distance"]]


def test_a_measured_camera_tells_its_distance_already() -> None:
    camera = Thing("camera", "camera", MEASURED, 80.0, 80.0)
    guessed = replace(camera, position=ESTIMATED)

    assert worth_measuring(set_up("8", things=(camera,))) == ()
    assert [each.field for each in worth_measuring(set_up("8", things=(guessed,)))] == ["subject_distance"]


def test_an_unknown_magnification_costs_what_the_lens_may_add() -> None:
    (asked,) = worth_measuring(set_up("8", magnification=None, subject_distance_mm=300.0))

    # At life size the bellows take two stops: common practice.
    assert asked.error_stops == pytest.approx(2.0)
    assert asked.because == fact(Reason.TAKEN_FOR_DISTANT)
    assert asked.stands == fact(Reason.KNOWN_NOTHING)
    assert asked.step is not None


def test_an_estimated_magnification_costs_what_a_centimetre_of_its_distance_does() -> None:
    # 100 mm at 30 cm is 1:2 by the lens equation, and at 29 cm 1:1.9.
    estimated = set_up("8", magnification=0.5, magnification_estimated=True, subject_distance_mm=300.0)

    (asked,) = worth_measuring(estimated)

    assert asked.error_stops == pytest.approx(0.0497, abs=0.001)
    assert asked.because == fact(Reason.WORKED_OUT_OFF, tape_mm=10.0)
    assert asked.stands == fact(Reason.KNOWN_MAGNIFICATION, magnification=0.5)


@given(
    st.lists(
        st.tuples(st.floats(50.0, 5000.0) | st.none(), st.booleans(), st.floats(-6.0, 0.0) | st.none()), max_size=8
    )
)
def test_the_dearest_is_always_asked_first(
    lights: list[tuple[float | None, bool, float | None]],
) -> None:
    made = [
        standing_light("ABCDEFGH"[index], power, distance_mm=distance, lit=lit)
        for index, (distance, lit, power) in enumerate(lights)
    ]

    asked = worth_measuring(set_up("8", *made))

    errors = [float("inf") if each.error_stops is None else each.error_stops for each in asked]
    assert errors == sorted(errors, reverse=True)


# --- into a frame ---------------------------------------------------------------------------------------------


def test_a_frame_gets_what_it_does_not_know() -> None:
    frame = set_up("8", standing_light("A", None, distance_mm=None), magnification=None)
    stands = set_up(
        "8",
        standing_light("A", -3.0, position=MEASURED),
        magnification=0.5,
        subject_distance_mm=300.0,
        things=(Thing("flag-1", "flag", MEASURED, 300.0, 400.0),),
    )

    found, written = completed(frame, frame, stands)

    assert found == stands
    assert written == (
        "lights.A.power",
        "lights.A.position",
        "magnification",
        "subject_distance",
        "things",
    )


def test_what_a_frame_knows_by_itself_is_never_touched() -> None:
    frame = set_up("8", standing_light("A", -2.0, position=MEASURED), magnification=0.25, subject_distance_mm=500.0)
    elsewhere = replace(MEASURED, at=place_at(900.0, 10.0))
    stands = set_up("11", standing_light("A", -3.0, position=elsewhere), magnification=0.5, subject_distance_mm=300.0)

    assert completed(frame, stands, stands) == (frame, ())


def test_an_estimate_that_still_stands_gives_way_to_the_tape() -> None:
    frame = set_up("8", standing_light("A", position=ESTIMATED))
    taped = replace(MEASURED, at=place_at(620.0, -45.0, 100.0))
    stands = set_up("8", standing_light("A", position=taped, distance_mm=620.0))

    found, written = completed(frame, frame, stands)

    assert written == ("lights.A.position",)
    assert found.lights[0].position == taped
    assert found.lights[0].distance_mm == 620.0


def test_a_light_that_was_moved_since_leaves_the_frame_alone() -> None:
    frame = set_up("8", standing_light("A", distance_mm=600.0))
    before = set_up("8", standing_light("A", distance_mm=900.0))
    stands = set_up("8", standing_light("A", distance_mm=900.0, position=replace(MEASURED, at=place_at(900.0, 0.0))))

    assert completed(frame, before, stands) == (frame, ())


def test_another_head_under_the_same_letter_says_nothing_of_the_frame() -> None:
    frame = set_up("8", standing_light("A", distance_mm=None))
    stands = set_up("8", standing_light("A", head=replace(HEAD, id="head-2"), position=MEASURED))

    assert completed(frame, frame, stands) == (frame, ())


def test_an_answer_that_nobody_gave_is_written_nowhere() -> None:
    unknown = set_up("8", standing_light("A", None, distance_mm=None), magnification=None)

    assert completed(unknown, unknown, unknown) == (unknown, ())

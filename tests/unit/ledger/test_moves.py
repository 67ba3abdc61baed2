"""Moves on the plan and the way back: place, aim, and what was taken away; never over what came after."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from tests import typed
from tests.conftest import Studio
from tests.unit.ledger.builders import set_up, standing_light
from webapp.errors import Conflict
from webapp.facts import Fact, Value, fact
from webapp.ledger import moves
from webapp.ledger.entries import Cause
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.moves import MOST_KEPT, Move, move_between
from webapp.ledger.set_up import SetUp
from webapp.plan.positions import Place, Position, Thing, place_at
from webapp.quantities.places import KNOWN
from webapp.shoots import corrections, set_up_now
from webapp.shoots.log_frame import FrameWords, log_frame

AT = Position(place_at(1000.0, 50.0, 200.0), known="taped")
FLAG = Thing("flag-1", "flag", Position(place_at(400.0, -90.0)), 300.0, 400.0)

WAS: dict[str, Value] = {
    "x_mm": AT.at.x_mm,
    "y_mm": AT.at.y_mm,
    "z_mm": AT.at.z_mm,
    "known": "taped",
    "same_place": False,
    "only_aim": False,
}
UNKNOWN: dict[str, Value] = {"known": "unknown", "same_place": False, "only_aim": False}


def lit(letter: str, position: Position | None) -> SetUp:
    distance = position.at.distance_mm if position else None
    return set_up("8", standing_light(letter, position=position, distance_mm=distance))


@pytest.mark.parametrize(
    ("before", "after", "facts"),
    [
        (lit("B", AT), lit("B", replace(AT, at=place_at(600.0, 0.0))), [fact(Reason.PUT_LIGHT_BACK, "B", **WAS)]),
        (
            lit("B", None),
            lit("B", AT),
            [fact(Reason.PUT_LIGHT_BACK, "B", **dict.fromkeys(("x_mm", "y_mm", "z_mm")), **UNKNOWN)],
        ),
        (
            lit("B", AT),
            lit("B", replace(AT, aim=Place(100.0, 0.0, 0.0))),
            [fact(Reason.PUT_LIGHT_BACK, "B", **(WAS | {"same_place": True, "only_aim": True}))],
        ),
        (lit("B", AT), set_up("8"), [fact(Reason.BRING_LIGHT_BACK, "B")]),
        (replace(set_up("8"), things=(FLAG,)), set_up("8"), [fact(Reason.BRING_THING_BACK, "flag-1")]),
        (set_up("8"), replace(set_up("8"), things=(FLAG,)), [fact(Reason.TAKE_THING_AWAY, "flag-1")]),
        (
            replace(lit("B", AT), things=(FLAG,)),
            lit("B", replace(AT, at=place_at(600.0, 0.0))),
            [fact(Reason.PUT_LIGHT_BACK, "B", **WAS), fact(Reason.BRING_THING_BACK, "flag-1")],
        ),
    ],
)
def test_the_way_back_is_said_and_leads_there(before: SetUp, after: SetUp, facts: list[Fact]) -> None:
    move = move_between(before, after, "m")

    assert move is not None
    assert list(moves.way_back(move)) == facts
    assert moves.still_stands(move, after)
    assert moves.taken_back(move, after) == before


def test_a_dial_that_turns_is_no_move_and_neither_is_a_light_that_comes_in() -> None:
    one = lit("B", AT)

    assert move_between(one, replace(one, pops=3), "m") is None
    assert move_between(set_up("8"), one, "m") is None


def test_what_changed_beside_the_move_stays_as_it_is_now() -> None:
    before = lit("B", AT)
    after = lit("B", replace(AT, at=place_at(600.0, 0.0)))
    move = move_between(before, after, "m")
    assert move is not None
    since = replace(after.with_light(replace(after.lights[0], power_stops=-1.0)), pops=4)

    back = moves.taken_back(move, since)

    assert (back.pops, back.lights[0].power_stops, back.lights[0].position) == (4, -1.0, AT)


def test_a_move_is_not_taken_back_over_a_later_one() -> None:
    move = move_between(lit("B", AT), lit("B", None), "m")
    assert move is not None

    assert not moves.still_stands(move, lit("B", replace(AT, at=place_at(500.0, 0.0))))


def test_only_the_newest_moves_are_kept() -> None:
    kept: tuple[Move, ...] = ()
    for step in range(MOST_KEPT + 5):
        move = move_between(lit("B", None), lit("B", AT), f"m{step}")
        assert move is not None
        kept = moves.with_move(kept, move)

    assert [each.id for each in kept] == [f"m{step}" for step in range(5, MOST_KEPT + 5)]


places = st.builds(
    Position,
    st.builds(place_at, st.floats(1.0, 5000.0), st.floats(-180.0, 180.0)),
    st.builds(Place, st.floats(-500.0, 500.0), st.floats(-500.0, 500.0)),
    st.sampled_from(KNOWN),
)
things = st.lists(
    st.builds(
        Thing,
        st.sampled_from(["flag-1", "flag-2", "table", "camera"]),
        st.just("flag"),
        places,
        st.floats(1.0, 900.0),
        st.floats(0.0, 900.0),
    ),
    unique_by=lambda each: each.id,
    max_size=4,
).map(tuple)
sets = st.builds(
    lambda lights, there: set_up("8", *lights, things=there),
    st.lists(
        st.builds(
            lambda letter, at: standing_light(letter, position=at), st.sampled_from("ABCD"), places | st.none()
        ),
        unique_by=lambda each: each.letter,
        max_size=4,
    ),
    things,
)


@given(sets, sets)
def test_every_move_leads_back_to_where_things_stood_also_after_it_was_stored(one: SetUp, other: SetUp) -> None:
    move = move_between(one, other, "m")
    if move is None:
        return
    stored = TypeAdapter(tuple[Move, ...]).dump_json(moves.with_move((), move))

    (read,) = TypeAdapter(tuple[Move, ...]).validate_json(stored)
    back = moves.taken_back(read, other)

    assert read == move
    assert {each.id: each for each in back.things} == {each.id: each for each in one.things}
    for light in one.lights:
        found = back.light(light.letter)
        assert found is not None
        assert found.position == light.position


# --- in the records -------------------------------------------------------------------------------------------


def placed(studio: Studio, **said: str) -> set_up_now.StandingState:
    return typed.change(studio.records, studio.shot_id, {"lights.A.position": said})


def test_a_move_is_taken_back_once_and_then_the_one_before_it(studio: Studio) -> None:
    placed(studio, distance="100", bearing="0")
    placed(studio, distance="80", bearing="0")
    moved = placed(studio, distance="60", bearing="0")
    assert moved.last_move is not None

    once = set_up_now.take_move_back(studio.records, studio.shot_id, moved.last_move.id)

    assert once.set_up.lights[0].distance_mm == 800.0
    assert once.last_move is not None
    with pytest.raises(Conflict, match="Something was moved since"):
        set_up_now.take_move_back(studio.records, studio.shot_id, moved.last_move.id)
    twice = set_up_now.take_move_back(studio.records, studio.shot_id, once.last_move.id)
    assert twice.set_up.lights[0].distance_mm == 1000.0


def test_a_move_is_not_offered_back_after_the_distance_was_typed_at_the_desk(studio: Studio) -> None:
    placed(studio, distance="100", bearing="0")
    moved = placed(studio, distance="80", bearing="0")
    assert moved.last_move is not None

    at_the_desk = typed.change(studio.records, studio.shot_id, {"lights.A.distance": "90 cm"})

    assert at_the_desk.last_move is not None
    assert at_the_desk.last_move.id != moved.last_move.id
    with pytest.raises(Conflict):
        set_up_now.take_move_back(studio.records, studio.shot_id, moved.last_move.id)


def test_a_light_out_of_the_set_comes_back_as_it_was(studio: Studio) -> None:
    before = placed(studio, distance="100", bearing="30 left", height="20").set_up

    gone = set_up_now.remove_light(studio.records, studio.shot_id, "A")
    assert gone.last_move is not None
    back = set_up_now.take_move_back(studio.records, studio.shot_id, gone.last_move.id)

    assert back.set_up == before


def test_taking_back_counts_as_a_change_of_the_field(studio: Studio) -> None:
    placed(studio, distance="100", bearing="0")
    moved = placed(studio, distance="80", bearing="0")
    assert moved.last_move is not None

    back = set_up_now.take_move_back(studio.records, studio.shot_id, moved.last_move.id)

    for field in ("lights.A.position", "lights.A.distance"):
        assert back.versions[field] == moved.versions[field] + 1


def test_a_thing_that_was_taken_away_is_not_put_up_again_by_a_late_drag(studio: Studio) -> None:
    typed.change(studio.records, studio.shot_id, {"things.flag-1.there": True})
    read = set_up_now.state(studio.records, studio.shot_id).versions["things.flag-1.position"]
    typed.change(studio.records, studio.shot_id, {"things.flag-1.there": False})

    with pytest.raises(Conflict, match="not there"):
        typed.change(
            studio.records, studio.shot_id, {"things.flag-1.position": {"x": "10", "y": "10", "z": "0"}}, version=read
        )


def stale(studio: Studio, read: int) -> None:
    with pytest.raises(Conflict, match="Another page of yours changed position of A"):
        typed.change(
            studio.records,
            studio.shot_id,
            {"lights.A.position": {"distance": "50", "bearing": "10 left"}},
            version=read,
        )


def test_a_correction_of_the_distance_makes_a_place_that_was_read_before_it_stale(studio: Studio) -> None:
    placed(studio, distance="100", bearing="0")
    log_frame(studio.records, studio.shot_id, FrameWords())
    state = typed.change(studio.records, studio.shot_id, {"f_number": "16"})
    way = next(each for each in state.assessment.corrections if each.cause is Cause.DISTANCE)

    corrections.write_correction(studio.records, studio.shot_id, way.digest)

    stale(studio, state.versions["lights.A.position"])


def test_standing_as_an_earlier_frame_makes_every_place_stale_and_is_one_move(studio: Studio) -> None:
    first = log_frame(studio.records, studio.shot_id, FrameWords()).frame_id
    moved = placed(studio, distance="100", bearing="0")

    stands = set_up_now.stand_as_frame(studio.records, studio.shot_id, first)

    stale(studio, moved.versions["lights.A.position"])
    assert stands.last_move is not None
    back = set_up_now.take_move_back(studio.records, studio.shot_id, stands.last_move.id)
    assert back.set_up.lights[0].distance_mm == 1000.0

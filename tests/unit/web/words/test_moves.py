"""What taking a move back does, as its button says it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.ledger.builders import set_up, standing_light
from webapp.ledger.moves import move_between
from webapp.ledger.set_up import SetUp
from webapp.plan.positions import Place, Position, Thing, place_at
from webapp.quantities.lengths import Lengths
from webapp.web.words.moves import way_back_words

AT = Position(place_at(1000.0, 50.0, 200.0), known="taped")
NEAR = replace(AT, at=place_at(600.0, 0.0))
FLAG = Thing("flag-1", "flag", Position(place_at(400.0, -90.0)), 300.0, 400.0)


def lit(letter: str, position: Position | None) -> SetUp:
    distance = position.at.distance_mm if position else None
    return set_up("8", standing_light(letter, position=position, distance_mm=distance))


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (lit("B", AT), lit("B", NEAR), "Put B back: 100 cm, 50° right, 20 cm above, taped"),
        (lit("B", None), lit("B", AT), "Put B back: unknown"),
        (lit("B", AT), lit("B", replace(AT, aim=Place(100.0, 0.0, 0.0))), "Put B back as it was aimed"),
        (lit("B", AT), lit("B", replace(AT, known="estimated")), "Put B back as it was"),
        (lit("B", AT), set_up("8"), "Bring B back into the set"),
        (
            replace(set_up("8"), things=(FLAG,)),
            replace(set_up("8"), things=(replace(FLAG, position=NEAR),)),
            "Put flag 1 back: 40 cm, 90° left, 0 cm above, planned",
        ),
        (replace(set_up("8"), things=(FLAG,)), set_up("8"), "Bring flag 1 back"),
        (set_up("8"), replace(set_up("8"), things=(FLAG,)), "Take flag 1 away again"),
        (replace(lit("B", AT), things=(FLAG,)), lit("B", NEAR), "Put B and flag 1 back"),
    ],
)
def test_the_way_back_is_said(before: SetUp, after: SetUp, words: str) -> None:
    move = move_between(before, after, "m")

    assert move is not None
    assert way_back_words(move) == words


def test_it_is_said_in_the_readers_unit() -> None:
    move = move_between(lit("B", Position(place_at(609.6, 0.0))), lit("B", AT), "m")

    assert move is not None
    assert way_back_words(move, Lengths(inches=True)).startswith("Put B back: 24 in, ")

"""A balance, its total and the notes on a set-up in words; cautions with them."""

from __future__ import annotations

import pytest

from tests.unit.ledger.builders import set_up, standing_light
from webapp.facts import Fact, fact
from webapp.ledger.cautions import cautions
from webapp.ledger.reasons import Reason
from webapp.ledger.set_up import FilterFigures
from webapp.web.words.balance import against_words
from webapp.web.words.say import say


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (None, ""),
        (fact(Reason.AGAINST_FRAME, frame=3), "frame 3"),
        (fact(Reason.AGAINST_METER), "its meter reading"),
        (fact(Reason.AGAINST_RECIPE), "the recipe"),
    ],
)
def test_what_a_balance_is_taken_against(told: Fact | None, words: str) -> None:
    assert against_words(told) == words


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (
            fact(Reason.NOTHING_TO_COMPARE, "A", light="key A"),
            "key A has neither a frame nor a meter reading to compare with.",
        ),
        (
            fact(
                Reason.SEVERAL_CHANGES,
                "all",
                frame=3,
                causes=("energy", "distance"),
                lights=("A", "A"),
                switched=("B", "C"),
                switched_on=("C",),
            ),
            "4 changes to the light since frame 3: the energy of A, the distance of A, B off and C on.",
        ),
        (
            fact(Reason.BEYOND_SYNC, "all", shutter="1/500", sync="1/200"),
            "1/500 is faster than the sync speed 1/200: the shutter is never fully open, and part of the picture gets no "
            "flash (a dark band along one side). The balance holds only for the part that does.",
        ),
        (
            fact(Reason.RECIPE_NOT_METERED, "C"),
            "The recipe has no meter reading of C, so no other light can be told.",
        ),
        (
            fact(Reason.METER_FOR_RECIPE, "C", light="key C", level_av=6.0),
            "Meter key C at ISO 100, with it alone: the recipe's level is f/8 here.",
        ),
        (
            fact(Reason.COMPARED_BY_METER, "C", light="key C"),
            "key C is other kit than the recipe's, and compared by the meter readings.",
        ),
        (fact(Reason.TOTAL_BY_METER), "by the meter readings, which add up in light"),
        (fact(Reason.TOTAL_ALIKE), "all lit lights moved alike"),
        (fact(Reason.NO_TOTAL_ALL_OFF), "No total: every light is off."),
        (fact(Reason.NO_TOTAL_BALANCE, "A", light="key A"), "No total: the balance of key A is unknown."),
        (
            fact(Reason.NO_TOTAL_SHARES, lights=("A", "B")),
            "No total: A and B moved apart, and their shares are unknown. A frame lit by A alone, with the same camera "
            "settings, would give them.",
        ),
        (fact(Reason.SHARE_OF_SOLO, "A", frame=2), "frame 2, lit by A alone"),
        (fact(Reason.SHARE_OF_ONLY_LIGHT, "A"), "the reference frame is lit by it alone"),
        (fact(Reason.SHARE_LEFT_OVER, "B"), "what the others leave of the reference frame"),
        (fact(Reason.SHARE_OF_RECIPE, "B"), "the recipe"),
    ],
)
def test_each_fact_of_a_balance_reads_as_it_did(told: Fact, words: str) -> None:
    assert say(told) == words


def test_the_cautions_of_a_set_name_the_lights_they_are_about() -> None:
    gel = FilterFigures("g", "gel", "gel", 1.0)
    pair = (
        standing_light("A", distance_mm=300.0, modelling_lamp=True, filters=(gel,)),
        standing_light("B", distance_mm=400.0),
    )

    told = [say(each) for each in cautions(set_up("8", *pair, pops=3))]

    assert [each.split(":")[0].split(" close")[0] for each in told[:3]] == ["A and B", "A", "Repeated flashing"]
    assert told[3].startswith("Flash units hold dangerous charge even unplugged: never open one;")
    assert told[4].startswith("Heaviest leg under the load")
    assert cautions(set_up("8")) == ()

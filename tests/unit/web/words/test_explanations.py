"""A likely cause as it is said: its name, what would have happened, and the frame that would tell two apart."""

from __future__ import annotations

import pytest

from webapp.facts import Fact, fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.explanations import Attribution, Effect, Explanation
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.web.words.explanations import TITLES, WORDS, sentence_of, telling_frame_of, title_of
from webapp.web.words.say import say

STOOD = fact(Reason.LIGHT_AT_ANOTHER_MARK, "A", light="key A", stood="50 J", logged="25 J", marks=10, makes_stops=1.0)
OFF = fact(Reason.DID_NOT_FIRE, "B", light="the fill")


def explained(*causes: Fact, colour: Fact | None = None) -> Explanation:
    return Explanation("key", causes, Effect(), {"card": 0.0}, 0.0, 1.0, colour=colour)


@pytest.mark.parametrize(
    ("told", "title", "sentence"),
    [
        (
            fact(Reason.CHANGE_NOT_MADE, "A", cause="energy", was="50 J", now="100 J"),
            "A: energy still at 50 J",
            "The change from 50 J to 100 J was written down and not made.",
        ),
        (
            fact(Reason.CHANGE_NOT_MADE, cause="aperture", was="8", now="11"),
            "aperture still at f/8",
            "The change from f/8 to f/11 was written down and not made.",
        ),
        (
            fact(Reason.CHANGE_NOT_MADE, "A", cause="distance", was=800.0, now=None),
            "A: distance still at 80 cm",
            "The change from 80 cm to unknown was written down and not made.",
        ),
        (
            OFF,
            "B did not fire",
            "The fill is written down as lit; the picture reads as it would without it.",
        ),
        (
            fact(Reason.FIRED_AS_WELL, "C", light="rim C", mark="1/4"),
            "C fired as well",
            "Rim C is written down as off; the picture reads as it would with it at 1/4.",
        ),
        (
            fact(Reason.FILTER_NOT_ON, "A", filter="ND 0.6", loss_stops=2.0),
            "ND 0.6 not on A",
            "ND 0.6 takes 2.0, and is written down as standing on A.",
        ),
        (
            fact(Reason.FILTER_NOT_ON, filter="polariser", loss_stops=1.25),
            "polariser not on the lens",
            "polariser takes 1.2, and is written down as standing on the lens.",
        ),
        (STOOD, "A stood at 50 J", "Ten marks up on the dial of key A, 50 J for 25 J, makes +1.0."),
        (
            fact(
                Reason.LIGHT_AT_ANOTHER_MARK,
                "A",
                light="key A",
                stood="1/8",
                logged="1/4",
                marks=-1,
                makes_stops=-1.0,
            ),
            "A stood at 1/8",
            "The neighbouring mark down on the dial of key A, 1/8 for 1/4, makes −1.0.",
        ),
        (
            fact(
                Reason.LIGHT_AT_ANOTHER_DISTANCE,
                "A",
                light="key A",
                really_mm=750.0,
                logged_mm=600.0,
                makes_stops=-0.64,
            ),
            "A stood at 75 cm",
            "75 cm for 60 cm, makes −0.6.",
        ),
        (
            fact(Reason.FILTER_ALSO_ON, "B", filter="2 × ND 0.3", loss_stops=2.0),
            "2 × ND 0.3 on B",
            "2 × ND 0.3 takes 2.0, and is not written down as standing on B.",
        ),
        (
            fact(Reason.FILTER_ALSO_ON, filter="ND 0.6", loss_stops=2.0),
            "ND 0.6 on the lens",
            "ND 0.6 takes 2.0, and is not written down as standing on the lens.",
        ),
        (
            fact(Reason.ANOTHER_MODIFIER, "C", light="rim C", fitted="grid", logged="", makes_stops=-1.3),
            "grid on C",
            "Grid for the bare head, makes −1.3.",
        ),
        (
            fact(
                Reason.ANOTHER_MODIFIER, "C", light="rim C", fitted="", logged="softbox 60 × 60 cm", makes_stops=1.7
            ),
            "nothing on C",
            "The bare head for softbox 60 × 60 cm, makes +1.7.",
        ),
        (
            fact(Reason.NOT_RECYCLED, "A", light="key A", off_stops=0.8, since_s=1.0, recycle_s=1.5),
            "A had not recycled",
            "It gave 0.8 less than when it is full; by the files it fired 1 s after the frame before, and recycles in 1.5 s.",
        ),
        (
            fact(Reason.NOT_RECYCLED, "A", light="key A", off_stops=0.8, since_s=None, recycle_s=1.5),
            "A had not recycled",
            "It gave 0.8 less than when it is full; nothing says how soon it fired again.",
        ),
        (
            fact(Reason.POWERS_SWAPPED, "A", other="B", stood="25 J", logged="100 J"),
            "the powers of A and B were swapped",
            "A at 25 J and B at 100 J: each with the power that is written down for the other.",
        ),
        (fact(Reason.OTHER_POPS, pops=1, logged=2), "1 pop for 2", "1 pop made, 2 written down."),
        (
            fact(Reason.CAMERA_AT_ANOTHER_MARK, cause="aperture", stood="11", logged="8", marks=3, makes_stops=-1.0),
            "aperture stood at f/11",
            "Three marks off, f/11 for f/8, makes −1.0.",
        ),
        (
            fact(
                Reason.CAMERA_AT_ANOTHER_MARK,
                cause="iso",
                stood="125",
                logged="100",
                marks=1,
                makes_stops=0.3,
            ),
            "ISO stood at ISO 125",
            "The neighbouring mark, ISO 125 for ISO 100, makes +0.3.",
        ),
        (
            fact(Reason.CLOSE_UP_COUNTED_TWICE, was=0.0, now=1.0, loss_stops=2.0),
            "the close-up loss is counted twice",
            "From distant to 1 it is 2.0; a camera that records the effective f-number has it in the aperture already. The "
            "kit says of each lens which of the two is recorded.",
        ),
        (
            fact(Reason.CLOSE_UP_NOT_COUNTED, really=0.5, logged=0.0, loss_stops=1.17),
            "magnification 0.5 for distant",
            "A close-up loss of 1.2 is not written down; a magnification of 0.5 would have it.",
        ),
        (
            fact(Reason.AMBIENT_ADDS, patch="card", margin_stops=3.0),
            "ambient light",
            "By the ambient check the room lies 3.0 stops below the level wanted at card, at these settings, and adds to "
            "what the flash gives.",
        ),
        (
            fact(Reason.FLASH_VARIES, lights=("A", "B"), deviation_stops=0.08, off_stops=0.15),
            "flash variation",
            "Runs of A and B at one power scatter by 0.08 (standard deviation): 0.15 is 1.9 of it.",
        ),
    ],
)
def test_each_cause_has_a_name_and_a_sentence(told: Fact, title: str, sentence: str) -> None:
    assert title_of(explained(told)) == title
    assert sentence_of(explained(told)) == say(told) == sentence


def test_a_distance_is_told_in_the_readers_unit() -> None:
    told = explained(fact(Reason.CHANGE_NOT_MADE, "A", cause="distance", was=609.6, now=1219.2))

    assert title_of(told, Lengths(inches=True)) == "A: distance still at 24 in"
    assert sentence_of(told, Lengths(inches=True)).startswith("The change from 24 in to 48 in")


def test_two_causes_at_once_are_named_together_and_the_colour_comes_last() -> None:
    told = explained(STOOD, OFF, colour=fact(Reason.COLOUR_AGREES, bluer=True))

    assert title_of(told) == "A stood at 50 J, and B did not fire"
    assert sentence_of(told) == (
        "Ten marks up on the dial of key A, 50 J for 25 J, makes +1.0. The fill is written down as lit; the picture "
        "reads as it would without it. The patch is bluer as well, as without it."
    )
    assert (
        say(fact(Reason.COLOUR_DISAGREES, bluer=False)) == "But the patch is redder, as it would not be without it."
    )


def test_the_frame_that_tells_names_the_two_causes() -> None:
    told = fact(Reason.TEST_WITH_ONE_LIGHT, "A", first_stops=0.96, second_stops=None)
    found = Attribution((explained(STOOD), explained(OFF)), told)

    assert telling_frame_of(found) == (
        "A frame lit by A alone, nothing else touched: “A stood at 50 J” says +1.0 there against the prediction, “B did "
        "not fire” nothing."
    )
    assert say(told) == (
        "A frame lit by A alone, nothing else touched: the first says +1.0 there against the prediction, the second "
        "nothing."
    )
    assert telling_frame_of(Attribution()) == ""


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        (
            fact(Reason.TEST_WITHOUT_FLASH),
            "The same frame with every flash off, at 1 s: it shows what the room gives",
        ),
        (fact(Reason.TEST_FOR_SCATTER), "The same frame once more with nothing touched: a scatter moves"),
        (fact(Reason.TEST_ONCE_MORE), "The same frame once more with nothing touched."),
        (fact(Reason.TEST_WITH_DIAL_SET_ANEW, field="lights.A.power"), "Set the power of A to its logged mark anew"),
        (fact(Reason.TEST_WITH_DIAL_SET_ANEW, field="f_number"), "Set the f-number to its logged mark anew"),
    ],
)
def test_every_other_frame_that_tells(told: Fact, sentence: str) -> None:
    found = Attribution((explained(STOOD), explained(OFF)), told)

    assert telling_frame_of(found, CENTIMETRES).startswith(sentence)
    assert telling_frame_of(found) == say(told)


def test_every_cause_has_a_title_and_words() -> None:
    assert set(TITLES) <= set(WORDS)

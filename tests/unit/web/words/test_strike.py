"""What is asked before the set is struck, as it is said."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.ledger.builders import set_up, standing_light
from webapp.facts import Fact, fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.worth_measuring import Blank, WorthMeasuring, worth_measuring
from webapp.quantities.lengths import Lengths
from webapp.web.words.say import say
from webapp.web.words.strike import blank_example, blank_label, cost_words, error_words, lacking_name

INCHES = Lengths(inches=True)


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (fact(Reason.ASK_POWER, "A"), "What does the dial of A read?"),
        (fact(Reason.ASK_HOW_FAR, "A", and_where=False), "How far is A from the subject?"),
        (
            fact(Reason.ASK_HOW_FAR, "A", and_where=True),
            "How far is A from the subject, and where does it stand?",
        ),
        (fact(Reason.ASK_WHERE, "A"), "Where does A stand?"),
        (fact(Reason.ASK_BY_TAPE, "A", only_distance=True), "How far is A, measured with a tape?"),
        (fact(Reason.ASK_BY_TAPE, "A", only_distance=False), "Where does A stand, measured with a tape?"),
        (fact(Reason.ASK_APERTURE), "What does the aperture ring read?"),
        (
            fact(Reason.ASK_MAGNIFICATION),
            "How large is the subject on the sensor? A rule in the picture tells.",
        ),
        (fact(Reason.ASK_SUBJECT_DISTANCE), "How far is the lens from the subject?"),
        (fact(Reason.KNOWN_NOTHING), "unknown"),
        (
            fact(Reason.KNOWN_PLACE, x_mm=0.0, y_mm=-600.0, z_mm=-100.0, known="estimated"),
            "60.8 cm, in front, 10 cm below, estimated",
        ),
        (fact(Reason.KNOWN_DISTANCE, distance_mm=120.0, and_direction=True), "12 cm, direction unknown"),
        (fact(Reason.KNOWN_DISTANCE, distance_mm=120.0, and_direction=False), "12 cm"),
        (fact(Reason.KNOWN_MAGNIFICATION, magnification=0.5), "0.5, estimated"),
        (fact(Reason.ANYWHERE_ON_DIAL, span_stops=6.0), "anywhere on a dial of 6 stops"),
        (fact(Reason.ANYWHERE_ON_RING, widest=2.8, smallest=22.0), "anywhere from f/2.8 to f/22"),
        (fact(Reason.NOTHING_REBUILT), "without a distance nothing can be rebuilt"),
        (fact(Reason.DIRECTION_OFF, off_deg=15.0), "15° off on a flat subject"),
        (fact(Reason.DISTANCE_OFF, tape_mm=10.0), "±1 cm of its distance"),
        (fact(Reason.WORKED_OUT_OFF, tape_mm=10.0), "±1 cm of the distance that it was worked out from"),
        (
            fact(Reason.WORKED_OUT_FROM_NOTHING),
            "worked out from a distance that is not known any more",
        ),
        (fact(Reason.TAKEN_FOR_DISTANT), "taken for distant, while it may be as large as the lens goes"),
        (fact(Reason.ONLY_PERSPECTIVE), "only the perspective changes"),
    ],
)
def test_each_question_and_each_reason_is_said(told: Fact, words: str) -> None:
    assert say(told) == words


def test_lengths_are_told_in_the_readers_unit() -> None:
    place = fact(Reason.KNOWN_PLACE, x_mm=0.0, y_mm=-609.6, z_mm=254.0, known="taped")

    # The distance is along the floor and up, so that 24 in and 10 in up are 26 in away.
    assert say(place, INCHES) == "26 in, in front, 10 in above, taped"
    assert say(fact(Reason.DISTANCE_OFF, tape_mm=12.7), INCHES) == "±½ in of its distance"


def test_what_it_costs_is_said_in_a_line() -> None:
    asked = WorthMeasuring(
        "lights.A",
        fact(Reason.ASK_WHERE, "A"),
        fact(Reason.KNOWN_NOTHING),
        0.5,
        fact(Reason.NOTHING_REBUILT),
        None,
        (),
    )

    assert cost_words(asked) == "0.5 stop off in a reshoot: without a distance nothing can be rebuilt"
    assert error_words(0.004) == "light unchanged"
    assert cost_words(replace(asked, error_stops=0.0, because=fact(Reason.ONLY_PERSPECTIVE))) == (
        "only the perspective changes"
    )


def test_what_is_lacking_has_a_name() -> None:
    lacking = worth_measuring(set_up("8", standing_light("A", power=None, distance_mm=None), magnification=0.0))

    assert [lacking_name(each) for each in lacking] == ["place of A", "power of A", "subject distance"]


@pytest.mark.parametrize(
    ("blank", "label", "example", "in_inches"),
    [
        (Blank("lights.A.power", "400 J"), "power of A", "400 J", "400 J"),
        (Blank("lights.A.distance"), "distance of A", "60 cm", "24 in"),
        (Blank("lights.B.height"), "height of B", "20 cm above", "8 in above"),
        (Blank("lights.B.bearing"), "bearing of B", "45 left", "45 left"),
        (Blank("f_number"), "f-number", "f/11", "f/11"),
        (Blank("magnification"), "magnification", "1:2, or distant", "1:2, or distant"),
        (Blank("subject_distance"), "subject distance", "60 cm", "24 in"),
    ],
)
def test_what_can_be_answered_has_a_label_and_an_example(
    blank: Blank, label: str, example: str, in_inches: str
) -> None:
    assert (blank_label(blank), blank_example(blank), blank_example(blank, INCHES)) == (label, example, in_inches)

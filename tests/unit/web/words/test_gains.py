"""What each light gave, as it is said."""

from __future__ import annotations

import pytest

from webapp.facts import Fact, fact
from webapp.ledger.evidence_reasons import Reason
from webapp.web.words.say import say


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        (fact(Reason.GAVE_OTHERWISE, "A", stops=-0.6, error_stops=0.02), "A gave 0.60 less than logged (±0.02)."),
        (
            fact(Reason.GAVE_OTHERWISE, "ambient", stops=1.5, error_stops=0.001),
            "The room gave 1.50 more than logged (±0.01).",
        ),
        (fact(Reason.ALL_GAVE, stops=1.0, error_stops=0.02), "All lights gave 1.00 more than logged, alike (±0.02)."),
        (fact(Reason.GAVE_NOTHING, "C"), "C gave nothing."),
        (
            fact(Reason.LEFT_OVER_THERE, x=0.1, y=0.2, stops=0.4, redder_stops=0.02),
            "Upper left, 0.4 stop more light left over: outlined on the picture.",
        ),
        (
            fact(Reason.LEFT_OVER_THERE, x=0.5, y=0.5, stops=-1.2, redder_stops=None),
            "Middle, 1.2 stops less light left over: outlined on the picture.",
        ),
        (
            fact(Reason.LEFT_OVER_THERE, x=0.9, y=0.9, stops=0.02, redder_stops=-0.8),
            "Lower right, 0.8 stop bluer left over: outlined on the picture.",
        ),
        (
            fact(Reason.LEFT_OVER_BY_NO_LIGHT),
            "No light brings that by giving more or less: look for a reflection, a flag, a head that was turned, or "
            "something that was moved.",
        ),
        (
            fact(Reason.PICTURE_IS_NO_SUM),
            "As a whole this picture is no sum of the frames lit by one light alone: the camera, the subject or a light's "
            "place was another. So it is not told where light is left over.",
        ),
        (
            fact(Reason.GAVE_THOUGH_OFF, "C", stops=-0.1, error_stops=0.03),
            "C is logged as off and gave light, 0.10 less than it would at its mark (±0.03).",
        ),
        (
            fact(Reason.GAVE_ANOTHER_COLOUR, "A", redder_stops=-0.7, error_stops=0.04),
            "A was 0.70 bluer than in its own frame (±0.04).",
        ),
        (fact(Reason.GAVE_AS_LOGGED, sources=("B", "C", "ambient")), "B, C and the room gave as logged."),
        (fact(Reason.GAVE_AS_LOGGED, sources=("B",)), "B gave as logged."),
        (fact(Reason.GAVE_TOO_LITTLE, sources=("B", "C")), "B and C gave too little here to be told."),
        (
            fact(Reason.LEFT_OVER, "label", stops=-0.4, redder_stops=0.02),
            "Something local at label: 0.40 darker than the lights together make it.",
        ),
        (
            fact(Reason.LEFT_OVER, "label", stops=0.4, redder_stops=-0.3),
            "Something coloured at label: 0.40 brighter, 0.30 bluer than the lights together make it.",
        ),
        (fact(Reason.SOLO_WOULD_TELL, "B"), "A frame lit by B alone would tell what each light gave."),
    ],
)
def test_what_each_light_gave_is_said_in_a_sentence(told: Fact, sentence: str) -> None:
    assert say(told) == sentence

"""Two pictures over each other, as it is said."""

from __future__ import annotations

import pytest

from webapp.facts import Fact, fact
from webapp.quantities.lengths import Lengths
from webapp.shoots.reasons import Reason
from webapp.web.words.say import say


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        (
            fact(Reason.LAID_BY_FIELD, first_mm=72.0, second_mm=360.0),
            "Laid over each other by the field about its middle: 72 mm and 36 cm wide.",
        ),
        (fact(Reason.SAME_PIXELS), "The pictures have the same pixels."),
        (
            fact(Reason.SCALED_TO_FIELD),
            "The pictures differ in size and are scaled to the same field, which takes them for uncropped.",
        ),
        (
            fact(Reason.FIELDS_TOO_FAR_APART, first_mm=72.0, second_mm=3600.0),
            "The pictures show fields of 72 mm and 360 cm: too far apart to be laid over each other.",
        ),
        (
            fact(Reason.ONE_ON_ITS_SIDE),
            "One picture is upright and the other lies on its side, and no magnification on both tells how their fields "
            "lie: put the magnification into the frames.",
        ),
        (
            fact(Reason.CROPPED_SOMEWHERE),
            "One of the pictures was cropped, and where is not known: there is no saying which parts belong together.",
        ),
        (
            fact(Reason.SHAPES_DIFFER),
            "The pictures have different shapes, and no magnification on both tells their fields: put the magnification "
            "into the frames.",
        ),
        (fact(Reason.NO_PICTURE_TO_SHOW, frame=4), "Frame 4 has no picture that can be shown."),
    ],
)
def test_each_reason_is_said(told: Fact, sentence: str) -> None:
    assert say(told) == sentence


def test_fields_are_told_in_the_readers_unit() -> None:
    told = fact(Reason.LAID_BY_FIELD, first_mm=254.0, second_mm=50.8)

    assert say(told, Lengths(inches=True)).endswith("10 in and 2 in wide.")

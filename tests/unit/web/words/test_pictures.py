"""What is noted on a picture, as it is said."""

from __future__ import annotations

import pytest

from webapp.facts import Fact, fact
from webapp.pictures.reasons import Reason
from webapp.web.words.say import say


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        (
            fact(Reason.PATCH_CUT_AT_EDGE, "rim"),
            "The patch “rim” reaches past the edge of the picture; what lies inside was measured.",
        ),
        (fact(Reason.READ_REDUCED, reduced_by=2), "The picture was read at half size."),
        (fact(Reason.READ_REDUCED, reduced_by=8), "The picture was read at an eighth of its size."),
        (
            fact(Reason.NOT_TOLD_FROM_BLACK, below_stops=9.26),
            "The patch cannot be told from black: it lies at least 9.3 stops below clipping.",
        ),
        (
            fact(Reason.PATCH_CLIPS, clipped_share=0.034),
            "3\u00a0% of the patch is clipped: its light is at least what was read.",
        ),
        (
            fact(Reason.PROFILE_CONVERTED, profile="Display P3"),
            "The embedded colour profile (Display P3) was converted to sRGB.",
        ),
        (
            fact(Reason.PROFILE_CONVERTED, profile=""),
            "The embedded colour profile (without a name) was converted to sRGB.",
        ),
        (
            fact(Reason.FOLDER_AWAY, folder="/set"),
            "The watched folder /set cannot be read; pictures are taken in again when it is back.",
        ),
    ],
)
def test_a_note_is_a_sentence(told: Fact, sentence: str) -> None:
    assert say(told) == sentence

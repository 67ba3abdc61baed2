"""What was done to a frame, as its page says it."""

from __future__ import annotations

import pytest

from webapp.facts import Fact, fact
from webapp.ledger import evidence_reasons
from webapp.shoots.reasons import Reason
from webapp.web.words.frames import completed_words, revision_words


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ([fact(Reason.REVISION_NOTED, text="changed iso")], "changed iso"),
        ([fact(Reason.FIELDS_CHANGED, fields=("lights.A.power", "because"))], "changed lights.A.power, because"),
        ([fact(Reason.VALUE_HELD, "iso", held="file")], "iso: the file holds"),
        ([fact(Reason.VALUE_HELD, "iso", held="set")], "iso: the set-up holds"),
        ([fact(Reason.FRAME_TAKEN_BACK)], "excluded"),
        ([fact(Reason.FRAME_BROUGHT_BACK)], "included again"),
        ([fact(Reason.REVISION_PUT_BACK, revision=3)], "revision 3 put back"),
        ([fact(Reason.FILE_SETTINGS_TAKEN_OVER)], "the file's settings were taken over"),
        (
            [fact(Reason.COMPLETED_BEFORE_STRIKING, fields=("lights.A.position", "f_number"))],
            "before the set was struck: place of A, f-number",
        ),
        (
            [
                fact(Reason.EXPLAINED_BY_PICTURE),
                fact(evidence_reasons.Reason.DID_NOT_FIRE, "B", light="fill B"),
                fact(Reason.FIELDS_CHANGED, fields=("lights.B.lit",)),
            ],
            "explained by the picture (B did not fire): changed lights.B.lit",
        ),
        ([fact(Reason.EXPLAINED_BY_PICTURE)], "explained by the picture"),
        ([], ""),
    ],
)
def test_a_revision_says_what_was_changed(told: list[Fact], words: str) -> None:
    assert revision_words(told) == words


@pytest.mark.parametrize(
    ("field", "words"),
    [
        ("lights.B.power", "power of B"),
        ("lights.A.distance", "distance of A"),
        ("magnification", "magnification"),
        ("subject_distance", "subject distance"),
        ("things", "what else stands on the set"),
    ],
)
def test_what_was_completed_is_named(field: str, words: str) -> None:
    assert completed_words(field) == words

"""Why a patch of a picture has no difference, as it is said."""

from __future__ import annotations

import pytest

from webapp.facts import Fact, fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.reasons import Reason as LedgerReason
from webapp.web.words.say import maybe_say


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        (None, ""),
        (
            fact(Reason.NO_REFERENCE_READING),
            "The reference frame has no reading of this patch from the same kind of file.",
        ),
        (fact(Reason.NO_REFERENCE_FRAME), "There is no reference frame with a reading to compare it with."),
        (
            fact(Reason.NOT_IN_RECIPE),
            "The recipe has no reading of a patch with this name from the same kind of file.",
        ),
        (fact(Reason.CHECK_PREDICTS_NOTHING), "An ambient check: no flash, so nothing is predicted."),
        (fact(Reason.PATCH_IS_BLACK), "The patch cannot be told from black, so there is no difference to take."),
        (fact(Reason.PATCH_IS_CLIPPED), "Too much of the patch is clipped to be compared."),
        (
            fact(Reason.BLACK_IN_REFERENCE, in_recipe=False),
            "In the reference frame this patch cannot be told from black.",
        ),
        (
            fact(Reason.CLIPPED_IN_REFERENCE, in_recipe=True),
            "Too much of this patch is clipped in the recipe's picture to be compared.",
        ),
        (fact(LedgerReason.NO_TOTAL_ALL_OFF), "No total: every light is off."),
        (fact(LedgerReason.NO_TOTAL_BALANCE, "B", light="B"), "No total: the balance of B is unknown."),
        (
            fact(LedgerReason.NO_TOTAL_SHARE, "B"),
            "No total: the share of B is unknown. A frame lit by B alone, with the same camera settings, would give it.",
        ),
    ],
)
def test_why_there_is_no_difference(told: Fact | None, sentence: str) -> None:
    assert maybe_say(told) == sentence

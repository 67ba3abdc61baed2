"""What the picture of a frame says, and why it says nothing of a patch."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.evidence_reasons import Reason

if TYPE_CHECKING:
    from webapp.web.words.say import Say


def _where(told: Fact) -> str:
    return "the recipe's picture" if told["in_recipe"] else "the reference frame"


WORDS: Final[Mapping[str, Say]] = {
    Reason.NO_REFERENCE_READING: lambda *_: (
        "The reference frame has no reading of this patch from the same kind of file."
    ),
    Reason.NO_REFERENCE_FRAME: lambda *_: "There is no reference frame with a reading to compare it with.",
    Reason.NOT_IN_RECIPE: lambda *_: (
        "The recipe has no reading of a patch with this name from the same kind of file."
    ),
    Reason.CHECK_PREDICTS_NOTHING: lambda *_: "An ambient check: no flash, so nothing is predicted.",
    Reason.PATCH_IS_BLACK: lambda *_: "The patch cannot be told from black, so there is no difference to take.",
    Reason.PATCH_IS_CLIPPED: lambda *_: "Too much of the patch is clipped to be compared.",
    Reason.BLACK_IN_REFERENCE: lambda told, _: f"In {_where(told)} this patch cannot be told from black.",
    Reason.CLIPPED_IN_REFERENCE: lambda told, _: (
        f"Too much of this patch is clipped in {_where(told)} to be compared."
    ),
}

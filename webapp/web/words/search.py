"""What a search set aside to find anything, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.quantities.lengths import Lengths
from webapp.recipes.reasons import Reason
from webapp.web.words.figures import names

if TYPE_CHECKING:
    from webapp.web.words.say import Say


def _some_words(told: Fact, _: Lengths) -> str:
    figures = ", ".join(names(told, "figures"))
    if not figures:
        return "No recipe has every word; these have some."
    return f"No recipe has every word at {figures}; these have some of it."


WORDS: Final[Mapping[str, Say]] = {
    Reason.SOME_WORDS_FOUND: _some_words,
    Reason.FIGURES_SET_ASIDE: lambda told, _: (
        f"Nothing found at {', '.join(names(told, 'figures'))}: these are without it."
    ),
    Reason.TOO_MANY_TO_RANK: lambda told, _: (
        f"More than {told.number('counted'):,.0f} recipes have these words, and only the newest of them are ranked. "
        "Another word narrows it."
    ),
}

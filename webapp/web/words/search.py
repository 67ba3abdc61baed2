"""What a search set aside to find anything, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.recipes.reasons import Reason
from webapp.web.words.figures import names

if TYPE_CHECKING:
    from webapp.web.words.say import Say


WORDS: Final[Mapping[str, Say]] = {
    Reason.SOME_WORDS_FOUND: lambda _, __: "No recipe has every word; these have some.",
    Reason.NOT_ASKED_OF_FRAMES: lambda told, _: (
        f"Frames are not searched by {' and '.join(names(told, 'figures'))}; recipes are."
    ),
    Reason.TOO_MANY_TO_RANK: lambda told, _: (
        f"More than {told.number('counted'):,.0f} recipes have these words, and only the newest of them are ranked. "
        "Another word narrows it."
    ),
}

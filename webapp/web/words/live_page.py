"""What a class reads of a frame, in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.entries import Cause
from webapp.quantities.lengths import CENTIMETRES
from webapp.recipes.reasons import Reason
from webapp.recipes.share.live_page import LiveChange
from webapp.web.words.entries import CAUSE_WORDS, setting_of
from webapp.web.words.plain_kit import piece_words

if TYPE_CHECKING:
    from webapp.web.words.say import Say


def _cause(told: Fact) -> str:
    return f"{told.about} {CAUSE_WORDS[Cause(told.text('cause'))]}".strip()


WORDS: Final[Mapping[str, Say]] = {
    Reason.CHANGED: lambda told, _: f"{_cause(told)} {setting_of(told, 'was')} to {setting_of(told, 'now')}",
    Reason.FITTED: lambda told, _: f"{_cause(told)} now",
}


def change_words(change: LiveChange) -> str:
    """One cause of change: "aperture f/8 to f/11", "A modifier now disc 60 cm"."""
    words = WORDS[change.fact.reason](change.fact, CENTIMETRES)
    if change.fact.reason == Reason.FITTED:
        return f"{words} {', '.join(map(piece_words, change.fitted)) or 'none'}"
    return words


def kit_words(kit: Iterable[Fact]) -> str:
    """What a light is made of."""
    return "; ".join(map(piece_words, kit))

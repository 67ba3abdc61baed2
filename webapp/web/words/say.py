"""Say a fact. Each module of this room gives its `WORDS`; here they are one list, so that any fact can be said."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from webapp.facts import Fact
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.web.words import (
    adapting,
    assumptions,
    backups,
    balance,
    building,
    cautions,
    checklist,
    compare,
    corrections,
    differences,
    drafts,
    entries,
    evidence,
    explanations,
    frames,
    gains,
    in_tray,
    live_page,
    mix,
    moves,
    open_points,
    pictures,
    plain_kit,
    plan,
    proof,
    remix,
    search,
    set_up,
    shadows,
    strike,
    worksheet_cautions,
)

Say = Callable[[Fact, Lengths], str]
"""How one reason is said: the fact, and how the reader likes lengths."""

_ALL: Final[tuple[Mapping[str, Say], ...]] = (
    adapting.WORDS,
    assumptions.WORDS,
    backups.WORDS,
    balance.WORDS,
    building.WORDS,
    cautions.WORDS,
    checklist.WORDS,
    compare.WORDS,
    corrections.WORDS,
    differences.WORDS,
    drafts.WORDS,
    entries.WORDS,
    evidence.WORDS,
    explanations.WORDS,
    frames.WORDS,
    gains.WORDS,
    in_tray.WORDS,
    live_page.WORDS,
    mix.WORDS,
    moves.WORDS,
    open_points.WORDS,
    pictures.WORDS,
    plain_kit.WORDS,
    plan.WORDS,
    proof.WORDS,
    remix.WORDS,
    search.WORDS,
    set_up.WORDS,
    shadows.WORDS,
    strike.WORDS,
    worksheet_cautions.WORDS,
)


def say(told: Fact, lengths: Lengths = CENTIMETRES) -> str:
    """The sentence for a fact. Raises KeyError for a reason that has no words (a test holds that there is none)."""
    for words in _ALL:
        if told.reason in words:
            return words[told.reason](told, lengths)
    raise KeyError(f"no words for {told.reason}")


def maybe_say(told: Fact | None, lengths: Lengths = CENTIMETRES) -> str:
    """The sentence for a fact; "" where there is none."""
    return "" if told is None else say(told, lengths)

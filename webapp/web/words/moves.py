"""Moves on the plan: what taking one back does."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.moves import Move, way_back
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.web.words.strike import place_words

if TYPE_CHECKING:
    from webapp.web.words.say import Say


def way_back_words(move: Move, lengths: Lengths = CENTIMETRES) -> str:
    """What taking a move back does: "Put B back: 100 cm, 50° right, 20 cm above, taped"."""
    told = way_back(move)
    if len(told) == 1:
        return WORDS[told[0].reason](told[0], lengths)
    names = [_name(each) for each in told]
    return f"Put {', '.join(names[:-1])} and {names[-1]} back"


def _name(told: Fact) -> str:
    return told.about.replace("-", " ")


def _put_back(told: Fact, lengths: Lengths) -> str:
    name = f"Put {_name(told)} back"
    if told["same_place"]:
        return f"{name} as it was{' aimed' if told['only_aim'] else ''}"
    return f"{name}: {'unknown' if told['x_mm'] is None else place_words(told, lengths)}"


WORDS: Final[Mapping[str, Say]] = {
    Reason.PUT_LIGHT_BACK: _put_back,
    Reason.BRING_LIGHT_BACK: lambda told, _: f"Bring {_name(told)} back into the set",
    Reason.PUT_THING_BACK: _put_back,
    Reason.BRING_THING_BACK: lambda told, _: f"Bring {_name(told)} back",
    Reason.TAKE_THING_AWAY: lambda told, _: f"Take {_name(told)} away again",
}

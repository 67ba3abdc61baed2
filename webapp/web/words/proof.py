"""The ambient check as a proof: what it proves, whether it still does, and what would widen the margin."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.ambient_proof import AmbientProof
from webapp.ledger.entries import Cause
from webapp.ledger.evidence_reasons import Reason
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.web.words.entries import CAUSE_WORDS
from webapp.web.words.in_picture import place_words
from webapp.web.words.listing import joined

if TYPE_CHECKING:
    from webapp.web.words.say import Say


NO_PROOF: Final = "Ambient not proven yet: make an ambient check"


def proof_line(proof: AmbientProof, lengths: Lengths = CENTIMETRES) -> str:
    """The proof as the head of the page says it."""
    how = ("by eye, " if proof.by_eye else "") + ("at least " if proof.is_bound else "")
    words = WORDS[proof.reason.reason](proof.reason, lengths)
    carried = f" (carried from “{proof.shot}”)" if proof.shot else ""
    if proof.reason.reason == Reason.PROOF_NOT_CARRIED:
        return f"Ambient not proven: {words} of “{proof.shot}”"
    if proof.reason.reason in (Reason.CHECK_TOO_BRIGHT, Reason.CHECK_IS_CLIPPED):
        return f"Ambient not proven{carried}: {words}"
    if proof.is_old and proof.reason.reason == Reason.PROOF_HOLDS:
        words = "old: check again"
    return f"Ambient proven {how}{proof.proven_stops:.1f} stops below{carried} · {words}"


def age_words(proof: AmbientProof) -> str:
    """When the check was made and by when to make it again, by the session's clock; empty where that is not known."""
    made, repeat = proof.made_at, proof.repeat_at
    if made is None:
        return ""
    if repeat is None:
        return f"checked {made:%H:%M}"
    if proof.is_old:
        return f"checked on {made.day} {made:%B, %H:%M}"
    return f"checked {made:%H:%M}, again by {repeat:%H:%M}"


def _void(told: Fact, _: Lengths) -> str:
    lamps = told["lamps"]
    letters = [str(each) for each in lamps] if isinstance(lamps, tuple) else []
    several = len(letters) > 1
    return (
        f"void: modelling lamp{'s' if several else ''} of {' and '.join(letters)} {'are' if several else 'is'} on now"
    )


def _untold(told: Fact, _: Lengths) -> str:
    return f"cannot be carried over: {CAUSE_WORDS[Cause(told.text('cause'))]} is unknown"


def _too_bright(told: Fact, _: Lengths) -> str:
    brighter = f"{told.number('brighter_stops'):.1f} stops brighter than the reference frame"
    return f"the check, frame {told['frame']}, reads {brighter}. A flash fired, or the room is lit: check again"


def _clipped(told: Fact, _: Lengths) -> str:
    return (
        f"the check, frame {told['frame']}, is clipped at {place_words(told)}, and the room gave at least so much. Check "
        "again with a shorter shutter"
    )


def _not_carried(told: Fact, _: Lengths) -> str:
    what = told["what"]
    names = [_MOVED.get(str(each), str(each)) for each in what] if isinstance(what, tuple) else []
    several = len(names) > 1 or names == [_MOVED["things"]]
    return f"{joined(names)} {'are' if several else 'is'} not as in the ambient check"


_MOVED: Final = {"camera": "the camera", "lens": "the lens", "view": "the view", "things": "the things in the set"}


def _nearest(told: Fact, _: Lengths) -> str:
    if told["patch"]:
        return f"Of the whole picture the room comes nearest inside {told['patch']}: the mark on the picture shows where."
    return (
        f"Of the whole picture the room comes nearest at {place_words(told)}, outside every patch: the mark on the picture "
        "shows where. There the margin is taken below mid-tone."
    )


def _unlike(told: Fact, _: Lengths) -> str:
    warmth = told.number("warmth_stops")
    kind = "warmer" if warmth > 0 else "cooler"
    return f"The room's light is {kind} than the flash: red over blue differs by {abs(warmth):.1f} stops."


def _widen(told: Fact, _: Lengths) -> str:
    ways = [f"{told.number('short_stops'):.1f} stops short of {told.number('wanted_stops'):.0f}: darken the room"]
    if told["sync"] is not None:
        gives = told.number("gives_stops")
        ways.append(f"or shorten the shutter, up to {told.text('sync')} (gives {gives:.1f}, flash unchanged)")
    if told["close_stops"] is not None:
        ways.append(f"or close down by {told.number('close_stops'):.1f} and give the flash as much more")
    return ", ".join(ways) + "."


WORDS: Final[Mapping[str, Say]] = {
    Reason.PROOF_HOLDS: lambda *_: "still holds",
    Reason.PROOF_FALLS: lambda told, _: f"falls to {told.number('now_stops'):.1f}: prove it again",
    Reason.PROOF_IS_VOID: _void,
    Reason.PROOF_UNTOLD: _untold,
    Reason.CHECK_TOO_BRIGHT: _too_bright,
    Reason.CHECK_IS_CLIPPED: _clipped,
    Reason.PROOF_NOT_CARRIED: _not_carried,
    Reason.ROOM_COMES_NEAREST: _nearest,
    Reason.ROOM_LIKE_FLASH: lambda *_: "The room's light has the colour of the flash.",
    Reason.ROOM_UNLIKE_FLASH: _unlike,
    Reason.WIDEN_MARGIN: _widen,
    Reason.LOOK_WITH_THE_EYE: lambda *_: (
        "Look with the eye as well: a shiny surface shows the room, however dark the patch beside it is."
    ),
}

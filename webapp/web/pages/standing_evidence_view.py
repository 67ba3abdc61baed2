"""What the pictures prove of the set-up now, as lines: the ambient proof, the totals, the lighting ratio."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.ledger.ambient_proof import WANTED_MARGIN_STOPS, AmbientProof, Standing
from webapp.ledger.ratio import CONVENTIONS
from webapp.ledger.reasons import Reason as Origin
from webapp.shoots.evidence import PatchTotal, StandingEvidence
from webapp.web.pages.figures import signed
from webapp.web.words.figures import percent
from webapp.web.words.proof import NO_PROOF, age_words, proof_line
from webapp.web.words.ratios import both_ratios, key_to_fill_text
from webapp.web.words.say import maybe_say, say


@dataclass(frozen=True, slots=True)
class AmbientLine:
    """The proof as the head of the shot's page says it, with where it was made."""

    text: str
    tone: str
    href: str = ""
    age: str = ""
    key: str = "Ambient check"


def ambient_line(proof: AmbientProof | None) -> AmbientLine:
    """The line about the ambient light."""
    if proof is None:
        return AmbientLine(NO_PROOF, "quiet")
    narrow = proof.standing is Standing.HOLDS and not proof.is_wide
    line = proof_line(proof)
    text = f"{line} ({WANTED_MARGIN_STOPS:.0f} wanted)" if narrow else line
    holds = proof.standing is Standing.HOLDS and proof.is_wide and not proof.is_old
    tone = "even" if holds else "over"
    return AmbientLine(text, tone, f"/frames/{proof.frame_id}", age_words(proof), "Check again")


@dataclass(frozen=True, slots=True)
class RatioView:
    """The lighting ratio as it stands, and the form that aims at another."""

    text: str
    stands: str
    conventions: tuple[str, ...] = CONVENTIONS


def total_lines(evidence: StandingEvidence) -> tuple[str, ...]:
    """The measured totals, a line a patch."""
    return tuple(_total_line(each) for each in evidence.totals)


def _total_line(found: PatchTotal) -> str:
    if found.total.stops is None:
        words = maybe_say(found.total.reason)
        return f"At {found.name}: {words[:1].lower()}{words[1:]}"
    shares = ", ".join(f"{letter} {percent(share)}" for letter, share in sorted(found.shares.by_light.items()))
    where = "the recipe's frame" if _is_of_recipe(found) else "the reference frame"
    how = "read by eye" if found.shares.by_eye else "measured"
    return f"Total at {found.name} {signed(found.total.stops)} (shares {how} in {where}: {shares})."


def _is_of_recipe(found: PatchTotal) -> bool:
    return any(each.reason == Origin.SHARE_OF_RECIPE for each in found.shares.origin.values())


def ratio_view(evidence: StandingEvidence) -> RatioView | None:
    found = evidence.ratio
    if found is None or found.ratio is None:
        return None
    ratio, stops = found.ratio, found.ratio.key_minus_fill_stops
    return RatioView(
        f"Key {ratio.key} to fill {ratio.fill} at {found.name}: {both_ratios(stops)}, {signed(stops)} stops.",
        key_to_fill_text(stops),
    )


def proof_lines(proof: AmbientProof) -> tuple[str, ...]:
    """What is proven, when it was, and what to do about it."""
    age = age_words(proof)
    lines = (proof_line(proof) + ".", f"{age[:1].upper()}{age[1:]}." if age else "")
    return tuple(filter(None, (*lines, *map(say, proof.advice))))


def room_lines(proof: AmbientProof) -> tuple[str, ...]:
    """What the room's light does, where, and its colour."""
    lines = []
    if proof.now_stops is not None and proof.mid_tone_lift_stops is not None:
        at_most = "at most " if proof.is_bound else ""
        lines.append(
            f"At a margin of {proof.now_stops:.1f} the room lifts mid-tones by {at_most}"
            f"{signed(proof.mid_tone_lift_stops, 2)} and a shadow five stops down by {at_most}"
            f"{signed(proof.shadow_lift_stops, 2)}."
        )
    return tuple(filter(None, (*lines, maybe_say(proof.where), maybe_say(proof.colour))))

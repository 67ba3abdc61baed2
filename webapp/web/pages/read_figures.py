"""What was read of a frame, as its line in the log says it."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.ledger.evidence import FrameEvidence, PatchEvidence
from webapp.web.pages.figures import signed
from webapp.web.words.say import maybe_say

CLIPPED_SHARE = 0.01
"""So much of a patch clipped, and what it reads is a bound."""


@dataclass(frozen=True, slots=True)
class ReadFigures:
    """Reading and unexplained difference as a line of the log has them."""

    read: str = ""
    unexplained: str = ""
    tone: str = "unknown"
    title: str = ""


def read_figures(evidence: FrameEvidence) -> ReadFigures:
    """Of the patch that has most to say: the one furthest off for its tolerance, else the first."""
    seen = evidence.furthest if evidence.furthest is not None and evidence.furthest.is_told else evidence.first
    if seen is None:
        return ReadFigures()
    more = f"{seen.name}, " if len(evidence.patches) > 1 else ""
    tolerance = f"{more}tolerance ±{seen.tolerance_stops:.1f}" if seen.tolerance_stops else maybe_say(seen.why_not)
    return ReadFigures(read_words(seen), signed(seen.unexplained_stops), tone_of(seen), tolerance)


def read_words(seen: PatchEvidence) -> str:
    """What a patch reads, and whether an eye judged it."""
    if seen.by_eye:
        return f"{'black' if seen.read_stops is None else signed(seen.read_stops)} by eye"
    if seen.read_stops is None:
        return f"< {signed(seen.at_most_stops)}"
    return ("≥ " if seen.clipped_high_share > CLIPPED_SHARE else "") + signed(seen.read_stops)


def tone_of(seen: PatchEvidence) -> str:
    """Whether what is unexplained lies over or under, within the tolerance, or is not known."""
    if seen.unexplained_stops is None:
        return "unknown"
    return ("over" if seen.unexplained_stops > 0 else "under") if seen.is_told else "even"

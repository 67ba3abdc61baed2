"""The patches of a frame as a recipe keeps them: where they lie, what was wanted and read there, whose light it was.
Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from webapp.ledger.evidence import MID_TONE_STOPS, warmth_of
from webapp.ledger.reshoot_target import TargetPatch
from webapp.pictures.readings import MIDDLE
from webapp.recipes.document import PatchPart, SharePart
from webapp.recipes.plain_text import plain_text
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.readings import PatchOfFrame

Shares = Mapping[str, float]


def patch_parts(
    frame: LoggedFrame, patches: Sequence[PatchOfFrame], shares: Callable[[str | None], Shares]
) -> tuple[PatchPart, ...]:
    """The patches of the shot as this frame read them. Where none is drawn, the middle, if it was read. `shares`
    gives those of a patch in the frame that the shot is compared with."""
    balances = {line.acts_on: line.stops for line in frame.ledger.lit if not line.metered}
    return tuple(
        _part(each, shares_here(shares(each.patch.id if each.patch else None), balances))
        for each in patches
        if each.patch is not None or each.read is not None
    )


def _part(of: PatchOfFrame, shares: Shares) -> PatchPart:
    place, reading = of.patch or MIDDLE, of.read
    level = None if reading is None else reading.level_stops
    return PatchPart(
        name=plain_text(of.name),
        x=place.x,
        y=place.y,
        width=place.width,
        height=place.height,
        wanted_stops=of.wanted_stops,
        bearing_deg=of.patch.bearing_deg if of.patch else None,
        elevation_deg=of.patch.elevation_deg if of.patch else None,
        kind=reading.kind if reading else "",
        read_stops=None if level is None else level - MID_TONE_STOPS,
        tolerance_stops=reading.tolerance_stops if reading else None,
        estimated=reading.estimated if reading else False,
        red_over_blue_stops=warmth_of(reading) if reading else None,
        shares=tuple(SharePart(letter=letter, share=share) for letter, share in shares.items()),
    )


def shares_here(shares: Shares, balances: Mapping[str, float | None]) -> dict[str, float]:
    """The shares of the lit lights in a frame, from those in the reference frame and their balances since.

    share here = share × 2^balance / sum of the same. None where a share or a balance of a lit light is unknown: what
    is not known of one is not known of any.

    >>> shares_here({"A": 0.5, "B": 0.5}, {"A": 0.0, "B": 1.0})
    {'A': 0.3333333333333333, 'B': 0.6666666666666666}
    """
    light = {
        letter: shares[letter] * 2.0**stops
        for letter, stops in balances.items()
        if stops is not None and letter in shares
    }
    whole = sum(light.values())
    if len(light) < len(balances) or whole <= 0.0:
        return {}
    return {letter: level / whole for letter, level in light.items()}


def target_patch(part: PatchPart) -> TargetPatch:
    """A recipe's patch as a reshoot is read against it."""
    return TargetPatch(
        name=part.name,
        wanted_stops=part.wanted_stops,
        kind=part.kind,
        read_stops=part.read_stops,
        at_most_stops=part.read_stops or 0.0,
        tolerance_stops=part.tolerance_stops,
        estimated=part.estimated,
        red_over_blue_stops=part.red_over_blue_stops,
        shares={each.letter: each.share for each in part.shares},
    )

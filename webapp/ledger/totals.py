"""What one patch of the picture should read, from what each light did: shares, the total, the lighting ratio.

A share is how much of a patch's light in the reference frame comes from one light. It belongs to a patch and a
light, and is measured from a frame lit by that light alone. Light adds, stops do not: the predicted difference of a
patch is log2 of the sum of share times 2^balance over the lights that are lit. Where every light moved alike no
shares are needed; where they moved apart and a share is unknown there is no total.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Final

from webapp.facts import Fact, fact
from webapp.ledger.corrections import ALIKE_WITHIN_STOPS
from webapp.ledger.reasons import Reason
from webapp.optics import mixed_light

# What the others leave of a patch is no measure of a light once it is smaller than their own error.
_LEAST_LEFT_OVER: Final = 0.03


@dataclass(frozen=True, slots=True)
class Solo:
    """A patch in a frame lit by one light alone: its level in linear light, and the balance of that light there."""

    letter: str
    frame_number: int
    level: float
    balance_stops: float
    by_eye: bool = False


@dataclass(frozen=True, slots=True)
class Shares:
    """The shares of one patch by letter; a light that is not named is unknown. `origin` says where each is from.

    `sum_off_stops` is how far the sum of the frames lit by one light alone lies above the frame lit by all. `by_eye`:
    one of the levels was judged, not measured.
    """

    by_light: Mapping[str, float] = field(default_factory=dict)
    origin: Mapping[str, Fact] = field(default_factory=dict)
    sum_off_stops: float | None = None
    by_eye: bool = False


def measured_shares(reference_level: float, lit_in_reference: Collection[str], solos: Collection[Solo]) -> Shares:
    """The shares of a patch from its level in the reference frame and in frames lit by one light alone.

    share = level alone × 2^−balance / level of the reference frame. The one light of a reference frame has all of
    it; a single light without a frame of its own has what the others leave. Where every light has one, the shares
    are brought to a sum of 1 and `sum_off_stops` keeps what they came to.

    Raises ValueError for a level of the reference frame that is not above 0.

    >>> measured_shares(1.0, "AB", [Solo("A", 2, 0.75, 0.0)]).by_light
    {'A': 0.75, 'B': 0.25}
    """
    if not 0.0 < reference_level < math.inf:
        raise ValueError("The reference frame's patch must have a level above 0 to hold shares of it.")
    shares: dict[str, float] = {}
    origin: dict[str, Fact] = {}
    for solo in solos:
        shares[solo.letter] = solo.level * 2.0**-solo.balance_stops / reference_level
        origin[solo.letter] = fact(Reason.SHARE_OF_SOLO, solo.letter, frame=solo.frame_number)
    lit = list(lit_in_reference)
    if len(lit) == 1:
        shares[lit[0]], origin[lit[0]] = 1.0, fact(Reason.SHARE_OF_ONLY_LIGHT, lit[0])
        return Shares(shares, origin)
    missing = [letter for letter in lit if letter not in shares]
    known = sum(shares[letter] for letter in lit if letter in shares)
    if not missing and lit:
        for letter in lit:
            shares[letter] /= known
        return Shares(shares, origin, math.log2(known))
    if len(missing) == 1 and 1.0 - known >= _LEAST_LEFT_OVER:
        shares[missing[0]], origin[missing[0]] = 1.0 - known, fact(Reason.SHARE_LEFT_OVER, missing[0])
    return Shares(shares, origin)


@dataclass(frozen=True, slots=True)
class Total:
    """What a patch should read against the reference frame. `stops` None, with the reason why not."""

    stops: float | None
    reason: Fact | None = None


def predicted_difference(
    balances: Mapping[str, float | None], lit_in_reference: Collection[str], shares: Mapping[str, float]
) -> Total:
    """The total of a patch: `balances` are those of the lit lights, by letter.

    >>> round(predicted_difference({"A": 0.0, "B": 1.0}, "AB", {"A": 0.5, "B": 0.5}).stops, 3)
    0.585
    """
    if not balances:
        return Total(None, fact(Reason.NO_TOTAL_ALL_OFF))
    unknown = next((letter for letter, stops in balances.items() if stops is None), None)
    if unknown is not None:
        return Total(None, fact(Reason.NO_TOTAL_BALANCE, unknown, light=unknown))
    known = {letter: stops for letter, stops in balances.items() if stops is not None}
    missing = [letter for letter in known if letter not in shares]
    if missing:
        alike = max(known.values()) - min(known.values()) <= ALIKE_WITHIN_STOPS
        if alike and set(known) == set(lit_in_reference):
            return Total(sum(known.values()) / len(known))
        return Total(None, fact(Reason.NO_TOTAL_SHARE, missing[0]))
    return Total(summed_stops(known, shares))


def summed_stops(balances: Mapping[str, float], shares: Mapping[str, float]) -> float:
    """log2 of the sum of share times 2^balance; −infinity where nothing lights the patch."""
    light = sum(shares[letter] * 2.0**stops for letter, stops in balances.items())
    return math.log2(light) if light > 0.0 else -math.inf


@dataclass(frozen=True, slots=True)
class LightingRatio:
    """Key against fill at a patch. Two conventions are in use for the word; each is named with its number."""

    key: str
    fill: str
    key_minus_fill_stops: float

    @property
    def key_to_fill(self) -> float:
        return mixed_light.key_to_fill(self.key_minus_fill_stops)

    @property
    def sum_to_fill(self) -> float:
        return mixed_light.sum_to_fill(self.key_minus_fill_stops)


def lighting_ratio(
    roles: Mapping[str, str], balances: Mapping[str, float | None], shares: Mapping[str, float]
) -> LightingRatio | None:
    """The ratio of the light with the role key to the one with the role fill, both lit; None where there is no such
    pair or a share or balance of theirs is unknown."""
    key = next((letter for letter, role in roles.items() if role == "key" and letter in balances), None)
    fill = next((letter for letter, role in roles.items() if role == "fill" and letter in balances), None)
    if key is None or fill is None:
        return None
    key_balance, fill_balance = balances[key], balances[fill]
    key_share, fill_share = shares.get(key, 0.0), shares.get(fill, 0.0)
    if key_balance is None or fill_balance is None or key_share <= 0.0 or fill_share <= 0.0:
        return None
    return LightingRatio(key, fill, math.log2(key_share / fill_share) + key_balance - fill_balance)

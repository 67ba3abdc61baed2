"""What may lie behind an unexplained difference, in order, each checked by arithmetic.

Log and reading are held apart: nothing here says what was. Each explanation is a slip of a usual kind; the light it
would have made is added up through the shares of each patch, and what it then leaves unexplained is its test. An
explanation has to fit every patch at once, which is what tells two lights, and two causes at once, apart.

The order is common practice: what it leaves, in tolerances, squared, and on top how unusual the slip is.
"""

from __future__ import annotations

import math
from typing import Final

from webapp.facts import Fact, fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.explanations import Attribution, Case, Explanation, predicted_with
from webapp.ledger.slips import Slip, pairs_of_slips, single_slips

_MOST_TOLD: Final = 6
_CLEARLY_BETTER: Final = 0.5
# A gel that is missing shows in the colour; less than this is no colour to go by.
_TOLD_WARMTH_STOPS: Final = 0.08


def attribute(case: Case) -> Attribution:
    """The explanations that fit all patches; where none does, the two that come nearest.

    Silent where every patch lies within its tolerance.
    """
    if not any(abs(each.unexplained_stops) > each.tolerance_stops for each in case.patches):
        return Attribution()
    singles = [checked for slip in single_slips(case) if (checked := _checked(case, slip)) is not None]
    pairs = [checked for slip in pairs_of_slips(case) if (checked := _checked(case, slip)) is not None]
    ordered = sorted([*singles, *pairs], key=lambda each: (not each.fits, each.unusual, each.key))
    fitting = _one_a_place([each for each in ordered if each.fits])
    told = fitting[:_MOST_TOLD] or _nearest(case, ordered)
    return Attribution(tuple(told), discriminating_frame(case, told[0], told[1]) if len(told) > 1 else None)


def _one_a_place(ordered: list[Explanation]) -> list[Explanation]:
    """Of the marks of one dial only the likeliest; and a pair that has such a dial in it only where both together fit
    clearly better than it does alone."""
    kept: dict[tuple[str, ...], Explanation] = {}
    alone: dict[str, float] = {}
    for each in ordered:
        if len(each.changes) == 1:
            path = each.changes[0][0]
            alone[path] = min(alone.get(path, each.worst), each.worst)
    for each in ordered:
        paths = tuple(sorted(path for path, _ in each.changes)) or (each.key,)
        if len(paths) > 1 and any(each.worst > alone[path] - _CLEARLY_BETTER for path in paths if path in alone):
            continue
        kept.setdefault(paths, each)
    return list(kept.values())


def _nearest(case: Case, ordered: list[Explanation]) -> list[Explanation]:
    worst = max(abs(each.unexplained_stops) for each in case.patches)
    helping = [each for each in ordered if abs(each.leaves_most_stops) < worst / 2]
    return sorted(helping, key=lambda each: (abs(each.leaves_most_stops), each.unusual))[:2]


def _checked(case: Case, slip: Slip) -> Explanation | None:
    """A slip with what it leaves; None where it cannot be checked, or makes things worse."""
    leaves: dict[str, float] = {}
    worst = 0.0
    for patch in case.patches:
        would_read = predicted_with(case, patch, slip.effect)
        if would_read is None or not math.isfinite(would_read):
            return None
        leaves[patch.name] = patch.measured_stops - would_read
        worst = max(worst, abs(leaves[patch.name]) / patch.tolerance_stops)
    if max(map(abs, leaves.values())) >= max(abs(each.unexplained_stops) for each in case.patches):
        return None
    unusual, colour = _by_colour(case, slip)
    return Explanation(
        key=slip.key,
        causes=slip.causes,
        effect=slip.effect,
        leaves=leaves,
        worst=worst,
        unusual=unusual + worst**2,
        changes=slip.changes,
        colour=colour,
    )


def _by_colour(case: Case, slip: Slip) -> tuple[float, Fact | None]:
    """A missing gel takes its colour with it: where the patch says so, it comes first."""
    known = [each.warmth_stops for each in case.patches if each.warmth_stops is not None]
    if not slip.warmth_mired or not known:
        return slip.unusual, None
    furthest = max(known, key=abs)
    if abs(furthest) < _TOLD_WARMTH_STOPS:
        return slip.unusual, None
    bluer = furthest < 0
    if bluer == (slip.warmth_mired > 0):
        return slip.unusual - 0.5, fact(Reason.COLOUR_AGREES, bluer=bluer)
    return slip.unusual + 0.5, fact(Reason.COLOUR_DISAGREES, bluer=bluer)


def discriminating_frame(case: Case, one: Explanation, other: Explanation) -> Fact:
    """The cheapest frame that would tell two explanations apart, and what each of them says of it."""
    keys = {one.key, other.key}
    if "ambient" in keys:
        return fact(Reason.TEST_WITHOUT_FLASH)
    if "variation" in keys:
        return fact(Reason.TEST_FOR_SCATTER)
    lights_of = [frozenset({*each.effect.by_light, *each.effect.off, *each.effect.lit}) for each in (one, other)]
    lit = [light.letter for light in case.set_up.lights if light.lit]
    for letter in sorted(lights_of[0] ^ lights_of[1]):
        if len(lit) > 1 or letter not in lit:
            first, second = (_alone(each, letter) for each in (one, other))
            return fact(Reason.TEST_WITH_ONE_LIGHT, letter, first_stops=first, second_stops=second)
    dial = next((path for path, _ in (*one.changes, *other.changes)), "")
    return fact(Reason.TEST_WITH_DIAL_SET_ANEW, field=dial) if dial else fact(Reason.TEST_ONCE_MORE)


def _alone(explanation: Explanation, letter: str) -> float | None:
    """What a light alone would give against the prediction; None where it gives nothing at all."""
    effect = explanation.effect
    return None if letter in effect.off else effect.by_light.get(letter, 0.0) + effect.everywhere

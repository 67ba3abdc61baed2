"""What may lie behind an unexplained difference, in order, each checked by arithmetic.

Log and reading are held apart: nothing here says what was. Each explanation is a slip of a usual kind; the light it
would have made is added up through the shares of each patch, and what it then leaves unexplained is its test. An
explanation has to fit every patch at once, which is what tells two lights, and two causes at once, apart.

The order is common practice: what it leaves, in tolerances, squared, and on top how unusual the slip is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from webapp.facts import Fact, fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.explanations import Attribution, Case, Effect, Explanation, predicted_with
from webapp.ledger.gains import REDDER_A_MIRED, Gain, Solved
from webapp.ledger.slips import Slip, pairs_of_slips, single_slips, slips_of_each

_MOST_TOLD: Final = 12
_MOST_STRUCK: Final = 3
_CLEARLY_BETTER: Final = 0.5
# A gel that is missing shows in the colour; less than this is no colour to go by.
_TOLD_WARMTH_STOPS: Final = 0.08
_BY_COLOUR: Final = 0.5
_BELOW_THE_DIAL_STOPS: Final = 1.0


def attribute(case: Case) -> Attribution:
    """The explanations that fit, those that the colour contradicts last; where none fits, the two that come nearest.

    Silent where every patch lies within its tolerance, and where every light gave as logged: what is left over then is
    local, and no setting's.
    """
    if not any(abs(each.unexplained_stops) > each.tolerance_stops for each in case.patches):
        return Attribution()
    if case.sources is not None and not case.sources.differing and not case.sources.coloured:
        return Attribution()
    singles = [checked for slip in single_slips(case) if (checked := _checked(case, slip)) is not None]
    pairs = [checked for slip in _pairs(case) if (checked := _checked(case, slip)) is not None]
    ordered = sorted([*singles, *pairs], key=lambda each: (not each.fits, each.unusual, each.key))
    fitting = _one_a_place([each for each in ordered if each.fits])
    free = [each for each in fitting if not each.contradicted][:_MOST_TOLD]
    # What is set apart stands alone: two that are so are not.
    free = [replace(each, set_apart=each.set_apart and sum(one.set_apart for one in free) == 1) for each in free]
    told = [*free, *[each for each in fitting if each.contradicted][:_MOST_STRUCK]] or _nearest(case, ordered)
    test = discriminating_frame(case, free[0], free[1]) if len(free) > 1 else None
    return Attribution(tuple(told), test)


def _pairs(case: Case) -> Iterator[Slip]:
    """Two causes at once: where it is known what each light gave, one for each light that gave otherwise."""
    if case.sources is None:
        yield from pairs_of_slips(case)
    elif case.sources.alike is None:
        yield from slips_of_each(case)


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
    if case.sources is not None and not slip.effect.added_ambient:
        worst = _strain(case.sources, slip.effect)
    elif max(map(abs, leaves.values())) >= max(abs(each.unexplained_stops) for each in case.patches):
        return None
    unusual, colour, contradicted = _by_colour(case, slip)
    return Explanation(
        key=slip.key,
        causes=slip.causes,
        effect=slip.effect,
        leaves=leaves,
        worst=worst,
        unusual=unusual + worst**2,
        changes=slip.changes,
        colour=colour,
        contradicted=contradicted,
        set_apart=_is_set_apart(case, slip) and not contradicted,
    )


def _strain(solved: Solved, effect: Effect) -> float:
    """How far the gains are from what a slip would have made of them, in what they may be off by; that of the source
    where it is the most."""
    return max(
        (each.strain(_factor(each, effect), solved.tolerance_stops) for each in solved.gains if each.told),
        default=0.0,
    )


def _factor(gain: Gain, effect: Effect) -> float:
    """What a source would have given with a slip, against what it gives as logged and lit."""
    if gain.source in effect.off or not (gain.lit or gain.source in effect.lit):
        return 0.0
    return math.exp2(effect.by_light.get(gain.source, 0.0) + effect.everywhere)


def _is_set_apart(case: Case, slip: Slip) -> bool:
    """Whether the evidence leaves room for no other cause: a light that gave nothing, where its dial would still give
    some; one that is logged as off and gave what it would at its mark; a gel that is logged, where the light has the very
    colour of its own frame without one."""
    if case.sources is None or len(slip.causes) > 1:
        return False
    if slip.effect.off:
        return all(_gave_nothing(case, case.sources.of(letter)) for letter in slip.effect.off)
    if slip.effect.lit:
        return True
    makes = -REDDER_A_MIRED * slip.warmth_mired
    moved = [each for each in case.sources.gains if each.source in slip.effect.by_light]
    return makes != 0.0 and all(_has_its_own_colour(each, each.logged_redder_stops + makes) for each in moved)


def _gave_nothing(case: Case, gain: Gain | None) -> bool:
    light = case.set_up.light(gain.source) if gain else None
    if light is None or gain is None or light.power_stops is None or gain.stops is not None:
        return False
    return gain.at_most < math.exp2(light.head.lowest_power_stops - light.power_stops - _BELOW_THE_DIAL_STOPS)


def _has_its_own_colour(gain: Gain, would_be: float) -> bool:
    """Whether a light of another colour than logged has that of its own frame, as it would."""
    if gain.redder_stops is None or gain.suits(gain.logged_redder_stops):
        return False
    return max(abs(would_be), abs(gain.redder_stops)) < _TOLD_WARMTH_STOPS


def _by_colour(case: Case, slip: Slip) -> tuple[float, Fact | None, bool]:
    """How unusual a slip is by the colour, what the colour says of it, and whether it contradicts it."""
    if case.sources is not None:
        return _by_colour_of_lights(case.sources, slip)
    known = [each.warmth_stops for each in case.patches if each.warmth_stops is not None]
    if not slip.warmth_mired or not known:
        return slip.unusual, None, False
    furthest = max(known, key=abs)
    if abs(furthest) < _TOLD_WARMTH_STOPS:
        return slip.unusual, None, False
    bluer = furthest < 0
    if bluer == (slip.warmth_mired > 0):
        return slip.unusual - _BY_COLOUR, _agreeing(slip, bluer=bluer), False
    return slip.unusual + _BY_COLOUR, fact(Reason.COLOUR_DISAGREES, bluer=bluer), True


def _by_colour_of_lights(solved: Solved, slip: Slip) -> tuple[float, Fact | None, bool]:
    """A filter takes its colour with it; a dial, a distance or a grid leaves the colour as it is logged."""
    moved = [each for each in solved.gains if each.source in slip.effect.by_light]
    makes = -REDDER_A_MIRED * slip.warmth_mired
    for gain in moved:
        would_be = gain.logged_redder_stops + makes
        if not gain.suits(would_be) and gain.redder_stops is not None:
            off = fact(Reason.COLOUR_UNEXPLAINED, gain.source, redder_stops=gain.redder_stops - would_be)
            return slip.unusual + _BY_COLOUR, off, True
    if makes and any(not each.suits(each.logged_redder_stops) for each in moved):
        return slip.unusual - _BY_COLOUR, _agreeing(slip, bluer=makes < 0.0), False
    return slip.unusual, None, False


def _agreeing(slip: Slip, *, bluer: bool) -> Fact:
    return fact(Reason.COLOUR_AGREES if slip.warmth_mired > 0 else Reason.COLOUR_SUITS, bluer=bluer)


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

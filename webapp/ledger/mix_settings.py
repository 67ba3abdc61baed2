"""From a mix back to the dials: what to set on each head for it, range respected; and the marks of a head as levels
of a mix."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from webapp.facts import Fact, fact
from webapp.ledger.entries import compare
from webapp.ledger.exposures import exposure_of
from webapp.ledger.reasons import Reason
from webapp.ledger.remix import MOST_STOPS, Levels, LightsToMix, Part
from webapp.ledger.set_up import Light, SetUp


@dataclass(frozen=True, slots=True)
class PowerSetting:
    """What to set on a head for a mix. `mark` is empty for a light that is left out or cannot be said;
    `leaves_stops` is what the nearest mark is off by (+ is too bright), `notes` are what stands in the way. `out`: it is left out."""

    letter: str
    name: str
    mark: str
    power_stops: float | None
    leaves_stops: float = 0.0
    stands: str = ""
    notes: tuple[Fact, ...] = ()
    out: bool = False


_SAME_STOPS: Final = 5e-4


@dataclass(frozen=True, slots=True)
class Rung:
    """A mark of a head, and the level, in stops, that it gives in a mix."""

    mark: str
    level_stops: float
    chosen: bool


@dataclass(frozen=True, slots=True)
class Ladder:
    """The marks of a head from full down, a stop apart, and the chosen one between them. `darker_stops` and
    `lighter_stops` are the levels one click away; None at the end of the dial, or where the light is off."""

    rungs: tuple[Rung, ...]
    darker_stops: float | None
    lighter_stops: float | None


def ladder_of(part: Part, level: float | None, standing: SetUp) -> Ladder | None:
    """The powers of a light as levels of the mix, at the set-up as it stands. None where its power is unknown."""
    light, off_by, _ = _standing_balance(part, standing)
    if light.power_stops is None:
        return None
    dial, slope = light.head.dial, light.head.learned_slope
    as_photographed = light.power_stops + (part.correction_stops - off_by) / slope

    def level_at(place: float) -> float:
        return slope * (place - as_photographed) + 0.0

    here = None if level is None else dial.nearest(as_photographed + level / slope)
    places = {float(-stop) for stop in range(math.floor(-dial.lowest_stops + _SAME_STOPS) + 1)} | {dial.lowest_stops}
    marks: dict[str, tuple[float, bool]] = {}
    for place in sorted(places | ({here} if here is not None else set()), reverse=True):
        if here is not None and level is not None and abs(place - here) < _SAME_STOPS:
            marks[dial.mark(here)] = level, True
        elif abs(level_at(place)) <= MOST_STOPS:
            marks.setdefault(dial.mark(place), (level_at(place), False))
    return Ladder(
        tuple(Rung(mark, stops, chosen) for mark, (stops, chosen) in marks.items()),
        *(_clicked(dial.step(here, click), here, level_at) if here is not None else None for click in (-1, 1)),
    )


def _clicked(place: float, here: float, level_at: Callable[[float], float]) -> float | None:
    return level_at(place) if abs(place - here) > _SAME_STOPS and abs(level_at(place)) <= MOST_STOPS else None


def power_settings(found: LightsToMix, levels: Levels, standing: SetUp) -> tuple[PowerSetting, ...]:
    """The marks that make a mix at the set-up as it stands: its distances, filters and camera settings are
    reckoned with by the ledger. A light that does not stand there is given as it was in its own frame."""
    return tuple(_mark_of(part, levels.get(part.letter), standing, found.settings) for part in found.parts)


def _mark_of(part: Part, level: float | None, standing: SetUp, settings: SetUp | None) -> PowerSetting:
    own = part.alone.light
    if level is None:
        return PowerSetting(own.letter, own.name, "", None, out=True)
    light, off_by, notes = _standing_balance(part, standing)
    if light.power_stops is None:
        return PowerSetting(
            own.letter, own.name, "", None, notes=(fact(Reason.MIX_POWER_UNKNOWN, own.letter, light=own.name),)
        )
    # The mix stands at the settings of the sum: a picture made at the set-up as it stands has to come to the same.
    wanted = light.power_stops + (level + part.correction_stops - off_by) / light.head.learned_slope
    dial = light.head.dial
    reached = dial.nearest(wanted)
    leaves = light.head.learned_slope * (reached - wanted) + 0.0
    if abs(reached - wanted) > dial.step_stops / 2 + 1e-9:
        beyond = fact(
            Reason.MIX_OUT_OF_REACH,
            light.letter,
            light=light.name,
            short_stops=abs(wanted - reached),
            highest=wanted > reached,
            ends=dial.mark(reached),
        )
        notes = (beyond, *notes)
    return PowerSetting(light.letter, light.name, dial.mark(reached), reached, leaves, light.power_mark(), notes)


def _standing_balance(part: Part, standing: SetUp) -> tuple[Light, float, tuple[Fact, ...]]:
    """The light as it stands, with its balance there against its own frame; else as it was in that frame."""
    own = part.alone.light
    light = standing.light(part.letter)
    if light is not None:
        lit = standing.with_light(replace(light, lit=True))
        balance = compare(exposure_of(part.alone.set_up), exposure_of(lit)).balances[part.letter]
        if balance is not None:
            return light, balance, ()
    return own, part.correction_stops, (fact(Reason.MIX_AS_IN_FRAME, frame=part.alone.number),)

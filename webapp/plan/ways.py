"""One way to what is wanted: a light put elsewhere or turned up or down, what it comes to, and what follows."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from webapp.facts import Fact, fact
from webapp.optics import distance_law
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Step, Symbol
from webapp.plan.moving import (
    Consequence,
    Crossing,
    at_on_line,
    change_stops,
    consequences,
    distances_tried,
    nearest_crossing,
    new_cautions,
    put,
    reach_of,
    received,
)
from webapp.plan.positions import Place, Position
from webapp.plan.staging import Plan, PlanLight
from webapp.quantities.powers import PowerDial

Means = Literal["distance", "power", "aim", "turn"]
End = Literal["nearest", "furthest", "between", "highest", "lowest"]

_SAME: Final = 1e-9

POWER_WANTED: Final = Relation(
    result="place on the dial, against full",
    unit="stops",
    formula="p = p_1 + Δ / k",
    latex=r"p = p_1 + \frac{\Delta}{k}",
    symbols=(
        Symbol("p_1", "power as it stands, against full", "stops"),
        Symbol("Δ", "wanted change of its light", "stops"),
        Symbol("k", "what one marked stop of this head gives", "stops"),
    ),
    source="definition",
)


@dataclass(frozen=True, slots=True)
class Head:
    """How the power of a light is turned: its dial, where it stands on it in stops below full (None is unknown), and
    what one marked stop of it gives."""

    dial: PowerDial
    stands: float | None
    slope: float = 1.0


@dataclass(frozen=True, slots=True)
class Short:
    """How a way falls short: what it comes to at most, at which distance where it is one, and at which end."""

    reaches: float
    end: End
    at_mm: float | None = None


@dataclass(frozen=True, slots=True)
class PowerBack:
    """The mark that gives a moved light its exposure back, in stops below full, and what of the change it leaves."""

    power_stops: float
    leaves_stops: float
    step: Step


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One way to what is wanted. `position` or `power_stops` is what would be written in; neither where the way is
    barred or falls short. `reaches` and `leaves` are in the unit of what is wanted; `change_stops` is that of the
    light itself at the subject; `inverse_square_mm` where inverse square would have put it."""

    letter: str
    by: Means
    reaches: float
    leaves: float
    position: Position | None = None
    power_stops: float | None = None
    distance_mm: float | None = None
    change_stops: float | None = None
    inverse_square_mm: float | None = None
    short: Short | None = None
    bars: tuple[Fact, ...] = ()
    notes: tuple[Fact, ...] = ()
    follows: tuple[Consequence, ...] = ()
    steps: tuple[Step, ...] = ()
    power_back: PowerBack | None = None


def by_distance(
    plan: Plan, light: PlanLight, stops: float, wanted: float, reached: Callable[[float], float]
) -> Suggestion:
    """A light moved on its own line for a change of `stops`; `reached` turns a change of it into what is wanted."""
    assert light.position is not None
    was, stands_mm = received(plan, light), light.position.at.distance_mm

    def change(distance_mm: float) -> float | None:
        becomes = received(plan, put(light, at_exact(light, distance_mm)))
        return math.log2(becomes / was) if becomes > 0.0 else None

    reach = reach_of(plan, light)
    found = nearest_crossing(change, stops, distances_tried(reach, stands_mm), stands_mm)
    inverse_mm = stands_mm * 2.0 ** (-stops / 2.0)
    if found.at is None:
        short = short_of(found, reached(found.reaches), reach.nearest_mm, reach.furthest_mm)
        return Suggestion(
            light.letter,
            "distance",
            short.reaches,
            short.reaches - wanted,
            inverse_square_mm=inverse_mm,
            short=short,
        )
    after = put(light, at_on_line(light, found.at))
    made, _ = change_stops(plan, light, after)
    reaches = reached(stops if made is None else made)
    suggested = placed(plan, light, after, "distance", wanted, reaches)
    assert suggested.distance_mm is not None
    by_square = distance_law.INVERSE_SQUARE.worked(
        2.0 * math.log2(stands_mm / suggested.distance_mm), d_1=stands_mm, d_2=suggested.distance_mm
    )
    return replace(suggested, inverse_square_mm=inverse_mm, steps=(*suggested.steps, by_square))


def at_exact(light: PlanLight, distance_mm: float) -> Place:
    """The place on a light's own line from the subject, unrounded."""
    assert light.position is not None
    return light.position.at.scaled(distance_mm / light.position.at.distance_mm)


def short_of(found: Crossing, reaches: float, nearest: float, furthest: float) -> Short:
    end: End = "between"
    if math.isclose(found.closest, nearest, rel_tol=1e-6):
        end = "nearest"
    elif math.isclose(found.closest, furthest, rel_tol=1e-6):
        end = "furthest"
    return Short(reaches, end, found.closest)


def placed(
    plan: Plan,
    light: PlanLight,
    after: PlanLight,
    by: Means,
    wanted: float,
    reaches: float,
    *,
    short: Short | None = None,
    steps: Sequence[Step] = (),
) -> Suggestion:
    """A suggestion to put a light elsewhere, with all that follows; without its place where that is barred."""
    assert after.position is not None
    moved = plan.with_light(after)
    told = new_cautions(plan, moved)
    bars = tuple(each.told for each in told if each.bars)
    change, step = change_stops(plan, light, after)
    return Suggestion(
        letter=light.letter,
        by=by,
        reaches=reaches,
        leaves=reaches - wanted,
        position=None if bars else after.position,
        distance_mm=after.position.at.distance_mm,
        change_stops=change,
        short=short,
        bars=bars,
        notes=tuple(each.told for each in told if not each.bars),
        follows=consequences(plan, moved, light.letter),
        steps=(*steps, *((step,) if step is not None else ())),
    )


def by_power(
    plan: Plan, light: PlanLight, head: Head, stops: float, wanted: float, reached: Callable[[float], float]
) -> Suggestion:
    """A light turned up or down by `stops` to the nearest mark of its dial."""
    assert head.stands is not None
    place, step = _mark_for(head, stops)
    change = head.slope * (place - head.stands)
    short = _past_the_dial(head, stops, reached(change))
    turned = replace(light, power_stops=None if light.power_stops is None else light.power_stops + change)
    return Suggestion(
        letter=light.letter,
        by="power",
        reaches=reached(change),
        leaves=reached(change) - wanted,
        power_stops=place if short is None else None,
        change_stops=change,
        short=short,
        follows=() if short else consequences(plan, plan.with_light(turned), light.letter),
        steps=(step,),
    )


def _mark_for(head: Head, stops: float) -> tuple[float, Step]:
    """The mark of a dial that comes nearest to a change of the light, with its working."""
    assert head.stands is not None
    exact = head.stands + stops / head.slope
    place = head.dial.nearest(exact)
    step = POWER_WANTED.worked(
        exact,
        assuming=(fact(Assumption.NEAREST_MARK, mark=head.dial.mark(place)),),
        **{"p_1": head.stands, "Δ": stops, "k": head.slope},
    )
    return place, step


def _past_the_dial(head: Head, stops: float, reaches: float) -> Short | None:
    """Where a change lies past an end of the dial by more than half a step."""
    assert head.stands is not None
    exact = head.stands + stops / head.slope
    half = head.dial.step_stops / 2.0 + _SAME
    if exact > half:
        return Short(reaches, "highest")
    if exact < head.dial.lowest_stops - half:
        return Short(reaches, "lowest")
    return None


def power_back(head: Head | None, suggested: Suggestion) -> PowerBack | None:
    """The mark that gives a moved light back what moving took; None where power or change is unknown."""
    if head is None or head.stands is None or suggested.change_stops is None:
        return None
    place, step = _mark_for(head, -suggested.change_stops)
    return PowerBack(place, suggested.change_stops + head.slope * (place - head.stands), step)

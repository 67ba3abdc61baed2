"""The ways of one light, or of several together: by their energy and the least sheets, by sheets alone, by distance."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from webapp.facts import Fact, Value, fact
from webapp.ledger.entries import Cause, power_learned
from webapp.ledger.exposures import ALL_LIGHTS, LightState
from webapp.ledger.reasons import Effect, Reason
from webapp.ledger.sheets import Fit, Sheet, least, neutral, softening
from webapp.ledger.ways import Correction, Means, cannot, helps
from webapp.optics import distance_law
from webapp.quantities.lengths import Lengths
from webapp.quantities.powers import PowerDial


@dataclass(frozen=True, slots=True)
class _Turned:
    """One light with its dial turned and sheets put into its beam or taken out of it; `change_stops` is what both do
    to its light."""

    light: LightState
    dial: PowerDial
    was: float
    now: float
    change_stops: float
    fit: Fit | None = None

    @property
    def marks(self) -> tuple[str, str]:
        return self.dial.energy_mark(self.was), self.dial.energy_mark(self.now)

    @property
    def to(self) -> dict[str, float]:
        to = {"power_stops": self.now}
        if self.fit is not None:
            to["filter_stops"] = _filter_stops(self.light, self.fit)
        return to


def turn(light: LightState, off: float, sheets: tuple[Sheet, ...]) -> _Turned | None:
    """A light turned by its energy as far as the dial goes, and the least of the sheets for the rest; None where its
    dial or its power is unknown, and where that does not bring it there: sheets that come out leave it to the dial."""
    dial, was = light.dial, light.power_stops
    if dial is None or was is None:
        return None

    def reached(loss: float) -> float:
        return dial.nearest(was - (off - loss) / light.slope)

    def left(loss: float) -> float:
        return off - loss + light.slope * (reached(loss) - was)

    if out_of_reach(was - off / light.slope, dial) is None:
        return _Turned(light, dial, was, reached(0.0), left(0.0) - off)
    fit = least(off, left, light.filters, sheets)
    if fit is None or (fit.loss_stops < 0 and abs(left(fit.loss_stops)) > light.slope * dial.step_stops / 2 + 1e-9):
        return None
    return _Turned(light, dial, was, reached(fit.loss_stops), left(fit.loss_stops) - off, fit)


def out_of_reach(wanted: float, dial: PowerDial) -> float | None:
    """How many stops past the end of a dial `wanted` lies; None where a mark is within half a step."""
    beyond = max(wanted, dial.lowest_stops - wanted)
    return beyond if beyond > dial.step_stops / 2 + 1e-9 else None


def energy(light: LightState, off: float, stands: Fact, means: Means) -> Iterator[Correction | Fact]:
    """By the energy; past the end of the dial by its end and sheets; and by sheets alone."""
    dial, was = light.dial, light.power_stops
    short = None
    if dial is not None and was is not None:
        wanted = was - off / light.slope
        if short := out_of_reach(wanted, dial):
            needs, ends = dial.energy_mark(wanted) if wanted <= 0 else "", dial.energy_mark(dial.nearest(wanted))
            yield cannot(stands, Reason.POWER_OUT_OF_REACH, needs=needs, ends=ends, short_stops=short)
    found = [turn(light, off, sheets) for sheets in (_kinds(off, means) if short else ((),))]
    moved = [each for each in found if each and each.now != each.was and helps(off, off + each.change_stops)]
    yield from (_by_energy(each, off, stands) for each in moved)
    yield from _sheets_on_light(light, off, stands, means, each=not moved)


def _kinds(off: float, means: Means) -> tuple[tuple[Sheet, ...], ...]:
    """The sheets that can be put in, the neutral ones by themselves; of what comes out there is one kind."""
    return (neutral(means.light_sheets), softening(means.light_sheets)) if off > 0 else ((),)


def _by_energy(turned: _Turned, off: float, stands: Fact) -> Correction:
    light, (was, now), fit = turned.light, turned.marks, turned.fit
    by_dial = Correction(
        acts_on=light.letter,
        cause=Cause.ENERGY,
        to=dict(turned.to),
        leaves_stops=off + turned.change_stops,
        stands=stands,
        move=fact(Reason.POWER_TO, light.letter, was=was, now=now),
        changes=(Effect.ENERGY, Effect.RECYCLE_TIME),
        keeps=(Effect.DEPTH, Effect.AMBIENT, Effect.SOFTNESS),
        notes=(power_learned(light),) if light.slope_from else (),
    )
    if fit is None:
        return by_dial
    return replace(
        by_dial,
        move=fact(Reason.POWER_AND_SHEETS_TO, light.letter, was=was, now=now, **_told_of(fit)),
        changes=(*by_dial.changes, *_changes_of(fit)),
        keeps=(Effect.DEPTH, Effect.AMBIENT),
        sheets={light.letter: fit.ids},
    )


def _told_of(fit: Fit) -> dict[str, Value]:
    return {"fitted": fit.names, "loss_stops": abs(fit.loss_stops), "softens": fit.softens, "out": fit.loss_stops < 0}


def _changes_of(fit: Fit) -> tuple[Effect, ...]:
    if fit.loss_stops < 0:
        return (Effect.FILTER_WORK,)
    softer = (Effect.SOFTNESS,) if fit.softens else ()
    return (*softer, Effect.MODELLING_LIGHT, Effect.COLOUR)


def _filter_stops(light: LightState, fit: Fit) -> float:
    """What the filters of a light take once a fit is done; all of them out is nothing, to the last digit."""
    return 0.0 if fit.loss_stops < 0 else (light.filters.loss_stops or 0.0) + fit.loss_stops


def _sheets_on_light(
    light: LightState, off: float, stands: Fact, means: Means, *, each: bool
) -> Iterator[Correction | Fact]:
    """By sheets alone: neutral ones, and those that soften where there are no others, or where `each` is asked for."""
    fits = (least(off, lambda loss: off - loss, light.filters, sheets) for sheets in _kinds(off, means))
    found = [fit for fit in fits if fit is not None]
    for fit in found if each else found[:1]:
        out = fit.loss_stops < 0
        yield Correction(
            acts_on=light.letter,
            cause=Cause.FILTERS,
            to={"filter_stops": _filter_stops(light, fit)},
            sheets={light.letter: fit.ids},
            leaves_stops=off - fit.loss_stops,
            stands=stands,
            move=fact(Reason.TAKE_OFF_LIGHT if out else Reason.PUT_ON_LIGHT, light.letter, **_told_of(fit)),
            changes=_changes_of(fit),
            keeps=(Effect.DEPTH, Effect.AMBIENT, Effect.ENERGY),
        )


def energies_together(
    lit: tuple[LightState, ...], off: float, off_by: dict[str, float], stands: Fact, means: Means
) -> Iterator[Correction | Fact]:
    """Every energy by the same step, each to the end of its dial at most, and the least sheets for the rest."""
    turned: list[_Turned] = []
    for light in lit:
        if light.dial is None or light.power_stops is None:
            return
        found = turn(light, off, neutral(means.light_sheets)) or turn(light, off, means.light_sheets)
        if found is None:
            wanted = light.power_stops - off / light.slope
            lowest = "" if wanted > 0 else light.dial.energy_mark(light.dial.lowest_stops)
            short = out_of_reach(wanted, light.dial)
            yield cannot(stands, Reason.POWERS_OUT_OF_REACH, about=light.letter, lowest=lowest, short_stops=short)
            return
        turned.append(found)
    changes = [each.change_stops for each in turned]
    leaves = max((off_by[each.light.letter] + each.change_stops for each in turned), key=abs)
    if not helps(off, leaves):
        return
    fits = [each.fit for each in turned if each.fit is not None]
    moved: dict[str, Value] = {
        "lights": tuple(each.light.letter for each in turned),
        "was": tuple(each.marks[0] for each in turned),
        "now": tuple(each.marks[1] for each in turned),
        "uneven_stops": max(changes) - min(changes),
    }
    if fits:
        moved["fitted"] = tuple("" if each.fit is None else " + ".join(each.fit.names) for each in turned)
        moved["softens"] = any(fit.softens for fit in fits)
        moved["out"] = off < 0
    yield Correction(
        acts_on=ALL_LIGHTS,
        cause=Cause.ENERGY,
        to={"lights": {each.light.letter: each.to for each in turned}},
        leaves_stops=leaves,
        stands=stands,
        move=fact(Reason.POWERS_AND_SHEETS_TO if fits else Reason.POWERS_TO, ALL_LIGHTS, **moved),
        changes=tuple(
            dict.fromkeys(
                (Effect.EVERY_ENERGY, Effect.RECYCLE_TIME, *(each for fit in fits for each in _changes_of(fit)))
            )
        ),
        keeps=(Effect.RATIOS, Effect.DEPTH, Effect.AMBIENT),
        sheets={each.light.letter: each.fit.ids for each in turned if each.fit is not None},
    )


# Distances are set with a tape: to its finer marks near the subject, to its whole ones further off.
_NEAR_MM = 500.0
_FURTHEST_MM = 100_000.0


def distance(light: LightState, off: float, stands: Fact, tape: Lengths) -> Iterator[Correction | Fact]:
    """By the distance, to a mark of the tape."""
    standing = light.distance_mm
    if standing is None:
        return
    try:
        wanted = distance_law.distance_for_change_mm(light.source, standing, -off)
    except ValueError:
        most = distance_law.greatest_gain_stops(light.source, standing)
        yield cannot(stands, Reason.DISTANCE_OUT_OF_LAW, from_mm=standing, most_stops=most)
        return
    fine = wanted < _NEAR_MM
    reached = tape.nearest_mark_mm(wanted, fine=fine)
    if not tape.mark_mm(fine=fine) <= reached <= _FURTHEST_MM:
        yield cannot(stands, Reason.DISTANCE_OUT_OF_TAPE, needs_mm=wanted)
        return
    leaves = off + distance_law.change_with_distance_stops(light.source, standing, reached)
    if not helps(off, leaves):
        return
    yield Correction(
        acts_on=light.letter,
        cause=Cause.DISTANCE,
        to={"distance_mm": reached},
        leaves_stops=leaves,
        stands=stands,
        move=fact(Reason.DISTANCE_TO, light.letter, was_mm=standing, now_mm=reached),
        changes=(Effect.SOFTNESS, Effect.FALL_OFF),
        keeps=(Effect.DEPTH, Effect.AMBIENT, Effect.ENERGY),
    )

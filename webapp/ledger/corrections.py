"""A balance off its target in, the ways to bring it there out, in the order a working photographer tries them.

Each way is checked against what the kit in the room can really set: it is given in marks of that dial, with what
the rounding leaves over, what else it changes and what it leaves alone. A way the kit cannot make becomes a note
that names the number it would have needed.

One light off: only that light is touched, by its energy (to the end of its dial, and the least sheets for the rest),
by sheets alone, by its distance. All off alike: every energy by the same step, so that ratios hold, sheets on the lens,
ISO, aperture. A light that is lit alone is both. Several pops come last, and only where the shutter can stand open for
them. The shutter by itself is never a way: it does not move flash.

What was just changed is taken as meant: a way that would take back more than half of it stands behind all others and
says so. What is left of a change that overshot may go: five stops of energy for four of aperture come down by one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from webapp.facts import Fact, Value, digest, fact
from webapp.ledger.entries import Cause, Entry, power_learned
from webapp.ledger.exposures import ALL_LIGHTS, Exposure, LightState
from webapp.ledger.reasons import Effect, Reason
from webapp.ledger.sheets import Fit, Sheet, least, neutral, softening
from webapp.optics import distance_law, flash, macro
from webapp.optics.scales import Dial, Mark, Marked, Quantity, marks, nearest_mark, value_at
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.powers import PowerDial

# Below this a balance is even: half of the smallest step that any dial here shows.
EVEN_WITHIN_STOPS = 0.05
# Balances this close to each other are "all alike".
ALIKE_WITHIN_STOPS = 0.05
# More flashes than this into one frame is another way of working, not a correction.
MOST_POPS = 64


@dataclass(frozen=True, slots=True)
class Means:
    """What the kit in the room can do beyond the lights' own dials."""

    f_number_dial: Dial = Dial.THIRD
    iso_dial: Dial = Dial.THIRD
    shutter_dial: Dial = Dial.THIRD
    widest_f_number: float = 0.5
    smallest_f_number: float = 128.0
    lowest_iso: float = 25.0
    highest_iso: float = 409_600.0
    light_sheets: tuple[Sheet, ...] = ()
    lens_sheets: tuple[Sheet, ...] = ()
    subject_is_static: bool = True
    circle_of_confusion_mm: float | None = None
    tape: Lengths = CENTIMETRES


LENS = "lens"
"""Whose the sheets on the lens are, among those of the lights."""


@dataclass(frozen=True, slots=True)
class Correction:
    """One way. `to` holds the fields to set and their new values; `leaves_stops` what the balance is off by after
    (where the way acts on all lights: the balance of the one that is then furthest off).

    `sheets` are the ids of the filters to put in, by the letter of the light or LENS; none of them means that all come
    out. `mark` is the one to set, where it is by a dial of the camera. `stands` is how the balance is off, `move` what
    is done, `notes` what it rests on. One that `turns_back` takes back what was just changed; `first` is done
    before the move, where there is more than one.
    """

    acts_on: str
    cause: Cause
    to: dict[str, object]
    leaves_stops: float
    stands: Fact
    move: Fact
    changes: tuple[Effect, ...] = ()
    keeps: tuple[Effect, ...] = ()
    sheets: dict[str, tuple[str, ...]] = field(default_factory=dict)
    mark: Marked | None = None
    notes: tuple[Fact, ...] = ()
    turns_back: bool = False
    first: Fact | None = None

    @property
    def digest(self) -> str:
        """By what a correction is known: what it sets, and on what. The same in every wording."""
        return digest({"acts_on": self.acts_on, "cause": self.cause, "to": self.to, "sheets": self.sheets})


@dataclass(frozen=True, slots=True)
class Target:
    """Where a balance ought to stand: 0, or a shift that the photographer means."""

    stops: float = 0.0
    by_light: dict[str, float] = field(default_factory=dict)

    def of(self, letter: str) -> float:
        return self.by_light.get(letter, self.stops)


def suggest(
    exposure: Exposure,
    balances: dict[str, float | None],
    target: Target,
    means: Means,
    since: Sequence[Entry] = (),
) -> tuple[tuple[Correction, ...], tuple[Fact, ...]]:
    """The ways to bring every lit flash to its target, and the notes on what cannot be done.

    `balances` are those of the lights of `exposure`, by letter; a light whose balance is unknown is left alone and
    keeps the others from being treated as "all alike". `since` is what was changed since the frame before.
    """
    lit = exposure.lit_flashes
    off_by = {
        light.letter: balance - target.of(light.letter)
        for light in lit
        if (balance := balances.get(light.letter)) is not None
    }
    to_move = [light for light in lit if abs(off_by.get(light.letter, 0.0)) >= EVEN_WITHIN_STOPS]
    if not to_move:
        return (), ()
    all_alike = len(off_by) == len(lit) and max(off_by.values()) - min(off_by.values()) <= ALIKE_WITHIN_STOPS
    if all_alike and len(lit) > 1:
        return _sorted(_ways_for_all(exposure, lit, off_by, means), since)
    furthest_first = sorted(to_move, key=lambda each: -abs(off_by[each.letter]))
    ways = (
        way
        for light in furthest_first
        for way in _ways_for_one(
            exposure, light, off_by[light.letter], _off_target(light, off_by[light.letter], target), means
        )
    )
    return _sorted(ways, since)


def ways_to_power(
    exposure: Exposure, light: LightState, power_stops: float, means: Means, since: Sequence[Entry] = ()
) -> tuple[Correction, ...]:
    """The ways to the light that a head would give at a power beyond the ends of its dial: it goes to its end, and they
    do the rest. None where the dial has it, and where nothing is known of what the head gives now."""
    dial = light.dial
    if light.power_stops is None or dial is None or _out_of_reach(power_stops, dial) is None:
        return ()
    at_end = replace(light, power_stops=dial.nearest(power_stops))
    lights = tuple(at_end if each is light else each for each in exposure.lights)
    off = light.slope * (dial.nearest(power_stops) - power_stops)
    wished = dial.energy_mark(power_stops)
    stands = fact(Reason.POWER_WISHED, light.letter, light=light.name, off_stops=off, wished=wished)
    ways = _ways_for_one(replace(exposure, lights=lights), at_end, off, stands, means, against_others=True)
    return tuple(_from_where_it_stands(way, light, at_end) for way in _sorted(ways, since)[0])


def _from_where_it_stands(way: Correction, light: LightState, at_end: LightState) -> Correction:
    """A way that starts from the end of a light's dial, with the dial turned there first."""
    if light.dial is None or light.power_stops is None or light.power_stops == at_end.power_stops:
        return way
    was = light.dial.energy_mark(light.power_stops)
    if way.cause is Cause.ENERGY:
        return replace(way, move=replace(way.move, values={**way.move.values, "was": was}))
    turned = {"power_stops": at_end.power_stops}
    lights = way.to.get("lights", {})
    assert isinstance(lights, dict)
    on_light = way.cause in (Cause.FILTERS, Cause.DISTANCE)
    return replace(
        way,
        to=way.to | (turned if on_light else {"lights": {**lights, light.letter: turned}}),
        first=fact(Reason.POWER_TO, light.letter, was=was, now=light.dial.energy_mark(at_end.power_stops or 0.0)),
        changes=tuple(dict.fromkeys((Effect.ENERGY, Effect.RECYCLE_TIME, *way.changes))),
        keeps=tuple(each for each in way.keeps if each not in (Effect.ENERGY, Effect.RATIOS)),
    )


def _sorted(
    ways: Iterable[Correction | Fact], since: Sequence[Entry]
) -> tuple[tuple[Correction, ...], tuple[Fact, ...]]:
    """The ways, those that turn back what was just changed behind the others, and the notes."""
    found = list(ways)
    corrections = [replace(way, turns_back=_turns_back(way, since)) for way in found if isinstance(way, Correction)]
    notes = tuple(note for note in found if isinstance(note, Fact))
    return tuple(sorted(corrections, key=lambda way: way.turns_back)), notes


def _turns_back(way: Correction, since: Sequence[Entry]) -> bool:
    """Whether a way takes back more than half of what was just changed. A neutral sheet on a light does nothing that
    its energy does not, so that it takes back a change of the energy as well; beside the energy, a sheet goes in or
    comes out whole."""
    stops = way.leaves_stops - way.stands.number("off_stops")
    moves = {way.cause: stops}
    if way.cause is Cause.FILTERS and Effect.SOFTNESS not in way.changes:
        moves[Cause.ENERGY] = stops
    elif way.cause is Cause.ENERGY and way.sheets:
        moves[Cause.FILTERS] = math.copysign(math.inf, stops)
    return any(
        entry.stops is not None
        and way.acts_on in (ALL_LIGHTS, entry.acts_on)
        and (moved := moves.get(entry.cause, 0.0)) * entry.stops < 0
        and abs(moved) > abs(entry.stops) / 2 + 1e-9
        for entry in since
    )


def _off_target(light: LightState, off: float, target: Target) -> Fact:
    return fact(
        Reason.OFF_TARGET, light.letter, light=light.name, off_stops=off, target_stops=target.of(light.letter)
    )


def _ways_for_one(
    exposure: Exposure, light: LightState, off: float, stands: Fact, means: Means, *, against_others: bool = False
) -> Iterator[Correction | Fact]:
    """The ways for one light; `against_others` also those by the camera with every other light turned against it."""
    alone = exposure.lit_flashes == (light,)
    yield from _energy(light, off, stands, means)
    if alone:
        yield from _sheets_on_lens(exposure, light.letter, off, stands, means)
        yield from _iso(exposure, light.letter, off, stands, means)
        yield from _aperture(exposure, light.letter, off, stands, means)
    elif against_others:
        yield from _against_others(exposure, light, off, _iso(exposure, light.letter, off, stands, means))
        yield from _against_others(exposure, light, off, _aperture(exposure, light.letter, off, stands, means))
    yield from _distance(light, off, stands, means.tape)
    if alone:
        yield from _pops(exposure, light.letter, off, stands, means)


def _ways_for_all(
    exposure: Exposure, lit: tuple[LightState, ...], off_by: dict[str, float], means: Means
) -> Iterator[Correction | Fact]:
    off = sum(off_by.values()) / len(off_by)
    stands = fact(Reason.ALL_OFF_TARGET, ALL_LIGHTS, lights=tuple(light.letter for light in lit), off_stops=off)
    yield from _energies_together(lit, off, off_by, stands, means)
    for ways in (_sheets_on_lens, _iso, _aperture, _pops):
        yield from _told_for_the_furthest(ways(exposure, ALL_LIGHTS, off, stands, means), off, off_by)


def _told_for_the_furthest(
    ways: Iterator[Correction | Fact], off: float, off_by: dict[str, float]
) -> Iterator[Correction | Fact]:
    """Balances that count as alike may still differ by a hair, and each keeps its own."""
    for way in ways:
        if isinstance(way, Fact):
            yield way
        else:
            change = way.leaves_stops - off
            yield replace(way, leaves_stops=max((each + change for each in off_by.values()), key=abs))


# --- energy, and sheets on a light ----------------------------------------------------------------------------


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


def _turned(light: LightState, off: float, sheets: tuple[Sheet, ...]) -> _Turned | None:
    """A light turned by its energy as far as the dial goes, and the least of the sheets for the rest; None where its
    dial or its power is unknown, and where that does not bring it there: sheets that come out leave it to the dial."""
    dial, was = light.dial, light.power_stops
    if dial is None or was is None:
        return None

    def reached(loss: float) -> float:
        return dial.nearest(was - (off - loss) / light.slope)

    def left(loss: float) -> float:
        return off - loss + light.slope * (reached(loss) - was)

    if _out_of_reach(was - off / light.slope, dial) is None:
        return _Turned(light, dial, was, reached(0.0), left(0.0) - off)
    fit = least(off, left, light.filters, sheets)
    if fit is None or (fit.loss_stops < 0 and abs(left(fit.loss_stops)) > light.slope * dial.step_stops / 2 + 1e-9):
        return None
    return _Turned(light, dial, was, reached(fit.loss_stops), left(fit.loss_stops) - off, fit)


def _out_of_reach(wanted: float, dial: PowerDial) -> float | None:
    """How many stops past the end of a dial `wanted` lies; None where a mark is within half a step."""
    beyond = max(wanted, dial.lowest_stops - wanted)
    return beyond if beyond > dial.step_stops / 2 + 1e-9 else None


def _energy(light: LightState, off: float, stands: Fact, means: Means) -> Iterator[Correction | Fact]:
    """By the energy; past the end of the dial by its end and sheets; and by sheets alone."""
    dial, was = light.dial, light.power_stops
    short = None
    if dial is not None and was is not None:
        wanted = was - off / light.slope
        if short := _out_of_reach(wanted, dial):
            needs, ends = dial.energy_mark(wanted) if wanted <= 0 else "", dial.energy_mark(dial.nearest(wanted))
            yield _cannot(stands, Reason.POWER_OUT_OF_REACH, needs=needs, ends=ends, short_stops=short)
    found = [_turned(light, off, sheets) for sheets in (_kinds(off, means) if short else ((),))]
    moved = [each for each in found if each and each.now != each.was and _helps(off, off + each.change_stops)]
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


def _energies_together(
    lit: tuple[LightState, ...], off: float, off_by: dict[str, float], stands: Fact, means: Means
) -> Iterator[Correction | Fact]:
    """Every energy by the same step, each to the end of its dial at most, and the least sheets for the rest."""
    turned: list[_Turned] = []
    for light in lit:
        if light.dial is None or light.power_stops is None:
            return
        found = _turned(light, off, neutral(means.light_sheets)) or _turned(light, off, means.light_sheets)
        if found is None:
            wanted = light.power_stops - off / light.slope
            lowest = "" if wanted > 0 else light.dial.energy_mark(light.dial.lowest_stops)
            short = _out_of_reach(wanted, light.dial)
            yield _cannot(stands, Reason.POWERS_OUT_OF_REACH, about=light.letter, lowest=lowest, short_stops=short)
            return
        turned.append(found)
    changes = [each.change_stops for each in turned]
    leaves = max((off_by[each.light.letter] + each.change_stops for each in turned), key=abs)
    if not _helps(off, leaves):
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


# --- the camera -----------------------------------------------------------------------------------------------


def _sheets_on_lens(
    exposure: Exposure, acts_on: str, off: float, stands: Fact, means: Means
) -> Iterator[Correction | Fact]:
    standing = exposure.lens_filters.loss_stops
    fit = least(off, lambda loss: off - loss, exposure.lens_filters, means.lens_sheets)
    if standing is None or fit is None:
        return
    out = fit.loss_stops < 0
    yield Correction(
        acts_on=acts_on,
        cause=Cause.LENS_FILTERS,
        to={"lens_filter_stops": 0.0 if out else standing + fit.loss_stops},
        sheets={LENS: fit.ids},
        leaves_stops=off - fit.loss_stops,
        stands=stands,
        move=fact(
            Reason.TAKE_OFF_LENS if out else Reason.PUT_ON_LENS, fitted=fit.names, loss_stops=abs(fit.loss_stops)
        ),
        changes=(Effect.AMBIENT, Effect.FINDER, *((Effect.LENS_FILTER_WORK,) if out else ())),
        keeps=(Effect.DEPTH, Effect.ENERGY),
    )


def _aperture(
    exposure: Exposure, acts_on: str, off: float, stands: Fact, means: Means
) -> Iterator[Correction | Fact]:
    standing = exposure.f_number
    if standing is None:
        return
    wanted = standing.stops + off
    mark = nearest_mark(Quantity.F_NUMBER, wanted, means.f_number_dial)
    half_a_step = 0.5 / means.f_number_dial.steps_per_stop
    widest, smallest = 2 * math.log2(means.widest_f_number), 2 * math.log2(means.smallest_f_number)
    # A lens's engraved widest aperture need not be a mark of the dial: a sixth of a stop past it is still that mark.
    if min(mark.stops, wanted) < widest - half_a_step or max(mark.stops, wanted) > smallest + half_a_step:
        end = means.widest_f_number if off < 0 else means.smallest_f_number
        beyond = max(widest - wanted, wanted - smallest)
        needs = _needed(mark, wanted, half_a_step)
        yield _cannot(stands, Reason.F_NUMBER_OUT_OF_REACH, needs=needs, ends=end, short_stops=beyond)
        return
    if not _helps(off, leaves := off - (mark.stops - standing.stops)):
        return
    was_depth, now_depth = _depths_mm(exposure, mark.exact, means)
    yield Correction(
        acts_on=acts_on,
        cause=Cause.APERTURE,
        to={"f_number": mark.text},
        mark=Marked(Quantity.F_NUMBER, mark.text, mark.stops, means.f_number_dial),
        leaves_stops=leaves,
        stands=stands,
        move=fact(
            Reason.F_NUMBER_TO,
            was=standing.text,
            now=mark.text,
            closes=off > 0,
            several=len(exposure.lit_flashes) > 1,
            was_depth_mm=was_depth,
            now_depth_mm=now_depth,
        ),
        changes=(Effect.DEPTH, Effect.DIFFRACTION, Effect.AMBIENT),
        keeps=(Effect.ENERGY, Effect.RATIOS),
    )


def _depths_mm(exposure: Exposure, f_number: float, means: Means) -> tuple[float | None, float | None]:
    """Depth of field now and at another f-number; None, None where the subject is no close-up."""
    magnification, circle = exposure.magnification, means.circle_of_confusion_mm
    if not magnification or circle is None or exposure.f_number is None or magnification < 0.05:
        return None, None
    was, now = (
        2 * circle * macro.effective_f_number(number, magnification, exposure.pupil_ratio) / magnification**2
        for number in (exposure.f_number.exact, f_number)
    )
    return was, now


def _iso(exposure: Exposure, acts_on: str, off: float, stands: Fact, means: Means) -> Iterator[Correction | Fact]:
    standing = exposure.iso
    if standing is None:
        return
    wanted = standing.stops - off
    mark = nearest_mark(Quantity.ISO, wanted, means.iso_dial)
    half_a_step = 0.5 / means.iso_dial.steps_per_stop
    lowest, highest = (math.log2(iso / 100.0) for iso in (means.lowest_iso, means.highest_iso))
    if not lowest - 0.02 <= mark.stops <= highest + 0.02 or abs(mark.stops - wanted) > half_a_step + 1e-9:
        end = means.lowest_iso if off > 0 else means.highest_iso
        yield _cannot(stands, Reason.ISO_OUT_OF_REACH, needs=_needed(mark, wanted, half_a_step), ends=end)
        return
    if not _helps(off, leaves := off + (mark.stops - standing.stops)):
        return
    yield Correction(
        acts_on=acts_on,
        cause=Cause.ISO,
        to={"iso": int(mark.text) if mark.text.isdigit() else mark.text},
        mark=Marked(Quantity.ISO, mark.text, mark.stops, means.iso_dial),
        leaves_stops=leaves,
        stands=stands,
        move=fact(Reason.ISO_TO, was=standing.text, now=mark.text, rises=off < 0),
        changes=(Effect.NOISE, Effect.AMBIENT),
        keeps=(Effect.DEPTH, Effect.ENERGY, Effect.RATIOS),
    )


def _needed(mark: Mark, wanted: float, half_a_step: float) -> str:
    """The mark that would do it; past the last name of a dial, the number itself."""
    if abs(mark.stops - wanted) <= half_a_step + 1e-9:
        return mark.text
    value = value_at(mark.quantity, wanted)
    return f"{value:.0f}" if 1000 <= value < 1e9 else f"{value:.3g}"


_WITH_OTHERS: Final[Mapping[str, str]] = {
    Reason.ISO_TO: Reason.ISO_AND_OTHERS_TO,
    Reason.F_NUMBER_TO: Reason.F_NUMBER_AND_OTHERS_TO,
}


def _against_others(
    exposure: Exposure, light: LightState, off: float, ways: Iterator[Correction | Fact]
) -> Iterator[Correction]:
    """The camera moves every light: turned against it by as much, the other flashes stay as they are. No lamp can be
    among the lights, and each dial has to reach."""
    others = [other for other in exposure.lights if other.lit and other.letter != light.letter]
    for way in ways:
        if isinstance(way, Fact):
            continue
        turned = [_turned(other, way.leaves_stops - off, ()) for other in others if other.kind == "flash"]
        reached = [each for each in turned if each is not None and each.fit is None]
        if len(reached) < len(others):
            continue
        told: dict[str, Value] = {
            "others": tuple(each.light.letter for each in reached),
            "others_was": tuple(each.marks[0] for each in reached),
            "others_now": tuple(each.marks[1] for each in reached),
        }
        yield replace(
            way,
            to=way.to | {"lights": {each.light.letter: each.to for each in reached}},
            move=Fact(_WITH_OTHERS[way.move.reason], values={**way.move.values, **told}),
            changes=(*way.changes, Effect.ENERGY),
            keeps=tuple(each for each in way.keeps if each is not Effect.ENERGY and each is not Effect.RATIOS),
        )


# --- distance and pops ----------------------------------------------------------------------------------------


# Distances are set with a tape: to its finer marks near the subject, to its whole ones further off.
_NEAR_MM = 500.0
_FURTHEST_MM = 100_000.0


def _distance(light: LightState, off: float, stands: Fact, tape: Lengths) -> Iterator[Correction | Fact]:
    standing = light.distance_mm
    if standing is None:
        return
    try:
        wanted = distance_law.distance_for_change_mm(light.source, standing, -off)
    except ValueError:
        most = distance_law.greatest_gain_stops(light.source, standing)
        yield _cannot(stands, Reason.DISTANCE_OUT_OF_LAW, from_mm=standing, most_stops=most)
        return
    fine = wanted < _NEAR_MM
    reached = tape.nearest_mark_mm(wanted, fine=fine)
    if not tape.mark_mm(fine=fine) <= reached <= _FURTHEST_MM:
        yield _cannot(stands, Reason.DISTANCE_OUT_OF_TAPE, needs_mm=wanted)
        return
    leaves = off + distance_law.change_with_distance_stops(light.source, standing, reached)
    if not _helps(off, leaves):
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


def _pops(exposure: Exposure, acts_on: str, off: float, stands: Fact, means: Means) -> Iterator[Correction | Fact]:
    if off > 0 and exposure.pops == 1:
        return
    wanted = exposure.pops * 2.0**-off
    pops = max(round(wanted), 1)
    if pops > MOST_POPS:
        yield _cannot(stands, Reason.TOO_MANY_POPS, needs=wanted, most=MOST_POPS)
        return
    leaves = off + flash.pops_stops(pops) - flash.pops_stops(exposure.pops)
    if pops == exposure.pops or not _helps(off, leaves):
        return
    if not means.subject_is_static:
        yield _cannot(stands, Reason.POPS_NEED_STILLNESS, pops=pops)
        return
    if pops < exposure.pops:
        yield _popped(exposure, acts_on, pops, leaves, stands, None)
        return
    recycles = [light.recycle_s for light in exposure.lit_flashes if light.recycle_s is not None]
    if exposure.shutter is None or len(recycles) < len(exposure.lit_flashes):
        yield _cannot(stands, Reason.POPS_NEED_RECYCLING, pops=pops)
        return
    needs_s = pops * max(recycles)
    if exposure.shutter.exact >= needs_s:
        yield _popped(exposure, acts_on, pops, leaves, stands, None)
        return
    # Lamps would be given more light by the longer time, and stand where they are meant to.
    if any(light.lit and light.kind == "continuous" for light in exposure.lights):
        return
    times = marks(Quantity.SHUTTER, means.shutter_dial)
    enough = [mark for mark in times if mark.exact >= needs_s]
    if not enough:
        yield _cannot(stands, Reason.POPS_NEED_TIME, pops=pops, needs_s=needs_s, most_s=times[0].literal)
        return
    shutter = Marked(Quantity.SHUTTER, enough[-1].text, enough[-1].stops, means.shutter_dial)
    yield _popped(exposure, acts_on, pops, leaves, stands, shutter)


def _popped(
    exposure: Exposure, acts_on: str, pops: int, leaves: float, stands: Fact, shutter: Marked | None
) -> Correction:
    """Another number of pops, with the shutter open for them where that has to be moved."""
    longer = 0.0 if shutter is None or exposure.shutter is None else exposure.shutter.stops - shutter.stops
    return Correction(
        acts_on=acts_on,
        cause=Cause.POPS,
        to={"pops": pops} | ({"shutter": shutter.text} if shutter else {}),
        mark=shutter,
        leaves_stops=leaves,
        stands=stands,
        move=fact(
            Reason.POPS_TO,
            was=exposure.pops,
            now=pops,
            shutter=shutter.text if shutter else "",
            ambient_stops=longer,
        ),
        changes=(Effect.AMBIENT, Effect.FRAME_TIME) if shutter else (Effect.FRAME_TIME,),
        keeps=(Effect.DEPTH, Effect.SOFTNESS, *(() if shutter else (Effect.AMBIENT,))),
    )


def _helps(off: float, leaves: float) -> bool:
    return abs(leaves) < abs(off) - 1e-9


def _cannot(stands: Fact, reason: Reason, about: str = "", **values: Value) -> Fact:
    """Why a way is none, beside how the balance is off."""
    return fact(reason, about or stands.about, **{**stands.values, **values})

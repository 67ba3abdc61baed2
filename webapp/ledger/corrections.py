"""A balance off its target in, the ways to bring it there out, in the order a working photographer tries them.

Each way is checked against what the kit in the room can really set: it is given in marks of that dial, with what
the rounding leaves over, what else it changes and what it leaves alone. A way the kit cannot make becomes a note
that names the number it would have needed. The order is common practice: the energy of that light, then filters
on it, filters on the lens, aperture, ISO, distance, several pops. One light off: only that light is touched. All
off alike: aperture, ISO, or every energy by the same step, so that ratios hold. The shutter is never a way: it
does not move flash.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from webapp.facts import Fact, Value, digest, fact
from webapp.ledger.entries import Cause, power_learned
from webapp.ledger.exposures import ALL_LIGHTS, Exposure, LightState
from webapp.ledger.reasons import Effect, Reason
from webapp.optics import distance_law, flash, macro
from webapp.optics.scales import Dial, Mark, Marked, Quantity, nearest_mark, value_at
from webapp.quantities.lengths import CENTIMETRES, Lengths

# Below this a balance is even: half of the smallest step that any dial here shows.
EVEN_WITHIN_STOPS = 0.05
# Balances this close to each other are "all alike".
ALIKE_WITHIN_STOPS = 0.05
# More flashes than this into one frame is another way of working, not a correction.
MOST_POPS = 64


@dataclass(frozen=True, slots=True)
class Sheet:
    """A filter that lies ready in the kit: what it takes away, in stops (positive)."""

    id: str
    name: str
    loss_stops: float


@dataclass(frozen=True, slots=True)
class Means:
    """What the kit in the room can do beyond the lights' own dials."""

    f_number_dial: Dial = Dial.THIRD
    iso_dial: Dial = Dial.THIRD
    widest_f_number: float = 0.5
    smallest_f_number: float = 128.0
    lowest_iso: float = 25.0
    highest_iso: float = 409_600.0
    light_sheets: tuple[Sheet, ...] = ()
    lens_sheets: tuple[Sheet, ...] = ()
    subject_is_static: bool = True
    circle_of_confusion_mm: float | None = None
    tape: Lengths = CENTIMETRES


@dataclass(frozen=True, slots=True)
class Correction:
    """One way. `to` holds the fields to set and their new values; `leaves_stops` what the balance is off by after
    (where the way acts on all lights: the balance of the one that is then furthest off).

    `sheets` are the ids of the filters to put in, where the way is by filters; none means that all come out; `mark` is
    the one to set, where it is by a dial of the camera. `stands` is how the balance is off, `move` what is done,
    `notes` what it rests on.
    """

    acts_on: str
    cause: Cause
    to: dict[str, object]
    leaves_stops: float
    stands: Fact
    move: Fact
    changes: tuple[Effect, ...] = ()
    keeps: tuple[Effect, ...] = ()
    sheets: tuple[str, ...] = ()
    mark: Marked | None = None
    notes: tuple[Fact, ...] = ()

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
    exposure: Exposure, balances: dict[str, float | None], target: Target, means: Means
) -> tuple[tuple[Correction, ...], tuple[Fact, ...]]:
    """The ways to bring every lit flash to its target, and the notes on what cannot be done.

    `balances` are those of the lights of `exposure`, by letter; a light whose balance is unknown is left alone and
    keeps the others from being treated as "all alike".
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
    corrections: list[Correction] = []
    notes: list[Fact] = []
    if all_alike and len(lit) > 1:
        _collect(_ways_for_all(exposure, lit, off_by, means), corrections, notes)
    else:
        for light in sorted(to_move, key=lambda each: -abs(off_by[each.letter])):
            _collect(
                _ways_for_one(exposure, light, off_by[light.letter], target, means, alone=len(lit) == 1),
                corrections,
                notes,
            )
    return tuple(corrections), tuple(notes)


def _collect(ways: Iterator[Correction | Fact], corrections: list[Correction], notes: list[Fact]) -> None:
    for way in ways:
        if isinstance(way, Fact):
            notes.append(way)
        else:
            corrections.append(way)


def _ways_for_one(
    exposure: Exposure, light: LightState, off: float, target: Target, means: Means, *, alone: bool
) -> Iterator[Correction | Fact]:
    stands = fact(
        Reason.OFF_TARGET, light.letter, light=light.name, off_stops=off, target_stops=target.of(light.letter)
    )
    yield from _energy(light, off, stands)
    yield from _sheets_on_light(light, off, stands, means)
    if alone:
        yield from _camera_ways(exposure, light.letter, off, stands, means)
    yield from _distance(light, off, stands, means.tape)
    if alone:
        yield from _pops(exposure, light.letter, off, stands, means)


def _ways_for_all(
    exposure: Exposure, lit: tuple[LightState, ...], off_by: dict[str, float], means: Means
) -> Iterator[Correction | Fact]:
    off = sum(off_by.values()) / len(off_by)
    stands = fact(Reason.ALL_OFF_TARGET, ALL_LIGHTS, lights=tuple(light.letter for light in lit), off_stops=off)
    yield from _told_for_the_furthest(_aperture(exposure, ALL_LIGHTS, off, stands, means), off, off_by)
    yield from _told_for_the_furthest(_iso(exposure, ALL_LIGHTS, off, stands, means), off, off_by)
    yield from _energies_together(lit, off, off_by, stands)
    yield from _told_for_the_furthest(_sheets_on_lens(exposure, ALL_LIGHTS, off, stands, means), off, off_by)
    yield from _told_for_the_furthest(_pops(exposure, ALL_LIGHTS, off, stands, means), off, off_by)


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


def _camera_ways(
    exposure: Exposure, acts_on: str, off: float, stands: Fact, means: Means
) -> Iterator[Correction | Fact]:
    yield from _sheets_on_lens(exposure, acts_on, off, stands, means)
    yield from _aperture(exposure, acts_on, off, stands, means)
    yield from _iso(exposure, acts_on, off, stands, means)


def _energy(light: LightState, off: float, stands: Fact) -> Iterator[Correction | Fact]:
    dial, standing = light.dial, light.power_stops
    if dial is None or standing is None:
        return
    wanted = standing - off / light.slope
    reached = dial.nearest(wanted)
    if shortfall := _out_of_reach(wanted, dial.lowest_stops, dial.step_stops):
        needs, ends = dial.energy_mark(wanted) if wanted <= 0 else "", dial.energy_mark(reached)
        yield _cannot(stands, Reason.POWER_OUT_OF_REACH, needs=needs, ends=ends, short_stops=shortfall)
        return
    if not _helps(off, leaves := light.slope * (reached - standing) + off):
        return
    yield Correction(
        acts_on=light.letter,
        cause=Cause.ENERGY,
        to={"power_stops": reached},
        leaves_stops=leaves,
        stands=stands,
        move=fact(Reason.POWER_TO, light.letter, was=dial.energy_mark(standing), now=dial.energy_mark(reached)),
        changes=(Effect.ENERGY, Effect.RECYCLE_TIME),
        keeps=(Effect.DEPTH, Effect.AMBIENT, Effect.SOFTNESS),
        notes=(power_learned(light),) if light.slope_from else (),
    )


def _out_of_reach(wanted: float, lowest: float, step: float) -> float | None:
    """How many stops past the end of a dial `wanted` lies; None where a mark is within half a step."""
    beyond = max(wanted, lowest - wanted)
    return beyond if beyond > step / 2 + 1e-9 else None


def _sheets_on_light(light: LightState, off: float, stands: Fact, means: Means) -> Iterator[Correction | Fact]:
    if off > 0:
        chosen = _best_sheets(off, means.light_sheets)
        if chosen is None or light.filters.loss_stops is None:
            return
        loss = sum(sheet.loss_stops for sheet in chosen)
        fitted = tuple(sheet.name for sheet in chosen)
        yield Correction(
            acts_on=light.letter,
            cause=Cause.FILTERS,
            to={"filter_stops": light.filters.loss_stops + loss},
            sheets=tuple(sheet.id for sheet in chosen),
            leaves_stops=off - loss,
            stands=stands,
            move=fact(Reason.PUT_ON_LIGHT, light.letter, fitted=fitted, loss_stops=loss),
            changes=(Effect.MODELLING_LIGHT, Effect.COLOUR),
            keeps=(Effect.DEPTH, Effect.AMBIENT, Effect.ENERGY),
        )
    elif light.filters.loss_stops and _helps(off, leaves := off + light.filters.loss_stops):
        fitted, loss = (light.filters.name,), light.filters.loss_stops
        yield Correction(
            acts_on=light.letter,
            cause=Cause.FILTERS,
            to={"filter_stops": 0.0},
            leaves_stops=leaves,
            stands=stands,
            move=fact(Reason.TAKE_OFF_LIGHT, light.letter, fitted=fitted, loss_stops=loss),
            changes=(Effect.FILTER_WORK,),
            keeps=(Effect.DEPTH, Effect.AMBIENT, Effect.ENERGY),
        )


def _sheets_on_lens(
    exposure: Exposure, acts_on: str, off: float, stands: Fact, means: Means
) -> Iterator[Correction | Fact]:
    standing = exposure.lens_filters.loss_stops
    if standing is None:
        return
    if off > 0 and (chosen := _best_sheets(off, means.lens_sheets)) is not None:
        loss = sum(sheet.loss_stops for sheet in chosen)
        fitted = tuple(sheet.name for sheet in chosen)
        yield Correction(
            acts_on=acts_on,
            cause=Cause.LENS_FILTERS,
            to={"lens_filter_stops": standing + loss},
            sheets=tuple(sheet.id for sheet in chosen),
            leaves_stops=off - loss,
            stands=stands,
            move=fact(Reason.PUT_ON_LENS, fitted=fitted, loss_stops=loss),
            changes=(Effect.AMBIENT, Effect.FINDER),
            keeps=(Effect.DEPTH, Effect.ENERGY),
        )
    elif off < 0 and standing and _helps(off, leaves := off + standing):
        fitted = (exposure.lens_filters.name,)
        yield Correction(
            acts_on=acts_on,
            cause=Cause.LENS_FILTERS,
            to={"lens_filter_stops": 0.0},
            leaves_stops=leaves,
            stands=stands,
            move=fact(Reason.TAKE_OFF_LENS, fitted=fitted, loss_stops=standing),
            changes=(Effect.AMBIENT, Effect.FINDER, Effect.LENS_FILTER_WORK),
            keeps=(Effect.DEPTH, Effect.ENERGY),
        )


def _best_sheets(wanted: float, sheets: tuple[Sheet, ...]) -> tuple[Sheet, ...] | None:
    """One sheet, or two, whose loss comes nearest to `wanted`; one rather than two where they come as near."""
    candidates = [*((sheet,) for sheet in sheets), *itertools.combinations_with_replacement(sheets, 2)]
    helping = [each for each in candidates if abs(wanted - sum(sheet.loss_stops for sheet in each)) <= wanted / 2]
    if not helping:
        return None
    return min(helping, key=lambda each: (round(abs(wanted - sum(sheet.loss_stops for sheet in each)), 2), len(each)))


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
        changes=(Effect.DEPTH, Effect.AMBIENT),
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


def _energies_together(
    lit: tuple[LightState, ...], off: float, off_by: dict[str, float], stands: Fact
) -> Iterator[Correction | Fact]:
    moved: dict[str, float] = {}
    marks: dict[str, tuple[str, str]] = {}
    for light in lit:
        if light.dial is None or light.power_stops is None:
            return
        wanted = light.power_stops - off / light.slope
        if shortfall := _out_of_reach(wanted, light.dial.lowest_stops, light.dial.step_stops):
            lowest = "" if wanted > 0 else light.dial.energy_mark(light.dial.lowest_stops)
            yield _cannot(
                stands, Reason.POWERS_OUT_OF_REACH, about=light.letter, lowest=lowest, short_stops=shortfall
            )
            return
        moved[light.letter] = reached = light.dial.nearest(wanted)
        marks[light.letter] = light.dial.energy_mark(light.power_stops), light.dial.energy_mark(reached)
    changes = {light.letter: light.slope * (moved[light.letter] - (light.power_stops or 0.0)) for light in lit}
    leaves = max((off_by[letter] + change for letter, change in changes.items()), key=abs)
    if not _helps(off, leaves):
        return
    yield Correction(
        acts_on=ALL_LIGHTS,
        cause=Cause.ENERGY,
        to={"lights": {letter: {"power_stops": stops} for letter, stops in moved.items()}},
        leaves_stops=leaves,
        stands=stands,
        move=fact(
            Reason.POWERS_TO,
            ALL_LIGHTS,
            lights=tuple(marks),
            was=tuple(was for was, _ in marks.values()),
            now=tuple(now for _, now in marks.values()),
            uneven_stops=max(changes.values()) - min(changes.values()),
        ),
        changes=(Effect.EVERY_ENERGY, Effect.RECYCLE_TIME),
        keeps=(Effect.RATIOS, Effect.DEPTH, Effect.AMBIENT),
    )


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
    gains = flash.pops_stops(pops) - flash.pops_stops(exposure.pops)
    yield Correction(
        acts_on=acts_on,
        cause=Cause.POPS,
        to={"pops": pops},
        leaves_stops=leaves,
        stands=stands,
        move=fact(Reason.POPS_TO, was=exposure.pops, now=pops, gains_stops=gains),
        changes=(Effect.AMBIENT, Effect.FRAME_TIME),
        keeps=(Effect.DEPTH, Effect.SOFTNESS),
    )


def _helps(off: float, leaves: float) -> bool:
    return abs(leaves) < abs(off) - 1e-9


def _cannot(stands: Fact, reason: Reason, about: str = "", **values: Value) -> Fact:
    """Why a way is none, beside how the balance is off."""
    return fact(reason, about or stands.about, **{**stands.values, **values})

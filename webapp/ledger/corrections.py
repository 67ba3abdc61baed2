"""A balance off its target in, the ways to bring it there out, in the order a working photographer tries them.

Each way is checked against what the kit in the room can really set: it is given in marks of that dial, with what
the rounding leaves over, what else it changes and what it leaves alone. A way the kit cannot make becomes a note
that names the number it would have needed.

One light off: only that light is touched, by its energy (to the end of its dial, and the least sheets for the rest),
by sheets alone, by its distance. All off alike: every energy by the same step, so that ratios hold, sheets on the lens,
ISO as far as it is clean, aperture, ISO beyond that. A light that is lit alone is both. Several pops come last, and
only where the shutter can stand open for them. The shutter by itself is never a way: it does not move flash.

What was just changed is taken as meant: a way that would take back more than half of it stands behind all others and
says so. What is left of a change that overshot may go: five stops of energy for four of aperture come down by one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from webapp.facts import Fact, fact
from webapp.ledger.camera_ways import iso_and_aperture, pops, sheets_on_lens, turned_against_others
from webapp.ledger.entries import Cause, Entry
from webapp.ledger.exposures import ALL_LIGHTS, Exposure, LightState
from webapp.ledger.light_ways import distance, energies_together, energy, out_of_reach
from webapp.ledger.reasons import Effect, Reason
from webapp.ledger.ways import Correction, Means, Target

# Below this a balance is even: half of the smallest step that any dial here shows.
EVEN_WITHIN_STOPS = 0.05
# Balances this close to each other are "all alike".
ALIKE_WITHIN_STOPS = 0.05


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
    if light.power_stops is None or dial is None or out_of_reach(power_stops, dial) is None:
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
    yield from energy(light, off, stands, means)
    if alone:
        yield from sheets_on_lens(exposure, light.letter, off, stands, means)
        yield from iso_and_aperture(exposure, light.letter, off, stands, means)
    elif against_others:
        by_camera = iso_and_aperture(exposure, light.letter, off, stands, means)
        yield from turned_against_others(exposure, light, off, by_camera)
    yield from distance(light, off, stands, means.tape)
    if alone:
        yield from pops(exposure, light.letter, off, stands, means)


def _ways_for_all(
    exposure: Exposure, lit: tuple[LightState, ...], off_by: dict[str, float], means: Means
) -> Iterator[Correction | Fact]:
    off = sum(off_by.values()) / len(off_by)
    stands = fact(Reason.ALL_OFF_TARGET, ALL_LIGHTS, lights=tuple(light.letter for light in lit), off_stops=off)
    yield from energies_together(lit, off, off_by, stands, means)
    for ways in (sheets_on_lens, iso_and_aperture, pops):
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

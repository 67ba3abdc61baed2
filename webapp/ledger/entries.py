"""Two frames in, entries out: each cause of change, in stops, with its sign (+ is more light).

Which entry acts on which light follows from how light reaches the picture. Aperture, close-up loss, ISO and a
filter on the lens act on everything. The shutter acts on the ambient light and on continuous lights, and never on
flash (up to sync speed). Energy, distance, modifier and filters of a light act on that light alone, pops on every
flash. Entries that act on one light add up to its balance, because stops are logarithms of factors.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from pydantic import Discriminator, Tag

from webapp.facts import Fact, fact
from webapp.ledger.exposures import ALL_LIGHTS, AMBIENT, Exposure, Filters, LightState
from webapp.ledger.reasons import Reason
from webapp.ledger.set_up import IncidentReading
from webapp.optics import distance_law, flash, macro
from webapp.optics.scales import Marked, Quantity, value_at
from webapp.quantities.powers import PowerDial


class Cause(StrEnum):
    """Everything that can be an entry."""

    APERTURE = "aperture"
    CLOSE_UP = "close_up"
    SHUTTER = "shutter"
    ISO = "iso"
    LENS_FILTERS = "lens_filters"
    ENERGY = "energy"
    DISTANCE = "distance"
    MODIFIER = "modifier"
    FILTERS = "filters"
    POPS = "pops"
    METERED = "metered"


# A change smaller than this is the same setting read twice.
NO_CHANGE_STOPS = 1e-9


@dataclass(frozen=True, slots=True)
class Power:
    """A place on the dial of a light, in stops below full; `dial` None where nothing is known of it."""

    stops: float
    dial: PowerDial | None


@dataclass(frozen=True, slots=True)
class Head:
    """A head where it is another than before: by the light's name, or "" for the one that stood there."""

    name: str = ""


# Each kind of setting that is no number, by a field that it has and those after it have not.
_KNOWN_BY = {Marked: "quantity", Power: "dial", IncidentReading: "mark", Filters: "key", Head: "name"}


def _kept_as(setting: object) -> str:
    """Which kind of setting one is, or the JSON that it was kept as."""
    if isinstance(setting, dict):
        return next((name for name in _KNOWN_BY.values() if name in setting), "number")
    return _KNOWN_BY.get(type(setting), "number")


Setting = Annotated[
    Annotated[Marked, Tag("quantity")]
    | Annotated[Power, Tag("dial")]
    | Annotated[IncidentReading, Tag("mark")]
    | Annotated[Filters, Tag("key")]
    | Annotated[Head, Tag("name")]
    | Annotated[int | float | None, Tag("number")],
    Discriminator(_kept_as),
]
"""What a cause moves: a mark of the camera, or the meter's that it is compared with; a power, or a head; what is fitted;
a distance in millimetres, a magnification, a level (2 log2 of the f-number at ISO 100) or a number of pops. None is
unknown."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One cause of change on one light, from one setting to another. `stops` None: by how much is unknown."""

    cause: Cause
    acts_on: str
    stops: float | None
    was: Setting
    now: Setting

    @property
    def given(self) -> tuple[float | None, float | None]:
        """The two numbers that the arithmetic used."""
        return _number(self.was), _number(self.now)

    @property
    def told(self) -> dict[str, Told]:
        """The two settings as a fact has them."""
        return {"was": told(self.was), "now": told(self.now)}


def _number(setting: Setting) -> float | None:
    match setting:
        case Marked():
            return setting.exact
        case IncidentReading():
            return value_at(Quantity.F_NUMBER, setting.av)
        case Power():
            return setting.stops
        case Filters():
            return setting.loss_stops
        case Head():
            return None
    return setting


Told = str | int | float | None


def told(setting: Setting) -> Told:
    """A setting as a fact has it: a mark as its dial shows it, kit by its name ("" for none), else its number."""
    match setting:
        case Marked():
            return setting.text
        case IncidentReading():
            return setting.mark
        case Power():
            return setting.dial.mark(setting.stops) if setting.dial else setting.stops
        case Filters() | Head():
            return setting.name
    return setting


@dataclass(frozen=True, slots=True)
class Comparison:
    """Entries, the balance of each light and of the ambient light, and what must be said beside them: a note is about a
    letter, "ambient" or "all"."""

    entries: tuple[Entry, ...]
    balances: dict[str, float | None]
    notes: tuple[Fact, ...]

    def of(self, acts_on: str) -> tuple[Entry, ...]:
        """The entries that act on one light."""
        return tuple(entry for entry in self.entries if entry.acts_on == acts_on)


def compare(before: Exposure, after: Exposure, *, baselines: dict[str, Exposure] | None = None) -> Comparison:
    """All entries from one exposure to another, for each light and for the ambient light.

    `baselines` names, for a light that was off in `before`, the exposure it is compared with instead (the first
    frame in which it was lit). Lit or off is a state without stops: a light that is off, or has nothing to be
    compared with, has balance None.
    """
    entries: list[Entry] = []
    notes: list[Fact] = []
    balances: dict[str, float | None] = {}
    for light in after.lights:
        base = (baselines or {}).get(light.letter, before)
        found, balances[light.letter], said = _light_comparison(base, after, light)
        entries.extend(found)
        notes.extend(said)
    for light in before.lights:
        if after.light(light.letter) is None:
            balances[light.letter] = None
            if light.lit:
                notes.append(fact(Reason.LIGHT_IS_GONE, light.letter, light=light.name))
    ambient = list(_camera_entries(before, after, AMBIENT, moved_by_shutter=True))
    entries.extend(ambient)
    balances[AMBIENT] = balance(ambient)
    notes.extend(_camera_notes(before, after))
    return Comparison(tuple(entries), balances, tuple(notes))


def balance(entries: list[Entry] | tuple[Entry, ...]) -> float | None:
    """The sum of entries that act on one light; None where one of them is unknown."""
    if any(entry.stops is None for entry in entries):
        return None
    return sum(entry.stops for entry in entries if entry.stops is not None) + 0.0


def _light_comparison(
    before: Exposure, after: Exposure, light: LightState
) -> tuple[list[Entry], float | None, list[Fact]]:
    was = before.light(light.letter)
    if not light.lit:
        switched_off = was is not None and was.lit
        return [], None, [fact(Reason.LIGHT_IS_OFF, light.letter, light=light.name)] if switched_off else []
    if was is None or not was.lit:
        return [], None, [fact(Reason.LIGHT_WAS_OFF, light.letter, light=light.name)]
    continuous = light.kind == "continuous"
    entries = list(_camera_entries(before, after, light.letter, moved_by_shutter=continuous))
    notes: list[Fact] = []
    if was.head_key != light.head_key or was.kind != light.kind:
        entries.append(Entry(Cause.ENERGY, light.letter, None, Head(), Head(light.name)))
        notes.append(fact(Reason.ANOTHER_HEAD, light.letter, light=light.name))
        return entries, None, notes
    entries.extend(_energy_entry(was, light, notes))
    entries.extend(_distance_entry(was, light, notes))
    entries.extend(_loss_entry(Cause.MODIFIER, was.modifier, light.modifier, light, notes))
    entries.extend(_loss_entry(Cause.FILTERS, was.filters, light.filters, light, notes))
    if not continuous and before.pops != after.pops:
        stops = flash.pops_stops(after.pops) - flash.pops_stops(before.pops)
        entries.append(Entry(Cause.POPS, light.letter, stops, before.pops, after.pops))
    return entries, balance(entries), notes


def _energy_entry(was: LightState, now: LightState, notes: list[Fact]) -> Iterator[Entry]:
    if was.power_stops is None or now.power_stops is None:
        notes.append(fact(Reason.POWER_UNKNOWN, now.letter, light=now.name))
        yield Entry(Cause.ENERGY, now.letter, None, _power(was.power_stops, was), _power(now.power_stops, now))
        return
    difference = now.slope * (now.power_stops - was.power_stops)
    if abs(difference) > NO_CHANGE_STOPS:
        if now.slope_from:
            notes.append(power_learned(now))
        yield Entry(Cause.ENERGY, now.letter, difference, _power(was.power_stops, now), _power(now.power_stops, now))


def _power(stops: float | None, light: LightState) -> Power | None:
    return None if stops is None else Power(stops, light.dial)


def power_learned(light: LightState) -> Fact:
    """That a head's own curve was used, and what it rests on."""
    return fact(Reason.POWER_LEARNED, light.letter, a_mark_stops=light.slope, readings=light.slope_from)


def _distance_entry(before: LightState, after: LightState, notes: list[Fact]) -> Iterator[Entry]:
    was, now = before.distance_mm, after.distance_mm
    if before.shines_on != after.shines_on:
        # The two distances are to different things, and what lies between now changes the light as well.
        notes.append(fact(Reason.TURNED_ELSEWHERE, after.letter, light=after.name, now=after.shines_on))
        yield Entry(Cause.DISTANCE, after.letter, None, was, now)
    elif was is None and now is None:
        notes.append(fact(Reason.DISTANCE_UNKNOWN, after.letter, light=after.name))
    elif was is None or now is None:
        notes.append(fact(Reason.DISTANCE_UNKNOWN_ONCE, after.letter, light=after.name))
        yield Entry(Cause.DISTANCE, after.letter, None, was, now)
    elif was != now:
        stops = distance_law.change_with_distance_stops(after.source, was, now)
        yield Entry(Cause.DISTANCE, after.letter, stops, was, now)


def _loss_entry(cause: Cause, was: Filters, now: Filters, light: LightState, notes: list[Fact]) -> Iterator[Entry]:
    entry = _exchanged(cause, light.letter, was, now)
    if entry is None:
        return
    if entry.stops is None:
        fitted = now.name if now.loss_stops is None else was.name
        notes.append(fact(Reason.LOSS_UNKNOWN, light.letter, light=light.name, fitted=fitted))
    yield entry


def _exchanged(cause: Cause, acts_on: str, was: Filters, now: Filters) -> Entry | None:
    """What is fitted for what was; None where that is the same, or takes as much."""
    if was.key == now.key:
        return None
    stops = _loss_difference(was, now)
    return Entry(cause, acts_on, stops, was, now) if stops is None or abs(stops) > NO_CHANGE_STOPS else None


def _loss_difference(was: Filters, now: Filters) -> float | None:
    return None if was.loss_stops is None or now.loss_stops is None else was.loss_stops - now.loss_stops


def _camera_entries(before: Exposure, after: Exposure, acts_on: str, *, moved_by_shutter: bool) -> Iterator[Entry]:
    dials = [(Cause.APERTURE, before.f_number, after.f_number, -1.0), (Cause.ISO, before.iso, after.iso, 1.0)]
    if moved_by_shutter:
        dials.insert(1, (Cause.SHUTTER, before.shutter, after.shutter, -1.0))
    for cause, was, now, sign in dials:
        if was is None and now is None:
            continue
        stops = None if was is None or now is None else sign * (now.stops - was.stops)
        if stops is None or abs(stops) > NO_CHANGE_STOPS:
            yield Entry(cause, acts_on, stops, was, now)
    yield from _close_up_entry(before, after, acts_on)
    lens_filters = _exchanged(Cause.LENS_FILTERS, acts_on, before.lens_filters, after.lens_filters)
    if lens_filters is not None:
        yield lens_filters


def _close_up_entry(before: Exposure, after: Exposure, acts_on: str) -> Iterator[Entry]:
    was, now = before.magnification, after.magnification
    if was is None and now is None:
        return
    stops = None
    if was is not None and now is not None:
        stops = macro.exposure_increase_stops(was, before.pupil_ratio) - macro.exposure_increase_stops(
            now, after.pupil_ratio
        )
    if stops is None or abs(stops) > NO_CHANGE_STOPS:
        yield Entry(Cause.CLOSE_UP, acts_on, stops, was, now)


def _camera_notes(before: Exposure, after: Exposure) -> Iterator[Fact]:
    settings = (
        ("f_number", before.f_number, after.f_number),
        ("shutter", before.shutter, after.shutter),
        ("iso", before.iso, after.iso),
        ("magnification", before.magnification, after.magnification),
    )
    for setting, was, now in settings:
        if was is None and now is None:
            yield fact(Reason.SETTING_UNKNOWN, ALL_LIGHTS, setting=setting)
        elif was is None or now is None:
            about = AMBIENT if setting == "shutter" else ALL_LIGHTS
            yield fact(Reason.SETTING_UNKNOWN_ONCE, about, setting=setting)
    lens_filters = (before.lens_filters, after.lens_filters)
    if lens_filters[0].key != lens_filters[1].key and _loss_difference(*lens_filters) is None:
        unknown = next(each for each in lens_filters if each.loss_stops is None)
        yield fact(Reason.LENS_LOSS_UNKNOWN, ALL_LIGHTS, fitted=unknown.name)
    if (readings := after.lens_filters.learned_from) and before.lens_filters.key != after.lens_filters.key:
        yield fact(Reason.PAIR_LEARNED, ALL_LIGHTS, fitted=after.lens_filters.name, readings=readings)

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

from webapp.facts import Fact, fact
from webapp.ledger.exposures import ALL_LIGHTS, AMBIENT, Exposure, Filters, LightState
from webapp.ledger.reasons import Reason
from webapp.optics import distance_law, flash, macro
from webapp.optics.scales import Marked
from webapp.quantities.lengths import CENTIMETRES, Lengths


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


CAUSE_WORDS = {
    Cause.APERTURE: "aperture",
    Cause.CLOSE_UP: "close-up loss",
    Cause.SHUTTER: "shutter",
    Cause.ISO: "ISO",
    Cause.LENS_FILTERS: "lens filters",
    Cause.ENERGY: "energy",
    Cause.DISTANCE: "distance",
    Cause.MODIFIER: "modifier",
    Cause.FILTERS: "filters",
    Cause.POPS: "pops",
    Cause.METERED: "metered level",
}

# A change smaller than this is the same setting read twice.
NO_CHANGE_STOPS = 1e-9


@dataclass(frozen=True, slots=True)
class Entry:
    """One cause of change on one light. `stops` None: it changed, and by how much is unknown.

    `given` are the two numbers the arithmetic used; `was` and `now` are the two settings as their dial or the kit names
    them, and empty for a distance, which has no name but its length: that is in `given`, in millimetres.
    """

    cause: Cause
    acts_on: str
    stops: float | None
    was: str
    now: str
    given: tuple[float | None, float | None]

    def written(self, lengths: Lengths = CENTIMETRES) -> tuple[str, str]:
        """The two settings, a distance as the reader likes lengths."""
        if self.cause is not Cause.DISTANCE:
            return self.was, self.now
        was, now = (lengths.text(length_mm) for length_mm in self.given)
        return was, now


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
        entries.append(Entry(Cause.ENERGY, light.letter, None, "another head", light.name, (None, None)))
        notes.append(fact(Reason.ANOTHER_HEAD, light.letter, light=light.name))
        return entries, None, notes
    entries.extend(_energy_entry(was, light, notes))
    entries.extend(_distance_entry(was, light, notes))
    entries.extend(_loss_entry(Cause.MODIFIER, was.modifier, light.modifier, light, notes))
    entries.extend(_loss_entry(Cause.FILTERS, was.filters, light.filters, light, notes))
    if not continuous and before.pops != after.pops:
        stops = flash.pops_stops(after.pops) - flash.pops_stops(before.pops)
        entries.append(
            Entry(Cause.POPS, light.letter, stops, str(before.pops), str(after.pops), (before.pops, after.pops))
        )
    return entries, balance(entries), notes


def _energy_entry(was: LightState, now: LightState, notes: list[Fact]) -> Iterator[Entry]:
    if was.power_stops is None or now.power_stops is None:
        notes.append(fact(Reason.POWER_UNKNOWN, now.letter, light=now.name))
        yield Entry(
            Cause.ENERGY,
            now.letter,
            None,
            was.power_text(was.power_stops),
            now.power_text(now.power_stops),
            (None, None),
        )
        return
    difference = now.slope * (now.power_stops - was.power_stops)
    if abs(difference) > NO_CHANGE_STOPS:
        if now.slope_from:
            notes.append(power_learned(now))
        yield Entry(
            Cause.ENERGY,
            now.letter,
            difference,
            now.power_text(was.power_stops),
            now.power_text(now.power_stops),
            (was.power_stops, now.power_stops),
        )


def power_learned(light: LightState) -> Fact:
    """That a head's own curve was used, and what it rests on."""
    return fact(Reason.POWER_LEARNED, light.letter, a_mark_stops=light.slope, readings=light.slope_from)


def _distance_entry(was: LightState, now: LightState, notes: list[Fact]) -> Iterator[Entry]:
    given = (was.distance_mm, now.distance_mm)
    if was.distance_mm is None and now.distance_mm is None:
        notes.append(fact(Reason.DISTANCE_UNKNOWN, now.letter, light=now.name))
    elif was.distance_mm is None or now.distance_mm is None:
        notes.append(fact(Reason.DISTANCE_UNKNOWN_ONCE, now.letter, light=now.name))
        yield Entry(Cause.DISTANCE, now.letter, None, "", "", given)
    elif was.distance_mm != now.distance_mm:
        stops = distance_law.change_with_distance_stops(now.source, was.distance_mm, now.distance_mm)
        yield Entry(Cause.DISTANCE, now.letter, stops, "", "", given)


def _loss_entry(cause: Cause, was: Filters, now: Filters, light: LightState, notes: list[Fact]) -> Iterator[Entry]:
    if was.key == now.key:
        return
    stops = None if was.loss_stops is None or now.loss_stops is None else was.loss_stops - now.loss_stops
    if stops is None:
        fitted = now.text if now.loss_stops is None else was.text
        notes.append(fact(Reason.LOSS_UNKNOWN, light.letter, light=light.name, fitted=fitted))
    if stops is None or abs(stops) > NO_CHANGE_STOPS:
        yield Entry(cause, light.letter, stops, was.text, now.text, (was.loss_stops, now.loss_stops))


def _camera_entries(before: Exposure, after: Exposure, acts_on: str, *, moved_by_shutter: bool) -> Iterator[Entry]:
    dials = [(Cause.APERTURE, before.f_number, after.f_number, -1.0), (Cause.ISO, before.iso, after.iso, 1.0)]
    if moved_by_shutter:
        dials.insert(1, (Cause.SHUTTER, before.shutter, after.shutter, -1.0))
    for cause, was, now, sign in dials:
        if was is None and now is None:
            continue
        if was is None or now is None:
            texts = (mark_text(cause, was), mark_text(cause, now))
            yield Entry(cause, acts_on, None, *texts, (was.exact if was else None, now.exact if now else None))
        elif abs(now.stops - was.stops) > NO_CHANGE_STOPS:
            stops = sign * (now.stops - was.stops)
            yield Entry(cause, acts_on, stops, mark_text(cause, was), mark_text(cause, now), (was.exact, now.exact))
    yield from _close_up_entry(before, after, acts_on)
    lens_filters = _lens_filters_difference(before.lens_filters, after.lens_filters)
    if before.lens_filters.key != after.lens_filters.key and (
        lens_filters is None or abs(lens_filters) > NO_CHANGE_STOPS
    ):
        given = (before.lens_filters.loss_stops, after.lens_filters.loss_stops)
        yield Entry(
            Cause.LENS_FILTERS,
            acts_on,
            lens_filters,
            before.lens_filters.text,
            after.lens_filters.text,
            given,
        )


def _close_up_entry(before: Exposure, after: Exposure, acts_on: str) -> Iterator[Entry]:
    if before.magnification is None and after.magnification is None:
        return
    given = (before.magnification, after.magnification)
    texts = (magnification_text(before.magnification), magnification_text(after.magnification))
    if before.magnification is None or after.magnification is None:
        yield Entry(Cause.CLOSE_UP, acts_on, None, *texts, given)
        return
    stops = macro.exposure_increase_stops(before.magnification, before.pupil_ratio) - macro.exposure_increase_stops(
        after.magnification, after.pupil_ratio
    )
    if abs(stops) > NO_CHANGE_STOPS:
        yield Entry(Cause.CLOSE_UP, acts_on, stops, *texts, given)


def _lens_filters_difference(was: Filters, now: Filters) -> float | None:
    return None if was.loss_stops is None or now.loss_stops is None else was.loss_stops - now.loss_stops


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
    if lens_filters[0].key != lens_filters[1].key and _lens_filters_difference(*lens_filters) is None:
        unknown = next(each for each in lens_filters if each.loss_stops is None)
        yield fact(Reason.LENS_LOSS_UNKNOWN, ALL_LIGHTS, fitted=unknown.text)


def mark_text(cause: Cause, marked: Marked | None) -> str:
    """A camera setting as the page writes it: "f/11", "1/125", "ISO 200"."""
    if marked is None:
        return "unknown"
    prefix = {Cause.APERTURE: "f/", Cause.ISO: "ISO "}.get(cause, "")
    suffix = " s" if cause is Cause.SHUTTER and "/" not in marked.text else ""
    return f"{prefix}{marked.text}{suffix}"


def magnification_text(magnification: float | None) -> str:
    """A magnification as it is spoken of: "0.50", or "distant" for 0."""
    if magnification is None:
        return "unknown"
    return "distant" if magnification == 0 else f"{magnification:.3g}"

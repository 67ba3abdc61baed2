"""The absolute balance of a light from its incident reading, before any frame has been made.

A meter that read f/N at ISO 100 says: at that power and distance, effective f/N exposes rightly. What has changed
since (power, distance), and what the camera does now (effective f-number, ISO, filters), are entries against it.
"""

from __future__ import annotations

import math
from typing import Final

from webapp.ledger.entries import Cause, Entry, balance, magnification_text, mark_text
from webapp.ledger.set_up import Light, SetUp
from webapp.optics import distance_law, flash, macro

OF_THE_LIGHT: Final = (Cause.ENERGY, Cause.DISTANCE, Cause.MODIFIER, Cause.FILTERS)
"""What moves the level at the subject; the rest is the camera's."""


def metered_balance(set_up: SetUp, light: Light) -> tuple[Entry, ...]:
    """The entries from the reading to the set-up as it stands; their sum is the metered balance of the light.

    2 log2(metered f-number / effective f-number) + log2(S/100) + power and distance since, less filters.
    Raises ValueError for a light without a reading.
    """
    reading = light.incident
    if reading is None:
        raise ValueError(f"{light.name} has no meter reading.")
    letter = light.letter
    f_number, iso = set_up.f_number, set_up.iso
    entries = [
        Entry(
            Cause.APERTURE,
            letter,
            None if f_number is None else reading.av - f_number.stops,
            f"metered f/{reading.mark}",
            mark_text(Cause.APERTURE, f_number),
            (2.0 ** (reading.av / 2), None if f_number is None else f_number.exact),
        ),
        Entry(
            Cause.ISO,
            letter,
            None if iso is None else iso.stops,
            "ISO 100",
            mark_text(Cause.ISO, iso),
            (100.0, None if iso is None else iso.exact),
        ),
        Entry(
            Cause.ENERGY,
            letter,
            None
            if light.power_stops is None
            else light.head.learned_slope * (light.power_stops - reading.power_stops),
            light.power_mark(reading.power_stops),
            light.power_mark(),
            (reading.power_stops, light.power_stops),
        ),
        Entry(
            Cause.DISTANCE,
            letter,
            None
            if light.distance_mm is None
            else distance_law.change_with_distance_stops(light.face.source(), reading.distance_mm, light.distance_mm),
            "",
            "",
            (reading.distance_mm, light.distance_mm),
        ),
        Entry(
            Cause.CLOSE_UP,
            letter,
            None
            if set_up.magnification is None
            else -macro.exposure_increase_stops(set_up.magnification, set_up.lens.pupil_ratio),
            "distant",
            magnification_text(set_up.magnification),
            (0.0, set_up.magnification),
        ),
        _filters_entry(Cause.FILTERS, letter, tuple(each.loss_stops for each in light.filters)),
        _filters_entry(Cause.LENS_FILTERS, letter, tuple(each.loss_stops for each in set_up.lens_filters)),
        Entry(Cause.POPS, letter, flash.pops_stops(set_up.pops), "1", str(set_up.pops), (1, set_up.pops)),
    ]
    return tuple(
        entry for entry in entries if entry.stops is None or entry.stops != 0 or entry.cause is Cause.APERTURE
    )


def _filters_entry(cause: Cause, letter: str, losses: tuple[float | None, ...]) -> Entry:
    known = [loss for loss in losses if loss is not None]
    total = sum(known) if len(known) == len(losses) else None
    return Entry(cause, letter, None if total is None else -total, "none", f"{len(losses)} in", (0.0, total))


def incident_av(set_up: SetUp, light: Light) -> float | None:
    """What a meter reads at the subject with this light alone, as it stands: 2 log2 N at ISO 100, filters in. None
    where the light has no reading, or what has changed since it is unknown."""
    if light.incident is None:
        return None
    moved = balance([entry for entry in metered_balance(set_up, light) if entry.cause in OF_THE_LIGHT])
    return None if moved is None else light.incident.av + moved


def level_words(av: float | None) -> str:
    """An incident level as it is written: "f/16.0", or "not metered"."""
    return "not metered" if av is None else f"f/{math.sqrt(2.0**av):.3g}"

"""The absolute balance of a light from its incident reading, before any frame has been made.

A meter that read f/N at ISO 100 says: at that power and distance, effective f/N exposes rightly. What has changed
since (power, distance), and what the camera does now (effective f-number, ISO, filters), are entries against it.
"""

from __future__ import annotations

from typing import Final

from webapp.ledger.entries import Cause, Entry, Power, balance
from webapp.ledger.exposures import Filters
from webapp.ledger.set_up import DISTANT_SUBJECT, FilterFigures, Light, SetUp
from webapp.optics import distance_law, flash, macro
from webapp.optics.scales import Dial, Marked, Quantity

OF_THE_LIGHT: Final = (Cause.ENERGY, Cause.DISTANCE, Cause.MODIFIER, Cause.FILTERS)
"""What moves the level at the subject; the rest is the camera's."""
_METERED_ISO: Final = Marked(Quantity.ISO, "100", 0.0, Dial.FULL)


def metered_balance(set_up: SetUp, light: Light) -> tuple[Entry, ...]:
    """The entries from the reading to the set-up as it stands; their sum is the metered balance of the light.

    2 log2(metered f-number / effective f-number) + log2(S/100) + power and distance since, less filters.
    Raises ValueError for a light without a reading.
    """
    reading = light.incident
    if reading is None:
        raise ValueError(f"{light.name} has no meter reading.")
    letter, dial = light.letter, light.head.dial
    f_number, iso, magnification = set_up.f_number, set_up.iso, set_up.magnification
    power, distance_mm = light.power_stops, light.distance_mm
    aperture_stops = None if f_number is None else reading.av - f_number.stops
    power_stops = None if power is None else light.head.learned_slope * (power - reading.power_stops)
    distance_stops = close_up_stops = None
    if distance_mm is not None:
        source = light.face.source()
        distance_stops = distance_law.change_with_distance_stops(source, reading.distance_mm, distance_mm)
    if magnification is not None:
        close_up_stops = -macro.exposure_increase_stops(magnification, set_up.lens.pupil_ratio)
    entries = (
        Entry(Cause.APERTURE, letter, aperture_stops, reading, f_number),
        Entry(Cause.ISO, letter, None if iso is None else iso.stops, _METERED_ISO, iso),
        Entry(
            Cause.ENERGY,
            letter,
            power_stops,
            Power(reading.power_stops, dial),
            None if power is None else Power(power, dial),
        ),
        Entry(Cause.DISTANCE, letter, distance_stops, reading.distance_mm, distance_mm),
        Entry(Cause.CLOSE_UP, letter, close_up_stops, DISTANT_SUBJECT, magnification),
        _filters_entry(Cause.FILTERS, letter, light.filters),
        _filters_entry(Cause.LENS_FILTERS, letter, set_up.lens_filters),
        Entry(Cause.POPS, letter, flash.pops_stops(set_up.pops), 1, set_up.pops),
    )
    return tuple(
        entry for entry in entries if entry.stops is None or entry.stops != 0 or entry.cause is Cause.APERTURE
    )


def _filters_entry(cause: Cause, letter: str, fitted: tuple[FilterFigures, ...]) -> Entry:
    """Filters against the none that the meter saw: they are counted."""
    losses = [each.loss_stops for each in fitted]
    loss = None if None in losses else sum(loss for loss in losses if loss is not None)
    now = Filters(tuple(each.id for each in fitted), loss)
    return Entry(cause, letter, None if loss is None else -loss, Filters(), now)


def incident_av(set_up: SetUp, light: Light) -> float | None:
    """What a meter reads at the subject with this light alone, as it stands: 2 log2 N at ISO 100, filters in. None
    where the light has no reading, what has changed since it is unknown, or it does not shine on the subject: its
    distance is that to something else."""
    if light.incident is None or not light.is_direct:
        return None
    moved = balance([entry for entry in metered_balance(set_up, light) if entry.cause in OF_THE_LIGHT])
    return None if moved is None else light.incident.av + moved

"""How the house reads lengths: one tape, marked in centimetres or in inches, for every page on every device."""

from __future__ import annotations

from sqlmodel import Session as Database

from webapp.errors import InvalidValue
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.records import units as tape_records
from webapp.records.engine import Records, recall, remember

_INCHES = Lengths(inches=True)
_KEPT_AS = "units"


def lengths(records: Records) -> Lengths:
    """How lengths are written on the pages of the house."""
    known: Lengths | None = records.kept.get(_KEPT_AS)
    if known is not None:
        return known
    with records.reading() as db:
        return lengths_in(db)


def lengths_in(db: Database) -> Lengths:
    """The same inside a transaction. Asked at every tap and changed once a year, so it is kept."""
    known: Lengths | None = recall(db, _KEPT_AS)
    if known is None:
        known = _INCHES if tape_records.in_inches(db) else CENTIMETRES
        remember(db, _KEPT_AS, known)
    return known


def choose(records: Records, unit: str) -> None:
    """Read lengths in "cm" or "in" from now on. What is kept stays in millimetres. Raises InvalidValue for another
    unit."""
    chosen = next((each for each in (CENTIMETRES, _INCHES) if each.unit == unit), None)
    if chosen is None:
        raise InvalidValue("lengths", "Lengths are read in cm or in inches (in).")
    with records.writing() as db:
        tape_records.mark(db, inches=chosen.inches)

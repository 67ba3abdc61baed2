"""How the tape of the house is marked."""

from __future__ import annotations

from sqlmodel import Session as Database

from webapp.records.tables import Tape

_THE_ONE = 1


def in_inches(db: Database) -> bool:
    found = db.get(Tape, _THE_ONE)
    return found is not None and found.inches


def mark(db: Database, *, inches: bool) -> None:
    tape = db.get(Tape, _THE_ONE) or Tape(id=_THE_ONE)
    tape.inches = inches
    db.add(tape)

"""What a correction is: the kit that it may use, the target that it aims at, what it sets and what it leaves."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from webapp.facts import Fact, Value, digest, fact
from webapp.ledger.entries import Cause
from webapp.ledger.reasons import Effect, Reason
from webapp.ledger.sheets import Sheet
from webapp.optics.scales import Dial, Marked
from webapp.quantities.lengths import CENTIMETRES, Lengths


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


LENS: Final = "lens"
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


def helps(off: float, leaves: float) -> bool:
    """Whether a way brings a balance nearer."""
    return abs(leaves) < abs(off) - 1e-9


def cannot(stands: Fact, reason: Reason, about: str = "", **values: Value) -> Fact:
    """Why a way is none, beside how the balance is off."""
    return fact(reason, about or stands.about, **{**stands.values, **values})

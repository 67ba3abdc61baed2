"""What a question can state: a condition, what it is about, and how a number in it is compared. Pure."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


class About(StrEnum):
    """What a condition is about."""

    LIGHTS = "lights"
    APERTURE = "aperture"
    SHUTTER = "shutter"
    ISO = "ISO"
    FOCAL_LENGTH = "focal length"
    MAGNIFICATION = "magnification"
    FIELD = "field"
    ENERGY = "energy"
    DISTANCE = "distance"
    POWER = "power"
    SIZE = "size of the light"
    STACK = "frames in the stack"
    RATIO = "key to fill"
    ROOM = "room"
    MEASURED = "measured"
    UNKNOWNS = "open unknowns"
    DAY = "day"
    SEASON = "season"
    TECHNIQUE = "technique"
    MODIFIER = "modifier"
    KIND = "kind of light"
    ROLE = "role"
    LETTER = "light"
    DIAL = "dial"
    FORMAT = "format"
    UNKNOWN = "not measured"
    WORD = "word"
    # of frames alone
    PURPOSE = "frame for"
    VERDICT = "verdict"
    STATE = "frame"
    UNEXPLAINED = "unexplained difference"
    NUMBER = "frame number"


class Compare(StrEnum):
    """How a number is compared."""

    EXACTLY = "exactly"
    ABOUT = "about"
    AT_LEAST = "at least"
    MORE_THAN = "more than"
    AT_MOST = "at most"
    LESS_THAN = "less than"
    BETWEEN = "between"


Bound = float | dt.date | None


@dataclass(frozen=True, slots=True)
class Reach:
    """A number with its comparison, in the unit of the record; `upto` is the other end of a range. `low` and `high` are
    what the record may have, both included, None where it is open."""

    compare: Compare
    value: float | dt.date
    upto: float | dt.date | None = None
    low: Bound = None
    high: Bound = None


@dataclass(frozen=True, slots=True)
class Condition:
    """One statement: `reaches`, any of which will do, or `marks` (facet and value), any of which will do. `of` says
    which light it is about: ("letter", "C"), ("role", "key"), ("kind", "ring light") or ("any", ""). `words` is the
    full text's way of asking for a word that must not be there. `start` and `end` are its place in the question."""

    about: About
    said: str
    start: int
    end: int
    reaches: tuple[Reach, ...] = ()
    marks: tuple[tuple[str, str], ...] = ()
    of: tuple[str, str] | None = None
    negated: bool = False
    words: str = ""

    @property
    def roughly(self) -> float | None:
        """The middle of what was meant roughly: what lies nearer to it answers better."""
        value = self.reaches[0].value if len(self.reaches) == 1 and self.reaches[0].compare is Compare.ABOUT else None
        return value if isinstance(value, float | int) and not self.negated else None

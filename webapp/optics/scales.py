"""Marked values and the exact steps they name.

A mark on a dial is a *name*: f/11 names 2^(7/2) = 11.3137, 1/125 s names 2^-7 s, ISO 125 names 100 * 2^(1/3).
Stops between two marks are counted on the exact values, or the photographer is charged for the engraver's
rounding (f/5.6 to f/11 would come to 1.948 stops). Every scale is kept in one coordinate, `stops`:

    f-number   Av = 2 log2 N            (+ is a smaller opening)
    shutter    Tv = -log2 t/s           (+ is a shorter time)
    ISO        log2(S/100)              (+ is more sensitive)

Some names stand on two dials for two exact values, a sixth of a stop apart: f/1.2 and f/13, 1/20 s, 20 s and
others mean one thing on a half-stop dial and another on a third-stop dial. So a mark is always read *on a
dial*: first on the dial in use, then on the others, and a value on no dial is used as it is and says so.

Sources: iso-517 (f-numbers), iso-516 (times), iso-3-r10 (ISO marks); the half- and third-stop names are
common practice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache


class Dial(StrEnum):
    """The step of a dial."""

    FULL = "full"
    HALF = "half"
    THIRD = "third"
    TENTH = "tenth"

    @property
    def steps_per_stop(self) -> int:
        return _STEPS_PER_STOP[self]


_STEPS_PER_STOP = {Dial.FULL: 1, Dial.HALF: 2, Dial.THIRD: 3, Dial.TENTH: 10}


class Quantity(StrEnum):
    """What a camera dial sets."""

    F_NUMBER = "f_number"
    SHUTTER = "shutter"
    ISO = "iso"


@dataclass(frozen=True, slots=True)
class Mark:
    """A name on a dial. `literal` is the number the name says, `stops` the exact place it stands for."""

    quantity: Quantity
    text: str
    literal: float
    stops: float

    @property
    def exact(self) -> float:
        """The exact f-number, time in seconds, or ISO."""
        return value_at(self.quantity, self.stops)


@dataclass(frozen=True, slots=True)
class Marked:
    """A value as it was read: the mark as typed, the exact place it stands for, and the dial it was found on.

    `dial` is None where the value stands on no dial; it is then used as it is.
    """

    quantity: Quantity
    text: str
    stops: float
    dial: Dial | None

    @property
    def exact(self) -> float:
        return value_at(self.quantity, self.stops)


# The names in the order of the dial; the first stands at the number of steps given before the names.
_FULL_F = (-2, "0.5 0.7 1 1.4 2 2.8 4 5.6 8 11 16 22 32 45 64 90 128")
_HALF_F = (
    -4,
    "0.5 0.6 0.7 0.8 1 1.2 1.4 1.7 2 2.4 2.8 3.3 4 4.8 5.6 6.7 8 9.5 11 13 16 19 22 27 32 38 45 54 64 76 90 107 128",
)
_THIRD_F = (
    -6,
    "0.5 0.56 0.63 0.7 0.8 0.9 1 1.1 1.2 1.4 1.6 1.8 2 2.2 2.5 2.8 3.2 3.5 4 4.5 5 5.6 6.3 7.1 8 9 10 11 13 14 "
    "16 18 20 22 25 29 32 36 40 45 51 57 64 72 80 90 102 114 128",
)
_FULL_T = (
    -6,
    "60 30 15 8 4 2 1 1/2 1/4 1/8 1/15 1/30 1/60 1/125 1/250 1/500 1/1000 1/2000 1/4000 1/8000 1/16000 1/32000",
)
_HALF_T = (
    -12,
    "60 45 30 20 15 10 8 6 4 3 2 1.5 1 0.7 1/2 0.3 1/4 1/6 1/8 1/10 1/15 1/20 1/30 1/45 1/60 1/90 1/125 1/180 1/250 "
    "1/350 1/500 1/750 1/1000 1/1500 1/2000 1/3000 1/4000 1/6000 1/8000 1/12000 1/16000 1/24000 1/32000",
)
_THIRD_T = (
    -18,
    "60 50 40 30 25 20 15 13 10 8 6 5 4 3.2 2.5 2 1.6 1.3 1 0.8 0.6 1/2 0.4 0.3 1/4 1/5 1/6 1/8 1/10 1/13 1/15 1/20 "
    "1/25 1/30 1/40 1/50 1/60 1/80 1/100 1/125 1/160 1/200 1/250 1/320 1/400 1/500 1/640 1/800 1/1000 1/1250 1/1600 "
    "1/2000 1/2500 1/3200 1/4000 1/5000 1/6400 1/8000 1/10000 1/12800 1/16000 1/20000 1/25600 1/32000",
)
_FULL_S = (
    -5,
    "3 6 12 25 50 100 200 400 800 1600 3200 6400 12800 25600 51200 102400 204800 409600 819200 1638400 3276800",
)
_HALF_S = (
    -10,
    "3 4.5 6 9 12 18 25 35 50 70 100 140 200 280 400 560 800 1100 1600 2200 3200 4500 6400 9000 12800 18000 25600 "
    "36000 51200 72000 102400 144000 204800",
)
_THIRD_S = (
    -15,
    "3 4 5 6 8 10 12 16 20 25 32 40 50 64 80 100 125 160 200 250 320 400 500 640 800 1000 1250 1600 2000 2500 3200 "
    "4000 5000 6400 8000 10000 12800 16000 20000 25600 32000 40000 51200 64000 80000 102400 128000 160000 204800 "
    "256000 320000 409600 512000 640000 819200 1024000 1280000 1638400 2048000 2560000 3276800",
)
_NAMES = {
    (Quantity.F_NUMBER, Dial.FULL): _FULL_F,
    (Quantity.F_NUMBER, Dial.HALF): _HALF_F,
    (Quantity.F_NUMBER, Dial.THIRD): _THIRD_F,
    (Quantity.SHUTTER, Dial.FULL): _FULL_T,
    (Quantity.SHUTTER, Dial.HALF): _HALF_T,
    (Quantity.SHUTTER, Dial.THIRD): _THIRD_T,
    (Quantity.ISO, Dial.FULL): _FULL_S,
    (Quantity.ISO, Dial.HALF): _HALF_S,
    (Quantity.ISO, Dial.THIRD): _THIRD_S,
}

# Other ways in which cameras and photographers write a mark of the time dials.
_OTHER_NAMES = {
    "0.3": ("1/3",),
    "0.4": ("1/2.5",),
    "0.6": ("1/1.6",),
    "0.7": ("1/1.5",),
    "0.8": ("1/1.3",),
    "12": ("12.5",),
    "6": ("6.25",),
}

# What a camera dial may name at all; outside it the text is a slip of the finger.
LIMITS: dict[Quantity, tuple[float, float]] = {
    Quantity.F_NUMBER: (0.3, 1024.0),
    Quantity.SHUTTER: (1e-6, 86_400.0),
    Quantity.ISO: (0.5, 10_000_000.0),
}
NOUNS = {Quantity.F_NUMBER: "f-number", Quantity.SHUTTER: "shutter time", Quantity.ISO: "ISO"}
EXAMPLES = {
    Quantity.F_NUMBER: "write it as f/11 or 5.6, between f/0.3 and f/1024",
    Quantity.SHUTTER: "write it as 1/125, 0.5s or 30, between a millionth of a second and a day",
    Quantity.ISO: "write it as 100 or 1250, between 0.5 and 10 000 000",
}


def value_at(quantity: Quantity, stops: float) -> float:
    """The exact f-number, time in seconds, or ISO that stands at `stops` on its scale.

    >>> round(value_at(Quantity.F_NUMBER, 7), 4)
    11.3137
    """
    if quantity is Quantity.F_NUMBER:
        return math.exp2(stops / 2.0)
    if quantity is Quantity.SHUTTER:
        return math.exp2(-stops)
    return 100.0 * math.exp2(stops)


def stops_of(quantity: Quantity, value: float) -> float:
    """Where a literal value stands on its scale, in stops; the inverse of `value_at`.

    Raises ValueError for a value that is not a positive finite number.
    """
    if not (value > 0 and math.isfinite(value)):
        raise ValueError(f"{value:g} is no {NOUNS[quantity]}: {EXAMPLES[quantity]}.")
    if quantity is Quantity.F_NUMBER:
        return 2.0 * math.log2(value)
    if quantity is Quantity.SHUTTER:
        return -math.log2(value)
    return math.log2(value / 100.0)


@lru_cache
def marks(quantity: Quantity, dial: Dial) -> tuple[Mark, ...]:
    """The marks of a dial in order of rising `stops`.

    A tenth-stop dial is written as meters write it: the full-stop mark and the tenths after it ("5.6+0.3").
    """
    if dial is Dial.TENTH:
        full = marks(quantity, Dial.FULL)
        return tuple(
            full_mark if tenth == 0 else _tenth_mark(full_mark, tenth)
            for full_mark in full
            for tenth in range(10)
            if full_mark is not full[-1] or tenth == 0
        )
    first_step, names = _NAMES[quantity, dial]
    return tuple(
        Mark(quantity, name, _number(name), (first_step + index) / dial.steps_per_stop)
        for index, name in enumerate(names.split())
    )


def _tenth_mark(full_mark: Mark, tenth: int) -> Mark:
    stops = full_mark.stops + tenth / 10.0
    return Mark(full_mark.quantity, f"{full_mark.text}+0.{tenth}", value_at(full_mark.quantity, stops), stops)


def _number(text: str) -> float:
    numerator, slash, denominator = text.partition("/")
    return float(numerator) / float(denominator) if slash else float(numerator)


@lru_cache
def _by_literal(quantity: Quantity, dial: Dial) -> dict[float, Mark]:
    found: dict[float, Mark] = {}
    for mark in marks(quantity, dial):
        found[_rounded(mark.literal)] = mark
        for other in _OTHER_NAMES.get(mark.text, ()) if quantity is not Quantity.F_NUMBER else ():
            found.setdefault(_rounded(_number(other)), mark)
    return found


def _rounded(value: float) -> float:
    return float(f"{value:.6g}")


# An engraved maximum aperture or a file may hold the exact value itself (1/128 s, f/11.3).
_EXACT_WITHIN_STOPS = 0.01


def read_value(quantity: Quantity, value: float, dial: Dial = Dial.THIRD) -> Marked:
    """Read a literal number (from a file, or typed) as a mark of the dial in use.

    First as a name on that dial, then as the exact value of one of its steps (within 0.01 stop), then the same
    on the other dials; a value that is on none is kept as it is, with `dial` None.
    Raises ValueError, with a sentence that says what is allowed, outside `LIMITS`.

    >>> read_value(Quantity.F_NUMBER, 1.2, Dial.HALF).stops
    0.5
    """
    low, high = LIMITS[quantity]
    if not (low <= value <= high):
        raise ValueError(f"{value:g} is no {NOUNS[quantity]}: {EXAMPLES[quantity]}.")
    order = (dial, *(other for other in (Dial.THIRD, Dial.HALF, Dial.FULL) if other is not dial))
    for candidate in order:
        mark = _by_literal(quantity, candidate).get(_rounded(value))
        if mark is not None:
            return Marked(quantity, mark.text, mark.stops, candidate)
    literal_stops = stops_of(quantity, value)
    for candidate in order:
        mark = nearest_mark(quantity, literal_stops, candidate)
        if abs(mark.stops - literal_stops) <= _EXACT_WITHIN_STOPS:
            return Marked(quantity, mark.text, mark.stops, candidate)
    return Marked(quantity, _plain(quantity, value), literal_stops, None)


def nearest_mark(quantity: Quantity, stops: float, dial: Dial) -> Mark:
    """The mark of the dial nearest to a place on its scale; at the ends, the last mark there is."""
    row = marks(quantity, dial)
    index = round((stops - row[0].stops) * dial.steps_per_stop)
    return row[min(max(index, 0), len(row) - 1)]


def step_from(quantity: Quantity, stops: float, dial: Dial, steps: int) -> Mark:
    """The mark `steps` clicks away; from between two marks the first click goes to the next one.

    >>> step_from(Quantity.F_NUMBER, 5.0, Dial.THIRD, 1).text
    '6.3'
    """
    row = marks(quantity, dial)
    place = (stops - row[0].stops) * dial.steps_per_stop
    on_a_mark = abs(place - round(place)) < 1e-6
    start = round(place) if on_a_mark else (math.floor(place) if steps > 0 else math.ceil(place))
    return row[min(max(start + steps, 0), len(row) - 1)]


def other_readings(quantity: Quantity, mark: Marked) -> dict[Dial, float]:
    """The exact values that the same name has on other dials, where they differ from this one."""
    if mark.dial is None:
        return {}
    own = nearest_mark(quantity, mark.stops, mark.dial)
    found: dict[Dial, float] = {}
    for dial in (Dial.FULL, Dial.HALF, Dial.THIRD):
        other = _by_literal(quantity, dial).get(_rounded(own.literal))
        if other is not None and dial is not mark.dial and abs(other.stops - mark.stops) > 1e-9:
            found[dial] = other.exact
    return found


def _plain(quantity: Quantity, value: float) -> str:
    if quantity is Quantity.SHUTTER and value < 0.3:
        return f"1/{1.0 / value:.4g}" if 1.0 / value < 1e4 else f"1/{1.0 / value:.0f}"
    return f"{value:.4g}" if value < 1e4 else f"{value:.0f}"


def dial_steps_stops(dial: Dial) -> float:
    """The step of a dial in stops."""
    return 1.0 / dial.steps_per_stop

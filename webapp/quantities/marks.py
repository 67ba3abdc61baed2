"""Marks of a camera's dials: f-numbers, shutter times and ISO, read on the dial in use and written as they are engraved.

What a mark names exactly, and how a dial steps, is in `optics.scales`.
"""

from __future__ import annotations

import math
import re
from typing import Final

from webapp.optics.scales import (
    EXAMPLES,
    NOUNS,
    Dial,
    Marked,
    Quantity,
    nearest_mark,
    read_value,
    step_from,
    value_at,
)
from webapp.quantities.numbers import read_decimal
from webapp.quantities.reading import LONGEST_TEXT, NUMBER, UNKNOWN, plain, quoted
from webapp.quantities.stops import part_of

# A mark and a part of a stop may differ from a step of a dial by this, and still name it.
_SAME_STEP_STOPS: Final = 0.01
_SECONDS_PER_MINUTE: Final = 60.0
_TYPED: Final = {
    Quantity.F_NUMBER: re.compile(rf"(?:f\s*/?\s*|1\s*:\s*)?({NUMBER})"),
    Quantity.SHUTTER: re.compile(rf"({NUMBER}(?:\s*/\s*\d+(?:\.\d+)?)?)\s*(s|sec|\"|m|min)?"),
    Quantity.ISO: re.compile(rf"(?:iso\s*/?\s*)?({NUMBER})"),
}
# "8 1/3", "f/8+1/3", "5.6+0.3" and "2+0.1 s": a mark and a part of a stop after it.
_AND_PART: Final = re.compile(r"(.+?)(?:\s*\+\s*|\s+)((?:0?\.\d+)|(?:[12]/3)|(?:1/2))(?:\s*s)?")


def read_mark(quantity: Quantity, text: str, dial: Dial = Dial.THIRD) -> Marked:
    """Read what was typed: "f/11", "f11", "11", "1:11", "8 1/3", "1/125", "0.5s", "2 min", "30", "ISO 200".

    A bare shutter number of 1 or more is seconds. Raises ValueError with a sentence that says what is allowed.

    >>> read_mark(Quantity.SHUTTER, "1/125").stops
    7.0
    """
    typed = plain(text)
    if not typed or len(typed) > LONGEST_TEXT:
        raise ValueError(f"The {NOUNS[quantity]} is {'missing' if not typed else 'too long'}: {EXAMPLES[quantity]}.")
    value = _literal(quantity, typed)
    if value is not None:
        return read_value(quantity, value, dial)
    with_part = _AND_PART.fullmatch(typed)
    if with_part is not None and _TYPED[quantity].fullmatch(with_part.group(1)):
        start = read_mark(quantity, with_part.group(1), dial)
        return _at(quantity, start.stops + part_of(with_part.group(2)), dial)
    raise ValueError(f"“{' '.join(text.split())}” is no {NOUNS[quantity]}: {EXAMPLES[quantity]}.")


def literal(quantity: Quantity, text: str) -> float | None:
    """The number that a mark says, as it is typed: 5.6, or 1/125 of a second; None where it says none, as "8 1/3"
    does. Raises ValueError for one that divides by nothing."""
    return _literal(quantity, plain(text))


def read_f_number(text: str) -> float:
    """An f-number that is wanted as a number and stands on no dial: "f/11", or any decimal. Raises ValueError.

    >>> read_f_number("f/5.6"), read_f_number("11")
    (5.6, 11.0)
    """
    said = literal(Quantity.F_NUMBER, text)
    return read_decimal(text) if said is None else said


def read_seconds(text: str) -> float:
    """A time that stands on no dial, in seconds: "1/1000", "0.001 s", or any decimal. Raises ValueError.

    >>> read_seconds("1/1000"), read_seconds("1e-05 s")
    (0.001, 1e-05)
    """
    try:
        said = literal(Quantity.SHUTTER, text)
    except ValueError:
        raise ValueError(
            f"{quoted(text)} divides by nothing: write the time as 1/1000 or 0.001, in seconds."
        ) from None
    return read_decimal(text.rstrip().removesuffix("s"), "s") if said is None else said


def _literal(quantity: Quantity, typed: str) -> float | None:
    match = _TYPED[quantity].fullmatch(typed)
    if match is None:
        return None
    number, _, below = match.group(1).partition("/")
    if below and float(below) == 0:
        raise ValueError(f"{typed} divides by nothing: {EXAMPLES[quantity]}.")
    value = float(number) / float(below) if below else float(number)
    if math.isnan(value):
        # Two numbers past all bounds.
        return None
    in_minutes = quantity is Quantity.SHUTTER and (match.group(2) or "").startswith("m")
    return value * _SECONDS_PER_MINUTE if in_minutes else value


def _at(quantity: Quantity, stops: float, dial: Dial) -> Marked:
    for candidate in (dial, Dial.THIRD, Dial.HALF, Dial.TENTH):
        mark = nearest_mark(quantity, stops, candidate)
        if abs(mark.stops - stops) <= _SAME_STEP_STOPS:
            return Marked(quantity, mark.text, mark.stops, candidate)
    return read_value(quantity, value_at(quantity, stops), dial)


def stepped_mark(marked: Marked, dial: Dial, steps: int) -> Marked:
    """The mark of a dial `steps` clicks away: up is a smaller opening, a shorter time, a higher ISO."""
    mark = step_from(marked.quantity, marked.stops, dial, steps)
    return Marked(marked.quantity, mark.text, mark.stops, dial)


def mark_text(marked: Marked | None) -> str:
    """A mark as the page writes it: "f/11", "1/125", "2 s", "ISO 200". It is read back as itself."""
    return UNKNOWN if marked is None else written(marked.quantity, marked.text)


def written(quantity: Quantity, name: str) -> str:
    """The same of a mark by its name on the dial: "11", "1/125", "2", "200"."""
    match quantity:
        case Quantity.F_NUMBER:
            return f"f/{name}"
        case Quantity.SHUTTER:
            return name if "/" in name else f"{name} s"
        case Quantity.ISO:
            return f"ISO {name}"

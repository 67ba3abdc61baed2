"""A number of stops: "+1", "-1 1/3", "1/2", "0.7 stops"."""

from __future__ import annotations

import math
import re
from typing import Final

from webapp.quantities.reading import NUMBER, plain, quoted

PART: Final = r"[12]/3|1/2|1/4|3/4"
"""The pattern of a part of a stop as the trade writes it."""
_STOPS: Final = re.compile(rf"([+-]?)\s*(?:({NUMBER})(?:\s+({PART}))?|({PART}))\s*(?:stops?)?")
_NAMED: Final = {1 / 3: "1/3", 2 / 3: "2/3", 1 / 2: "1/2", 1 / 4: "1/4", 3 / 4: "3/4"}
_SAME_STOPS: Final = 1e-9


def part_of(text: str | None) -> float:
    """A part of a stop, "1/3" or "0.3"; nothing for None.

    >>> part_of("3/4"), part_of(None)
    (0.75, 0.0)
    """
    if not text:
        return 0.0
    above, slash, below = text.partition("/")
    return float(above) / float(below) if slash else float(above)


def read_stops(text: str, what: str = "number of stops", *, most: float = math.inf) -> float:
    """Stops with their sign. Raises ValueError for what is none, and for more than `most` either way.

    >>> read_stops("−1 1/2"), read_stops("+,3 stop"), read_stops("2/3") == 2 / 3
    (-1.5, 0.3, True)
    """
    match = _STOPS.fullmatch(plain(text))
    if match is None:
        raise ValueError(f"{quoted(text)} is no {what}: write it in stops, such as +1, −0.5 or 1 1/3.")
    size = part_of(match.group(2)) + part_of(match.group(3) or match.group(4))
    if size > most:
        raise ValueError(f"{quoted(text)} is more than {most:g} stops.")
    return (-size if match.group(1) == "-" else size) + 0.0


def read_level(text: str, *, most: float) -> float | None:
    """How far a light is brought up or down, in stops; None where it is "off", 0 where nothing is typed. Raises
    ValueError for what is neither, and for more than `most` either way.

    >>> read_level("−1,5", most=8.0), read_level("off", most=8.0)
    (-1.5, None)
    """
    typed = plain(text)
    if typed in ("off", "out"):
        return None
    try:
        return read_stops(typed or "0", most=most)
    except ValueError:
        raise ValueError(f"{quoted(text)} is no level: type stops between −{most:g} and {most:g}, or off.") from None


def stops_text(stops: float) -> str:
    """Stops with their sign, as they are typed: thirds, halves and quarters by name, others to six figures.

    >>> stops_text(4 / 3), stops_text(-0.5), stops_text(0.7), stops_text(0.0)
    ('+1 1/3', '-1/2', '+0.7', '+0')
    """
    size = abs(stops)
    sign, whole = "-" if stops < 0.0 else "+", math.floor(size)
    named = next((name for part, name in _NAMED.items() if abs(size - whole - part) < _SAME_STOPS), None)
    if named is None:
        return f"{sign}{size:g}"
    return f"{sign}{whole} {named}" if whole else f"{sign}{named}"


def signed_stops(stops: float, decimals: int = 2) -> str:
    """Stops as a page shows them: their sign, a true minus, so many decimals.

    >>> signed_stops(1.0), signed_stops(-0.5), signed_stops(0.001)
    ('+1.00', '−0.50', '0.00')
    """
    rounded = round(stops, decimals)
    return f"{0:.{decimals}f}" if rounded == 0 else f"{rounded:+.{decimals}f}".replace("-", "−")

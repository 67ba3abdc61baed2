"""Plain numbers: with a sign and a decimal point or comma, as a fraction, or with a unit behind them; and decimals, as
programs write them."""

from __future__ import annotations

import math
import re
from typing import Final

from webapp.quantities.reading import NUMBER, plain, quoted

_NUMBER: Final = re.compile(rf"([+-]?{NUMBER}|[+-]?\d+\.)(?:\s*/\s*({NUMBER}))?")
_DECIMAL: Final = re.compile(rf"[+-]?(?:{NUMBER}|\d+\.)(?:e[+-]?\d+)?", re.ASCII | re.IGNORECASE)
LONGEST_LIST: Final = 40


def read_number(
    text: str, what: str = "number", *, low: float = -math.inf, high: float = math.inf, unit: str = ""
) -> float:
    """A number: "12.5", "12,5", "1/3", with or without its unit. Raises ValueError for what is none, and outside
    `low` to `high`.

    >>> read_number("−12,5"), read_number("1/4"), read_number("5600 K", unit="K")
    (-12.5, 0.25, 5600.0)
    """
    typed = plain(text).removesuffix(unit.lower()).rstrip() if unit else plain(text)
    match = _NUMBER.fullmatch(typed)
    below = float(match.group(2)) if match and match.group(2) else 1.0
    value = float(match.group(1)) / below if match and below else math.nan
    if not (math.isfinite(value) and low <= value <= high):
        raise ValueError(f"{quoted(text)} is no {what}: write it with digits{_range(low, high)}{_in(unit)}.")
    return value


def read_whole(text: str, what: str = "number", *, low: int, high: int) -> int:
    """A whole number. Raises ValueError for what is none, and outside `low` to `high`."""
    typed = text.strip()
    return checked_whole(int(typed) if typed.isdecimal() and len(typed) <= 15 else math.nan, what, text, low, high)


def checked_whole(number: float, what: str, told: str, low: int, high: int) -> int:
    """A number that is whole and from `low` to `high`. Raises ValueError, which repeats it as it was `told`."""
    if not (low <= number <= high and number == round(number)):
        raise ValueError(f"{quoted(told)} is no {what}: a whole number from {low} to {high}.")
    return int(number)


def read_decimal(text: str, unit: str = "") -> float:
    """A number with a decimal point or comma, perhaps with an exponent. One too large for a float is infinite, for a bound
    to refuse. `unit` is that of the refusal. Raises ValueError for what is no such number.

    >>> read_decimal("−12.5"), read_decimal("12,5"), read_decimal("1e-05")
    (-12.5, 12.5, 1e-05)
    """
    typed = plain(text)
    if _DECIMAL.fullmatch(typed) is None:
        raise ValueError(f"{quoted(text)} is no number: write it with digits and a point or comma{_in(unit)}.")
    return float(typed)


def number_text(value: float) -> str:
    """A number as it is typed, to six figures.

    >>> number_text(0.5), number_text(100.0)
    ('0.5', '100')
    """
    return f"{value + 0.0:g}"


def _range(low: float, high: float) -> str:
    if math.isfinite(low) and math.isfinite(high):
        return f", from {low:g} to {high:g}"
    return f", from {low:g}" if math.isfinite(low) else f", up to {high:g}" if math.isfinite(high) else ""


def _in(unit: str) -> str:
    return f", in {unit}" if unit else ""

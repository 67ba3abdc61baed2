"""What a formula may be given: each check hands the number back or says, in a sentence, what is allowed.

The outer bounds are far beyond anything on a set. They are there so that no product or power of allowed numbers
leaves the range of a float: a result is then a number, or infinity where infinity has a meaning.
"""

from __future__ import annotations

from typing import Final

SMALLEST: Final = 1e-12
LARGEST: Final = 1e12
MOST_STOPS: Final = 200.0


def positive(what: str, value: float, unit: str = "") -> float:
    """A length, time, energy or ratio above nothing. Raises ValueError."""
    if not SMALLEST <= value <= LARGEST:
        bounds = f"from {SMALLEST:g} to {LARGEST:g}{_after(unit)}"
        raise ValueError(f"The {what} must be above 0 ({bounds}), not {value:g}.")
    return value


def not_negative(what: str, value: float, unit: str = "") -> float:
    """Such a number, or nothing at all. Raises ValueError."""
    if not 0.0 <= value <= LARGEST:
        raise ValueError(f"The {what} must be 0 or more and at most {LARGEST:g}{_after(unit)}, not {value:g}.")
    return value


def stops(what: str, value: float) -> float:
    """A number of stops of either sign. Raises ValueError."""
    if not -MOST_STOPS <= value <= MOST_STOPS:
        raise ValueError(f"The {what} must lie within {MOST_STOPS:g} stops of nothing, not {value:g}.")
    return value


def _after(unit: str) -> str:
    return f" {unit}" if unit else ""

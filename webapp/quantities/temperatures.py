"""Colour temperatures, in kelvin."""

from __future__ import annotations

from typing import Final

from webapp.quantities.numbers import number_text, read_number

WARMEST_KELVIN: Final = 1000.0
COLDEST_KELVIN: Final = 25_000.0


def read_kelvin(text: str) -> float:
    """A colour temperature: "5600", "5600 K". Raises ValueError for what is none, or outside 1000 to 25000 K.

    >>> read_kelvin("5600 K")
    5600.0
    """
    return read_number(text, "colour temperature", low=WARMEST_KELVIN, high=COLDEST_KELVIN, unit="K")


def kelvin_text(kelvin: float) -> str:
    """
    >>> kelvin_text(5600.0)
    '5600 K'
    """
    return f"{number_text(kelvin)} K"

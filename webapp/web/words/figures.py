"""Figures of facts as words print them."""

from __future__ import annotations

from webapp.facts import Fact
from webapp.optics.scales import Quantity, value_at
from webapp.quantities.lengths import MM_PER_INCH, Lengths


def one_decimal(value: float) -> str:
    """A number with its sign, to a tenth.

    >>> one_decimal(-2.0), one_decimal(0.04)
    ('−2.0', '+0.0')
    """
    return f"{value:+.1f}".replace("-", "−")


def stops_words(value: float) -> str:
    """Stops to a hundredth, with their sign.

    >>> stops_words(-0.0), stops_words(-0.333)
    ('+0.00 stops', '−0.33 stops')
    """
    return f"{value + 0.0:+.2f} stops".replace("-", "−")


def percent(share: float) -> str:
    """A share in per cent, its sign kept with its figure.

    >>> percent(0.234)
    '23\xa0%'
    """
    return f"{100 * share:.0f}\u00a0%"


def level_words(av: float | None) -> str:
    """An incident level, 2 log2 of the f-number at ISO 100, as it is written: "f/16", or "not metered".

    >>> level_words(8.0), level_words(None)
    ('f/16', 'not metered')
    """
    return "not metered" if av is None else f"f/{value_at(Quantity.F_NUMBER, av):.3g}"


def depth_words(length_mm: float, lengths: Lengths) -> str:
    """A depth in a close-up, which no tape tells: in millimetres, or in thousandths of an inch.

    >>> depth_words(0.29, Lengths()), depth_words(0.29, Lengths(inches=True))
    ('0.29 mm', '0.011 in')
    """
    return f"{length_mm / MM_PER_INCH:.3f} in" if lengths.inches else f"{length_mm:.3g} mm"


def maybe_number(told: Fact, name: str) -> float | None:
    """A value that is a number, or unknown."""
    return None if told[name] is None else told.number(name)


def number_or_unknown(told: Fact, name: str) -> str:
    """A number to three digits."""
    return "unknown" if told[name] is None else f"{told.number(name):.3g}"


def names(told: Fact, name: str) -> tuple[str, ...]:
    """A value that is a list of names."""
    value = told[name]
    return tuple(map(str, value)) if isinstance(value, tuple) else ()


def numbers(told: Fact, name: str) -> tuple[float, ...]:
    """A value that is a list of numbers."""
    value = told[name]
    return tuple(float(each) for each in value if each is not None) if isinstance(value, tuple) else ()

"""Lighting ratios in words: both conventions, each printed the way round that it was asked, to two digits: a light meter
tells no more."""

from __future__ import annotations

from webapp.optics import mixed_light


def key_to_fill_text(key_less_fill_stops: float) -> str:
    """Key to fill, 1 standing for the weaker of the two.

    >>> key_to_fill_text(2.0), key_to_fill_text(-2.0), key_to_fill_text(0.0)
    ('4 : 1', '1 : 4', '1 : 1')
    """
    ratio = mixed_light.key_to_fill(abs(key_less_fill_stops))
    return f"{ratio:.2g} : 1" if key_less_fill_stops >= 0.0 or f"{ratio:.2g}" == "1" else f"1 : {ratio:.2g}"


def sum_to_fill_text(key_less_fill_stops: float) -> str:
    """Key and fill together to fill, which is never below 1 to 1.

    >>> sum_to_fill_text(2.0), sum_to_fill_text(-2.0)
    ('5 : 1', '1.2 : 1')
    """
    return f"{mixed_light.sum_to_fill(key_less_fill_stops):.2g} : 1"


def both_ratios(key_less_fill_stops: float) -> str:
    """A ratio in both conventions, each named.

    >>> both_ratios(1.0)
    '2 : 1 as key : fill, 3 : 1 as (key + fill) : fill'
    """
    return (
        f"{key_to_fill_text(key_less_fill_stops)} as key : fill, "
        f"{sum_to_fill_text(key_less_fill_stops)} as (key + fill) : fill"
    )

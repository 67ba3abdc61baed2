"""Places in a picture, as they are spoken of."""

from __future__ import annotations

from typing import Final

from webapp.facts import Fact

_DOWN: Final = ("upper", "", "lower")
_ACROSS: Final = ("left", "", "right")


def in_picture_words(x: float, y: float) -> str:
    """Where a point of the upright picture lies, by thirds; its fractions from the top left.

    >>> [in_picture_words(x, y) for x, y in ((0.1, 0.1), (0.5, 0.1), (0.9, 0.5), (0.5, 0.5), (0.4, 0.9))]
    ['the upper left', 'the top', 'the right', 'the middle', 'the bottom']
    """
    down, across = _DOWN[_third(y)], _ACROSS[_third(x)]
    if not across:
        return {"upper": "the top", "": "the middle", "lower": "the bottom"}[down]
    return f"the {down} {across}" if down else f"the {across}"


def place_words(told: Fact) -> str:
    """The place of a fact: its patch, or where in the picture, where it lies outside all."""
    if told["patch"] or told["x"] is None:
        return told.text("patch")
    return in_picture_words(told.number("x"), told.number("y"))


def _third(fraction: float) -> int:
    return min(2, max(0, int(fraction * 3.0)))

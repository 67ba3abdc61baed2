"""The sides of the subject, and what a meter reads there."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from webapp.optics.scales import Dial, Quantity, nearest_mark, value_at
from webapp.plan.cube import CardFill
from webapp.plan.sides import Surface, own_key

_SIDES: Final[Mapping[str, str]] = {
    "lens": "to the lens",
    "left": "left side",
    "right": "right side",
    "top": "top",
    "back": "back",
    "far": "side at the top of the picture",
    "near": "side at the bottom of the picture",
    "dome": "dome, pointed at the lens",
    "flat": "flat meter, turned to each light",
}
_IN_A_SENTENCE: Final[Mapping[str, str]] = {
    "lens": "the face to the lens",
    "dome": "a dome pointed at the lens",
    "flat": "a flat meter turned to each light",
}
_HALF_A_STEP: Final = 0.17


def side_words(surface: Surface) -> str:
    """What a surface is called; a face of the subject's own has its name.

    >>> side_words(Surface("left", "side", None)), side_words(Surface("left", "own", None))
    ('left side', 'left')
    """
    return surface.name if surface.kind == "own" else _SIDES[surface.name]


def named_side(key: str) -> str:
    """A surface within a sentence, by its key, or a side by its name.

    >>> named_side("lens"), named_side("left"), named_side("own:label"), named_side("flat")
    ('the face to the lens', 'the left side', 'label', 'a flat meter turned to each light')
    """
    if key in _IN_A_SENTENCE:
        return _IN_A_SENTENCE[key]
    return f"the {_SIDES[key]}" if key in _SIDES else key.removeprefix(own_key(""))


def level_text(stops: float) -> str:
    """A level as the mark of a meter at ISO 100, nearest on a dial of thirds; off the dial, as it is.

    >>> level_text(7.1), level_text(-6.0)
    ('f/11', 'f/0.12')
    """
    mark = nearest_mark(Quantity.F_NUMBER, stops, Dial.THIRD)
    if abs(mark.stops - stops) > _HALF_A_STEP:
        return f"f/{value_at(Quantity.F_NUMBER, stops):.2g}"
    return f"f/{mark.text}"


def fill_words(fill: CardFill) -> str:
    """Where a card gives its fill, after the figure of the side that has the most."""
    (most, _), *others = fill.under_key
    told = f"on {named_side(most)}, under {fill.key} as a flat meter turned to it reads"
    if others:
        told += "; " + ", ".join(f"{stops:+.1f} on {named_side(name)}".replace("-", "−") for name, stops in others)
    return f"{told}. Taken as a matt white card; what a silver one mirrors is not modelled."

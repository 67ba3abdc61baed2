"""Two pictures over each other: what that rests on, and why it cannot be done."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.quantities.lengths import Lengths
from webapp.shoots.reasons import Reason
from webapp.shoots.tiles import SoFar
from webapp.web.words.figures import percent

if TYPE_CHECKING:
    from webapp.web.words.say import Say


def tiles_words(named: Mapping[str, SoFar], *, has_previews: bool) -> str:
    """How far the tiles of the frames are, by the frames' names; `has_previews`, that both can be looked at meanwhile.

    >>> tiles_words({"frame 1": SoFar(0.404), "frame 2": SoFar(None)}, has_previews=True)
    'Preparing the 100 % view: frame 1 40\xa0%, frame 2 waiting. The previews can be compared meanwhile.'
    >>> tiles_words({"frame 1": SoFar(1.0), "frame 2": SoFar(1.0)}, has_previews=True)
    'The 100 % view of frame 1 and frame 2 is ready.'
    """
    troubles = [f"{name[0].upper()}{name[1:]}: {each.trouble}" for name, each in named.items() if each.trouble]
    if so_far := _so_far(named):
        meanwhile = " The previews can be compared meanwhile." if has_previews else ""
        return " ".join([*troubles, f"Preparing the 100 % view: {so_far}.{meanwhile}"])
    ready = [name for name, each in named.items() if each.share == 1.0]
    return " ".join([*troubles, f"The 100 % view of {' and '.join(ready)} is ready."] if ready else troubles)


def maps_words(named: Mapping[str, SoFar]) -> str:
    """How far the maps of the frames' sharpness are, by the frames' names; "" once nothing goes on.

    >>> maps_words({"frame 1": SoFar(1.0), "frame 2": SoFar(0.25)})
    'Measuring sharpness: frame 2 25\xa0%.'
    """
    so_far = _so_far(named)
    return f"Measuring sharpness: {so_far}." if so_far else ""


def _so_far(named: Mapping[str, SoFar]) -> str:
    """What goes on, and how far; "" where nothing does."""
    return ", ".join(
        f"{name} {'waiting' if each.share is None else percent(each.share)}"
        for name, each in named.items()
        if each.goes_on
    )


def _fields(told: Fact, lengths: Lengths) -> str:
    return f"{_width(told.number('first_mm'), lengths)} and {_width(told.number('second_mm'), lengths)}"


def _width(width_mm: float, lengths: Lengths) -> str:
    if lengths.inches:
        return lengths.text(width_mm)
    return f"{width_mm:.3g} mm" if width_mm < 100 else f"{width_mm / 10:.3g} cm"


WORDS: Final[Mapping[str, Say]] = {
    Reason.LAID_BY_FIELD: lambda told, lengths: (
        f"Laid over each other by the field about its middle: {_fields(told, lengths)} wide."
    ),
    Reason.SAME_PIXELS: lambda *_: "The pictures have the same pixels.",
    Reason.SCALED_TO_FIELD: lambda *_: (
        "The pictures differ in size and are scaled to the same field, which takes them for uncropped."
    ),
    Reason.FIELDS_TOO_FAR_APART: lambda told, lengths: (
        f"The pictures show fields of {_fields(told, lengths)}: too far apart to be laid over each other."
    ),
    Reason.ONE_ON_ITS_SIDE: lambda *_: (
        "One picture is upright and the other lies on its side, and no magnification on both tells how their fields lie: "
        "put the magnification into the frames."
    ),
    Reason.CROPPED_SOMEWHERE: lambda *_: (
        "One of the pictures was cropped, and where is not known: there is no saying which parts belong together."
    ),
    Reason.SHAPES_DIFFER: lambda *_: (
        "The pictures have different shapes, and no magnification on both tells their fields: put the magnification into "
        "the frames."
    ),
    Reason.NO_PICTURE_TO_SHOW: lambda told, _: f"Frame {told['frame']} has no picture that can be shown.",
}

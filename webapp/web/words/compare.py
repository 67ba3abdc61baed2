"""Two pictures over each other: what that rests on, and why it cannot be done."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.quantities.lengths import Lengths
from webapp.shoots.reasons import Reason

if TYPE_CHECKING:
    from webapp.web.words.say import Say


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

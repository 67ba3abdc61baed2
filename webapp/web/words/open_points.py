"""What of a recipe contradicts itself or is not known, and how well the rest is known, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.quantities.lengths import Lengths
from webapp.quantities.ratios import magnification_text
from webapp.recipes.reasons import Reason
from webapp.web.words.figures import maybe_number
from webapp.web.words.listing import begun, signed_tenth

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_FIGURES: Final = {"f_number": "f-number", "iso": "ISO", "level": "level at", "ambient margin": "light of the room"}


def _field(told: Fact, lengths: Lengths) -> str:
    by_field, logged = (lengths.text(told.number(each)) for each in ("by_field_mm", "distance_mm"))
    m = magnification_text(told.number("magnification"))
    return (
        f"Field, focal length and distance contradict each other: {m} with {told.number('focal_mm'):g} mm would put the lens "
        f"{by_field} from the subject, and {logged} is logged."
    )


def _camera(told: Fact, lengths: Lengths) -> str:
    plan, logged = (lengths.text(told.number(each)) for each in ("plan_mm", "distance_mm"))
    return f"The camera stands {plan} from the subject on the plan, and {logged} in the set-up."


def _unexplained(told: Fact, _: Lengths) -> str:
    return (
        f"{begun(told.about)} read {signed_tenth(told.number('stops'))} stops from what the log predicts, where "
        f"± {told.number('within'):.1f} was to be expected: the log is wrong, or the light was."
    )


def _shares(told: Fact, _: Lengths) -> str:
    off = told.number("off_stops")
    way = "more" if off > 0 else "less"
    return (
        f"At {told.about} the lights alone add up to {abs(off):.1f} stops {way} than all of them together read: one of "
        "them, or the room, was otherwise."
    )


def _size(told: Fact, lengths: Lengths) -> str:
    size = lengths.sides(told.number("width_mm"), maybe_number(told, "height_mm"))
    return f"The size of {told.about} is not known: {size} is what it was put up with."


def _unknown(told: Fact, _: Lengths) -> str:
    return f"{begun(told.text('what'))}{f' of {told.about}' if told.about else ''} is unknown."


def _known(told: Fact, _: Lengths) -> str:
    what, about = told.text("what"), told.about.replace("-", " ")
    name = _FIGURES.get(what, what)
    if not about:
        return name
    return f"{name} {about}" if what == "level" else f"{name} of {about}"


WORDS: Final[Mapping[str, Say]] = {
    Reason.OPEN_FIELD: _field,
    Reason.OPEN_CAMERA_TWICE: _camera,
    Reason.OPEN_UNEXPLAINED: _unexplained,
    Reason.OPEN_SHARES: _shares,
    Reason.OPEN_SHONE_ON: lambda told, _: (
        f"{begun(told.text('light'))} shines on a {told.text('shines_on')} that is not on the plan, or is not aimed at it."
    ),
    Reason.OPEN_POSITION: lambda told, _: f"{begun(told.text('light'))} has no position on the plan.",
    Reason.OPEN_SIZE: _size,
    Reason.OPEN_UNKNOWN: _unknown,
    Reason.KNOWN_FIGURE: _known,
}

"""The checklist of a reshoot, and what of its recipe could not be filled in, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.plan.positions import Place
from webapp.quantities.angles import bearing_text
from webapp.quantities.lengths import Lengths
from webapp.quantities.ratios import magnification_text
from webapp.recipes.checklist import Heading
from webapp.recipes.reasons import Reason
from webapp.web.words.figures import level_words, maybe_number, names
from webapp.web.words.listing import begun
from webapp.web.words.places import held_words, where_words

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_HEADINGS: Final[Mapping[str, str]] = {
    Heading.ROOM: "Room",
    Heading.CAMERA: "Camera",
    Heading.SET: "On the set",
    Heading.STEPS: "Steps",
    Heading.CHECKS: "Before the first frame",
    Heading.CAUTIONS: "Cautions",
}
_NOT_SAID: Final = {"f_number": "f-number", "iso": "ISO", "subject_distance": "camera distance"}


def heading_words(heading: str) -> str:
    """A heading of the list; a light's name is one as it is."""
    return _HEADINGS.get(heading, heading)


def _mount(told: Fact, _: Lengths) -> str:
    focal = "" if told["focal_mm"] is None else f" at {told.number('focal_mm'):g} mm"
    return f"Mount {told.text('camera')} with {told.text('lens')}{focal}."


def _field(told: Fact, lengths: Lengths) -> str:
    width, height = (lengths.text(told.number(each)) for each in ("width_mm", "height_mm"))
    magnification = magnification_text(told.number("magnification"))
    return f"Magnification {magnification}: the field is {width} × {height} at the subject."


def _dials(told: Fact, _: Lengths) -> str:
    marks = {name: told.text(name) for name in ("f_number", "shutter", "iso") if told[name] is not None}
    if not marks:
        return "Settings: the recipe does not say them."
    if "shutter" in marks and "/" not in marks["shutter"]:
        marks["shutter"] += " s"
    prefixes = {"f_number": "f/", "iso": "ISO "}
    return ", ".join(f"{prefixes.get(name, '')}{mark}" for name, mark in marks.items()) + "."


def _thing(told: Fact, lengths: Lengths) -> str:
    at = Place(told.number("x_mm"), told.number("y_mm"), told.number("z_mm"))
    return f"{begun(told.about)}: {where_words(at, lengths)}{_known_there(told)}."


def _known_there(told: Fact) -> str:
    """How well the recipe knew a place; a list that was drafted before recipes said so does not."""
    known = told.values.get("known")
    return "" if known in (None, "unknown") else f" ({known} in the recipe)"


def _distance(told: Fact, lengths: Lengths) -> str:
    known = maybe_number(told, "distance_mm")
    # A list that was drafted before there were panels says of none.
    onto = told.values.get("shines_on", "subject")
    return (
        _find_out("Distance")
        if known is None
        else f"Distance {lengths.text(known)}, face to {onto}{_known_there(told)}."
    )


def _hold(told: Fact, _: Lengths) -> str:
    held_by = told.text("held_by")
    return f"{begun(held_words(held_by))}{_SECURED.get(held_by, '')}."


def _height(told: Fact, lengths: Lengths) -> str:
    above = told.number("above_mm")
    if not above:
        return "Height: level with the subject's middle."
    return f"Height: {lengths.text(abs(above))} {'above' if above > 0 else 'below'} the subject's middle."


def _power(told: Fact, _: Lengths) -> str:
    return _find_out("Power") if told["mark"] is None else f"Power {told.text('mark')}."


def _find_out(what: str) -> str:
    return f"{what}: unknown; find it and set it on the desk."


def _meter(told: Fact, _: Lengths) -> str:
    cloth = "" if told["proves"] is None else f" It also proves {told.text('proves')}."
    return f"Meter {told.text('light')} alone at ISO 100: {level_words(told.number('level_av'))}.{cloth}"


def _tolerance(told: Fact, _: Lengths) -> str:
    unit = told.text("unit")
    return f"{begun(told.about)} within ± {told.number('within'):g}{'' if unit == '°' else ' '}{unit}."


_SECURED: Final = {
    "stand": ", with a sandbag",
    "boom": ", with its counterweight, and a sandbag on its stand",
    "hung": ", with a safety line",
    "clamped": ", with a safety line",
}
WORDS: Final[Mapping[str, Say]] = {
    Reason.FIGURES_AS_WRITTEN: lambda told, _: f"{told.text('problem')} The figures stand as written.",
    Reason.NOT_IN_RECIPE: lambda told, _: f"The recipe does not say the {_NOT_SAID.get(told.about, told.about)}.",
    Reason.LIGHT_LEFT_OUT: lambda told, _: (
        f"{told.text('light')} is left out of the set-up: no head was chosen for {told.text('head')}."
    ),
    Reason.LIGHT_STANDS_BARE: lambda told, _: (
        f"{told.text('light')} stands bare: {told.text('modifier')} is on it in the recipe."
    ),
    Reason.POWER_LEFT_OPEN: lambda told, _: (
        f"The power of {told.text('light')} is left open: {told.text('head')} is another head than the recipe's."
    ),
    Reason.FILTER_LEFT_OUT: lambda told, _: (
        f"{told.text('filter')} on {told['light'] or 'the lens'} is not in this studio, and left out."
    ),
    Reason.PATCHES_LEFT_OUT: lambda told, _: f"Of the recipe's patches the first {told['most']} were drawn.",
    Reason.CHECK_AMBIENT_FIRST: lambda told, _: (
        "Every lamp off: make an ambient check. The room is another than the recipe's."
    ),
    Reason.MOUNT_CAMERA: _mount,
    Reason.HOLD_BY: _hold,
    Reason.PLACE_CAMERA: lambda told, lengths: (
        f"Place it {lengths.text(told.number('distance_mm'))} from the subject."
    ),
    Reason.FIELD_AT_SUBJECT: _field,
    Reason.SET_DIALS: _dials,
    Reason.FILTER_ON_LENS: lambda told, _: f"{begun(told.text('filter'))} on the lens.",
    Reason.PLACE_THING: _thing,
    Reason.SET_UP_HEAD: lambda told, _: f"Put up {told.text('head')}.",
    Reason.FIT_MODIFIER: lambda told, _: f"Fit {told.text('modifier')}.",
    Reason.FIT_FILTER: lambda told, _: f"Put in {told.text('filter')}.",
    Reason.SET_DISTANCE: _distance,
    Reason.SET_BEARING: lambda told, _: (
        f"Bearing: {bearing_text(told.number('bearing_deg'))}, as the camera sees it."
    ),
    Reason.SET_HEIGHT: _height,
    Reason.SET_POWER: _power,
    Reason.LAMP_ON: lambda told, _: "Modelling lamp on.",
    Reason.LEAVE_OFF: lambda told, _: "Leave it off.",
    Reason.METER_ALONE: _meter,
    Reason.WITHIN_TOLERANCE: _tolerance,
    Reason.LAY_PATCHES: lambda told, _: (
        f"Lay the patches over the first picture: {', '.join(names(told, 'patches'))}."
    ),
}

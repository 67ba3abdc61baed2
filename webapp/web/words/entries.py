"""Entries and what is noted on a comparison of two frames."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.entries import Cause, Entry, Setting, Told, told
from webapp.ledger.exposures import Filters
from webapp.ledger.reasons import Reason
from webapp.ledger.set_up import IncidentReading
from webapp.optics.scales import Quantity
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.marks import written
from webapp.quantities.ratios import magnification_text
from webapp.quantities.reading import UNKNOWN
from webapp.web.words.figures import level_words

if TYPE_CHECKING:
    from webapp.web.words.say import Say

CAUSE_WORDS: Final = {
    Cause.APERTURE: "aperture",
    Cause.CLOSE_UP: "close-up loss",
    Cause.SHUTTER: "shutter",
    Cause.ISO: "ISO",
    Cause.LENS_FILTERS: "lens filters",
    Cause.ENERGY: "energy",
    Cause.DISTANCE: "distance",
    Cause.MODIFIER: "modifier",
    Cause.FILTERS: "filters",
    Cause.POPS: "pops",
    Cause.METERED: "metered level",
}
_MARKS_OF: Final = {Cause.APERTURE: Quantity.F_NUMBER, Cause.SHUTTER: Quantity.SHUTTER, Cause.ISO: Quantity.ISO}
_NAMELESS: Final = {Cause.ENERGY: "another head", Cause.MODIFIER: "bare"}
"""What stands where there is no name of kit; "none" for all others."""
_SETTINGS: Final = {"f_number": "f-number", "shutter": "shutter", "iso": "ISO", "magnification": "magnification"}
OWN_CAUSES: Final = (Cause.ENERGY, Cause.DISTANCE, Cause.MODIFIER, Cause.FILTERS)
"""Those of one light: an entry of another cause acts on every light alike."""


def entry_words(entry: Entry, lengths: Lengths = CENTIMETRES, *, named: bool = True) -> str:
    """An entry by its cause and its two settings: "A energy 100 J to 200 J". `named`: with the light whose it is."""
    whose = f"{entry.acts_on} " if named and entry.cause in OWN_CAUSES else ""
    was, now = settings_of(entry, lengths)
    return f"{whose}{CAUSE_WORDS[entry.cause]} {was} to {now}"


def settings_of(entry: Entry, lengths: Lengths = CENTIMETRES) -> tuple[str, str]:
    """The two settings of an entry."""
    return _setting(entry.cause, entry.was, lengths), _setting(entry.cause, entry.now, lengths)


def _setting(cause: Cause, setting: Setting, lengths: Lengths) -> str:
    match setting:
        case IncidentReading(mark=mark):
            return f"metered f/{mark}"
        case Filters(key=(_, *_) as fitted, names=()):
            return f"{len(fitted)} in"
    return setting_words(cause, told(setting), lengths)


def setting_of(fact: Fact, name: str, lengths: Lengths = CENTIMETRES) -> str:
    """A setting of a fact that has its cause beside it."""
    value = fact[name]
    assert not isinstance(value, tuple)
    return setting_words(Cause(fact.text("cause")), value, lengths)


def setting_words(cause: Cause, setting: Told, lengths: Lengths = CENTIMETRES) -> str:
    """A setting as a fact has it, by the cause that moved it: "f/8", "60 cm", "ND 0.6", "bare"."""
    match setting:
        case None:
            return UNKNOWN
        case str():
            return (
                written(_MARKS_OF[cause], setting) if cause in _MARKS_OF else setting or _NAMELESS.get(cause, "none")
            )
    match cause:
        case Cause.DISTANCE:
            return lengths.text(setting)
        case Cause.CLOSE_UP:
            return magnification_text(setting)
        case Cause.METERED:
            return level_words(setting)
        case Cause.ENERGY:
            return f"{setting:.1f} stops below full".replace("-", "−")
    return f"{setting}"


def _learned(told: Fact, _: Lengths) -> str:
    a_mark, readings = told.number("a_mark_stops"), told.number("readings")
    return f"{told.about} gives {a_mark:.2f} a marked stop, as learned from {readings:.0f} readings."


def _known_once(told: Fact, _: Lengths) -> str:
    setting = told.text("setting")
    whose = "ambient " if setting == "shutter" else ""
    return f"No {whose}balance: the {_SETTINGS[setting]} is known in only one of the two set-ups."


WORDS: Final[Mapping[str, Say]] = {
    Reason.SWITCHED: lambda told, _: f"{told.about} {'on' if told['lit'] else 'off'}",
    Reason.LIGHT_IS_GONE: lambda told, _: f"{told['light']} is not in the set any more: no balance.",
    Reason.LIGHT_IS_OFF: lambda told, _: f"{told['light']} is off now: no balance.",
    Reason.LIGHT_WAS_OFF: lambda told, _: f"{told['light']} was off there: it has nothing to be compared with yet.",
    Reason.ANOTHER_HEAD: lambda told, _: (
        f"{told['light']} is another head than before: only a meter reading or a frame tells what that changed."
    ),
    Reason.TURNED_ELSEWHERE: lambda told, _: (
        f"No balance for {told['light']}: it shines on the {told['now']} now, and on something else before."
    ),
    Reason.POWER_UNKNOWN: lambda told, _: f"No balance for {told['light']}: its power is unknown.",
    Reason.POWER_LEARNED: _learned,
    Reason.DISTANCE_UNKNOWN: lambda told, _: (
        f"The distance of {told['light']} is unknown on both sides and taken as unchanged."
    ),
    Reason.DISTANCE_UNKNOWN_ONCE: lambda told, _: (
        f"No balance for {told['light']}: its distance is known in only one of the two set-ups."
    ),
    Reason.LOSS_UNKNOWN: lambda told, _: f"No balance for {told['light']}: the loss of {told['fitted']} is unknown.",
    Reason.LENS_LOSS_UNKNOWN: lambda told, _: f"No balance: the loss of {told['fitted']} on the lens is unknown.",
    Reason.PAIR_LEARNED: lambda told, _: (
        f"The loss of {told['fitted']} with the polarisers on the lights is learned from {told['readings']} readings."
    ),
    Reason.SETTING_UNKNOWN: lambda told, _: (
        f"The {_SETTINGS[told.text('setting')]} is unknown on both sides and taken as unchanged."
    ),
    Reason.SETTING_UNKNOWN_ONCE: _known_once,
}

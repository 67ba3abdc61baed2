"""Entries and what is noted on a comparison of two frames."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.entries import CAUSE_WORDS, Cause, Entry
from webapp.ledger.reasons import Reason
from webapp.quantities.lengths import CENTIMETRES, Lengths

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_SETTINGS: Final = {"f_number": "f-number", "shutter": "shutter", "iso": "ISO", "magnification": "magnification"}
OWN_CAUSES: Final = (Cause.ENERGY, Cause.DISTANCE, Cause.MODIFIER, Cause.FILTERS)
"""Those of one light: an entry of another cause acts on every light alike."""


def entry_words(entry: Entry, lengths: Lengths = CENTIMETRES, *, named: bool = True) -> str:
    """An entry by its cause and its two settings: "A energy 100 J to 200 J". `named`: with the light whose it is."""
    whose = f"{entry.acts_on} " if named and entry.cause in OWN_CAUSES else ""
    was, now = entry.written(lengths)
    return f"{whose}{CAUSE_WORDS[entry.cause]} {was} to {now}"


def _learned(told: Fact, _: Lengths) -> str:
    a_mark, readings = told.number("a_mark_stops"), told.number("readings")
    return f"{told.about} gives {a_mark:.2f} a marked stop, as learned from {readings:.0f} readings."


def _known_once(told: Fact, _: Lengths) -> str:
    setting = told.text("setting")
    whose = "ambient " if setting == "shutter" else ""
    return f"No {whose}balance: the {_SETTINGS[setting]} is known on one side only."


WORDS: Final[Mapping[str, Say]] = {
    Reason.SWITCHED: lambda told, _: f"{told.about} {'on' if told['lit'] else 'off'}",
    Reason.LIGHT_IS_GONE: lambda told, _: f"{told['light']} is not in the set any more: no balance.",
    Reason.LIGHT_IS_OFF: lambda told, _: f"{told['light']} is off now: no balance.",
    Reason.LIGHT_WAS_OFF: lambda told, _: f"{told['light']} was off there: it has nothing to be compared with yet.",
    Reason.ANOTHER_HEAD: lambda told, _: (
        f"{told['light']} is another head than before: only a meter reading or a frame tells what that changed."
    ),
    Reason.POWER_UNKNOWN: lambda told, _: f"No balance for {told['light']}: its power is unknown.",
    Reason.POWER_LEARNED: _learned,
    Reason.DISTANCE_UNKNOWN: lambda told, _: (
        f"The distance of {told['light']} is unknown on both sides and taken as unchanged."
    ),
    Reason.DISTANCE_UNKNOWN_ONCE: lambda told, _: (
        f"No balance for {told['light']}: its distance is known on one side only."
    ),
    Reason.LOSS_UNKNOWN: lambda told, _: f"No balance for {told['light']}: the loss of {told['fitted']} is unknown.",
    Reason.LENS_LOSS_UNKNOWN: lambda told, _: f"No balance: the loss of {told['fitted']} on the lens is unknown.",
    Reason.SETTING_UNKNOWN: lambda told, _: (
        f"The {_SETTINGS[told.text('setting')]} is unknown on both sides and taken as unchanged."
    ),
    Reason.SETTING_UNKNOWN_ONCE: _known_once,
}

"""A balance: what it is taken against, its total and where shares are from, and the notes on a set-up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.entries import Cause
from webapp.ledger.reasons import Reason
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.web.words.entries import CAUSE_WORDS
from webapp.web.words.figures import level_words
from webapp.web.words.listing import joined, names

if TYPE_CHECKING:
    from webapp.web.words.say import Say


def against_words(against: Fact | None) -> str:
    """What a balance is taken against: "frame 3", "its meter reading", "the recipe", or ""."""
    return "" if against is None else WORDS[against.reason](against, CENTIMETRES)


def _several_changes(told: Fact, _: Lengths) -> str:
    on = names(told, "switched_on")
    changed = [
        f"the {CAUSE_WORDS[Cause(cause)]} of {light}"
        for cause, light in zip(names(told, "causes"), names(told, "lights"), strict=True)
    ]
    changed.extend(f"{letter} {'on' if letter in on else 'off'}" for letter in names(told, "switched"))
    return f"{len(changed)} changes to the light since frame {told['frame']}: {joined(changed)}."


def _beyond_sync(told: Fact, _: Lengths) -> str:
    return (
        f"{told['shutter']} is faster than the sync speed {told['sync']}: the shutter is never fully open, and part of "
        "the picture gets no flash (a dark band along one side). The balance holds only for the part that does."
    )


def _meter_for_recipe(told: Fact, _: Lengths) -> str:
    aim = level_words(told.number("level_av"))
    return f"Meter {told['light']} at ISO 100, with it alone: the recipe's level is {aim} here."


def _moved_apart(told: Fact, _: Lengths) -> str:
    lights = names(told, "lights")
    return (
        f"No total: {' and '.join(lights)} moved apart, and their shares are unknown. "
        f"A frame lit by {lights[0]} alone, with the same camera settings, would give them."
    )


def _no_share(told: Fact, _: Lengths) -> str:
    return (
        f"No total: the share of {told.about} is unknown. A frame lit by {told.about} alone, with the same camera "
        "settings, would give it."
    )


WORDS: Final[Mapping[str, Say]] = {
    Reason.AGAINST_FRAME: lambda told, _: f"frame {told['frame']}",
    Reason.AGAINST_METER: lambda *_: "its meter reading",
    Reason.AGAINST_RECIPE: lambda *_: "the recipe",
    Reason.NOTHING_TO_COMPARE: lambda told, _: (
        f"{told['light']} has neither a frame nor a meter reading to compare with."
    ),
    Reason.SEVERAL_CHANGES: _several_changes,
    Reason.BEYOND_SYNC: _beyond_sync,
    Reason.RECIPE_NOT_METERED: lambda told, _: (
        f"The recipe has no meter reading of {told.about}, so no other light can be told."
    ),
    Reason.METER_FOR_RECIPE: _meter_for_recipe,
    Reason.COMPARED_BY_METER: lambda told, _: (
        f"{told['light']} is other kit than the recipe's, and compared by the meter readings."
    ),
    Reason.TOTAL_BY_METER: lambda *_: "by the meter readings, which add up in light",
    Reason.TOTAL_ALIKE: lambda *_: "all lit lights moved alike",
    Reason.NO_TOTAL_ALL_OFF: lambda *_: "No total: every light is off.",
    Reason.NO_TOTAL_BALANCE: lambda told, _: f"No total: the balance of {told['light']} is unknown.",
    Reason.NO_TOTAL_SHARES: _moved_apart,
    Reason.NO_TOTAL_SHARE: _no_share,
    Reason.SHARE_OF_SOLO: lambda told, _: f"frame {told['frame']}, lit by {told.about} alone",
    Reason.SHARE_OF_ONLY_LIGHT: lambda *_: "the reference frame is lit by it alone",
    Reason.SHARE_LEFT_OVER: lambda *_: "what the others leave of the reference frame",
    Reason.SHARE_OF_RECIPE: lambda *_: "the recipe",
}

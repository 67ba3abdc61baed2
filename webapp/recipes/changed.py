"""A cause of change as a recipe and a class are told of it. Pure."""

from __future__ import annotations

from webapp.facts import Fact, Value, fact
from webapp.ledger.entries import Cause, Entry
from webapp.recipes.reasons import Reason

_OWN_CAUSES = (Cause.ENERGY, Cause.DISTANCE, Cause.MODIFIER, Cause.FILTERS)


def about(entry: Entry) -> str:
    """The light whose change it was; "" where it acts on every light alike."""
    return entry.acts_on if entry.cause in _OWN_CAUSES else ""


def changed(entry: Entry, **more: Value) -> Fact:
    """An entry by its cause and its two settings."""
    return fact(Reason.CHANGED, about(entry), cause=entry.cause.value, **entry.told, **more)

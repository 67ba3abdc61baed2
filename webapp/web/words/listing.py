"""How several names stand in a sentence, and a name at its beginning."""

from __future__ import annotations

from collections.abc import Sequence

from webapp.facts import Fact
from webapp.quantities.stops import signed_stops


def names(told: Fact, name: str) -> tuple[str, ...]:
    """A value that is several names. Raises TypeError where it is none."""
    value = told[name]
    if not isinstance(value, tuple):
        raise TypeError(f"{told.reason}: {name} is {value!r}, no list of names")
    return tuple(str(each) for each in value)


def joined(several: Sequence[str]) -> str:
    """ "A", "A and B", "A, B and C"."""
    return " and ".join(filter(None, (", ".join(several[:-1]), *several[-1:])))


def begun(text: str) -> str:
    """A text as a sentence begins with it."""
    return text[:1].upper() + text[1:]


def signed_tenth(stops: float) -> str:
    """ "+1.0" or "−0.3"; what rounds to nothing has no sign."""
    return signed_stops(stops, 1)

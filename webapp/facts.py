"""A fact: a reason out of a closed list, with its numbers. What the rooms below the page answer in place of sentences.

Each room has its own closed list of reasons (a `StrEnum`; `ledger.reasons`, `plan.reasons`, …), whose members say in a
comment which values stand with them. A sentence is made of a fact in `web.words` alone, where lengths are also put into
the reader's unit: lengths are values in millimetres here, powers in stops below full, as everywhere in the records.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

Value = bool | int | float | str | None | tuple[str | int | float | None, ...]


@dataclass(frozen=True, slots=True)
class Fact:
    """`reason` is a member of a closed list, `about` what it is about (a light's letter, "ambient", a patch; "" for the
    whole), `values` the numbers and names that the reason stands with, by the names that its list gives them."""

    reason: str
    about: str = ""
    values: Mapping[str, Value] = field(default_factory=dict, hash=False)

    def __getitem__(self, name: str) -> Value:
        return self.values[name]

    def number(self, name: str) -> float:
        """A value that is a number. Raises TypeError where it is none."""
        value = self.values[name]
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise TypeError(f"{self.reason}: {name} is {value!r}, no number")
        return float(value)

    def text(self, name: str) -> str:
        """A value that is a name or a mark. Raises TypeError where it is none."""
        value = self.values[name]
        if not isinstance(value, str):
            raise TypeError(f"{self.reason}: {name} is {value!r}, no text")
        return value


Wording = Callable[[Fact], str]
"""What makes words of a fact: handed down from the page to a room below it that writes a text."""


def fact(reason: str, about: str = "", **values: Value) -> Fact:
    """A fact, shortly written: `fact(Reason.BEYOND_SYNC, "A", shutter="1/500", sync="1/200")`."""
    return Fact(str(reason), about, values)


def digest(*facts: Fact | Mapping[str, object]) -> str:
    """A short name of facts that is the same wherever the same facts are worked out, and in every wording of them."""
    plain = [[each.reason, each.about, dict(each.values)] if isinstance(each, Fact) else dict(each) for each in facts]
    text = json.dumps(plain, sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def facts_json(facts: Iterable[Fact]) -> str:
    """Facts as they are stored in a column of their own."""
    return json.dumps([{"reason": each.reason, "about": each.about, "values": dict(each.values)} for each in facts])


def read_facts(stored: str) -> tuple[Fact, ...]:
    """Stored facts. Raises ValueError for what is none."""
    return tuple(
        Fact(
            each["reason"],
            each["about"],
            {name: tuple(value) if isinstance(value, list) else value for name, value in each["values"].items()},
        )
        for each in json.loads(stored)
    )

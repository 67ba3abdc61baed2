"""A question, what was read out of it, and whether what starts at a place is denied. Pure."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from webapp.recipes.search.stated import Condition

LONGEST_STATED: Final = 1_000
"""So many characters of a question are read for what it states; what comes after them is words."""
LOOKS_BACK: Final = 80
_MOST: Final = 24
TAKEN: Final = "\x00"
"""What stands in the text where something was read out of it."""


class Text:
    """A question, and what of it was read: what is taken out leaves its place, and nothing is read twice."""

    def __init__(self, question: str) -> None:
        said = " ".join(question.split())
        small = said.casefold()
        # A letter that becomes two in small letters would move every place after it.
        self.said = said if len(small) == len(said) else small
        self.rest = small
        self.conditions: list[Condition] = []

    def take(self, start: int, end: int) -> str:
        """Take a stretch out; the answer is how it was typed."""
        while start < end and self.rest[start] == " ":
            start += 1
        while end > start and self.rest[end - 1] == " ":
            end -= 1
        self.rest = self.rest[:start] + TAKEN * (end - start) + self.rest[end:]
        return self.said[start:end]

    def before(self, start: int) -> tuple[int, str]:
        """What stands before a place, as far as one looks back, and where that begins."""
        since = max(0, start - LOOKS_BACK)
        return since, self.rest[since:start]

    def keep(self, condition: Condition) -> None:
        if len(self.conditions) < _MOST:
            self.conditions.append(condition)

    def each(self, pattern: re.Pattern[str], read: Callable[[re.Match[str]], Condition | None]) -> None:
        """Read every match of a pattern; one that `read` makes nothing of stays in the text."""
        place = 0
        while (found := pattern.search(self.rest, place, LONGEST_STATED)) is not None:
            place = max(found.end(), place + 1)
            condition = read(found)
            if condition is not None:
                said = self.take(condition.start, condition.end)
                self.keep(replace(condition, said=said))


_DENYING: Final = re.compile(
    r"(?:^|[\s,;(])(?:without|with no|no|not|never|except|excluding|minus|but not|but no|other than|nor|non)"
    r"(?:[ -](?:an?|any|the|using|with|in|from|on|of))*[ -]$"
)
_CHAINED: Final = re.compile(r"^\s*(?:,\s*)?(?:or|nor)\s+(?:an?\s+|any\s+)?$")


def denied_from(text: Text, start: int) -> int | None:
    """Where the words begin that deny what starts here; None where nothing does. "Without a softbox or an umbrella"
    denies both."""
    since, before = text.before(start)
    if found := _DENYING.search(before):
        return since + found.start() + (0 if found.start() == 0 and before[0] not in " ,;(" else 1)
    for condition in text.conditions:
        if condition.negated and condition.end <= start and _CHAINED.match(text.rest[condition.end : start]):
            return condition.end
    return None

"""What a question states about the record, read out of its text: numbers with their comparison, ranges, days and seasons,
ratios, techniques, what is on the lights, and what is not to be there. Pure.

"More than two lights", "f/16 or smaller", "between 50 and 100 J", "fill two stops under the key", "without softbox",
"head B at its lowest power", "winter 2025" and "dark-field or bright-field" are conditions: they are met or not, and
what does not meet them is never found. Each knows its place in the question, so that it can be taken out again. An "or"
between two of one kind makes one condition that either will do for.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

from webapp.recipes.search.days import read_days
from webapp.recipes.search.figures import read_numbers
from webapp.recipes.search.marks import read_marks
from webapp.recipes.search.of_frames import read_frames
from webapp.recipes.search.question import Text
from webapp.recipes.search.stated import About, Condition

_EITHER: Final = re.compile(r"^\s*,?\s*or\s+(?:an?\s+|the\s+|with\s+|at\s+|in\s+)*$")
_MARKED_TOGETHER: Final = frozenset(
    {About.TECHNIQUE, About.MODIFIER, About.KIND, About.FORMAT, About.SEASON, About.ROLE, About.LETTER}
)


def read_conditions(question: str, today: dt.date, *, of_frames: bool = False) -> Text:
    """Everything that a question states, and the text with that taken out. `of_frames`: it is asked of frames, and says what
    only they have."""
    text = Text(question)
    if of_frames:
        read_frames(text)
    read_days(text, today)
    read_numbers(text)
    read_marks(text)
    text.conditions = list(_either(text, sorted(text.conditions, key=lambda each: each.start)))
    return text


def _either(text: Text, conditions: Iterable[Condition]) -> Iterator[Condition]:
    """Two conditions with "or" between them as one, where they are of one kind."""
    before: Condition | None = None
    for each in conditions:
        if before is None:
            before = each
        elif _is_either(text, before, each):
            said = text.take(before.start, each.end)
            before = replace(
                before,
                said=said,
                end=each.end,
                reaches=(*before.reaches, *each.reaches),
                marks=(*before.marks, *each.marks),
            )
        else:
            yield before
            before = each
    if before is not None:
        yield before


def _is_either(text: Text, one: Condition, other: Condition) -> bool:
    together = one.about is other.about or {one.about, other.about} <= _MARKED_TOGETHER
    same = (
        together
        and one.of == other.of
        and not (one.negated or other.negated)
        and bool(one.marks) == bool(other.marks)
    )
    return same and bool(_EITHER.match(text.rest[one.end : other.start]))


_HANGS_BEFORE: Final = re.compile(r"(?:[\s,;]|\b(?:and|or|with|at|but|in|an?)\b)+$")
_HANGS_AFTER: Final = re.compile(r"^(?:[\s,;]|\b(?:and|or|but)\b)+")


def question_without(question: str, condition: Condition) -> str:
    """The question with a condition taken out.

    >>> found = read_conditions("Bottle with more than two lights", dt.date(2026, 1, 1))
    >>> question_without("Bottle with more than two lights", found.conditions[0])
    'Bottle'
    """
    said = " ".join(question.split())
    before, after = said[: condition.start], said[condition.end :]
    head = _HANGS_BEFORE.sub("", before)
    tail = _HANGS_AFTER.sub("", after)
    return " ".join(f"{head} {tail}".split())

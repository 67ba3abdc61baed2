"""What is said of a working: what it assumes, and the marks and gaps of a change of aperture."""

from __future__ import annotations

from typing import Final

from webapp.ledger.entries import Entry
from webapp.ledger.workings import aperture_marks
from webapp.optics.working import Step
from webapp.recipes.document import WorkingPart
from webapp.web.words.say import say

_COUNTS: Final = ("two", "three", "four", "five", "six", "seven", "eight", "nine")


def assumed(working: Step | WorkingPart) -> tuple[str, ...]:
    """What stands under a formula. A document keeps it as it was written."""
    return working.assumptions if isinstance(working, WorkingPart) else tuple(map(say, working.assumptions))


def fence_post_words(entry: Entry) -> str:
    """Marks and gaps of a change of aperture, counted out: "f/5.6, 8, 11, 16, 22: four gaps, five marks"."""
    marks = aperture_marks(entry)
    if not marks:
        return ""
    gaps = len(marks) - 1
    return f"f/{', '.join(marks)}: {_COUNTS[gaps - 2]} gaps, {_COUNTS[gaps - 1]} marks"

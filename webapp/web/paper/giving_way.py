"""How a set-up sheet gives way until it is one page: a closed list of steps, each with less on the paper than the one
before. What lays the sheet out counts its pages: WeasyPrint for the PDF, the browser for the page
(static/paper.js). Pure.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

PlanSize = Literal["large", "middle", "small", "none"]
TypeSize = Literal["full", "small"]
_ALL: Final = sys.maxsize


@dataclass(frozen=True, slots=True)
class Step:
    """How much goes on the sheet. `words` name the step; `lights`, `facts`, `steps`, `cautions`, `slips` and `notes` are the most of
    each, `letters` the most in a text. With the plan goes the picture."""

    words: str
    plan: PlanSize
    type: TypeSize = "small"
    lights: int = _ALL
    facts: int = _ALL
    steps: int = _ALL
    cautions: int = _ALL
    slips: int = _ALL
    notes: int = _ALL
    letters: int = _ALL


def _shorter(lights: int, facts: int, steps: int, cautions: int, letters: int, plan: PlanSize = "small") -> Step:
    words = f"{steps} steps, {cautions} cautions, {lights} lights" + ("" if plan != "none" else ", no plan")
    return Step(
        words, plan, "small", lights, facts, steps, cautions, slips=cautions, notes=steps // 4, letters=letters
    )


STEPS: Final = (
    Step("not at all", "large", "full"),
    Step("a smaller plan", "middle", "full"),
    Step("a small plan", "small", "full"),
    Step("smaller type", "small"),
    Step("long texts cut", "small", letters=240),
    Step("all texts short", "small", letters=140),
    _shorter(12, 8, 24, 12, 140),
    _shorter(10, 8, 18, 10, 120),
    _shorter(10, 6, 14, 8, 110),
    _shorter(8, 5, 12, 7, 100),
    _shorter(8, 5, 10, 6, 100),
    _shorter(6, 4, 8, 5, 90),
    _shorter(6, 4, 6, 4, 80),
    _shorter(4, 3, 5, 3, 70),
    _shorter(3, 2, 4, 3, 60),
    _shorter(2, 2, 3, 2, 40, "none"),
)
"""The last is so little that it fits in any letters; it is taken without being counted."""
LAST: Final = len(STEPS) - 1


def first_on_one_page(is_one_page: Callable[[Step], bool]) -> Step:
    """The first step at which the sheet is one page. Most are at once; the others are sought by halves."""
    if is_one_page(STEPS[0]):
        return STEPS[0]
    low, high = 1, LAST
    while low < high:
        middle = (low + high) // 2
        if is_one_page(STEPS[middle]):
            high = middle
        else:
            low = middle + 1
    return STEPS[low]

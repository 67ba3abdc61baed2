"""What a question states that only frames have: a number, a purpose, a verdict, a difference left unexplained. Pure."""

from __future__ import annotations

import re
from typing import Final

from webapp.recipes.search.comparing import AFTER, BEFORE, COUNT, FIGURES, compared, value_of
from webapp.recipes.search.figures import stops_reach
from webapp.recipes.search.question import LONGEST_STATED, Text, denied_from
from webapp.recipes.search.stated import About, Compare, Condition, Reach

_ASKS_FOR_FRAMES: Final = re.compile(
    r"(?<!\w)(?:(?<!\d )frames?(?! stack)|heroe?s?|hero shots?|(?:ambient )?checks? (?:that )?(?:failed|fail|did not hold)"
    r"|failed (?:ambient )?checks?|ambient checks?|unexplained|taken back|excluded)(?!\w)"
)
_COUNTED_FRAMES: Final = re.compile(rf"{COUNT}[\s-]*(?:frames|pictures)")
_BETWEEN_FRAMES: Final = re.compile(
    r"(?:(?<!\w)(?:what|which)(?: (?:has|was|is))? (?:changed|different|differs?)\s+|(?<!\w)(?:changes?|differences?|compare)\s+)?"
    r"(?<!\w)(?:between|from)?\s*frames?\s+(?P<first>\d{1,7})\s+(?:and|to|with|against)\s+(?:frame\s+)?(?P<second>\d{1,7})(?!\w)"
)
_NUMBERED: Final = re.compile(r"(?<!\w)frames?\s+(?:no\.?\s+|number\s+)?(?P<number>\d{1,7})(?!\w)")
_UNEXPLAINED: Final = re.compile(
    rf"(?<!\w)(?:with\s+)?(?:an\s+)?unexplained(?:\s+differences?)?(?:\s+(?:of\s+)?{BEFORE}(?P<number>{FIGURES})\s*stops?{AFTER})?"
)
_FRAME_MARKS: Final = (
    (
        re.compile(
            r"(?<!\w)(?:failed (?:ambient )?checks?|(?:ambient )?checks? (?:that |which )?(?:have )?(?:failed|fail|did not hold))(?!\w)"
        ),
        About.STATE,
        ("state", "check failed"),
    ),
    (re.compile(r"(?<!\w)(?:ambient checks?)(?!\w)"), About.PURPOSE, ("purpose", "ambient check")),
    (re.compile(r"(?<!\w)hero(?:es)?(?: (?:frames?|shots?))?(?!\w)"), About.VERDICT, ("verdict", "hero")),
    (re.compile(r"(?<!\w)(?:rejected|failed)(?: frames?)?(?!\w)"), About.VERDICT, ("verdict", "fails")),
    (re.compile(r"(?<!\w)(?:taken back|excluded)(?!\w)"), About.STATE, ("state", "taken back")),
    (re.compile(r"(?<!\w)reference frames?(?!\w)"), About.STATE, ("state", "reference")),
    (re.compile(r"(?<!\w)final frames?(?!\w)"), About.PURPOSE, ("purpose", "final")),
    (re.compile(r"(?<!\w)test frames?(?!\w)"), About.PURPOSE, ("purpose", "test")),
    (re.compile(r"(?<!\w)solo frames?|one light alone(?!\w)"), About.PURPOSE, ("purpose", "one light alone")),
    (re.compile(r"(?<!\w)colou?r targets?(?: frames?)?(?!\w)"), About.PURPOSE, ("purpose", "colour target")),
)


def asks_for_frames(question: str) -> bool:
    """Whether a question is about frames: it names them, and not as a number of them.

    >>> asks_for_frames("hero frames with light C"), asks_for_frames("stacks over 20 frames")
    (True, False)
    """
    small = question[:LONGEST_STATED].casefold()
    return bool(_ASKS_FOR_FRAMES.search(_COUNTED_FRAMES.sub(" ", small)))


def read_frames(text: Text) -> None:
    def between(found: re.Match[str]) -> Condition:
        numbers = (float(found.group("first")), float(found.group("second")))
        said = tuple(Reach(Compare.EXACTLY, each, None, each, each) for each in numbers)
        return Condition(About.NUMBER, "", found.start(), found.end(), said)

    def numbered(found: re.Match[str]) -> Condition:
        number = float(found.group("number"))
        said = Reach(Compare.EXACTLY, number, None, number, number)
        return Condition(About.NUMBER, "", found.start(), found.end(), (said,))

    def unexplained(found: re.Match[str]) -> Condition:
        denied = denied_from(text, found.start())
        start = found.start() if denied is None else denied
        if found.group("number") and denied is None:
            said = stops_reach(compared(found, Compare.AT_LEAST), value_of(found.group("number")))
            return Condition(About.UNEXPLAINED, "", start, found.end(), (said,))
        mark = ("state", "unexplained")
        return Condition(About.STATE, "", start, found.end(), marks=(mark,), negated=denied is not None)

    text.each(_BETWEEN_FRAMES, between)
    text.each(_NUMBERED, numbered)
    text.each(_UNEXPLAINED, unexplained)
    for pattern, about, mark in _FRAME_MARKS:

        def marked(found: re.Match[str], about: About = about, mark: tuple[str, str] = mark) -> Condition:
            denied = denied_from(text, found.start())
            start = found.start() if denied is None else denied
            return Condition(about, "", start, found.end(), marks=(mark,), negated=denied is not None)

        text.each(pattern, marked)

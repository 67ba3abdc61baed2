"""Words for numbers and comparisons: "more than two", "f/16 or smaller", "between 50 and 100". Pure."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Final

from webapp.recipes.search.stated import Compare, Reach

ROUGHLY: Final = 1.26
"""A magnification or a length that is named without "under" or "over" is meant roughly; an f-number is a mark."""
SAME_MARK_STOPS: Final = 1.0 / 6.0
STOPS_ABOUT: Final = 0.2
SLACK: Final = 1e-6


_WORDS_FOR: Final[Mapping[str, float]] = {
    **{
        word: float(at)
        for at, word in enumerate(["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"], 1)
    },
    "single": 1.0,
    "eleven": 11.0,
    "twelve": 12.0,
    "a dozen": 12.0,
    "twenty": 20.0,
    "thirty": 30.0,
    "forty": 40.0,
    "fifty": 50.0,
    "a hundred": 100.0,
    "half a": 0.5,
    "a quarter of a": 0.25,
    "a couple of": 2.0,
}
_APART: Final = r"(?<![\d.,/])"
FIGURES: Final = rf"{_APART}\d{{1,6}}(?:[.,]\d{{1,4}})?"
COUNT: Final = rf"(?:{FIGURES}|\b(?:{'|'.join(sorted(_WORDS_FOR, key=len, reverse=True))})\b)"
_LESS: Final = (
    "less than",
    "fewer than",
    "shorter than",
    "closer than",
    "nearer than",
    "lower than",
    "faster than",
    "under",
    "below",
    "before",
    "<",
)
_AT_MOST: Final = (
    "no more than",
    "not more than",
    "no longer than",
    "no further than",
    "no slower than",
    "not over",
    "not above",
    "up to",
    "at most",
    "at the most",
    "maximum",
    "max",
    "within",
    "until",
    "<=",
    "≤",
)
_MORE: Final = (
    "more than",
    "longer than",
    "further than",
    "farther than",
    "higher than",
    "slower than",
    "greater than",
    "beyond",
    "exceeding",
    "over",
    "above",
    "after",
    ">",
)
_AT_LEAST: Final = (
    "no less than",
    "no fewer than",
    "not less than",
    "not under",
    "not below",
    "no faster than",
    "no closer than",
    "at least",
    "minimum",
    "min",
    "from",
    "since",
    ">=",
    "≥",
)
# Of an opening these are the other way round: the smaller one has the larger number.
_SMALLER: Final = ("smaller than", "narrower than")
_LARGER: Final = ("larger than", "bigger than", "wider than")
_EXACTLY: Final = ("exactly", "precisely", "just", "only")
_ABOUT: Final = ("about", "around", "roughly", "approximately", "circa", "some", "~", "near")
_COMPARES: Final = {
    **dict.fromkeys(_LESS, Compare.LESS_THAN),
    **dict.fromkeys(_AT_MOST, Compare.AT_MOST),
    **dict.fromkeys(_MORE, Compare.MORE_THAN),
    **dict.fromkeys(_AT_LEAST, Compare.AT_LEAST),
    **dict.fromkeys(_SMALLER, Compare.LESS_THAN),
    **dict.fromkeys(_LARGER, Compare.MORE_THAN),
    **dict.fromkeys(_EXACTLY, Compare.EXACTLY),
    **dict.fromkeys(_ABOUT, Compare.ABOUT),
}
_SAID_BEFORE: Final = "|".join(re.escape(each) for each in sorted(_COMPARES, key=len, reverse=True))
BEFORE: Final = (
    r"(?:(?<![\w-])(?P<no>not|except|other than|but not|anything but)\s+(?:at\s+|with\s+)?)?"
    rf"(?:(?<![\w-])(?P<compare>{_SAID_BEFORE})\s*)?"
)
_DOWN: Final = "smaller|less|below|under|closer|nearer|fewer|shorter|faster|lower|narrower"
_UP: Final = "larger|more|above|over|greater|bigger|wider|higher|longer|slower|further|up"
AFTER: Final = rf"(?:\s*(?:(?:or|and)\s+(?:(?P<down>{_DOWN})|(?P<up>{_UP}))(?!\s+than)\b|(?P<plus>\+)))?"
_OPEN: Final = rf"(?:\s*(?:(?:or|and)\s+(?:(?P<down0>{_DOWN})|(?P<up0>{_UP}))\b|(?P<plus0>\+)))?"
JOINED: Final = r"\s*(?P<join>to|through|-|–|or)\s*"


def pattern_of(unit: str, *, prefix: str = "", number: str = FIGURES, tail: str = "") -> re.Pattern[str]:
    """A number with a unit after it (or `prefix` before it), compared, or as a range or two that will do."""
    # What a prefix ends on ("f/") may stand before a number.
    number = number.replace(_APART, "") if prefix else number
    again = f"(?:{prefix})?" if prefix else ""
    inner = re.sub(r"\(\?P<\w+>", "(?:", unit)
    between = rf"between\s+{prefix}(?P<a>{number})(?:{inner})?\s+and\s+{again}(?P<b>{number})"
    second = rf"(?:(?:{inner})?{JOINED}{again}(?P<second>{number}))?"
    return re.compile(rf"{BEFORE}(?:{between}|{prefix}(?P<number>{number}){_OPEN}{second}){unit}{AFTER}{tail}")


def value_of(text: str) -> float:
    """A number as it is written, in figures or in a word."""
    said = text.strip()
    return _WORDS_FOR[said] if said in _WORDS_FOR else float(said.replace(",", "."))


def compared(found: re.Match[str], plainly: Compare, *, opening: bool = False) -> Compare:
    """How the number of a match is compared; `plainly` where nothing says it."""
    parts = found.groupdict()
    said = parts.get("compare")
    compare = _COMPARES[said] if said else plainly
    down = parts.get("down") or parts.get("down0")
    up = parts.get("up") or parts.get("up0") or parts.get("plus") or parts.get("plus0")
    if down:
        compare = Compare.AT_MOST
    elif up:
        compare = Compare.AT_LEAST
    turned = opening and (said in (*_SMALLER, *_LARGER) or down == "smaller" or down == "narrower" or up in _WIDER)
    return _OTHER_WAY.get(compare, compare) if turned else compare


_WIDER: Final = ("larger", "bigger", "wider", "greater")
_OTHER_WAY: Final = {
    Compare.AT_MOST: Compare.AT_LEAST,
    Compare.AT_LEAST: Compare.AT_MOST,
    Compare.MORE_THAN: Compare.LESS_THAN,
    Compare.LESS_THAN: Compare.MORE_THAN,
}


def reach(compare: Compare, value: float, upto: float | None = None, *, roughly: float = ROUGHLY) -> Reach:
    """The bounds of a comparison; `roughly` is the factor that "about" allows."""
    match compare:
        case Compare.BETWEEN:
            low, high = sorted((value, value if upto is None else upto))
            return Reach(compare, low, high, low * (1 - SLACK), high * (1 + SLACK))
        case Compare.AT_LEAST:
            return Reach(compare, value, None, value * (1 - SLACK), None)
        case Compare.MORE_THAN:
            return Reach(compare, value, None, value * (1 + SLACK), None)
        case Compare.AT_MOST:
            return Reach(compare, value, None, None, value * (1 + SLACK))
        case Compare.LESS_THAN:
            return Reach(compare, value, None, None, value * (1 - SLACK))
        case Compare.ABOUT:
            return Reach(compare, value, None, value / roughly, value * roughly)
    return Reach(compare, value, None, value * (1 - SLACK), value * (1 + SLACK))


def reaches_of(
    found: re.Match[str],
    plainly: Compare,
    scale: Callable[[float], float] = float,
    *,
    opening: bool = False,
    roughly: float = ROUGHLY,
) -> tuple[Reach, ...]:
    """The reaches of a match of `pattern_of`; none where a number is none."""
    parts = found.groupdict()
    if parts.get("a"):
        return (reach(Compare.BETWEEN, scale(value_of(parts["a"])), scale(value_of(parts["b"]))),)
    value = scale(value_of(parts["number"]))
    if value <= 0.0:
        return ()
    compare = compared(found, plainly, opening=opening)
    if parts.get("second"):
        second = scale(value_of(parts["second"]))
        if parts["join"] == "or":
            return (reach(compare, value, roughly=roughly), reach(compare, second, roughly=roughly))
        return (reach(Compare.BETWEEN, value, second),)
    return (reach(compare, value, roughly=roughly),)

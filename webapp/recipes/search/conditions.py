"""What a question states about the record, read out of its text: numbers with their comparison, ranges, days and seasons,
ratios, techniques, what is on the lights, and what is not to be there. Pure.

"More than two lights", "f/16 or smaller", "between 50 and 100 J", "fill two stops under the key", "without softbox",
"head B at its lowest power", "winter 2025" and "dark-field or bright-field" are conditions: they are met or not, and
what does not meet them is never found. Each knows its place in the question, so that it can be taken out again. An "or"
between two of one kind makes one condition that either will do for.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from webapp.optics.scales import Quantity, read_value
from webapp.recipes.search import techniques

LONGEST_STATED: Final = 1_000
"""So many characters of a question are read for what it states; what comes after them is words."""
_LOOKS_BACK: Final = 80
TAKEN: Final = "\x00"
"""What stands in the text where something was read out of it."""


class About(StrEnum):
    """What a condition is about."""

    LIGHTS = "lights"
    APERTURE = "aperture"
    SHUTTER = "shutter"
    ISO = "ISO"
    FOCAL_LENGTH = "focal length"
    MAGNIFICATION = "magnification"
    FIELD = "field"
    ENERGY = "energy"
    DISTANCE = "distance"
    POWER = "power"
    SIZE = "size of the light"
    STACK = "frames in the stack"
    RATIO = "key to fill"
    ROOM = "room"
    MEASURED = "measured"
    UNKNOWNS = "open unknowns"
    DAY = "day"
    SEASON = "season"
    TECHNIQUE = "technique"
    MODIFIER = "modifier"
    KIND = "kind of light"
    ROLE = "role"
    LETTER = "light"
    DIAL = "dial"
    FORMAT = "format"
    UNKNOWN = "not measured"
    WORD = "word"
    # of frames alone
    PURPOSE = "frame for"
    VERDICT = "verdict"
    STATE = "frame"
    UNEXPLAINED = "unexplained difference"
    NUMBER = "frame number"


class Compare(StrEnum):
    """How a number is compared."""

    EXACTLY = "exactly"
    ABOUT = "about"
    AT_LEAST = "at least"
    MORE_THAN = "more than"
    AT_MOST = "at most"
    LESS_THAN = "less than"
    BETWEEN = "between"


Bound = float | dt.date | None


@dataclass(frozen=True, slots=True)
class Reach:
    """A number with its comparison, in the unit of the record; `upto` is the other end of a range. `low` and `high` are
    what the record may have, both included, None where it is open."""

    compare: Compare
    value: float | dt.date
    upto: float | dt.date | None = None
    low: Bound = None
    high: Bound = None


@dataclass(frozen=True, slots=True)
class Condition:
    """One statement: `reaches`, any of which will do, or `marks` (facet and value), any of which will do. `of` says
    which light it is about: ("letter", "C"), ("role", "key"), ("kind", "ring light") or ("any", ""). `words` is the
    full text's way of asking for a word that must not be there. `start` and `end` are its place in the question."""

    about: About
    said: str
    start: int
    end: int
    reaches: tuple[Reach, ...] = ()
    marks: tuple[tuple[str, str], ...] = ()
    of: tuple[str, str] | None = None
    negated: bool = False
    words: str = ""

    @property
    def roughly(self) -> float | None:
        """The middle of what was meant roughly: what lies nearer to it answers better."""
        value = self.reaches[0].value if len(self.reaches) == 1 and self.reaches[0].compare is Compare.ABOUT else None
        return value if isinstance(value, float | int) and not self.negated else None


ROUGHLY: Final = 1.26
"""A magnification or a length that is named without "under" or "over" is meant roughly; an f-number is a mark."""
_SAME_MARK_STOPS: Final = 1.0 / 6.0
_STOPS_ABOUT: Final = 0.2
_SLACK: Final = 1e-6
_MOST: Final = 24

# --- words for numbers and comparisons --------------------------------------------------------------------------------

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
_FIGURES: Final = rf"{_APART}\d{{1,6}}(?:[.,]\d{{1,4}})?"
_COUNT: Final = rf"(?:{_FIGURES}|\b(?:{'|'.join(sorted(_WORDS_FOR, key=len, reverse=True))})\b)"
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
_BEFORE: Final = (
    r"(?:(?<![\w-])(?P<no>not|except|other than|but not|anything but)\s+(?:at\s+|with\s+)?)?"
    rf"(?:(?<![\w-])(?P<compare>{_SAID_BEFORE})\s*)?"
)
_DOWN: Final = "smaller|less|below|under|closer|nearer|fewer|shorter|faster|lower|narrower"
_UP: Final = "larger|more|above|over|greater|bigger|wider|higher|longer|slower|further|up"
_AFTER: Final = rf"(?:\s*(?:(?:or|and)\s+(?:(?P<down>{_DOWN})|(?P<up>{_UP}))(?!\s+than)\b|(?P<plus>\+)))?"
_OPEN: Final = rf"(?:\s*(?:(?:or|and)\s+(?:(?P<down0>{_DOWN})|(?P<up0>{_UP}))\b|(?P<plus0>\+)))?"
_JOINED: Final = r"\s*(?P<join>to|through|-|–|or)\s*"


def _figure(unit: str, *, prefix: str = "", number: str = _FIGURES, tail: str = "") -> re.Pattern[str]:
    """A number with a unit after it (or `prefix` before it), compared, or as a range or two that will do."""
    # What a prefix ends on ("f/") may stand before a number.
    number = number.replace(_APART, "") if prefix else number
    again = f"(?:{prefix})?" if prefix else ""
    inner = re.sub(r"\(\?P<\w+>", "(?:", unit)
    between = rf"between\s+{prefix}(?P<a>{number})(?:{inner})?\s+and\s+{again}(?P<b>{number})"
    second = rf"(?:(?:{inner})?{_JOINED}{again}(?P<second>{number}))?"
    return re.compile(rf"{_BEFORE}(?:{between}|{prefix}(?P<number>{number}){_OPEN}{second}){unit}{_AFTER}{tail}")


def _value(text: str) -> float:
    """A number as it is written, in figures or in a word."""
    said = text.strip()
    return _WORDS_FOR[said] if said in _WORDS_FOR else float(said.replace(",", "."))


def _compare(found: re.Match[str], plainly: Compare, *, opening: bool = False) -> Compare:
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
            return Reach(compare, low, high, low * (1 - _SLACK), high * (1 + _SLACK))
        case Compare.AT_LEAST:
            return Reach(compare, value, None, value * (1 - _SLACK), None)
        case Compare.MORE_THAN:
            return Reach(compare, value, None, value * (1 + _SLACK), None)
        case Compare.AT_MOST:
            return Reach(compare, value, None, None, value * (1 + _SLACK))
        case Compare.LESS_THAN:
            return Reach(compare, value, None, None, value * (1 - _SLACK))
        case Compare.ABOUT:
            return Reach(compare, value, None, value / roughly, value * roughly)
    return Reach(compare, value, None, value * (1 - _SLACK), value * (1 + _SLACK))


def _reaches(
    found: re.Match[str],
    plainly: Compare,
    scale: Callable[[float], float] = float,
    *,
    opening: bool = False,
    roughly: float = ROUGHLY,
) -> tuple[Reach, ...]:
    """The reaches of a match of `_figure`; none where a number is none."""
    parts = found.groupdict()
    if parts.get("a"):
        return (reach(Compare.BETWEEN, scale(_value(parts["a"])), scale(_value(parts["b"]))),)
    value = scale(_value(parts["number"]))
    if value <= 0.0:
        return ()
    compare = _compare(found, plainly, opening=opening)
    if parts.get("second"):
        second = scale(_value(parts["second"]))
        if parts["join"] == "or":
            return (reach(compare, value, roughly=roughly), reach(compare, second, roughly=roughly))
        return (reach(Compare.BETWEEN, value, second),)
    return (reach(compare, value, roughly=roughly),)


# --- the text, and what is taken out of it ----------------------------------------------------------------------------


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
        since = max(0, start - _LOOKS_BACK)
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


# --- numbers ----------------------------------------------------------------------------------------------------------

_F_NUMBER: Final = _figure(r"(?![\w.])", prefix=r"\bf\s*/?\s*")
_ISO: Final = _figure("", prefix=r"\b(?:iso|asa)\s*")
_ISO_AFTER: Final = _figure(r"\s*iso\b")
_ENERGY: Final = _figure(r"\s*(?:joules?|j|ws|watt ?seconds?)\b")
_STACK: Final = _figure(r"[\s-]*(?:frames|pictures|slices|images)\b", number=_COUNT)
_LIGHTS: Final = _figure(
    r"[\s-]*(?:light sources?|flash heads?|lights?|heads?|strobes?|lamps?)\b(?!\s+(?:is |was )?(?:at|on) (?:full|its|the|min|max|low|1/))",
    number=_COUNT,
)
_LENGTH_UNIT: Final = r"\s*(?P<unit>mm\b|cm\b|m\b|metres?\b|meters?\b|centimet(?:re|er)s?\b|inch(?:es)?\b|in\b(?! (?:an?|the|my)\b)|feet\b|foot\b|ft\b|\")"
_LENGTH: Final = re.compile(
    rf"{_BEFORE}(?:between\s+(?P<a>{_FIGURES})(?:\s*(?:mm|cm|m|in|ft))?\s+and\s+(?P<b>{_FIGURES})"
    rf"|(?P<number>{_FIGURES})(?:(?:\s*(?:mm|cm|m|in|ft))?{_JOINED}(?P<second>{_FIGURES}))?){_LENGTH_UNIT}{_AFTER}"
    r"(?P<lens>\s+(?:macro\s+|prime\s+|tele\w*\s+)?(?:lens|macro|prime|focal length))?"
)
_LENGTHS_MM: Final = {
    "mm": 1.0,
    "cm": 10.0,
    "ce": 10.0,
    "m": 1000.0,
    "me": 1000.0,
    "in": 25.4,
    "fe": 304.8,
    "fo": 304.8,
    "ft": 304.8,
    '"': 25.4,
}
_COMMON_FOCAL_MM: Final = frozenset(
    {
        8,
        10,
        12,
        14,
        15,
        16,
        18,
        20,
        21,
        24,
        25,
        28,
        30,
        32,
        35,
        40,
        45,
        50,
        55,
        58,
        60,
        63,
        65,
        70,
        75,
        80,
        85,
        90,
        100,
    }
    | {105, 110, 120, 135, 150, 180, 200, 210, 240, 250, 300, 360, 400, 500, 600, 800}
)
_LENS_BEFORE: Final = re.compile(r"(?:focal length(?: of)?|lens(?: of)?)\s+$")
_PLACE_BEFORE: Final = re.compile(
    r"\b(?:distance|away|placed|stands?|standing|hung|held|lights?|lamp|flash|head|ring|softbox|snoot|key|fill)"
    r"(?:\s+(?:at|is|of|from))*\s+$"
)
_PLACE_AFTER: Final = re.compile(r"^\s*(?:away|from|off|distance|between)\b")
_WIDE_AFTER: Final = re.compile(
    r"^\s*(?:wide|across|tall|high|long|deep|thick|square|sensor|filters?|thread|depth)\b"
)
_FIELD_BEFORE: Final = re.compile(r"\bfield(?: of view)?(?: width)?(?: of| is)?\s+$")
_FIELD_AFTER: Final = re.compile(r"^\s*(?:wide\s+)?field\b")
_ROOM_BEFORE: Final = re.compile(r"\b(?:room|space|studio|corner)(?: of| is)?\s+$")
_ROOM_AFTER: Final = re.compile(r"^\s*(?:of )?(?:room|space|studio|corner)\b")
_ROOM: Final = re.compile(
    rf"(?:(?<!\w)(?P<fits>fits?(?: in(?:to)?)?|works? in|in)\s+)?(?:an?\s+)?(?P<long>{_COUNT})\s*(?:m|metres?|meters?)?\s*(?:x|×|by)\s*(?P<short>{_COUNT})\s*"
    r"(?:m|metres?|meters?)\b(?:\s*(?:space|room|corner|studio|square))?"
)
_SIZED: Final = re.compile(
    r"^\s*(?:softbox(?:es)?|soft boxe?s?|octa\w*|umbrellas?|strips?|scrims?|panels?|reflectors?|dish(?:es)?|discs?|tents?)\b"
)
_RATIO_NAMES: Final = r"(?:key[- ](?:to|and|:)[- ]?fill|lighting(?: ratio)?|ratios?|contrast)(?: ratio)?(?: of| is)?"
_RATIO: Final = (
    _figure(r"\s*(?::|to)\s*(?:1|one)(?![\w.:])", prefix=rf"(?:{_RATIO_NAMES})\s*", number=_COUNT),
    re.compile(rf"(?:{_RATIO_NAMES})\s*{_BEFORE}(?P<number>{_COUNT})\s*(?::|to)\s*(?:1|one)(?![\w.:]){_AFTER}"),
    re.compile(rf"{_BEFORE}(?P<number>{_COUNT})\s*(?::|to)\s*(?:1|one){_AFTER}\s*(?:{_RATIO_NAMES})"),
)
_RATIO_STOPS: Final = (
    re.compile(
        rf"\bfill(?: light)?(?: is| lies)?\s+{_BEFORE}(?P<number>{_COUNT})\s*stops?{_AFTER}\s*(?:under|below|down|less|darker)"
        r"(?:\s+(?:than\s+)?(?:the\s+)?key)?"
    ),
    re.compile(rf"(?:{_RATIO_NAMES})\s*{_BEFORE}(?P<number>{_COUNT})\s*stops?{_AFTER}"),
    re.compile(rf"{_BEFORE}(?P<number>{_COUNT})\s*stops?{_AFTER}\s+(?:between\s+)?key[- ](?:to|and)[- ]fill"),
)
_SCALE: Final = r"(?:\d{1,3}(?:[.,]\d{1,4})?)\s*:\s*(?:\d{1,4}(?:[.,]\d{1,4})?)"
_SCALES: Final = re.compile(
    rf"{_BEFORE}(?:between\s+(?P<a>{_SCALE})\s+and\s+(?P<b>{_SCALE})"
    rf"|(?<![\d.:/])(?P<number>{_SCALE})(?:\s*(?P<join>to|or|-|–)\s*(?P<second>{_SCALE}))?)(?![\d:]){_AFTER}"
)
_TIMES: Final = _figure(r"\s*(?:[x×](?!\s*\d|\w)|times life[ -]?size)", number=_COUNT)
_LIFE_SIZE: Final = re.compile(rf"{_BEFORE}(?<!\w)(?:(?P<part>half|twice|double)\s+)?life[ -]?size\b{_AFTER}")
_PARTS: Final = {"half": 0.5, "twice": 2.0, "double": 2.0, None: 1.0}
_SECONDS: Final = _figure(
    r"\s*(?P<unit>s|secs?|seconds?|minutes?)\b",
    number=rf"(?:{_COUNT}|\ban?\b)",
    tail=r"(?:\s+(?:exposures?|shutter))?",
)
_PART_OF_SECOND: Final = re.compile(
    rf"(?P<named>(?<!\w)(?:shutter|exposures?)(?: speed)?(?: of| at| is)?\s+)?{_BEFORE}(?<![\d/.])1/(?P<below>\d{{1,5}})(?![\d/.])"
    rf"(?P<unit>\s*(?:s|secs?|seconds?|th)\b)?{_AFTER}"
)
_POWERS_OF_TWO: Final = frozenset(2**step for step in range(1, 11))
_POWER: Final = re.compile(
    rf"{_BEFORE}(?:1/(?P<below>\d{{1,4}})|(?P<part>half|quarter|a quarter|eighth))(?P<power>\s+(?:of (?:full )?)?power)?(?![\w/.:]){_AFTER}"
)
_POWER_PARTS: Final = {"half": 2, "quarter": 4, "a quarter": 4, "eighth": 8}
_MEASURED: Final = _figure(r"\s*(?:%|per ?cent)\s*(?:measured|known|complete)")
_OF_LIGHT: Final = re.compile(
    r"(?<![\w-])(?:(?P<every>each|every|all)(?: of the)? (?:light|head)s?|(?P<any>an?|any|one|some|no) (?:light|head|flash)"
    rf"|(?:the )?(?P<role>{'|'.join(techniques.ROLES)})(?: light| head)?(?: (?P<named>[a-z]))?|(?:the )?(?P<ring>ring)(?: light| flash)?"
    r"|(?:the )?(?:light|head|lamp) (?P<letter>[a-z]))"
    r"(?:\s+(?:is|was|at|of|set|to|stands?|placed|with|on|takes))*\s+$"
)


def _f_number(found: re.Match[str]) -> tuple[Reach, ...]:
    def exact(value: float) -> float:
        return read_value(Quantity.F_NUMBER, value).exact

    try:
        said = _reaches(found, Compare.EXACTLY, exact, opening=True)
    except ValueError:
        return ()
    # A mark stands for what lies within a sixth of a stop of it.
    edge = 2.0 ** (_SAME_MARK_STOPS / 2)
    return tuple(_widened(each, edge) for each in said)


def _widened(said: Reach, edge: float) -> Reach:
    low = said.low if said.low is None or said.compare is Compare.MORE_THAN else _times(said.low, 1 / edge)
    high = said.high if said.high is None or said.compare is Compare.LESS_THAN else _times(said.high, edge)
    if said.compare is Compare.MORE_THAN:
        low = _times(said.low, edge)
    if said.compare is Compare.LESS_THAN:
        high = _times(said.high, 1 / edge)
    return replace(said, low=low, high=high)


def _times(bound: Bound, factor: float) -> float | None:
    return bound * factor if isinstance(bound, float | int) else None


def _of(text: Text, start: int) -> tuple[tuple[str, str] | None, int]:
    """Which light the number is about that starts here, and where that is said."""
    since, before = text.before(start)
    found = _OF_LIGHT.search(before)
    if found is None:
        return None, start
    parts = found.groupdict()
    place = since + found.start()
    if parts["letter"] or parts["named"]:
        return ("letter", (parts["letter"] or parts["named"]).upper()), place
    if parts["role"]:
        return ("role", _role(parts["role"])), place
    if parts["ring"]:
        return ("kind", "ring light"), place
    if parts["any"] == "no":
        return ("none", ""), place
    return ("every", "") if parts["every"] else ("any", ""), place


def _number(
    text: Text,
    about: About,
    found: re.Match[str],
    reaches: tuple[Reach, ...],
    *,
    of: tuple[str, str] | None = None,
    start: int | None = None,
) -> Condition | None:
    if not reaches:
        return None
    begin = found.start() if start is None else start
    negated = bool(found.groupdict().get("no"))
    if of == ("none", ""):
        of, negated = ("any", ""), not negated
    elif of == ("every", ""):
        # What every light has, no light has otherwise.
        turned = tuple(_turned(each) for each in reaches)
        if all(each is not None for each in turned):
            return Condition(
                about, "", begin, found.end(), tuple(each for each in turned if each), of=("any", ""), negated=True
            )
        of = ("any", "")
    return Condition(about, "", begin, found.end(), reaches, of=of, negated=negated)


def _turned(said: Reach) -> Reach | None:
    other = {
        Compare.AT_MOST: Compare.MORE_THAN,
        Compare.LESS_THAN: Compare.AT_LEAST,
        Compare.AT_LEAST: Compare.LESS_THAN,
        Compare.MORE_THAN: Compare.AT_MOST,
    }.get(said.compare)
    return reach(other, said.value) if other and isinstance(said.value, float | int) else None


_ANY_NUMBER: Final = re.compile(rf"\d|{_COUNT}|life[ -]?size|\b(?:half|quarter|eighth|seconds?|minute)\b")


def _read_numbers(text: Text) -> None:
    each = text.each
    if not _ANY_NUMBER.search(text.rest):
        return
    each(_ROOM, lambda found: _room(found))
    for pattern in _RATIO_STOPS:
        each(pattern, lambda found: _number(text, About.RATIO, found, _stops_reaches(found, float)))
    for pattern in _RATIO:
        each(pattern, lambda found: _number(text, About.RATIO, found, _ratio_reaches(found)))
    each(_F_NUMBER, lambda found: _number(text, About.APERTURE, found, _f_number(found)))
    for pattern in (_ISO, _ISO_AFTER):
        each(pattern, lambda found: _number(text, About.ISO, found, _iso(found)))
    each(_ENERGY, lambda found: _energy(text, found))
    each(_MEASURED, lambda found: _number(text, About.MEASURED, found, _reaches(found, Compare.AT_LEAST)))
    each(_STACK, lambda found: _number(text, About.STACK, found, _reaches(found, Compare.EXACTLY)))
    each(_PART_OF_SECOND, lambda found: _part_of_second(text, found))
    each(_POWER, lambda found: _power(text, found))
    each(_SECONDS, lambda found: _number(text, About.SHUTTER, found, _seconds(found)))
    each(_LENGTH, lambda found: _length(text, found))
    each(_SCALES, lambda found: _number(text, About.MAGNIFICATION, found, _scales(found)))
    each(_TIMES, lambda found: _number(text, About.MAGNIFICATION, found, _reaches(found, Compare.ABOUT)))
    each(_LIFE_SIZE, lambda found: _number(text, About.MAGNIFICATION, found, _life_size(found)))
    for name, family in techniques.FAMILIES.items():
        each(_counted(family), lambda found, name=name: _family_count(found, name))  # type: ignore[misc]
    each(_LIGHTS, lambda found: _number(text, About.LIGHTS, found, _reaches(found, Compare.EXACTLY)))


def _room(found: re.Match[str]) -> Condition | None:
    sides = sorted(1000.0 * _value(found.group(name)) for name in ("long", "short"))
    if sides[1] > 100_000.0 or sides[0] <= 0.0:
        return None
    reaches = (reach(Compare.AT_MOST, sides[1]), reach(Compare.AT_MOST, sides[0]))
    return Condition(About.ROOM, "", found.start(), found.end(), reaches)


def _ratio_reaches(found: re.Match[str]) -> tuple[Reach, ...]:
    """A ratio in both conventions: key to fill, and key and fill together to fill alone."""
    number = _value(found.groupdict().get("number") or found.group("a"))
    if number < 1.0:
        return ()
    compare = _compare(found, Compare.ABOUT)
    said = _stops_reach(compare, math.log2(number))
    if compare is not Compare.ABOUT or number <= 1.0 + _SLACK:
        return (said,)
    together = math.log2(number - 1.0)
    return (said, _stops_reach(compare, together)) if together >= 0.0 else (said,)


def _stops_reaches(found: re.Match[str], scale: Callable[[float], float]) -> tuple[Reach, ...]:
    return (_stops_reach(_compare(found, Compare.ABOUT), scale(_value(found.group("number")))),)


def _stops_reach(compare: Compare, stops: float) -> Reach:
    match compare:
        case Compare.ABOUT | Compare.EXACTLY | Compare.BETWEEN:
            return Reach(Compare.ABOUT, stops, None, stops - _STOPS_ABOUT, stops + _STOPS_ABOUT)
        case Compare.AT_LEAST:
            return Reach(compare, stops, None, stops - _SLACK, None)
        case Compare.MORE_THAN:
            return Reach(compare, stops, None, stops + _SLACK, None)
        case Compare.AT_MOST:
            return Reach(compare, stops, None, None, stops + _SLACK)
    return Reach(compare, stops, None, None, stops - _SLACK)


def _iso(found: re.Match[str]) -> tuple[Reach, ...]:
    return tuple(_widened(each, 2.0**_SAME_MARK_STOPS) for each in _reaches(found, Compare.EXACTLY))


def _energy(text: Text, found: re.Match[str]) -> Condition | None:
    of, start = _of(text, found.start())
    return _number(text, About.ENERGY, found, _reaches(found, Compare.ABOUT, roughly=1.1), of=of, start=start)


def _seconds(found: re.Match[str]) -> tuple[Reach, ...]:
    parts = found.groupdict()
    if (parts["number"] or "") in ("a", "an"):
        return (reach(_compare(found, Compare.ABOUT), 60.0 if parts["unit"].startswith("m") else 1.0, roughly=1.13),)
    scale = 60.0 if parts["unit"].startswith("m") else 1.0
    return _reaches(found, Compare.ABOUT, lambda value: value * scale, roughly=1.13)


def _part_of_second(text: Text, found: re.Match[str]) -> Condition | None:
    below = int(found.group("below"))
    named = found.group("named") or found.group("unit")
    if not below or not (named or (below >= 10 and below not in _POWERS_OF_TWO)):
        return None
    exact = read_value(Quantity.SHUTTER, 1.0 / below).exact
    said = reach(_compare(found, Compare.EXACTLY), exact)
    return _number(text, About.SHUTTER, found, (_widened(said, 2.0**_SAME_MARK_STOPS),))


def _power(text: Text, found: re.Match[str]) -> Condition | None:
    below = found.group("below")
    part = int(below) if below else _POWER_PARTS[found.group("part")]
    of, start = _of(text, found.start())
    meant = found.group("power") or (of is not None and below) or (below and part >= 16)
    if part not in _POWERS_OF_TWO or not meant:
        return None
    stops = -math.log2(part)
    compare = _compare(found, Compare.ABOUT)
    return _number(text, About.POWER, found, (_stops_reach(compare, stops),), of=of or ("any", ""), start=start)


def _length(text: Text, found: re.Match[str]) -> Condition | None:
    """A length is a focal length, a distance of a light, the field, the room, or the size of a light, by what stands
    beside it; where nothing tells, it stays among the words."""
    unit = found.group("unit")
    scale = _LENGTHS_MM[unit if unit in _LENGTHS_MM else unit[:2] if unit[:2] in _LENGTHS_MM else unit[0]]
    since, before = text.before(found.start())
    after = text.rest[found.end() : found.end() + _LOOKS_BACK]
    reaches = _reaches(found, Compare.ABOUT, lambda value: value * scale)
    if found.group("lens") or _LENS_BEFORE.search(before):
        named = _LENS_BEFORE.search(before)
        return _number(
            text, About.FOCAL_LENGTH, found, _focal(reaches), start=since + named.start() if named else None
        )
    if _SIZED.match(after):
        return _number(text, About.SIZE, found, reaches, of=("any", ""))
    if (named := _FIELD_BEFORE.search(before)) or _FIELD_AFTER.match(after):
        return _number(text, About.FIELD, found, reaches, start=since + named.start() if named else None)
    if (named := _ROOM_BEFORE.search(before)) or _ROOM_AFTER.match(after):
        most = tuple(each if each.compare is not Compare.ABOUT else _at_most(each) for each in reaches)
        return _number(text, About.ROOM, found, most, start=since + named.start() if named else None)
    if _WIDE_AFTER.match(after):
        return None
    of, start = _of(text, found.start())
    values = [each.value for each in reaches]
    placed = of is not None or _PLACE_BEFORE.search(before) or _PLACE_AFTER.match(after)
    if unit == "mm" and not placed:
        if all(value in _COMMON_FOCAL_MM for value in values):
            return _number(text, About.FOCAL_LENGTH, found, _focal(reaches))
        if not found.group("compare"):
            return None
    return _number(text, About.DISTANCE, found, reaches, of=of, start=start)


def _focal(reaches: Sequence[Reach]) -> tuple[Reach, ...]:
    """A focal length is the one on the lens."""
    exact = Compare.EXACTLY
    return tuple(
        reach(exact, each.value) if each.compare is Compare.ABOUT and isinstance(each.value, float | int) else each
        for each in reaches
    )


def _at_most(said: Reach) -> Reach:
    return reach(Compare.AT_MOST, said.value) if isinstance(said.value, float | int) else said


def _scales(found: re.Match[str]) -> tuple[Reach, ...]:
    def scale(said: str) -> float:
        above, below = (float(each.replace(",", ".")) for each in said.split(":"))
        return above / below if below else 0.0

    parts = found.groupdict()
    if parts["a"]:
        return (reach(Compare.BETWEEN, scale(parts["a"]), scale(parts["b"])),)
    compare, value = _compare(found, Compare.ABOUT), scale(parts["number"])
    if value <= 0.0:
        return ()
    if parts["second"]:
        second = scale(parts["second"])
        if parts["join"] == "or":
            return (reach(compare, value), reach(compare, second))
        return (reach(Compare.BETWEEN, value, second),)
    return (reach(compare, value),)


def _life_size(found: re.Match[str]) -> tuple[Reach, ...]:
    return (reach(_compare(found, Compare.ABOUT), _PARTS[found.group("part")]),)


def _counted(family: re.Pattern[str]) -> re.Pattern[str]:
    return _figure(rf"\s+{family.pattern}", number=_COUNT)


_MOST_COUNTED: Final = 12


def _family_count(found: re.Match[str], name: str) -> Condition | None:
    """So many lights with a softbox, by the marks that say how many a recipe has."""
    said = _reaches(found, Compare.EXACTLY)
    if not said:
        return None
    counts = [n for n in range(1, _MOST_COUNTED + 1) if any(_meets(n, each) for each in said)]
    marks = tuple((COUNTED, f"{n} {name}") for n in counts)
    negated = bool(found.group("no"))
    return Condition(About.MODIFIER, "", found.start(), found.end(), said, marks, negated=negated) if marks else None


def _meets(number: float, said: Reach) -> bool:
    low = said.low if isinstance(said.low, float | int) else -math.inf
    high = said.high if isinstance(said.high, float | int) else math.inf
    return low <= number <= high


# --- days -------------------------------------------------------------------------------------------------------------

MONTHS: Final = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
SEASONS: Final = ("winter", "spring", "summer", "autumn")
"""Of the northern half, by whole months: winter is December to February (as meteorologists have it)."""
_MONTH: Final = "|".join(MONTHS)
_YEAR: Final = r"(?<![/.:\d])(?<!iso )(?<!iso)(?:19|20)\d\d\b(?!\s*(?:j|ws|mm|cm|k|s)\b)(?![\d.,/:])"
_DAYS: Final = re.compile(
    rf"(?:(?<!\w)(?P<no>not|except)\s+)?(?:(?<!\w)(?P<compare>before|until|since|after|from|up to)\s+)?(?:(?<!\w)(?:in|of|made|during)\s+)*"
    rf"(?:(?P<month>{_MONTH})\s+)?(?P<year>{_YEAR})(?:\s*(?P<join>to|-|–|or|until)\s*(?:(?P<last_month>{_MONTH})\s+)?(?P<second>{_YEAR}))?"
    r"(?P<on>\s+(?:or|and) (?:later|after))?"
)
_THIS_YEAR: Final = re.compile(r"(?<!\w)(?P<which>this|last) year\b")
_ONE_MONTH: Final = re.compile(rf"(?<!\w)(?:in|during|every)\s+(?P<month>{_MONTH})\b")
_SEASON: Final = re.compile(
    r"(?:(?<!\w)(?:in|during|of|last|this|made in)\s+(?:the\s+)?(?P<led>winter|spring|summer|autumn|fall)\b"
    rf"|(?<!\w)(?P<free>winter|summer|autumn)\b|(?<!\w)(?P<dated>spring|fall)(?=\s+(?:\x00|{_YEAR})))"
)


def season_of(month: int) -> str:
    """The season of a month of the year, from 1."""
    return SEASONS[month % 12 // 3]


def _read_days(text: Text, today: dt.date) -> None:
    text.each(_DAYS, _days)

    def one_year(found: re.Match[str]) -> Condition:
        year = today.year - (found.group("which") == "last")
        return _day_range(found, dt.date(year, 1, 1), dt.date(year, 12, 31))

    text.each(_THIS_YEAR, one_year)
    text.each(
        _ONE_MONTH,
        lambda found: Condition(
            About.SEASON, "", found.start(), found.end(), marks=(("month", found.group("month")),)
        ),
    )

    def season(found: re.Match[str]) -> Condition:
        said = found.group("led") or found.group("free") or found.group("dated")
        name = "autumn" if said == "fall" else said
        denied = denied_from(text, found.start())
        start = found.start() if denied is None else denied
        return Condition(About.SEASON, "", start, found.end(), marks=(("season", name),), negated=denied is not None)

    text.each(_SEASON, season)


def _day_range(found: re.Match[str], low: dt.date | None, high: dt.date | None) -> Condition:
    compare = Compare.BETWEEN if low and high else Compare.AT_LEAST if low else Compare.AT_MOST
    value = low or high
    assert value is not None
    said = Reach(compare, value, high if low and high else None, low, high)
    negated = bool(found.groupdict().get("no"))
    return Condition(About.DAY, "", found.start(), found.end(), (said,), negated=negated)


def _days(found: re.Match[str]) -> Condition:
    """A year, a month of one, or years from one to another."""
    first, last = _year_or_month(found.group("year"), found.group("month"))
    compare = found.group("compare")
    if found.group("second"):
        low, high = _year_or_month(found.group("second"), found.group("last_month"))
        if found.group("join") == "or":
            spans = ((first, last), (low, high))
            reaches = tuple(Reach(Compare.BETWEEN, one, other, one, other) for one, other in spans)
            return Condition(About.DAY, "", found.start(), found.end(), reaches, negated=bool(found.group("no")))
        return _day_range(found, first, high)
    one_day = dt.timedelta(days=1)
    match compare:
        case "before":
            return _day_range(found, None, first - one_day)
        case "until" | "up to":
            return _day_range(found, None, last)
        case "after":
            return _day_range(found, last + one_day, None)
        case "since" | "from":
            return _day_range(found, first, None)
    return _day_range(found, first, None if found.group("on") else last)


def _year_or_month(year: str, month: str | None) -> tuple[dt.date, dt.date]:
    at = int(year)
    if month is None:
        return dt.date(at, 1, 1), dt.date(at, 12, 31)
    number = MONTHS.index(month) + 1
    after = dt.date(at + (number == 12), number % 12 + 1, 1)
    return dt.date(at, number, 1), after - dt.timedelta(days=1)


# --- what is marked ---------------------------------------------------------------------------------------------------

COUNTED: Final = "so many"
"""The facet whose values say how many lights have a modifier of a family: "2 softbox"."""
_KIND_MARK: Final = "light"
_FORMAT_WORDS: Final = (
    (re.compile(r"(?<!\w)medium[ -]format\b"), ("medium format",)),
    (re.compile(r"(?<!\w)(?:full[ -]frame|35 ?mm format|small[ -]format)\b"), ("full frame",)),
    (re.compile(r"(?<!\w)(?:aps[ -]?c|crop(?:ped)?[ -]sensor)\b"), ("APS-C",)),
    (re.compile(r"(?<!\w)small(?:er)? sensors?\b"), ("APS-C", "small sensor")),
)
_CONTINUOUS: Final = re.compile(
    r"(?<!\w)(?:continuous(?: lights?| lighting)?|hot lights?|led (?:lights?|panels?))(?!\w)"
)
# These are asked for in so many other senses that they only count as a kind of light where they are denied.
_ONLY_DENIED: Final = (
    (
        re.compile(r"(?<!\w)(?:flash(?:es)?|strobes?)(?! \w*pow)(?!\w)"),
        About.KIND,
        ((_KIND_MARK, "flash head"), (_KIND_MARK, "ring light")),
    ),
    (re.compile(r"(?<!\w)rings?(?!\w)"), About.TECHNIQUE, (("technique", "ring light"),)),
    (re.compile(r"(?<!\w)grids?(?!\w)"), About.MODIFIER, (("family", "grid spot"),)),
    (re.compile(rf"(?<!\w)(?P<role>{'|'.join(techniques.ROLES)})(?!\w)"), About.ROLE, ()),
)
_ROLE_LIGHT: Final = re.compile(
    rf"(?<!\w)(?P<role>{'|'.join(techniques.ROLES)}|back ground)[ -]lights?(?: (?P<named>[a-z]))?(?!\w)"
)
_LETTERED: Final = re.compile(r"(?<!\w)(?:[Ll]ights?|[Hh]eads?|[Ll]amps?)\s+(?P<letter>[A-Z])(?![\w'’-])")
_SELECT: Final = (
    rf"(?:(?<![\w-])(?:(?P<any>an?|any|one|some|the)\s+)?(?P<heads>heads?|lights?|flash(?:es)?)(?:\s+(?P<letter>[a-z])(?!\w))?\s+"
    rf"|(?<![\w-])(?:the\s+)?(?P<role>{'|'.join(techniques.ROLES)})(?:\s+light)?\s+"
    r"|(?<![\w-])(?P<bare>[a-z])\s+(?=(?:is|was|at|on)\b))?"
)
_AT_AN_END: Final = re.compile(
    rf"{_SELECT}(?:(?:is|was|stood|stands|were|are|set|at|on|to)\s+)*(?:(?:its|the|their)\s+)?"
    r"(?:(?P<floor>lowest (?:setting|power|step|mark)|minimum(?: power| setting)?|min(?:imum)? power|(?<=its )floor|(?<=at the )floor|(?<=their )floor"
    r"|bottom of (?:its|the|their) (?:dial|range))"
    r"|(?P<ceiling>full power|full blast|highest (?:setting|power)|maximum(?: power| setting)?|max(?:imum)? power|(?<=its )ceiling|(?<=at the )ceiling"
    r"|(?<=their )ceiling|top of (?:its|the|their) (?:dial|range)))(?!\w)"
)
_UNKNOWN_WHAT: Final = r"(?P<what>distance|power|direction|magnification|reading|energy|energie)s?"
_UNKNOWN: Final = (
    re.compile(rf"(?<!\w)(?:unknown|unmeasured|missing)\s+{_UNKNOWN_WHAT}(?!\w)"),
    re.compile(
        rf"(?<!\w){_UNKNOWN_WHAT}\s+(?:is |are |was |were )?(?:unknown|not measured|unmeasured|missing|lost)(?!\w)"
    ),
)
_NOTHING_OPEN: Final = re.compile(
    r"(?<!\w)(?:(?:no|without(?: any)?) (?:open )?unknowns|nothing (?:unknown|open|missing)|fully measured|complete records?)(?!\w)"
)
_SOMETHING_OPEN: Final = re.compile(
    r"(?<!\w)(?:open unknowns?|unknowns|something (?:unknown|open)|anything unknown)(?!\w)"
)


def _read_marks(text: Text) -> None:
    def marked(
        about: About, marks: Iterable[tuple[str, str]], *, only_denied: bool = False
    ) -> Callable[[re.Match[str]], Condition | None]:
        wanted = tuple(marks)

        def read(found: re.Match[str]) -> Condition | None:
            denied = denied_from(text, found.start())
            if only_denied and denied is None:
                return None
            role = found.groupdict().get("role")
            named = wanted or ((("role", _role(role)),) if role else ())
            return Condition(
                about,
                "",
                found.start() if denied is None else denied,
                found.end(),
                marks=named,
                negated=denied is not None,
            )

        return read

    def open_count(compare: Compare) -> Callable[[re.Match[str]], Condition]:
        low, high = (1.0, None) if compare is Compare.AT_LEAST else (None, 0.0)
        said = Reach(compare, 1.0 if low else 0.0, None, low, high)
        return lambda found: Condition(About.UNKNOWNS, "", found.start(), found.end(), (said,))

    text.each(_NOTHING_OPEN, open_count(Compare.EXACTLY))
    for pattern in _UNKNOWN:
        text.each(pattern, lambda found: _unknown(found))
    text.each(_SOMETHING_OPEN, open_count(Compare.AT_LEAST))
    text.each(_AT_AN_END, lambda found: _at_an_end(text, found))
    _read_gels_by_role(text)
    for name, pattern in techniques.TECHNIQUES.items():
        text.each(pattern, marked(About.TECHNIQUE, (("technique", name),)))
    for name, pattern in techniques.FAMILIES.items():
        text.each(pattern, marked(About.MODIFIER, (("family", name),)))
    for pattern, formats in _FORMAT_WORDS:
        text.each(pattern, marked(About.FORMAT, (("format", each) for each in formats)))
    text.each(_CONTINUOUS, marked(About.KIND, ((_KIND_MARK, "continuous light"),)))
    text.each(_ROLE_LIGHT, marked(About.ROLE, ()))
    for pattern, about, marks in _ONLY_DENIED:
        text.each(pattern, marked(about, marks, only_denied=True))
    _read_letters(text)


def _role(said: str) -> str:
    return "background" if said in ("back ground", "backdrop") else "rim" if said == "edge" else said


def _read_gels_by_role(text: Text) -> None:
    """ "A warm gel on the fill" says two things: a gel on the fill, and a warm one."""

    def read(found: re.Match[str]) -> Condition:
        denied = denied_from(text, found.start())
        mark = ("technique", techniques.gel_on(found.group("role")))
        # The colour before it is read by itself.
        start = found.start() if denied is None else denied
        return Condition(About.TECHNIQUE, "", start, found.end(), marks=(mark,), negated=denied is not None)

    text.each(_COLOURED_GEL_ON, lambda found: _coloured(text, found))
    for pattern in techniques.GEL_ON:
        text.each(pattern, read)


_COLOURED_GEL_ON: Final = re.compile(
    r"(?<![\w-])(?:(?P<warm>warm|orange|amber|straw|cto)|(?P<cool>cool|cold|blue|steel|ctb))(?=\s+gel(?:s|led)? (?:on|over|for) )"
)


def _coloured(text: Text, found: re.Match[str]) -> Condition | None:
    if denied_from(text, found.start()) is not None:
        return None
    name = "warm gel" if found.group("warm") else "cool gel"
    return Condition(About.TECHNIQUE, "", found.start(), found.end(), marks=(("technique", name),))


def _unknown(found: re.Match[str]) -> Condition:
    what = found.group("what")
    what = "power" if what.startswith("energ") else what
    mark = ("not measured", "incident reading" if what == "reading" else what)
    return Condition(About.UNKNOWN, "", found.start(), found.end(), marks=(mark,))


def _at_an_end(text: Text, found: re.Match[str]) -> Condition | None:
    parts = found.groupdict()
    end = "floor" if parts["floor"] else "ceiling"
    which = "any"
    if parts["letter"] or parts["bare"]:
        name = "letter" if parts["letter"] else "bare"
        which = text.said[found.start(name)]
        if which.islower() and (name == "bare" or which == "a"):
            which = "any" if name == "letter" else which
        which = which if which == "any" else which.upper()
    elif parts["role"]:
        which = _role(parts["role"])
    denied = denied_from(text, found.start())
    start = found.start() if denied is None else denied
    return Condition(About.DIAL, "", start, found.end(), marks=((end, which),), negated=denied is not None)


def _read_letters(text: Text) -> None:
    for found in _LETTERED.finditer(text.said):
        if TAKEN in text.rest[found.start() : found.end()]:
            continue
        denied = denied_from(text, found.start())
        start = found.start() if denied is None else denied
        said = text.take(start, found.end())
        mark = ("letter", found.group("letter"))
        text.keep(Condition(About.LETTER, said, start, found.end(), marks=(mark,), negated=denied is not None))


# --- what only frames have --------------------------------------------------------------------------------------------

_ASKS_FOR_FRAMES: Final = re.compile(
    r"(?<!\w)(?:(?<!\d )frames?(?! stack)|heroe?s?|hero shots?|(?:ambient )?checks? (?:that )?(?:failed|fail|did not hold)"
    r"|failed (?:ambient )?checks?|ambient checks?|unexplained|taken back)(?!\w)"
)
_COUNTED_FRAMES: Final = re.compile(rf"{_COUNT}[\s-]*(?:frames|pictures)")
_BETWEEN_FRAMES: Final = re.compile(
    r"(?:(?<!\w)(?:what|which)(?: (?:has|was|is))? (?:changed|different|differs?)\s+|(?<!\w)(?:changes?|differences?|compare)\s+)?"
    r"(?<!\w)(?:between|from)?\s*frames?\s+(?P<first>\d{1,7})\s+(?:and|to|with|against)\s+(?:frame\s+)?(?P<second>\d{1,7})(?!\w)"
)
_NUMBERED: Final = re.compile(r"(?<!\w)frames?\s+(?:no\.?\s+|number\s+)?(?P<number>\d{1,7})(?!\w)")
_UNEXPLAINED: Final = re.compile(
    rf"(?<!\w)(?:with\s+)?(?:an\s+)?unexplained(?:\s+differences?)?(?:\s+(?:of\s+)?{_BEFORE}(?P<number>{_FIGURES})\s*stops?{_AFTER})?"
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
    (re.compile(r"(?<!\w)taken back(?!\w)"), About.STATE, ("state", "taken back")),
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


def _read_frames(text: Text) -> None:
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
            said = _stops_reach(_compare(found, Compare.AT_LEAST), _value(found.group("number")))
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


# --- all of it --------------------------------------------------------------------------------------------------------

_EITHER: Final = re.compile(r"^\s*,?\s*or\s+(?:an?\s+|the\s+|with\s+|at\s+|in\s+)*$")
_MARKED_TOGETHER: Final = frozenset(
    {About.TECHNIQUE, About.MODIFIER, About.KIND, About.FORMAT, About.SEASON, About.ROLE, About.LETTER}
)


def read_conditions(question: str, today: dt.date, *, of_frames: bool = False) -> Text:
    """Everything that a question states, and the text with that taken out. `of_frames`: it is asked of frames, and says what
    only they have."""
    text = Text(question)
    if of_frames:
        _read_frames(text)
    _read_days(text, today)
    _read_numbers(text)
    _read_marks(text)
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

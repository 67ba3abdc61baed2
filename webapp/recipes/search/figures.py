"""The numbers that a question states: marks, energies, lengths, ratios, scales, times, powers and counts. Pure."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from webapp.optics.scales import Quantity, read_value
from webapp.recipes.search import techniques
from webapp.recipes.search.comparing import (
    AFTER,
    BEFORE,
    COUNT,
    FIGURES,
    JOINED,
    SAME_MARK_STOPS,
    SLACK,
    STOPS_ABOUT,
    compared,
    pattern_of,
    reach,
    reaches_of,
    value_of,
)
from webapp.recipes.search.marks import COUNTED, role_named
from webapp.recipes.search.question import LOOKS_BACK, Text
from webapp.recipes.search.stated import About, Bound, Compare, Condition, Reach

_F_NUMBER: Final = pattern_of(r"(?![\w.])", prefix=r"\bf\s*/?\s*")
_ISO: Final = pattern_of("", prefix=r"\b(?:iso|asa)\s*")
_ISO_AFTER: Final = pattern_of(r"\s*iso\b")
_ENERGY: Final = pattern_of(r"\s*(?:joules?|j|ws|watt ?seconds?)\b")
_STACK: Final = pattern_of(r"[\s-]*(?:frames|pictures|slices|images)\b", number=COUNT)
_LIGHTS: Final = pattern_of(
    r"[\s-]*(?:light sources?|flash heads?|lights?|heads?|strobes?|lamps?)\b(?!\s+(?:is |was )?(?:at|on) (?:full|its|the|min|max|low|1/))",
    number=COUNT,
)
_LENGTH_UNIT: Final = r"\s*(?P<unit>mm\b|cm\b|m\b|metres?\b|meters?\b|centimet(?:re|er)s?\b|inch(?:es)?\b|in\b(?! (?:an?|the|my)\b)|feet\b|foot\b|ft\b|\")"
_LENGTH: Final = re.compile(
    rf"{BEFORE}(?:between\s+(?P<a>{FIGURES})(?:\s*(?:mm|cm|m|in|ft))?\s+and\s+(?P<b>{FIGURES})"
    rf"|(?P<number>{FIGURES})(?:(?:\s*(?:mm|cm|m|in|ft))?{JOINED}(?P<second>{FIGURES}))?){_LENGTH_UNIT}{AFTER}"
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
    rf"(?:(?<!\w)(?P<fits>fits?(?: in(?:to)?)?|works? in|in)\s+)?(?:an?\s+)?(?P<long>{COUNT})\s*(?:m|metres?|meters?)?\s*(?:x|×|by)\s*(?P<short>{COUNT})\s*"
    r"(?:m|metres?|meters?)\b(?:\s*(?:space|room|corner|studio|square))?"
)
_SIZED: Final = re.compile(
    r"^\s*(?:softbox(?:es)?|soft boxe?s?|octa\w*|umbrellas?|strips?|scrims?|panels?|reflectors?|dish(?:es)?|discs?|tents?)\b"
)
_RATIO_NAMES: Final = r"(?:key[- ](?:to|and|:)[- ]?fill|lighting(?: ratio)?|ratios?|contrast)(?: ratio)?(?: of| is)?"
_RATIO: Final = (
    pattern_of(r"\s*(?::|to)\s*(?:1|one)(?![\w.:])", prefix=rf"(?:{_RATIO_NAMES})\s*", number=COUNT),
    re.compile(rf"(?:{_RATIO_NAMES})\s*{BEFORE}(?P<number>{COUNT})\s*(?::|to)\s*(?:1|one)(?![\w.:]){AFTER}"),
    re.compile(rf"{BEFORE}(?P<number>{COUNT})\s*(?::|to)\s*(?:1|one){AFTER}\s*(?:{_RATIO_NAMES})"),
)
_RATIO_STOPS: Final = (
    re.compile(
        rf"\bfill(?: light)?(?: is| lies)?\s+{BEFORE}(?P<number>{COUNT})\s*stops?{AFTER}\s*(?:under|below|down|less|darker)"
        r"(?:\s+(?:than\s+)?(?:the\s+)?key)?"
    ),
    re.compile(rf"(?:{_RATIO_NAMES})\s*{BEFORE}(?P<number>{COUNT})\s*stops?{AFTER}"),
    re.compile(rf"{BEFORE}(?P<number>{COUNT})\s*stops?{AFTER}\s+(?:between\s+)?key[- ](?:to|and)[- ]fill"),
)
_SCALE: Final = r"(?:\d{1,3}(?:[.,]\d{1,4})?)\s*:\s*(?:\d{1,4}(?:[.,]\d{1,4})?)"
_SCALES: Final = re.compile(
    rf"{BEFORE}(?:between\s+(?P<a>{_SCALE})\s+and\s+(?P<b>{_SCALE})"
    rf"|(?<![\d.:/])(?P<number>{_SCALE})(?:\s*(?P<join>to|or|-|–)\s*(?P<second>{_SCALE}))?)(?![\d:]){AFTER}"
)
_TIMES: Final = pattern_of(r"\s*(?:[x×](?!\s*\d|\w)|times life[ -]?size)", number=COUNT)
_LIFE_SIZE: Final = re.compile(rf"{BEFORE}(?<!\w)(?:(?P<part>half|twice|double)\s+)?life[ -]?size\b{AFTER}")
_PARTS: Final = {"half": 0.5, "twice": 2.0, "double": 2.0, None: 1.0}
_SECONDS: Final = pattern_of(
    r"\s*(?P<unit>s|secs?|seconds?|minutes?)\b",
    number=rf"(?:{COUNT}|\ban?\b)",
    tail=r"(?:\s+(?:exposures?|shutter))?",
)
_PART_OF_SECOND: Final = re.compile(
    rf"(?P<named>(?<!\w)(?:shutter|exposures?)(?: speed)?(?: of| at| is)?\s+)?{BEFORE}(?<![\d/.])1/(?P<below>\d{{1,5}})(?![\d/.])"
    rf"(?P<unit>\s*(?:s|secs?|seconds?|th)\b)?{AFTER}"
)
_POWERS_OF_TWO: Final = frozenset(2**step for step in range(1, 11))
_POWER: Final = re.compile(
    rf"{BEFORE}(?:1/(?P<below>\d{{1,4}})|(?P<part>half|quarter|a quarter|eighth))(?P<power>\s+(?:of (?:full )?)?power)?(?![\w/.:]){AFTER}"
)
_POWER_PARTS: Final = {"half": 2, "quarter": 4, "a quarter": 4, "eighth": 8}
_MEASURED: Final = pattern_of(r"\s*(?:%|per ?cent)\s*(?:measured|known|complete)")
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
        said = reaches_of(found, Compare.EXACTLY, exact, opening=True)
    except ValueError:
        return ()
    # A mark stands for what lies within a sixth of a stop of it.
    edge = 2.0 ** (SAME_MARK_STOPS / 2)
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
        return ("role", role_named(parts["role"])), place
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


_ANY_NUMBER: Final = re.compile(rf"\d|{COUNT}|life[ -]?size|\b(?:half|quarter|eighth|seconds?|minute)\b")


def read_numbers(text: Text) -> None:
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
    each(_MEASURED, lambda found: _number(text, About.MEASURED, found, reaches_of(found, Compare.AT_LEAST)))
    each(_STACK, lambda found: _number(text, About.STACK, found, reaches_of(found, Compare.EXACTLY)))
    each(_PART_OF_SECOND, lambda found: _part_of_second(text, found))
    each(_POWER, lambda found: _power(text, found))
    each(_SECONDS, lambda found: _number(text, About.SHUTTER, found, _seconds(found)))
    each(_LENGTH, lambda found: _length(text, found))
    each(_SCALES, lambda found: _number(text, About.MAGNIFICATION, found, _scales(found)))
    each(_TIMES, lambda found: _number(text, About.MAGNIFICATION, found, reaches_of(found, Compare.ABOUT)))
    each(_LIFE_SIZE, lambda found: _number(text, About.MAGNIFICATION, found, _life_size(found)))
    for name, family in techniques.FAMILIES.items():
        each(_counted(family), lambda found, name=name: _family_count(found, name))  # type: ignore[misc]
    each(_LIGHTS, lambda found: _number(text, About.LIGHTS, found, reaches_of(found, Compare.EXACTLY)))


def _room(found: re.Match[str]) -> Condition | None:
    sides = sorted(1000.0 * value_of(found.group(name)) for name in ("long", "short"))
    if sides[1] > 100_000.0 or sides[0] <= 0.0:
        return None
    reaches = (reach(Compare.AT_MOST, sides[1]), reach(Compare.AT_MOST, sides[0]))
    return Condition(About.ROOM, "", found.start(), found.end(), reaches)


def _ratio_reaches(found: re.Match[str]) -> tuple[Reach, ...]:
    """A ratio in both conventions: key to fill, and key and fill together to fill alone."""
    number = value_of(found.groupdict().get("number") or found.group("a"))
    if number < 1.0:
        return ()
    compare = compared(found, Compare.ABOUT)
    said = stops_reach(compare, math.log2(number))
    if compare is not Compare.ABOUT or number <= 1.0 + SLACK:
        return (said,)
    together = math.log2(number - 1.0)
    return (said, stops_reach(compare, together)) if together >= 0.0 else (said,)


def _stops_reaches(found: re.Match[str], scale: Callable[[float], float]) -> tuple[Reach, ...]:
    return (stops_reach(compared(found, Compare.ABOUT), scale(value_of(found.group("number")))),)


def stops_reach(compare: Compare, stops: float) -> Reach:
    match compare:
        case Compare.ABOUT | Compare.EXACTLY | Compare.BETWEEN:
            return Reach(Compare.ABOUT, stops, None, stops - STOPS_ABOUT, stops + STOPS_ABOUT)
        case Compare.AT_LEAST:
            return Reach(compare, stops, None, stops - SLACK, None)
        case Compare.MORE_THAN:
            return Reach(compare, stops, None, stops + SLACK, None)
        case Compare.AT_MOST:
            return Reach(compare, stops, None, None, stops + SLACK)
    return Reach(compare, stops, None, None, stops - SLACK)


def _iso(found: re.Match[str]) -> tuple[Reach, ...]:
    return tuple(_widened(each, 2.0**SAME_MARK_STOPS) for each in reaches_of(found, Compare.EXACTLY))


def _energy(text: Text, found: re.Match[str]) -> Condition | None:
    of, start = _of(text, found.start())
    return _number(text, About.ENERGY, found, reaches_of(found, Compare.ABOUT, roughly=1.1), of=of, start=start)


def _seconds(found: re.Match[str]) -> tuple[Reach, ...]:
    parts = found.groupdict()
    if (parts["number"] or "") in ("a", "an"):
        return (reach(compared(found, Compare.ABOUT), 60.0 if parts["unit"].startswith("m") else 1.0, roughly=1.13),)
    scale = 60.0 if parts["unit"].startswith("m") else 1.0
    return reaches_of(found, Compare.ABOUT, lambda value: value * scale, roughly=1.13)


def _part_of_second(text: Text, found: re.Match[str]) -> Condition | None:
    below = int(found.group("below"))
    named = found.group("named") or found.group("unit")
    if not below or not (named or (below >= 10 and below not in _POWERS_OF_TWO)):
        return None
    exact = read_value(Quantity.SHUTTER, 1.0 / below).exact
    said = reach(compared(found, Compare.EXACTLY), exact)
    return _number(text, About.SHUTTER, found, (_widened(said, 2.0**SAME_MARK_STOPS),))


def _power(text: Text, found: re.Match[str]) -> Condition | None:
    below = found.group("below")
    part = int(below) if below else _POWER_PARTS[found.group("part")]
    of, start = _of(text, found.start())
    meant = found.group("power") or (of is not None and below) or (below and part >= 16)
    if part not in _POWERS_OF_TWO or not meant:
        return None
    stops = -math.log2(part)
    compare = compared(found, Compare.ABOUT)
    return _number(text, About.POWER, found, (stops_reach(compare, stops),), of=of or ("any", ""), start=start)


def _length(text: Text, found: re.Match[str]) -> Condition | None:
    """A length is a focal length, a distance of a light, the field, the room, or the size of a light, by what stands
    beside it; where nothing tells, it stays among the words."""
    unit = found.group("unit")
    scale = _LENGTHS_MM[unit if unit in _LENGTHS_MM else unit[:2] if unit[:2] in _LENGTHS_MM else unit[0]]
    since, before = text.before(found.start())
    after = text.rest[found.end() : found.end() + LOOKS_BACK]
    reaches = reaches_of(found, Compare.ABOUT, lambda value: value * scale)
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
    compare, value = compared(found, Compare.ABOUT), scale(parts["number"])
    if value <= 0.0:
        return ()
    if parts["second"]:
        second = scale(parts["second"])
        if parts["join"] == "or":
            return (reach(compare, value), reach(compare, second))
        return (reach(Compare.BETWEEN, value, second),)
    return (reach(compare, value),)


def _life_size(found: re.Match[str]) -> tuple[Reach, ...]:
    return (reach(compared(found, Compare.ABOUT), _PARTS[found.group("part")]),)


def _counted(family: re.Pattern[str]) -> re.Pattern[str]:
    return pattern_of(rf"\s+{family.pattern}", number=COUNT)


_MOST_COUNTED: Final = 12


def _family_count(found: re.Match[str], name: str) -> Condition | None:
    """So many lights with a softbox, by the marks that say how many a recipe has."""
    said = reaches_of(found, Compare.EXACTLY)
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

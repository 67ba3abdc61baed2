"""What a question states, as it stands on its chip: "lights: more than 2", "without softbox"."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from webapp.optics.scales import Dial, Quantity, nearest_mark
from webapp.quantities.lengths import Lengths
from webapp.recipes.search.days import MONTHS
from webapp.recipes.search.stated import About, Compare, Condition, Reach

_LENGTHS: Final = frozenset({About.FIELD, About.DISTANCE, About.SIZE, About.ROOM})
_UNITS: Final[Mapping[About, str]] = {
    About.ENERGY: " J",
    About.FOCAL_LENGTH: " mm",
    About.MEASURED: " %",
    About.RATIO: " stops",
    About.UNEXPLAINED: " stops",
}
_PLAIN_COMPARE: Final[Mapping[Compare, str]] = {
    Compare.EXACTLY: "",
    Compare.ABOUT: "about ",
    Compare.AT_LEAST: "at least ",
    Compare.MORE_THAN: "more than ",
    Compare.AT_MOST: "at most ",
    Compare.LESS_THAN: "less than ",
}
# A larger number is a smaller opening.
_OPENING_COMPARE: Final[Mapping[Compare, str]] = {
    Compare.AT_LEAST: " or smaller",
    Compare.MORE_THAN: ", smaller",
    Compare.AT_MOST: " or wider",
    Compare.LESS_THAN: ", wider",
}
_ENDS: Final = {"floor": "at its lowest power", "ceiling": "at full power"}


@dataclass(frozen=True, slots=True)
class ConditionWords:
    """A condition in words: what it is about, empty where the rest says it, and what it says."""

    name: str
    text: str

    @property
    def whole(self) -> str:
        return f"{self.name}: {self.text}" if self.name else self.text


def condition_words(condition: Condition, lengths: Lengths) -> ConditionWords:
    """A condition as its chip has it."""
    if condition.words:
        return ConditionWords("", condition.said)
    if condition.marks and not condition.reaches:
        return _marked(condition)
    if condition.about is About.MODIFIER:
        family = condition.marks[0][1].partition(" ")[2]
        return ConditionWords(family, _compared(condition, "{} of the lights", lengths))
    name = str(condition.about)
    if condition.of is not None and condition.of[0] != "any":
        told, what = condition.of
        name = f"{condition.about} of {what}" if told == "letter" else f"{condition.about} of the {what}"
    elif condition.of is not None and condition.about in (About.ENERGY, About.DISTANCE, About.POWER):
        name = f"{condition.about} of a light"
    return ConditionWords(name, _compared(condition, "{}", lengths))


def _marked(condition: Condition) -> ConditionWords:
    values = [value for _, value in condition.marks]
    text = " or ".join(dict.fromkeys(values))
    match condition.about:
        case About.DIAL:
            facet, which = condition.marks[0]
            text, name = _ENDS[facet], "a light" if which == "any" else which
            return ConditionWords(name, f"not {text}" if condition.negated else text)
        case About.STATE:
            text = {"unexplained": "an unexplained difference", "check failed": "ambient check failed"}.get(
                text, text
            )
            return ConditionWords("", f"without {text}" if condition.negated else text)
        case About.VERDICT:
            text = "rejected" if text == "fails" else text
            return ConditionWords("", f"not {text}" if condition.negated else text)
        case About.SEASON:
            name = "month" if values[0] in MONTHS else "season"
            text = text.title() if name == "month" else text
        case About.KIND if condition.negated and "flash head" in values:
            return ConditionWords("", "without flash")
        case About.TECHNIQUE | About.MODIFIER | About.ROLE | About.LETTER | About.KIND if condition.negated:
            shown = f"light {text}" if condition.about is About.LETTER else text
            return ConditionWords("", f"without {shown}{' light' if condition.about is About.ROLE else ''}")
        case _:
            name = str(condition.about)
    return ConditionWords(name, f"not {text}" if condition.negated else text)


def _compared(condition: Condition, shape: str, lengths: Lengths) -> str:
    if condition.about is About.ROOM and len(condition.reaches) == 2:
        sides = [_value(condition.about, each.value, lengths) for each in condition.reaches]
        return f"within {sides[0]} × {sides[1]}"
    if condition.about is About.RATIO and len(condition.reaches) == 2:
        one, other = (_value(condition.about, each.value, lengths) for each in condition.reaches)
        return f"{one}, or {other} where key and fill are counted together"
    if condition.about is About.NUMBER:
        return " and ".join(_value(condition.about, each.value, lengths) for each in condition.reaches)
    said = " or ".join(_reach(condition.about, each, lengths) for each in condition.reaches)
    return f"not {shape.format(said)}" if condition.negated else shape.format(said)


def _reach(about: About, said: Reach, lengths: Lengths) -> str:
    if about is About.DAY:
        return _days(said)
    value = _value(about, said.value, lengths)
    if said.compare is Compare.BETWEEN:
        return f"{value} to {_value(about, said.upto, lengths)}" if said.upto is not None else value
    if about is About.APERTURE:
        return f"{value}{_OPENING_COMPARE.get(said.compare, '')}"
    return f"{_PLAIN_COMPARE[said.compare]}{value}"


def _days(said: Reach) -> str:
    low, high = said.low, said.high
    assert low is None or isinstance(low, dt.date)
    assert high is None or isinstance(high, dt.date)
    if low and high:
        whole_years = (low.month, low.day, high.month, high.day) == (1, 1, 12, 31)
        if whole_years:
            return str(low.year) if low.year == high.year else f"{low.year} to {high.year}"
        if (low.year, low.month) == (high.year, high.month):
            return f"{MONTHS[low.month - 1].title()} {low.year}"
        return f"{low.isoformat()} to {high.isoformat()}"
    return f"from {low.isoformat()} on" if low else f"up to {high.isoformat() if high else ''}"


_MARKS: Final[Mapping[About, Callable[[float], str]]] = {
    About.APERTURE: lambda value: f"f/{_nearest(Quantity.F_NUMBER, value)}",
    About.SHUTTER: lambda value: f"{_nearest(Quantity.SHUTTER, value)} s",
    About.ISO: lambda value: f"{value:.0f}",
    About.MAGNIFICATION: lambda value: f"{value:.3g}:1" if value >= 1 else f"1:{1 / value:.3g}",
    About.POWER: lambda value: "full" if value > -0.01 else f"1/{2**-value:.0f}",
}


def _nearest(quantity: Quantity, value: float) -> str:
    stops = {Quantity.F_NUMBER: 2 * math.log2(value), Quantity.SHUTTER: -math.log2(value)}[quantity]
    return nearest_mark(quantity, stops, Dial.THIRD).text


def _value(about: About, value: float | dt.date, lengths: Lengths) -> str:
    assert isinstance(value, float | int)
    if about in _LENGTHS:
        return lengths.text(value)
    if about in _MARKS:
        return _MARKS[about](value)
    if about is About.NUMBER:
        return f"{value:.0f}"
    return f"{value:.3g}{_UNITS.get(about, '')}"

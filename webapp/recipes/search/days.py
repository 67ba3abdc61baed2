"""The days, months and seasons that a question states. Pure."""

from __future__ import annotations

import datetime as dt
import re
from typing import Final

from webapp.recipes.search.question import Text, denied_from
from webapp.recipes.search.stated import About, Compare, Condition, Reach

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


def read_days(text: Text, today: dt.date) -> None:
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

"""Which backups are kept as they grow old: the last of each of so many days, weeks and months that have one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Ages:
    """How many of each kind are kept."""

    days: int = 7
    weeks: int = 4
    months: int = 12


def kept(
    made: Iterable[dt.datetime], newest_sound: dt.datetime | None = None, ages: Ages | None = None
) -> frozenset[dt.datetime]:
    """Of the times at which backups were made (UTC), those that are kept: the last of each of the newest days, weeks (from
    Monday) and months that have a backup, and the newest sound one, whatever its age."""
    ages = ages or Ages()
    newest_first = sorted(made, reverse=True)
    stay = {newest_sound} & set(newest_first)
    for many, period in ((ages.days, _day), (ages.weeks, _week), (ages.months, _month)):
        stay |= set(_last_of_each(newest_first, period)[:many])
    return frozenset(each for each in stay if each is not None)


Period = Callable[[dt.datetime], tuple[int, ...]]


def _day(at: dt.datetime) -> tuple[int, ...]:
    return at.year, at.month, at.day


def _week(at: dt.datetime) -> tuple[int, ...]:
    return tuple(at.isocalendar()[:2])


def _month(at: dt.datetime) -> tuple[int, ...]:
    return at.year, at.month


def _last_of_each(newest_first: list[dt.datetime], period: Period) -> list[dt.datetime]:
    """One for each period, the newest first."""
    last: dict[tuple[int, ...], dt.datetime] = {}
    for at in newest_first:
        last.setdefault(period(at), at)
    return list(last.values())

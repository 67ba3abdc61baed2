"""Which backups are kept as they grow old."""

from __future__ import annotations

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from webapp.backups.ages import Ages, kept

moments = st.datetimes(dt.datetime(2020, 1, 1), dt.datetime(2040, 1, 1), timezones=st.just(dt.UTC))


def daily(days: int) -> list[dt.datetime]:
    """One every noon, the last on Sunday 29 November 2026."""
    return [dt.datetime(2026, 11, 29, 12, tzinfo=dt.UTC) - dt.timedelta(days=day) for day in range(days)]


def test_of_two_years_of_daily_backups_seven_days_four_weeks_and_twelve_months_stay() -> None:
    stay = sorted(kept(daily(730)), reverse=True)

    assert [each.date().isoformat() for each in stay] == [
        # the days, the first of which is the last of its week and of its month so far
        *("2026-11-29", "2026-11-28", "2026-11-27", "2026-11-26", "2026-11-25", "2026-11-24", "2026-11-23"),
        # Sundays
        *("2026-11-22", "2026-11-15", "2026-11-08"),
        # ends of months
        *("2026-10-31", "2026-09-30", "2026-08-31", "2026-07-31", "2026-06-30", "2026-05-31", "2026-04-30"),
        *("2026-03-31", "2026-02-28", "2026-01-31", "2025-12-31"),
    ]


def test_of_one_day_the_last_stays() -> None:
    day = [dt.datetime(2026, 11, 29, hour, tzinfo=dt.UTC) for hour in range(24)]

    assert kept(day) == {day[-1]}


def test_a_pause_costs_no_backup() -> None:
    """Days without a backup are not counted: what was kept before a holiday is there after it."""
    before = daily(7)

    assert kept([*before, before[0] + dt.timedelta(days=60)]) >= set(before[:6])


@given(st.sets(moments, max_size=60), st.data())
def test_the_newest_and_the_newest_sound_one_always_stay(made: set[dt.datetime], data: st.DataObject) -> None:
    sound = data.draw(st.sampled_from(sorted(made))) if made else None

    stay = kept(made, sound)

    assert stay <= made
    assert stay >= ({max(made), sound} if made else set())
    assert len(stay) <= 7 + 4 + 12 + 1


@given(st.sets(moments, max_size=60), moments)
def test_what_was_let_go_is_not_missed_later(made: set[dt.datetime], later: dt.datetime) -> None:
    """To let go today and again tomorrow keeps what tomorrow alone would have kept."""
    after = {later} if not made or later > max(made) else set()

    assert kept(kept(made) | after) == kept(made | after)


@given(st.sets(moments, max_size=60))
def test_without_ages_only_the_sound_one_stays(made: set[dt.datetime]) -> None:
    assert kept(made, min(made, default=None), Ages(0, 0, 0)) == ({min(made)} if made else set())

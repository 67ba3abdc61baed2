"""Marks and the exact steps they name: read, stepped, and told apart by the dial."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.optics.scales import (
    Dial,
    Quantity,
    marks,
    nearest_mark,
    other_readings,
    read_value,
    step_from,
    stops_of,
    value_at,
)
from webapp.quantities.marks import read_mark

QUANTITIES = st.sampled_from(list(Quantity))
DIALS = st.sampled_from(list(Dial))


@pytest.mark.parametrize(
    ("typed", "stops"),
    [
        ("f/11", 7),
        ("f11", 7),
        ("F 11", 7),
        ("11", 7),
        ("11.0", 7),
        ("1:11", 7),
        ("11,0", 7),
        ("8 1/3", 19 / 3),
        ("f/8+1/3", 19 / 3),
    ],
)
def test_an_f_number_is_read_however_it_is_typed(typed: str, stops: float) -> None:
    assert read_mark(Quantity.F_NUMBER, typed).stops == pytest.approx(stops)


@pytest.mark.parametrize(
    ("typed", "stops"),
    [
        ("1/125", 7),
        ("1/125 s", 7),
        ("0.5s", 1),
        ("1/2", 1),
        (".5", 1),
        ("30", -5),
        ("30s", -5),
        ("2 s", -1),
        ('4"', -2),
        ("1/2.5", 4 / 3),
    ],
)
def test_a_time_is_read_however_it_is_typed(typed: str, stops: float) -> None:
    assert read_mark(Quantity.SHUTTER, typed).stops == pytest.approx(stops)


def test_a_bare_shutter_number_of_one_or_more_is_seconds() -> None:
    assert read_mark(Quantity.SHUTTER, "8").exact == read_mark(Quantity.SHUTTER, "8s").exact == 8.0


@pytest.mark.parametrize("typed", ["", "f/", "f/0", "-8", "1/0", "abc", "nan", "inf", "9" * 400, "1/", "8 5/3"])
@pytest.mark.parametrize("quantity", list(Quantity))
def test_nonsense_is_refused_with_what_is_allowed(quantity: Quantity, typed: str) -> None:
    with pytest.raises(ValueError, match=r"(write it as|is missing|too long)"):
        read_mark(quantity, typed)


@pytest.mark.parametrize(
    ("quantity", "mark", "half", "third"),
    [
        (Quantity.F_NUMBER, "1.2", 1 / 2, 2 / 3),
        (Quantity.F_NUMBER, "13", 15 / 2, 22 / 3),
        (Quantity.SHUTTER, "1/20", 9 / 2, 13 / 3),
        (Quantity.SHUTTER, "20", -9 / 2, -13 / 3),
    ],
)
def test_a_name_on_two_dials_is_read_on_the_dial_in_use(
    quantity: Quantity, mark: str, half: float, third: float
) -> None:
    on_half, on_third = read_mark(quantity, mark, Dial.HALF), read_mark(quantity, mark, Dial.THIRD)

    assert (on_half.stops, on_third.stops) == (pytest.approx(half), pytest.approx(third))
    assert other_readings(quantity, on_third) == {Dial.HALF: pytest.approx(on_half.exact)}


def test_a_mark_of_another_dial_is_still_that_mark() -> None:
    assert read_mark(Quantity.F_NUMBER, "19", Dial.THIRD).stops == 8.5
    assert read_mark(Quantity.F_NUMBER, "19", Dial.THIRD).dial is Dial.HALF


def test_a_value_on_no_dial_is_used_as_it_is_and_says_so() -> None:
    read = read_value(Quantity.F_NUMBER, 12.2)

    assert read.dial is None
    assert read.exact == pytest.approx(12.2)


def test_the_first_click_from_between_two_marks_goes_to_the_next_one() -> None:
    assert step_from(Quantity.F_NUMBER, 5.1, Dial.FULL, 1).text == "8"
    assert step_from(Quantity.F_NUMBER, 5.1, Dial.FULL, -1).text == "5.6"


def test_the_dial_ends_at_its_last_mark() -> None:
    last = marks(Quantity.ISO, Dial.THIRD)[-1]

    assert step_from(Quantity.ISO, last.stops, Dial.THIRD, 5) == last


@given(QUANTITIES, DIALS, st.data())
def test_every_mark_is_read_back_as_itself(quantity: Quantity, dial: Dial, data: st.DataObject) -> None:
    mark = data.draw(st.sampled_from(marks(quantity, dial)))

    read = read_mark(quantity, mark.text, dial)

    assert (read.text, read.stops, read.dial) == (mark.text, pytest.approx(mark.stops), dial)


@given(QUANTITIES, DIALS, st.data())
def test_a_step_there_and_back_is_the_same_mark(quantity: Quantity, dial: Dial, data: st.DataObject) -> None:
    row = marks(quantity, dial)
    index = data.draw(st.integers(1, len(row) - 2))

    there = step_from(quantity, row[index].stops, dial, 1)

    assert step_from(quantity, there.stops, dial, -1) == row[index]


@given(QUANTITIES, st.floats(-5, 14))
def test_place_and_value_undo_each_other(quantity: Quantity, stops: float) -> None:
    assert stops_of(quantity, value_at(quantity, stops)) == pytest.approx(stops, abs=1e-9)


@given(QUANTITIES, DIALS, st.floats(-1, 10))
def test_the_nearest_mark_is_within_half_a_step(quantity: Quantity, dial: Dial, stops: float) -> None:
    assert abs(nearest_mark(quantity, stops, dial).stops - stops) <= 0.5 / dial.steps_per_stop + 1e-9


@given(QUANTITIES, DIALS)
def test_marks_rise_evenly(quantity: Quantity, dial: Dial) -> None:
    row = marks(quantity, dial)

    for before, after in pairwise(row):
        assert after.stops - before.stops == pytest.approx(1 / dial.steps_per_stop)

"""The power dial: how marks are written, read and stepped."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.quantities.powers import Marking, PowerDial, fraction_text, joules_text
from webapp.quantities.reading import BeyondRange

JOULES = PowerDial(-6.0, 0.1, Marking.JOULES, 400.0)
FRACTIONS = PowerDial(-7.0, 1 / 3)
NUMBERS = PowerDial(-8.0, 0.1, Marking.NUMBERED, None, 10.0, 1.0)
TYPED = [
    (JOULES, "6.25 J", -6.0),
    (JOULES, "87.1", -2.2),
    (JOULES, "full", 0.0),
    (JOULES, "1/32", -5.0),
    (FRACTIONS, "1/64+2/3", -16 / 3),
    (FRACTIONS, "1/2 + 0.7", -0.3),
    (NUMBERS, "6.7", -3.3),
]


@pytest.mark.parametrize(("dial", "typed", "stops"), TYPED)
def test_a_mark_is_read_as_the_dial_writes_it(dial: PowerDial, typed: str, stops: float) -> None:
    assert dial.read(typed) == pytest.approx(stops, abs=1e-3)


def test_a_change_is_taken_from_what_stands_and_goes_to_a_mark() -> None:
    assert FRACTIONS.read("+1 1/3", -5.0) == pytest.approx(-11 / 3)
    assert JOULES.read("−2", -3.0) == pytest.approx(-5.0)
    assert JOULES.read("+1 1/3", -5.0) == pytest.approx(-3.7)


def test_a_change_of_what_is_unknown_is_refused() -> None:
    with pytest.raises(ValueError, match="what stands is unknown"):
        JOULES.read("+1")


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("500 J", "above full"),
        ("3 J", "below the lowest mark"),
        ("0 J", "switch the light off"),
        ("1/0", "divides by nothing"),
        ("x", "is no power"),
        ("1/" + "9" * 400, "too long"),
    ],
)
def test_what_the_dial_does_not_have_is_refused_with_what_it_has(typed: str, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        JOULES.read(typed)


def test_an_energy_between_two_marks_is_kept_as_it_is() -> None:
    stops = JOULES.read("160 J")

    assert JOULES.energy_j(stops) == pytest.approx(160.0)
    assert not JOULES.on_a_mark(stops)


def test_a_quarter_of_the_energy_is_two_stops_less() -> None:
    # Two stops are a factor of four: 400 J, 100 J, 25 J (common practice).
    assert [JOULES.mark(stops) for stops in (0.0, -2.0, -4.0)] == ["400 J", "100 J", "25 J"]


@pytest.mark.parametrize(
    ("stops", "text"),
    [(0, "1/1"), (-1, "1/2"), (-7, "1/128"), (-1 / 3, "1/2+2/3"), (-2.5, "1/8+1/2"), (-0.3, "1/2+0.7")],
)
def test_fractions_are_written_as_the_trade_does(stops: float, text: str) -> None:
    assert fraction_text(stops) == text


@pytest.mark.parametrize(("energy", "text"), [(6.25, "6.25 J"), (12.5, "12.5 J"), (400, "400 J"), (153.89, "154 J")])
def test_joules_are_written_as_dials_do(energy: float, text: str) -> None:
    assert joules_text(energy) == text


@given(st.sampled_from([JOULES, FRACTIONS, NUMBERS]), st.integers(0, 60))
def test_every_mark_is_read_back_as_itself(dial: PowerDial, steps: int) -> None:
    stops = dial.nearest(-steps * dial.step_stops)

    assert dial.read(dial.mark(stops)) == pytest.approx(stops, abs=1e-6)


@given(st.sampled_from([JOULES, FRACTIONS, NUMBERS]), st.floats(-12, 2))
def test_the_nearest_mark_is_on_the_dial(dial: PowerDial, stops: float) -> None:
    nearest = dial.nearest(stops)

    assert dial.lowest_stops <= nearest <= 0
    assert dial.on_a_mark(nearest)
    assert dial.step(dial.step(nearest, -1), 1) == pytest.approx(nearest) or nearest == dial.lowest_stops


@pytest.mark.parametrize(
    ("typed", "nearest"), [("3 J", "6.25 J"), ("500 J", "400 J"), ("+9", "400 J"), ("-9", "6.25 J")]
)
def test_what_lies_beyond_the_dial_is_refused_with_the_range_and_the_nearest_mark(typed: str, nearest: str) -> None:
    with pytest.raises(BeyondRange, match=r"the dial goes from 6\.25 J to 400 J\.") as refusal:
        JOULES.read(typed, -3.0)

    assert refusal.value.nearest == nearest


def test_a_wish_may_lie_beyond_the_dial() -> None:
    # log2(3 / 400).
    assert JOULES.wished("3 J", None) == pytest.approx(-7.0589, abs=1e-4)
    assert JOULES.wished("+9", -3.0) == pytest.approx(6.0)
    with pytest.raises(ValueError, match="what stands is unknown"):
        JOULES.wished("+9", None)

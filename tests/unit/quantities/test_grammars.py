"""Every grammar reads back what it prints, in both units, and refuses the rest with what is allowed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.optics.scales import Dial, Marked, Quantity, marks, read_value
from webapp.quantities.angles import bearing_text, degrees_text, read_bearing, read_degrees
from webapp.quantities.lengths import LONGEST_MM, Lengths
from webapp.quantities.marks import mark_text, read_f_number, read_mark, read_seconds, stepped_mark
from webapp.quantities.numbers import number_text, read_decimal, read_number, read_whole
from webapp.quantities.places import read_place_text, read_size_text
from webapp.quantities.powers import Marking, More, PowerDial
from webapp.quantities.ratios import (
    magnification_text,
    ratio_text,
    read_magnification,
    read_ratio,
    stepped_magnification,
)
from webapp.quantities.reading import is_unknown, plain
from webapp.quantities.stops import read_level, read_stops, signed_stops, stops_text
from webapp.quantities.temperatures import kelvin_text, read_kelvin

DIALS = st.sampled_from(list(Dial))
BOTH = st.sampled_from([Lengths(), Lengths(inches=True)])
POWER_DIALS = st.builds(
    PowerDial,
    st.sampled_from([-5.0, -6.0, -7.0, -9.0]),
    st.sampled_from([0.1, 1 / 3, 1 / 2, 1.0]),
    st.sampled_from(list(Marking)),
    st.sampled_from([250.0, 400.0, 1200.0]),
)


def a_mark(quantity: Quantity, dial: Dial, index: int) -> Marked:
    row = marks(quantity, dial)
    found = row[index % len(row)]
    return Marked(quantity, found.text, found.stops, dial)


@given(st.sampled_from(list(Quantity)), DIALS, st.integers(0, 500))
def test_a_mark_is_read_back_as_itself(quantity: Quantity, dial: Dial, index: int) -> None:
    marked = a_mark(quantity, dial, index)

    for text in (marked.text, mark_text(marked)):
        read = read_mark(quantity, text, dial)
        assert (read.stops, read.text) == (marked.stops, marked.text)


@given(st.sampled_from(list(Quantity)), st.floats(-1.0, 13.0), DIALS)
def test_a_value_on_no_dial_is_read_back_to_the_figures_that_are_shown(
    quantity: Quantity, place: float, dial: Dial
) -> None:
    marked = read_value(quantity, 2.0 ** (place / 2.0), dial)

    assert mark_text(read_mark(quantity, mark_text(marked), dial)) == mark_text(marked)


@given(st.sampled_from(list(Quantity)), DIALS, st.integers(8, 10), st.integers(-6, 6))
def test_so_many_clicks_and_as_many_back_are_none(quantity: Quantity, dial: Dial, index: int, clicks: int) -> None:
    marked = a_mark(quantity, dial, index)

    assert stepped_mark(stepped_mark(marked, dial, clicks), dial, -clicks) == marked


@given(BOTH, st.floats(1.3, 99_000.0))
def test_a_length_that_was_printed_is_read_as_the_length_that_is_printed_so(
    lengths: Lengths, length_mm: float
) -> None:
    text = lengths.text(length_mm)
    read = lengths.read(text)

    assert lengths.text(read) == text
    assert read == pytest.approx(length_mm, abs=0.0501 * 25.4)
    # Once read it is a length of the tape, and stays.
    assert lengths.read(lengths.text(read)) == read


@given(BOTH, st.floats(1.3, 99_000.0), st.booleans())
def test_a_length_with_a_side_is_read_back_on_its_side(lengths: Lengths, length_mm: float, below: bool) -> None:
    offset = -length_mm if below else length_mm
    read = lengths.read_offset(lengths.offset_text(offset))

    assert lengths.offset_text(read) == lengths.offset_text(offset)
    assert (read < 0.0) == below


@given(BOTH, st.integers(1, 200))
def test_a_length_stepped_out_and_in_again_is_where_it_was(lengths: Lengths, marks_out: int) -> None:
    start_mm = lengths.mark_mm(fine=False) * (marks_out % 20 + 40)

    assert lengths.stepped(lengths.stepped(start_mm, 1), -1) == pytest.approx(start_mm)
    assert lengths.stepped(LONGEST_MM, 5) == LONGEST_MM


@pytest.mark.parametrize("written", ["60,5", "60.5", " 60,5 cm ", "605 mm", "0,605 m"])
def test_a_comma_is_a_decimal_sign(written: str) -> None:
    assert Lengths().read(written) == 605.0


@given(POWER_DIALS, st.integers(0, 90))
def test_a_power_mark_is_read_back_as_itself(dial: PowerDial, clicks: int) -> None:
    stops = dial.nearest(-clicks * dial.step_stops)

    assert dial.typed(dial.mark(stops)) == pytest.approx(stops, abs=1e-6)


@given(POWER_DIALS, st.floats(-5.0, 0.0))
def test_a_power_between_two_marks_is_read_back_to_the_figures_of_the_dial(dial: PowerDial, stops: float) -> None:
    read = dial.typed(dial.mark(dial.place(stops)))

    assert not isinstance(read, More)
    assert read == pytest.approx(stops, abs=max(0.1, dial.step_stops / 2))


@given(POWER_DIALS, st.integers(1, 8))
def test_a_change_of_power_and_its_opposite_come_back_to_the_mark(dial: PowerDial, clicks: int) -> None:
    stands = dial.nearest(dial.lowest_stops / 2.0)
    moved = dial.moved(stands, More(clicks * 0.0))

    assert moved == pytest.approx(stands)
    assert dial.moved(dial.moved(stands, More(dial.step_stops)), More(-dial.step_stops)) == pytest.approx(stands)


def test_a_change_is_a_change_until_it_is_known_what_stands() -> None:
    dial = PowerDial(-6.0, 0.1)

    assert dial.typed("+1 1/3") == More(pytest.approx(4 / 3))
    with pytest.raises(ValueError, match=r"“\+1 1/3” is a change, and what stands is unknown"):
        dial.moved(None, More(4 / 3))


@given(st.integers(-30, 30), st.sampled_from([1, 2, 3, 4, 10]))
def test_stops_are_read_back_as_they_are_printed(count: int, parts: int) -> None:
    stops = count / parts

    assert read_stops(stops_text(stops)) == pytest.approx(stops, abs=1e-5)
    assert read_stops(signed_stops(stops)) == pytest.approx(stops, abs=0.0051)


@pytest.mark.parametrize("text", ["", "a", "11/3", "+", "1/5", "1 1", "nan", "1e2", "--1"])
def test_what_is_no_number_of_stops_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"is no number of stops: write it in stops, such as \+1"):
        read_stops(text)


def test_more_stops_than_there_are_is_refused_both_ways() -> None:
    for text in ("11", "-11"):
        with pytest.raises(ValueError, match="is more than 10 stops"):
            read_stops(text, most=10.0)
        with pytest.raises(ValueError, match="no level: type stops between −8 and 8, or off"):
            read_level(text, most=8.0)


def test_two_numbers_past_all_bounds_are_no_quotient() -> None:
    nines = "9" * 400
    for read, text in ((read_seconds, f"{nines}/{nines}"), (read_ratio, f"{nines}:{nines}"), (read_ratio, nines)):
        with pytest.raises(ValueError, match="is no"):
            read(text)


@given(st.integers(-179, 180))
def test_a_bearing_is_read_back_to_the_degree(bearing: int) -> None:
    assert read_bearing(bearing_text(float(bearing))) == bearing


@given(st.floats(0.1, 179.0))
def test_an_angle_is_read_back(degrees: float) -> None:
    assert read_degrees(degrees_text(degrees)) == pytest.approx(degrees, rel=1e-5)


@given(st.floats(0.0, 100.0).map(lambda each: float(f"{each:.3g}")))
def test_a_magnification_is_read_back_as_it_is_spoken_of(magnification: float) -> None:
    if "e" not in magnification_text(magnification):
        assert read_magnification(magnification_text(magnification)) == magnification


@given(st.integers(4, 19), st.integers(-3, 3))
def test_a_magnification_stepped_there_and_back_is_the_same(twentieths: int, clicks: int) -> None:
    start = twentieths / 20.0
    there = stepped_magnification(start, clicks)

    if there < 1.0:
        assert stepped_magnification(there, -clicks) == pytest.approx(start)


@given(st.integers(1, 64), st.integers(1, 8))
def test_a_ratio_is_read_back(above: int, below: int) -> None:
    assert read_ratio(ratio_text(above / below)) == pytest.approx(above / below, rel=1e-5)


@given(st.integers(1000, 25_000))
def test_a_colour_temperature_is_read_back(kelvin: int) -> None:
    assert read_kelvin(kelvin_text(float(kelvin))) == kelvin


@given(st.floats(-1e6, 1e6).filter(lambda each: each == 0.0 or abs(each) > 1e-3))
def test_a_number_is_read_back_to_six_figures(value: float) -> None:
    text = number_text(value)
    if "e" not in text:
        assert read_number(text) == pytest.approx(value, rel=1e-5)


@pytest.mark.parametrize("text", ["", "x", "1/0", "inf", "nan", "1,2,3", "12 K"])
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is no number"):
        read_number(text)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_decimal_is_read_back_as_itself(value: float) -> None:
    assert read_decimal(repr(value)) == value
    assert read_decimal(number_text(value)) == pytest.approx(value, rel=1e-5)


@given(st.floats(-1e6, 1e6), st.floats(0.001, 99_000.0))
def test_a_comma_is_a_decimal_sign_in_every_grammar(value: float, length_mm: float) -> None:
    text = f"{value:.3f}"
    assert read_decimal(text.replace(".", ",")) == read_number(text.replace(".", ",")) == float(text)
    length = f"{length_mm + 1.0:.2f}"
    assert Lengths().read(f"{length} mm".replace(".", ",")) == Lengths().read(f"{length} mm")
    assert read_f_number("5,6") == read_f_number("f/5,6") == 5.6
    assert read_seconds("0,5 s") == 0.5


@pytest.mark.parametrize(
    "text", ["", "x", "1,5,2", "1/3", "inf", "nan", "0x10", "1_000", "1 000", "١٠", "--1", "1e", "5 mm"]
)
def test_what_is_no_decimal_is_refused_with_its_unit(text: str) -> None:
    with pytest.raises(ValueError, match="is no number: write it with digits and a point or comma, in mm"):
        read_decimal(text, "mm")


@given(st.floats(1e-6, 1e6))
def test_an_f_number_on_no_dial_is_read_back_with_its_letter_and_without(f_number: float) -> None:
    assert read_f_number(repr(f_number)) == f_number
    assert read_f_number(f"f/{f_number:.3f}") == float(f"{f_number:.3f}")


@given(st.floats(1e-9, 1e6), st.integers(1, 100_000))
def test_a_time_on_no_dial_is_read_back_as_a_decimal_and_as_a_fraction(seconds: float, below: int) -> None:
    assert read_seconds(repr(seconds)) == read_seconds(f"{seconds!r} s") == seconds
    assert read_seconds(f"1/{below}") == read_seconds(f"1/{below} s") == 1 / below


@pytest.mark.parametrize(
    ("text", "why"),
    [("soon", "no number: write it with digits and a point or comma, in s"), ("1/0", "divides by nothing")],
)
def test_what_is_no_time_is_refused(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        read_seconds(text)


@pytest.mark.parametrize("text", ["0", "1001", "2.5", "-1", "²", "many"])
def test_what_is_no_count_is_refused_with_its_range(text: str) -> None:
    with pytest.raises(ValueError, match="a whole number from 1 to 1000"):
        read_whole(text, low=1, high=1000)


@given(BOTH, st.integers(100, 900), st.integers(-179, 180), st.integers(-50, 50))
def test_a_place_in_one_line_is_read_back(lengths: Lengths, distance_mm: int, bearing: int, height_mm: int) -> None:
    distance, height = lengths.text(float(distance_mm)), lengths.offset_text(float(height_mm))
    told = read_place_text(f"{distance}; {bearing_text(float(bearing))}; {height}; taped", lengths)

    assert told is not None
    assert (told.bearing_deg, told.known) == (bearing, "taped")
    assert told.distance_mm is not None
    assert told.height_mm is not None
    assert (lengths.text(told.distance_mm), lengths.offset_text(told.height_mm))[0] == distance
    assert abs(told.height_mm) == pytest.approx(abs(height_mm), abs=1.3)


@pytest.mark.parametrize("line", ["80,5 cm; 45 left", "80.5 cm; 45 left; 0"])
def test_a_decimal_comma_does_not_part_a_place(line: str) -> None:
    told = read_place_text(line, Lengths())

    assert told is not None
    assert (told.distance_mm, told.bearing_deg, told.known) == (805.0, -45.0, None)


def test_a_place_parted_by_commas_is_refused_with_what_was_read() -> None:
    with pytest.raises(
        ValueError, match="“80 cm, 45 left” has one part, “80 cm, 45 left”: write a position with semicolons"
    ):
        read_place_text("80 cm, 45 left", Lengths())


@given(BOTH, st.integers(2, 900), st.integers(2, 900))
def test_a_size_in_one_line_is_read_back(lengths: Lengths, width_mm: int, height_mm: int) -> None:
    told = read_size_text(f"{lengths.text(width_mm)} × {lengths.text(height_mm)}", lengths)

    assert lengths.text(told.width_mm) == lengths.text(float(width_mm))
    assert lengths.text(told.height_mm) == lengths.text(float(height_mm))
    assert told == replace(told, depth_mm=None)


def test_nobody_knows_is_written_in_five_ways() -> None:
    assert all(is_unknown(each) for each in ("", "?", "–", "-", " Unknown "))
    assert plain(" −,5  CM") == "-.5 cm"

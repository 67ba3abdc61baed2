"""How lengths are written and typed: what is read off the page comes back as the length that was meant."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.quantities.lengths import CENTIMETRES, Lengths

INCHES = Lengths(inches=True)
ON_A_SET_MM = st.floats(min_value=2.0, max_value=99_000.0)


# One inch is 25.4 mm exactly (international yard and pound agreement, 1959; common knowledge).
@pytest.mark.parametrize(
    ("length_mm", "in_cm", "in_inches"),
    [
        (254.0, "25.4 cm", "10 in"),
        (600.0, "60 cm", "23.6 in"),
        (609.6, "61 cm", "24 in"),
        (565.15, "56.5 cm", "22¼ in"),
        (36.0, "3.6 cm", "1.4 in"),
        (None, "unknown", "unknown"),
    ],
)
def test_a_length_is_told_as_it_is_read_off_a_tape(length_mm: float | None, in_cm: str, in_inches: str) -> None:
    assert (CENTIMETRES.text(length_mm), INCHES.text(length_mm)) == (in_cm, in_inches)


@given(ON_A_SET_MM)
def test_what_is_told_in_inches_is_read_back_within_a_twentieth_of_an_inch(length_mm: float) -> None:
    assert INCHES.read(INCHES.text(length_mm)) == pytest.approx(length_mm, abs=0.0501 * 25.4)


@pytest.mark.parametrize(
    ("typed", "length_mm"),
    [("24", 609.6), ("24,5", 622.3), (".5", 12.7), ("60 cm", 600.0), ('24"', 609.6), ("2 m", 2000.0)],
)
def test_a_bare_number_is_in_the_unit_of_the_page(typed: str, length_mm: float) -> None:
    assert INCHES.read(typed) == pytest.approx(length_mm)


# A foot is 304.8 mm exactly (as above).
@pytest.mark.parametrize(
    ("typed", "length_mm"),
    [
        ("2'6\"", 762.0),
        ("2' 6 1/2\"", 774.7),
        ("2’ 6½”", 774.7),
        ("2ft 6in", 762.0),
        ("2 feet 6 inches", 762.0),
        ("2'", 609.6),
        ("2' 6", 762.0),
        ("0'9\"", 228.6),
        ('18 1/2"', 469.9),
        ('18½"', 469.9),
        ("18-1/2 in", 469.9),
        ("3/4 in", 19.05),
        ("18,5 in", 469.9),
        ("60 cm", 600.0),
        ("0,5 m", 500.0),
        ("½ m", 500.0),
    ],
)
def test_feet_inches_and_fractions_are_read_as_people_write_them(typed: str, length_mm: float) -> None:
    for lengths in (CENTIMETRES, INCHES):
        assert lengths.read(typed) == pytest.approx(length_mm)
        assert lengths.read_offset(f"{typed} below") == pytest.approx(-length_mm)


@given(ON_A_SET_MM, st.booleans())
def test_what_is_printed_is_read_back_and_printed_the_same(length_mm: float, inches: bool) -> None:
    lengths = Lengths(inches=inches)
    printed, told = lengths.text(length_mm), lengths.offset_text(-length_mm)

    assert lengths.text(lengths.read(printed)) == printed
    assert lengths.offset_text(lengths.read_offset(told)) == told
    assert lengths.read(printed) == pytest.approx(length_mm, abs=1.28 if inches else 0.51)


def test_a_length_out_of_range_is_refused_with_what_was_read() -> None:
    with pytest.raises(ValueError, match=r"“100,5 m” is no distance: .* \(it reads 10050 cm\)"):
        CENTIMETRES.read("100,5 m")


@pytest.mark.parametrize(
    ("typed", "height_mm"), [("8 above", 203.2), ("8 below", -203.2), ("−8", -203.2), ("20 cm below", -200.0)]
)
def test_a_height_without_a_unit_is_in_the_unit_of_the_page_on_either_side(typed: str, height_mm: float) -> None:
    assert INCHES.read_offset(typed) == pytest.approx(height_mm)


def test_a_face_is_told_by_the_sides_that_it_has() -> None:
    assert INCHES.sides(304.8, 1219.2) == "12 × 48 in"
    assert (CENTIMETRES.sides(900.0, None), CENTIMETRES.sides(None, None)) == ("90 cm", "")


@pytest.mark.parametrize(
    "typed",
    ["", "?", "far", "1.2.3", "-5", "0", "0.5 mm", "101 m", "5 above", "1e3", "nan", "4 miles", "1/0", "2'3'"],
)
@pytest.mark.parametrize(
    ("lengths", "allowed"), [(CENTIMETRES, "60 cm, 0.6 m or 24 in"), (INCHES, "24 in, 2'6\" or 60 cm")]
)
def test_what_is_no_distance_is_refused_with_what_is_one(typed: str, lengths: Lengths, allowed: str) -> None:
    with pytest.raises(ValueError, match=f"is no distance: write it as {allowed}, from 1 mm to 100 m"):
        lengths.read(typed)


@given(ON_A_SET_MM, st.booleans())
def test_the_nearest_mark_is_at_most_half_a_step_away_and_is_told_exactly(length_mm: float, fine: bool) -> None:
    for lengths in (CENTIMETRES, INCHES):
        mark_mm = lengths.nearest_mark_mm(length_mm, fine=fine)

        assert abs(mark_mm - length_mm) <= lengths.mark_mm(fine=fine) / 2.0 + 1e-3
        if mark_mm > 0.0:
            assert lengths.read(lengths.text(mark_mm)) == pytest.approx(mark_mm, abs=2e-3)


_NINES = "9" * 400


@pytest.mark.parametrize("typed", [_NINES, f"{_NINES}/{_NINES}", f"{_NINES}'6", f"2'{_NINES}", f"1 {_NINES}/3"])
@pytest.mark.parametrize("lengths", [CENTIMETRES, INCHES])
def test_a_number_past_all_bounds_is_refused_in_a_line(lengths: Lengths, typed: str) -> None:
    for read in (lengths.read, lengths.read_offset):
        with pytest.raises(ValueError, match="9…” is") as refused:
            read(typed)
        assert len(str(refused.value)) < 200

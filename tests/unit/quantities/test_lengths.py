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
        (565.15, "56.5 cm", "22.25 in"),
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


@pytest.mark.parametrize(
    ("typed", "height_mm"), [("8 above", 203.2), ("8 below", -203.2), ("−8", -203.2), ("20 cm below", -200.0)]
)
def test_a_height_without_a_unit_is_in_the_unit_of_the_page_on_either_side(typed: str, height_mm: float) -> None:
    assert INCHES.read_offset(typed) == pytest.approx(height_mm)


def test_a_face_is_told_by_the_sides_that_it_has() -> None:
    assert INCHES.sides(304.8, 1219.2) == "12 × 48 in"
    assert (CENTIMETRES.sides(900.0, None), CENTIMETRES.sides(None, None)) == ("90 cm", "")


@pytest.mark.parametrize(
    "typed", ["", "?", "far", "1.2.3", "-5", "0", "0.5 mm", "101 m", "5 above", "1e3", "nan", "4 feet"]
)
@pytest.mark.parametrize(
    ("lengths", "allowed"), [(CENTIMETRES, "60 cm, 0.6 m or 24 in"), (INCHES, "24 in, 2 ft or 60 cm")]
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

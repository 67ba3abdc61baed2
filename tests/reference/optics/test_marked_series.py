"""The marks of the dials against printed series, the powers of the root of two, and the decimal series R10."""

from __future__ import annotations

import math

import pytest

from webapp.optics.scales import Dial, Quantity, marks, stops_of
from webapp.quantities.marks import read_mark

R10_MANTISSAS = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)
"""ISO 3, preferred numbers, series R10 (from memory)."""


def test_marks_name_the_steps_that_the_printed_series_gives(table, checked) -> None:  # type: ignore[no-untyped-def]
    for row in table("marked_series.csv"):
        quantity, dial = Quantity(row["quantity"]), Dial(row["dial"])
        mark = next(each for each in marks(quantity, dial) if each.text == row["mark"])
        checked(
            "marked series",
            "F-number table; ISO 517, ISO 516 from memory",
            "step of a mark",
            float(row["stops"]),
            mark.stops,
            1e-6,
            "stops",
        )
        sign = -1.0 if quantity is Quantity.SHUTTER else 1.0
        departure = sign * (stops_of(quantity, mark.literal) - mark.stops)
        checked(
            "marked series",
            "F-number table; ISO 517, ISO 516 from memory",
            "literal minus exact",
            float(row["literal_minus_exact_stops"]),
            departure,
            0.00006,
            "stops",
        )


def test_full_stops_are_powers_of_the_root_of_two(checked) -> None:  # type: ignore[no-untyped-def]
    # ISO 517: the series of f-numbers, f/1 to f/90 (from memory).
    for power, text in enumerate(["1", "1.4", "2", "2.8", "4", "5.6", "8", "11", "16", "22", "32", "45", "64", "90"]):
        exact = read_mark(Quantity.F_NUMBER, text, Dial.FULL).exact
        checked("marked series", "ISO 517, from memory", "f-number", math.sqrt(2.0) ** power, exact, 1e-9, "1")


def test_iso_marks_stand_on_the_decimal_series(checked) -> None:  # type: ignore[no-untyped-def]
    on_dial = {mark.literal for mark in marks(Quantity.ISO, Dial.THIRD) if 100 <= mark.literal < 1000}
    for mantissa in R10_MANTISSAS:
        expected = 100 * (3.2 if mantissa == 3.15 else 6.4 if mantissa == 6.3 else mantissa)
        nearest = min(on_dial, key=lambda literal, wanted=expected: abs(literal - wanted))  # type: ignore[misc]
        checked(
            "marked series",
            "ISO 3, R10, from memory (3.15 and 6.3 engraved as 3.2 and 6.4)",
            "ISO mark",
            expected,
            nearest,
            1e-9,
            "1",
        )


@pytest.mark.parametrize(
    ("first", "last", "stops"), [("5.6", "22", 4), ("2.8", "22", 6), ("4", "32", 6), ("11", "22", 2), ("16", "22", 1)]
)
def test_gaps_are_counted_and_not_marks(first: str, last: str, stops: float) -> None:
    # Each full-stop mark halves the light of the one before (common practice): four gaps from f/5.6 to f/22.
    assert read_mark(Quantity.F_NUMBER, last).stops - read_mark(Quantity.F_NUMBER, first).stops == stops


@pytest.mark.parametrize(
    ("first", "last", "stops"), [("1/60", "1/125", 1), ("1/60", "1/1000", 4), ("1/125", "1", -7)]
)
def test_times_are_counted_by_their_steps(first: str, last: str, stops: float) -> None:
    # CIPA DC-008, Tv = -log2 t: 1/60 is Tv 6, 1/125 Tv 7 (clause from memory).
    assert read_mark(Quantity.SHUTTER, last).stops - read_mark(Quantity.SHUTTER, first).stops == stops

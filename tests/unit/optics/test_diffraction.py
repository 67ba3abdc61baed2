"""Diffraction, and the f-number of least blur."""

from __future__ import annotations

import math

import pytest

from webapp.optics import diffraction, macro
from webapp.optics.scales import Dial, Quantity, marks


@pytest.mark.parametrize(
    ("n", "m", "wavelength", "um"),
    [(8, 0, 550, 10.73), (16, 0, 550, 21.47), (16, 1, 550, 42.93), (2**2.5, 5, 550, 45.54), (32, 1, 546, 85.24)],
)
def test_the_airy_disc_grows_with_the_effective_f_number(n: float, m: float, wavelength: float, um: float) -> None:
    airy_mm = diffraction.airy_disc_mm(macro.effective_f_number(n, m), wavelength)

    assert airy_mm * 1000 == pytest.approx(um, abs=0.006)


def test_an_airy_disc_is_counted_in_pixels() -> None:
    assert diffraction.in_pixels(0.064, 5) == pytest.approx(12.8)
    with pytest.raises(ValueError, match="pixel pitch"):
        diffraction.in_pixels(0.064, 0)


@pytest.mark.parametrize(
    ("wanted", "m", "p", "mark"),
    [
        (2, 1, 1, 13.69),
        (5, 1, 1, 21.65),
        (10, 0.5, 1, 20.41),
        (20, 0.25, 1, 17.32),
        (1, 3, 1, 14.52),
        (5, 1, 1.6, 26.65),
    ],
)
def test_the_sharpest_mark_for_a_wanted_depth(wanted: float, m: float, p: float, mark: float) -> None:
    assert diffraction.sharpest_aperture(wanted, m, p).f_number == pytest.approx(mark, abs=5e-3)


def test_at_the_sharpest_aperture_both_blurs_are_equal() -> None:
    [row] = diffraction.blur_by_f_number([diffraction.sharpest_aperture(5, 1, 1.6).f_number], 5, 1, 1.6)

    assert row.defocus_mm == pytest.approx(row.diffraction_mm)
    assert row.blur_mm == pytest.approx(row.defocus_mm * math.sqrt(2))


def test_red_light_asks_for_a_larger_opening() -> None:
    assert diffraction.sharpest_f_number(2, 650) < diffraction.sharpest_f_number(2, 546)


@pytest.mark.parametrize(
    ("spread", "circle", "low", "high"),
    [(2, 0.1, 10.09, 74.32), (1, 0.06, 8.49, 44.19), (0.2, 0.03, 3.37, 22.25)],
)
def test_a_circle_of_confusion_leaves_a_range_of_f_numbers(
    spread: float, circle: float, low: float, high: float
) -> None:
    assert diffraction.usable_f_numbers(spread, circle) == pytest.approx((low, high), abs=5e-3)


def test_for_some_depths_no_f_number_is_sharp_enough() -> None:
    assert diffraction.usable_f_numbers(2, 0.03) is None
    least = diffraction.total_blur_mm(diffraction.sharpest_f_number(2), 2)
    assert least > 0.03


def test_the_table_of_blur_has_its_least_row_at_the_sharpest_mark() -> None:
    dial = [mark.exact for mark in marks(Quantity.F_NUMBER, Dial.THIRD)]

    rows = diffraction.blur_by_f_number(dial, 5, 1)

    sharpest = min(rows, key=lambda row: row.blur_mm)
    assert sharpest.f_number == pytest.approx(21.65, rel=0.06)
    assert rows[0].blur_mm == pytest.approx(rows[0].defocus_mm, rel=1e-4)

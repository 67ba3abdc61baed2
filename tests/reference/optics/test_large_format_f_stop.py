"""The f-number of least blur: the printed large-format table, numeric optimum, roots."""

from __future__ import annotations

from collections.abc import Callable

from scipy.optimize import brentq, minimize_scalar

from webapp.optics import diffraction
from webapp.optics.exposure import aperture_value
from webapp.optics.scales import Dial, Quantity
from webapp.quantities.marks import read_mark

TABLE = "“How to select the f-stop”, largeformatphotography.info"
# The page prints tenths and rounds upward; its last row is rounded up to the whole stop (64 for 45 and 8.7 tenths).
ROUNDED_UP_STOPS = 0.135


def test_the_printed_f_stops(checked: Callable[..., None], table: Callable[[str], list[dict[str, str]]]) -> None:
    for row in table("large_format_f_stop.csv"):
        mark_av = read_mark(Quantity.F_NUMBER, row["mark"], Dial.FULL).stops
        printed_av = mark_av + float(row["tenths"]) / 10

        got_av = aperture_value(diffraction.sharpest_f_number(float(row["spread_mm"])))

        assert got_av <= printed_av
        checked("diffraction", TABLE, "f-number of least blur", printed_av, got_av, ROUNDED_UP_STOPS, "stop")


def test_the_closed_form_is_the_minimum_of_the_blur(checked: Callable[..., None]) -> None:
    for spread_mm in (0.05, 0.5, 2.0, 10.0):
        for wavelength_nm in (450.0, 546.0, 650.0):
            found = minimize_scalar(
                lambda n, v=spread_mm, nm=wavelength_nm: diffraction.total_blur_mm(n, v, nm),
                bounds=(0.5, 500),
                method="bounded",
                options={"xatol": 1e-9},
            )

            got = diffraction.sharpest_f_number(spread_mm, wavelength_nm)

            checked("diffraction", "minimum found by SciPy", "f-number of least blur", found.x, got, 1e-6, "relative")


def test_the_usable_range_ends_where_the_blur_is_the_circle_of_confusion(checked: Callable[..., None]) -> None:
    for spread_mm, circle_mm in ((2.0, 0.1), (1.0, 0.06), (0.2, 0.03), (0.01, 0.2)):
        least = diffraction.sharpest_f_number(spread_mm)
        ends = [
            brentq(
                lambda n, v=spread_mm, c=circle_mm: diffraction.total_blur_mm(n, v) - c,
                *bracket,
                xtol=1e-12,
                rtol=1e-14,
            )
            for bracket in ((1e-4, least), (least, 1e5))
        ]

        got = diffraction.usable_f_numbers(spread_mm, circle_mm)

        assert got is not None
        for end, ours in zip(ends, got, strict=True):
            checked("diffraction", "root found by SciPy", "end of the usable range", end, ours, 1e-9, "relative")

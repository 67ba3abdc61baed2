"""Colour temperature against colour-science, published illuminants and printed mired."""

from __future__ import annotations

import warnings
from collections.abc import Callable

import numpy as np
import pytest

from webapp.optics.colour import Chromaticity, correlated, mired, mired_shift, mix, planckian
from webapp.optics.observer import COLOUR_MATCHING, WAVELENGTHS_NM

with warnings.catch_warnings():
    # It announces, on import, the optional packages that it would like to have.
    warnings.simplefilter("ignore")
    import colour

TOPIC = "colour temperature"
OBSERVER = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
OHNO = "colour-science, Ohno (2013)"
SPECTRA = "colour-science: spectra of black bodies summed, Ohno (2013)"

Checked = Callable[[str, str, str, float, float, float, str], None]
Table = Callable[[str], list[dict[str, str]]]


def by_ohno(u: float, v: float) -> tuple[float, float]:
    kelvin, duv = colour.temperature.uv_to_CCT_Ohno2013(np.array([u, v]), OBSERVER)
    return float(kelvin), float(duv)


def test_the_observer_is_that_of_the_library(checked: Checked) -> None:
    for wavelength, row in zip(WAVELENGTHS_NM, COLOUR_MATCHING, strict=True):
        for name, expected, got in zip("xyz", OBSERVER[float(wavelength)], row, strict=True):
            checked(
                TOPIC,
                "colour-science, CIE 1931 2° observer",
                f"colour-matching function {name}",
                expected,
                got,
                1e-12,
                "1",
            )


@pytest.mark.parametrize("kelvin", [1000.0, 2000.0, 3200.0, 5600.0, 10_000.0, 25_000.0])
def test_the_locus_is_that_of_the_library(checked: Checked, kelvin: float) -> None:
    u, v = colour.temperature.CCT_to_uv_Ohno2013(np.array([kelvin, 0.0]), OBSERVER)

    place = planckian(kelvin)

    checked(TOPIC, OHNO, "u on the locus", float(u), place.u, 5e-6, "1")
    checked(TOPIC, OHNO, "v on the locus", float(v), place.v, 5e-6, "1")


@pytest.mark.parametrize("kelvin", [2000.0, 2856.0, 3200.0, 4000.0, 5600.0, 6500.0, 8000.0, 10_000.0])
@pytest.mark.parametrize("duv", [-0.02, -0.005, 0.0, 0.005, 0.02])
def test_temperature_and_distance_from_the_locus_are_those_of_the_library(
    checked: Checked, kelvin: float, duv: float
) -> None:
    u, v = colour.temperature.CCT_to_uv_Ohno2013(np.array([kelvin, duv]), OBSERVER)
    expected_kelvin, expected_duv = by_ohno(float(u), float(v))

    found = correlated(Chromaticity(float(u), float(v)))

    checked(
        TOPIC,
        OHNO,
        "correlated colour temperature, 2000 to 10 000 K",
        expected_kelvin,
        found.kelvin,
        2.0,
        "K",
    )
    checked(TOPIC, OHNO, "Duv, 2000 to 10 000 K", expected_duv, found.duv, 1e-5, "1")


def test_the_published_example_of_the_method_is_met(checked: Checked) -> None:
    # documentation of colour.uv_to_CCT, example for Ohno (2013): uv (0.1978, 0.3122)
    found = correlated(Chromaticity(0.1978, 0.3122))

    checked(
        TOPIC,
        "colour-science documentation, uv_to_CCT, example",
        "kelvin of the example",
        6507.474,
        found.kelvin,
        1.0,
        "K",
    )
    checked(
        TOPIC,
        "colour-science documentation, uv_to_CCT, example",
        "Duv of the example",
        0.0032233,
        found.duv,
        1e-6,
        "1",
    )


def test_standard_illuminants_have_their_published_temperature(checked: Checked, table: Table) -> None:
    for row in table("illuminants.csv"):
        x, y = float(row["x"]), float(row["y"])
        below = -2 * x + 12 * y + 3

        found = correlated(Chromaticity(4 * x / below, 6 * y / below))

        what, expected, within = "kelvin of an illuminant", float(row["kelvin"]), float(row["within"])
        checked(TOPIC, "CIE 15:2004, illuminants, partly from memory", what, expected, found.kelvin, within, "K")


@pytest.mark.parametrize(
    ("kelvins", "shares"),
    [
        ([3200.0, 5600.0], [0.25, 0.75]),
        ([3200.0, 5600.0], [0.75, 0.25]),
        ([2900.0, 6500.0], [0.5, 0.5]),
        ([2000.0, 10_000.0], [0.3, 0.7]),
        ([2700.0, 4000.0, 9000.0], [0.2, 0.5, 0.3]),
    ],
)
def test_a_mix_is_the_sum_of_the_spectra_at_their_luminances(
    checked: Checked, kelvins: list[float], shares: list[float]
) -> None:
    shape = colour.SpectralShape(360, 780, 1)
    matching = OBSERVER.copy().align(shape).values
    total = np.zeros(3)
    for kelvin, share in zip(kelvins, shares, strict=True):
        xyz = colour.sd_blackbody(kelvin, shape).values @ matching
        total += share * xyz / xyz[1]
    u, v = colour.UCS_to_uv(colour.XYZ_to_UCS(total))
    expected_kelvin, expected_duv = by_ohno(float(u), float(v))

    found = mix(kelvins, shares).correlated

    checked(TOPIC, SPECTRA, "kelvin of a mix", expected_kelvin, found.kelvin, 15.0, "K")
    checked(TOPIC, SPECTRA, "Duv of a mix", expected_duv, found.duv, 0.0005, "1")


@pytest.mark.parametrize("kelvin", [1000.0, 3200.0, 5500.0, 5600.0, 6500.0, 25_000.0])
def test_mired_are_those_of_the_library(checked: Checked, kelvin: float) -> None:
    expected = float(colour.temperature.CCT_to_mired(kelvin))

    checked(TOPIC, "colour-science, CCT_to_mired", "mired", expected, mired(kelvin), 1e-9, "mired")


def test_shifts_are_those_printed_for_filters(checked: Checked, table: Table) -> None:
    names = {
        "lexikon": "Mired, BET-Fachwörterbuch (bet.de)",
        "club": "Mired in Photography (mydigitalphotographyclub.com)",
        "handbook": "filter handbook, from memory",
    }
    for row in table("mired.csv"):
        got = mired_shift(float(row["from_kelvin"]), float(row["to_kelvin"]))
        checked(
            TOPIC,
            names[row["source"]],
            "mired shift of a filter",
            float(row["shift_mired"]),
            got,
            0.5,
            "mired",
        )

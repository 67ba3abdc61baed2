"""Filters against printed tables, and polarisers against Mueller matrices."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from webapp.optics.filters import (
    crossed_pair_stops,
    density_from_stops,
    factor_from_stops,
    read_neutral_density,
    stacked_stops,
    stops_from_density,
    stops_from_factor,
    stops_from_transmission,
    transmission_from_stops,
)

TOPIC = "filters"
ENCYCLOPAEDIA = "Neutral-density filter, table, opticalglasscn.com copy"
CAMERA_WIKI = "Neutral density filter, Table 1, camera-wiki.org"

Checked = Callable[[str, str, str, float, float, float, str], None]
Table = Callable[[str], list[dict[str, str]]]


def test_factors_are_the_printed_stops_densities_and_transmissions(checked: Checked, table: Table) -> None:
    for row in table("neutral_density.csv"):
        loss = read_neutral_density(f"ND{row['factor']}")

        # The table prints densities to a tenth, transmissions to a thousandth of a per cent, 8.64 stops as 8 2/3.
        checked(
            TOPIC,
            ENCYCLOPAEDIA,
            "density of a factor",
            float(row["density"]),
            density_from_stops(loss),
            0.05,
            "density",
        )
        percent = 100 * transmission_from_stops(loss)
        checked(
            TOPIC,
            ENCYCLOPAEDIA,
            "transmission",
            float(row["transmission_percent"]),
            percent,
            0.0005,
            "per cent",
        )
        rounding = 1e-9 if float(row["stops"]).is_integer() else 1 / 6
        checked(
            TOPIC,
            ENCYCLOPAEDIA,
            "stops of a factor",
            float(row["stops"]),
            stops_from_factor(float(row["factor"])),
            rounding,
            "stops",
        )


def test_densities_are_the_printed_thirds_of_a_stop(checked: Checked, table: Table) -> None:
    for row in table("neutral_density_thirds.csv"):
        loss = read_neutral_density(f"ND {row['density']}")

        checked(
            TOPIC,
            CAMERA_WIKI,
            "stops of a density, printed in thirds",
            int(row["thirds"]) / 3,
            loss,
            1 / 3,
            "stops",
        )


@pytest.mark.parametrize("density", [0.1, 0.3, 0.9, 1.8, 3.0])
def test_a_density_is_the_common_logarithm_of_what_the_filter_holds_back(checked: Checked, density: float) -> None:
    passed = float(np.power(10.0, -density))

    checked(
        TOPIC,
        "decimal logarithm (NumPy)",
        "transmission of a density",
        passed,
        transmission_from_stops(stops_from_density(density)),
        1e-12,
        "ratio",
    )
    checked(
        TOPIC,
        "decimal logarithm (NumPy)",
        "factor of a density",
        1 / passed,
        factor_from_stops(stops_from_density(density)),
        1e-12,
        "relative",
    )


def polariser(axis_deg: float) -> np.ndarray:
    """The Mueller matrix of a perfect polariser (Hecht, Optics, polarisation; from memory)."""
    c, s = math.cos(2 * math.radians(axis_deg)), math.sin(2 * math.radians(axis_deg))
    return 0.5 * np.array([[1, c, s, 0], [c, c * c, c * s, 0], [s, c * s, s * s, 0], [0, 0, 0, 0]])


UNPOLARISED = np.array([1.0, 0.0, 0.0, 0.0])


@pytest.mark.parametrize("crossed_deg", [0.0, 17.0, 30.0, 45.0, 60.0, 89.0])
def test_a_pair_loses_what_its_mueller_matrices_say(checked: Checked, crossed_deg: float) -> None:
    parallel = (polariser(20.0) @ polariser(20.0) @ UNPOLARISED)[0]
    crossed = (polariser(20.0 + crossed_deg) @ polariser(20.0) @ UNPOLARISED)[0]

    got = crossed_pair_stops(crossed_deg)

    checked(
        TOPIC,
        "Mueller matrices of two polarisers",
        "loss of a crossed pair",
        math.log2(parallel / crossed),
        got,
        1e-9,
        "stops",
    )


def test_a_crossed_pair_passes_nothing_that_its_matrices_can_tell_from_rounding() -> None:
    passed = (polariser(90.0) @ polariser(0.0) @ UNPOLARISED)[0]

    assert passed < 1e-30
    assert crossed_pair_stops(90.0) == math.inf


def test_layers_pass_the_product_of_what_each_passes(checked: Checked) -> None:
    got = stacked_stops([stops_from_transmission(0.7)] * 2)

    checked(TOPIC, "light counted layer by layer", "two diffusers", math.log2(100 / 49), got, 1e-12, "stops")

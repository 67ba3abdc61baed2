"""Where in the whole picture of an ambient check the room comes nearest, on maps of made light."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.ledger.evidence import MID_TONE_STOPS
from webapp.ledger.room_map import WantedAt, nearest_place
from webapp.pictures.light_map import CELLS_ON_SIDE, Extra, LightMap, Place, packed_figures

COLUMNS, ROWS = 12, 8
NOISE = 0.0004


def map_of(
    level: float, glint: tuple[int, int, int, float] | None = None, *, clipped: float = 0.0, seed: int = 1
) -> LightMap:
    """A grey map of one level, with one cell of a tile at another: (row, column, cell, light)."""
    rng = np.random.default_rng(seed)
    planes = np.zeros((2 + len(Extra), ROWS, COLUMNS))
    planes[0] = level + rng.normal(0.0, NOISE / 4, (ROWS, COLUMNS))
    planes[1] = NOISE / 4
    cells = level + rng.normal(0.0, NOISE, (ROWS, COLUMNS, CELLS_ON_SIDE**2))
    planes[2 + Extra.PEAK], planes[2 + Extra.PEAK_AT] = cells.max(axis=2), cells.argmax(axis=2)
    planes[2 + Extra.PEAK_ERROR] = NOISE
    if glint is not None:
        row, column, cell, light = glint
        planes[2 + Extra.PEAK, row, column], planes[2 + Extra.PEAK_AT, row, column] = light, cell
        planes[2 + Extra.PEAK_CLIPPED, row, column] = clipped
    return LightMap(COLUMNS, ROWS, ("grey",), packed_figures(planes))


@given(st.integers(0, ROWS - 1), st.integers(0, COLUMNS - 1), st.integers(0, 15), st.floats(-3.0, 2.0))
def test_a_window_mirrored_in_one_cell_is_found_where_it_is(row: int, column: int, cell: int, stops: float) -> None:
    light = 2.0 ** (stops + MID_TONE_STOPS)

    found = nearest_place(map_of(0.002, (row, column, cell, light)), [], of_raw=True)

    down, across = divmod(cell, CELLS_ON_SIDE)
    middle = ((column + (across + 0.5) / 4) / COLUMNS, (row + (down + 0.5) / 4) / ROWS)
    assert found.place.middle == pytest.approx(middle)
    assert found.read_stops == pytest.approx(stops, abs=0.01)
    assert (found.patch, found.wanted_stops, found.clips) == ("", 0.0, False)


def test_a_shadow_that_is_to_stay_dark_is_nearer_than_a_brighter_place() -> None:
    # −2 about mid-tone where −4 is wanted leaves less than 0 where mid-tone is.
    glint = (4, 6, 0, 2.0 ** (-2.0 + MID_TONE_STOPS))
    shadow = WantedAt("shadow", Place(0.45, 0.45, 0.2, 0.2), -4.0)

    found = nearest_place(map_of(2.0 ** (-3.0 + MID_TONE_STOPS), glint), [shadow], of_raw=True)

    assert found.patch == "shadow"
    assert found.wanted_stops - (found.read_stops or 0.0) == pytest.approx(-2.0, abs=0.01)


def test_of_two_patches_over_each_other_the_darker_wanted_speaks() -> None:
    glint = (4, 6, 0, 0.1)
    patches = [WantedAt("card", Place(0.4, 0.4, 0.3, 0.3), 0.0), WantedAt("rim", Place(0.5, 0.5, 0.1, 0.1), -1.0)]

    assert nearest_place(map_of(0.002, glint), patches, of_raw=True).patch == "rim"
    assert nearest_place(map_of(0.002, glint), patches[::-1], of_raw=True).patch == "rim"


@given(st.integers(0, 10_000))
def test_noise_alone_is_told_as_a_bound(seed: int) -> None:
    found = nearest_place(map_of(0.0, seed=seed), [], of_raw=True)

    assert found.read_stops is None
    # The brightest cell of pure noise and five deviations of it.
    assert 5 * NOISE < 2.0 ** (found.at_most_stops + MID_TONE_STOPS) < 11 * NOISE


@pytest.mark.parametrize(("clipped", "clips"), [(0.0, False), (0.004, False), (0.05, True), (1.0, True)])
def test_where_anything_is_clipped_that_place_is_told(clipped: float, clips: bool) -> None:
    found = nearest_place(map_of(0.002, (1, 2, 5, 0.9), clipped=clipped), [], of_raw=True)

    assert found.clips is clips
    assert found.at_most_stops == pytest.approx(math.log2(0.9) - MID_TONE_STOPS, abs=0.001)

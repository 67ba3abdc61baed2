"""Solving all tiles of a picture as the sum of its lights. Timings are printed, never asserted. Run with: pytest tests/bench
--benchmark-enable
"""

from __future__ import annotations

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from webapp.ledger.left_over_map import Tiles, left_over_map

ROWS, COLUMNS = 20, 30


def tiles(rng: np.random.Generator, light: np.ndarray) -> Tiles:
    error = 0.001 * np.sqrt(light)
    return Tiles(light + rng.normal(0.0, 1.0, light.shape) * error, error, np.ones((ROWS, COLUMNS), dtype=bool))


@pytest.mark.parametrize("lights", [2, 8])
def test_a_map_of_a_frame(benchmark: BenchmarkFixture, lights: int) -> None:
    rng = np.random.default_rng(1)
    pools = [rng.uniform(0.02, 0.1, (3, ROWS, COLUMNS)) for _ in range(lights + 1)]
    seen, sources = tiles(rng, sum(pools)), [tiles(rng, each) for each in pools]

    benchmark(left_over_map, seen, sources, 0.1)

"""100,000 evaluations of the vectorised source illuminance functions beside the plain NumPy expression of
the same formula. Aim: within 1.3 times. Printed, never asserted. Run with: pytest tests/bench --benchmark-enable
"""

from __future__ import annotations

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from webapp.optics import illuminance, sources

COUNT = 100_000
DISTANCE = np.linspace(100.0, 5000.0, COUNT)
OFFSET = np.linspace(0.0, 400.0, COUNT)
ROUNDS = {"rounds": 40, "warmup_rounds": 5}


@pytest.mark.benchmark(group="disc off axis")
def test_disc_by_optics(benchmark: BenchmarkFixture) -> None:
    benchmark.pedantic(lambda: illuminance.relative_illuminance(sources.Disc(600.0), DISTANCE, OFFSET), **ROUNDS)


@pytest.mark.benchmark(group="disc off axis")
def test_disc_by_plain_numpy(benchmark: BenchmarkFixture) -> None:
    def plain() -> np.ndarray:
        d2, a2, r2 = DISTANCE**2, OFFSET**2, 300.0**2
        return 0.5 * (1.0 - (d2 + a2 - r2) / np.sqrt((d2 + a2 + r2) ** 2 - 4.0 * r2 * a2))

    benchmark.pedantic(plain, **ROUNDS)


@pytest.mark.benchmark(group="ring off axis")
def test_ring_by_optics(benchmark: BenchmarkFixture) -> None:
    benchmark.pedantic(
        lambda: illuminance.relative_illuminance(sources.Ring(130.0, 90.0), DISTANCE, OFFSET), **ROUNDS
    )


@pytest.mark.benchmark(group="ring off axis")
def test_ring_by_plain_numpy(benchmark: BenchmarkFixture) -> None:
    def disc(r2: float) -> np.ndarray:
        d2, a2 = DISTANCE**2, OFFSET**2
        return 0.5 * (1.0 - (d2 + a2 - r2) / np.sqrt((d2 + a2 + r2) ** 2 - 4.0 * r2 * a2))

    benchmark.pedantic(lambda: disc(65.0**2) - disc(45.0**2), **ROUNDS)


@pytest.mark.benchmark(group="rectangle off axis")
def test_rectangle_by_optics(benchmark: BenchmarkFixture) -> None:
    benchmark.pedantic(
        lambda: illuminance.relative_illuminance(sources.Rectangle(600.0, 900.0), DISTANCE, OFFSET), **ROUNDS
    )


@pytest.mark.benchmark(group="rectangle off axis")
def test_rectangle_by_plain_numpy(benchmark: BenchmarkFixture) -> None:
    def corner(x: np.ndarray, y: float) -> np.ndarray:
        a, b = x / DISTANCE, y / DISTANCE
        p, q = np.sqrt(1 + a * a), np.sqrt(1 + b * b)
        return (a / p * np.arctan(b / p) + b / q * np.arctan(a / q)) / (2 * np.pi)

    def plain() -> np.ndarray:
        return 2 * (corner(300.0 + OFFSET, 450.0) + corner(300.0 - OFFSET, 450.0))

    benchmark.pedantic(plain, **ROUNDS)

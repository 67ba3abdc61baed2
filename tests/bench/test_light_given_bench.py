"""What each light gave in a frame: eight lights and the room at twelve patches in three colours, of raw files and of JPEGs.

Aim: under 20 ms a frame. Timings are printed, never asserted. Run with: pytest tests/bench --benchmark-enable
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from webapp.ledger.added_up import Part, curve_that_adds_up
from webapp.ledger.exposures import AMBIENT
from webapp.ledger.gains import Level, Place, Solved, Source, solve
from webapp.optics.exposure_series import SeriesFrame, learned_curve
from webapp.optics.tone_curve import ToneCurve, unknown

LIGHTS, PATCHES = 8, 12
POWER = 1.15
Levels = dict[Place, Level]


def levels(light: np.ndarray, power: float = 1.0) -> Levels:
    """Readings at twelve patches in three colours, through a curve that is a power about mid-tone."""
    found = {}
    for patch, each in enumerate(light.tolist()):
        for index, colour in enumerate(("red", "green", "blue")):
            level = 0.18 * (each * (0.9 + 0.1 * index) / 0.18) ** power
            found[str(patch), colour] = Level(level, 0.01 * level)
    return found


@pytest.fixture
def light() -> np.ndarray:
    """Of each light and, last, the room, at each patch, against clipping."""
    reach = np.random.default_rng(3).dirichlet(np.full(PATCHES, 0.5), LIGHTS) * 0.36 + 0.002
    return np.vstack([reach, np.full((1, PATCHES), 0.0008)])


def of_frame(light: np.ndarray) -> np.ndarray:
    """One light half a stop down, one dark."""
    gave = np.ones(LIGHTS + 1)
    gave[0], gave[3] = 2.0**-0.5, 0.0
    seen: np.ndarray = gave @ light
    return seen


def sources(alone: list[Levels]) -> dict[str, Source]:
    names = [*"ABCDEFGH", AMBIENT]
    return {name: Source(each) for name, each in zip(names, alone, strict=True)}


def check(solved: Solved | None) -> None:
    assert solved is not None
    gain = solved.of("A")
    assert gain is not None
    assert gain.stops == pytest.approx(-0.5, abs=0.1)


def test_a_raw_frame(benchmark: BenchmarkFixture, light: np.ndarray) -> None:
    alone = [levels(each) for each in light]

    check(benchmark(lambda: solve(levels(of_frame(light)), sources(alone))))


def test_a_jpeg_whose_curve_is_learned(benchmark: BenchmarkFixture, light: np.ndarray) -> None:
    curve = learned()
    alone = [levels(each, POWER) for each in light]
    frame = levels(of_frame(light), POWER)

    def solved() -> Solved | None:
        return solve(curve.straightened(frame), sources([curve.straightened(each) for each in alone]))

    check(benchmark(solved))


def test_a_jpeg_whose_curve_the_sum_of_lights_narrows(benchmark: BenchmarkFixture, light: np.ndarray) -> None:
    alone = [levels(each, POWER) for each in light]
    together, frame = levels(light.sum(axis=0), POWER), levels(of_frame(light), POWER)

    def solved() -> Solved | None:
        curve = curve_that_adds_up(together, [Part(each) for each in alone[:-1]], unknown())
        assert curve is not None
        return solve(curve.straightened(frame), sources([curve.straightened(each) for each in alone]))

    check(benchmark(solved))


def test_a_curve_of_a_dozen_series(benchmark: BenchmarkFixture) -> None:
    known = benchmark(learned, 12)

    assert known.slope(-2.0) == pytest.approx(1.0 / POWER, abs=0.05)


def learned(series: int = 1) -> ToneCurve:
    """A curve of as many series of six frames."""
    places = np.linspace(-2.5, 0.5, 3 * PATCHES)
    frames = [
        SeriesFrame(stops, 0.04, tuple((POWER * (places + stops)).round(3).tolist()))
        for stops in (0.5, -0.5, -1.5, -2.5, -3.5, math.pi / 3 - 1.0)
    ]
    found = learned_curve([frames] * series)
    assert found is not None
    return found.curve

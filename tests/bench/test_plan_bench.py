"""The plan's partial after a drag with four lights (aim: under 50 ms of server time, evenness map included), and the
shadow card of 320 x 240 with three area lights (aim: under 500 ms on one core), beside the bare cost in NumPy of one
intersection times the rays; and the dearest suggestion, evenness with four lights. Timings are printed, never asserted. Run with: pytest tests/bench --benchmark-enable
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from starlette.testclient import TestClient

from tests import typed
from webapp.app import create_app
from webapp.kit import inventory
from webapp.optics.sources import Disc, Rectangle, Ring
from webapp.plan.positions import Position, place_at
from webapp.plan.shadow_card import HEIGHT_PX, WIDTH_PX, shadow_card_png
from webapp.plan.staging import Plan, PlanLight, Reading
from webapp.plan.suggestions import for_evenness
from webapp.settings import Settings
from webapp.shoots import sessions, set_up_now

SAMPLES = 12
BEARINGS = (-45.0, 50.0, 120.0)


@pytest.fixture
def program(tmp_path: Path) -> Iterator[TestClient]:
    with TestClient(create_app(Settings(data=tmp_path / "data")), headers={"HX-Request": "true"}) as client:
        yield client


@pytest.mark.benchmark(group="plan")
def test_plan_partial_after_a_drag(benchmark: BenchmarkFixture, program: TestClient) -> None:
    records = program.app.state.services.records  # type: ignore[attr-defined]
    shot = sessions.begin_shot(records, sessions.begin_session(records, {"name": "bench"}), {"title": "bench"})
    head = inventory.choices(records).heads[0][0]
    for _ in range(3):
        set_up_now.add_light(records, shot, head)
    for index, letter in enumerate("ABCD"):
        place = f"90 cm, {20 + 25 * index} right, 30 cm above"
        typed.change(records, shot, {f"lights.{letter}.position": place})
    drags = iter(range(1_000_000))

    def drag() -> None:
        place = {"x": f"{400 + next(drags) % 50} mm", "y": "-600 mm", "z": "300 mm"}
        assert program.post(f"/shots/{shot}/plan", data={"field": "lights.B", "drag": "1"} | place).status_code == 200

    benchmark.pedantic(drag, rounds=40, warmup_rounds=5)


@pytest.mark.benchmark(group="shadow card")
def test_shadow_card_with_three_area_lights(benchmark: BenchmarkFixture) -> None:
    faces = (Rectangle(600.0, 900.0), Disc(600.0), Ring(300.0, 150.0))
    lights = tuple(
        PlanLight(
            letter,
            letter,
            "key",
            True,
            face,
            Position(place_at(900.0, bearing, 300.0)),
            Reading(9.0, 1000.0),
            0.0,
            0.0,
        )
        for letter, face, bearing in zip("ABC", faces, BEARINGS, strict=True)
    )
    benchmark.pedantic(lambda: shadow_card_png(Plan(lights)), rounds=8, warmup_rounds=1)


@pytest.mark.benchmark(group="shadow card")
def test_bare_intersections_of_as_many_rays(benchmark: BenchmarkFixture) -> None:
    """A ray and a ball, once for every ray that the card would cast if it spared none: one to the lens and twelve to
    each light from every place."""
    starts = np.random.default_rng(1).normal(size=(WIDTH_PX * HEIGHT_PX, 3))
    ways = np.random.default_rng(2).normal(size=starts.shape)

    def intersect() -> None:
        for _ in range(1 + len(BEARINGS) * SAMPLES):
            b = np.einsum("pi,pi->p", starts, ways)
            c = np.einsum("pi,pi->p", starts, starts) - 1.0
            np.sqrt(np.maximum(b * b - np.einsum("pi,pi->p", ways, ways) * c, 0.0))

    benchmark.pedantic(intersect, rounds=8, warmup_rounds=1)


@pytest.mark.benchmark(group="suggestions")
def test_three_ways_to_evenness_with_four_lights(benchmark: BenchmarkFixture) -> None:
    faces = (Rectangle(600.0, 900.0), Disc(700.0), Rectangle(300.0, 1200.0), Ring(300.0, 150.0))
    lights = tuple(
        PlanLight(
            letter,
            letter,
            "key",
            True,
            face,
            Position(place_at(1000.0, bearing, 300.0)),
            Reading(9.0, 1000.0),
            0.0,
            0.0,
        )
        for letter, face, bearing in zip("ABCD", faces, (-60.0, -25.0, 30.0, 60.0), strict=True)
    )
    benchmark.pedantic(lambda: for_evenness(Plan(lights), "A", 0.02), rounds=8, warmup_rounds=1)

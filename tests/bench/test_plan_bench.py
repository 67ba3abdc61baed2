"""The whole answer to a drag over HTTP, with the cube, evenness and glare of it (aim: under 50 ms of the server's
processor): with four plain heads, and with four softboxes among six things that stop light. What follows it, with four
area lights on a set with table, background and flag: the shadows, and the shadow card from the lens (aim: under 500 ms
together on one core); and the dearest suggestion, evenness with four lights. Timings are those of the processor, printed
and never asserted. Run with: pytest tests/bench --benchmark-enable
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Final

import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from starlette.testclient import TestClient

from tests import typed
from webapp.app import create_app
from webapp.kit import inventory
from webapp.optics.sources import Disc, Rectangle, Ring
from webapp.plan.cube import cube_of
from webapp.plan.levels import evenness
from webapp.plan.positions import ORIGIN, Place, Position, Thing, place_at
from webapp.plan.reflections import gloss
from webapp.plan.shadow_card import shadow_card_png
from webapp.plan.shadows import shadows
from webapp.plan.staging import Plan, PlanLight, Reading
from webapp.plan.suggestions import for_evenness
from webapp.settings import Settings
from webapp.shoots import sessions, set_up_now


@pytest.fixture
def program(tmp_path: Path) -> Iterator[TestClient]:
    with TestClient(create_app(Settings(data=tmp_path / "data")), headers={"HX-Request": "true"}) as client:
        yield client


@pytest.mark.benchmark(group="plan", timer=time.process_time)
def test_plan_partial_after_a_drag(benchmark: BenchmarkFixture, program: TestClient) -> None:
    records = program.app.state.services.records  # type: ignore[attr-defined]
    shot = sessions.begin_shot(records, sessions.begin_session(records, {"name": "bench"}), {"title": "bench"})
    head = inventory.choices(records).heads[0][0]
    for _ in range(3):
        set_up_now.add_light(records, shot, head)
    for index, letter in enumerate("ABCD"):
        place = f"90 cm; {20 + 25 * index} right; 30 cm above"
        typed.change(records, shot, {f"lights.{letter}.position": place})
    drags = iter(range(1_000_000))

    def drag() -> None:
        place = {"x": f"{400 + next(drags) % 50} mm", "y": "-600 mm", "z": "300 mm"}
        assert program.post(f"/shots/{shot}/plan", data={"field": "lights.B", "drag": "1"} | place).status_code == 200

    benchmark.pedantic(drag, rounds=40, warmup_rounds=5)


SOFTBOXES: Final = ("softbox 60 × 60 cm", "strip softbox 30 × 120 cm", "octagon 90 cm", "softbox 60 × 60 cm")
BEARINGS: Final = ("60 left", "20 left", "40 right", "100 right")
CROWD: Final = {
    "subject": ((0, 0, 0), (100, 100, 100)),
    "camera": ((0, -900, 150), (120, 100, 0)),
    "table": ((0, 0, -50), (1200, 0, 800)),
    "background": ((0, 600, 0), (1000, 1000, 0)),
    "flag-1": ((-300, -300, 50), (300, 400, 0)),
    "flag-2": ((-150, -500, 100), (300, 400, 0)),
    "reflector-1": ((300, -100, 0), (300, 400, 0)),
    "reflector-2": ((-250, 150, 0), (300, 400, 0)),
}
"""What stands on a crowded set: where, and how large, in millimetres."""


def crowded_shot(program: TestClient) -> str:
    """The address of a shot with four softboxes, all metered, in a crowd of things."""
    records = program.app.state.services.records  # type: ignore[attr-defined]
    shot = sessions.begin_shot(records, sessions.begin_session(records, {"name": "bench"}), {"title": "bench"})
    choices = inventory.choices(records)
    head, modifiers = choices.heads[0][0], {name: item_id for item_id, name in choices.modifiers}
    for _ in SOFTBOXES[1:]:
        set_up_now.add_light(records, shot, head)
    for name in set(SOFTBOXES):
        said = {"modifier_id": modifiers[name], "f_number": "f/11", "power": "full", "distance_mm": 1000}
        inventory.add_meter_reading(records, head, said)
    for letter, name, bearing in zip("ABCD", SOFTBOXES, BEARINGS, strict=True):
        light = f"lights.{letter}"
        typed.change(records, shot, {f"{light}.modifier": modifiers[name], f"{light}.power": "full"})
        typed.change(records, shot, {f"{light}.position": f"90 cm; {bearing}; 30 cm above"})
    for name, (place, size) in CROWD.items():
        told = dict(zip(("x_mm", "y_mm", "z_mm"), place, strict=True))
        sides = dict(zip(("width_mm", "height_mm", "depth_mm"), size, strict=True))
        address = f"/api/v1/shots/{shot}/plan/things/{name}"
        assert program.put(address, json=told | {"size": sides}, headers={"Idempotency-Key": name}).is_success
    return f"/shots/{shot}"


@pytest.mark.benchmark(group="plan", timer=time.process_time)
@pytest.mark.parametrize("way", ["", "/preview"], ids=["let go", "while it is held"])
@pytest.mark.parametrize("dragged", ["lights.A", "things.flag-1", "things.camera"])
def test_drag_among_four_softboxes_and_six_things(
    benchmark: BenchmarkFixture, program: TestClient, dragged: str, way: str
) -> None:
    """The light of all the other lights is worked out once where a light is dragged, and anew where it is what stops
    light or looks at it."""
    shot, drags = crowded_shot(program), iter(range(1_000_000))

    def drag() -> None:
        place = {"x": f"{-300 + 4 * (next(drags) % 100)} mm", "y": "-600 mm", "z": "250 mm"}
        answer = program.post(f"{shot}/plan{way}", data={"field": dragged, "drag": "hand"} | place)
        assert answer.status_code == 200
        assert "Evenness" in answer.text

    benchmark.pedantic(drag, rounds=40, warmup_rounds=5)


@pytest.mark.benchmark(group="plan", timer=time.process_time)
def test_what_follows_from_a_drag_among_things_that_stop_light(benchmark: BenchmarkFixture) -> None:
    """Four softboxes, each of which a table, a background, a flag or a white card may hide: nothing of it is kept from
    one drag to the next."""
    faces = (Rectangle(600.0, 600.0), Rectangle(300.0, 1200.0), Disc(900.0), Rectangle(600.0, 900.0))
    things = (
        Thing("subject", "subject", Position(ORIGIN), 100.0, 100.0, 100.0),
        Thing("table", "table", Position(Place(0.0, 0.0, -50.0)), 1200.0, 0.0, 800.0),
        Thing("background", "background", Position(Place(0.0, 600.0, 0.0)), 1000.0, 1000.0),
        Thing("flag-1", "flag", Position(Place(-300.0, -300.0, 50.0)), 300.0, 400.0),
        Thing("reflector-1", "reflector", Position(Place(300.0, -100.0, 0.0)), 300.0, 400.0),
    )
    lights = [
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
        for letter, face, bearing in zip("ABCD", faces, (-60.0, -20.0, 40.0, 100.0), strict=True)
    ]
    drags = iter(range(1_000_000))

    def drag() -> None:
        bearing = -60.0 + next(drags) / 1000.0
        moved = replace(lights[0], position=Position(place_at(900.0, bearing, 300.0)))
        plan = Plan((moved, *lights[1:]), things)
        cube_of(plan)
        evenness(plan)
        gloss(plan)

    benchmark.pedantic(drag, rounds=40, warmup_rounds=5)


def a_set() -> Plan:
    """Four area lights around a bottle on a table, with a background, a flag and a camera that looks down a little."""
    faces = (Rectangle(600.0, 900.0), Disc(300.0), Rectangle(300.0, 900.0), Ring(300.0, 150.0))
    places = (place_at(900.0, -45.0, 400.0), place_at(900.0, 50.0, 200.0), place_at(800.0, 100.0, 300.0))
    lights = tuple(
        PlanLight(letter, letter, "key", True, face, Position(place), Reading(9.0, 1000.0), 0.0, 0.0)
        for letter, face, place in zip("ABCD", faces, (*places, place_at(600.0, 0.0, 590.0)), strict=True)
    )
    things = (
        Thing("subject", "subject", Position(ORIGIN), 70.0, 180.0, 70.0),
        Thing("table", "table", Position(Place(0.0, 0.0, -90.0)), 600.0, 0.0, 500.0),
        Thing("background", "background", Position(Place(0.0, 350.0, 0.0)), 400.0, 500.0),
        Thing("flag-1", "flag", Position(Place(300.0, -300.0, 150.0)), 200.0, 200.0),
        Thing("camera", "camera", Position(Place(0.0, -775.0, 150.0)), 120.0, 100.0),
    )
    return Plan(lights, things, (300.0, 200.0), 9.0)


@pytest.mark.benchmark(group="shadows", timer=time.process_time)
def test_shadows_of_four_area_lights(benchmark: BenchmarkFixture) -> None:
    plan = a_set()

    benchmark.pedantic(lambda: shadows(plan), rounds=8, warmup_rounds=1)


@pytest.mark.benchmark(group="shadows", timer=time.process_time)
def test_shadow_card_with_four_area_lights(benchmark: BenchmarkFixture) -> None:
    plan = a_set()

    benchmark.pedantic(lambda: shadow_card_png(plan), rounds=8, warmup_rounds=1)


@pytest.mark.benchmark(group="suggestions", timer=time.process_time)
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

"""Light by chords of a face: against many rays, whatever stands in the way, and against forms that are closed."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.optics.arrays import Floats
from webapp.optics.sources import Disc, Rectangle, Ring, Source
from webapp.plan.illumination import Blocker, facing
from webapp.plan.positions import Place, Position
from webapp.plan.solids import Ball, Block, Sheet, Solid
from webapp.plan.staging import PlanLight
from webapp.plan.visibility import Lamp, lamp_of, light_left, light_past

RAYS = 28657
TURN = math.radians(20.0)
AXES = np.array([[math.cos(TURN), math.sin(TURN), 0.0], [-math.sin(TURN), math.cos(TURN), 0.0], [0.0, 0.0, 1.0]])
SOLIDS: dict[str, Solid] = {
    "block": Block("subject", np.array([5.0, -10.0, 0.0]), AXES, np.array([40.0, 25.0, 60.0])),
    "ball": Ball("subject", np.array([0.0, 10.0, -10.0]), 50.0),
    "flag": Sheet(
        "flag", Blocker(facing(np.array([60.0, -150.0, 150.0]), np.array([0.0, -0.6, 0.8])), 120.0, 80.0, kind="flag")
    ),
    "camera": Sheet(
        "camera", Blocker(facing(np.array([0.0, -200.0, 60.0]), np.array([0.0, -1.0, 0.0])), 100.0, 100.0, True)
    ),
}
FACES: tuple[Source, ...] = (Disc(260.0), Rectangle(400.0, 120.0), Ring(300.0, 220.0))


def lamp(source: Source, x: float, y: float, z: float) -> Lamp:
    return lamp_of(PlanLight("A", "A", "key", True, source, Position(Place(x, y, z))))


def floor(seed: int) -> tuple[Floats, Floats]:
    """Some places on a floor below the things, none of them inside of one."""
    at = np.random.default_rng(seed).uniform(-250.0, 250.0, (3, 24))
    at[2] = -70.0
    return at, np.tile(np.array([[0.0], [0.0], [1.0]]), (1, 24))


@pytest.mark.parametrize("name", SOLIDS)
@settings(max_examples=6)
@given(
    st.sampled_from(FACES),
    st.floats(-500.0, 500.0),
    st.floats(-700.0, -400.0),
    st.floats(-200.0, 600.0),
    st.booleans(),
    st.integers(0, 99),
)
def test_what_comes_past_a_thing_is_what_many_rays_tell(
    name: str, source: Source, x: float, y: float, z: float, through: bool, seed: int
) -> None:
    light, (places, normals), things = lamp(source, x, y, z), floor(seed), ((), (SOLIDS[name],))

    told = light_left(light, places, normals, things, RAYS, through=through)
    traced = light_past(light, places, normals, things, RAYS, through=through)

    for one, other in zip(told, traced, strict=True):
        assert one == pytest.approx(other, abs=0.002 * float(traced[0].max()) + 1e-15)


def test_what_two_things_hide_is_counted_once() -> None:
    light, (places, normals) = lamp(FACES[1], 100.0, -500.0, 400.0), floor(1)
    both = (SOLIDS["block"], SOLIDS["ball"], SOLIDS["flag"])

    told, traced = (each(light, places, normals, (both,), RAYS)[0] for each in (light_left, light_past))

    assert told == pytest.approx(traced, abs=0.002 * float(traced.max()))


def test_a_bare_disc_square_on_is_its_closed_form() -> None:
    """On the axis of a disc of radius R at the distance d, per intensity of its axis: 1/(d² + R²) (lambert-cosine)."""
    place, normal = np.zeros((3, 1)), np.array([[0.0], [-1.0], [0.0]])

    found = light_left(lamp(Disc(400.0), 0.0, -300.0, 0.0), place, normal, ((),), 61)[0]

    assert float(found[0]) == pytest.approx(1.0 / (300.0**2 + 200.0**2), rel=2e-3)


@pytest.mark.parametrize("source", FACES)
def test_a_set_and_its_mirror_image_get_the_same_light(source: Source) -> None:
    places, normals = floor(3)
    mirrored = places * np.array([[-1.0], [1.0], [1.0]])
    body = Block("subject", np.zeros(3), np.eye(3), np.array([40.0, 25.0, 60.0]))

    one, other = (
        light_left(lamp(source, x, -400.0, 350.0), at, normals, ((body,),), 61)[0]
        for x, at in ((300.0, places), (-300.0, mirrored))
    )

    assert one == pytest.approx(other, rel=1e-9, abs=1e-16)


def test_a_place_within_a_thing_gets_nothing() -> None:
    place, normal = np.array([[0.0], [10.0], [0.0]]), np.array([[0.0], [0.0], [1.0]])

    for name in ("block", "ball"):
        assert (
            float(light_left(lamp(Disc(200.0), 0.0, -300.0, 300.0), place, normal, ((SOLIDS[name],),), 61)[0][0]) == 0
        )

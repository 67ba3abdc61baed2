"""The rays that meet the solids of a set, against places walked along the way, and the sparing of rays against casting
all of them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from webapp.plan.illumination import Blocker, facing
from webapp.plan.solids import Around, Ball, Block, Drum, Sheet, Solid, enters, meets

AXES = np.array([[0.8, 0.6, 0.0], [-0.6, 0.8, 0.0], [0.0, 0.0, 1.0]])
MIDDLE = np.array([5.0, -3.0, 2.0])
BLOCK = Block("subject", MIDDLE, AXES, np.array([20.0, 10.0, 30.0]))
BALL = Ball("subject", MIDDLE, 25.0)
DRUM = Drum("subject", MIDDLE, AXES, 25.0, 10.0)
SHEET = Sheet("flag", Blocker(facing(MIDDLE, np.array([0.6, 0.0, 0.8])), 50.0, 40.0))
solids = pytest.mark.parametrize("solid", [BLOCK, BALL, DRUM], ids=["block", "ball", "drum"])
near = st.tuples(*(st.floats(-80.0, 80.0) for _ in range(3)))
far = st.tuples(*(st.floats(-900.0, 900.0) for _ in range(3)))


def inside(solid: Solid, places: NDArray[np.float64], room: float) -> bool:
    """Whether one of the places lies within a solid, by `room` at least."""
    at = np.abs((places - MIDDLE) @ AXES.T)
    if isinstance(solid, Block):
        return bool((at < solid.halves - room).all(axis=1).any())
    if isinstance(solid, Ball):
        return bool((np.linalg.norm(places - MIDDLE, axis=1) < solid.radius - room).any())
    assert isinstance(solid, Drum)
    return bool(((np.hypot(at[:, 0], at[:, 1]) < solid.radius - room) & (at[:, 2] < solid.half - room)).any())


def walked(start: tuple[float, ...], end: tuple[float, ...]) -> NDArray[np.float64]:
    part = np.linspace(0.0, 1.0, 2001)[1:-1, np.newaxis]
    return np.asarray(np.array(start) + part * (np.array(end) - np.array(start)))


@solids
@given(start=near, end=far)
def test_a_way_meets_what_it_runs_through(
    solid: Solid, start: tuple[float, float, float], end: tuple[float, float, float]
) -> None:
    starts, ways = np.array(start)[:, np.newaxis], (np.array(end) - np.array(start))[:, np.newaxis]

    met = bool(meets(solid, starts, ways)[0])

    if inside(solid, walked(start, end), 1e-3):
        assert met
    if met:
        assert inside(solid, np.vstack((walked(start, end), [start], [end])), -1.0)


@pytest.mark.parametrize("solid", [BLOCK, BALL, DRUM, SHEET], ids=["block", "ball", "drum", "sheet"])
@given(start=near, middle=far, off=near, radius=st.floats(0.0, 300.0))
def test_no_place_is_spared_whose_ray_to_the_lamp_meets_something(
    solid: Solid,
    start: tuple[float, float, float],
    middle: tuple[float, float, float],
    off: tuple[float, float, float],
    radius: float,
) -> None:
    length = math.hypot(*off)
    target = np.array(middle) + np.array(off) * (radius / length if length > 1e-6 else 0.0)
    light = Around(np.array(middle), radius, np.stack((np.array(middle) - radius, np.array(middle) + radius, target)))
    starts = np.array(start)[:, np.newaxis]

    if not solid.may_shade(starts, light)[0]:
        assert not meets(solid, starts, target[:, np.newaxis] - starts)[0]


@pytest.mark.parametrize(
    ("solid", "part", "normal"),
    [
        (Block("", np.zeros(3), np.eye(3), np.array([10.0, 20.0, 30.0])), 0.7, [0.0, 0.0, 1.0]),
        (Ball("", np.zeros(3), 30.0), 0.7, [0.0, 0.0, 1.0]),
        (Drum("", np.zeros(3), np.eye(3), 30.0, 10.0), 0.9, [0.0, 0.0, 1.0]),
        (Sheet("", Blocker(facing(np.zeros(3), np.array([0.0, 0.0, 1.0])), 9.0, 9.0)), 1.0, [0.0, 0.0, 1.0]),
    ],
)
def test_a_ray_from_above_comes_upon_the_top(solid: Solid, part: float, normal: list[float]) -> None:
    start, way = np.array([[0.5], [0.5], [100.0]]), np.array([[0.0], [0.0], [-100.0]])

    found = enters(solid, start, way)

    assert found[0] == pytest.approx(part, abs=2e-4)
    assert solid.normals_at(start + found * way)[:, 0] == pytest.approx(normal, abs=0.03)

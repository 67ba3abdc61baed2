"""The light on each side of the subject against adding up thin slices of every face, written here on its own: with a flag,
a table, a background and a white card in place, for a camera that is level, tilted and overhead.

Tolerances: 0.01 stop for a side of the cube and the meters, 0.05 stop for what a white card gives back.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray

from webapp.optics.sources import Disc, Point, Rectangle, Source
from webapp.plan.cards import WHITE
from webapp.plan.cube import Cube, cube_of
from webapp.plan.positions import ORIGIN, Place, Position, Thing
from webapp.plan.staging import Guide, Plan, PlanLight

Checked = Callable[[str, str, str, float, float, float, str], None]
Vector = NDArray[np.float64]

TOPIC = "light on the sides of the subject"
SLICES = "thin slices of every face added up"
GUIDE_M = 40.0


# --- on its own -------------------------------------------------------------------------------------------------


@dataclass
class Flat:
    """A flat thing: middle, normal, sides."""

    middle: Vector
    normal: Vector
    across: Vector
    up: Vector
    width: float
    height: float

    @classmethod
    def facing(cls, at: Sequence[float], aim: Sequence[float], width: float, height: float) -> Flat:
        middle = np.array(at, dtype=float)
        normal = np.array(aim, dtype=float) - middle
        normal /= math.sqrt(float(normal @ normal))
        across = np.array([-normal[1], normal[0], 0.0])
        across = across / math.hypot(*across) if math.hypot(*across) > 1e-9 else np.array([1.0, 0.0, 0.0])
        return cls(middle, normal, across, np.cross(normal, across), width, height)

    def slices(self, count: int, *, is_round: bool = False) -> tuple[Vector, float]:
        """The middles of equal squares, and the area of each."""
        u = (np.arange(count) + 0.5) / count - 0.5
        x, y = (each.ravel() for each in np.meshgrid(u * self.width, u * self.height))
        if is_round:
            keep = x**2 + y**2 <= self.width**2 / 4.0
            x, y = x[keep], y[keep]
        places = self.middle + x[:, None] * self.across + y[:, None] * self.up
        return places, self.width * self.height / count**2

    def stops_way(self, start: Vector, ends: Vector) -> NDArray[np.bool_]:
        """Which of the straight ways from one place run through it, short of their ends."""
        way = ends - start
        rise = way @ self.normal
        with np.errstate(divide="ignore", invalid="ignore"):
            t = ((self.middle - start) @ self.normal) / rise
            hit = start + t[:, None] * way - self.middle
            inside = (np.abs(hit @ self.across) < self.width / 2.0) & (np.abs(hit @ self.up) < self.height / 2.0)
        return np.asarray((t > 1e-7) & (t < 1.0 - 1e-7) & inside)


@dataclass
class Lamp:
    """A face of one unit of intensity along its axis, in slices."""

    face: Flat
    is_round: bool
    is_point: bool
    stops: float = 0.0

    def reaching(self, there: Vector, stoppers: Sequence[Flat], count: int) -> tuple[Vector, Vector]:
        """Unit directions to the slices, and what each gives square to it at a place."""
        if self.is_point:
            places, part = self.face.middle[None, :], 1.0
        else:
            places, _ = self.face.slices(count, is_round=self.is_round)
            part = 1.0 / len(places)
        way = places - there
        r = np.sqrt((way**2).sum(axis=1))
        towards = way / r[:, None]
        leaving = np.maximum(-(towards @ self.face.normal), 0.0)
        if self.is_point:
            leaving = (leaving > 0.0).astype(float)
        light = part * leaving / r**2
        for each in stoppers:
            light[each.stops_way(there, places)] = 0.0
        return towards, light * 2.0**self.stops


def from_card(card: Flat, lamps: Sequence[Lamp], stoppers: Sequence[Flat], there: Vector) -> tuple[Vector, Vector]:
    """What a matt white card sends to a place of the light of the lamps, slice by slice."""
    places, area = card.slices(40)
    falls = np.zeros(len(places))
    others = [each for each in stoppers if each is not card]
    for lamp in lamps:
        for index, place in enumerate(places):
            towards, light = lamp.reaching(place, others, 60)
            falls[index] += float(np.maximum(towards @ card.normal, 0.0) @ light)
    way = places - there
    r = np.sqrt((way**2).sum(axis=1))
    towards = way / r[:, None]
    light = 0.9 * falls / math.pi * area * np.maximum(-(towards @ card.normal), 0.0) / r**2
    for each in others:
        light[each.stops_way(there, places)] = 0.0
    return towards, light


# --- the set ----------------------------------------------------------------------------------------------------

CAMERAS = {
    "level": (0.0, -1000.0, 0.0),
    "tilted": (0.0, -800.0, 460.0),
    "overhead": (0.0, 0.0, 1000.0),
}
LIGHTS: dict[str, tuple[tuple[float, float, float], tuple[float, float, float], Source, float]] = {
    "A": ((-620.0, -520.0, 380.0), (0.0, 0.0, 0.0), Rectangle(600.0, 900.0), 0.0),
    "B": ((500.0, 300.0, 420.0), (0.0, 0.0, 0.0), Disc(420.0), -1.5),
    # A part of it stands lower than the table, and a part of that is seen past the edge.
    "C": ((700.0, -800.0, -150.0), (0.0, 0.0, 0.0), Rectangle(300.0, 400.0), -0.5),
    # Behind the background, and over it.
    "D": ((-100.0, 900.0, 700.0), (0.0, 0.0, 0.0), Point(), -1.0),
}
THINGS = (
    Thing("subject", "subject", Position(ORIGIN), 80.0, 160.0, 80.0),
    Thing("table", "table", Position(Place(0.0, 0.0, -80.0)), 1100.0, 0.0, 700.0),
    Thing("background", "background", Position(Place(0.0, 600.0, 0.0)), 1600.0, 900.0),
    # Over a part of A, askew to it.
    Thing("flag-1", "flag", Position(Place(-300.0, -330.0, 150.0), Place(0.0, 0.0, 30.0)), 250.0, 150.0),
    Thing("reflector-1", "reflector", Position(Place(260.0, -60.0, 20.0), Place(0.0, 0.0, 0.0)), 300.0, 400.0),
)


def plan_with(camera: tuple[float, float, float]) -> Plan:
    lights = tuple(
        PlanLight(
            letter,
            letter,
            "key" if letter == "A" else "fill",
            True,
            source,
            Position(Place(*at), Place(*aim)),
            None,
            stops,
            0.0,
            Guide(GUIDE_M),
        )
        for letter, (at, aim, source, stops) in LIGHTS.items()
    )
    return Plan(lights, (*THINGS, Thing("camera", "camera", Position(Place(*camera)), 80.0, 80.0)))


def lamps() -> dict[str, Lamp]:
    found = {}
    for letter, (at, aim, source, stops) in LIGHTS.items():
        width, height = 1.0, 1.0
        if isinstance(source, Rectangle):
            width, height = source.width_mm, source.height_mm
        if isinstance(source, Disc):
            width = height = source.diameter_mm
        face = Flat.facing(at, aim, width, height)
        found[letter] = Lamp(face, isinstance(source, Disc), isinstance(source, Point), stops)
    return found


TABLE = Flat(
    np.array([0.0, 0.0, -80.0]),
    np.array([0.0, 0.0, 1.0]),
    np.array([1.0, 0, 0]),
    np.array([0, 1.0, 0]),
    1100.0,
    700.0,
)
BACKGROUND = Flat.facing((0.0, 600.0, 0.0), (0.0, 0.0, 0.0), 1600.0, 900.0)
FLAG = Flat.facing((-300.0, -330.0, 150.0), (0.0, 0.0, 30.0), 250.0, 150.0)
CARD = Flat.facing((260.0, -60.0, 20.0), (0.0, 0.0, 0.0), 300.0, 400.0)
STOPPERS = (TABLE, BACKGROUND, FLAG, CARD)

SIDES: dict[str, dict[str, tuple[float, float, float]]] = {
    "level": {"lens": (0, -1, 0), "left": (-1, 0, 0), "right": (1, 0, 0), "top": (0, 0, 1), "back": (0, 1, 0)},
    "tilted": {
        "lens": (0, -800.0 / math.hypot(800.0, 460.0), 460.0 / math.hypot(800.0, 460.0)),
        "left": (-1, 0, 0),
        "right": (1, 0, 0),
        "top": (0, 0, 1),
        "back": (0, 1, 0),
    },
    "overhead": {"lens": (0, 0, 1), "left": (-1, 0, 0), "right": (1, 0, 0), "far": (0, 1, 0), "near": (0, -1, 0)},
}


def level(light: float) -> float:
    return 2.0 * math.log2(1000.0 * GUIDE_M) + math.log2(light)


@pytest.fixture(scope="module")
def straight() -> dict[str, tuple[Vector, Vector]]:
    return {letter: lamp.reaching(np.zeros(3), STOPPERS, 700) for letter, lamp in lamps().items()}


@pytest.fixture(scope="module")
def by_card() -> tuple[Vector, Vector]:
    return from_card(CARD, list(lamps().values()), STOPPERS, np.zeros(3))


def cube_without_card(camera: str) -> Cube:
    plan = plan_with(CAMERAS[camera])
    # Black on the side to the subject, the card stops light and gives none.
    black = tuple(replace(each, kind="flag") if each.kind == "reflector" else each for each in plan.things)
    found = cube_of(replace(plan, things=black))
    assert found is not None
    return found


@pytest.mark.parametrize("camera", CAMERAS)
def test_each_light_on_each_side_is_that_of_its_slices(
    checked: Checked, straight: dict[str, tuple[Vector, Vector]], camera: str
) -> None:
    sides = {side.surface.name: side for side in cube_without_card(camera).sides}

    for name, normal in SIDES[camera].items():
        for letter, (towards, light) in straight.items():
            expected = float(np.maximum(towards @ np.array(normal, dtype=float), 0.0) @ light)
            got = sides[name].by_light[letter]
            if got is None:
                assert level(max(expected, 1e-30)) < (sides["dome"].total or 0.0) - 9.0
                continue
            checked(TOPIC, SLICES, f"a side of the cube, camera {camera}", level(expected), got, 0.01, "stops")


@pytest.mark.parametrize("camera", CAMERAS)
def test_a_dome_and_a_flat_meter_read_the_sum_of_the_slices(
    checked: Checked, straight: dict[str, tuple[Vector, Vector]], camera: str
) -> None:
    sides = {side.surface.name: side for side in cube_without_card(camera).sides}
    to_lens = np.array(SIDES[camera]["lens"], dtype=float)

    for letter, (towards, light) in straight.items():
        dome = float((0.5 + 0.5 * (towards @ to_lens)) @ light)
        # The flat meter is turned by search to where it reads the most.
        turned = (light @ towards) / np.linalg.norm(light @ towards)
        most = float(np.maximum(towards @ turned, 0.0) @ light)
        got_dome, got_flat = sides["dome"].by_light[letter], sides["flat"].by_light[letter]
        assert got_dome is not None
        assert got_flat is not None
        checked(TOPIC, SLICES, "a dome to the lens", level(dome), got_dome, 0.01, "stops")
        checked(TOPIC, SLICES, "a flat meter turned to the light", level(most), got_flat, 0.01, "stops")


@pytest.mark.parametrize("camera", CAMERAS)
def test_a_white_card_gives_back_the_sum_of_its_slices(
    checked: Checked, straight: dict[str, tuple[Vector, Vector]], by_card: tuple[Vector, Vector], camera: str
) -> None:
    found = cube_of(plan_with(CAMERAS[camera]))
    assert found is not None
    (fill,) = found.fills
    towards, light = straight["A"]
    key = float(np.linalg.norm(light @ towards))
    from_it, sent = by_card

    assert WHITE == 0.9
    assert fill.key == "A"
    assert fill.under_key[0][0] == "right"
    for name, under in fill.under_key:
        expected = float(np.maximum(from_it @ np.array(SIDES[camera][name], dtype=float), 0.0) @ sent)
        checked(TOPIC, SLICES, "fill by a white card", math.log2(expected / key), under, 0.05, "stops")

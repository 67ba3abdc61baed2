"""A flat gloss by casting rays: from the lens to places of the subject, turned there, and on to whatever they meet first.

The tracer has its own vectors and knows nothing of how the program does it; only the set is built of the program's values.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from webapp.optics.sources import Disc, Rectangle, Ring
from webapp.plan.positions import ORIGIN, Place, Position, Thing
from webapp.plan.reflections import gloss
from webapp.plan.staging import Plan, PlanLight

TOPIC = "shadows and reflections"
RAYS = "a million rays turned at the gloss as vectors"

Checked = Callable[[str, str, str, float, float, float, str], None]
Vector = NDArray[np.float64]
PER_SIDE = 1000


def unit(vector: Vector) -> Vector:
    return vector / np.linalg.norm(vector)


def spin(vector: Vector, axis: Vector, degrees: float) -> Vector:
    """A vector turned about an axis, by Rodrigues' formula."""
    angle = math.radians(degrees)
    return (
        vector * math.cos(angle)
        + np.cross(axis, vector) * math.sin(angle)
        + axis * (axis @ vector) * (1.0 - math.cos(angle))
    )


@dataclass(frozen=True)
class Card:
    """A flat thing at a place that faces the subject: width and height, or the outer and inner diameter of a round one.
    `level`: a table top. `back`: it shows from behind, too."""

    at: tuple[float, float, float]
    size: tuple[float, float]
    round: bool = False
    level: bool = False
    back: bool = True

    def hit(self, starts: Vector, ways: Vector) -> Vector:
        """How far along each way it is met; infinite where it is not."""
        middle = np.array(self.at)
        normal = np.array([0.0, 0.0, 1.0]) if self.level else unit(-middle)
        # The width stays level; of one that faces straight up or down it runs from left to right.
        sideways = np.cross(normal, [0.0, 0.0, 1.0])
        right = unit(sideways) if np.linalg.norm(sideways) > 1e-9 else np.array([1.0, 0.0, 0.0])
        top = np.cross(right, normal)
        with np.errstate(divide="ignore", invalid="ignore"):
            along = ((middle - starts) @ normal) / (ways @ normal)
            meets = starts + along[:, np.newaxis] * ways - middle
        x, y = meets @ right, meets @ top
        if self.round:
            inside = (np.hypot(x, y) <= self.size[0] / 2) & (np.hypot(x, y) >= self.size[1] / 2)
        else:
            inside = (np.abs(x) <= self.size[0] / 2) & (np.abs(y) <= self.size[1] / 2)
        return np.where(inside & (along > 1e-6), along, np.inf)

    def is_front(self, starts: Vector, ways: Vector) -> NDArray[np.bool_]:
        return self.back | (ways @ unit(-np.array(self.at)) < 0.0)


@dataclass(frozen=True)
class Scene:
    """A lens, a subject as wide and as high as its gloss, turned and tilted, and what stands around."""

    lens: tuple[float, float, float]
    gloss: tuple[float, float]
    lights: Mapping[str, Card]
    things: Mapping[str, Card]
    turned: float = 0.0
    tilted: float = 0.0

    def traced(self) -> dict[str, float]:
        """The part of the gloss that shows each thing."""
        starts, ways = self.rays()
        everything = {**self.lights, **self.things}
        met = np.array([each.hit(starts, ways) for each in everything.values()])
        first = np.where(np.isfinite(met.min(axis=0)), met.argmin(axis=0), -1)
        return {
            name: float(np.mean((first == at) & each.is_front(starts, ways)))
            for at, (name, each) in enumerate(everything.items())
        }

    def rays(self) -> tuple[Vector, Vector]:
        lens = np.array(self.lens)
        normal = unit(lens)
        if self.turned:
            normal = spin(normal, np.array([0.0, 0.0, 1.0]), self.turned)
        sideways = np.cross([0.0, 0.0, 1.0], normal)
        right = unit(sideways) if np.linalg.norm(sideways) > 1e-9 else np.array([1.0, 0.0, 0.0])
        # Leaning back: its top goes away from the lens.
        normal = spin(normal, right, -self.tilted)
        top = np.cross(normal, right)
        places = (np.arange(PER_SIDE) + 0.5) / PER_SIDE - 0.5
        x, y = np.meshgrid(places * self.gloss[0], places * self.gloss[1])
        starts = x.reshape(-1, 1) * right + y.reshape(-1, 1) * top
        comes = starts - lens
        return starts, comes - 2.0 * (comes @ normal)[:, np.newaxis] * normal

    def plan(self) -> Plan:
        width, height = self.gloss
        overhead = abs(self.lens[2]) > math.hypot(*self.lens[:2])
        deep = (3.0, height) if overhead else (height, 0.0)
        subject = Thing("subject", "subject", Position(ORIGIN), width, *deep, self.turned, self.tilted)
        camera = Thing("camera", "camera", Position(Place(*self.lens)), 0.0, 0.0)
        lights = tuple(
            PlanLight(name, name, "key", True, source_of(each), Position(Place(*each.at)))
            for name, each in self.lights.items()
        )
        return Plan(lights, (subject, camera, *(thing_of(name, each) for name, each in self.things.items())))


def source_of(card: Card) -> Rectangle | Disc | Ring:
    if not card.round:
        return Rectangle(*card.size)
    return Ring(*card.size) if card.size[1] else Disc(card.size[0])


def thing_of(name: str, card: Card) -> Thing:
    if card.level:
        return Thing(name, "table", Position(Place(*card.at)), card.size[0], 0.0, card.size[1])
    return Thing(name, "flag", Position(Place(*card.at)), *card.size)


def softbox(*at: float, size: tuple[float, float] = (400.0, 600.0)) -> Card:
    return Card((at[0], at[1], at[2]), size, back=False)


def dish(*at: float, outer: float, inner: float = 0.0) -> Card:
    return Card((at[0], at[1], at[2]), (outer, inner), round=True, back=False)


SCENES = {
    "camera level": Scene(
        (0.0, -900.0, 0.0),
        (300.0, 200.0),
        {"A": softbox(600.0, -500.0, 250.0), "B": dish(-380.0, -760.0, 100.0, outer=300.0)},
        {"flag-1": Card((380.0, -390.0, 130.0), (90.0, 120.0))},
        turned=21.0,
    ),
    "camera tilted": Scene(
        (0.0, -700.0, 420.0),
        (260.0, 180.0),
        {
            "A": softbox(150.0, -650.0, 700.0),
            "B": dish(-250.0, -300.0, 900.0, outer=420.0, inner=180.0),
            "C": softbox(0.0, -200.0, 1200.0, size=(900.0, 500.0)),
        },
        {"flag-1": Card((60.0, -330.0, 560.0), (80.0, 60.0)), "table": Card((0.0, 0.0, -90.0), (900.0, 700.0), level=True)},
        tilted=14.0,
    ),
    "camera overhead": Scene(
        (0.0, 0.0, 600.0),
        (180.0, 140.0),
        {
            "A": softbox(-80.0, 320.0, 700.0, size=(300.0, 400.0)),
            "B": dish(0.0, 0.0, 420.0, outer=240.0, inner=120.0),
        },
        {"flag-1": Card((20.0, 150.0, 380.0), (70.0, 50.0))},
        tilted=11.0,
    ),
    "lying far back, a light half behind its plane": Scene(
        (0.0, -800.0, 100.0),
        (200.0, 200.0),
        {"A": softbox(-36.0, 111.0, 44.0, size=(140.0, 120.0)), "B": softbox(60.0, 700.0, 520.0, size=(260.0, 300.0))},
        {"flag-1": Card((20.0, 200.0, 190.0), (60.0, 60.0))},
        turned=18.0,
        tilted=62.0,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", SCENES)
def test_the_part_of_a_gloss_that_shows_a_light_is_what_cast_rays_meet_first(checked: Checked, name: str) -> None:
    scene = SCENES[name]
    found = gloss(scene.plan())
    assert found is not None
    shown = {each.name.replace(" ", "-"): each.fraction for each in found.mirrored}

    traced = scene.traced()

    assert sum(part > 0.02 for part in traced.values()) >= 2, traced
    for thing, part in traced.items():
        if part > 0.005:
            checked(TOPIC, RAYS, f"part of the gloss, {name}", part, shown[thing], 0.02, "relative")
        else:
            assert shown[thing] == pytest.approx(part, abs=0.0002)


@pytest.mark.parametrize("name", SCENES)
def test_the_family_of_angles_off_the_lens_axis_is_where_the_turned_rays_come_to(checked: Checked, name: str) -> None:
    scene = SCENES[name]
    found = gloss(scene.plan())
    assert found is not None
    families = {each.name: each.family for each in found.mirrored}
    starts, ways = scene.rays()
    ways = ways / np.linalg.norm(ways, axis=1)[:, np.newaxis]
    for letter, each in scene.lights.items():
        distance = float(np.linalg.norm(each.at))
        half = np.einsum("pi,pi->p", starts, ways)
        with np.errstate(invalid="ignore"):
            along = np.sqrt(half**2 - np.einsum("pi,pi->p", starts, starts) + distance**2) - half
        ends = (starts + along[:, np.newaxis] * ways) / distance
        angles = np.degrees(np.arccos(np.clip(ends @ unit(np.array(scene.lens)), -1.0, 1.0)))
        family = families[letter]
        if family is None:
            # Nearer than the corners of the gloss, where not every ray comes to the distance.
            assert distance < math.hypot(*scene.gloss) / 2
            continue
        least = 0.0 if not family.side else float(angles.min())

        checked(TOPIC, RAYS, "family of angles off the lens axis", float(angles.max()), family.to_deg, 0.1, "°")
        checked(TOPIC, RAYS, "family of angles off the lens axis", least, family.from_deg, 0.1, "°")
        assert family.side or angles.min() < 0.2

"""Shadows against rays that are traced here by other means: by random places on the lamp (a fixed seed, stratified), a
block tested by its slabs and a card by its plane, written anew with nothing of the program's; and against closed forms:
the ramp of a half plane before an even rectangle or disc, by similar triangles (definition).

Tolerances: depth 0.03 stop, width from 10 to 90 % 3 %.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq

from webapp.optics.sources import Disc, Rectangle, Ring, Source
from webapp.plan.positions import ORIGIN, Place, Position, Thing
from webapp.plan.reasons import Reason
from webapp.plan.shadows import Shadow, shadow, shadows
from webapp.plan.staging import Plan, PlanLight, Reading
from webapp.plan.surfaces import On

Array = NDArray[np.float64]
STOPS = 0.03
WIDTH = 0.03


# --- the other tracer ------------------------------------------------------------------------------------------------


def unit(way: Array) -> Array:
    return np.asarray(way / np.linalg.norm(way))


def frame(middle: Array, aim: Array) -> tuple[Array, Array, Array]:
    """The normal, the level direction and the third of what is flat and aimed."""
    normal = unit(aim - middle)
    level = np.cross([0.0, 0.0, 1.0], normal)
    level = unit(level) if np.linalg.norm(level) > 1e-9 else np.array([1.0, 0.0, 0.0])
    return normal, level, np.cross(normal, level)


@dataclass(frozen=True)
class Card:
    middle: Array
    aim: Array
    width: float
    height: float

    def stops(self, start: Array, end: Array) -> NDArray[np.bool_]:
        normal, level, third = frame(self.middle, self.aim)
        one, other = (start - self.middle) @ normal, (end - self.middle) @ normal
        crosses = one * other < 0.0
        part = one / np.where(crosses, one - other, 1.0)
        hit = start + part[..., np.newaxis] * (end - start) - self.middle
        return np.asarray(
            crosses & (np.abs(hit @ level) < self.width / 2.0) & (np.abs(hit @ third) < self.height / 2.0)
        )


@dataclass(frozen=True)
class Brick:
    size: Array

    def stops(self, start: Array, end: Array) -> NDArray[np.bool_]:
        way = end - start
        way = np.where(np.abs(way) < 1e-9, 1e-9, way)
        one, other = (-self.size / 2.0 - start) / way, (self.size / 2.0 - start) / way
        into = np.minimum(one, other).max(axis=-1)
        out = np.maximum(one, other).min(axis=-1)
        return np.asarray((into < out) & (out > 0.0) & (into < 1.0))


@dataclass(frozen=True)
class Glow:
    """A lamp that glows evenly, aimed at the origin."""

    source: Source
    middle: Array

    def places(self, per_side: int, rng: np.random.Generator) -> Array:
        _, level, third = frame(self.middle, np.zeros(3))
        cells = (np.arange(per_side) + 0.5) / per_side
        u, v = (each.ravel() for each in np.meshgrid(cells, cells))
        u = u + (rng.random(u.shape) - 0.5) / per_side
        v = v + (rng.random(v.shape) - 0.5) / per_side
        if isinstance(self.source, Rectangle):
            x, y = (u - 0.5) * self.source.width_mm, (v - 0.5) * self.source.height_mm
        else:
            assert isinstance(self.source, Disc | Ring)
            outer = self.source.diameter_mm / 2.0
            inner = self.source.inner_diameter_mm / 2.0 if isinstance(self.source, Ring) else 0.0
            radius = np.sqrt(inner**2 + (outer**2 - inner**2) * u)
            x, y = radius * np.cos(2.0 * np.pi * v), radius * np.sin(2.0 * np.pi * v)
        return np.asarray(self.middle + x[:, np.newaxis] * level + y[:, np.newaxis] * third)

    def light(self, at: Array, slope: Array, things: list[Card | Brick], per_side: int) -> Array:
        """What comes past things to each of some places."""
        spots = self.places(per_side, np.random.default_rng(11))
        normal = unit(-self.middle)
        found = np.empty(len(at))
        for index, place in enumerate(at):
            ways = spots - place
            squared = (ways**2).sum(axis=1)
            given = np.maximum(ways @ slope, 0.0) * np.maximum(-(ways @ normal), 0.0) / squared**2
            for thing in things:
                given = np.where(thing.stops(np.broadcast_to(place, spots.shape), spots), 0.0, given)
            found[index] = given.mean()
        return found


@dataclass(frozen=True)
class Scene:
    """A set that is a mirror image of itself about the plane in which the shadow runs."""

    name: str
    on: On
    lamp: Glow
    camera: tuple[float, float, float]
    subject: tuple[float, float, float]
    surface: Card
    run: tuple[float, float, float]
    reach: tuple[float, float]
    """Where along the run the far edge of the shadow lies, from the middle of the surface."""
    field_mm: tuple[float, float] = (500.0, 400.0)
    cards: tuple[Card, ...] = ()
    others: tuple[Glow, ...] = field(default=())

    @property
    def slope(self) -> Array:
        return frame(self.surface.middle, self.surface.aim)[0]

    @property
    def brick(self) -> Brick:
        return Brick(np.array([self.subject[0], self.subject[2], self.subject[1]]))

    def plan(self) -> Plan:
        lamps = (self.lamp, *self.others)
        lights = tuple(
            PlanLight(
                letter,
                letter,
                "key",
                True,
                each.source,
                Position(Place(*each.middle)),
                Reading(9.0, 1000.0),
                0.0,
                0.0,
            )
            for letter, each in zip("ABC", lamps, strict=False)
        )
        kind = self.on
        surface = Position(Place(*self.surface.middle), Place(*self.surface.aim))
        sides = (self.surface.width, 0.0, self.surface.height)
        if kind == "background":
            sides = (self.surface.width, self.surface.height, 0.0)
        flags = tuple(
            Thing(f"flag-{number}", "flag", Position(Place(*each.middle), Place(*each.aim)), each.width, each.height)
            for number, each in enumerate(self.cards, 1)
        )
        return Plan(
            lights,
            (
                Thing("subject", "subject", Position(ORIGIN), *self.subject),
                Thing("camera", "camera", Position(Place(*self.camera)), 0.0, 0.0),
                Thing(kind, kind, surface, *sides),  # type: ignore[arg-type]
                *flags,
            ),
            self.field_mm,
        )

    def left(self, at: Array, per_side: int) -> tuple[Array, Array]:
        """The light without the subject and with it."""
        rest: list[Card | Brick] = [*self.cards, self.surface]
        lifted = at + 1e-3 * self.slope
        return tuple(  # type: ignore[return-value]
            self.lamp.light(lifted, self.slope, things, per_side) for things in (rest, [*rest, self.brick])
        )

    def of_others(self, at: Array, per_side: int) -> Array:
        """The light of the other lamps, against one that the meter read the same at a metre."""
        things: list[Card | Brick] = [*self.cards, self.surface, self.brick]
        total = np.zeros(len(at))
        for each in self.others:
            light = each.light(at + 1e-3 * self.slope, self.slope, things, per_side)
            total += light * read_at_a_metre(self.lamp.source) / read_at_a_metre(each.source)
        return total

    def seen(self, at: Array) -> NDArray[np.bool_]:
        eye = np.array(self.camera)
        normal, level, third = frame(np.zeros(3), eye)
        away = (eye - at) @ normal
        in_plane = eye + (at - eye) * (np.linalg.norm(eye) / away)[:, np.newaxis]
        inside = (np.abs(in_plane @ level) < self.field_mm[0] / 2.0) & (
            np.abs(in_plane @ third) < self.field_mm[1] / 2.0
        )
        lifted = at + 1e-3 * self.slope
        ends = np.broadcast_to(eye, at.shape)
        for thing in (self.brick, *self.cards):
            inside &= ~thing.stops(lifted, ends)
        return np.asarray(inside)


def read_at_a_metre(source: Source) -> float:
    glow = Glow(source, np.array([0.0, -1000.0, 0.0]))
    return float(glow.light(np.zeros((1, 3)), np.array([0.0, -1.0, 0.0]), [], 100)[0])


def grid(scene: Scene, middle: Array, half: float, per_side: int) -> Array:
    _, level, third = frame(scene.surface.middle, scene.surface.aim)
    side = np.linspace(-half, half, per_side)
    u, v = (each.ravel() for each in np.meshgrid(side, side))
    at = middle + u[:, np.newaxis] * level + v[:, np.newaxis] * third
    off = at - scene.surface.middle
    on_it = (np.abs(off @ level) < scene.surface.width / 2.0) & (np.abs(off @ third) < scene.surface.height / 2.0)
    return np.asarray(at[on_it])


def deepest(scene: Scene) -> tuple[float, float]:
    """The depth at the deepest place that is seen, in the lamp alone and in the light of all; each looked for by itself,
    ever closer."""
    found = []
    for alone in (True, False):
        middle, half, depth = scene.surface.middle, 200.0, 0.0
        for per_side, rays in ((25, 8), (11, 24), (7, 80)):
            at = grid(scene, middle, half, per_side)
            at = at[scene.seen(at)]
            free, past = scene.left(at, rays)
            others = np.zeros(len(at)) if alone else scene.of_others(at, rays)
            depths = np.log2((free + others) / np.maximum(past + others, 1e-6 * free))
            best = int(depths.argmax())
            middle, half, depth = at[best], half / (per_side - 1) * 2.0, float(depths[best])
        found.append(depth)
    return found[0], found[1]


def width(scene: Scene) -> float:
    """From 10 to 90 % across the far edge, on the line on which the shadow runs."""
    lengths = np.linspace(*scene.reach, 121)
    at = scene.surface.middle + lengths[:, np.newaxis] * np.array(scene.run)
    free, past = scene.left(at, 60)
    part = past / free
    low = float(part.min())
    assert part[-1] > 0.999, "the far edge ends within the reach"
    rising = slice(int(part.argmin()), None)
    levels = [low + share * (1.0 - low) for share in (0.1, 0.9)]
    ends = [float(np.interp(level, part[rising], lengths[rising])) for level in levels]
    return ends[1] - ends[0]


TABLE = Card(np.array([0.0, 0.0, -60.0]), np.array([0.0, 0.0, 1000.0]), 900.0, 800.0)
SCENES = (
    Scene(
        "a level camera, a strip behind, half of it flagged",
        "table",
        Glow(Rectangle(300.0, 200.0), np.array([0.0, 800.0, 600.0])),
        (0.0, -1000.0, 0.0),
        (80.0, 120.0, 50.0),
        TABLE,
        (0.0, -1.0, 0.0),
        (25.5, 330.0),
        cards=(Card(np.array([0.0, 500.0, 330.0]), np.zeros(3), 400.0, 60.0),),
    ),
    Scene(
        "a tilted camera, a disc from the side past a flag",
        "table",
        Glow(Disc(240.0), np.array([900.0, 0.0, 700.0])),
        (0.0, -900.0, 600.0),
        (80.0, 120.0, 50.0),
        TABLE,
        (-1.0, 0.0, 0.0),
        (40.5, 320.0),
        (700.0, 500.0),
        cards=(Card(np.array([500.0, 0.0, 410.0]), np.zeros(3), 160.0, 50.0),),
    ),
    Scene(
        "an overhead camera, a ring from the left over a card below",
        "background",
        Glow(Ring(160.0, 90.0), np.array([-400.0, 0.0, 300.0])),
        (0.0, 0.0, 900.0),
        (60.0, 20.0, 40.0),
        Card(np.array([0.0, 0.0, -50.0]), np.zeros(3), 500.0, 500.0),
        (1.0, 0.0, 0.0),
        (70.0, 220.0),
        cards=(Card(np.array([0.0, -300.0, 100.0]), np.zeros(3), 100.0, 100.0),),
    ),
    Scene(
        "a tilted camera, a large box overhead that leaves no full shadow, and a fill",
        "table",
        Glow(Rectangle(700.0, 500.0), np.array([350.0, 0.0, 620.0])),
        (0.0, -900.0, 600.0),
        (60.0, 50.0, 60.0),
        Card(np.array([0.0, 0.0, -60.0]), np.array([0.0, 0.0, 1000.0]), 900.0, 800.0),
        (-1.0, 0.0, 0.0),
        (0.0, 300.0),
        (700.0, 500.0),
        others=(Glow(Disc(400.0), np.array([-500.0, -600.0, 500.0])),),
    ),
)
scenes = pytest.mark.parametrize("scene", SCENES, ids=lambda scene: scene.name)


def told(scene: Scene) -> Shadow:
    plan = scene.plan()
    found = shadow(plan, plan.lights[0], scene.on)
    assert found.why is None
    return found


@scenes
def test_the_depth_is_that_of_rays_traced_by_other_means(scene: Scene) -> None:
    found, (alone, in_all) = told(scene), deepest(scene)

    assert found.depth_stops is not None
    assert found.in_all_stops is not None
    if alone >= 10.0:
        assert found.is_full
    else:
        assert found.depth_stops == pytest.approx(alone, abs=STOPS)
    if in_all < 10.0:
        assert found.in_all_stops == pytest.approx(in_all, abs=STOPS)


@scenes
def test_the_width_from_10_to_90_per_cent_is_that_of_rays_traced_by_other_means(scene: Scene) -> None:
    found, traced = told(scene), width(scene)

    assert found.edge_mm == pytest.approx(traced, rel=WIDTH)


# --- closed forms ----------------------------------------------------------------------------------------------------


def half_plane(source: Source, distance_mm: float, beyond_mm: float) -> Plan:
    """A wide upright card before a background, and a lens so far to the side that it sees the edge of its shadow."""
    lamp = PlanLight("A", "A", "key", True, source, Position(Place(0.0, -distance_mm, 0.0)))
    return Plan(
        (lamp,),
        (
            Thing("subject", "subject", Position(ORIGIN), 600.0, 3000.0, 0.0),
            Thing("background", "background", Position(Place(0.0, beyond_mm, 0.0)), 4000.0, 4000.0),
            Thing("camera", "camera", Position(Place(0.0, -9000.0, 0.0)), 0.0, 0.0),
        ),
    )


@pytest.mark.parametrize(("w", "big_d", "d"), [(300.0, 2000.0, 200.0), (80.0, 1500.0, 60.0), (600.0, 2500.0, 400.0)])
def test_a_half_plane_before_a_rectangle_is_a_linear_ramp(w: float, big_d: float, d: float) -> None:
    plan = half_plane(Rectangle(w, w), big_d, d)

    found = shadow(plan, plan.lights[0], "background")

    assert found.edge_mm == pytest.approx(0.8 * w * d / big_d, rel=WIDTH)


def test_a_half_plane_before_a_disc_is_the_ramp_of_its_segments() -> None:
    plan = half_plane(Disc(300.0), 2500.0, 250.0)

    def beyond_a_tenth(height: float) -> float:
        """The part of a disc of radius 1 above a chord at this height, less a tenth."""
        return (math.acos(height) - height * math.sqrt(1.0 - height**2)) / math.pi - 0.1

    chord = brentq(beyond_a_tenth, 0.0, 1.0)
    found = shadow(plan, plan.lights[0], "background")

    assert found.edge_mm == pytest.approx(2.0 * chord * 150.0 * 250.0 / 2500.0, rel=WIDTH)


def test_the_terminator_of_a_ball_before_a_small_disc_is_as_wide_as_the_disc_looks() -> None:
    """The horizon of a place of the ball cuts the disc as a chord does; weighted by the height above it (lambert-cosine)
    a tenth of the light is left where the first moment of the segment is a tenth of that of both."""
    lamp = PlanLight("A", "A", "key", True, Disc(400.0), Position(Place(1500.0, 0.0, 0.0)))
    ball = Thing("subject", "subject", Position(ORIGIN), 100.0, 100.0, 100.0)
    plan = Plan((lamp,), (ball, Thing("camera", "camera", Position(Place(0.0, -1000.0, 0.0)), 0.0, 0.0)))

    def moment(chord: float) -> float:
        heights = np.linspace(-1.0, 1.0, 20001)
        strips = np.sqrt(np.maximum(1.0 - heights**2, 0.0)) * np.abs(heights - chord)
        return float(strips[heights > chord].sum() / strips.sum())

    ends = [brentq(lambda chord, part=part: moment(chord) - part, -0.99, 0.99) for part in (0.1, 0.9)]
    found = shadow(plan, plan.lights[0], "subject")

    assert found.is_full
    assert found.edge_mm == pytest.approx((ends[0] - ends[1]) * 200.0 / 1500.0 * 50.0, rel=0.04)


# --- what is not seen ------------------------------------------------------------------------------------------------


def test_a_light_under_the_table_throws_no_shadow_above_it() -> None:
    scene = SCENES[0]
    under = Glow(Disc(200.0), np.array([0.0, -300.0, -400.0]))
    plan = Scene("", "table", under, scene.camera, scene.subject, TABLE, scene.run, scene.reach).plan()

    found = {each.on: each.why for each in shadows(plan)}

    assert found["table"] is not None
    assert found["table"].reason == Reason.NO_LIGHT_ON_IT
    assert found["background"] is not None
    assert found["background"].reason == Reason.NO_SUCH_SURFACE
    assert found["subject"] is not None
    assert found["subject"].reason == Reason.NO_LIGHT_ON_IT


def test_a_shadow_behind_the_subject_is_hidden_by_it() -> None:
    subject = Thing("subject", "subject", Position(ORIGIN), 60.0, 60.0, 10.0)
    plan = half_plane(Disc(5.0), 8500.0, 20.0)

    found = shadow(Plan(plan.lights, (subject, *plan.things[1:]), (300.0, 200.0)), plan.lights[0], "background")

    assert found.why is not None
    assert found.why.reason == Reason.HIDDEN_FROM_LENS
    assert found.why["by"] == "subject"


def test_a_shadow_beside_the_field_is_outside_the_picture() -> None:
    scene = SCENES[1]
    plan = scene.plan()

    found = shadow(Plan(plan.lights, plan.things, (60.0, 40.0)), plan.lights[0], "table")

    assert found.why is not None
    assert found.why.reason == Reason.OUTSIDE_PICTURE

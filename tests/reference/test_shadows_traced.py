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

from webapp.optics.sources import Disc, Point, Rectangle, Ring, Source
from webapp.plan.illumination import per_intensity
from webapp.plan.positions import ORIGIN, Place, Position, Thing
from webapp.plan.reasons import Reason
from webapp.plan.shadows import Shadow, shadow, shadows
from webapp.plan.solids import flats_of
from webapp.plan.staging import Plan, PlanLight, Reading
from webapp.plan.surfaces import On
from webapp.plan.visibility import lamp_of, light_left

Array = NDArray[np.float64]
STOPS = 0.03
WIDTH = 0.03
RAYS = 2584


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


# --- any set: askew lamps, of every form -------------------------------------------------------------------------------


def across(scene: Scene, start: Array, run: Array, reach: tuple[float, float]) -> float | None:
    """From 10 to 90 % square across the edge at which a line leaves the shadow for the last time: the line is walked, the
    steepest way looked for there by differences, and that way walked. None where the light is not whole before the
    surface ends, or falls again."""

    def part(places: Array, per_side: int) -> Array:
        off = places - scene.surface.middle
        _, level, third = frame(scene.surface.middle, scene.surface.aim)
        there = (np.abs(off @ level) < scene.surface.width / 2.0) & (np.abs(off @ third) < scene.surface.height / 2.0)
        size = scene.brick.size / 2.0
        there &= ~(np.abs(places + 1e-3 * scene.slope) < size).all(axis=1)
        found = np.full(len(places), np.nan)
        free, past = scene.left(places[there], per_side)
        found[there] = past / np.maximum(free, 1e-30)
        return found

    lengths = np.linspace(*reach, 101)
    on_line = part(start + lengths[:, np.newaxis] * run, 24)
    half = (1.0 + float(np.nanmin(on_line))) / 2.0
    last = int(np.flatnonzero((on_line[:-1] < half) & (on_line[1:] >= half))[-1])
    share = (half - on_line[last]) / (on_line[last + 1] - on_line[last])
    place = start + (lengths[last] + share * (lengths[1] - lengths[0])) * run
    _, level, third = frame(scene.surface.middle, scene.surface.aim)
    # A good part of its width, as two edges may meet here in a corner.
    step = (1.0 - half) / float(on_line[last + 1] - on_line[last]) * float(lengths[1] - lengths[0]) * 0.3
    rises = [
        float(np.diff(part(np.stack((place - step * way, place + step * way)), 60))[0]) for way in (level, third)
    ]
    way = unit(rises[0] * level + rises[1] * third)
    steps = np.arange(0.0, 200.0, 1.0)
    dark, light = (part(place + sign * steps[:, np.newaxis] * way, 32) for sign in (-1.0, 1.0))
    ends = np.flatnonzero(~np.isfinite(dark) | (dark > np.fmin.accumulate(dark) + 0.02))
    dark = dark[: int(ends[0])] if len(ends) else dark
    low = float(dark.min())
    nine = np.flatnonzero(~(light < low + 0.9 * (1.0 - low)))
    falls = np.flatnonzero(light < np.fmax.accumulate(light) - 0.04 * (1.0 - low))
    if not len(nine) or not np.isfinite(light[nine[0]]) or (len(falls) and falls[0] < nine[0]):
        return None
    outer = float(np.interp(low + 0.9 * (1.0 - low), light[: nine[0] + 1], steps[: nine[0] + 1]))
    tenth = int(np.flatnonzero(dark <= low + 0.1 * (1.0 - low))[0])
    inner = float(np.interp(-(low + 0.1 * (1.0 - low)), -dark[: tenth + 1], steps[: tenth + 1]))
    return inner + outer


def far_edge(scene: Scene) -> float | None:
    """The same on the line on which the shadow runs: from the subject's foot to where the middle of the lamp throws its
    middle, and on."""
    lamp, slope = scene.lamp.middle, scene.slope
    above = float(-scene.surface.middle @ slope)
    foot = -above * slope
    thrown = -lamp * above / float(lamp @ slope)
    return across(scene, thrown, unit(thrown - foot), (-float(np.linalg.norm(thrown - foot)), 400.0))


ABOVE = (0.0, -600.0, 900.0)
ASKEW = (
    Scene(
        "a rectangle from behind",
        "table",
        Glow(Rectangle(340.0, 120.0), np.array([-420.0, 380.0, 520.0])),
        ABOVE,
        (90.0, 70.0, 40.0),
        Card(np.array([0.0, 0.0, -35.0]), np.array([0.0, 0.0, 1000.0]), 900.0, 900.0),
        (0.0, -1.0, 0.0),
        (0.0, 0.0),
        (2000.0, 2000.0),
    ),
    Scene(
        "a ring from behind",
        "table",
        Glow(Ring(260.0, 150.0), np.array([300.0, 450.0, 600.0])),
        ABOVE,
        (60.0, 90.0, 60.0),
        Card(np.array([0.0, 0.0, -45.0]), np.array([0.0, 0.0, 1000.0]), 900.0, 900.0),
        (0.0, -1.0, 0.0),
        (0.0, 0.0),
        (2000.0, 2000.0),
    ),
    Scene(
        "a disc, its shadow on a background",
        "background",
        Glow(Disc(180.0), np.array([420.0, -700.0, 330.0])),
        (0.0, -1000.0, 0.0),
        (60.0, 110.0, 40.0),
        Card(np.array([0.0, 160.0, 0.0]), np.zeros(3), 900.0, 900.0),
        (0.0, -1.0, 0.0),
        (0.0, 0.0),
        (2000.0, 2000.0),
    ),
    Scene(
        "a rectangle from behind, past a flag",
        "table",
        Glow(Rectangle(160.0, 300.0), np.array([500.0, 350.0, 500.0])),
        ABOVE,
        (60.0, 70.0, 60.0),
        Card(np.array([0.0, 0.0, -35.0]), np.array([0.0, 0.0, 1000.0]), 900.0, 900.0),
        (0.0, -1.0, 0.0),
        (0.0, 0.0),
        (2000.0, 2000.0),
        cards=(Card(np.array([280.0, 150.0, 320.0]), np.zeros(3), 120.0, 90.0),),
    ),
)
askew = pytest.mark.parametrize("scene", ASKEW, ids=lambda scene: scene.name)


@askew
def test_the_width_across_an_edge_askew_is_that_of_rays_traced_by_other_means(scene: Scene) -> None:
    found, traced = told(scene), far_edge(scene)

    assert traced is not None
    assert found.edge_mm == pytest.approx(traced, rel=WIDTH)


@pytest.mark.parametrize("source", [Disc(220.0), Rectangle(300.0, 140.0), Ring(260.0, 180.0), Point()])
@pytest.mark.parametrize("camera", [(0.0, -900.0, 500.0), (0.0, 0.0, 900.0)], ids=["tilted", "overhead"])
def test_a_set_its_mirror_image_and_a_larger_one_alike_are_told_alike(
    source: Source, camera: tuple[float, float, float]
) -> None:
    """For every form of light, on the table, on the background and on the subject itself."""

    def a_set(side: float, size: float) -> tuple[Shadow, ...]:
        def place(x: float, y: float, z: float) -> Place:
            return Place(side * size * x, size * y, size * z)

        face = sized(source, size)
        lamp = PlanLight("A", "A", "key", True, face, Position(place(-430.0, -260.0, 480.0)), Reading(9.0, 1000.0))
        things = (
            Thing("subject", "subject", Position(ORIGIN), 70.0 * size, 110.0 * size, 50.0 * size),
            Thing("table", "table", Position(place(0.0, 0.0, -55.0)), 700.0 * size, 0.0, 500.0 * size),
            Thing("background", "background", Position(place(0.0, 160.0, 0.0)), 900.0 * size, 900.0 * size),
            Thing("flag-1", "flag", Position(place(-200.0, -200.0, 300.0)), 130.0 * size, 90.0 * size),
            Thing("camera", "camera", Position(place(*camera)), 0.0, 0.0),
        )
        return shadows(Plan((lamp,), things, (400.0 * size, 300.0 * size)))

    as_it_is = a_set(1.0, 1.0)
    for size, other in ((1.0, a_set(-1.0, 1.0)), (1.6, a_set(1.0, 1.6))):
        for one, two in zip(as_it_is, other, strict=True):
            assert one.seen == two.seen, one.on
            assert one.depth_stops == pytest.approx(two.depth_stops, abs=STOPS)
            assert one.edge_mm == (
                None if two.edge_mm is None else pytest.approx(two.edge_mm / size, rel=WIDTH, abs=0.05)
            )


def sized(source: Source, by: float) -> Source:
    match source:
        case Disc(diameter):
            return Disc(diameter * by)
        case Rectangle(width_mm, height_mm):
            return Rectangle(width_mm * by, height_mm * by)
        case Ring(outer, inner):
            return Ring(outer * by, inner * by)
    return source


def test_an_edge_that_leaves_the_table_has_no_width_and_says_why() -> None:
    lamp = PlanLight("A", "A", "key", True, Disc(200.0), Position(Place(0.0, 700.0, 250.0)))
    things = (
        Thing("subject", "subject", Position(ORIGIN), 60.0, 80.0, 40.0),
        Thing("table", "table", Position(Place(0.0, 0.0, -40.0)), 70.0, 0.0, 120.0),
        Thing("camera", "camera", Position(Place(*ABOVE)), 0.0, 0.0),
    )

    found = shadow(Plan((lamp,), things, (400.0, 300.0)), lamp, "table")

    assert found.seen
    assert found.edge_mm is None
    assert found.edge_why is not None
    assert found.edge_why.reason == Reason.EDGE_CUT_OFF


def test_an_edge_outside_the_picture_has_no_width_and_says_why() -> None:
    lamp = PlanLight("A", "A", "key", True, Disc(200.0), Position(Place(0.0, 700.0, 250.0)))
    things = (
        Thing("subject", "subject", Position(ORIGIN), 200.0, 80.0, 40.0),
        Thing("table", "table", Position(Place(0.0, 0.0, -40.0)), 900.0, 0.0, 900.0),
        Thing("camera", "camera", Position(Place(*ABOVE)), 0.0, 0.0),
    )

    found = shadow(Plan((lamp,), things, (120.0, 110.0)), lamp, "table")

    assert found.seen
    assert found.edge_mm is None
    assert found.edge_why is not None
    assert found.edge_why.reason == Reason.EDGE_NOT_SEEN


def test_an_edge_that_runs_into_where_the_light_ends_has_no_width_and_says_why() -> None:
    """A post before a background on which two flags leave light only as far as the middle of its penumbra."""
    lamp = PlanLight("A", "A", "key", True, Disc(200.0), Position(Place(500.0, -800.0, 0.0)))
    flags = tuple(
        Thing(f"flag-{number}", "flag", Position(Place(x, 114.0, 0.0), Place(x, -1000.0, 0.0)), 300.0, 900.0)
        for number, x in enumerate((-75.0 - 172.0, -75.0 + 172.0), 1)
    )
    things = (
        Thing("subject", "subject", Position(ORIGIN), 20.0, 400.0, 20.0),
        Thing("background", "background", Position(Place(0.0, 120.0, 0.0)), 900.0, 900.0),
        Thing("camera", "camera", Position(Place(0.0, -1500.0, 0.0)), 0.0, 0.0),
    )

    found = shadow(Plan((lamp,), (*things, *flags), (600.0, 200.0)), lamp, "background")

    assert found.seen
    assert found.edge_mm is None
    assert found.edge_why is not None
    assert found.edge_why.reason == Reason.EDGES_RUN_TOGETHER


def test_the_terminator_of_a_ball_before_a_rectangle_is_that_of_rays_traced_by_other_means() -> None:
    """Where the lens sees it the straightest, on the level round it, of which the set is its own mirror image: all rays
    above the horizon of each place against all rays as if it had none."""
    glow = Glow(Rectangle(500.0, 200.0), np.array([700.0, 0.0, 0.0]))
    lamp = PlanLight("A", "A", "key", True, glow.source, Position(Place(*glow.middle)))
    ball = Thing("subject", "subject", Position(ORIGIN), 120.0, 120.0, 120.0)
    plan = Plan((lamp,), (ball, Thing("camera", "camera", Position(Place(0.0, -1000.0, 0.0)), 0.0, 0.0)))
    angles = np.linspace(-0.9, 0.9, 181)
    slopes = np.stack((np.sin(angles), -np.cos(angles), np.zeros_like(angles)), axis=1)
    ways = glow.places(60, np.random.default_rng(5)) - 60.0 * slopes[:, np.newaxis, :]
    light = np.einsum("pki,pi->pk", ways, slopes) * np.maximum(-(ways @ unit(-glow.middle)), 0.0)
    light = light / (ways**2).sum(axis=2) ** 2
    part = np.maximum(light, 0.0).sum(axis=1) / np.abs(light).sum(axis=1)
    ends = [float(np.interp(level, part, angles)) for level in (0.1, 0.9)]

    found = shadow(plan, lamp, "subject")

    assert found.edge_mm == pytest.approx(60.0 * (ends[1] - ends[0]), rel=WIDTH)


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


# --- a table with a height -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "at",
    [(-500.0, -100.0, -90.0), (-500.0, 50.0, -250.0), (150.0, -300.0, -400.0), (-350.0, -200.0, 150.0)],
    ids=["level with its side", "lower than its underside", "below it", "above it"],
)
def test_a_table_stops_what_the_box_that_it_is_drawn_as_stops(at: tuple[float, float, float]) -> None:
    """For the light on a background behind it and on an upright face above it, lamps of whatever height: by the sum of
    parts that levels and evenness rest on, and by the chords of shadows, against random rays and the slabs of a box."""
    size = np.array([400.0, 300.0, 80.0])
    top = -60.0
    plan = Plan((), (Thing("table", "table", Position(Place(0.0, 0.0, top)), size[0], size[2], size[1]),))
    glow, middle = Glow(Disc(160.0), np.array(at)), np.array([0.0, 0.0, top - size[2] / 2.0])
    xs, zs = (each.ravel() for each in np.meshgrid(np.linspace(-300.0, 300.0, 7), np.linspace(-280.0, 120.0, 9)))
    lamp = PlanLight("A", "A", "key", True, glow.source, Position(Place(*at)))
    normal = np.array([0.0, -1.0, 0.0])
    for y in (260.0, 0.0):
        places = np.stack((xs, np.full_like(xs, y), zs), axis=1)[zs > (top if y == 0.0 else -1e3)]
        spots, slope = glow.places(64, np.random.default_rng(3)), unit(-glow.middle)
        traced = np.empty(len(places))
        for index, place in enumerate(places):
            ways = spots - place
            light = np.maximum(ways @ normal, 0.0) * np.maximum(-(ways @ slope), 0.0) / (ways**2).sum(axis=1) ** 2
            hidden = Brick(size).stops(np.broadcast_to(place - middle, spots.shape), spots - middle)
            traced[index] = np.where(hidden, 0.0, light).mean()
        most = float(per_intensity(lamp.emitter, places, normal).max())
        summed = [float(per_intensity(lamp.emitter, each[np.newaxis], normal, plan.blockers)[0]) for each in places]
        normals = np.tile(normal[:, np.newaxis], (1, len(places)))
        chords = light_left(lamp_of(lamp), places.T.copy(), normals, (flats_of(plan),), RAYS)[0]

        assert chords == pytest.approx(traced, abs=0.01 * most)
        assert summed == pytest.approx(traced, abs=0.01 * most)

"""Where nothing explains what a picture shows: made scenes of known light, clean and with one place changed."""

from __future__ import annotations

import math
import os
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from webapp.facts import fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.left_over_map import Region, Tiles, left_over_map

ROWS, COLUMNS = 20, 30
RAW_TOLERANCE = 0.1
DRAWS = int(os.environ.get("STOPLEDGER_DRAWS", "120"))

Light = NDArray[np.float64]


@dataclass(frozen=True)
class Scene:
    """Lights over a subject, each with its own picture as it would be at the frame's settings; the last is the room."""

    sources: tuple[Light, ...]
    noise: float

    def tiles(self, rng: np.random.Generator, light: Light) -> Tiles:
        return tiles_of(light, self.noise, rng)

    def shot(self, gains: list[float]) -> Light:
        return np.tensordot(gains, np.array(self.sources), axes=1)


def tiles_of(light: Light, noise: float, rng: np.random.Generator) -> Tiles:
    """Tiles as a picture has them: with noise that grows with the root of the light, and what clips."""
    error = noise * np.sqrt(np.maximum(light, 0.001))
    seen = light + rng.normal(0.0, 1.0, light.shape) * error
    return Tiles(np.minimum(seen, 1.0), error, (light < 0.95).all(axis=0))


def scene(rng: np.random.Generator) -> Scene:
    """One to five lights from anywhere over a subject of random things, and a dim room."""
    across, down = np.meshgrid(np.linspace(0, 1, COLUMNS), np.linspace(0, 1, ROWS))
    subject = np.full((3, ROWS, COLUMNS), 0.2) * rng.uniform(0.4, 1.6, (3, 1, 1))
    for _ in range(int(rng.integers(2, 9))):
        row, column = int(rng.integers(0, ROWS - 3)), int(rng.integers(0, COLUMNS - 3))
        tall, wide = (int(each) for each in rng.integers(2, 10, 2))
        subject[:, row : row + tall, column : column + wide] = rng.uniform(0.02, 0.7, (3, 1, 1))
    sources = []
    for _ in range(int(rng.integers(1, 6))):
        x, y, wide = rng.uniform(-0.3, 1.3), rng.uniform(-0.3, 1.3), rng.uniform(0.2, 0.9)
        pool = np.exp(-((across - x) ** 2 + (down - y) ** 2) / (2 * wide**2))
        sources.append(subject * pool * rng.uniform(0.3, 1.3) * rng.uniform(0.8, 1.25, (3, 1, 1)))
    room = subject * 0.002 * (1.0 + 0.5 * across) * np.array([1.4, 1.0, 0.6])[:, None, None]
    return Scene((*sources, room), noise=float(rng.uniform(0.0005, 0.004)))


def gains_of(rng: np.random.Generator, lights: Scene) -> list[float]:
    """What each light gave: as logged, a stop and a half more or less, or nothing; the room as it was, or brighter."""
    of_lights = [float(rng.choice([0.0, 1.0, 2.0 ** rng.uniform(-1.5, 1.0)])) for _ in lights.sources[:-1]]
    if not any(of_lights):
        of_lights[0] = 1.0
    return [*of_lights, float(rng.uniform(0.8, 3.0))]


@pytest.mark.parametrize("seed", range(0, DRAWS, 10))
def test_a_clean_picture_has_no_such_place(seed: int) -> None:
    for each in range(seed, seed + 10):
        rng = np.random.default_rng(each)
        lights = scene(rng)
        seen = lights.tiles(rng, lights.shot(gains_of(rng, lights)))
        found = left_over_map(seen, [lights.tiles(rng, own) for own in lights.sources], RAW_TOLERANCE)

        assert found is None or (found.fits and found.regions == ()), each


@pytest.mark.parametrize("seed", range(0, DRAWS, 10))
def test_a_place_that_was_changed_is_found_where_it_stands_out_of_the_noise(seed: int) -> None:
    for each in range(seed, seed + 10):
        rng = np.random.default_rng(10_000 + each)
        lights = scene(rng)
        gains = gains_of(rng, lights)
        clean = lights.shot(gains)
        side = int(rng.integers(3, 8))
        row, column = int(rng.integers(0, ROWS - side)), int(rng.integers(0, COLUMNS - side))
        there = (slice(row, row + side), slice(column, column + side))
        stops = float(rng.choice([-1.0, 1.0]) * rng.uniform(0.3, 1.5))
        planted = clean.copy()
        planted[:, there[0], there[1]] *= 2.0**stops
        # Dark places, and those that clip, cannot tell it.
        tells = clean[:, there[0], there[1]].min() > 0.01 and planted.max() < 0.9
        if not tells:
            continue
        # An edge of the subject runs through its border as well: inside it is what it is.
        seen = lights.tiles(rng, planted)
        found = left_over_map(seen, [lights.tiles(rng, own) for own in lights.sources], RAW_TOLERANCE)

        assert found is not None
        assert found.fits, each
        own = {(r, c) for r in range(row, row + side) for c in range(column, column + side)}
        hits = [region for region in found.regions if own & set(region.tiles)]
        assert hits, (each, stops)
        best = max(hits, key=lambda region: len(own & set(region.tiles)))
        assert math.copysign(1.0, best.stops) == math.copysign(1.0, stops)
        assert best.stops == pytest.approx(stops, abs=0.08)
        assert all(own & set(region.tiles) for region in found.regions), each


def flat(level: float, colour: tuple[float, float, float] = (1.0, 1.0, 1.0)) -> Light:
    across = np.linspace(0.5, 1.5, COLUMNS)
    return level * across[None, None, :] * np.array(colour)[:, None, None] * np.ones((3, ROWS, COLUMNS))


def test_a_place_of_another_colour_is_told_by_its_colour() -> None:
    rng = np.random.default_rng(5)
    light = flat(0.2)
    seen = light.copy()
    seen[0, 5:9, 5:9] *= 2.0**0.5
    seen[2, 5:9, 5:9] *= 2.0**-0.9
    found = left_over_map(tiles_of(seen, 0.001, rng), [tiles_of(light, 0.001, rng)], RAW_TOLERANCE)

    assert found is not None
    [region] = found.regions
    assert region.redder_stops == pytest.approx(1.4, abs=0.05)
    assert region.stops == pytest.approx(0.2126 * 0.5 - 0.0722 * 0.9, abs=0.05)


def test_a_light_of_another_colour_is_no_place() -> None:
    rng = np.random.default_rng(6)
    light = flat(0.2)
    warm = light * np.array([1.3, 1.0, 0.6])[:, None, None]

    found = left_over_map(tiles_of(warm, 0.001, rng), [tiles_of(light, 0.001, rng)], RAW_TOLERANCE)

    assert found is not None
    assert found.fits
    assert found.regions == ()


def test_a_picture_of_another_subject_is_no_sum_and_has_no_places() -> None:
    rng = np.random.default_rng(7)
    other = scene(rng).sources[0]

    found = left_over_map(tiles_of(other, 0.001, rng), [tiles_of(flat(0.2), 0.001, rng)], RAW_TOLERANCE)

    assert found is not None
    assert not found.fits
    assert found.says == (fact(Reason.PICTURE_IS_NO_SUM),)


def test_an_unchecked_room_is_taken_for_no_place() -> None:
    """Two lights and a room as bright as a check would just allow: each of their own pictures has it, too."""
    rng = np.random.default_rng(8)
    dark = flat(0.0)
    dark[:, :, :15] = 0.1
    other = flat(0.0)
    other[:, :10] = 0.08
    room = 0.18 / 128
    seen = tiles_of(dark + other + room, 0.0005, rng)
    sources = [tiles_of(each + room, 0.0005, rng) for each in (dark, other)]

    strict = left_over_map(seen, sources, RAW_TOLERANCE)
    found = left_over_map(seen, sources, RAW_TOLERANCE, 2 * room)

    assert found is not None
    assert strict is not None
    assert found.regions == ()
    assert strict.regions


def test_what_clips_tells_nothing() -> None:
    rng = np.random.default_rng(9)
    light = flat(0.2)
    blown = light.copy()
    blown[:, 5:9, 5:9] = 1.0

    found = left_over_map(tiles_of(blown, 0.001, rng), [tiles_of(light, 0.001, rng)], RAW_TOLERANCE)

    assert found is not None
    assert found.regions == ()


def test_pictures_of_other_tiles_are_refused() -> None:
    rng = np.random.default_rng(1)
    small = tiles_of(flat(0.2)[:, :5, :5], 0.001, rng)

    with pytest.raises(ValueError, match="different tiles"):
        left_over_map(small, [tiles_of(flat(0.2), 0.001, rng)], RAW_TOLERANCE)


def test_the_outline_goes_once_round_the_tiles() -> None:
    region = Region(((0, 0), (0, 1), (1, 1)), 0.4, None, 4, 2)

    assert len(list(region.edges)) == 8
    assert region.place.width == pytest.approx(0.5)
    assert region.middle == pytest.approx((7 / 24, 5 / 12))

"""The light of a source near by: shapes, domains, conventions and signs. Outside values are in tests/reference."""

from __future__ import annotations

import math

import numpy as np
import pytest

from webapp.optics.illuminance import illuminance_per_intensity, relative_illuminance
from webapp.optics.sources import Disc, Point, Rectangle, Ring, Source

SHAPES: list[Source] = [Point(), Disc(600.0), Ring(120.0, 80.0), Ring(110.0, 110.0), Rectangle(300.0, 1200.0)]
RING = Ring(120.0, 80.0)


@pytest.mark.parametrize("source", SHAPES)
@pytest.mark.parametrize("distance_mm", [0.0, -100.0, math.nan, math.inf])
def test_a_distance_that_is_none_is_refused_for_every_shape(source: Source, distance_mm: float) -> None:
    with pytest.raises(ValueError, match="distance to the source"):
        illuminance_per_intensity(source, distance_mm)


def test_an_array_with_one_bad_distance_is_refused() -> None:
    distances = np.array([100.0, math.nan, 300.0])

    with pytest.raises(ValueError, match="distance to the source"):
        relative_illuminance(Disc(600.0), distances)


def test_a_ring_without_a_hole_lights_like_the_disc() -> None:
    ring, disc = Ring(600.0, 0.0), Disc(600.0)

    for distance_mm, offset_mm in [(1.0, 0.0), (50.0, 299.0), (300.0, 300.0), (5000.0, 800.0)]:
        lit_by_ring = relative_illuminance(ring, distance_mm, offset_mm)
        assert lit_by_ring == pytest.approx(relative_illuminance(disc, distance_mm, offset_mm), rel=1e-12)


def test_a_ring_lights_like_its_disc_less_the_disc_of_its_hole() -> None:
    for distance_mm, offset_mm in [(10.0, 0.0), (49.0, 30.0), (20.0, 50.0), (100.0, 90.0)]:
        whole = relative_illuminance(Disc(120.0), distance_mm, offset_mm)
        hole = relative_illuminance(Disc(80.0), distance_mm, offset_mm)

        lit_by_ring = relative_illuminance(RING, distance_mm, offset_mm)

        assert lit_by_ring == pytest.approx(whole - hole, rel=1e-12)


def test_a_ring_grown_thin_meets_the_circle_of_light_on_and_off_the_axis() -> None:
    circle = Ring(110.0, 110.0)

    for offset_mm in (0.0, 20.0, 54.999, 55.0, 55.001, 90.0):
        thin = illuminance_per_intensity(Ring(110.0, 110.0 * (1 - 1e-7)), 40.0, offset_mm)
        assert thin == pytest.approx(illuminance_per_intensity(circle, 40.0, offset_mm), rel=1e-6)


def test_a_circle_of_light_has_no_area_and_so_no_relative_illuminance() -> None:
    assert relative_illuminance(Ring(110.0, 110.0), 100.0) == 0.0


def test_two_halves_of_a_panel_light_like_the_whole() -> None:
    half = Rectangle(300.0, 900.0)

    left, right = relative_illuminance(half, 500.0, 150.0), relative_illuminance(half, 500.0, -150.0)

    assert left + right == pytest.approx(relative_illuminance(Rectangle(600.0, 900.0), 500.0), rel=1e-12)


def test_a_panel_seen_very_small_joins_the_corner_form_without_a_step() -> None:
    just_large, just_small = Rectangle(1.0, 1.0), Rectangle(0.999, 0.999)
    distance_mm = math.sqrt(2.0) * 9995.0

    step = illuminance_per_intensity(just_large, distance_mm, 50.0) / illuminance_per_intensity(
        just_small, distance_mm, 50.0
    )

    assert step == pytest.approx(1.0, abs=1e-7)


@pytest.mark.parametrize("source", SHAPES)
def test_arrays_give_what_single_places_give(source: Source) -> None:
    distances, offsets = np.array([40.0, 200.0, 3000.0]), np.array([55.0, -310.0, 20.0])

    together = illuminance_per_intensity(source, distances, offsets)

    one_by_one = [
        illuminance_per_intensity(source, float(d), float(a)) for d, a in zip(distances, offsets, strict=True)
    ]
    np.testing.assert_allclose(together, one_by_one, rtol=1e-13)


@pytest.mark.parametrize("source", SHAPES)
def test_long_arrays_and_maps_keep_their_shape_and_order(source: Source) -> None:
    distances = np.linspace(50.0, 2000.0, 9000)
    across, up = np.linspace(-100.0, 100.0, 120), np.linspace(-50.0, 50.0, 101)

    row = illuminance_per_intensity(source, distances, 10.0)
    field = illuminance_per_intensity(source, 400.0, across[np.newaxis, :], up[:, np.newaxis])

    assert np.shape(row) == (9000,)
    assert np.shape(field) == (101, 120)
    assert np.asarray(row)[8500] == pytest.approx(illuminance_per_intensity(source, float(distances[8500]), 10.0))
    assert np.asarray(field)[90, 7] == pytest.approx(
        illuminance_per_intensity(source, 400.0, float(across[7]), float(up[90]))
    )


def test_single_places_give_plain_floats() -> None:
    for source in SHAPES:
        assert type(illuminance_per_intensity(source, 100.0, 10.0)) is float

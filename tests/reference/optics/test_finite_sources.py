"""Sources of a size against integration over the emitter, published configuration factors and numeric optima."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import dblquad, quad
from scipy.optimize import brentq, minimize_scalar

from webapp.optics.distance_law import (
    change_with_distance_stops,
    distance_for_change_mm,
    over_inverse_square_stops,
    ring_peak_distance_mm,
    ring_peak_relative_illuminance,
)
from webapp.optics.falloff import evenness, flat_patch_falloff_stops, offset_stops, point_lamp_falloff_stops
from webapp.optics.illuminance import illuminance_per_intensity, relative_illuminance
from webapp.optics.sources import Disc, Panel, Point, Rectangle, Ring, angular_size_deg

TOPIC = "finite sources"
INTEGRATION = "numerical integration over the emitter (SciPy dblquad)"
LIBRARY = "Heat transfer library, shape factors (Siegel and Howell, 4th edition, pp. 843, 845; Howell C-13)"

Checked = Callable[[str, str, str, float, float, float, str], None]
Table = Callable[[str], list[dict[str, str]]]


def integrated(panel: Panel, distance_mm: float, across_mm: float = 0.0, up_mm: float = 0.0) -> float:
    """E/(πL), element by element: cos θ · cos θ / (π r²) for each place of the emitter."""

    def element(x: float, y: float) -> float:
        squared = distance_mm**2 + (x - across_mm) ** 2 + (y - up_mm) ** 2
        return distance_mm**2 / (math.pi * squared**2)

    if isinstance(panel, Rectangle):
        w, h = panel.width_mm / 2, panel.height_mm / 2
        return float(dblquad(lambda y, x: element(x, y), -w, w, -h, h, epsabs=0, epsrel=1e-10)[0])
    inner = panel.inner_diameter_mm / 2 if isinstance(panel, Ring) else 0.0

    def in_polar(angle: float, radius: float) -> float:
        return radius * element(radius * math.cos(angle), radius * math.sin(angle))

    return float(dblquad(in_polar, inner, panel.diameter_mm / 2, 0, 2 * math.pi, epsabs=0, epsrel=1e-10)[0])


PLACES = [
    (Disc(600.0), 300.0, 0.0, 0.0),
    (Disc(600.0), 600.0, 100.0, 0.0),
    (Disc(600.0), 600.0, 300.0, 0.0),
    (Disc(600.0), 150.0, 500.0, 0.0),
    (Disc(200.0), 100.0, -60.0, 80.0),
    (Ring(120.0, 80.0), 10.0, 0.0, 0.0),
    (Ring(120.0, 80.0), 49.0, 30.0, 0.0),
    (Ring(120.0, 80.0), 30.0, 50.0, 0.0),
    (Ring(120.0, 80.0), 150.0, 30.0, 0.0),
    (Ring(150.0, 60.0), 47.4, 10.0, 25.0),
    (Rectangle(600.0, 600.0), 600.0, 0.0, 0.0),
    (Rectangle(600.0, 900.0), 500.0, 0.0, 0.0),
    (Rectangle(300.0, 1200.0), 400.0, 0.0, 0.0),
    (Rectangle(600.0, 600.0), 600.0, 200.0, 0.0),
    (Rectangle(300.0, 1200.0), 400.0, 500.0, -350.0),
    (Rectangle(1.0, 1.0), 20_000.0, 3000.0, 0.0),
]


@pytest.mark.parametrize(("panel", "distance_mm", "across_mm", "up_mm"), PLACES)
def test_closed_forms_are_the_light_of_all_elements_together(
    checked: Checked, panel: Panel, distance_mm: float, across_mm: float, up_mm: float
) -> None:
    expected = integrated(panel, distance_mm, across_mm, up_mm)

    got = relative_illuminance(panel, distance_mm, across_mm, up_mm)

    what = f"relative illuminance of a {type(panel).__name__.lower()}"
    checked(TOPIC, INTEGRATION, what, expected, got, 1e-7, "relative")


@pytest.mark.parametrize(("distance_mm", "offset_mm"), [(40.0, 0.0), (40.0, 20.0), (40.0, 55.0), (120.0, 90.0)])
def test_a_circle_of_light_is_the_light_of_its_points(checked: Checked, distance_mm: float, offset_mm: float) -> None:
    def point(angle: float) -> float:
        squared = distance_mm**2 + (55.0 * math.cos(angle) - offset_mm) ** 2 + (55.0 * math.sin(angle)) ** 2
        return distance_mm**2 / squared**2

    expected = quad(point, 0, 2 * math.pi, epsabs=0, epsrel=1e-11)[0] / (2 * math.pi)

    got = illuminance_per_intensity(Ring(110.0, 110.0), distance_mm, offset_mm)
    checked(
        TOPIC,
        "numerical integration around the circle (SciPy quad)",
        "thin ring",
        expected,
        got,
        1e-9,
        "relative",
    )


def mean_over_disc(disc_mm: float, light: Disc, distance_mm: float) -> float:
    def on_circle(radius: float) -> float:
        return 2 * radius * relative_illuminance(light, distance_mm, radius) / disc_mm**2

    return float(quad(on_circle, 0, disc_mm)[0])


def mean_over_rectangle(light: Rectangle, distance_mm: float) -> float:
    nodes, weights = np.polynomial.legendre.leggauss(40)
    across, up = nodes * light.width_mm / 2, nodes * light.height_mm / 2
    field = relative_illuminance(light, distance_mm, across[np.newaxis, :], up[:, np.newaxis])
    return float(weights @ np.asarray(field) @ weights / 4)


def test_means_over_a_lit_surface_are_the_published_configuration_factors(checked: Checked, table: Table) -> None:
    for row in table("view_factors.csv"):
        a_mm, b_mm, distance_mm = (1000 * float(row[name]) for name in ("a", "b", "distance"))

        if row["shapes"] == "discs":
            got = mean_over_disc(a_mm, Disc(2 * b_mm), distance_mm)
        else:
            got = mean_over_rectangle(Rectangle(a_mm, b_mm), distance_mm)

        what = f"configuration factor of coaxial {row['shapes']}"
        checked(TOPIC, LIBRARY, what, float(row["factor"]), got, 0.5e-4, "ratio")


def test_from_five_times_the_diameter_inverse_square_holds_within_one_per_cent(checked: Checked) -> None:
    source = "IES definition 9.1.1: within 1 % at five times the maximum dimension"

    for shape in (Disc(600.0), Rectangle(400.0, 300.0), Rectangle(1200.0, 30.0)):
        ratio = 2 ** over_inverse_square_stops(shape, 5 * shape.largest_dimension_mm)
        checked(TOPIC, source, "light against inverse square at five diameters", 1.0, ratio, 0.01, "ratio")
    five_radii_mm = 5 * 300.0
    assert 2 ** over_inverse_square_stops(Disc(600.0), five_radii_mm) < 0.97


def test_the_peak_of_a_ring_is_the_numeric_maximum_on_its_axis(checked: Checked) -> None:
    source = "numeric maximum of the integrated light (SciPy minimize_scalar)"

    for ring in (Ring(120.0, 80.0), Ring(150.0, 60.0)):
        found = minimize_scalar(
            lambda d, ring=ring: -integrated(ring, d),
            bounds=(10.0, 100.0),
            method="bounded",
            options={"xatol": 1e-6},
        )
        checked(TOPIC, source, "ring peak distance", found.x, ring_peak_distance_mm(ring), 1e-4, "mm")
        checked(TOPIC, source, "ring peak value", -found.fun, ring_peak_relative_illuminance(ring), 1e-9, "ratio")


def test_the_distance_for_a_change_is_where_the_integrated_light_has_changed_so(checked: Checked) -> None:
    source = "root of the integrated light (SciPy brentq)"
    panel = Rectangle(300.0, 1200.0)
    wanted = 2**1.25 * integrated(panel, 1500.0)

    expected = brentq(lambda d: integrated(panel, d) - wanted, 300.0, 1500.0, xtol=1e-7)

    got = distance_for_change_mm(panel, 1500.0, 1.25)
    checked(TOPIC, source, "distance for a change of light", float(expected), got, 1e-3, "mm")


def test_the_distance_for_a_change_of_a_ring_is_the_root_outside_its_peak(checked: Checked) -> None:
    ring = Ring(120.0, 80.0)
    wanted = integrated(ring, 20.0)

    expected = brentq(lambda d: integrated(ring, d) - wanted, ring_peak_distance_mm(ring), 1000.0, xtol=1e-7)

    got = distance_for_change_mm(ring, 20.0, 0.0)
    checked(
        TOPIC,
        "root of the integrated light (SciPy brentq)",
        "outer branch of a ring",
        float(expected),
        got,
        1e-3,
        "mm",
    )


MOVES = [
    (Disc(600.0), 1200.0, 600.0),
    (Disc(200.0), 400.0, 100.0),
    (Ring(120.0, 80.0), 100.0, 50.0),
    (Ring(120.0, 80.0), 40.0, 10.0),
]


@pytest.mark.parametrize(("panel", "from_mm", "to_mm"), MOVES)
def test_a_move_changes_the_light_as_the_integrals_do(
    checked: Checked, panel: Panel, from_mm: float, to_mm: float
) -> None:
    expected = math.log2(integrated(panel, to_mm) / integrated(panel, from_mm))

    got = change_with_distance_stops(panel, from_mm, to_mm)

    checked(TOPIC, INTEGRATION, "change with distance", expected, got, 1e-6, "stops")


def test_the_range_over_a_subject_is_that_of_the_integrals_at_its_corners(checked: Checked) -> None:
    panel = Rectangle(600.0, 900.0)
    at_corner, at_centre = integrated(panel, 500.0, 150.0, 100.0), integrated(panel, 500.0)

    got = evenness(panel, 500.0, 300.0, 200.0).range_stops

    checked(TOPIC, INTEGRATION, "evenness over a subject", math.log2(at_centre / at_corner), got, 1e-6, "stops")


def vector_light(lamp: tuple[float, float, float], place: tuple[float, float, float], *, flat: bool) -> float:
    """E/I of a small lamp that faces the plane z = 0, from the vector between them."""
    way = np.subtract(lamp, place)
    length = float(np.linalg.norm(way))
    slant = float(way[2]) / length
    return slant / length**2 * (slant if flat else 1.0)


@pytest.mark.parametrize("angle_deg", [10.0, 20.0, 30.0, 45.0])
def test_light_to_the_side_of_a_lamp_falls_as_its_vectors_say(checked: Checked, angle_deg: float) -> None:
    place = (1000.0 * math.tan(math.radians(angle_deg)), 0.0, 0.0)
    below, lamp = (0.0, 0.0, 0.0), (0.0, 0.0, 1000.0)

    for what, got, flat in [
        ("point lamp to the side", point_lamp_falloff_stops(angle_deg), False),
        ("small flat patch to the side", flat_patch_falloff_stops(angle_deg), True),
    ]:
        expected = math.log2(vector_light(lamp, place, flat=flat) / vector_light(lamp, below, flat=flat))
        checked(TOPIC, "vectors from lamp to place", what, expected, got, 1e-9, "stops")


@pytest.mark.parametrize("offset_mm", [100.0, 200.0, 300.0])
def test_two_copy_lamps_add_as_their_vectors_say(checked: Checked, offset_mm: float) -> None:
    lamps = [(-700.0, 0.0, 700.0), (700.0, 0.0, 700.0)]

    def both(x: float) -> float:
        return sum(vector_light(lamp, (x, 0.0, 0.0), flat=False) for lamp in lamps)

    lit = [
        sum(illuminance_per_intensity(Point(), 700.0, side - x) for side in (-700.0, 700.0)) for x in (offset_mm, 0.0)
    ]

    got = math.log2(lit[0] / lit[1])
    checked(
        TOPIC,
        "vectors from lamp to place",
        "two point lamps",
        math.log2(both(offset_mm) / both(0)),
        got,
        1e-9,
        "stops",
    )


def test_near_a_ring_the_centre_is_the_dark_spot(checked: Checked) -> None:
    ring = Ring(120.0, 80.0)

    for distance_mm in (49.0, 100.0, 150.0):
        expected = math.log2(integrated(ring, distance_mm, 30.0) / integrated(ring, distance_mm))
        checked(
            TOPIC,
            INTEGRATION,
            "ring, offset against axis",
            expected,
            offset_stops(ring, distance_mm, 30.0),
            1e-6,
            "stops",
        )
    assert offset_stops(ring, 49.0, 30.0) > 0.0 > offset_stops(ring, 100.0, 30.0)


@pytest.mark.parametrize(("size_mm", "distance_mm"), [(600.0, 800.0), (200.0, 100.0), (1.0, 5000.0)])
def test_the_angular_size_is_the_angle_between_the_edges(
    checked: Checked, size_mm: float, distance_mm: float
) -> None:
    to_edges = np.array([[-size_mm / 2, distance_mm], [size_mm / 2, distance_mm]])
    one, other = to_edges / np.linalg.norm(to_edges, axis=1, keepdims=True)

    expected = math.degrees(math.atan2(abs(one[0] * other[1] - one[1] * other[0]), float(one @ other)))

    got = angular_size_deg(size_mm, distance_mm)
    checked(TOPIC, "vectors to both edges", "angular size", expected, got, 1e-9, "degrees")

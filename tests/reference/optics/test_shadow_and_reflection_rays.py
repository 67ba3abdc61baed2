"""Shadows by casting rays from places of the source, reflections by turning vectors at the mirror."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq

from webapp.optics.shadows import (
    background_card_side_mm,
    ball_highlight_mm,
    ball_highlight_paraxial_mm,
    displacement_mm,
    distant_displacement_mm,
    family_of_angles,
    penumbra_mm,
    umbra_length_mm,
    umbra_mm,
)

TOPIC = "shadows and reflections"
RAYS = "rays cast from the source past the occluder"
MIRROR = "rays turned at the mirror as vectors"

Checked = Callable[[str, str, str, float, float, float, str], None]
Vector = NDArray[np.float64]

# source width, source to occluder, occluder to screen, occluder width
SHADOWS = [
    (600.0, 1000.0, 100.0, 100.0),
    (200.0, 1000.0, 100.0, 100.0),
    (60.0, 150.0, 20.0, 10.0),
    (20.0, 500.0, 50.0, 30.0),
]


def lit_share(x: float, source: float, distance: float, gap: float, occluder: float) -> float:
    """The part of the source that is seen from the place x of the screen."""
    places = np.linspace(-source / 2, source / 2, 1001)
    at_occluder = x + (places - x) * gap / (distance + gap)
    return float(np.mean(np.abs(at_occluder) > occluder / 2))


def edge(is_beyond: Callable[[float], bool], far: float) -> float:
    """The place between the axis and `far` from which on something holds."""
    near = 0.0
    for _ in range(60):
        middle = (near + far) / 2
        near, far = (near, middle) if is_beyond(middle) else (middle, far)
    return far


@pytest.mark.parametrize(("source", "distance", "gap", "occluder"), SHADOWS)
def test_umbra_and_penumbra_end_where_the_cast_rays_end(
    checked: Checked, source: float, distance: float, gap: float, occluder: float
) -> None:
    umbra_edge = edge(lambda x: lit_share(x, source, distance, gap, occluder) > 0.0, 10 * source)
    penumbra_edge = edge(lambda x: lit_share(x, source, distance, gap, occluder) == 1.0, 10 * source)

    umbra, penumbra = umbra_mm(source, distance, gap, occluder), penumbra_mm(source, distance, gap)

    checked(TOPIC, RAYS, "umbra", 2 * umbra_edge, umbra, 1e-6, "mm")
    checked(TOPIC, RAYS, "penumbra", penumbra_edge - umbra_edge, penumbra, 1e-6, "mm")


@pytest.mark.parametrize(("source", "distance", "gap", "occluder"), SHADOWS[:3])
def test_the_umbra_is_as_long_as_the_cast_rays_leave_the_axis_dark(
    checked: Checked, source: float, distance: float, gap: float, occluder: float
) -> None:
    expected = edge(lambda behind: lit_share(0.0, source, distance, behind, occluder) > 0.0, 1000 * gap)

    checked(TOPIC, RAYS, "umbra length", expected, umbra_length_mm(source, distance, occluder), 1e-6, "mm")


def where_it_meets(start: Vector, through: Vector, z: float) -> Vector:
    """Where a ray meets the plane at the height z."""
    share: float = (z - start[-1]) / (through[-1] - start[-1])
    return start + (through - start) * share


@pytest.mark.parametrize(("light", "tip"), [((500.0, 800.0), (0.0, 50.0)), ((100.0, 150.0), (0.0, 30.0))])
def test_the_shadow_of_a_tip_falls_where_the_ray_through_it_meets_the_screen(
    checked: Checked, light: tuple[float, float], tip: tuple[float, float]
) -> None:
    shadow = where_it_meets(np.array(light), np.array(tip), 0.0)

    got = displacement_mm(light[0] - tip[0], light[1] - tip[1], tip[1])

    checked(TOPIC, RAYS, "displacement by a near light", abs(float(shadow[0])), got, 1e-9, "mm")


def test_a_distant_light_displaces_along_its_direction(checked: Checked) -> None:
    direction = np.array([-math.sin(math.radians(30)), -math.cos(math.radians(30))])
    tip = np.array([0.0, 20.0])

    shadow = where_it_meets(tip, tip + direction, 0.0)

    got = distant_displacement_mm(20.0, 30.0)
    checked(TOPIC, RAYS, "displacement by a distant light", abs(float(shadow[0])), got, 1e-9, "mm")


def turned(direction: Vector, normal: Vector) -> Vector:
    return direction - 2 * (direction @ normal) * normal


def mirrored_place(along: float, camera_mm: float, light_mm: float, tilt_deg: float) -> float:
    """Where the camera's ray to a place of the tilted mirror meets the plane of the light."""
    tilt = math.radians(tilt_deg)
    place = along * np.array([math.cos(tilt), -math.sin(tilt)])
    reflected = turned(place - np.array([0.0, camera_mm]), np.array([math.sin(tilt), math.cos(tilt)]))
    return float(where_it_meets(place, place + reflected, light_mm)[0])


@pytest.mark.parametrize(
    ("subject", "camera", "light", "tilt_deg"),
    [
        (200.0, 1000.0, 1000.0, 0.0),
        (100.0, 300.0, 600.0, 0.0),
        (50.0, 200.0, 300.0, 0.0),
        (50.0, 800.0, 500.0, 10.0),
        (50.0, 800.0, 500.0, 22.5),
        (120.0, 800.0, 500.0, 30.0),
    ],
)
def test_the_family_of_angles_is_what_the_mirrored_rays_reach(
    checked: Checked, subject: float, camera: float, light: float, tilt_deg: float
) -> None:
    start, middle, end = (
        mirrored_place(along, camera, light, tilt_deg) for along in (-subject / 2, 0.0, subject / 2)
    )

    family = family_of_angles(subject, camera, light, tilt_deg)

    checked(TOPIC, MIRROR, "family of angles, width", end - start, family.width_mm, 1e-8, "mm")
    checked(TOPIC, MIRROR, "family of angles, centre", middle, family.centre_mm, 1e-8, "mm")
    checked(TOPIC, MIRROR, "family of angles, edge", start, family.from_mm, 1e-8, "mm")


def test_a_mirror_turned_by_an_eighth_of_a_circle_and_a_half_looks_to_the_side_as_far_as_forwards() -> None:
    # 22.5° turns the reflection by 45°, whose tangent is 1
    assert family_of_angles(50.0, 800.0, 500.0, 22.5).centre_mm == pytest.approx(500.0, abs=1e-9)


@pytest.mark.parametrize(
    ("radius", "source", "distance"), [(10.0, 300.0, 500.0), (25.0, 600.0, 1000.0), (5.0, 60.0, 100.0)]
)
def test_the_highlight_ends_where_the_mirrored_ray_meets_the_edge_of_the_source(
    checked: Checked, radius: float, source: float, distance: float
) -> None:
    def beyond_edge(height: float) -> float:
        place = np.array([height, math.sqrt(radius**2 - height**2)])
        reflected = turned(np.array([0.0, -1.0]), place / radius)
        return float(where_it_meets(place, place + reflected, distance)[0]) - source / 2

    expected = 2 * float(brentq(beyond_edge, 0.0, 0.7 * radius, xtol=1e-12))

    exact = ball_highlight_mm(radius, source, distance)

    checked(TOPIC, MIRROR, "highlight on a ball", expected, exact, 1e-9, "mm")


def test_the_paraxial_highlight_is_the_image_in_a_convex_mirror(checked: Checked) -> None:
    # Mirror equation 1/s + 1/s' = -2/R, magnification -s'/s (Hecht, Optics, spherical mirrors; from memory).
    for radius, source, distance in [(10.0, 300.0, 500.0), (25.0, 600.0, 1000.0), (5.0, 60.0, 100.0)]:
        from_vertex = distance - radius
        image = 1 / (-2 / radius - 1 / from_vertex)
        expected = -image / from_vertex * source
        got = ball_highlight_paraxial_mm(radius, source, distance)
        checked(
            TOPIC,
            "mirror equation, Hecht, Optics (from memory)",
            "highlight, paraxial",
            expected,
            got,
            1e-9,
            "mm",
        )


def test_the_card_just_fills_the_view_of_rays_through_the_edge_of_the_field(checked: Checked) -> None:
    camera = np.array([0.0, 775.0])
    at_card = where_it_meets(camera, np.array([120.0, 0.0]), -350.0)

    got = background_card_side_mm(240.0, 775.0, 350.0, 12.0)

    checked(
        TOPIC,
        "rays through the edge of the field",
        "background card",
        2 * float(at_card[0]) + 24.0,
        got,
        1e-9,
        "mm",
    )

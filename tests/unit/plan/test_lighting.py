"""What follows from geometry, against integration, ray casting, similar triangles and the law of reflection."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad
from scipy.optimize import minimize_scalar

from webapp.optics import shadows, sources
from webapp.optics.sources import Disc, Point, Rectangle, Ring
from webapp.plan import lighting
from webapp.plan.illumination import blocker_of, hidden_share, per_intensity
from webapp.plan.lighting import Plan, PlanLight, Reading
from webapp.plan.positions import ORIGIN, Place, Position, Thing, place_at

TO_CAMERA = np.array([0.0, -1.0, 0.0])


def light(letter: str = "A", at: Place = ORIGIN, source: sources.Source | None = None, **over: object) -> PlanLight:
    values: dict[str, object] = {
        "name": letter,
        "role": "key",
        "lit": True,
        "source": source or Point(),
        "position": Position(at),
        "reading": Reading(12.0, 1000.0),
        "power_stops": 0.0,
        "filter_stops": 0.0,
    }
    return PlanLight(letter=letter, **(values | over))  # type: ignore[arg-type]


@pytest.mark.parametrize("source", [Disc(600.0), Ring(120.0, 80.0), Rectangle(600.0, 900.0), Point()], ids=repr)
@pytest.mark.parametrize("offset_mm", [0.0, 120.0])
def test_a_parallel_face_gives_the_light_of_the_closed_form(source: sources.Source, offset_mm: float) -> None:
    place = np.array([[offset_mm, 0.0, 0.0]])

    light_there = per_intensity(source, Position(Place(0.0, -500.0, 0.0), aim=ORIGIN), place, TO_CAMERA)[0]

    closed = float(sources.illuminance_per_intensity(source, 500.0, offset_mm))
    assert abs(math.log2(light_there / closed)) < 1e-4


def test_a_panel_that_stands_askew_gives_the_light_of_its_integral() -> None:
    at, aim = np.array([-500.0, -400.0, 300.0]), np.array([60.0, 0.0, 20.0])
    normal = (aim - at) / np.linalg.norm(aim - at)
    across = np.cross([0.0, 0.0, 1.0], normal)
    across /= np.linalg.norm(across)
    up = np.cross(normal, across)
    place = np.array([40.0, 0.0, -30.0])

    def part(v: float, u: float) -> float:
        way = at + u * across + v * up - place
        return float((-way @ normal) * (way @ TO_CAMERA) / (way @ way) ** 2)

    integral = dblquad(part, -200.0, 200.0, -300.0, 300.0)[0] / (400.0 * 600.0)
    position = Position(Place(*at), aim=Place(*aim))
    found = per_intensity(Rectangle(400.0, 600.0), position, place[np.newaxis, :], TO_CAMERA)[0]

    assert found == pytest.approx(integral, rel=1e-6)


def test_two_lamps_at_45_degrees_add_a_stop_and_share_alike() -> None:
    """A copy set: each reading f/64 at 1 m, 45 degrees off is half a stop, the pair a stop more (cosine law)."""
    plan = Plan((light("A", place_at(1000.0, -45.0)), light("B", place_at(1000.0, 45.0))))

    levels = [lighting.level_of(plan, each) for each in plan.lights]
    found = lighting.shares(levels)

    assert [each.av for each in levels] == pytest.approx([11.5, 11.5], abs=1e-6)
    assert found["A"][0] == pytest.approx(0.5)


def test_a_level_is_unknown_without_a_reading_and_so_are_all_shares() -> None:
    plan = Plan((light("A", place_at(1000.0, 0.0)), light("B", place_at(1000.0, 45.0), reading=None)))

    levels = [lighting.level_of(plan, each) for each in plan.lights]

    assert levels[1].av is None
    assert "no meter reading" in levels[1].why
    assert lighting.shares(levels) == {}


def test_a_light_behind_the_subject_has_nothing_of_it_and_the_others_all() -> None:
    plan = Plan((light("A", place_at(1000.0, 0.0)), light("C", place_at(500.0, 180.0))))

    found = lighting.shares([lighting.level_of(plan, each) for each in plan.lights])

    assert (found["A"][0], found["C"][0]) == (1.0, 0.0)


def test_evenness_of_a_panel_in_front_is_that_of_the_closed_form() -> None:
    plan = Plan(
        (light("A", place_at(600.0, 0.0), Rectangle(600.0, 600.0)),),
        (Thing("subject", "subject", Position(ORIGIN), 400.0, 0.002),),
    )

    found = lighting.evenness(plan)

    assert found is not None
    assert found.range_stops == pytest.approx(0.1828, abs=1e-3)


def test_lights_on_both_sides_are_more_even_than_one() -> None:
    subject = (Thing("subject", "subject", Position(ORIGIN), 150.0, 150.0),)
    left, right = light("A", place_at(1000.0, -45.0)), light("B", place_at(1000.0, 45.0))

    one, both = lighting.evenness(Plan((left,), subject)), lighting.evenness(Plan((left, right), subject))

    assert one is not None
    assert both is not None
    assert both.range_stops < one.range_stops / 3.0


def _background(distance_mm: float) -> Thing:
    return Thing("background", "background", Position(Place(0.0, distance_mm, 0.0)), 2000.0, 2000.0)


def test_a_penumbra_on_a_parallel_background_is_that_of_similar_triangles() -> None:
    plan = Plan((light("A", Place(0.0, -1000.0, 0.0), Disc(600.0)),), (_background(100.0),))

    found = lighting.shadow(plan, plan.lights[0], "background")

    assert found is not None
    assert found.penumbra_mm == pytest.approx(shadows.penumbra_mm(600.0, 1000.0, 100.0), rel=1e-9)


def test_on_the_lens_axis_the_shadow_hides_behind_the_subject() -> None:
    plan = Plan((light("A", Place(0.0, -700.0, 0.0), Disc(100.0)),), (_background(200.0),))

    found = lighting.shadow(plan, plan.lights[0], "background")

    assert found is not None
    assert found.shift_mm == pytest.approx(0.0, abs=1e-9)


def test_beside_the_axis_the_shadow_moves_by_similar_triangles() -> None:
    plan = Plan((light("A", Place(500.0, -750.0, 0.0), Disc(100.0)),), (_background(50.0),))

    found = lighting.shadow(plan, plan.lights[0], "background")

    assert found is not None
    assert found.shift_mm == pytest.approx(shadows.displacement_mm(500.0, 750.0, 50.0), rel=1e-9)


def test_a_ring_around_the_lens_draws_a_halo() -> None:
    camera = Thing("camera", "camera", Position(Place(0.0, -300.0, 0.0)), 0.0, 0.0)
    plan = Plan((light("A", Place(0.0, -300.0, 0.0), Ring(150.0, 60.0)),), (_background(60.0), camera))

    found = lighting.shadow(plan, plan.lights[0], "background")

    assert found is not None
    assert found.halo_mm == pytest.approx((6.0, 15.0))


def test_a_shadow_on_the_table_spreads_as_rays_over_its_edge_say() -> None:
    subject = Thing("subject", "subject", Position(ORIGIN), 60.0, 100.0, 60.0)
    plan = Plan((light("A", Place(0.0, -600.0, 450.0), Disc(200.0)),), (subject,))

    found = lighting.shadow(plan, plan.lights[0], "support")

    # Rays through the top (0, 0, 50) from the face's highest and lowest place to the table at -50.
    normal = np.array([0.0, 600.0, -450.0]) / 750.0
    up = np.cross(normal, np.cross([0.0, 0.0, 1.0], normal) / 0.8)
    ends = []
    for sign in (-1.0, 1.0):
        start = np.array([0.0, -600.0, 450.0]) + sign * 100.0 * up
        ends.append(start[1] * (50.0 + 50.0) / (50.0 - start[2]))
    assert found is not None
    assert found.penumbra_mm == pytest.approx(abs(ends[0] - ends[1]), rel=1e-3)


@given(st.floats(60.0, 400.0), st.floats(0.05, 0.95))
def test_a_ring_fills_in_where_its_middle_stops_being_a_dark_spot(diameter_mm: float, hole: float) -> None:
    ring = Ring(diameter_mm, hole * diameter_mm)
    distance_mm = lighting.ring_fills_in_mm(ring)
    aside_mm = diameter_mm * 0.01

    nearer = sources.offset_stops(ring, distance_mm * 0.97, aside_mm)
    further = sources.offset_stops(ring, distance_mm * 1.03, aside_mm)

    assert nearer > 0.0 > further


def test_a_ring_is_even_in_its_middle_at_the_distance_that_is_told() -> None:
    ring = Ring(120.0, 100.0)

    flat = minimize_scalar(
        lambda d: abs(sources.offset_stops(ring, d, 1.0)), bounds=(60.0, 100.0), method="bounded"
    ).x

    assert lighting.ring_fills_in_mm(ring) == pytest.approx(flat, rel=1e-3)


def test_a_flat_gloss_shows_the_light_that_the_law_of_reflection_says() -> None:
    camera = Thing("camera", "camera", Position(place_at(1000.0, -30.0)), 0.0, 0.0)
    subject = Thing("subject", "subject", Position(ORIGIN), 100.0, 100.0, 0.0)
    turned = Thing("subject", "subject", Position(ORIGIN), 100.0, 100.0, 0.0, turned_deg=30.0)
    square, askew = Plan((), (camera, subject)), Plan((), (camera, turned))
    at = Position(place_at(800.0, 30.0))

    assert lighting.mirrored(square, "A", Disc(300.0), at).fraction == 0.0
    # Turned by 30 degrees the subject faces straight ahead: from 30 left the lens sees what stands 30 right.
    assert lighting.mirrored(askew, "A", Disc(300.0), at).fraction == 1.0


def test_the_family_of_angles_at_the_lens_is_as_wide_as_the_closed_form() -> None:
    plan = Plan((), (Thing("subject", "subject", Position(ORIGIN), 200.0, 200.0),), lens_at_mm=1000.0)

    found = lighting.mirrored(plan, "A", Disc(100.0), Position(place_at(math.hypot(1000.0, 200.0), 0.0)))

    assert found.to_deg is not None
    half_mm = 1000.0 * math.tan(math.radians(found.to_deg))
    assert half_mm == pytest.approx(shadows.family_of_angles(200.0, 1000.0, 1000.0).width_mm / 2.0, rel=1e-6)


def test_a_flag_over_half_of_a_panel_hides_half_of_it() -> None:
    panel = light("A", Place(0.0, -1000.0, 0.0), Rectangle(400.0, 400.0))
    flag = Thing("flag-1", "flag", Position(Place(100.0, -500.0, 0.0), aim=Place(100.0, 0.0, 0.0)), 200.0, 1000.0)
    assert panel.position is not None

    assert hidden_share(panel.source, panel.position, ORIGIN, [blocker_of(flag)]) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("lights", "told"),
    [
        ((light("A", ORIGIN),), "at no distance"),
        ((light("A", Place(10.0, 0.0, 10.0)),), "inside the subject"),
        ((light("A", Place(0.0, 900.0, 0.0)),), "behind the background"),
        ((light("A", Place(0.0, -500.0, 0.0), position=Position(Place(0.0, -500.0, 0.0), Place(0.0, -900.0, 0.0))),), "aimed away"),
        ((light("A", place_at(500.0, 40.0), Disc(200.0)), light("B", place_at(510.0, 41.0), Disc(200.0))), "one place"),
        ((light("A", place_at(300.0, 170.0, 100.0), Disc(100.0)),), "shines into the lens"),
    ],
)  # fmt: skip
def test_a_place_that_will_not_do_is_named_and_everything_is_computed(
    lights: tuple[PlanLight, ...], told: str
) -> None:
    things = (_background(600.0), Thing("subject", "subject", Position(ORIGIN), 80.0, 100.0, 60.0))
    plan = Plan(lights, things, field_mm=(150.0, 100.0))

    assert any(told in each.text for each in lighting.cautions(plan))
    for each in lights:
        level = lighting.level_of(plan, each)
        assert level.av is None or math.isfinite(level.av)
        thrown = lighting.shadow(plan, each, "background")
        assert thrown is None or math.isfinite(thrown.penumbra_mm)
        lighting.softness(each)
        assert each.position is not None
        lighting.mirrored(plan, each.letter, each.source, each.position)
    lighting.evenness(plan)
    lighting.background_stops(plan)


def test_the_card_behind_a_dark_field_bottle_fills_the_view() -> None:
    """A field of 24 x 18 cm at 77.5 cm, the card 35 cm behind: 34.8 x 26.1 cm, and a centimetre on every side."""
    plan = Plan((), (_background(350.0),), field_mm=(180.0, 240.0), lens_at_mm=775.0)

    found = lighting.card_behind(plan)

    assert found is not None
    assert (found[0] - 20.0, found[1] - 20.0) == pytest.approx((261.3, 348.4), abs=0.1)

"""Levels, shares, ratios and evenness, against the cosine law and closed forms."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.unit.plan.lights import light
from webapp.facts import fact
from webapp.optics import distance_law
from webapp.optics.arrays import np
from webapp.optics.sources import Rectangle, Ring
from webapp.plan import cards
from webapp.plan.levels import evenness, level_of, shares
from webapp.plan.moving import evenness_of
from webapp.plan.positions import ORIGIN, Place, Position, Thing, place_at
from webapp.plan.reasons import Reason
from webapp.plan.staging import Guide, Plan, PlanLight, Reading


def test_two_lamps_at_45_degrees_add_a_stop_and_share_alike() -> None:
    """A copy set: each reading f/64 at 1 m, 45 degrees off is half a stop, the pair a stop more (cosine law)."""
    plan = Plan((light("A", place_at(1000.0, -45.0)), light("B", place_at(1000.0, 45.0))))

    levels = [level_of(plan, each) for each in plan.lights]
    found = shares(levels)

    assert [each.av for each in levels] == pytest.approx([11.5, 11.5], abs=1e-6)
    assert found["A"][0] == pytest.approx(0.5)


def test_a_level_is_unknown_without_a_reading_and_so_are_all_shares() -> None:
    plan = Plan((light("A", place_at(1000.0, 0.0)), light("B", place_at(1000.0, 45.0), reading=None)))

    levels = [level_of(plan, each) for each in plan.lights]

    assert levels[1].av is None
    assert levels[1].why == fact(Reason.NO_METER_READING, levels[1].letter)
    assert shares(levels) == {}


def test_a_light_behind_the_subject_has_nothing_of_it_and_the_others_all() -> None:
    plan = Plan((light("A", place_at(1000.0, 0.0)), light("C", place_at(500.0, 180.0))))

    found = shares([level_of(plan, each) for each in plan.lights])

    assert (found["A"][0], found["C"][0]) == (1.0, 0.0)


def test_evenness_of_a_panel_in_front_is_that_of_the_closed_form() -> None:
    plan = Plan(
        (light("A", place_at(600.0, 0.0), Rectangle(600.0, 600.0)),),
        (Thing("subject", "subject", Position(ORIGIN), 400.0, 0.002),),
    )

    found = evenness(plan)

    assert found is not None
    assert found.range_stops == pytest.approx(0.1828, abs=1e-3)


def test_lights_on_both_sides_are_more_even_than_one() -> None:
    subject = (Thing("subject", "subject", Position(ORIGIN), 150.0, 150.0),)
    left, right = light("A", place_at(1000.0, -45.0)), light("B", place_at(1000.0, 45.0))

    one, both = evenness(Plan((left,), subject)), evenness(Plan((left, right), subject))

    assert one is not None
    assert both is not None
    assert both.range_stops < one.range_stops / 3.0


def test_the_map_of_a_subject_that_lies_under_the_camera_is_its_width_by_its_depth() -> None:
    lying = Thing("subject", "subject", Position(ORIGIN), 26.0, 3.0, 16.0)
    above = Thing("camera", "camera", Position(Place(0.0, 0.0, 183.0)), 80.0, 80.0)
    plan = Plan((light("A", Place(0.0, 0.0, 120.0)),), (lying, above))

    found, in_front = evenness(plan), evenness(Plan((light("A", place_at(500.0, 0.0)),), (lying,)))

    assert found is not None
    assert in_front is not None
    assert (found.width_mm, found.height_mm) == (26.0, 16.0)
    assert (in_front.width_mm, in_front.height_mm) == (26.0, 3.0)


def test_the_evenness_of_what_lies_flat_on_a_table_is_that_of_its_level_top() -> None:
    """Of a lamp without size at the height h: (h/d)/d² at the distance d (lambert-cosine), wherever the lens stands."""
    tray = Thing("subject", "subject", Position(ORIGIN), 100.0, 9.0, 80.0)
    table = Thing("table", "table", Position(Place(0.0, 0.0, -4.5)), 600.0, 0.0, 600.0)
    lens = Thing("camera", "camera", Position(Place(0.0, -300.0, 800.0)), 0.0, 0.0)

    found = evenness(Plan((light("A", Place(0.0, 0.0, 200.0)),), (tray, table, lens)))

    assert found is not None
    assert found.stops[0, 0] == pytest.approx(found.stops[-1, 0], abs=1e-9)
    furthest = math.hypot(200.0, 50.0, 40.0)
    assert found.stops[0, 0] == pytest.approx(3.0 * math.log2(200.0 / furthest), abs=0.01)


def test_the_map_is_as_high_as_the_lens_sees_the_subject_however_it_is_tilted() -> None:
    askew = Thing("subject", "subject", Position(ORIGIN), 26.0, 3.0, 16.0, tilted_deg=60.0)
    above = Thing("camera", "camera", Position(Place(0.0, 0.0, 183.0)), 80.0, 80.0)

    overhead = evenness(Plan((light("A", Place(0.0, 0.0, 120.0)),), (askew, above)))
    in_front = evenness(Plan((light("A", place_at(500.0, 0.0)),), (askew,)))

    assert overhead is not None
    assert in_front is not None
    assert (overhead.width_mm, overhead.height_mm) == (26.0, 16.0)
    assert (in_front.width_mm, in_front.height_mm) == (26.0, 3.0)


def test_what_of_a_tilted_subject_lies_behind_the_background_is_left_out_of_its_evenness() -> None:
    """Its upper edge leans back through a background 3 cm behind its middle: the rows further up than 3 cm / sin 60° are
    left out. The rest by cosine and inverse square, place by place."""
    lamp = np.array([300.0, -900.0, 700.0])
    lean = math.radians(60.0)
    askew = Thing("subject", "subject", Position(ORIGIN), 100.0, 200.0, 50.0, tilted_deg=60.0)
    wall = Thing("background", "background", Position(Place(0.0, 30.0, 0.0)), 1500.0, 1500.0)
    plan = Plan((light("A", Place(*lamp)),), (askew, wall))

    found = evenness(plan)

    across, up = np.meshgrid(np.linspace(-50.0, 50.0, 13), np.linspace(-100.0, 100.0, 13))
    places = np.stack((across, up * math.sin(lean), up * math.cos(lean)), axis=-1)
    ways = lamp - places
    falls = ways @ np.array([0.0, -math.cos(lean), math.sin(lean)]) / np.linalg.norm(ways, axis=-1) ** 3
    stops = np.where(up * math.sin(lean) < 30.0, np.log2(falls / falls[6, 6]), np.nan)
    assert found is not None
    assert found.left_out == ("background",)
    assert found.stops == pytest.approx(stops, abs=1e-6, nan_ok=True)
    assert found.range_stops == pytest.approx(np.nanmax(stops) - np.nanmin(stops), abs=1e-6)
    measured = evenness_of(plan, plan.lights[0])
    assert measured is not None
    assert measured(plan.lights[0]) == pytest.approx(found.range_stops)


def test_the_evenness_of_a_subject_whose_middle_is_not_seen_is_not_told() -> None:
    subject = Thing("subject", "subject", Position(ORIGIN), 100.0, 200.0, 50.0)
    wall = Thing("background", "background", Position(Place(0.0, -100.0, 0.0)), 1500.0, 1500.0)
    plan = Plan((light("A", Place(0.0, -900.0, 300.0)),), (subject, wall))

    measured = evenness_of(plan, plan.lights[0])

    assert evenness(plan) is None
    assert measured is not None
    assert measured(plan.lights[0]) is None


@pytest.mark.parametrize("moved", ["a light", "a flag", "a card", "the camera"])
def test_what_is_moved_among_things_that_stay_is_told_as_on_a_set_of_its_own(moved: str) -> None:
    lights = tuple(
        light(letter, place_at(900.0, at, 200.0), Rectangle(600.0, 600.0))
        for letter, at in (("A", -50.0), ("B", 40.0))
    )
    flag = Thing("flag-1", "flag", Position(Place(-300.0, -300.0, 100.0)), 200.0, 300.0)
    card = Thing("reflector-1", "reflector", Position(Place(250.0, -100.0, 0.0)), 300.0, 400.0)
    camera = Thing("camera", "camera", Position(Place(0.0, -900.0, 100.0)), 120.0, 100.0)
    by_name = {"a light": lights[0], "a flag": flag, "a card": card, "the camera": camera}

    def set_with(off_mm: float) -> Plan:
        one = by_name[moved]
        at = one.position.at if one.position else ORIGIN
        there = replace(one, position=Position(replace(at, x_mm=at.x_mm + off_mm)))
        stands = [there if each is one else each for each in (*lights, flag, card, camera)]
        return Plan(tuple(stands[:2]), tuple(stands[2:]))  # type: ignore[arg-type]

    before, dragged = evenness(set_with(0.0)), evenness(set_with(60.0))
    for kept in (cards._arriving, cards._cards, cards._lit_cards, cards._straight):
        kept.cache_clear()
    alone = evenness(set_with(60.0))

    assert before is not None
    assert dragged is not None
    assert alone is not None
    assert np.array_equal(dragged.stops, alone.stops)
    assert not np.array_equal(dragged.stops, before.stops)


def guided(number_m: float, at: Place, **over: object) -> PlanLight:
    return light("A", at, reading=None, guide=Guide(number_m), **over)


def test_with_a_guide_number_the_aperture_is_guide_number_by_distance() -> None:
    """Guide number 40 at 2.5 m is f/16 (encyclopaedia article “Guide number”), at 1/16 power f/4."""
    full = guided(40.0, place_at(2500.0, 0.0))
    turned_down = replace(full, power_stops=-4.0)

    levels = [level_of(Plan((each,)), each) for each in (full, turned_down)]

    assert [each.av for each in levels] == pytest.approx([2.0 * math.log2(16.0), 2.0 * math.log2(4.0)])
    assert all(each.by_guide for each in levels)


def test_a_reading_goes_before_a_guide_number() -> None:
    plan = Plan((light("A", place_at(1000.0, 0.0), guide=Guide(200.0)),))

    level = level_of(plan, plan.lights[0])

    assert level.av == pytest.approx(12.0)
    assert not level.by_guide


def test_a_guide_number_that_was_stated_for_another_reflector_leaves_the_level_unknown() -> None:
    placed = light("A", place_at(1000.0, 0.0), reading=None, guide=Guide(40.0, "wide reflector", holds=False))

    level = level_of(Plan((placed,)), placed)

    assert level.av is None
    assert level.why == fact(Reason.GUIDE_NOT_FOR_THIS, level.letter, reflector="wide reflector")


def test_filters_and_the_slope_take_from_a_guide_number_what_they_take_from_a_reading() -> None:
    at = place_at(1500.0, 60.0)
    metered = light("A", at, reading=Reading(2.0 * math.log2(30.0), 1000.0), filter_stops=1.5)
    by_guide = guided(30.0, at, filter_stops=1.5)

    one, other = (level_of(Plan((each,)), each).av for each in (metered, by_guide))

    assert one == pytest.approx(other)


def test_the_guide_number_of_a_ring_is_that_from_far_away_and_close_by_the_ring_gives_less() -> None:
    ring = Ring(400.0, 300.0)
    near, far = (guided(20.0, place_at(distance_mm, 0.0), source=ring) for distance_mm in (300.0, 20_000.0))

    close, distant = (level_of(Plan((each,)), each).av for each in (near, far))

    assert distant == pytest.approx(2.0 * math.log2(20.0 / 20.0), abs=1e-3)
    assert close is not None
    less = distance_law.over_inverse_square_stops(ring, 300.0)
    assert close - 2.0 * math.log2(20.0 / 0.3) == pytest.approx(less, abs=1e-3)


def test_shares_of_a_metered_and_a_guided_light_add_up() -> None:
    plan = Plan((light("A", place_at(1000.0, 0.0)), replace(guided(64.0, place_at(1000.0, 0.0)), letter="B")))

    found = shares([level_of(plan, each) for each in plan.lights])

    # f/64 from either at a metre: half each.
    assert [found[letter][0] for letter in "AB"] == pytest.approx([0.5, 0.5])

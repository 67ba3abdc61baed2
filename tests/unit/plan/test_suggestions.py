"""Suggestions from geometry: each is put into the forward model, or into an integral of the face, and must come to what
was wanted."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad

from tests.unit.plan.lights import background, light
from webapp.facts import Fact, fact
from webapp.optics import distance_law, falloff, sources
from webapp.optics.sources import Disc, Panel, Point, Rectangle, Ring
from webapp.plan.levels import evenness, key_to_fill, level_of, shares
from webapp.plan.positions import ORIGIN, Place, Position, Thing, place_at
from webapp.plan.reasons import Reason
from webapp.plan.shadows import edge_mm
from webapp.plan.softness import softness
from webapp.plan.staging import Plan, PlanLight
from webapp.plan.suggestions import for_evenness, for_light, for_penumbra, for_ratio, for_size
from webapp.plan.ways import Head, Suggestion
from webapp.quantities.powers import PowerDial

SUBJECT = Thing("subject", "subject", Position(ORIGIN), 60.0, 80.0, 40.0)
HEAD = Head(PowerDial(-7.0, 0.1), -4.0)
panels = st.one_of(
    st.builds(Disc, st.floats(80.0, 1200.0)),
    st.builds(Rectangle, st.floats(80.0, 1200.0), st.floats(80.0, 1200.0)),
    st.builds(lambda outer, hole: Ring(outer, hole * outer), st.floats(80.0, 600.0), st.floats(0.2, 0.9)),
    st.just(Point()),
)


def suggested(answer_of: object, index: int = 0) -> Suggestion:
    assert not getattr(answer_of, "missing", "")
    ways: tuple[Suggestion, ...] = getattr(answer_of, "suggestions", ())
    return ways[index]


def moved(plan: Plan, way: Suggestion) -> Plan:
    before = plan.light(way.letter)
    assert before is not None
    assert way.position is not None, way
    return plan.with_light(replace(before, position=way.position))


def integral(panel: Panel, at: Place, slope: tuple[float, float, float] = (0.0, -1.0, 0.0)) -> float:
    """The light of a panel aimed at the origin, on a slope there, added up over its face by adaptive quadrature."""
    place = np.array([at.x_mm, at.y_mm, at.z_mm])
    normal = -place / np.linalg.norm(place)
    across = np.cross([0.0, 0.0, 1.0], normal)
    across /= np.linalg.norm(across)
    up = np.cross(normal, across)

    def part(v: float, u: float) -> float:
        way = place + u * across + v * up
        return float(max(way @ np.array(slope), 0.0) * max(-(way @ normal), 0.0) / (way @ way) ** 2)

    if isinstance(panel, Rectangle):
        sides = (-panel.width_mm / 2, panel.width_mm / 2, -panel.height_mm / 2, panel.height_mm / 2)
        return float(dblquad(part, *sides, epsrel=1e-6)[0]) / panel.area_mm2
    inner = panel.inner_diameter_mm / 2 if isinstance(panel, Ring) else 0.0

    def ringed(radius: float, angle: float) -> float:
        return radius * part(radius * math.sin(angle), radius * math.cos(angle))

    return float(dblquad(ringed, 0.0, 2 * math.pi, inner, panel.diameter_mm / 2, epsrel=1e-6)[0]) / panel.area_mm2


@pytest.mark.parametrize("panel", [Disc(600.0), Rectangle(600.0, 900.0), Ring(300.0, 200.0)], ids=repr)
@pytest.mark.parametrize("stops", [-1.0, 0.5, 1.0])
def test_a_light_that_is_moved_as_suggested_changes_by_what_was_asked(panel: Panel, stops: float) -> None:
    at = place_at(900.0, 40.0, 350.0)
    plan = Plan((light("A", at, panel),), (SUBJECT,))

    way = suggested(for_light(plan, "A", stops))

    assert way.position is not None
    change = math.log2(integral(panel, way.position.at) / integral(panel, at))
    assert change == pytest.approx(stops, abs=0.01)
    assert way.change_stops == pytest.approx(change, abs=0.002)


def test_a_point_goes_where_inverse_square_says_and_a_panel_further_in() -> None:
    at = place_at(800.0, 30.0)
    lamp, panel = Plan((light("A", at),), (SUBJECT,)), Plan((light("A", at, Disc(600.0)),), (SUBJECT,))

    by_point, by_panel = suggested(for_light(lamp, "A", 1.0)), suggested(for_light(panel, "A", 1.0))

    assert by_point.distance_mm == pytest.approx(800.0 / math.sqrt(2.0), abs=0.5)
    assert by_panel.distance_mm is not None
    assert by_panel.inverse_square_mm == pytest.approx(565.685, abs=0.01)
    assert by_panel.distance_mm < by_panel.inverse_square_mm


@settings(max_examples=40)
@given(panels, st.floats(300.0, 3000.0), st.floats(-70.0, 70.0), st.floats(-0.6, 0.8), st.floats(-3.0, 2.0))
def test_a_suggestion_keeps_the_direction_and_comes_to_the_change(
    source: sources.Source, distance_mm: float, bearing: float, rise: float, stops: float
) -> None:
    at = place_at(distance_mm, bearing, rise * distance_mm)
    plan = Plan((light("A", at, source),), (SUBJECT,))
    level = level_of(plan, plan.lights[0])
    assume(level.av is not None)

    way = suggested(for_light(plan, "A", stops))

    assume(way.position is not None)
    assert way.position is not None
    there = way.position.at
    assert (
        math.dist(
            (there.x_mm / there.distance_mm, there.y_mm / there.distance_mm, there.z_mm / there.distance_mm),
            (at.x_mm / distance_mm, at.y_mm / distance_mm, at.z_mm / distance_mm),
        )
        < 1e-4
    )
    after = level_of(moved(plan, way), moved(plan, way).lights[0])
    assert level.av is not None
    assert after.av is not None
    assert after.av - level.av == pytest.approx(stops, abs=0.02 if there.distance_mm < 150.0 else 0.01)
    assert way.leaves == pytest.approx(after.av - level.av - stops, abs=1e-6)


def test_close_to_a_large_face_distance_gives_no_more_and_says_what_it_gives() -> None:
    """At 30 cm a disc of 120 cm across already fills half the sky: the whole of it is 0.32 stop more (howell)."""
    plan = Plan((light("A", place_at(300.0, 0.0), Disc(1200.0)),), (SUBJECT,))

    way = suggested(for_light(plan, "A", 2.0))

    assert way.position is None
    assert way.short is not None
    assert way.short.end == "nearest"
    nearest = distance_law.change_with_distance_stops(Disc(1200.0), 300.0, way.short.at_mm or 0.0)
    assert way.short.reaches == pytest.approx(nearest, abs=0.01)
    assert way.short.reaches < math.log2(1.25) + 1e-6


def test_a_ring_inside_its_peak_cannot_gain_by_coming_nearer() -> None:
    ring = Ring(500.0, 400.0)
    plan = Plan((light("A", place_at(250.0, 20.0), ring),), (SUBJECT,))

    way = suggested(for_light(plan, "A", 0.5))

    assert way.position is None
    assert way.short is not None
    peak = distance_law.change_with_distance_stops(ring, 250.0, distance_law.ring_peak_distance_mm(ring))
    assert way.short.reaches == pytest.approx(peak, abs=0.01)


def test_beyond_the_room_there_is_no_place() -> None:
    plan = Plan((light("A", place_at(2000.0, 30.0)),), (SUBJECT,))

    way = suggested(for_light(plan, "A", -6.0))

    assert way.position is None
    assert way.short is not None
    assert (way.short.end, way.short.at_mm) == ("furthest", pytest.approx(10_000.0))


def test_a_place_in_the_picture_is_named_and_not_offered() -> None:
    lamp = light("A", place_at(900.0, 8.0), Disc(200.0))
    plan = Plan((lamp,), (SUBJECT,), field_mm=(240.0, 180.0), lens_at_mm=800.0)

    way = suggested(for_light(plan, "A", 1.0))

    assert way.position is None
    assert any(each.reason == Reason.IN_THE_PICTURE for each in way.bars)


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"position": None}, fact(Reason.PLACE_IT_FIRST, "A")),
        ({"position": Position(place_at(500.0, 0.0), known="unknown")}, fact(Reason.PLACE_IT_FIRST, "A")),
        ({"position": Position(ORIGIN)}, fact(Reason.AT_NO_DISTANCE, "A")),
        (
            {"position": Position(place_at(500.0, 180.0))},
            fact(Reason.NOT_REACHED, "A", something_between=False, on="lens"),
        ),
    ],
)
def test_without_a_place_the_answer_names_what_is_missing(changed: dict[str, object], told: Fact) -> None:
    plan = Plan((light("A", place_at(500.0, 0.0), **changed),), (SUBJECT,))

    for answer in (for_light(plan, "A", 1.0), for_evenness(plan, "A", 0.1)):
        assert answer.missing == told
        assert answer.suggestions == ()
    assert for_light(plan, "Q", 1.0).missing == fact(Reason.NO_SUCH_LIGHT, "Q")


def two_lights(**fill: object) -> Plan:
    key = light("A", place_at(900.0, -40.0, 600.0), Rectangle(600.0, 600.0))
    return Plan((key, light("B", place_at(1500.0, 50.0), Disc(700.0), role="fill", **fill)), (SUBJECT,))


@settings(max_examples=15)
@given(st.floats(-0.5, 3.0))
def test_either_light_moved_brings_the_wanted_ratio(wanted: float) -> None:
    plan = two_lights()

    answer = for_ratio(plan, wanted, {})

    for way in answer.suggestions:
        if way.position is None:
            assert way.short is not None
            continue
        after = moved(plan, way)
        ratio = key_to_fill(after, [level_of(after, each) for each in after.lights])
        assert ratio is not None
        assert ratio.stops == pytest.approx(wanted, abs=0.02)
        assert way.leaves == pytest.approx(ratio.stops - wanted, abs=1e-6)


def test_a_ratio_by_power_goes_to_marks_and_names_what_is_left() -> None:
    plan = two_lights()
    ratio = key_to_fill(plan, [level_of(plan, each) for each in plan.lights])
    assert ratio is not None
    third = Head(PowerDial(-6.0, 1.0 / 3.0), -3.0)

    answer = for_ratio(plan, ratio.stops + 1.25, {"A": third, "B": third})

    by_power = {way.letter: way for way in answer.suggestions if way.by == "power"}
    assert by_power["A"].power_stops == pytest.approx(-3.0 + 4.0 / 3.0)
    assert by_power["B"].power_stops == pytest.approx(-3.0 - 4.0 / 3.0)
    assert [way.leaves for way in by_power.values()] == pytest.approx([1.0 / 12.0] * 2)


def test_a_dial_that_ends_is_said_to_end_and_nothing_is_offered() -> None:
    plan = two_lights()

    answer = for_ratio(plan, 6.0, {"A": Head(PowerDial(-6.0, 0.1), -0.5), "B": Head(PowerDial(-6.0, 0.1), -5.5)})

    by_power = {way.letter: way for way in answer.suggestions if way.by == "power"}
    assert [(each.power_stops, each.short.end if each.short else "") for each in by_power.values()] == [
        (None, "highest"),
        (None, "lowest"),
    ]


def test_a_head_that_gives_more_than_its_marks_is_turned_by_less() -> None:
    plan = two_lights()
    ratio = key_to_fill(plan, [level_of(plan, each) for each in plan.lights])
    assert ratio is not None
    steep = Head(PowerDial(-6.0, 0.1), -3.0, slope=1.25)

    answer = for_ratio(plan, ratio.stops + 1.0, {"A": steep})

    way = next(each for each in answer.suggestions if each.by == "power")
    assert way.power_stops == pytest.approx(-2.2)
    assert way.change_stops == pytest.approx(1.0)


def test_a_ratio_is_unknown_from_joules_alone() -> None:
    answer = for_ratio(two_lights(reading=None), 1.0, {"A": HEAD, "B": HEAD})

    assert answer.missing == fact(Reason.NO_METER_READING, "B")
    assert answer.suggestions == ()


def test_without_a_fill_there_is_no_ratio() -> None:
    assert for_ratio(two_lights(lit=False), 1.0, {}).missing == fact(Reason.ROLES_NOT_LIT, roles=("fill",))


def test_each_way_to_evenness_comes_within_what_was_wanted() -> None:
    wide = Thing("subject", "subject", Position(ORIGIN), 400.0, 300.0, 50.0)
    plan = Plan((light("A", place_at(800.0, 50.0, 100.0), Rectangle(300.0, 300.0)),), (wide,), lens_at_mm=2000.0)
    before = evenness(plan)
    assert before is not None

    answer = for_evenness(plan, "A", 1.2)

    assert answer.stands == pytest.approx(before.range_stops)
    assert {way.by for way in answer.suggestions} == {"distance", "turn", "aim"}
    for way in answer.suggestions:
        after = evenness(moved(plan, way))
        assert after is not None
        assert way.reaches == pytest.approx(after.range_stops, abs=1e-6)
        if way.short is None:
            assert after.range_stops == pytest.approx(1.2, abs=0.03)
        else:
            assert after.range_stops < before.range_stops


def test_a_light_straight_before_a_flat_subject_is_made_even_by_the_closed_form_distance() -> None:
    wide = Thing("subject", "subject", Position(ORIGIN), 400.0, 0.002, 1.0)
    plan = Plan((light("A", place_at(600.0, 0.0), Rectangle(600.0, 600.0)),), (wide,), lens_at_mm=5000.0)

    way = suggested(for_evenness(plan, "A", 0.1))

    assert way.distance_mm is not None
    closed = falloff.evenness(Rectangle(600.0, 600.0), way.distance_mm, 400.0, 0.001).range_stops
    assert closed == pytest.approx(0.1, abs=0.005)


def test_light_that_is_even_already_needs_nothing() -> None:
    plan = Plan((light("A", place_at(3000.0, 0.0), Disc(1000.0)),), (SUBJECT,))

    answer = for_evenness(plan, "A", 0.5)

    assert answer.stands is not None
    assert answer.stands < 0.5
    assert answer.suggestions == ()


def test_evenness_of_several_lights_needs_what_each_of_them_sends() -> None:
    assert for_evenness(two_lights(reading=None), "A", 0.2).missing == fact(Reason.NO_METER_READING, "B")
    assert for_evenness(two_lights(lit=False), "B", 0.2).missing == fact(Reason.OFF_ON_THE_PLAN, "B")


@given(panels, st.floats(300.0, 3000.0), st.floats(2.0, 90.0))
def test_a_modifier_looks_as_large_as_wanted_where_it_is_put(
    source: sources.Source, distance_mm: float, angle_deg: float
) -> None:
    assume(not isinstance(source, Point))
    plan = Plan((light("A", place_at(distance_mm, 35.0), source),), (SUBJECT,))

    way = suggested(for_size(plan, "A", angle_deg, {"A": HEAD}))

    if way.position is None:
        assert way.short is not None or way.bars
        return
    seen = softness(moved(plan, way).lights[0])
    assert seen is not None
    assert max(seen.across_deg, seen.up_deg) == pytest.approx(angle_deg, rel=0.01)
    assert way.change_stops is not None
    assert way.power_back is not None
    assert -7.0 <= way.power_back.power_stops <= 0.0
    assert way.power_back.leaves_stops == pytest.approx(
        way.change_stops + way.power_back.power_stops - HEAD.stands,
        abs=1e-9,  # type: ignore[operator]
    )


def test_a_smaller_modifier_as_soft_as_a_larger_stands_nearer_in_proportion() -> None:
    plan = Plan((light("A", place_at(1200.0, 35.0), Disc(600.0)),), (SUBJECT,))
    larger = sources.angular_size_deg(1200.0, 1500.0)

    way = suggested(for_size(plan, "A", larger, {"A": HEAD}))

    assert way.distance_mm == pytest.approx(750.0, abs=0.5)
    assert way.change_stops == pytest.approx(
        distance_law.change_with_distance_stops(Disc(600.0), 1200.0, 750.0), abs=0.01
    )
    assert way.power_back is not None
    assert way.power_back.power_stops == pytest.approx(-5.2)


def test_a_wanted_penumbra_is_thrown_from_where_the_light_is_put() -> None:
    plan = Plan((light("A", place_at(900.0, 50.0, 200.0), Disc(200.0)),), (SUBJECT, background(120.0)))

    way = suggested(for_penumbra(plan, "A", 30.0, "background", {}))

    after = moved(plan, way)
    assert edge_mm(after, after.lights[0], "background") == pytest.approx(30.0, abs=0.5)


def test_what_cannot_be_softened_says_so() -> None:
    plan = Plan((light("A", place_at(900.0, 30.0)), light("B", place_at(900.0, -30.0), Disc(300.0))), (SUBJECT,))

    assert for_size(plan, "A", 20.0, {}).missing == fact(Reason.HAS_NO_SIZE, "A")
    assert for_penumbra(plan, "B", 20.0, "background", {}).missing == fact(
        Reason.NO_SUCH_SURFACE, "B", on="background"
    )


def test_what_follows_a_move_is_told_before_and_after() -> None:
    plan = two_lights()

    way = suggested(for_light(plan, "A", 1.0))

    told = {each.figure: each for each in way.follows}
    after = moved(plan, way)
    level = shares([level_of(after, each) for each in after.lights])
    assert told["share"].after == pytest.approx(level["A"][0])
    assert (told["ratio"].after or 0.0) - (told["ratio"].before or 0.0) == pytest.approx(1.0, abs=0.01)
    assert (told["size"].after or 0.0) > (told["size"].before or 0.0)
    assert {"size", "evenness", "share", "ratio"} == set(told)


def test_turning_a_light_up_changes_its_share_and_not_its_softness() -> None:
    plan = two_lights()

    way = next(
        each for each in for_ratio(plan, 2.0, {"A": HEAD}).suggestions if each.by == "power" and each.letter == "A"
    )

    told = {each.figure: each for each in way.follows}
    assert told["size"].after == told["size"].before
    assert told["ratio"].after == pytest.approx(way.reaches, abs=1e-9)


def test_a_hidden_light_is_moved_by_what_comes_past_the_flag() -> None:
    flag = Thing("flag-1", "flag", Position(Place(160.0, -400.0, 0.0), aim=ORIGIN), 200.0, 600.0)
    plan = Plan((light("A", Place(0.0, -1000.0, 0.0), Rectangle(400.0, 400.0)),), (SUBJECT, flag))

    way = suggested(for_light(plan, "A", 0.5))

    after = moved(plan, way)
    was, becomes = (level_of(each, each.lights[0]).av for each in (plan, after))
    assert was is not None
    assert becomes is not None
    assert becomes - was == pytest.approx(0.5, abs=0.05)


@pytest.mark.parametrize("of", [(), (light("A"),)], ids=["no light", "a light at no distance"])
def test_every_question_about_nothing_has_an_answer(of: tuple[PlanLight, ...]) -> None:
    plan = Plan(of)

    answers = [
        for_light(plan, "A", 1.0),
        for_ratio(plan, 1.0, {}),
        for_evenness(plan, "A", 0.2),
        for_size(plan, "A", 20.0, {}),
        for_penumbra(plan, "A", 20.0, "table", {}),
    ]

    assert all(each.missing and not each.suggestions for each in answers)


def test_more_light_is_offered_by_the_dial_before_a_place() -> None:
    plan = Plan((light("A", place_at(900.0, 40.0), Disc(600.0)),), (SUBJECT,))

    by_dial, by_place = for_light(plan, "A", 1.0, {"A": HEAD}).suggestions

    assert (by_dial.by, by_place.by) == ("power", "distance")
    assert by_dial.change_stops == pytest.approx(1.0)
    assert all(each.before == each.after for each in by_dial.follows)
    # At full already, the dial gives no more, and the place comes first.
    ends = for_light(plan, "A", 1.0, {"A": replace(HEAD, stands=0.0)}).suggestions
    assert [(each.by, each.short is None) for each in ends] == [("distance", True), ("power", False)]


def test_a_ratio_is_brought_by_the_light_that_was_chosen() -> None:
    heads = {"A": HEAD, "B": HEAD}

    chosen = for_ratio(two_lights(), 1.0, heads, "B").suggestions
    neither = for_ratio(two_lights(), 1.0, heads).suggestions

    assert {each.letter for each in chosen} == {"B"}
    assert chosen[0].by == "power"
    assert {each.letter for each in neither} == {"A", "B"}


def test_two_lights_from_the_sides_are_evened_by_turning_one_of_them() -> None:
    """Alike but for their power, they are even where that is alike too."""
    wide = Thing("subject", "subject", Position(ORIGIN), 600.0, 100.0)
    left = light("A", place_at(1000.0, -60.0), power_stops=0.0)
    right = light("B", place_at(1000.0, 60.0), power_stops=-2.0)
    plan = Plan((left, right), (wide,))
    as_even = Plan((left, replace(right, power_stops=0.0)), (wide,))

    stands, best = for_evenness(plan, "B", 0.01).stands, for_evenness(as_even, "B", 0.01).stands
    assert stands is not None
    assert best is not None
    answer = for_evenness(plan, "B", best + 0.02, {"B": Head(PowerDial(-6.0, 0.5), -3.0)})

    by_dial = next(each for each in answer.suggestions if each.by == "power")
    assert by_dial.power_stops == pytest.approx(-1.0)
    assert by_dial.reaches == pytest.approx(best, abs=0.02)

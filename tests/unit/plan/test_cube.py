"""The light on each side of the subject: cosines by hand, and what must hold however a set is turned."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.plan.lights import light
from webapp.facts import fact
from webapp.optics.sources import Disc, Rectangle
from webapp.plan.cube import Cube, SideLevel, cube_of
from webapp.plan.levels import level_of
from webapp.plan.positions import Place, Position, Thing, place_at
from webapp.plan.reasons import Reason
from webapp.plan.sides import Surface, direction
from webapp.plan.staging import Plan

METERED = 12.0
"""f/64 at a metre, of every light here."""


def cube(plan: Plan, *own: Surface) -> Cube:
    found = cube_of(plan, own)
    assert found is not None
    return found


def side(found: Cube, name: str) -> SideLevel:
    return next(each for each in found.sides if each.surface.name == name)


def test_a_lamp_from_the_front_left_gives_the_left_what_it_gives_the_lens() -> None:
    found = cube(Plan((light("A", place_at(1000.0, -45.0)),)))

    levels = {each.surface.name: each.total for each in found.sides}
    # 45 degrees off either face is half a stop; a dome has (1 + cos 45°)/2 of it, a flat meter turned to it all.
    assert levels["lens"] == levels["left"] == pytest.approx(METERED - 0.5)
    assert levels["dome"] == pytest.approx(METERED + math.log2((1.0 + math.sqrt(0.5)) / 2.0))
    assert side(found, "flat").by_light["A"] == pytest.approx(METERED)
    assert levels["right"] is levels["top"] is levels["back"] is None


def test_from_above_the_sides_are_those_of_the_picture() -> None:
    overhead = Thing("camera", "camera", Position(Place(0.0, 0.0, 1000.0)), 80.0, 80.0)
    found = cube(Plan((light("A", Place(0.0, 1000.0, 0.0)),), (overhead,)))

    assert [each.surface.name for each in found.sides] == ["lens", "left", "right", "far", "near", "dome", "flat"]
    assert side(found, "far").total == pytest.approx(METERED)
    assert side(found, "lens").total is None


def test_a_face_of_the_subject_has_the_light_of_its_direction() -> None:
    label = Surface("label", "own", direction(-45.0, 0.0))

    found = cube(Plan((light("A", place_at(1000.0, -45.0)),)), label)

    assert side(found, "label").total == pytest.approx(METERED)


def test_lights_add_up_on_each_side_and_the_level_is_that_of_the_share() -> None:
    plan = Plan((light("A", place_at(1000.0, -45.0)), light("B", place_at(1000.0, 45.0), role="fill")))

    to_lens = side(cube(plan), "lens")

    assert to_lens.by_light["A"] == pytest.approx(level_of(plan, plan.lights[0]).av)
    assert to_lens.total == pytest.approx(METERED + 0.5)
    assert to_lens.against_lens == 0.0
    assert side(cube(plan), "left").against_lens == pytest.approx(-1.0)


def test_with_a_light_that_is_unknown_there_are_the_others_and_no_total() -> None:
    plan = Plan((light("A", place_at(1000.0, 0.0)), light("B", place_at(1000.0, 45.0), reading=None)))

    found = cube(plan)

    assert found.letters == ("A",)
    assert found.unknown == (fact(Reason.NO_METER_READING, "B"),)
    assert side(found, "lens").by_light["A"] == pytest.approx(METERED)
    assert all(each.total is None for each in found.sides)


def test_a_single_light_that_was_never_metered_is_told_against_the_lens() -> None:
    found = cube(Plan((light("A", place_at(1000.0, -60.0), reading=None),)))

    assert not found.is_absolute
    assert side(found, "left").against_lens == pytest.approx(math.log2(math.sqrt(3.0)))


def test_where_nothing_is_known_or_lit_there_is_no_cube() -> None:
    two = tuple(light(letter, place_at(1000.0, 0.0), reading=None) for letter in "AB")

    assert cube_of(Plan(two)) is None
    assert cube_of(Plan((light("A", place_at(1000.0, 0.0), lit=False),))) is None


def test_a_white_card_beside_the_subject_fills_the_side_that_the_key_leaves_dark() -> None:
    """By hand: the card has E/π of luminance times its reflectance, and is small from where it stands."""
    card = Thing("reflector-1", "reflector", Position(Place(2000.0, 0.0, 0.0)), 200.0, 200.0)
    plan = Plan((light("A", Place(-1000.0, 0.0, 0.0)),), (card,))

    (fill,) = cube(plan).fills

    on_card, key = 1.0 / 3000.0**2, 1.0 / 1000.0**2
    by_hand = 0.9 * on_card / math.pi * 200.0**2 / 2000.0**2
    assert fill.under_key[0] == ("right", pytest.approx(math.log2(by_hand / key), abs=0.02))


def test_a_flag_gives_nothing_back() -> None:
    flag = Thing("flag-1", "flag", Position(Place(300.0, 0.0, 0.0)), 300.0, 400.0)
    plan = Plan((light("A", Place(-1000.0, 0.0, 0.0)),), (flag,))

    assert cube(plan).fills == ()
    assert side(cube(plan), "right").total is None


@given(
    turned=st.floats(-170.0, 170.0),
    bearing=st.floats(-180.0, 180.0),
    elevation=st.floats(-60.0, 60.0),
    distance_mm=st.floats(400.0, 3000.0),
)
def test_a_set_that_is_turned_as_a_whole_keeps_its_sides(
    turned: float, bearing: float, elevation: float, distance_mm: float
) -> None:
    def told(by_deg: float) -> list[float | None]:
        x, y, z = (distance_mm * each for each in direction(bearing + by_deg, elevation))
        camera = direction(by_deg, 0.0)
        stands = Thing("camera", "camera", Position(Place(*(1000.0 * each for each in camera))), 0.0, 0.0)
        plan = Plan((light("A", Place(x, y, z), Rectangle(300.0, 500.0)),), (stands,))
        return [each.by_light["A"] for each in cube(plan).sides]

    for one, other in zip(told(0.0), told(turned), strict=True):
        if one is not None and other is not None:
            assert one == pytest.approx(other, abs=1e-3)


@given(at=st.tuples(st.floats(-900.0, 900.0), st.floats(-900.0, -200.0), st.floats(-300.0, 900.0)))
def test_no_side_has_more_than_a_flat_meter_that_is_turned_to_the_light(at: tuple[float, float, float]) -> None:
    found = cube(Plan((light("A", Place(*at), Disc(150.0)),)))
    most = side(found, "flat").by_light["A"]
    assert most is not None

    for each in found.sides:
        level = each.by_light["A"] if each.surface.kind == "side" else None
        assert level is None or level <= most + 1e-6


def test_a_grid_takes_from_the_edge_and_not_from_the_middle() -> None:
    aimed, past = (Position(Place(0.0, -1000.0, 0.0), Place(x_mm, 0.0, 0.0)) for x_mm in (0.0, 200.0))
    plain, gridded = (light("A", position=aimed, cutoff_deg=cutoff) for cutoff in (None, 20.0))

    levels = [level_of(Plan((each,)), each).av for each in (plain, gridded)]
    assert levels[0] == pytest.approx(levels[1])
    # x = 0.2 / tan 20° of the diameter beside the axis: (2/π)(acos x − x √(1 − x²)) of the light.
    off = level_of(Plan((replace(gridded, position=past),)), replace(gridded, position=past)).av
    bare = level_of(Plan((replace(plain, position=past),)), replace(plain, position=past)).av
    x = 0.2 / math.tan(math.radians(20.0))
    assert off is not None
    assert bare is not None
    assert off - bare == pytest.approx(math.log2(2.0 / math.pi * (math.acos(x) - x * math.sqrt(1.0 - x * x))))


def test_through_a_narrow_grid_nothing_reaches_the_subject_that_it_is_aimed_past() -> None:
    past = Position(Place(0.0, -1000.0, 0.0), Place(500.0, 0.0, 0.0))
    spot = light("A", position=past, cutoff_deg=15.0)

    assert level_of(Plan((spot,)), spot).dark


def test_where_the_key_is_hidden_the_fill_is_told_under_the_light_that_gives_the_most() -> None:
    card = Thing("reflector-1", "reflector", Position(Place(400.0, 0.0, 0.0)), 300.0, 300.0)
    flag = Thing("flag-1", "flag", Position(Place(0.0, -500.0, 0.0)), 100.0, 100.0)
    key, other = light("A", Place(0.0, -1000.0, 0.0)), light("B", Place(-1000.0, 0.0, 0.0), role="rim")

    (fill,) = cube(Plan((key, other), (card, flag))).fills

    assert fill.key == "B"

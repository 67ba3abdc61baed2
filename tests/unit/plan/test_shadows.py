"""What must hold of every shadow: its mirror image, its reasons, and what makes it softer."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.plan.lights import light
from webapp.optics.sources import Disc, Point, Rectangle, Ring, Source
from webapp.plan.positions import ORIGIN, Place, Position, Thing
from webapp.plan.reasons import Reason
from webapp.plan.shadows import Shadow, edge_mm, shadow, shadows
from webapp.plan.staging import Plan
from webapp.quantities.lengths import Lengths
from webapp.web.words.shadows import seen_words

SUBJECT = Thing("subject", "subject", Position(ORIGIN), 80.0, 120.0, 50.0)
TABLE = Thing("table", "table", Position(Place(0.0, 0.0, -60.0)), 900.0, 0.0, 900.0)
BACKGROUND = Thing("background", "background", Position(Place(0.0, 150.0, 0.0)), 1500.0, 1500.0)
CAMERA = Thing("camera", "camera", Position(Place(0.0, -1200.0, 500.0)), 80.0, 80.0)
SET = (SUBJECT, TABLE, BACKGROUND, CAMERA)
sources = st.one_of(
    st.just(Point()),
    st.builds(Disc, st.floats(20.0, 500.0)),
    st.builds(Rectangle, st.floats(20.0, 500.0), st.floats(20.0, 500.0)),
    st.builds(lambda outer, hole: Ring(outer, hole * outer), st.floats(60.0, 300.0), st.floats(0.2, 0.9)),
)


def on_both(at: Place, source: Source) -> dict[str, Shadow]:
    return {each.on: each for each in shadows(Plan((light("A", at, source),), SET, (600.0, 450.0)))}


@settings(max_examples=12, derandomize=True)
@given(st.floats(200.0, 900.0), st.floats(-900.0, -100.0), st.floats(200.0, 900.0), sources)
def test_a_light_on_the_other_side_throws_the_mirror_image(x: float, y: float, z: float, source: Source) -> None:
    right, left = on_both(Place(x, y, z), source), on_both(Place(-x, y, z), source)

    for on, one in right.items():
        other = left[on]
        if one.seen and other.seen and one.picture and other.picture:
            # The rays of both are not each other's mirror image: a deep place is told less finely, as is where a rim of
            # 0.2 stop lies.
            depth = one.depth_stops or 0.0
            assert depth == pytest.approx(other.depth_stops, abs=0.05 + 0.05 * depth)
            low, high = one.picture.across_mm
            assert (-high, -low) == pytest.approx(other.picture.across_mm, abs=0.25 * (high - low) + 10.0)


@settings(max_examples=12)
@given(st.floats(300.0, 700.0), st.floats(-900.0, -600.0), st.floats(-100.0, 300.0), st.floats(20.0, 120.0))
def test_the_edge_of_the_mirror_image_is_as_wide(x: float, y: float, z: float, diameter: float) -> None:
    right, left = (light("A", Place(side * x, y, z), Disc(diameter)) for side in (1.0, -1.0))

    one, other = (edge_mm(Plan((each,), (SUBJECT, CAMERA, BACKGROUND)), each, "background") for each in (right, left))

    assert one == pytest.approx(other, rel=0.03, abs=0.1)


@settings(max_examples=15)
@given(st.floats(40.0, 250.0), st.floats(1.2, 2.0), st.floats(60.0, 200.0))
def test_a_background_further_back_never_has_the_harder_edge(behind: float, times: float, diameter: float) -> None:
    lamp = light("A", Place(700.0, -900.0, 0.0), Disc(diameter))

    near, far = (
        edge_mm(
            Plan((lamp,), (SUBJECT, CAMERA, replace(BACKGROUND, position=Position(Place(0.0, away, 0.0))))),
            lamp,
            "background",
        )
        for away in (behind, behind * times)
    )

    if near is not None and far is not None:
        assert far > near * 0.97


@settings(max_examples=15)
@given(st.floats(20.0, 200.0), st.floats(1.3, 2.5))
def test_a_larger_lamp_never_has_the_harder_edge(diameter: float, times: float) -> None:
    small, large = (light("A", Place(700.0, -900.0, 0.0), Disc(each)) for each in (diameter, diameter * times))

    one, other = (
        edge_mm(Plan((each,), (SUBJECT, CAMERA, BACKGROUND)), each, "background") for each in (small, large)
    )

    assert one is not None
    assert other is None or other > one * 0.97


def test_a_lamp_without_size_throws_a_hard_and_full_shadow() -> None:
    found = on_both(Place(600.0, -300.0, 400.0), Point())["table"]

    assert found.is_full
    assert found.edge_mm is not None
    assert found.edge_mm < 0.5
    assert found.picture is not None
    assert "left" in found.picture.sides


def test_another_light_lifts_the_shadow_in_the_light_of_all() -> None:
    lamp = light("A", Place(600.0, -300.0, 400.0), Disc(100.0))
    fill = light("B", Place(-300.0, -900.0, 500.0), Disc(300.0))

    alone, lifted = (shadow(Plan(lights, SET), lamp, "table") for lights in ((lamp,), (lamp, fill)))

    assert alone.in_all_stops == alone.depth_stops
    assert lifted.depth_stops == pytest.approx(alone.depth_stops, abs=1e-6)
    assert lifted.in_all_stops is not None
    assert alone.in_all_stops is not None
    assert lifted.in_all_stops < alone.in_all_stops - 1.0


def test_where_a_light_is_unknown_the_depth_in_the_light_of_all_is() -> None:
    lamp = light("A", Place(600.0, -300.0, 400.0), Disc(100.0))
    unread = light("B", Place(-300.0, -900.0, 500.0), Disc(300.0), reading=None)

    found = shadow(Plan((lamp, unread), SET), lamp, "table")

    assert found.seen
    assert found.in_all_stops is None


def test_a_flag_that_keeps_the_light_off_the_table_leaves_no_shadow_there() -> None:
    lamp = light("A", Place(600.0, 0.0, 400.0), Disc(60.0))
    flag = Thing("flag-1", "flag", Position(Place(400.0, 0.0, 260.0)), 900.0, 900.0)

    found = shadow(Plan((lamp,), (*SET, flag)), lamp, "table")

    assert found.why is not None
    assert found.why.reason == Reason.NO_LIGHT_ON_IT


def test_a_ring_on_the_lens_throws_its_shadow_all_around_the_subject() -> None:
    ring = light("A", Place(0.0, -1200.0, 0.0), Ring(400.0, 250.0))
    level = Thing("camera", "camera", Position(Place(0.0, -1250.0, 0.0)), 80.0, 80.0)

    found = shadow(Plan((ring,), (SUBJECT, BACKGROUND, level), (600.0, 450.0)), ring, "background")

    assert found.picture is not None
    assert set(found.picture.sides) == {"left", "right", "above", "below"}
    assert "all around the subject" in seen_words(found, Lengths())


def test_a_subject_of_one_figure_is_told_to_be_taken_as_a_ball() -> None:
    ball = replace(SUBJECT, width_mm=120.0, height_mm=120.0, depth_mm=120.0)

    found = shadow(
        Plan((light("A", Place(600.0, -300.0, 400.0)),), (ball, *SET[1:])),
        light("A", Place(600.0, -300.0, 400.0)),
        "table",
    )

    assert "subject_as_ball" in {each.reason for each in found.steps[0].assumptions}

"""Letters on the drawing: none over another, and what has no room is left out."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from webapp.plan.lettering import Box, Label, Lettering, around

sides = st.floats(2.0, 60.0)
places = st.floats(-80.0, 80.0)
boxes = st.builds(Box, places, places, sides, sides, st.floats(-90.0, 90.0))


def inside(box: Box, x: float, y: float) -> bool:
    """Whether a place lies within a box, by turning it into the box's own directions."""
    angle = math.radians(-box.angle_deg)
    along = (x - box.x) * math.cos(angle) - (y - box.y) * math.sin(angle)
    up = (x - box.x) * math.sin(angle) + (y - box.y) * math.cos(angle)
    return abs(along) < box.half_width - 1e-6 and abs(up) < box.half_height - 1e-6


@given(boxes, boxes)
def test_boxes_overlap_where_some_place_lies_in_both(one: Box, other: Box) -> None:
    steps = [-0.95 + 0.1 * step for step in range(20)]
    angle = math.radians(one.angle_deg)
    found = False
    for a in steps:
        for b in steps:
            along, up = a * one.half_width, b * one.half_height
            x = one.x + along * math.cos(angle) - up * math.sin(angle)
            y = one.y + along * math.sin(angle) + up * math.cos(angle)
            found = found or inside(other, x, y)

    assert one.overlaps(other) == other.overlaps(one)
    assert one.overlaps(other) or not found


def test_boxes_beside_each_other_do_not_overlap_at_any_slope() -> None:
    for angle in (0.0, 30.0, -75.0):
        away = 21.0
        other = Box(
            away * math.cos(math.radians(angle)), away * math.sin(math.radians(angle)), 10.0, 5.0, angle_deg=angle
        )
        assert not Box(0.0, 0.0, 10.0, 5.0, angle).overlaps(other)
        assert Box(0.0, 0.0, 12.0, 5.0, angle).overlaps(other)


@given(st.lists(st.builds(Label, st.sampled_from(["A: 40 cm", "80 cm", "flag 1"]), places, places), max_size=12))
def test_what_is_put_prints_over_nothing_that_was_put_before(labels: list[Label]) -> None:
    lettering = Lettering(400.0)
    put = [label for label in labels if lettering.put([label])]

    taken = [label.box() for label in put]
    assert not any(one.overlaps(other) for at, one in enumerate(taken) for other in taken[:at])
    assert all(lettering.put([label]) == "" for label in put)


def test_the_first_free_place_is_taken_and_none_off_the_paper() -> None:
    lettering = Lettering(200.0)
    lettering.take(Box(50.0, 50.0, 20.0, 10.0))
    choices = [Label("80 cm", 40.0, 54.0), Label("80 cm", 190.0, 54.0), Label("80 cm", 100.0, 54.0)]

    assert 'x="100.0"' in lettering.put(choices)
    assert lettering.put(choices) == ""


def test_a_name_goes_into_a_large_outline_and_beside_a_small_one() -> None:
    large = around("table", [(0.0, 0.0), (300.0, 200.0)], inside=True, style="")[0]
    small = around("table", [(0.0, 0.0), (20.0, 8.0)], inside=True, style="")[0]

    assert 0.0 < large.x < 300.0
    assert 0.0 < large.y < 200.0
    assert small.x > 20.0

"""Labels that keep apart, ticks that are round, numbers as a chart writes them."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.web.drawings import DRAWN
from webapp.web.drawings.chart import Axis, Curve, chart, number_text
from webapp.web.drawings.drawing import spread
from webapp.worksheets import WORKSHEETS


@given(st.lists(st.floats(0, 100), min_size=1, max_size=6))
def test_labels_are_moved_apart_and_keep_their_order(places: list[float]) -> None:
    moved = spread(places, 15, 0, 100)

    assert all(after - before >= 15 - 1e-9 for before, after in pairwise(sorted(moved)))
    assert max(moved) <= 100 + 1e-9
    order = sorted(range(len(places)), key=lambda index: places[index])
    assert [moved[index] for index in order] == sorted(moved)


def test_labels_with_room_stay_where_they_are() -> None:
    assert spread([80, 10, 40], 15, 0, 100) == [80, 10, 40]


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (-0.5, "−0.5"),
        (0.30000000000000004, "0.3"),
        (1000.0, "1000"),
        (12_000.0, "12 000"),
        (-0.0, "0"),
        (2e-7, "2e−07"),
    ],
)
def test_a_number_on_an_axis_has_few_digits(value: float, words: str) -> None:
    assert number_text(value) == words


def test_a_higher_value_stands_higher_on_the_paper() -> None:
    drawn = chart("k", "t", "d", Axis("x"), Axis("y"), [Curve("rising", ((0, 0), (1, 10)))], [(1, 10)])

    line = next(each for each in drawn.lines if each.kind == "line")
    assert line.points[1][1] < line.points[0][1]
    assert (drawn.rings[0].x, drawn.rings[0].y) == line.points[1]


def test_points_to_infinity_are_left_out() -> None:
    drawn = chart("k", "t", "d", Axis("x"), Axis("y"), [Curve("far", ((0, 0), (1, 1), (2, float("inf"))))])

    assert len(next(each for each in drawn.lines if each.kind == "line").points) == 2


def test_a_flat_line_has_a_scale_too() -> None:
    drawn = chart("k", "t", "d", Axis("x"), Axis("y"), [Curve("flat", ((0, 3), (1, 3)))])

    assert len(drawn.texts) > 3


def test_a_chart_without_any_point_is_only_its_frame() -> None:
    drawn = chart("k", "t", "d", Axis("x"), Axis("y"), [])

    assert not [each for each in drawn.lines if each.kind == "line"]


def test_what_is_drawn_belongs_to_a_worksheet() -> None:
    assert set(DRAWN) <= set(WORKSHEETS)

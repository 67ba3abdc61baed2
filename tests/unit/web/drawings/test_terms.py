"""The drawings of the guide's terms: on their paper, their words apart from each other, each term's there."""

from __future__ import annotations

from itertools import combinations

import pytest

from webapp.web.drawings.drawing import box_of, overlap
from webapp.web.drawings.terms import DRAWN
from webapp.web.words.terms import TERMS


@pytest.mark.parametrize("name", DRAWN)
def test_everything_stands_on_the_paper_and_no_word_on_another(name: str) -> None:
    drawing = DRAWN[name]()
    points = [point for each in (*drawing.lines, *drawing.areas) for point in each.points]

    assert all(0.0 <= x <= drawing.width and 0.0 <= y <= drawing.height for x, y in points)
    for left, top, right, bottom in map(box_of, drawing.texts):
        assert (left >= 0.0, top >= 0.0, right <= drawing.width, bottom <= drawing.height) == (True,) * 4
    assert [(one.words, other.words) for one, other in combinations(drawing.texts, 2) if overlap(one, other)] == []
    assert drawing.description


def test_each_drawing_is_of_one_term() -> None:
    assert sorted(each.drawing for each in TERMS if each.drawing) == sorted(DRAWN)

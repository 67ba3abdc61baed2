"""The picture on show while shooting: the words of its patches stand apart."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from webapp.web.pages.shown_view import Box, beside

WIDTH, HEIGHT, LETTERS = 1000.0, 667.0, 24.0
BOXES = st.tuples(st.floats(0.0, 0.9), st.floats(0.0, 0.9), st.floats(0.02, 0.1), st.floats(0.02, 0.1))


@given(st.lists(st.tuples(st.text("abcde 0.", min_size=3, max_size=24), BOXES), max_size=6))
def test_no_words_of_a_patch_stand_on_those_of_another(patches: list[tuple[str, Box]]) -> None:
    placed = beside(patches, WIDTH, HEIGHT, LETTERS)

    for (one, first), (other, second) in combinations(zip(patches, placed, strict=True), 2):
        covered = [
            (at.across - 0.6 * LETTERS * len(words), at.across) if at.at_left
            else (at.across, at.across + 0.6 * LETTERS * len(words))
            for (words, _), at in ((one, first), (other, second))
        ]  # fmt: skip
        (left, right), (other_left, other_right) = covered
        apart = right <= other_left or other_right <= left
        assert apart or abs(first.down - second.down) >= LETTERS


def test_words_stand_inside_the_picture_from_their_patch() -> None:
    left, right = beside([("rim", (0.1, 0.5, 0.05, 0.1)), ("back", (0.8, 0.5, 0.1, 0.1))], WIDTH, HEIGHT, LETTERS)

    assert (left.at_left, right.at_left) == (False, True)
    assert left.across > 150.0
    assert right.across < 800.0

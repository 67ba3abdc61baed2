"""Text on paper: measured, broken, and shortened by rule; nothing goes without being said."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.web.paper.sizes import ELLIPSIS, count_lines, cut, fitted, lines_of, width_mm

words = st.text(st.characters(blacklist_categories=("Cs", "Cc", "Zs", "Zl", "Zp")), min_size=1, max_size=30)
texts = st.lists(words, min_size=1, max_size=25).map(" ".join)
rooms = st.floats(12.0, 120.0)


def test_a_letter_is_as_wide_as_the_typeface_has_it() -> None:
    # DejaVu Sans: the advances of A, m and the space are 1401, 1995 and 651 of 2048, read off the typeface.
    assert width_mm("A", 1.0) == pytest.approx(1401 / 2048, abs=5e-4)
    assert width_mm("m ", 1.0) == pytest.approx((1995 + 651) / 2048, abs=1e-3)


@given(texts, rooms)
def test_lines_hold_every_letter_and_none_is_too_long(text: str, room: float) -> None:
    lines = lines_of(text, room)

    assert "".join(lines).replace(" ", "") == "".join(text.split())
    assert all(width_mm(line) <= room + 1e-9 for line in lines)


@given(texts, st.integers(1, 6), rooms)
def test_a_text_is_cut_only_where_it_has_to_be_and_shows_it(text: str, most: int, room: float) -> None:
    shorter = cut(text, most, room)

    assert len(lines_of(shorter, room)) <= most
    if len(lines_of(text, room)) <= most:
        assert shorter == text
    else:
        assert shorter.endswith(ELLIPSIS)


@given(st.lists(texts, max_size=12).map(tuple), st.integers(0, 30), st.floats(30.0, 120.0))
def test_a_list_keeps_to_its_lines_and_counts_what_is_not_there(
    said: tuple[str, ...], lines: int, room: float
) -> None:
    found = fitted(said, lines, room)

    assert len(found.texts) + found.left_out == len(said)
    says_more = 1 if found.left_out and lines else 0
    assert count_lines(found.texts, room) + says_more <= lines
    assert found.is_whole == (count_lines(said, room) <= lines)
    if found.is_whole:
        assert found.texts == said


def test_the_longest_are_cut_first() -> None:
    long = "polarising sheet over the strip box, turned until the glare on the enamel is gone and stays gone"

    found = fitted(("prove black", long, "rim first"), 4, 60.0)

    assert found.texts[0] == "prove black"
    assert found.texts[1].endswith(ELLIPSIS)
    assert found.texts[2] == "rim first"
    assert found.lines_cut > 0

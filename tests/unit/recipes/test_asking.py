"""What is typed into the box: figures taken out, words kept as words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.recipes.asking import Asked, read_question
from webapp.recipes.spelling import Spelling, edit_distance
from webapp.recipes.vocabulary import synonyms

WORDS = Spelling([("beetle", 3), ("trumpet", 1), ("glass", 9), ("stack", 2), ("ring", 4)])
WORDINGS = synonyms([("dark-field", ["dark field"]), ("softbox", ["soft box"])])


def asked(text: str) -> Asked:
    return read_question(text, WORDINGS, WORDS.known, WORDS.alike)


@pytest.mark.parametrize(
    ("text", "column", "inside", "outside"),
    [
        ("f/16 or smaller", "f_number", (16.0, 22.6, 45.3), (11.3, 13.9)),
        ("f11", "f_number", (11.314,), (10.08, 12.7)),
        ("f/4 or wider", "f_number", (4.0, 2.8), (5.04,)),
        ("under 200 J", "energy_j", (12.5, 200.0), (201.0,)),
        ("1:1.2", "magnification", (0.833,), (1.2, 0.5)),
        ("2.5:1", "magnification", (2.5,), (1.2,)),
        ("above 3:1", "magnification", (3.0, 4.0), (2.9,)),
        ("50cm", "nearest_mm", (500.0,), (300.0, 700.0)),
        ("ring under 15 cm", "nearest_mm", (120.0, 150.0), (151.0,)),
        ("over 20 frames", "stack_frames", (24,), (12,)),
        ("one light", "light_count", (1,), (2,)),
    ],
)
def test_figures_filter(text: str, column: str, inside: tuple[float, ...], outside: tuple[float, ...]) -> None:
    figure = next(each for each in asked(text).figures if each.column == column)

    low, high = figure.low or 0.0, figure.high or 1e9
    assert all(low <= value <= high for value in inside)
    assert not any(low <= value <= high for value in outside)


def test_a_lighting_ratio_is_no_magnification() -> None:
    found = asked("key-to-fill 3:1")

    assert not found.figures
    assert any(("3", "1") in group.wordings for group in found.groups)


def test_two_spellings_of_a_term_ask_for_the_same() -> None:
    assert asked("soft box").groups == asked("softbox").groups


@pytest.mark.parametrize(("typed", "meant"), [("beetel", "beetle"), ("trumpt", "trumpet"), ("glas", "glass")])
def test_a_typing_error_finds_its_word(typed: str, meant: str) -> None:
    wordings = asked(typed).groups[0].wordings

    assert any(meant.startswith(words[0]) for words in wordings)


@given(st.text(max_size=300))
def test_whatever_is_typed_reaches_the_full_text_as_quoted_words(text: str) -> None:
    for group in asked(text).groups:
        for words in group.wordings:
            assert all(word and all(letter.isalnum() for letter in word) for word in words)


@given(st.text("abcd", max_size=8), st.text("abcd", max_size=8), st.text("abcd", max_size=8))
def test_edits_are_symmetric_and_zero_only_for_the_same(one: str, two: str, three: str) -> None:
    assert edit_distance(one, two) == edit_distance(two, one)
    assert (edit_distance(one, two) == 0) == (one == two)
    assert edit_distance(one, three) <= len(one) + len(three)

"""What is typed into the box: figures taken out, words kept as words."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.recipes.search.asking import Asked, Group, read_question, spelled_otherwise, tokens_of_columns
from webapp.recipes.search.spelling import Spelling, edit_distance
from webapp.recipes.search.vocabulary import synonyms

USED = {"beetle": 3, "trumpet": 1, "glass": 9, "stack": 2, "ring": 4, "beetles": 0}
WORDS = Spelling(USED)
WORDINGS = synonyms([("dark-field", ["dark field"]), ("softbox", ["soft box"])])


def asked(text: str) -> Asked:
    return read_question(
        text,
        WORDINGS,
        lambda beginning: any(word.startswith(beginning) for word in USED),
        lambda word: WORDS.alike(word, lambda each: USED[each]),
    )


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
        ("20 inches", "nearest_mm", (508.0, 600.0), (900.0,)),
        ("closer than 6 in", "nearest_mm", (152.0,), (153.0,)),
        ("within 2 feet", "nearest_mm", (609.0,), (610.0,)),
        ("1 : 1", "magnification", (1.0,), (0.5, 2.0)),
        ("2x or more", "magnification", (2.0, 5.0), (1.9,)),
        ("bigger than life size", "magnification", (1.2, 4.0), (0.9,)),
        ("half life-size", "magnification", (0.5,), (1.0,)),
        ("less than 15 Ws", "energy_j", (12.5,), (16.0,)),
        ("2,5:1", "magnification", (2.5,), (1.2, 5.0)),
        ("over 20 frames", "stack_frames", (24,), (12,)),
        ("one light", "light_count", (1,), (2,)),
    ],
)
def test_figures_filter(text: str, column: str, inside: tuple[float, ...], outside: tuple[float, ...]) -> None:
    figure = next(each for each in asked(text).figures if each.column == column)

    low, high = figure.low or 0.0, figure.high or 1e9
    assert all(low <= value <= high for value in inside)
    assert not any(low <= value <= high for value in outside)


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("drinks July 2024", dt.date(2024, 7, 1), dt.date(2024, 7, 31)),
        ("in 2024", dt.date(2024, 1, 1), dt.date(2024, 12, 31)),
        ("since december 2023", dt.date(2023, 12, 1), None),
        ("after december 2023", dt.date(2024, 1, 1), None),
        ("before 2024", None, dt.date(2023, 12, 31)),
    ],
)
def test_a_year_and_a_month_are_days(text: str, first: dt.date | None, last: dt.date | None) -> None:
    (figure,) = asked(text).figures

    assert (figure.column, figure.low, figure.high) == ("made_on", first, last)


@pytest.mark.parametrize("text", ["iso 2000", "1/2000 s", "12000"])
def test_a_dial_is_no_year(text: str) -> None:
    assert not [each for each in asked(text).figures if each.column == "made_on"]


def test_two_thousand_joules_are_no_year() -> None:
    assert [each.column for each in asked("under 2000 J").figures] == ["energy_j"]


def test_a_part_of_a_gel_is_meant_in_figures_or_in_a_word() -> None:
    assert asked("1/4").groups[0].wordings == (("1", "4"), ("quarter",))


def test_the_name_of_a_figure_is_not_looked_for_beside_it() -> None:
    assert not asked("magnification 2x or more").groups
    assert asked("magnification").groups


@pytest.mark.parametrize(
    ("typed", "elsewhere"),
    [
        ("colour", "color"),
        ("polarisation", "polarization"),
        ("grey", "gray"),
        ("woolen", "woollen"),
        ("centre", "center"),
    ],
)
def test_british_and_american_spellings_are_tried_both(typed: str, elsewhere: str) -> None:
    assert elsewhere in set(spelled_otherwise(typed))
    assert typed in set(spelled_otherwise(elsewhere))


def test_a_wording_that_another_one_finds_as_well_is_left_out() -> None:
    group = Group((("glass",), ("glassware",), ("drinking", "glass"), ("tumbler",)))

    assert group.match == '("glass"* OR "tumbler")'
    assert group.is_in(tokens_of_columns("a tumbler"))
    assert not group.is_in(tokens_of_columns("drinking\nwater"))


def test_a_lighting_ratio_is_no_magnification() -> None:
    found = asked("key-to-fill 3:1")

    assert not found.figures
    assert any(("3", "1") in group.wordings for group in found.groups)


def test_two_spellings_of_a_term_ask_for_the_same() -> None:
    spellings = [asked(text).groups[0].wordings for text in ("soft box", "softbox", "softboxes")]

    assert set(spellings[0]) == set(spellings[1]) < set(spellings[2])


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

"""What is typed into the box: conditions taken out, words kept as words."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.recipes.search.asking import Asked, Group, read_question, spelled_otherwise, tokens_of_columns
from webapp.recipes.search.conditions import question_without
from webapp.recipes.search.spelling import Spelling, edit_distance
from webapp.recipes.search.stated import About, Condition
from webapp.recipes.search.vocabulary import synonyms

USED = {"beetle": 3, "trumpet": 1, "glass": 9, "stack": 2, "ring": 4, "beetles": 0}
WORDS = Spelling(USED)
WORDINGS = synonyms([("light table", ["lightbox"])])


class Words:
    """A few words, as a finder would know them."""

    wordings = WORDINGS

    def known(self, beginning: str) -> bool:
        return any(word.startswith(beginning) for word in USED)

    def alike(self, word: str) -> tuple[str, ...]:
        return WORDS.alike(word, lambda each: USED[each])

    def is_recorded(self, match: str) -> bool:
        return "velvet" in match


def asked(text: str) -> Asked:
    return read_question(text, Words(), dt.date(2026, 11, 29))


def stated(text: str) -> Condition:
    (condition,) = asked(text).conditions
    return condition


def holds(condition: Condition, value: float) -> bool:
    met = any(
        (each.low is None or value >= each.low) and (each.high is None or value <= each.high)  # type: ignore[operator]
        for each in condition.reaches
    )
    return met != condition.negated


@pytest.mark.parametrize(
    ("text", "about", "inside", "outside"),
    [
        ("f/16 or smaller", "aperture", (16.0, 22.6, 45.3), (11.3, 13.9)),
        ("f11", "aperture", (11.314,), (10.08, 12.7)),
        ("f/4 or wider", "aperture", (4.0, 2.8), (5.04,)),
        ("f/8 or f/11", "aperture", (8.0, 11.314), (9.0, 5.6)),
        ("f/8 to f/16", "aperture", (8.0, 11.314, 16.0), (5.6, 22.6)),
        ("smaller than f/8", "aperture", (11.3,), (8.0, 5.6)),
        ("wider than f/8", "aperture", (5.6,), (8.0, 11.3)),
        ("not f/8", "aperture", (5.6, 11.3), (8.0,)),
        ("under 200 J", "energy", (12.5, 199.0), (200.0, 201.0)),
        ("up to 200 J", "energy", (12.5, 200.0), (201.0,)),
        ("between 50 and 100 J", "energy", (50.0, 100.0), (49.0, 101.0)),
        ("50 to 100 joules", "energy", (50.0, 100.0), (49.0, 101.0)),
        ("1:1.2", "magnification", (0.833,), (1.2, 0.5)),
        ("2.5:1", "magnification", (2.5,), (1.2,)),
        ("above 3:1", "magnification", (3.1, 4.0), (3.0, 2.9)),
        ("1:4 to 1:2", "magnification", (0.25, 0.4, 0.5), (0.2, 0.6)),
        ("50cm", "distance", (500.0,), (300.0, 700.0)),
        ("20 inches", "distance", (508.0, 600.0), (900.0,)),
        ("closer than 6 in", "distance", (152.0,), (153.0,)),
        ("within 2 feet", "distance", (609.0,), (610.0,)),
        ("1 : 1", "magnification", (1.0,), (0.5, 2.0)),
        ("2x or more", "magnification", (2.0, 5.0), (1.9,)),
        ("bigger than life size", "magnification", (1.2, 4.0), (0.9,)),
        ("half life-size", "magnification", (0.5,), (1.0,)),
        ("less than 15 Ws", "energy", (12.5,), (16.0,)),
        ("2,5:1", "magnification", (2.5,), (1.2, 5.0)),
        ("over 20 frames", "frames in the stack", (24,), (20, 12)),
        ("one light", "lights", (1,), (2,)),
        ("more than one light", "lights", (2, 3), (1,)),
        ("two or three heads", "lights", (2, 3), (1, 4)),
        ("2-3 lights", "lights", (2, 3), (1, 4)),
        ("no more than two lights", "lights", (1, 2), (3,)),
        ("three or more lights", "lights", (3, 9), (2,)),
        ("two-light", "lights", (2,), (1, 3)),
        ("3+ lights", "lights", (3, 4), (2,)),
        ("fewer than three lights", "lights", (1, 2), (3,)),
        ("iso 400 or higher", "ISO", (400.0, 800.0), (200.0,)),
        ("slower than 1/60", "shutter", (1 / 30,), (1 / 60, 1 / 125)),
        ("1/125 s", "shutter", (1 / 128,), (1 / 64,)),
        ("half a second", "shutter", (0.5,), (1.0,)),
        ("100 mm", "focal length", (100.0,), (105.0, 90.0)),
        ("90 to 105 mm lens", "focal length", (90.0, 100.0, 105.0), (85.0,)),
        ("key-to-fill 3:1", "key to fill", (1.585, 1.0), (2.0, 0.0)),
        ("fill two stops under the key", "key to fill", (2.0,), (1.0, 3.0)),
        ("lighting ratio over 4:1", "key to fill", (3.0,), (2.0,)),
        ("fully measured", "open unknowns", (0,), (1,)),
    ],
)
def test_numbers_are_conditions(text: str, about: str, inside: tuple[float, ...], outside: tuple[float, ...]) -> None:
    condition = stated(text)

    assert condition.about == about
    assert condition.said == text
    assert all(holds(condition, value) for value in inside)
    assert not any(holds(condition, value) for value in outside)


@pytest.mark.parametrize(
    ("text", "of", "about"),
    [
        ("key under 100 J", ("role", "key"), "energy"),
        ("ring under 15 cm", ("kind", "ring light"), "distance"),
        ("light B at 1/32", ("letter", "B"), "power"),
        ("a head over 500 J", ("any", ""), "energy"),
    ],
)
def test_a_number_may_be_about_one_light(text: str, of: tuple[str, str], about: str) -> None:
    condition = stated(text)

    assert (condition.of, condition.about, condition.said) == (of, about, text)


def test_what_every_light_has_no_light_has_otherwise() -> None:
    condition = stated("each head under 50 J")

    assert condition.negated
    assert not holds(condition, 50.0)
    assert holds(condition, 49.0)


@pytest.mark.parametrize(
    ("text", "marks", "negated"),
    [
        ("cross-polarized", {("technique", "cross-polarised")}, False),
        ("without softbox", {("family", "softbox")}, True),
        ("not dark-field", {("technique", "dark-field")}, True),
        ("dark field or bright field", {("technique", "dark-field"), ("technique", "bright-field")}, False),
        ("gel on the fill", {("technique", "gel on the fill")}, False),
        ("head B at its lowest power", {("floor", "B")}, False),
        ("the key at full power", {("ceiling", "key")}, False),
        ("light C", {("letter", "C")}, False),
        ("no fill", {("role", "fill")}, True),
        ("no flash", {("light", "flash head"), ("light", "ring light")}, True),
        ("two softboxes", {("so many", "2 softbox")}, False),
        ("in winter", {("season", "winter")}, False),
        ("unknown distances", {("not measured", "distance")}, False),
        ("medium format", {("format", "medium format")}, False),
    ],
)
def test_what_is_on_the_set_is_a_condition(text: str, marks: set[tuple[str, str]], negated: bool) -> None:
    condition = stated(text)

    assert (set(condition.marks), condition.negated) == (marks, negated)
    assert condition.said == text.removeprefix("in ") or condition.said == text
    assert not asked(text).groups


def test_what_is_denied_together_is_denied_each() -> None:
    conditions = asked("bottle without a softbox or an umbrella").conditions

    assert [(each.marks, each.negated) for each in conditions] == [
        ((("family", "softbox"),), True),
        ((("family", "umbrella"),), True),
    ]


def test_a_word_is_denied_where_the_record_of_some_recipe_has_it() -> None:
    assert [each.said for each in asked("glass without velvet").conditions] == ["without velvet"]
    assert not asked("without trumpet").conditions
    assert [group.said for group in asked("without trumpet").groups] == ["trumpet"]


@pytest.mark.parametrize(
    "text", ["how do I light a black bottle", "diamond ring", "38 mm medal", "a spring", "3 in a row", "key visual"]
)
def test_what_states_nothing_is_words(text: str) -> None:
    assert not asked(text).conditions


def test_what_was_not_understood_is_named_and_nothing_else() -> None:
    said = asked("more than one light, dark-field, qqx trumpet without softbox")

    assert said.as_words == ("qqx", "trumpet")


@pytest.mark.parametrize(
    ("text", "taken", "left"),
    [
        ("Bottle with more than two lights", 0, "Bottle"),
        ("f/8 or f/11, paper", 0, "paper"),
        ("macro without softbox at 1:1", 0, "macro at 1:1"),
        ("macro without softbox at 1:1", 1, "macro without softbox"),
    ],
)
def test_a_condition_can_be_taken_out_of_the_question(text: str, taken: int, left: str) -> None:
    assert question_without(text, asked(text).conditions[taken]) == left


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("drinks July 2024", dt.date(2024, 7, 1), dt.date(2024, 7, 31)),
        ("in 2024", dt.date(2024, 1, 1), dt.date(2024, 12, 31)),
        ("since december 2023", dt.date(2023, 12, 1), None),
        ("after december 2023", dt.date(2024, 1, 1), None),
        ("before 2024", None, dt.date(2023, 12, 31)),
        ("2023 to 2024", dt.date(2023, 1, 1), dt.date(2024, 12, 31)),
        ("last year", dt.date(2025, 1, 1), dt.date(2025, 12, 31)),
    ],
)
def test_a_year_and_a_month_are_days(text: str, first: dt.date | None, last: dt.date | None) -> None:
    (said,) = stated(text).reaches

    assert (said.low, said.high) == (first, last)


@pytest.mark.parametrize("text", ["iso 2000", "1/2000 s", "12000", "under 2000 J"])
def test_a_dial_is_no_year(text: str) -> None:
    assert not [each for each in asked(text).conditions if each.about is About.DAY]


def test_a_part_of_a_gel_is_meant_in_figures_or_in_a_word() -> None:
    assert asked("1/4").groups[0].wordings == (("1", "4"), ("quarter",))


def test_the_name_of_a_figure_is_not_looked_for_beside_it() -> None:
    assert not asked("magnification 2x or more").groups
    assert asked("magnification").groups


@given(st.text("f/168 orwithutlgsexmJ:andb2.-", max_size=60))
def test_conditions_lie_beside_each_other_in_the_question(text: str) -> None:
    said = " ".join(text.split())
    ends = 0
    for each in asked(text).conditions:
        assert each.start >= ends
        assert said[each.start : each.end] == each.said or each.said
        ends = each.end


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


def test_two_spellings_of_a_term_ask_for_the_same() -> None:
    spellings = [asked(text).groups[0].wordings for text in ("lightboxes", "light table", "lightbox")]

    assert set(spellings[1]) == set(spellings[2]) < set(spellings[0])


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

"""The search holds what a plain filter over the documents holds: nothing more, nothing less, whatever is chosen."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import event

from tests.search.corpus import recipe_from, told_recipes
from webapp.recipes.document import Recipe
from webapp.recipes.publish import publish
from webapp.recipes.search import finding
from webapp.recipes.search.finding import Filters, Finder
from webapp.recipes.search.lines import completeness_percent, facets, line_of, set_up_distance, vector_of
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade
from webapp.web.words.say import say

RECIPES = [recipe_from(each) for each in told_recipes()]
EVERY_FACET = sorted({each for recipe in RECIPES for each in facets(recipe)})
# Words that stand for themselves alone: neither of the vocabulary (none is laid out here) nor the stem of others.
WORDS = ("velvet", "acrylic", "white", "black", "strip", "qqxqqx")


class Library:
    """Not a dataclass, so that a failing example does not print every recipe."""

    def __init__(self, records: Records) -> None:
        self.records = records
        self.finder = Finder(records)
        self.recipes = {publish(records, each).recipe_id: each for each in RECIPES}
        self.told = {key: Told(recipe) for key, recipe in self.recipes.items()}


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    records = Records(tmp_path_factory.mktemp("plain"))
    upgrade(records)
    yield Library(records)
    records.close()


ends = st.none() | st.sampled_from([0.05, 0.3, 1.0, 5.6, 8.0, 11.313708498984761, 16.0])
days = st.none() | st.dates(dt.date(2023, 6, 1), dt.date(2025, 9, 1))
chosen = st.builds(
    Filters,
    facets=st.lists(st.sampled_from(EVERY_FACET), max_size=2, unique=True).map(tuple),
    f_number=st.tuples(ends, ends),
    magnification=st.tuples(ends, ends),
    made_on=st.tuples(days, days),
    measured_from=st.none() | st.integers(0, 100),
)


def within(value: object, low: object, high: object) -> bool:
    if low is None and high is None:
        return True
    return value is not None and (low is None or value >= low) and (high is None or value <= high)  # type: ignore[operator]


class Told:
    """What the filter reads of a recipe, worked out once."""

    def __init__(self, recipe: Recipe) -> None:
        self.recipe, self.words = recipe, line_of(recipe).words
        self.facets, self.measured = set(facets(recipe)), completeness_percent(recipe)


def meets(told: Told, filters: Filters, words: list[str]) -> bool:
    return (
        set(filters.facets) <= told.facets
        and within(told.recipe.f_number, *filters.f_number)
        and within(told.recipe.settings.magnification, *filters.magnification)
        and within(told.recipe.made_on, *filters.made_on)
        and within(told.measured, filters.measured_from, None)
        and all(any(one.startswith(word) for one in told.words) for word in words)
    )


@settings(max_examples=150)
@given(chosen, st.lists(st.sampled_from(WORDS), max_size=2, unique=True))
def test_exactly_the_recipes_that_meet_everything_are_found(
    library: Library, filters: Filters, words: list[str]
) -> None:
    wanted = {key for key, told in library.told.items() if meets(told, filters, words)}

    found = library.finder.find(" ".join(words), filters, limit=len(RECIPES))

    if wanted or not found.says:
        assert {line.recipe_id for line in found.lines} == wanted
        assert found.count == len(wanted)


@given(chosen)
def test_a_facet_is_counted_as_often_as_it_narrows_to(library: Library, filters: Filters) -> None:
    found = library.finder.find("", filters, limit=1)

    for facet, value, count in found.facets[::7]:
        narrowed = Filters(
            (*filters.facets, (facet, value)),
            filters.f_number,
            filters.magnification,
            filters.made_on,
            filters.measured_from,
        )
        assert library.finder.find("", narrowed, limit=1).count == count


def test_more_than_can_be_ranked_is_said_and_the_best_of_the_newest_come(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(finding, "COUNTED_UP_TO", 5)

    found = library.finder.find("white", limit=5)

    assert found.count == 5
    assert "More than 5 recipes have these words" in " ".join(map(say, found.says))
    assert all("white" in line_of(library.recipes[line.recipe_id]).words for line in found.lines)
    assert len(found.lines) == 5


@pytest.mark.parametrize("place", range(0, len(RECIPES), 9))
def test_the_nearest_set_ups_come_as_comparing_each_would_give_them(library: Library, place: int) -> None:
    ids = list(library.recipes)
    own = vector_of(RECIPES[place])
    apart = sorted(
        set_up_distance(own, vector_of(other)) for key, other in library.recipes.items() if key != ids[place]
    )

    alike = library.finder.more_like(ids[place])

    assert [distance for _, distance in alike] == pytest.approx(apart[:5])
    assert ids[place] not in {line.recipe_id for line, _ in alike}


def test_set_ups_that_have_most_in_common_are_likened_before_newer_ones(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(finding, "_LIKENED", 4)
    first = next(key for key, recipe in library.recipes.items() if recipe.looks == ("rim", "graduated"))
    own = set(vector_of(library.recipes[first]).meetings)

    alike = library.finder.more_like(first)

    assert 0 < len(alike) <= 4
    assert all(own & set(vector_of(library.recipes[line.recipe_id]).meetings) for line, _ in alike)


@settings(max_examples=60, deadline=None)
@given(
    st.one_of(
        st.text(max_size=200),
        st.text("\"*()^:-+{}<>[]\\'AND OR NOT NEAR f/1:.,x", max_size=300),
        st.text("🙂é👩‍🎨ßǅ\u0000\ue000 ", max_size=100),
        st.sampled_from(
            ['"', "f/" * 4000, "a" * 10_000, "velvet " * 1500, "1/4 " * 2500, "🙂" * 10_000, "NEAR(" * 2000]
        ),
    )
)
def test_whatever_is_typed_is_searched_as_words(library: Library, typed: str) -> None:
    found = library.finder.find(typed, limit=3)

    assert len(found.lines) <= 3
    assert found.count <= len(RECIPES)


def test_a_question_is_a_bounded_number_of_statements(library: Library) -> None:
    engine = library.records.engine
    count = 0

    def one(*_: object) -> None:
        nonlocal count
        count += 1

    event.listen(engine, "before_cursor_execute", one)
    try:
        library.finder.find(" ".join(f"qword{number}x{'abcdefghij'[number % 10]}" for number in range(1400)))
    finally:
        event.remove(engine, "before_cursor_execute", one)

    assert count < 200

"""The search over HTTP: what is typed is words, what is chosen stands in the address."""

from __future__ import annotations

import re

import pytest

from tests.http.pages.walk import HTMX
from tests.http.recipes.conftest import Shoot, published


def test_a_recipe_is_found_by_its_words_with_or_without_scripts(shoot: Shoot) -> None:
    published(shoot)

    page = shoot.client.get("/recipes", params={"q": "enamel"}).text
    part = shoot.client.get("/recipes", params={"q": "enamel"}, headers=HTMX).text

    assert "<h2>1 recipe</h2>" in page
    assert "<html" not in part
    assert part.strip() in page


@pytest.mark.parametrize(
    "typed",
    ['"*(((', "NEAR(a b) OR NOT", "title:enamel", "🙂🙂", "a" * 10_000, "x" * 200_000, '" OR 1=1 --', "f/" * 4000],
)
def test_anything_typed_is_searched_as_words(shoot: Shoot, typed: str) -> None:
    published(shoot)

    assert shoot.client.get("/recipes", params={"q": typed[:30_000]}).status_code == 200


def test_filters_stand_in_the_address_and_narrow(shoot: Shoot) -> None:
    published(shoot)

    narrowed = shoot.client.get("/recipes", params={"q": "enamel", "facet": "look=soft", "f_from": "5.6"}).text
    nothing = shoot.client.get("/recipes", params={"facet": "look=hard"}).text

    assert "<h2>1 recipe</h2>" in narrowed
    assert "/recipes?q=enamel&amp;facet=look%3Dsoft&amp;f_from=5.6" in narrowed
    assert "<h2>0 recipes</h2>" in nothing


def test_a_filter_that_leaves_nothing_can_be_taken_back(shoot: Shoot) -> None:
    published(shoot)

    page = shoot.client.get("/recipes", params={"q": "enamel", "facet": "look=hard"}).text

    assert "<h2>0 recipes</h2>" in page
    assert '<b>hard</b> <a href="/recipes?q=enamel">clear</a>' in page


@pytest.mark.parametrize(
    "facet", ["look", "=", "kit=all", "kit owned=", "look=" + "x" * 5000, 'look=" OR 1', "look=\ue000"]
)
def test_a_filter_that_nobody_offered_finds_nothing_and_breaks_nothing(shoot: Shoot, facet: str) -> None:
    published(shoot)

    assert shoot.client.get("/recipes", params={"facet": facet}).status_code == 200


def test_the_year_the_aperture_and_what_is_measured_narrow(shoot: Shoot) -> None:
    published(shoot)

    page = shoot.client.get("/recipes").text
    year = re.findall(r'facet=year%3D(\d{4})"', page)[0]

    assert "<h2>1 recipe</h2>" in shoot.client.get("/recipes", params={"facet": f"year={year}"}).text
    assert "<h2>0 recipes</h2>" in shoot.client.get("/recipes", params={"facet": "year=1999"}).text
    for facet in ("Measured", "Aperture"):
        assert f"<h3>{facet.lower()}</h3>" in page


def test_a_filter_that_is_none_is_said_and_searches_without_it(shoot: Shoot) -> None:
    published(shoot)

    page = shoot.client.get("/recipes", params={"f_from": "soon"}).text

    assert "is no figure to filter by" in page


def test_an_edited_term_is_searched_by(shoot: Shoot) -> None:
    published(shoot)
    assert "<h2>0 recipes</h2>" in shoot.client.get("/recipes", params={"q": "gentle"}).text

    shoot.client.post("/recipes/vocabulary", data={"facet": "technique", "term": "soft", "others": "gentle"})

    assert "<h2>1 recipe</h2>" in shoot.client.get("/recipes", params={"q": "gentle"}).text


def test_what_a_question_states_is_a_chip_that_can_be_taken_out(shoot: Shoot) -> None:
    published(shoot)

    page = shoot.client.get("/recipes", params={"q": "enamel with fewer than nine lights, zzqx"}).text

    assert "<span>lights: less than 9</span>" in page
    assert 'href="/recipes?q=enamel+zzqx"' in page
    assert "Searched as words: enamel, zzqx." in page


def test_what_was_understood_is_not_called_words(shoot: Shoot) -> None:
    published(shoot)

    page = shoot.client.get("/recipes", params={"q": "fewer than nine lights without softbox"}).text

    assert "without softbox" in page
    assert "Searched as words" not in page


def test_nothing_that_contradicts_is_shown_and_each_condition_says_what_is_without_it(shoot: Shoot) -> None:
    published(shoot)

    page = shoot.client.get("/recipes", params={"q": "enamel, more than nine lights"}).text

    assert "<h2>0 recipes</h2>" in page
    assert "1 without it" in page


def test_the_order_and_the_page_stand_in_the_address(shoot: Shoot) -> None:
    for number in range(23):
        published(shoot, title=f"Enamel pin {number}")

    first = shoot.client.get("/recipes", params={"q": "enamel", "order": "oldest"}).text
    second = shoot.client.get("/recipes", params={"q": "enamel", "order": "oldest", "page": "2"}).text

    assert "/recipes?q=enamel&amp;order=oldest&amp;page=2" in first
    shown = [re.findall(r'href="/recipes/([0-9a-f-]{36})"', each) for each in (first, second)]
    assert [len(each) for each in shown] == [20, 3]
    assert not set(shown[0]) & set(shown[1])

"""The guide inside: found by words, whole without scripts, a sentence for every page, and pictures of pages that exist."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.guide_pictures import PICTURED, PLACE
from webapp.web.drawings.terms import DRAWN
from webapp.web.words.page_help import PAGES, help_for
from webapp.web.words.terms import TERMS

RIGHTS = Path(__file__).parents[1] / "rights.txt"
ROUTES = {line.split()[0] for line in RIGHTS.read_text().splitlines() if " GET " in line}
MOST_BYTES = 1_500_000
# What answers no page of the house: files, parts, streams, readers outside, and the ways in.
NO_PAGE = re.compile(
    r"/(api|shared|open|pictures|links|live-pages|healthz|certificate|sign-in|pair)\b|/news$|\.(jpg|png|svg)$"
)


def _blocks(page: str) -> list[str]:
    return re.findall(r'<div class="block" id="([\w,-]+)"', page)


def test_all_of_it_stands_on_one_page(client: TestClient) -> None:
    page = client.get("/guide").text

    found = _blocks(page)
    assert len(found) == len(set(found))
    assert {f"page-{each.key}" for each in PAGES} | {each.key for each in TERMS} < set(found)
    assert "five marks are four stops" in page
    assert page.count("<svg") == len({each.drawing for each in TERMS if each.drawing}) == len(DRAWN)


def test_a_search_shows_what_has_all_the_words_and_says_how_much(client: TestClient) -> None:
    page = client.get("/guide", params={"q": "Sync speed"}).text

    assert "term-sync-speed" in _blocks(page)
    assert "term-gel" not in _blocks(page)
    assert f"{len(_blocks(page))} places with “Sync speed”" in page
    assert "0 places with" in client.get("/guide", params={"q": "zzz"}).text


def test_every_page_of_the_house_has_its_sentence() -> None:
    pages = [each for each in ROUTES if not NO_PAGE.search(each)]

    assert len(pages) > 40
    assert [each for each in pages if help_for(each) is None] == []
    assert [route for each in PAGES for route in each.routes if route not in ROUTES] == []


@pytest.mark.parametrize("address", ["/", "/kit", "/recipes", "/worksheets", "/in-tray", "/devices"])
def test_the_sentence_is_in_the_menu_with_the_way_to_the_guide(client: TestClient, address: str) -> None:
    page = client.get(address).text
    told = help_for(address)

    assert told is not None
    assert told.words in page
    assert f'href="/guide#page-{told.key}"' in page


def test_its_pictures_are_there_show_pages_that_exist_and_are_small(client: TestClient) -> None:
    shown = set(re.findall(r"/guide/(\w+)\.webp", client.get("/guide").text))

    assert shown == set(PICTURED) == {path.stem for path in PLACE.glob("*.webp")}
    assert set(PICTURED.values()) <= ROUTES
    assert sum(path.stat().st_size for path in PLACE.iterdir()) < MOST_BYTES
    readme = (Path(__file__).parents[3] / "README.md").read_text()
    assert {Path(each).stem for each in re.findall(r"\]\((static/guide/[^)]+)\)", readme)} <= set(PICTURED)

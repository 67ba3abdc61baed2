"""Keywords: one page of chips, one of them open; added, renamed, merged, deleted, and found by."""

from __future__ import annotations

import re
from typing import Any

from starlette.testclient import TestClient

from tests.http.recipes.conftest import Shoot, published

PAGE = "/recipes/vocabulary"
HTMX = {"HX-Request": "true", "Sec-Fetch-Site": "same-origin"}


def terms_of(client: TestClient) -> dict[str, dict[str, Any]]:
    return {each["term"]: each for each in client.get("/api/v1/vocabulary").json()}


def form_of(page: str) -> dict[str, str]:
    """The fields of the one form that is open."""
    form = page.partition('<li class="edit">')[2].partition("</li>")[0]
    return dict(re.findall(r'<input [^>]*name="([^"]+)" value="([^"]*)"', form))


def test_every_term_is_a_chip_and_one_at_a_time_is_open(client: TestClient) -> None:
    soft = terms_of(client)["soft"]
    closed, opened = client.get(PAGE).text, client.get(PAGE, params={"open": soft["id"]}).text

    assert closed.count('class="chip"') == len(terms_of(client))
    assert 'class="edit"' not in closed
    assert opened.count('class="edit"') == 1
    assert form_of(opened)["term"] == "soft"
    assert form_of(opened)["others"] == "soft light"


def test_htmx_gets_the_chips_alone(client: TestClient) -> None:
    part = client.get(PAGE, headers=HTMX).text

    assert part.lstrip().startswith('<div id="keywords">')
    assert part.strip() in client.get(PAGE).text


def test_a_term_that_is_renamed_is_found_by_its_old_word_too(shoot: Shoot) -> None:
    published(shoot)
    soft = terms_of(shoot.client)["soft"]
    said = form_of(shoot.client.get(PAGE, params={"open": soft["id"]}).text) | {"term": "gentle"}

    assert shoot.client.post(PAGE, data=said).status_code == 303

    assert terms_of(shoot.client)["gentle"]["others"] == ["soft light", "soft"]
    assert "<h2>1 recipe</h2>" in shoot.client.get("/recipes", params={"q": "gentle"}).text


def test_a_term_is_merged_into_another_of_its_group(client: TestClient) -> None:
    before = terms_of(client)
    said = form_of(client.get(PAGE, params={"open": before["dark-field"]["id"]}).text)

    answer = client.post(PAGE, data=said | {"merge": "1", "into": before["low key"]["id"]}, headers=HTMX)

    assert "Merged into low key." in answer.text
    after = terms_of(client)
    assert "dark-field" not in after
    assert after["low key"]["others"] == [
        "low-key",
        "moody",
        "dark and moody",
        "dark-field",
        "dark field",
        "darkfield",
    ]
    assert after["low key"]["revision"] == before["low key"]["revision"] + 1


def test_over_the_interface_a_term_is_merged_and_only_within_its_group(client: TestClient) -> None:
    terms = terms_of(client)
    address = f"/api/v1/vocabulary/{terms['dark-field']['id']}/merge"

    wrong = client.post(address, json={"into": terms["bottle"]["id"]})
    itself = client.post(address, json={"into": terms["dark-field"]["id"]})
    nowhere = client.post(address, json={"into": "nowhere"})
    right = client.post(address, json={"into": terms["silhouette"]["id"]})

    assert [each.status_code for each in (wrong, itself, nowhere, right)] == [422, 422, 422, 200]
    assert "dark field" in right.json()["others"]


def test_a_term_is_added_and_deleted(client: TestClient) -> None:
    said = form_of(client.get(PAGE, params={"open": "new", "facet": "look"}).text)

    client.post(PAGE, data=said | {"term": "chiaroscuro", "others": "dramatic, theatrical"})
    added = terms_of(client)["chiaroscuro"]
    assert (added["facet"], added["others"]) == ("look", ["dramatic", "theatrical"])

    said = form_of(client.get(PAGE, params={"open": added["id"]}).text)
    assert "Deleted." in client.post(PAGE, data=said | {"drop": "1"}, headers=HTMX).text
    assert "chiaroscuro" not in terms_of(client)


def test_what_cannot_be_kept_stays_open_as_it_was_typed(client: TestClient) -> None:
    terms = terms_of(client)
    said = form_of(client.get(PAGE, params={"open": terms["soft"]["id"]}).text)

    twice = client.post(PAGE, data=said | {"term": "hard", "others": "kept words"}, headers=HTMX)
    empty = client.post(PAGE, data={"facet": "look", "term": " "})

    assert (twice.status_code, empty.status_code) == (422, 422)
    assert "“hard” is in the list already." in twice.text
    assert form_of(twice.text)["others"] == "kept words"
    assert "1 to 60 letters" in empty.text


def test_the_filter_looks_into_the_other_words(client: TestClient) -> None:
    page = client.get(PAGE, params={"q": "dark fi"}).text

    chips = re.findall(r'class="chip" id="keyword-[^>]*>([^<]+?) ?<', page)
    assert chips == ["dark-field"]
    assert "1 of 18" in page
    assert 'value="dark fi"' in page

"""A frame becomes a recipe; a version never changes."""

from __future__ import annotations

import re

from starlette.testclient import TestClient

from tests.http.recipes.conftest import Shoot, published
from webapp.recipes import publish
from webapp.services import Services


def services_of(client: TestClient) -> Services:
    return client.app.state.services  # type: ignore[attr-defined, no-any-return]


def rotation(degrees: str) -> dict[str, str]:
    return {"post-0-kind": "rotation", "post-0-rotation_deg": degrees, "post-0-reason": "horizon"}


def test_the_form_is_drafted_from_the_ledger(shoot: Shoot) -> None:
    page = shoot.client.get(f"{shoot.frame}/recipe").text

    assert 'value="enamel dial"' in page
    assert "Every lamp off: prove the light of the room" in page


def test_a_published_frame_is_read_with_its_settings_and_picture(shoot: Shoot) -> None:
    page = shoot.client.get(published(shoot, **rotation("0.8"))).text

    assert "f/8" in page
    assert "rotation 0.8° clockwise: horizon" in page
    assert "/recipes/pictures/" in page


def test_a_version_stays_and_the_next_one_says_what_differs(shoot: Shoot) -> None:
    recipe = published(shoot)
    first = shoot.client.get(f"{recipe}/versions/1").text

    assert shoot.client.post(f"{recipe}/rewrite", data={"title": "Dial, again"}).status_code == 303

    assert "title “Enamel dial” to “Dial, again”" in shoot.client.get(recipe).text
    kept = publish.read(services_of(shoot.client).records, recipe.rsplit("/", 1)[1], 1)
    assert kept.recipe.title == "Enamel dial"
    assert "<h1>Enamel dial</h1>" in first
    assert "<h1>Enamel dial</h1>" in shoot.client.get(f"{recipe}/versions/1").text


def test_the_same_again_is_no_new_version(shoot: Shoot) -> None:
    recipe = published(shoot)

    assert shoot.client.post(f"{recipe}/rewrite", data={"title": "Enamel dial"}).status_code == 409
    assert shoot.client.get(f"{recipe}/versions/2").status_code == 404


def test_what_cannot_be_kept_comes_back_as_typed_and_publishes_nothing(shoot: Shoot) -> None:
    answer = shoot.client.post(
        f"{shoot.frame}/recipe", data={"title": "", "why": "kept words"} | rotation("upside down")
    )

    assert answer.status_code == 422
    assert "kept words" in answer.text
    assert "upside down" in answer.text
    assert re.findall(r'<details class="more" open><summary><h2>([^<]+)', answer.text) == ["Post-production"]
    assert "No recipe yet" in shoot.client.get("/recipes").text


def test_an_edit_of_the_frame_leaves_the_recipe_as_it_was_published(shoot: Shoot) -> None:
    recipe = published(shoot)

    shoot.client.post(shoot.frame, data={"revision": "1", "f_number": "16"})

    assert "<dd>f/8</dd>" in shoot.client.get(recipe).text


def test_words_of_the_log_that_look_like_markup_stand_in_no_way_of_publishing(shoot: Shoot) -> None:
    note = "aperture <f/8 and <b, a < b, </p> <!-- <?"
    shoot.client.post(shoot.frame, data={"revision": "1", "because": note})

    assert shoot.client.get(published(shoot)).status_code == 200
    assert shoot.client.get(f"{shoot.frame}/recipe").status_code == 200


def contradicted(shoot: Shoot) -> str:
    """A frame whose field, focal length and distance cannot all be right; the answer is its address."""
    for field, value in (("focal_length", "100"), ("magnification", "0.5"), ("subject_distance", "2 m")):
        fields = {"revision": shoot.client.get(shoot.frame).text.split('name="revision" value="')[1].split('"')[0]}
        assert shoot.client.post(shoot.frame, data=fields | {field: value}).status_code == 303
    return shoot.frame


def test_a_contradiction_is_listed_first_with_its_way_out_and_stops_the_recipe(shoot: Shoot) -> None:
    frame = contradicted(shoot)
    page = shoot.client.get(f"{frame}/recipe").text

    assert page.index("Contradicts itself") < page.index("Not known") < page.index("What it is")
    assert f'<a class="outline" href="{frame}#correct">Correct the frame</a>' in page
    refused = shoot.client.post(f"{frame}/recipe", data={"title": "Dial", "why": "typed before"})
    assert refused.status_code == 422
    assert "Settle it, or state it as open." in refused.text
    assert "typed before" in refused.text
    assert "No recipe yet" in shoot.client.get("/recipes").text


def test_a_contradiction_that_is_stated_as_open_is_published_as_that(shoot: Shoot) -> None:
    frame = contradicted(shoot)
    answer = shoot.client.post(f"{frame}/recipe", data={"title": "Dial", "open": "open_field"})

    assert answer.status_code == 303
    page = shoot.client.get(answer.headers["location"]).text
    assert page.index("<h2>Open questions</h2>") < page.index("contradict each other")


def test_what_is_unknown_is_ticked_by_whoever_was_shown_it(shoot: Shoot) -> None:
    page = shoot.client.get(f"{shoot.frame}/recipe").text
    listed = re.findall(r'name="open" value="([^"]+)"', page)
    assert listed

    shown = {"title": "Dial", "points-listed": "1"}
    assert shoot.client.post(f"{shoot.frame}/recipe", data=shown).status_code == 422
    assert shoot.client.post(f"{shoot.frame}/recipe", data=shown | {"open": listed}).status_code == 303

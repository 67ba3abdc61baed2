"""A recipe is deleted for good, without a trace; and a picture is withdrawn from a link, also from browsers that have
it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.http.recipes.conftest import Shoot, link, published
from webapp.app import create_app
from webapp.recipes import deletion
from webapp.records import recipe_search
from webapp.settings import Settings

SECRET = "zq77xjvsecret"


def services_of(client: TestClient) -> Any:
    return client.app.state.services  # type: ignore[attr-defined]


def everything_in(folder: Path) -> bytes:
    return b"".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())


def recipe_pictures(shoot: Shoot, recipe: str) -> list[str]:
    return re.findall(r'src="(/recipes/pictures/[0-9a-f]{64})"', shoot.client.get(recipe).text)


# --- a recipe -------------------------------------------------------------------------------------------------------


def test_it_is_told_what_goes_and_the_title_has_to_be_typed(shoot: Shoot) -> None:
    recipe = published(shoot)
    shoot.client.post(f"{recipe}/rewrite", data={"title": "Dial, again"})
    link(shoot, recipe)

    told = shoot.client.get(f"{recipe}/delete-for-good").text
    refused = shoot.client.post(f"{recipe}/delete-for-good", data={"title": "Enamel dial"})

    assert "2 versions with 1 picture and 1 link go" in told
    assert refused.status_code == 422
    assert "Write the recipe’s title, “Dial, again”" in refused.text
    assert shoot.client.get(recipe).status_code == 200


def test_nothing_of_it_is_left_and_its_frame_is(shoot: Shoot) -> None:
    kept = published(shoot, title="Dial that stays")
    recipe = published(shoot, title=f"Dial {SECRET}", why=SECRET, tags=SECRET)
    address = link(shoot, recipe, words=SECRET)
    (picture,) = recipe_pictures(shoot, recipe)
    data = services_of(shoot.client).settings.data
    frame = shoot.client.get(shoot.frame).text
    assert SECRET.encode() in everything_in(data)

    gone = shoot.client.post(f"{recipe}/delete-for-good", data={"title": f"Dial {SECRET}"})

    assert (gone.status_code, gone.headers["location"]) == (303, "/recipes")
    assert [shoot.client.get(each).status_code for each in (recipe, address, f"{address}/pictures/0")] == [404] * 3
    assert SECRET.encode() not in everything_in(data)
    assert "No recipe answers that" in shoot.client.get("/recipes", params={"q": SECRET}).text
    # The other recipe names the same picture.
    assert shoot.client.get(picture).status_code == 200
    assert shoot.client.get(kept).status_code == 200
    assert "recipe" in frame
    assert shoot.client.get(shoot.frame).status_code == 200

    shoot.client.post(f"{kept}/delete-for-good", data={"title": "Dial that stays"})
    assert shoot.client.get(picture).status_code == 404
    preview = re.search(r'"(/pictures/[0-9a-f]{64}/preview)', shoot.client.get(shoot.frame).text)
    assert preview
    assert shoot.client.get(preview.group(1)).status_code == 200


def test_a_word_that_comes_after_a_deletion_is_known_to_the_search(shoot: Shoot) -> None:
    recipe = published(shoot, title="Chrysoprase")
    found = shoot.client.get("/recipes", params={"q": "chrysoprese"}).text
    assert "Chrysoprase" in found

    shoot.client.post(f"{recipe}/delete-for-good", data={"title": "Chrysoprase"})
    published(shoot, title="Labradorite")

    assert "Labradorite" in shoot.client.get("/recipes", params={"q": "labradorote"}).text
    with services_of(shoot.client).records.reading() as db:
        assert not recipe_search.has_word(db, "chrysoprase")


def test_a_stop_in_the_middle_is_taken_up_at_the_next_start(shoot: Shoot, monkeypatch: pytest.MonkeyPatch) -> None:
    recipe = published(shoot, title="Dial that goes")
    (picture,) = recipe_pictures(shoot, recipe)
    services = services_of(shoot.client)

    def stopped(*_: Any) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(deletion, "finish_deletion", stopped)
        with pytest.raises(KeyboardInterrupt):
            deletion.delete_recipe(
                services.records, services.settings, services.store, recipe.rsplit("/", 1)[1], "Dial that goes"
            )
    assert shoot.client.get(picture).status_code == 200

    with TestClient(create_app(Settings(data=services.settings.data))) as anew:
        assert anew.get(recipe).status_code == 404
        assert anew.get(picture).status_code == 404


def test_a_shot_that_is_balanced_against_it_keeps_it_and_one_with_its_own_reference_does_not(shoot: Shoot) -> None:
    recipe = published(shoot, title="Dial")
    begun = shoot.client.post(f"/api/v1{recipe}/reshoot", json={}).json()
    again = f"/shots/{begun['shot_id']}"

    refused = shoot.client.post(f"{recipe}/delete-for-good", data={"title": "Dial"})
    over_api = shoot.client.delete(f"/api/v1{recipe}", params={"title": "Dial"})
    assert (refused.status_code, over_api.status_code) == (409, 409)
    assert "balanced against it" in refused.text

    shoot.client.post(f"{again}/frames", data={})
    (frame,) = shoot.client.get(f"/api/v1{again}/frames").json()["frames"]
    shoot.client.post(f"/frames/{frame['id']}/reference", data={})
    assert shoot.client.get(f"/api/v1{again}/checklist").status_code == 200

    assert shoot.client.delete(f"/api/v1{recipe}", params={"title": "Dial"}).status_code == 204
    assert shoot.client.get(again).status_code == 200
    assert shoot.client.get(f"/api/v1{again}/checklist").status_code == 404


# --- a picture of a link --------------------------------------------------------------------------------------------


def test_a_withdrawn_picture_is_gone_from_its_link_and_from_no_other(shoot: Shoot) -> None:
    recipe = published(shoot)
    one, other = link(shoot, recipe), link(shoot, recipe, reader="client")
    (digest,) = {each.rsplit("/", 1)[1] for each in recipe_pictures(shoot, recipe)}
    token = one.rsplit("/", 1)[1]

    assert shoot.client.post(f"/links/{token}/pictures/{digest}").status_code == 303

    assert shoot.client.get(f"{one}/pictures/0").status_code == 404
    assert f"{one}/pictures/" not in shoot.client.get(one).text
    assert shoot.client.get(f"{other}/pictures/0").status_code == 200
    assert "the result: withdrawn" in shoot.client.get(recipe).text
    (said,) = [each for each in shoot.client.get(f"/api/v1{recipe}/links").json() if each["token"] == token]
    assert said["withdrawn_pictures"] == [digest]

    assert shoot.client.put(f"/api/v1/links/{token}/pictures/{digest}", json={"shown": True}).status_code == 204
    assert shoot.client.get(f"{one}/pictures/0").status_code == 200


def test_a_browser_that_has_a_picture_asks_whether_it_may_still_show_it(shoot: Shoot) -> None:
    recipe = published(shoot)
    address = link(shoot, recipe)
    first = shoot.client.get(f"{address}/pictures/0")
    kept = {"If-None-Match": first.headers["etag"]}

    assert first.headers["cache-control"] == "private, no-cache"
    again = shoot.client.get(f"{address}/pictures/0", headers=kept)
    assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", first.headers["etag"])

    token, digest = address.rsplit("/", 1)[1], first.headers["etag"].strip('"').partition("-")[0]
    shoot.client.post(f"/links/{token}/pictures/{digest}")
    assert shoot.client.get(f"{address}/pictures/0", headers=kept).status_code == 404

    shoot.client.post(f"/links/{token}/pictures/{digest}", data={"shown": "true"})
    shoot.client.post(f"/links/{token}/withdraw")
    assert shoot.client.get(f"{address}/pictures/0", headers=kept).status_code == 404


def test_only_a_picture_that_the_link_has_can_be_withdrawn(shoot: Shoot) -> None:
    token = link(shoot, published(shoot)).rsplit("/", 1)[1]

    assert shoot.client.post(f"/links/{token}/pictures/{'0' * 64}").status_code == 404
    assert shoot.client.post(f"/links/{'A' * 43}/pictures/{'0' * 64}").status_code == 404

"""A recipe on the house's other kit, and carried out and in, over HTTP."""

from __future__ import annotations

import re
from pathlib import Path

from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX
from tests.http.recipes.conftest import MARK, Shoot, published
from webapp.app import create_app
from webapp.settings import Settings


def chosen(page: str) -> dict[str, str]:
    """The last camera, lens and head of the form's lists."""
    return {
        name: re.findall(
            r'<option value="([\w-]+)"', re.search(rf'<select id="{name}".*?</select>', page, re.S).group(0)
        )[-1]  # type: ignore[union-attr]
        for name in ("camera", "lens", "head_A")
    }


def test_a_recipe_is_told_on_the_kit_that_was_chosen(shoot: Shoot) -> None:
    recipe = published(shoot)
    form = shoot.client.get(f"{recipe}/adapt")
    assert "<h3>Chosen for you</h3>" in form.text
    assert "the nearest of" in form.text

    page = shoot.client.get(f"{recipe}/adapt", params=chosen(form.text))
    part = shoot.client.get(f"{recipe}/adapt", params=chosen(form.text), headers=HTMX)

    assert page.status_code == 200
    assert "Chosen for you" not in page.text
    assert '<th scope="row">f-number</th>' in page.text
    assert part.text.strip() in page.text


def test_the_nearest_kit_is_one_head_for_one_light_and_whats_missing_has_ways(shoot: Shoot) -> None:
    """One light more than there are heads: the page says which is left without, and what can be done for it."""
    heads = sorted(set(re.findall(r"/kit/lights/([\w-]{36})", shoot.client.get("/kit").text)))
    for each in heads:
        shoot.client.post(f"{shoot.shot}/lights", data={"head": each})
    shoot.client.post(f"{shoot.shot}/frames", data={"purpose": "final"})
    frame = re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', shoot.client.get(shoot.shot).text)[0]
    recipe = published(Shoot(shoot.client, shoot.session, shoot.shot, frame))

    page = shoot.client.get(f"{recipe}/adapt").text

    assert page.count("every head stands for a brighter light already") == 1
    assert "has no head: its light is missing from the picture" in page
    assert "A white card or a reflector" in page


def test_a_distance_that_is_none_is_refused_and_said(shoot: Shoot) -> None:
    recipe = published(shoot)
    said = chosen(shoot.client.get(f"{recipe}/adapt").text) | {"distance_A": "far"}

    answer = shoot.client.get(f"{recipe}/adapt", params=said)

    assert answer.status_code == 422
    assert "is no distance" in answer.text


def test_with_inches_read_in_the_house_a_recipe_and_what_it_comes_to_are_told_in_inches(shoot: Shoot) -> None:
    shoot.client.post(f"{shoot.shot}/standing", data={"field": "lights.A.distance", "value": "100 cm"})
    shoot.client.post(f"{shoot.shot}/frames", data={"purpose": "final"})
    frame = re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', shoot.client.get(shoot.shot).text)[0]
    recipe = published(Shoot(shoot.client, shoot.session, shoot.shot, frame))
    shoot.client.post("/lengths", data={"unit": "in"})

    form = shoot.client.get(f"{recipe}/adapt").text
    told = shoot.client.get(f"{recipe}/adapt", params=chosen(form) | {"distance_A": "30"}).text

    assert '<span class="unit">inches</span>' in form
    assert re.search(r"A distance</th>\s*<td[^>]*>39\.4 in</td>\s*<td[^>]*>30 in</td>", told)
    assert ">39.4 in</td>" in shoot.client.get(recipe).text
    assert "39.4 in" in shoot.client.get(f"{recipe}/sheet").text


def test_a_bundle_of_one_house_is_taken_in_by_another(shoot: Shoot, tmp_path: Path) -> None:
    recipe = published(shoot)
    bundle = shoot.client.get(f"{recipe}/bundle").content

    with TestClient(create_app(Settings(data=tmp_path / "other")), follow_redirects=False) as other:
        taken = other.post("/recipes/bundles", files={"file": ("recipe.zip", bundle, "application/zip")})
        page = other.get(taken.headers["location"])
        again = other.get(f"{taken.headers['location']}/bundle").content

    assert taken.status_code == 303
    assert "<h1>Enamel dial</h1>" in page.text
    assert again == bundle
    assert MARK.encode() not in bundle


def test_a_hostile_bundle_is_refused_over_the_page(shoot: Shoot) -> None:
    answer = shoot.client.post("/recipes/bundles", files={"file": ("recipe.zip", b"no zip", "application/zip")})

    assert answer.status_code == 422
    assert "nothing was changed" in answer.text

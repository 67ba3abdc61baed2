"""Photos of the set go out with a recipe where they were ticked for it, to students alone, and are gone when unticked."""

from __future__ import annotations

import html
import io
import re
import zipfile
from typing import Any

import pytest
from PIL import Image

from tests.http.recipes.conftest import MARK, Shoot, marked_jpeg


def photo_of(shoot: Shoot) -> dict[str, Any]:
    """A photo of the set whose file and caption carry a marker; it is not the picture of the frame."""
    with Image.open(io.BytesIO(marked_jpeg())) as image:
        out = io.BytesIO()
        image.transpose(Image.Transpose.ROTATE_90).save(out, "JPEG", exif=image.getexif())
    file = {"photo": (f"{MARK}-set.jpg", out.getvalue(), "image/jpeg")}
    added: dict[str, Any] = shoot.client.post(f"/api/v1{shoot.shot}/set-photos", files=file).json()
    shoot.client.post(f"/set-photos/{added['id']}", data={"caption": f"{MARK} caption"})
    return added


@pytest.fixture
def recipe(shoot: Shoot) -> str:
    said = {"title": "Enamel dial", "why": "soft"}
    address: str = shoot.client.post(f"{shoot.frame}/recipe", data=said).headers["location"]
    return address


def link(shoot: Shoot, recipe: str, reader: str) -> str:
    made = shoot.client.post(f"/api/v1{recipe}/links", json={"reader": reader})
    assert made.status_code == 201, made.text
    before = html.unescape(shoot.client.get(recipe).text)
    return re.findall(r'href="(/shared/[\w-]+)"', before)[0]


def test_a_photo_is_unticked_at_first_and_goes_out_nowhere(shoot: Shoot, recipe: str) -> None:
    photo = photo_of(shoot)
    address = link(shoot, recipe, "student")

    page = shoot.client.get(recipe).text

    assert re.search(rf'name="photo" value="{photo["id"]}">', page), "there, and not ticked"
    assert "/set/" not in shoot.client.get(address).text
    assert shoot.client.get(f"{address}/set/0").status_code == 404
    bundle = shoot.client.get(f"{recipe}/bundle")
    with zipfile.ZipFile(io.BytesIO(bundle.content)) as archive:
        sizes = {
            Image.open(io.BytesIO(archive.read(each))).size for each in archive.namelist() if each.endswith(".jpg")
        }
    assert (160, 240) not in sizes


def test_a_ticked_photo_is_seen_by_students_alone_without_caption_and_metadata(shoot: Shoot, recipe: str) -> None:
    photo = photo_of(shoot)
    student = link(shoot, recipe, "student")
    ticked = shoot.client.post(f"{recipe}/set-photos", data={"photo": photo["id"]})
    assert ticked.headers["location"] == f"{recipe}#set-photos"
    assert re.search(rf'value="{photo["id"]}" checked', shoot.client.get(recipe).text)

    page, shown = shoot.client.get(student), shoot.client.get(f"{student}/set/0")

    assert f'src="{student}/set/0"' in page.text
    assert photo["id"] not in page.text
    assert "no-store" in shown.headers["cache-control"]
    with Image.open(io.BytesIO(shown.content)) as image:
        assert image.size == (160, 240)
    assert MARK.encode() not in shown.content + page.content
    assert f"/set-photos/{photo['id']}/picture" in shoot.client.get(f"{recipe}/versions/1/as/student").text
    assert "/set-photos/" not in shoot.client.get(f"{recipe}/versions/1/as/client").text
    client = link(shoot, recipe, "client")
    assert client != student
    assert "/set/" not in shoot.client.get(client).text
    assert shoot.client.get(f"{client}/set/0").status_code == 404


def test_a_photo_whose_tick_is_taken_away_is_gone_at_once_and_so_is_a_deleted_one(shoot: Shoot, recipe: str) -> None:
    photo = photo_of(shoot)
    address = link(shoot, recipe, "student")
    for take_away in (f"{recipe}/set-photos", f"/set-photos/{photo['id']}/delete"):
        shoot.client.post(f"{recipe}/set-photos", data={"photo": photo["id"]})
        assert shoot.client.get(f"{address}/set/0").status_code == 200

        shoot.client.post(take_away)

        assert shoot.client.get(f"{address}/set/0").status_code == 404
        assert "/set/" not in shoot.client.get(address).text


def test_only_photos_of_its_own_set_are_ticked(shoot: Shoot, recipe: str) -> None:
    photo = photo_of(shoot)
    api = f"/api/v1{recipe}/set-photos"

    assert shoot.client.put(api, json={"photo_ids": ["none"]}).status_code == 422
    (told,) = shoot.client.put(api, json={"photo_ids": [photo["id"]]}).json()

    assert told["shared"]
    assert shoot.client.get(api).json() == [told]
    assert shoot.client.get("/api/v1/recipes/none/set-photos").status_code == 404

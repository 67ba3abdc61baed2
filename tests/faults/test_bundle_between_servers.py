"""A bundle made by one running server is taken in by another, over HTTP, and nothing is lost on the way."""

from __future__ import annotations

import io
import json
import re
import zipfile
from pathlib import Path

import httpx
from PIL import Image

from tests.faults.served import served
from tests.unit.recipes.made import light, recipe
from webapp.pictures.store import PictureStore
from webapp.recipes import publish
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade


def recipe_of_two_versions(data: Path) -> str:
    """What the first house has before it is started: a recipe with two pictures and two versions."""
    data.mkdir()
    records, store = Records(data), PictureStore(data / "pictures")
    upgrade(records)
    pictures = []
    for colour in ("#803010", "#104080"):
        out = io.BytesIO()
        Image.new("RGB", (96, 64), colour).save(out, "JPEG")
        pictures.append(publish.keep_picture(store, out.getvalue(), colour))
    first = publish.publish(records, recipe(result=pictures[0]))
    second = recipe(
        light(distance_mm=700.0), result=pictures[1], comparisons=(pictures[0],), why="nearer, and “softer”"
    )
    publish.publish(records, second, recipe_id=first.recipe_id)
    records.close()
    return first.recipe_id


def _files(bundle: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(bundle)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_a_bundle_goes_from_one_running_server_into_another_byte_for_byte(tmp_path: Path) -> None:
    recipe_id = recipe_of_two_versions(tmp_path / "one")

    with served(tmp_path / "one") as one, served(tmp_path / "other") as other, httpx.Client(timeout=60.0) as browser:
        sent = browser.get(f"{one.url}/recipes/{recipe_id}/bundle").content
        upload = {"file": ("recipe.zip", sent, "application/zip")}
        taken = browser.post(f"{other.url}/recipes/bundles", files=upload)
        again = browser.post(f"{other.url}/recipes/bundles", files=upload)
        there = taken.headers["location"]
        page = browser.get(f"{other.url}{there}").text
        got = browser.get(f"{other.url}{there}/bundle").content
        pictures = {
            digest: (
                browser.get(f"{one.url}/recipes/pictures/{digest}").content,
                browser.get(f"{other.url}/recipes/pictures/{digest}").content,
            )
            for digest in re.findall(r'"digest": ?"([0-9a-f]{64})"', _files(sent)["recipe.json"].decode())
        }
        found = browser.get(f"{other.url}/recipes", params={"q": "scent bottle"}).text

    assert (taken.status_code, again.status_code) == (303, 303)
    assert again.headers["location"] == f"{there}?taken=before"
    assert _files(got) == _files(sent)
    assert got == sent
    assert len(json.loads(_files(got)["recipe.json"])["versions"]) == 2
    assert len(pictures) == 2
    assert all(here == elsewhere and here.startswith(b"\xff\xd8") for here, elsewhere in pictures.values())
    assert "nearer, and “softer”" in page
    assert "<h2>1 recipe</h2>" in found

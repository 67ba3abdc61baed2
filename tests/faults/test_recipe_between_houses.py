"""A recipe goes from one running house into another by the address of a link, over HTTP on the loopback."""

from __future__ import annotations

import io
import json
import re
import zipfile
from pathlib import Path

import httpx

from tests.faults.served import served
from tests.faults.test_bundle_between_servers import recipe_of_two_versions


def test_a_recipe_is_taken_in_from_the_address_of_a_link(tmp_path: Path) -> None:
    recipe_id = recipe_of_two_versions(tmp_path / "one")

    with (
        served(tmp_path / "one") as one,
        served(tmp_path / "other") as other,
        httpx.Client(timeout=120) as asking,
    ):
        api = f"{one.url}/api/v1"
        made = {"reader": "student", "with_bundle": True, "version": 2}
        address = one.url + asking.post(f"{api}/recipes/{recipe_id}/links", json=made).json()["path"]
        without = one.url + asking.post(f"{api}/recipes/{recipe_id}/links", json={"reader": "student"}).json()["path"]

        def fetch(pasted: str, **ticked: str) -> httpx.Response:
            return asking.post(f"{other.url}/recipes/from-link", data={"address": pasted} | ticked)

        unmeant = fetch(address)
        unticked = fetch(without, own_network="true")
        taken = fetch(address, own_network="true")
        again = fetch(address, own_network="true")
        asked = {"address": address, "own_network": True}
        over_api = asking.post(f"{other.url}/api/v1/recipes/from-link", json=asked)
        asking.delete(f"{api}/links/{address.rsplit('/', 1)[1]}")
        withdrawn = fetch(address, own_network="true")
        there = taken.headers["location"]
        page = asking.get(f"{other.url}{there}").text
        with zipfile.ZipFile(io.BytesIO(asking.get(f"{other.url}{there}/bundle").content)) as archive:
            carried = json.loads(archive.read("recipe.json"))
        shown = [
            asking.get(f"{other.url}{each}").status_code
            for each in re.findall(r'src="(/recipes/pictures/\w+)"', page)
        ]

    assert (unmeant.status_code, "tick that this is meant" in unmeant.text) == (422, True)
    assert (unticked.status_code, "carries no recipe for another Stopledger" in unticked.text) == (422, True)
    assert taken.status_code == 303
    assert again.headers["location"] == f"{there}?taken=before"
    assert (over_api.status_code, over_api.json()["id"]) == (200, there.rsplit("/", 1)[1])
    assert withdrawn.status_code == 422
    # The version that the link shows, and no other.
    assert [each["number"] for each in carried["versions"]] == [1]
    assert "nearer, and “softer”" in page
    assert "70 cm" in page
    assert shown == [200, 200]

"""What came from a stranger, over HTTP: refused with the reason, or read cheaply and safely."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from tests.unit.exports.test_bundle import zipped
from tests.unit.exports.test_unpacking import COSTLY, picture_with_metadata, with_formula, with_picture
from tests.unit.recipes.made import recipe
from webapp.recipes import publish
from webapp.recipes.document import WorkingPart
from webapp.web.words.citations import CITATIONS

_ZIP = {"content-type": "application/zip"}


def taken_in(client: TestClient, content: bytes) -> str:
    """Import a bundle on the page; the answer is the recipe's address."""
    answer = client.post("/recipes/bundles", files={"file": ("recipe.zip", content, "application/zip")})
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


@pytest.mark.parametrize(
    "content",
    [
        zipped({"recipe.json": COSTLY["two million empty versions"].encode()}),
        with_formula(r"\frac{1}{"),
        with_formula(r"\href{javascript:alert(1)}{x}"),
    ],
    ids=["two million empty versions", "unbalanced formula", "address in a formula"],
)
def test_a_hostile_bundle_is_refused_with_the_reason_on_page_and_interface(
    client: TestClient, content: bytes
) -> None:
    on_page = client.post("/recipes/bundles", files={"file": ("recipe.zip", content, "application/zip")})
    over_api = client.post("/api/v1/recipes/bundles", content=content, headers=_ZIP)

    assert (on_page.status_code, over_api.status_code) == (422, 422)
    assert "refused, and nothing was changed" in on_page.text
    assert "refused, and nothing was changed" in over_api.text
    assert client.get("/api/v1/recipes").json()["count"] == 0


def test_the_metadata_of_a_bundled_picture_is_nowhere_in_the_house(client: TestClient) -> None:
    content = with_picture(picture_with_metadata(), "the result")
    address = taken_in(client, content)

    page = client.get(address).text
    (picture,) = set(re.findall(r'src="(/recipes/pictures/[0-9a-f]{64})"', page))
    data = client.app.state.services.settings.data  # type: ignore[attr-defined]

    assert client.get(picture).content[:2] == b"\xff\xd8"
    assert b"XLEAKX" not in client.get(picture).content
    assert b"XLEAKX" not in client.get(f"{address}/bundle").content
    assert not [path for path in data.rglob("*") if path.is_file() and b"XLEAKX" in path.read_bytes()]
    # The picture has another name here than in the bundle, and the bundle is known again all the same.
    assert "?taken=before" in taken_in(client, content)


@pytest.mark.parametrize("latex", [r"\frac{1}{", r"\href{javascript:alert(1)}{x}", "x_"])
def test_a_formula_that_was_taken_in_unchecked_is_told_in_plain_text(client: TestClient, latex: str) -> None:
    """Earlier versions took in any; a version that was published never changes."""
    working = WorkingPart(
        result="x", value=1.0, unit="", formula="x = plain half", latex=latex, given=(), source=next(iter(CITATIONS))
    )
    kept = publish.publish(client.app.state.services.records, recipe(workings=(working,)))  # type: ignore[attr-defined]
    token = client.post(f"/api/v1/recipes/{kept.recipe_id}/links", json={"reader": "student"}).json()["token"]

    for address in (f"/recipes/{kept.recipe_id}", f"/shared/{token}"):
        page = client.get(address)
        assert page.status_code == 200
        assert "x = plain half" in page.text
        assert "javascript:" not in page.text

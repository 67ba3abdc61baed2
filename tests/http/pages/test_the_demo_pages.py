"""The demo is put into a house that is used by one press and taken out by another; what is one's own stays as it is."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from sqlmodel import SQLModel
from starlette.testclient import TestClient

from tests.http.running import wait_until
from webapp.demo import fill
from webapp.records.engine import Records


def _records(client: TestClient) -> Records:
    records: Records = client.app.state.services.records  # type: ignore[attr-defined]
    return records


def _rows(client: TestClient) -> Mapping[str, dict[Any, dict[str, Any]]]:
    """Every row of every table, by its key."""
    with _records(client).reading() as db:
        return {
            name: {
                tuple(row[key.name] for key in table.primary_key): dict(row)
                for row in db.connection().execute(table.select()).mappings()
            }
            for name, table in SQLModel.metadata.tables.items()
        }


def _picture() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), (90, 90, 90)).save(out, "JPEG")
    return out.getvalue()


def _own_shot(client: TestClient, name: str) -> str:
    session = client.post("/sessions", data={"name": name}).headers["location"]
    shot: str = client.post(f"{session}/shots", data={"title": f"dial of {name}"}).headers["location"]
    return shot


def _filled(client: TestClient) -> None:
    assert client.post("/demo").headers["location"] == "/demo"
    wait_until(lambda: "The demo is ready" in client.get("/demo", headers={"HX-Request": "true"}).text)


def _ids(page: str, kind: str) -> list[str]:
    return re.findall(rf'href="/{kind}/([\w-]{{36}})"', page)


def test_the_demo_comes_and_goes_and_leaves_what_is_ones_own_as_it_was(client: TestClient) -> None:
    shot = _own_shot(client, "bench day")
    client.post(f"{shot}/frames", data={"purpose": "test"}, files={"picture": ("a.jpg", _picture(), "image/jpeg")})
    client.app.state.services.intake.finish()  # type: ignore[attr-defined]
    before = _rows(client)
    store = client.app.state.services.settings.pictures  # type: ignore[attr-defined]
    files = {path for path in store.rglob("*") if path.is_file()}

    _filled(client)

    home = client.get("/").text
    own, demo = home.split("<h2>Sessions</h2>")[1].split("<h2>The demo</h2>")
    assert ("bench day" in own, "bench day" in demo, "Scent bottle" in own, "Scent bottle" in demo) == (
        True,
        False,
        False,
        True,
    )
    assert "Go on with dial of bench day" in home
    assert client.post("/demo").status_code == 409
    # A new day begins with one's own set, not with the demo's.
    again = _own_shot(client, "second day")
    assert "monolight 400 J" in client.get(f"{again}/set-up").text

    # A shot of one's own that takes a recipe and a camera of the demo keeps both.
    recipe, *others = _ids(client.get("/recipes").text, "recipes")
    session = _ids(client.get("/").text, "sessions")[0]
    again = client.post(f"/recipes/{recipe}/reshoot", data={"title": "again", "session": session}).headers["location"]
    camera = next(key for (key,), row in _rows(client)["cameras"].items() if row["origin"] == "demo")
    client.post(f"{again}/standing", data={"field": "camera", "value": camera})
    told = client.get("/demo").text
    assert "4 sessions" in told
    assert "33 frames, 33 pictures" in told
    assert f'so they stay: <a href="/recipes/{recipe}">' in told

    client.post("/demo/remove")

    after = _rows(client)
    gone = [
        (name, key) for name, rows in before.items() if name != "save_keys" for key in rows if key not in after[name]
    ]
    changed = {name for name, rows in before.items() for key, row in rows.items() if after[name].get(key, row) != row}
    assert gone == []
    # The second day's shot took the set.
    assert changed <= {"shots"}
    assert len(after["frames"]) == 1
    assert [key for (key,), row in after["cameras"].items() if row["origin"] == "demo"] == [camera]
    assert not any(row["origin"] == "demo" for row in after["modifiers"].values())
    assert "The demo" not in client.get("/").text
    assert set(_ids(client.get("/recipes").text, "recipes")) == {recipe}
    assert len(others) == 2
    assert client.get(f"{again}/checklist").status_code == 200
    kept = {path for path in store.rglob("*") if path.is_file()}
    assert files < kept
    assert {path.parent.name + path.stem for path in kept - files} == set(
        re.findall(r'"digest":"(\w+)"', _document_of(after, recipe))
    )


def _document_of(rows: Mapping[str, dict[Any, dict[str, Any]]], recipe: str) -> str:
    """Everything that the versions of a recipe say."""
    versions = [row["document"] for row in rows["recipe_versions"].values() if row["recipe_id"] == recipe]
    return re.sub(r'"digest": ', '"digest":', "".join(versions))


def test_a_filling_that_fails_is_told_and_leaves_nothing_behind(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(fill, "kept_file", lambda *_: Path("gone"))

    client.post("/demo")
    wait_until(lambda: "could not be put in" in client.get("/demo", headers={"HX-Request": "true"}).text)

    assert "try again" in client.get("/").text
    assert "Look at the demo" in client.get("/").text
    assert not any(_rows(client)["sessions"])

"""A session is deleted for good: after a summary, by its name, with its pictures and without a trace; recipes keep
their copies, other sessions keep everything, and a stop in the middle is taken up."""

from __future__ import annotations

import io
import json
import re
import zipfile
from pathlib import Path
from typing import Any

import httpx2
import numpy as np
import pytest
from starlette.testclient import TestClient

from tests.made_pictures import jpeg_bytes
from webapp.app import create_app
from webapp.settings import Settings
from webapp.shoots import deletion

SECRET = "Zq77xJv-secret"


def _picture(level: float) -> bytes:
    return jpeg_bytes(np.full((60, 90, 3), round(level), dtype=np.uint8))


def _shoot(client: TestClient, name: str, code: float) -> tuple[str, str]:
    session = client.post("/sessions", data={"name": name, "made_for": SECRET, "notes": SECRET}).headers["location"]
    shot = client.post(f"{session}/shots", data={"title": f"dial of {name}"}).headers["location"]
    for number in range(2):
        file = {"picture": (f"{SECRET}-{number}.jpg", _picture(code + number), "image/jpeg")}
        assert client.post(f"{shot}/frames", data={"because": SECRET}, files=file).status_code in (200, 303)
    client.app.state.services.intake.finish()  # type: ignore[attr-defined]
    return session, shot


def _house(client: TestClient) -> Path:
    data: Path = client.app.state.services.settings.data  # type: ignore[attr-defined]
    return data


def _everything_in(folder: Path) -> bytes:
    return b"".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())


def test_it_is_told_what_goes_and_the_name_has_to_be_typed(client: TestClient) -> None:
    session, _ = _shoot(client, "enamel day", 90)

    told = client.get(f"{session}/delete-for-good").text
    refused = client.post(f"{session}/delete-for-good", data={"name": "enamel"})

    assert "1 shot with 2 frames and 2 pictures" in told
    assert refused.status_code == 422
    assert "Write the session’s name" in refused.text
    assert client.get(session).status_code == 200


def test_nothing_of_it_is_left_and_everything_else_is(client: TestClient) -> None:
    session, shot = _shoot(client, "enamel day", 90)
    other, other_shot = _shoot(client, "glass day", 140)
    before = client.get(f"/api/v1{other_shot}/frames").json()

    assert client.post(f"{session}/delete-for-good", data={"name": "enamel day"}).status_code == 303

    assert client.get(session).status_code == 404
    assert client.get(shot).status_code == 404
    assert client.get(f"/api/v1{other_shot}/frames").json() == before
    digests = re.findall(r"/pictures/(\w+)/thumbnail", client.get(other_shot).text)
    assert digests
    for digest in digests:
        assert client.get(f"/pictures/{digest}/original").status_code == 200
    assert client.post(f"{other}/delete-for-good", data={"name": "glass day"}).status_code == 303
    assert SECRET.encode() not in _everything_in(_house(client))
    assert not list((_house(client) / "previews").iterdir())
    assert not [each for each in (_house(client) / "pictures").rglob("*") if each.is_file()]


def test_a_recipe_keeps_its_copy(client: TestClient) -> None:
    session, shot = _shoot(client, "enamel day", 90)
    frame = client.get(f"/api/v1{shot}/frames").json()["frames"][0]["id"]
    recipe = client.post(f"/api/v1/frames/{frame}/recipe", json={"title": "enamel"}).json()
    recipe_id = recipe["id"]

    assert "enamel" in client.get(f"{session}/delete-for-good").text
    client.post(f"{session}/delete-for-good", data={"name": "enamel day"})

    page = client.get(f"/recipes/{recipe_id}")
    assert page.status_code == 200
    picture = re.search(r'src="(/recipes/pictures/[^"]+)"', page.text)
    assert picture
    kept = client.get(picture.group(1))
    assert kept.status_code == 200

    # Also where that very copy was logged as a frame of another session.
    session = client.post("/sessions", data={"name": "copies"}).headers["location"]
    shot = client.post(f"{session}/shots", data={"title": "copies"}).headers["location"]
    client.post(f"{shot}/frames", files={"picture": ("copy.jpg", kept.content, "image/jpeg")})
    client.post(f"{session}/delete-for-good", data={"name": "copies"})
    assert client.get(session).status_code == 404
    assert client.get(picture.group(1)).content == kept.content


def test_a_stop_in_the_middle_is_taken_up_at_the_next_start(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    session, _ = _shoot(client, "enamel day", 90)
    data, services = _house(client), client.app.state.services  # type: ignore[attr-defined]
    session_id = session.rsplit("/", 1)[1]

    def stopped(*_: Any) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(deletion, "finish_deletion", stopped)
        with pytest.raises(KeyboardInterrupt):
            deletion.delete_for_good(services.records, services.settings, services.store, session_id, "enamel day")
    assert [each for each in (data / "pictures").rglob("*") if each.is_file()]

    with TestClient(create_app(Settings(data=data))) as anew:
        assert anew.get(session).status_code == 404
        assert SECRET.encode() not in _everything_in(data)
    assert not [each for each in (data / "pictures").rglob("*") if each.is_file()]
    assert not (data / "to-be-deleted.json").exists()


def test_a_preview_that_is_just_being_made_goes_too(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    services = client.app.state.services  # type: ignore[attr-defined]
    keep_preview, kept = services.intake._keep_preview, []
    session = client.post("/sessions", data={"name": "day"}).headers["location"]
    shot = client.post(f"{session}/shots", data={"title": "dial"}).headers["location"]

    def deleted_before(digest: str, content: bytes) -> None:
        session_id = session.rsplit("/", 1)[1]
        deletion.delete_for_good(services.records, services.settings, services.store, session_id, "day")
        keep_preview(digest, content)
        kept.append(digest)

    monkeypatch.setattr(services.intake, "_keep_preview", deleted_before)
    client.post(f"{shot}/frames", files={"picture": ("a.jpg", _picture(90), "image/jpeg")})
    services.intake.finish()

    assert kept
    assert not list((_house(client) / "previews").iterdir())


def test_everything_can_be_exported_first(client: TestClient) -> None:
    session, _ = _shoot(client, "enamel day", 90)

    answer: httpx2.Response = client.get(f"/api/v1{session}/everything.zip")

    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.testzip() is None
        names = archive.namelist()
        said = json.loads(archive.read("session.json"))
        frame = json.loads(archive.read("shot-1/frame-001.json"))
        picture = archive.read(f"shot-1/frame-001/{SECRET}-0.jpg")
    assert said["session"]["made_for"] == SECRET
    assert frame["because"] == SECRET
    assert frame["set_up"]["f_number"]
    assert picture == _picture(90)
    assert {"ledger.csv", f"shot-1/frame-002/{SECRET}-1.xmp"} <= set(names)

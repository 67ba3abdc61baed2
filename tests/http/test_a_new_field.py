"""A new field of the set-up is added in the places that DEVELOPERS.md names, and nowhere else: a copy of the program is
given one in them, and driven over HTTP."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Final

import pytest

from webapp.paths import PACKAGE

TOP: Final = PACKAGE.parent
PLACES: Final = {
    "webapp/ledger/set_up.py": ("    pops: int = 1\n", "    pops: int = 1\n    hood_mm: float | None = None\n"),
    "webapp/ledger/fields.py": (
        'CAMERA: Final = _rows(\n    Field("camera"',
        'CAMERA: Final = _rows(\n    Field("hood", "lens hood", Length(), _got("hood_mm"), _put("hood_mm"), dial="further", '
        'can_be_unknown=True, hint="how far it reaches"),\n    Field("camera"',
    ),
}
"""The places, with what stands there and what it becomes. A field that moves light has a third: its cause."""

DRIVEN: Final = """
import sys
from pathlib import Path
from starlette.testclient import TestClient
from webapp.app import create_app
from webapp.ledger import fields
from webapp.settings import Settings

assert Path(fields.__file__).is_relative_to(sys.argv[1])
with TestClient(create_app(Settings(data=Path(sys.argv[1]) / "data")), base_url="http://127.0.0.1") as client:
    session = client.post("/api/v1/sessions", json={"name": "day"}).json()["id"]
    shot = client.post(f"/api/v1/sessions/{session}/shots", json={"title": "dial"}).json()["id"]
    api = f"/api/v1/shots/{shot}/standing"

    def sent(status=200, **change):
        answer = client.patch(api, json={"changes": [{"field": "hood", **change}]})
        assert answer.status_code == status, answer.text
        return answer.json()

    assert client.get(api).json()["fields"]["hood"] == {"value": "unknown", "version": 0}
    assert sent(value="6 cm")["fields"]["hood"] == {"value": "6 cm", "version": 1}
    assert sent(value=75)["fields"]["hood"]["value"] == "7.5 cm"
    assert sent(steps=1)["fields"]["hood"]["value"] == "8 cm"
    assert sent(409, value="9 cm", version=1)
    assert sent(422, value="long")["detail"][0]["loc"] == ["body", "hood"]
    assert sent(422, value=True)

    page = f"/shots/{shot}/standing"
    refused = client.post(page, data={"field": "hood", "value": "long"})
    assert refused.status_code == 422 and "is no distance" in refused.text
    typed = client.post(page, data={"field": "hood", "value": "10", "panel": "set-up"}, headers={"HX-Request": "true"})
    assert typed.status_code == 200 and "lens hood" in typed.text and 'value="10 cm"' in typed.text
    client.post(page, data={"field": "hood", "steps": "-1"})
    frame = client.post(f"/api/v1/shots/{shot}/frames", json={}).json()
    client.post(page, data={"field": "hood", "value": "2"})
    assert "was 9.5 cm" in client.get(f"/shots/{shot}/set-up").text
    edited = client.patch(f"/api/v1/frames/{frame['id']}", json={"changes": [{"field": "hood", "value": "?"}]})
    assert edited.status_code == 200, edited.text
    stale = client.post(page, data={"field": "hood", "value": "3", "version": "1"})
    assert stale.status_code == 409 and "Another page of yours changed the lens hood to 2 cm" in stale.text
"""


def test_the_places_are_at_most_three_and_developers_are_told_them() -> None:
    told = (TOP / "DEVELOPERS.md").read_text()

    assert len(PLACES) <= 2
    for place in PLACES:
        assert place.removeprefix("webapp/") in told


@pytest.mark.parametrize("place", PLACES)
def test_every_place_is_needed(place: str) -> None:
    stands, becomes = PLACES[place]

    assert (TOP / place).read_text().count(stands) == 1
    assert becomes != stands


def test_a_field_that_is_added_there_is_read_stepped_printed_shown_and_refused(tmp_path: Path) -> None:
    for part in ("webapp", "templates", "static", "migrations"):
        shutil.copytree(TOP / part, tmp_path / part, ignore=shutil.ignore_patterns("__pycache__", "_data"))
    for place, (stands, becomes) in PLACES.items():
        file = tmp_path / place
        file.write_text(file.read_text().replace(stands, becomes))

    driven = subprocess.run(
        [sys.executable, "-c", DRIVEN, str(tmp_path)],
        env=os.environ | {"PYTHONPATH": str(tmp_path)},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )

    assert driven.returncode == 0, driven.stderr

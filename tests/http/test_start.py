"""What starting takes: the front page waits for nothing that it does not show, and the rest is there when asked for."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from webapp.app import create_app
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade
from webapp.settings import Settings

NOT_TO_START = (
    "numpy",
    "PIL",
    "rawpy",
    "pyvips",
    "weasyprint",
    "latex2mathml",
    "segno",
    "exifread",
    "alembic",
    "webapp.web.api",
    "webapp.web.words.say",
    "webapp.recipes.document",
)


def test_front_page_is_answered_before_the_other_routes_are_added(tmp_path: Path) -> None:
    app = create_app(Settings(data=tmp_path))
    client = TestClient(app)

    assert client.get("/").status_code == 200
    assert client.get("/static/stopledger.css").status_code == 200
    assert not app.state.later_routes.are_there


@pytest.mark.parametrize("address", ["/kit", "/worksheets", "/recipes", "/api/v1/openapi.json", "/api/v1/sessions"])
def test_any_other_address_is_there_when_it_is_the_first_to_be_asked_for(tmp_path: Path, address: str) -> None:
    app = create_app(Settings(data=tmp_path))

    assert TestClient(app).get(address).status_code == 200


def test_description_is_whole_though_it_is_asked_for_first(tmp_path: Path) -> None:
    paths = TestClient(create_app(Settings(data=tmp_path))).get("/api/v1/openapi.json").json()["paths"]

    assert len(paths) > 50
    assert all(path.startswith("/api/v1/") for path in paths)


def test_front_page_over_records_of_this_version_imports_no_decoder_and_no_migrations(tmp_path: Path) -> None:
    records = Records(tmp_path)
    upgrade(records)
    records.close()
    program = (
        "import sys; from pathlib import Path; from starlette.testclient import TestClient;"
        "from webapp.app import create_app; from webapp.settings import Settings;"
        "import webapp.__main__;"
        f"assert TestClient(create_app(Settings(data=Path({str(tmp_path)!r}))), 'http://127.0.0.1').get('/').status_code == 200;"
        f"print(*[name for name in {NOT_TO_START} if name in sys.modules])"
    )

    said = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout

    assert said.split() == []

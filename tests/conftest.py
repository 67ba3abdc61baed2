"""The cast and the stage: a studio with the starter kit, a session with a shot, the program over HTTP."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import hypothesis
import pytest
from starlette.testclient import TestClient

from webapp.kit.starter import lay_out_starter_kit
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade
from webapp.settings import Settings
from webapp.shoots import sessions

# A loaded machine is no failure of a property; timings belong to tests/bench. With CI set the examples are the same
# every time, so that a change is judged by what it changes; new ones are sought on the desk.
hypothesis.settings.register_profile("stopledger", deadline=None, derandomize="CI" in os.environ)
hypothesis.settings.load_profile("stopledger")


@dataclass(frozen=True)
class Studio:
    """Records with the starter kit in them, one session and one shot on the set."""

    records: Records
    session_id: str
    shot_id: str


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    records = Records(tmp_path)
    upgrade(records)
    lay_out_starter_kit(records)
    session_id = sessions.begin_session(records, {"name": "bench day"})
    shot_id = sessions.begin_shot(records, session_id, {"title": "enamel dial"})
    yield Studio(records, session_id, shot_id)
    records.close()


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    """The whole program over an empty data directory, starter kit laid out."""
    from webapp.app import create_app

    with TestClient(create_app(Settings(data=tmp_path / "data")), follow_redirects=False) as client:
        yield client

"""From a tap to the answered partial, beside a bare FastAPI and SQLModel insert of one row in the same run.

Aim: at most 2.5 times the bare insert, and at frame 1,000 of a shot no more than 1.2 times frame 10. Timings are
printed, never asserted. Run with: pytest tests/bench --benchmark-enable
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI, Form
from pytest_benchmark.fixture import BenchmarkFixture
from sqlmodel import Field, SQLModel
from starlette.testclient import TestClient

from webapp.app import create_app
from webapp.records.engine import Records
from webapp.records.tables import new_id
from webapp.settings import Settings
from webapp.shoots import sessions
from webapp.shoots.log_frame import FrameWords, log_frame

HTMX = {"HX-Request": "true"}
ROUNDS = {"rounds": 150, "warmup_rounds": 20}


class BareRow(SQLModel, table=True):
    id: str = Field(default_factory=new_id, primary_key=True)
    f_number: str
    because: str = ""


@pytest.fixture
def bare(tmp_path: Path) -> Iterator[TestClient]:
    """One route that inserts one row with the same durability, and answers a word."""
    records = Records(tmp_path)
    BareRow.__table__.create(records.engine)  # type: ignore[attr-defined]
    app = FastAPI()

    @app.post("/rows")
    def insert(f_number: str = Form()) -> str:
        row = BareRow(f_number=f_number)
        with records.writing() as db:
            db.add(row)
        return row.id

    with TestClient(app) as client:
        yield client
    records.close()
    SQLModel.metadata.remove(BareRow.__table__)  # type: ignore[attr-defined]


def _shot(client: TestClient, frames: int) -> str:
    services = client.app.state.services  # type: ignore[attr-defined]
    session_id = sessions.begin_session(services.records, {"name": "bench"})
    shot_id = sessions.begin_shot(services.records, session_id, {"title": "bench"})
    for _ in range(frames):
        log_frame(services.records, shot_id, FrameWords.model_validate({}))
    return shot_id


@pytest.fixture
def program(tmp_path: Path) -> Iterator[TestClient]:
    with TestClient(create_app(Settings(data=tmp_path / "data")), headers=HTMX) as client:
        yield client


@pytest.mark.benchmark(group="save to partial")
def test_bare_insert(benchmark: BenchmarkFixture, bare: TestClient) -> None:
    benchmark.pedantic(lambda: bare.post("/rows", data={"f_number": "8"}), **ROUNDS)


@pytest.mark.benchmark(group="save to partial")
@pytest.mark.parametrize("frames", [10, 1000])
def test_tap_on_the_standing_set_up(benchmark: BenchmarkFixture, program: TestClient, frames: int) -> None:
    shot_id = _shot(program, frames)
    taps = iter(range(1_000_000))

    def tap() -> None:
        value = "11" if next(taps) % 2 else "16"
        answer = program.post(f"/shots/{shot_id}/standing", data={"field": "f_number", "value": value})
        assert answer.status_code == 200

    benchmark.pedantic(tap, **ROUNDS)


@pytest.mark.benchmark(group="save to partial")
@pytest.mark.parametrize("frames", [10, 1000])
def test_log_a_frame(benchmark: BenchmarkFixture, program: TestClient, frames: int) -> None:
    shot_id = _shot(program, frames)

    def log() -> None:
        answer = program.post(f"/shots/{shot_id}/frames", data={"purpose": "test", "save_key": new_id()})
        assert answer.status_code == 200

    benchmark.pedantic(log, rounds=60, warmup_rounds=5)

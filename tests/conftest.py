"""The cast and the stage: a studio with the starter kit, a session with a shot, the program over HTTP."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import hypothesis
import pytest
from sqlalchemy import Engine
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
from sqlalchemy.util import LRUCache
from starlette.testclient import TestClient

from tests.houses import new_house, new_records
from webapp.pictures.isolation import IsolatedPictures
from webapp.records import engine
from webapp.records.engine import Records
from webapp.security import guard
from webapp.settings import Settings
from webapp.shoots import ingest, sessions, tiles

# A loaded machine is no failure of a property; timings belong to tests/bench. With CI set the examples are the same
# every time, so that a change is judged by what it changes; new ones are sought on the desk.
hypothesis.settings.register_profile("stopledger", deadline=None, derandomize="CI" in os.environ)
hypothesis.settings.load_profile("stopledger")


class SharedPictures(IsolatedPictures):
    """A picture worker that outlives the program that was given it."""

    def close(self) -> None:
        """Nothing: the next test reads with it. A program waits for its own pictures before it closes."""

    def close_for_good(self) -> None:
        super().close()


@pytest.fixture(scope="session", autouse=True)
def _one_picture_worker() -> Iterator[None]:
    """To start a worker takes longer than most tests; so all programs of a run have theirs from here. Workers that
    die, time out or are closed are tested by themselves (tests/unit/pictures/test_isolated_pictures.py)."""
    shared = SharedPictures()
    with pytest.MonkeyPatch.context() as patched:
        for module in (ingest, tiles):
            patched.setattr(module, "IsolatedPictures", lambda **_: shared)
        yield
    shared.close_for_good()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Servers that are begun and killed again and again take longest: of the tests that are handed out one by one these
    come first, so that no worker begins them when there is nothing left for the other."""
    items.sort(key=lambda item: "faults" not in item.path.parts)


_YOUNG_OBJECTS = 50_000


def pytest_collection_finish() -> None:
    """What was imported and collected stays to the end, and each test leaves circles behind that all die at once: the
    collector need not look through the first again, and need not look for the second at every turn."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(_YOUNG_OBJECTS, 10, 10)


@pytest.fixture(scope="session", autouse=True)
def _statements_compiled_once() -> Iterator[None]:
    """A statement is compiled once a database, which in a program is once a life, and here was half of what a test
    took. All databases of a run are of one kind, so that what was compiled for one serves the others."""
    made, compiled = engine._engine, LRUCache[object, object](4000)

    def sharing(path: Path) -> Engine:
        engine_of_path = made(path)
        engine_of_path.update_execution_options(compiled_cache=compiled)
        return engine_of_path

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(engine, "_engine", sharing)
        # Statements are kept by the dialect, too, and each engine has one of its own.
        patched.setattr(SQLiteDialect_pysqlite, "__eq__", lambda one, other: type(one) is type(other))
        patched.setattr(SQLiteDialect_pysqlite, "__hash__", lambda one: hash(type(one)))
        yield


@pytest.fixture(scope="session", autouse=True)
def _asked_by_the_name_of_the_test_client() -> Iterator[None]:
    """The test client asks for “testserver”, which is no name of any machine."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(guard, "LOOPBACK_NAMES", guard.LOOPBACK_NAMES | {"testserver"})
        yield


@dataclass(frozen=True)
class Studio:
    """Records with the starter kit in them, one session and one shot on the set."""

    records: Records
    session_id: str
    shot_id: str


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    records = new_records(tmp_path, kit=True)
    session_id = sessions.begin_session(records, {"name": "bench day"})
    shot_id = sessions.begin_shot(records, session_id, {"title": "enamel dial"})
    yield Studio(records, session_id, shot_id)
    records.close()


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    """The whole program over the data directory of a new house, starter kit laid out."""
    from webapp.app import create_app

    with TestClient(create_app(Settings(data=new_house(tmp_path / "data"))), follow_redirects=False) as client:
        yield client

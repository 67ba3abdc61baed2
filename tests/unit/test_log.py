"""The log: lines of JSON with the number of their request, and nothing in them that is private."""

from __future__ import annotations

import io
import json
import logging
from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from webapp import error_handlers, log
from webapp.log import LAST_ERRORS, Numbered


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> Iterator[io.StringIO]:
    root = logging.getLogger()
    before, level = root.handlers[:], root.level
    out = io.StringIO()
    monkeypatch.setattr("sys.stderr", out)
    log.begin()
    yield out
    root.handlers[:] = before
    root.setLevel(level)
    LAST_ERRORS.clear()


@pytest.fixture
def failing() -> TestClient:
    app = FastAPI()
    app.add_middleware(Numbered)
    error_handlers.add_to(app)

    @app.get("/api/open/{token}/fails")
    def fails(token: str) -> None:
        raise RuntimeError(f"wrong at /open/{token}/x\nSELECT notes FROM sessions WHERE made_for = 'Secret Client'")

    return TestClient(app, raise_server_exceptions=False)


def test_an_error_is_told_with_the_number_that_its_reader_was_given(told: io.StringIO, failing: TestClient) -> None:
    answer = failing.get("/api/open/tokentoken/fails")

    number = answer.headers["x-request-id"]
    assert answer.status_code == 500
    assert number in answer.json()["detail"][0]["msg"]
    (line,) = [each for each in map(json.loads, told.getvalue().splitlines()) if each["level"] == "error"]
    assert line["request"] == number
    assert line["error"].startswith("RuntimeError: wrong at /open/…/x")
    assert line["asked"] == "GET /api/open/…/fails"
    assert LAST_ERRORS[-1].request == number


def test_nothing_private_is_logged(told: io.StringIO, failing: TestClient) -> None:
    failing.get("/api/open/tokentoken/fails")

    for secret in ("tokentoken", "Secret Client", "SELECT", "Traceback", "/root", "/home"):
        assert secret not in told.getvalue()


def test_every_answer_has_a_number_of_its_own(failing: TestClient) -> None:
    numbers = {failing.get("/api/nowhere").headers["x-request-id"] for _ in range(20)}

    assert len(numbers) == 20

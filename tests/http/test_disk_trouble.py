"""A disk that refuses: one sentence on the page and in the log, and what was saved before is safe."""

from __future__ import annotations

import errno
import logging
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event
from starlette.testclient import TestClient

from webapp.records.engine import Records


@pytest.fixture
def records(client: TestClient) -> Records:
    records: Records = client.app.state.services.records  # type: ignore[attr-defined]
    return records


@pytest.fixture
def read_only(records: Records) -> Iterator[None]:
    def refuse(connection: sqlite3.Connection, *_: Any) -> None:
        connection.execute("PRAGMA query_only=ON")

    event.listen(records.engine, "checkout", refuse)
    yield
    event.remove(records.engine, "checkout", refuse)


def test_what_cannot_be_saved_is_one_sentence_on_the_page_and_one_line_in_the_log(
    client: TestClient, read_only: None, caplog: pytest.LogCaptureFixture
) -> None:
    answer = client.post("/sessions", data={"name": "a private name"})

    assert answer.status_code == 503
    assert "may not be read or written by the user" in answer.text
    [line] = [each for each in caplog.records if each.levelno >= logging.ERROR]
    assert line.exc_info is None
    assert "SQLITE_READONLY" in line.getMessage()
    assert "a private name" not in caplog.text


def test_the_page_that_asked_is_given_the_sentence_in_its_place_of_trouble(
    client: TestClient, read_only: None
) -> None:
    answer = client.post("/sessions", data={"name": "x"}, headers={"HX-Request": "true"})

    assert (answer.status_code, answer.headers["HX-Retarget"]) == (503, "#trouble")


def test_json_is_given_the_sentence(client: TestClient, read_only: None) -> None:
    answer = client.post("/api/v1/sessions", json={"name": "x"})

    assert answer.status_code == 503
    assert "may not be read or written" in answer.json()["detail"][0]["msg"]


def test_a_data_directory_that_is_gone_is_said_and_used_again_when_it_is_back(
    client: TestClient, records: Records
) -> None:
    data = records.path.parent
    data.rename(data.with_name("away"))

    for answer in (client.get("/"), client.get("/kit"), client.post("/sessions", data={"name": "lost?"})):
        assert answer.status_code == 503
        assert "is not there any more" in answer.text

    data.with_name("away").rename(data)
    assert client.post("/sessions", data={"name": "kept"}).status_code == 303


def test_a_reader_outside_is_told_nothing_of_the_house(client: TestClient, records: Records) -> None:
    data = records.path.parent
    data.rename(data.with_name("away"))

    answer = client.get("/shared/any")

    data.with_name("away").rename(data)
    assert answer.status_code == 503
    assert "data directory" not in answer.text


def test_a_picture_that_finds_the_disk_full_is_refused_with_503(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = client.post("/sessions", data={"name": "x"}).headers["location"]
    shot = client.post(f"{session}/shots", data={"title": "y"}).headers["location"]

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", full)
        answer = client.post(f"{shot}/frames", files={"picture": ("a.jpg", b"\xff\xd8\xff" * 100)})

    assert answer.status_code == 503
    assert "is full" in answer.text
    assert 'id="frame-' not in client.get(shot).text


def test_a_page_that_is_damaged_while_it_is_served_is_said(client: TestClient, records: Records) -> None:
    records.engine.dispose()
    content = bytearray(records.path.read_bytes())
    content[4096 * 2 :] = b"\xff" * (len(content) - 4096 * 2)
    records.path.write_bytes(content)

    answer = client.get("/")

    assert answer.status_code == 503
    assert "is damaged" in answer.text


def test_a_mistake_of_ours_is_not_taken_for_the_disk(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def mistaken(*_: object, **__: object) -> None:
        raise FileNotFoundError(errno.ENOENT, "a template", str(Path("sessions.html")))

    monkeypatch.setattr("webapp.web.pages.sessions.whole_page", mistaken)

    with pytest.raises(FileNotFoundError):
        client.get("/")

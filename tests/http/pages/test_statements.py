"""What a save costs the database, counted: one writing transaction, and no more statements as a shoot grows."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import event
from starlette.testclient import TestClient

from webapp.records.tables import new_id

HTMX = {"HX-Request": "true"}
# Twelve log the frame, and four have the search find it.
MOST_STATEMENTS = 16


@pytest.fixture
def shot(client: TestClient) -> str:
    session = client.post("/sessions", data={"name": "counted"}).headers["location"]
    shot = str(client.post(f"{session}/shots", data={"title": "counted"}).headers["location"])
    for _ in range(3):
        log(client, shot)
    tap(client, shot, "8")
    return shot


def log(client: TestClient, shot: str) -> None:
    assert (
        client.post(f"{shot}/frames", data={"purpose": "test", "save_key": new_id()}, headers=HTMX).status_code == 200
    )


def tap(client: TestClient, shot: str, f_number: str) -> None:
    said = {"field": "f_number", "value": f_number}
    assert client.post(f"{shot}/standing", data=said, headers=HTMX).status_code == 200


@contextmanager
def counted(client: TestClient) -> Iterator[list[str]]:
    """The statements that the block has the database run."""
    engine = client.app.state.services.records.engine  # type: ignore[attr-defined]
    said: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        said.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    yield said
    event.remove(engine, "before_cursor_execute", note)


def of_the_records(statements: list[str]) -> list[str]:
    return [each for each in statements if not each.startswith("BEGIN")]


def test_a_logged_frame_takes_at_most_sixteen_statements_and_one_writing_transaction(
    client: TestClient, shot: str
) -> None:
    with counted(client) as said:
        log(client, shot)

    assert said.count("BEGIN IMMEDIATE") == 1
    assert len(of_the_records(said)) <= MOST_STATEMENTS, said


def test_a_tap_takes_one_writing_transaction_and_reads_the_dials_alone(client: TestClient, shot: str) -> None:
    with counted(client) as said:
        tap(client, shot, "16")

    assert said.count("BEGIN IMMEDIATE") == 1
    assert len(of_the_records(said)) <= 4, said


def test_a_tap_on_a_long_shot_takes_no_more_statements(client: TestClient, shot: str) -> None:
    with counted(client) as early:
        tap(client, shot, "16")
    for _ in range(12):
        log(client, shot)

    with counted(client) as late:
        tap(client, shot, "11")

    assert len(late) <= len(early)

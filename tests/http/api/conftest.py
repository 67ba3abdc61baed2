from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from starlette.testclient import TestClient

from webapp.app import create_app
from webapp.settings import Settings

Json = dict[str, Any]


@pytest.fixture(scope="module")
def stateless(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """The program, for tests that leave nothing in its records."""
    with TestClient(create_app(Settings(data=tmp_path_factory.mktemp("stateless")))) as client:
        yield client


@dataclass(frozen=True)
class Desk:
    """The program with one session and one shot on the set, spoken to over JSON."""

    client: TestClient
    session_id: str
    shot_id: str

    def call(self, method: str, path: str, status: int = 200, **sent: Any) -> Any:
        """The body of an answer, whose status has to be this one."""
        answer = self.client.request(method, f"/api/v1{path}", **sent)
        assert answer.status_code == status, answer.text
        return answer.json() if answer.content else None

    def standing(self) -> Json:
        found: Json = self.call("GET", f"/shots/{self.shot_id}/standing")
        return found

    def set(self, status: int = 200, **fields: Any) -> Json:
        """Set fields of the set-up now; a double underscore stands for the dot."""
        changes = [{"field": name.replace("__", "."), "value": value} for name, value in fields.items()]
        told: Json = self.call("PATCH", f"/shots/{self.shot_id}/standing", status, json={"changes": changes})
        return told

    def log(self, status: int = 201, key: str | None = None, **words: Any) -> Json:
        headers = {"Idempotency-Key": key} if key else {}
        told: Json = self.call("POST", f"/shots/{self.shot_id}/frames", status, json=words, headers=headers)
        return told

    def write_in(self, cause: str) -> Json:
        """Press the first correction of a cause."""
        way = next(each for each in self.standing()["corrections"] if each["cause"] == cause)
        told: Json = self.call("POST", f"/shots/{self.shot_id}/corrections", json={"digest": way["digest"]})
        return told


@pytest.fixture
def desk(client: TestClient) -> Desk:
    session = client.post("/api/v1/sessions", json={"name": "bench day"}).json()["id"]
    shot = client.post(f"/api/v1/sessions/{session}/shots", json={"title": "enamel dial"}).json()["id"]
    return Desk(client, session, shot)

"""The worksheets keep nothing but a cookie, so that one program serves all their tests."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from webapp.app import create_app
from webapp.settings import Settings

Results = dict[str, Any]


@pytest.fixture(scope="session")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    app = create_app(Settings(data=tmp_path_factory.mktemp("worksheets") / "data"))
    with TestClient(app, follow_redirects=False) as client:
        yield client


@pytest.fixture(autouse=True)
def nothing_kept(client: TestClient) -> None:
    """What was typed last is forgotten before each test."""
    client.cookies.clear()


@pytest.fixture(scope="session")
def ask(client: TestClient) -> Callable[..., Results]:
    """The results of a worksheet."""

    def asked(name: str, **query: object) -> Results:
        answer = client.get(f"/api/v1/worksheets/{name}", params=query)
        assert answer.status_code == 200, answer.text
        results: Results = answer.json()["results"]
        return results

    return asked


@pytest.fixture(scope="session")
def refused(client: TestClient) -> Callable[..., dict[str, str]]:
    """The sentence at each parameter of a worksheet that was refused."""

    def asked(name: str, **query: object) -> dict[str, str]:
        answer = client.get(f"/api/v1/worksheets/{name}", params=query)
        assert answer.status_code == 422, answer.text
        problems = answer.json()["detail"]
        assert all(problem["loc"][0] == "query" for problem in problems)
        return {problem["loc"][1]: problem["msg"] for problem in problems}

    return asked

"""Sound from the first page: headers, origins, hosts, bounded bodies."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from webapp.app import create_app
from webapp.settings import Settings


def test_every_answer_carries_the_strict_policy(client: TestClient) -> None:
    for address in ("/", "/kit", "/static/stopledger.css", "/nowhere", "/api/v1/openapi.json"):
        policy = client.get(address).headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://elsewhere.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "http://testserver:81"},
    ],
)
def test_a_page_of_another_origin_may_change_nothing(client: TestClient, headers: dict[str, str]) -> None:
    for address in ("/sessions", "/api/v1/sessions"):
        answer = client.post(address, data={"name": "planted"}, headers=headers)
        assert answer.status_code == 403
    assert "planted" not in client.get("/").text


def test_the_own_page_may(client: TestClient) -> None:
    own = {"Origin": "http://testserver", "Sec-Fetch-Site": "same-origin"}

    assert client.post("/sessions", data={"name": "mine"}, headers=own).status_code == 303


def test_a_name_that_was_pointed_here_is_not_answered(client: TestClient) -> None:
    assert client.get("/", headers={"Host": "rebound.example"}).status_code == 403


def test_a_body_past_the_bound_is_refused(tmp_path: Path) -> None:
    small = Settings(data=tmp_path / "data", largest_upload_mb=1)
    with TestClient(create_app(small), follow_redirects=False) as client:
        session = client.post("/sessions", data={"name": "s"}).headers["location"]
        shot = client.post(f"{session}/shots", data={"title": "t"}).headers["location"]

        answer = client.post(f"{shot}/frames", files={"picture": ("big.jpg", b"\xff" * (4 << 20))})

        assert answer.status_code == 413
        assert "No frame yet" in client.get(shot).text


def test_an_address_that_is_none_is_a_page_with_a_way_back(client: TestClient) -> None:
    answer = client.get("/shots/none-such")

    assert answer.status_code == 404
    assert "There is no such shot." in answer.text
    assert "Back" in answer.text


def test_a_preview_of_no_picture_is_not_found(client: TestClient) -> None:
    assert client.get("/pictures/..%2F..%2Fstopledger/preview").status_code == 404
    assert client.get("/pictures/abc/original").status_code == 404

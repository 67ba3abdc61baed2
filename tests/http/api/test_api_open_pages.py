"""Open pages over JSON: the same addresses, the same fields, the same end."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

API = "/api/v1"


@pytest.fixture
def session(client: TestClient) -> str:
    made = client.post(f"{API}/sessions", json={"name": "bench day", "notes": "the client is late"}).json()["id"]
    shot = client.post(f"{API}/sessions/{made}/shots", json={"title": "enamel dial"}).json()["id"]
    client.post(f"{API}/shots/{shot}/frames", json={"because": "to begin with", "notes": "dusty"})
    return str(made)


def test_a_page_is_opened_listed_read_and_withdrawn(client: TestClient, session: str) -> None:
    made = client.post(f"{API}/sessions/{session}/live-pages", json={"title": "Table A", "hours": 8}).json()

    read = client.get(f"{API}/live-pages/{made['token']}").json()
    listed = client.get(f"{API}/sessions/{session}/live-pages").json()
    ended = client.delete(f"{API}/live-pages/{made['token']}")

    assert client.get(made["path"]).status_code == 404
    assert read["shots"][0]["frames"][0]["number"] == 1
    assert [each["title"] for each in listed] == ["Table A"]
    assert ended.status_code == 204
    assert client.get(f"{API}/live-pages/{made['token']}").status_code == 404
    assert client.get(f"{API}/sessions/{session}/live-pages").json()[0]["withdrawn_at"] is not None


def test_the_addresses_of_before_lead_to_those_of_now(client: TestClient, session: str) -> None:
    older = f"{API}/sessions/{session}/open-pages"
    made = client.post(older, json={"title": "Table A"}, follow_redirects=True).json()

    assert client.get(older, follow_redirects=False).headers["location"] == f"{API}/sessions/{session}/live-pages"
    assert [each["title"] for each in client.get(older, follow_redirects=True).json()] == ["Table A"]
    for address in (f"/sessions/{session}/open-pages", f"/open-pages/{made['token']}/code.svg"):
        moved = client.get(address, follow_redirects=False)
        assert (moved.status_code, moved.headers["location"]) == (308, address.replace("open-pages", "live-pages"))
    assert client.delete(f"{API}/open-pages/{made['token']}", follow_redirects=True).status_code == 204
    again = client.post(older, json={"title": "Table B"}, follow_redirects=True).json()
    withdrawn = client.post(f"/open-pages/{again['token']}/withdraw", follow_redirects=False)
    assert (withdrawn.status_code, withdrawn.headers["location"]) == (308, f"/live-pages/{again['token']}/withdraw")
    client.post(f"/open-pages/{again['token']}/withdraw", follow_redirects=True)
    assert client.get(again["path"]).status_code == 404


def test_reasons_go_out_only_where_they_are_let_out_and_notes_never(client: TestClient, session: str) -> None:
    plain, let_out = (
        client.post(f"{API}/sessions/{session}/live-pages", json={"title": "Table A", "because": because}).json()
        for because in (False, True)
    )

    kept_in = client.get(f"{API}/live-pages/{plain['token']}").text
    told = client.get(f"{API}/live-pages/{let_out['token']}").text

    assert "to begin with" not in kept_in
    assert "to begin with" in told
    assert "dusty" not in told
    assert "late" not in told


@pytest.mark.parametrize(
    ("said", "where"),
    [({"hours": 8}, "title"), ({"title": "A", "hours": 0}, "hours"), ({"title": "A", "days": 1}, "days")],
)
def test_a_page_that_cannot_be_opened_is_refused_at_its_field(
    client: TestClient, session: str, said: dict[str, object], where: str
) -> None:
    answer = client.post(f"{API}/sessions/{session}/live-pages", json=said)

    assert answer.status_code == 422
    assert answer.json()["detail"][0]["loc"] == ["body", where]
    assert client.get(f"{API}/sessions/{session}/live-pages").json() == []


def test_a_session_that_is_none_has_no_open_pages(client: TestClient) -> None:
    assert client.get(f"{API}/sessions/none/live-pages").status_code == 404
    assert client.post(f"{API}/sessions/none/live-pages", json={"title": "A"}).status_code == 404

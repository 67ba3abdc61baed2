"""A frame that was logged to the wrong shot is moved to another of the session: both shots are worked out anew, and moved
back all is as it was."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from tests.http.pages.walk import begin, element, log, set_field
from tests.made_pictures import jpeg_bytes, rational


@pytest.fixture
def shots(client: TestClient) -> tuple[str, str]:
    """Two shots of a session, the second of them active."""
    first = begin(client)
    return first, another(client, first)


def another(client: TestClient, shot: str, title: str = "the box") -> str:
    session = client.get(f"/api/v1{shot}").json()["session_id"]
    return client.post(f"/sessions/{session}/shots", data={"title": title}).headers["location"]


def id_of(address: str) -> str:
    return address.rsplit("/", 1)[1]


def move(client: TestClient, frame: str, shot: str, status: int = 303) -> str:
    answer = client.post(f"{frame}/move", data={"shot": id_of(shot)})
    assert answer.status_code == status, answer.text
    return answer.text


def add(client: TestClient, shot: str, second: int) -> str:
    """Log a picture that was exposed at that second; the answer is the frame's address."""
    settings = {0x829A: rational("1/125"), 0x829D: rational(8), 0x8827: 100, 0x9003: f"2026:11:24 10:31:{second:02d}"}
    content = jpeg_bytes(
        np.full((24, 36, 3), 90, np.uint8), exif={0x10F: "Invented Works", 0x110: "Body"}, settings=settings
    )
    answer = client.post(f"/api/v1{shot}/frames", files={"picture": (f"a_{second}.jpg", content)})
    return f"/frames/{answer.json()['id']}"


def numbers(client: TestClient, shot: str) -> dict[str, int]:
    found = client.get(f"/api/v1{shot}/frames").json()["frames"]
    return {f"/frames/{each['id']}": each["number"] for each in found}


def said(client: TestClient, frame: str) -> dict[str, Any]:
    """All that the record says of a frame, but for its revisions."""
    answer: dict[str, Any] = client.get(f"/api/v1{frame}").json()
    for changes_by_moving in ("revision", "revisions"):
        del answer[changes_by_moving]
    return answer


def test_both_shots_are_worked_out_anew_and_moved_back_all_is_as_it_was(
    client: TestClient, shots: tuple[str, str]
) -> None:
    here, there = shots
    log(client, here)
    set_field(client, here, "f_number", "11")
    wrong = log(client, here)
    set_field(client, here, "f_number", "16")
    last = log(client, here)
    log(client, there)
    before = {frame: said(client, frame) for frame in (wrong, last)}
    assert [each["from"] for each in before[last]["ledger"]["since_previous"]["entries"]] == ["f/11"] * 2

    move(client, wrong, there)

    assert numbers(client, there)[wrong] == 2
    assert sorted(numbers(client, here).values()) == [1, 3]
    # The frame after it is held against the one before it now.
    assert [each["from"] for each in said(client, last)["ledger"]["since_previous"]["entries"]] == ["f/8"] * 2
    assert "moved here from enamel dial, where it was frame 2" in client.get(wrong).text
    assert "frame 2" not in element(client.get(here).text, f"log-of-{id_of(here)}")
    move(client, wrong, here)
    assert {frame: said(client, frame) for frame in (wrong, last)} == before
    assert list(numbers(client, there).values()) == [1]


def test_a_frame_stands_where_it_was_exposed(client: TestClient, shots: tuple[str, str]) -> None:
    here, there = shots
    add(client, here, 1)
    wrong = add(client, here, 3)
    for second in (2, 4):
        add(client, there, second)

    move(client, wrong, there)

    assert "came late: exposed before frame 2" in client.get(there).text
    assert "Log frame 4" in client.get(there).text
    move(client, wrong, here)
    assert "came late" not in client.get(here).text
    assert "Log frame 3" in client.get(there).text


def test_the_reference_stays_while_another_frame_can_be_it_and_moves_when_it_is_alone(
    client: TestClient, shots: tuple[str, str]
) -> None:
    here, there = shots
    first, second = log(client, here), log(client, here)

    assert "make another frame the reference first" in move(client, first, there, 409)
    client.post(f"{second}/reference")
    move(client, first, there)
    assert said(client, first)["is_reference"]
    move(client, second, there)

    assert numbers(client, here) == {}
    assert not said(client, second)["is_reference"]
    assert "Log frame 1" in client.get(here).text
    # The next frame is the reference, as in a shot that was begun.
    assert said(client, log(client, here))["is_reference"]


def test_what_a_shot_rests_on_is_refused_with_the_reason(client: TestClient, shots: tuple[str, str]) -> None:
    here, there = shots
    log(client, here)
    hero, published = log(client, here), log(client, here)
    client.post(f"{hero}/verdict", data={"verdict": "hero"})
    form = {"title": "Enamel", "facets-subject": "timepiece", "step-90-words": "Set it up.", "why": "So."}
    assert client.post(f"{published}/recipe", data=form).status_code == 303

    assert "is the hero of enamel dial" in move(client, hero, there, 409)
    assert "was published in a recipe" in move(client, published, there, 409)
    client.post(f"{there}/strike")
    assert "the box is closed" in move(client, hero, there, 409)
    elsewhere = begin(client)
    assert "is of another" in move(client, hero, elsewhere, 422)
    assert list(numbers(client, there)) == []
    assert len(numbers(client, here)) == 3


def test_the_interface_moves_too_and_a_second_press_does_nothing(client: TestClient, shots: tuple[str, str]) -> None:
    here, there = shots
    log(client, here)
    wrong = log(client, here)

    answers = [client.post(f"/api/v1{wrong}/move", json={"shot_id": id_of(there)}).json() for _ in range(2)]

    assert answers[0] == answers[1]
    assert (answers[0]["shot_id"], answers[0]["number"]) == (id_of(there), 1)
    assert client.post(f"/api/v1{wrong}/move", json={"shot_id": "none"}).status_code == 404


def test_what_was_read_at_the_patches_of_one_shot_is_read_there_again(
    client: TestClient, shots: tuple[str, str]
) -> None:
    here, there = shots
    add(client, here, 1)
    wrong = add(client, here, 2)
    patch = {"name": "card", "x": 0.4, "y": 0.4, "width": 0.2, "height": 0.2, "wanted_stops": 0}
    assert client.post(f"/api/v1{here}/patches", json=patch).status_code == 201
    intake = client.app.state.services.intake  # type: ignore[attr-defined]
    intake.finish()
    before = client.get(f"/api/v1{wrong}/readings").json()

    move(client, wrong, there)
    intake.finish()

    assert client.get(f"/api/v1{wrong}/readings").json() != before
    move(client, wrong, here)
    intake.finish()
    assert client.get(f"/api/v1{wrong}/readings").json() == before


def test_a_shot_whose_frames_were_all_moved_can_be_deleted(client: TestClient, shots: tuple[str, str]) -> None:
    here, there = shots
    wrong = add(client, there, 1)
    patch = {"name": "card", "x": 0.4, "y": 0.4, "width": 0.2, "height": 0.2, "wanted_stops": 0}
    client.post(f"/api/v1{there}/patches", json=patch)
    client.app.state.services.intake.finish()  # type: ignore[attr-defined]

    move(client, wrong, here)

    assert client.post(f"{there}/delete").status_code == 303
    assert client.get(there).status_code == 404
    assert numbers(client, here) == {wrong: 1}

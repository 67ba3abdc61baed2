"""Closing a shot over HTTP: the questions, the answers kept or given back, and the desk of a closed shot."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, element, log, set_field, told
from tests.made_pictures import jpeg_bytes, scene, srgb_codes
from webapp.app import create_app
from webapp.settings import Settings


def close(client: TestClient, shot: str, **answers: str) -> None:
    answer = client.post(f"{shot}/strike", data={name.replace("__", "."): text for name, text in answers.items()})
    assert (answer.status_code, answer.headers["location"]) == (303, shot)


def test_the_partial_is_the_element_of_the_full_page(client: TestClient) -> None:
    shot = begin(client)

    partial = client.get(f"{shot}/strike", headers=HTMX).text

    strike = "strike-" + shot.rsplit("/", 1)[1]
    assert element(partial, strike) == element(client.get(f"{shot}/strike").text, strike)


def test_it_asks_for_what_is_open_and_says_what_each_would_cost(client: TestClient) -> None:
    shot = begin(client)
    set_field(client, shot, "lights.A.distance", "12 cm")

    text = client.get(f"{shot}/strike").text

    assert "Where does A stand?" in text
    assert "0.5 stop off" in text
    assert "on record: 12 cm, direction unknown" in text


def test_with_inches_read_in_the_house_it_asks_and_is_answered_in_inches(client: TestClient) -> None:
    shot = begin(client)
    set_field(client, shot, "lights.A.distance", "12 cm")
    client.post("/lengths", data={"unit": "in"})

    asked = client.get(f"{shot}/strike").text
    close(client, shot, lights__A__distance="30", lights__A__bearing="45 left", lights__A__height="8 below")

    assert "on record: 4.7 in, direction unknown" in asked
    assert 'placeholder="8 in above"' in asked
    assert 'name="value" value="30 in"' in told(client, shot)
    assert "30 in from the subject, 45° left, 8 in below" in client.get(f"{shot}/plan?unit=in").text


def test_the_desk_leads_there_and_the_plan_too(client: TestClient) -> None:
    shot = begin(client)

    assert f'href="{shot}/strike"' in told(client, shot)
    assert f'href="{shot}/strike"' in client.get(f"{shot}/plan").text


def test_an_answer_is_on_the_desk_and_in_the_frame_that_was_named(client: TestClient) -> None:
    shot = begin(client)
    frame = log(client, shot)
    text = client.get(f"{shot}/strike").text
    chosen = re.search(r'<option value="([^"]+)" selected', text)
    assert chosen is not None

    close(client, shot, lights__A__distance="80", lights__A__bearing="45 left", as_in_frame=chosen.group(1))

    assert 'name="value" value="80 cm"' in told(client, shot)
    assert "80 cm from the subject, 45° left" in client.get(f"{frame}/plan").text
    assert "before the set was struck: place of A" in client.get(frame).text


def test_a_closed_shot_says_so_and_how_it_is_opened(client: TestClient) -> None:
    shot = begin(client)
    close(client, shot)

    text = told(client, shot)

    assert "the set is struck" in text
    assert "Log frame" not in text
    assert f'action="{shot}/reopen"' in text
    assert "Make it the active shot" not in text
    assert client.post(f"{shot}/reopen").headers["location"] == shot
    assert "Log frame 1" in told(client, shot)
    assert f'id="stands-{shot.rsplit("/", 1)[1]}">active' in told(client, shot)


def test_all_answers_may_be_skipped_even_wrong_ones(client: TestClient) -> None:
    shot = begin(client)

    close(client, shot, skip="1", lights__A__distance="nonsense")

    assert 'name="value" value="unknown"' in told(client, shot)


def test_a_wrong_answer_comes_back_as_it_was_typed_and_the_shot_stays_open(client: TestClient) -> None:
    shot = begin(client)
    said = {"lights.A.distance": "close", "subject_distance": "40 cm"}

    answer = client.post(f"{shot}/strike", data=said, headers=HTMX)

    assert answer.status_code == 422
    assert "is no distance" in answer.text
    assert 'value="close"' in answer.text
    assert 'value="40 cm"' in answer.text
    assert "Log frame 1" in told(client, shot)


def test_a_stale_answer_is_shown_beside_what_stands(client: TestClient) -> None:
    shot = begin(client)
    set_field(client, shot, "lights.A.distance", "75 cm")

    answer = client.post(
        f"{shot}/strike", data={"lights.A.distance": "80 cm", "version.lights.A.distance": "0"}, headers=HTMX
    )

    assert answer.status_code == 409
    assert "to 75 cm at " in answer.text
    assert ", after this page was drawn; 80 cm was not written in" in answer.text
    assert 'value="80 cm"' in answer.text


def test_a_closed_shot_is_refused_a_frame_and_the_set(client: TestClient) -> None:
    shot = begin(client)
    close(client, shot)

    assert client.post(f"{shot}/frames", data={"purpose": "test"}).status_code == 409
    assert client.post(f"{shot}/on-set").status_code == 409
    assert client.post(f"{shot}/strike").status_code == 409


def test_the_list_of_shots_says_which_are_closed(client: TestClient) -> None:
    shot = begin(client)
    close(client, shot)
    session = re.search(r'href="(/sessions/[^"]+)"', told(client, shot))
    assert session is not None

    assert "0 frames · closed" in client.get(session.group(1)).text


@pytest.mark.parametrize("path", ["strike", "reopen"])
def test_a_shot_that_there_is_not_is_not_found(client: TestClient, path: str) -> None:
    assert client.post(f"/shots/none/{path}").status_code == 404


def test_a_file_of_the_folder_does_not_go_to_a_closed_shot(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    with TestClient(create_app(Settings(data=tmp_path / "data")), follow_redirects=False) as client:
        shot = begin(client)
        close(client, shot)
        file = tmp_path / "late.jpg"
        file.write_bytes(jpeg_bytes(srgb_codes(scene(48, 64))))

        client.app.state.services.intake.arrived(file)  # type: ignore[attr-defined]

        assert "no shot is on the set" in caplog.text
        assert "late.jpg" not in told(client, shot)

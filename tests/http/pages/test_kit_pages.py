"""The kit's pages: keep, retire, refuse to forget what frames hold, take meter readings."""

from __future__ import annotations

import re

from starlette.testclient import TestClient

from tests.http.pages.walk import begin, log, told


def item(client: TestClient, name: str) -> str:
    found = re.search(rf'href="(/kit/\w+/[^"]+)">{re.escape(name)}', client.get("/kit").text)
    assert found is not None, name
    return found.group(1)


def test_a_filter_is_read_as_density_factor_or_stops(client: TestClient) -> None:
    for name, loss, takes in (
        ("grey one", "ND 0.9", "3.0 stops"),
        ("grey two", "ND8", "3.0 stops"),
        ("grey three", "2 stops", "2.0 stops"),
    ):
        client.post(
            "/kit/filters/new",
            data={"name": name, "kind": "neutral", "fits": "both", "loss": loss, "shift_mired": "0"},
        )
        row = client.get("/kit").text.split(f">{name}</a>")[1].split("</tr>")[0]
        assert takes in row


def test_an_invalid_item_keeps_what_was_typed_with_the_sentence_at_its_field(client: TestClient) -> None:
    answer = client.post("/kit/cameras/new", data={"name": "mine", "sensor_width_mm": "-3", "sync_mark": "1/0"})

    assert answer.status_code == 422
    assert 'value="mine"' in answer.text
    assert 'value="-3"' in answer.text
    assert "greater than 0" in answer.text
    assert "divides by nothing" in answer.text


def test_an_item_that_a_frame_holds_is_not_deleted_and_the_reason_is_said(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    head = item(client, "monolight 400 J")

    answer = client.post(f"{head}/delete")

    assert answer.status_code == 409
    assert "cannot be deleted: 1 frame and 1 standing set-up hold it" in answer.text
    assert "monolight 400 J" in client.get("/kit").text


def test_an_item_that_nothing_holds_is_deleted(client: TestClient) -> None:
    snoot = item(client, "snoot")

    client.post(f"{snoot}/delete")

    assert "snoot" not in client.get("/kit").text


def test_a_retired_head_stays_in_old_frames_and_leaves_the_lists(client: TestClient) -> None:
    shot = begin(client)
    frame = log(client, shot)
    client.post(f"{item(client, 'monolight 400 J')}/retire")

    assert "A 6.25 J" in client.get(frame).text
    assert "monolight 400 J (retired)" in told(client, shot)


def test_editing_a_head_changes_the_standing_set_up_and_no_old_frame(client: TestClient) -> None:
    shot = begin(client)
    frame = log(client, shot)
    head = item(client, "monolight 400 J")

    client.post(
        head,
        data={
            "name": "monolight 500 J",
            "full_energy_j": "500",
            "range_stops": "6",
            "step_stops": "0.1",
            "marking": "joules",
        },
    )

    assert "monolight 500 J" in told(client, shot)
    assert "A 7.81 J" in told(client, shot) or 'value="7.81 J"' in told(client, shot)
    assert "A 6.25 J" in client.get(frame).text


def test_a_meter_reading_gives_a_balance_before_there_is_a_frame(client: TestClient) -> None:
    shot = begin(client)
    head = item(client, "monolight 400 J")
    client.post(f"{shot}/standing", data={"field": "lights.A.distance", "value": "1 m"})
    client.post(f"{shot}/standing", data={"field": "lights.A.power", "value": "400 J"})

    client.post(
        f"{head}/readings", data={"modifier_id": "", "f_number": "f/16", "power": "400 J", "distance_mm": "1000"}
    )

    page = told(client, shot)
    assert "against the meter reading" in page
    assert '<td class="num over">+2.0' in page


def test_a_starter_kit_lets_a_newcomer_log_at_once(client: TestClient) -> None:
    assert log(client, begin(client)).startswith("/frames/")

"""The plan over HTTP: the partial is the element of the page, places and distances follow each other, bad input kept."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, element, log, set_field


def place(client: TestClient, shot: str, field: str = "lights.A", **said: str) -> str:
    answer = client.post(f"{shot}/plan", data={"field": field} | said, headers=HTMX)
    assert answer.status_code == 200, answer.text
    return answer.text


def distance(client: TestClient, shot: str) -> str:
    found = re.search(r'name="distance" value="([^"]*)"', client.get(f"{shot}/plan").text)
    assert found is not None
    return found.group(1)


def test_the_partial_is_the_element_of_the_full_page(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")

    partial = client.get(f"{shot}/plan", headers=HTMX).text

    plan = "plan-" + shot.rsplit("/", 1)[1]
    assert element(partial, plan) == element(client.get(f"{shot}/plan").text, plan)


def test_a_place_writes_the_distance_of_the_ledger(client: TestClient) -> None:
    shot = begin(client)

    text = place(client, shot, distance="80", bearing="45 left", height="40", known="measured")

    assert "80 cm from the subject, 45° left, 40 cm above" in text
    assert 'name="value" value="80 cm"' in client.get(shot).text


def test_a_distance_of_the_ledger_moves_the_place_along_its_line(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")

    set_field(client, shot, "lights.A.distance", "160 cm")

    assert "160 cm from the subject, 45° left, 80 cm above" in client.get(f"{shot}/plan").text


def test_inches_are_typed_and_told_where_the_page_is_in_inches(client: TestClient) -> None:
    shot = begin(client)

    text = place(client, shot, distance="20", bearing="30 right", height="0", unit="in")

    assert "20 in from the subject, 30° right" in text
    assert distance(client, shot) == "50.8 cm"


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"distance": "10", "bearing": "0", "height": "50"}, "longest of the three"),
        ({"distance": "ten", "bearing": "0"}, "is not a distance"),
        ({"distance": "80", "bearing": "sideways"}, "is no bearing"),
        ({"distance": "1000000"}, "more than 100 m"),
    ],
)
def test_a_place_that_cannot_be_is_refused_with_what_was_typed(
    client: TestClient, said: dict[str, str], told: str
) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")

    answer = client.post(f"{shot}/plan", data={"field": "lights.A"} | said, headers=HTMX)

    assert answer.status_code == 422
    assert told in answer.text
    assert f'value="{said["distance"]}"' in answer.text
    assert distance(client, shot) == "80 cm"


def test_a_light_at_no_distance_is_a_caution_and_its_entry_unknown(client: TestClient) -> None:
    shot = begin(client)

    text = place(client, shot, x="0", y="0", z="0")

    assert "at no distance" in text
    assert 'name="value" value="unknown"' in client.get(shot).text


def test_undo_puts_the_light_back(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40", known="measured")
    text = place(client, shot, distance="60", bearing="30 left", height="40")
    undo = re.search(r'name="text" value="([^"]+)"', text)
    assert undo is not None

    text = place(client, shot, text=undo.group(1), undo="1")

    assert "80 cm from the subject, 45° left, 40 cm above" in text


def test_a_preview_shows_what_would_follow_and_keeps_nothing(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")

    answer = client.post(
        f"{shot}/plan/preview", data={"field": "lights.A", "x": "0", "y": "-50", "z": "0"}, headers=HTMX
    )

    assert "50 cm from the subject, in front" in answer.text
    assert distance(client, shot) == "80 cm"


def test_the_tape_asks_for_the_side_and_then_places(client: TestClient) -> None:
    shot = begin(client)
    said = {"field": "lights.A", "from_subject": "60", "from_camera": "80", "height": "0"}

    asked = client.post(f"{shot}/plan/tape", data=said, headers=HTMX).text
    placed = client.post(f"{shot}/plan/tape", data=said | {"side": "right"}, headers=HTMX).text

    assert "The tapes meet on both sides" in asked
    assert "A: " in placed
    assert "60 cm from the subject, 53° right" in placed


def test_tapes_that_cannot_meet_name_the_one_to_check(client: TestClient) -> None:
    shot = begin(client)

    answer = client.post(
        f"{shot}/plan/tape",
        data={"field": "lights.A", "from_subject": "20", "from_camera": "30"},
        headers=HTMX,
    )

    assert answer.status_code == 422
    assert "Check the tape from the subject" in answer.text


def test_a_frame_keeps_its_plan_and_two_are_laid_over_each_other(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="100", bearing="60 left", height="0")
    first = log(client, shot)
    place(client, shot, distance="80", bearing="45 left", height="0")
    second = log(client, shot)

    text = client.get(f"{second}/plan", params={"under": first.rsplit("/", 1)[1]}).text

    assert "100 cm from the subject, 60° left" in client.get(f"{first}/plan").text
    assert "A moved 20 cm nearer and 15° forward." in text


def test_things_are_put_up_sized_and_taken_away(client: TestClient) -> None:
    shot = begin(client)
    client.post(f"{shot}/plan/things", data={"kind": "flag"})

    text = place(client, shot, "things.flag-1", distance="40", bearing="90 right", height="0", size_width="25")
    assert 'name="size_width" value="25 cm"' in text

    assert "Take flag 1 away" not in place(client, shot, "things.flag-1", there="off")


def test_the_shadow_card_is_a_picture_of_the_set_and_of_two_frames(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")
    frame = log(client, shot)

    cards = [
        client.get(f"{shot}/plan/card.png"),
        client.get(f"{frame}/plan/card.png", params={"beside": frame.rsplit("/", 1)[1]}),
    ]

    assert [each.headers["content-type"] for each in cards] == ["image/png"] * 2
    assert all(each.content.startswith(b"\x89PNG") for each in cards)

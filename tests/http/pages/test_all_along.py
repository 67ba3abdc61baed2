"""What is measured late: one press writes it into the earlier frames that lack it, another takes it out again."""

from __future__ import annotations

import re
from typing import Any

from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, folded, log, set_field
from tests.http.test_in_tray import frames


def press(client: TestClient, shot: str, way: str, field: str = "lights.A.place", **more: str) -> Any:
    return client.post(f"{shot}/all-along/{way}", data={"field": field, "panel": "set-up"} | more)


def offers(client: TestClient, shot: str) -> list[tuple[str, str]]:
    """What the panel offers: the sentence and the key."""
    page = folded(client.get(f"{shot}/set-up").text)
    return re.findall(r"<p>([^<]+)</p><button class=\"outline\">([^<]+)</button> </form>", page)


def frame(client: TestClient, shot: str, number: int) -> Any:
    return next(each for each in frames(client, shot) if each["number"] == number)


def light_a(client: TestClient, shot: str, number: int) -> Any:
    return frame(client, shot, number)["set_up"]["lights"]["A"]


def balance_of_a(client: TestClient, shot: str, number: int) -> Any:
    return frame(client, shot, number)["ledger"]["balances"]["A"]


def test_a_distance_that_is_measured_late_stood_there_all_along(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    second = log(client, shot)
    set_field(client, shot, "lights.A.distance", "120")
    log(client, shot)
    assert offers(client, shot) == [("Frames 1 to 2 were logged without the place of A.", "Stood there all along")]
    assert balance_of_a(client, shot, 3) is None

    press(client, shot, "write")

    assert light_a(client, shot, 1)["distance_mm"] == 1200
    assert balance_of_a(client, shot, 3) == 0.0
    assert "place of A entered later, as it was all along" in client.get(second).text
    assert offers(client, shot) == [
        ("The place of A was entered later in frames 1 to 2.", "Take it out again"),
    ]


def test_it_is_taken_out_again_by_one_press_and_offered_anew(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    log(client, shot)
    set_field(client, shot, "lights.A.distance", "120")
    before = [frame(client, shot, number)["ledger"] for number in (1, 2)]
    press(client, shot, "write")

    press(client, shot, "take-out")

    assert [frame(client, shot, number)["ledger"] for number in (1, 2)] == before
    assert light_a(client, shot, 1)["distance_mm"] is None
    assert [key for _, key in offers(client, shot)] == ["Stood there all along"]
    assert press(client, shot, "take-out").status_code == 409


def test_frames_before_the_light_was_moved_or_exchanged_are_left_alone(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    set_field(client, shot, "lights.A.distance", "80")
    log(client, shot)
    set_field(client, shot, "lights.A.distance", "unknown")
    log(client, shot)
    set_field(client, shot, "lights.A.distance", "120")
    assert offers(client, shot) == [("Frame 3 was logged without the place of A.", "Stood there all along")]

    modifiers = re.findall(r'<option value="([^"]+)">snoot', client.get(f"{shot}/set-up").text)
    set_field(client, shot, "lights.A.modifier", modifiers[0])

    assert offers(client, shot) == []


def test_a_guessed_place_gives_way_to_the_measured_one_and_the_plan_offers_it(client: TestClient) -> None:
    shot = begin(client)
    set_field(client, shot, "lights.A.position", "80 cm; 45° left; 40 cm above; estimated")
    guessed = log(client, shot)
    set_field(client, shot, "lights.A.position", "84 cm; 45° left; 40 cm above; taped")

    assert "Stood there all along" in client.get(f"{shot}/plan").text
    answer = press(client, shot, "write", panel="plan")

    assert answer.headers["location"] == f"{shot}/plan"
    assert "84 cm" in client.get(f"{guessed}/plan").text


def test_a_meter_reading_that_comes_late_was_the_same_all_along(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    head = re.findall(r'href="(/kit/lights/[^"]+)">monolight 400 J', client.get("/kit").text)[0]
    client.post(
        f"{head}/readings", data={"modifier_id": "", "f_number": "16", "power": "full", "distance_mm": "100 cm"}
    )
    assert offers(client, shot) == [("Frame 1 was logged without the meter reading of A.", "The same all along")]

    press(client, shot, "write", "lights.A.reading")

    assert offers(client, shot) == [("The meter reading of A was entered later in frame 1.", "Take it out again")]


def test_the_panel_answers_itself_and_the_desk_and_is_told_of_the_lines(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    set_field(client, shot, "lights.A.distance", "120")

    panel = client.get(f"{shot}/set-up", headers=HTMX).text
    answer = client.post(f"{shot}/all-along/write", data={"field": "lights.A.place", "panel": "set-up"}, headers=HTMX)

    assert """hx-headers='{"X-Page": ""}'""" in panel
    assert answer.text.count('id="panel-') == 1
    assert 'id="desk-' in answer.text
    assert "Take it out again" in answer.text

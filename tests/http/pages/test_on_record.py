"""What cannot be had once the set is struck, over HTTP: what is missing, set up with one press, and there once it came."""

from __future__ import annotations

import re
import time

from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, folded, log, set_field, told
from tests.made_pictures import jpeg_bytes, scene, srgb_codes


def two_lights(client: TestClient) -> str:
    """A shot lit by A and B."""
    shot = begin(client)
    head = re.findall(r'name="head"[^>]*>\s*<option value="([^"]+)"', client.get(f"{shot}/set-up").text)
    client.post(f"{shot}/lights", data={"head": head[0]})
    assert "key" in told(client, shot)
    return shot


def lists(client: TestClient, shot: str) -> tuple[str, str]:
    """What is missing and what is on record, as text."""
    page = folded(re.sub(r"<[^>]+>", " ", client.get(f"{shot}/strike").text))
    missing, _, there = page.partition("Questions")[0].partition("On record")
    return missing, there


def set_up(client: TestClient, shot: str, kind: str, about: str = "", status: int = 200) -> str:
    answer = client.post(f"{shot}/strike/evidence", data={"kind": kind, "about": about}, headers=HTMX)
    assert answer.status_code == status
    return answer.text


def standing(client: TestClient, shot: str) -> dict[str, object]:
    found: dict[str, object] = client.get(f"/api/v1{shot}/standing").json()
    return found


def lit(client: TestClient, shot: str) -> str:
    lights = standing(client, shot)["set_up"]["lights"]  # type: ignore[index]
    return "".join(letter for letter, light in lights.items() if light["lit"])


def test_it_says_what_is_missing_of_a_set(client: TestClient) -> None:
    shot = two_lights(client)

    missing, there = lists(client, shot)

    for name in ("A alone", "B alone", "Rule in the frame", "Ambient check", "Meter reading of A"):
        assert name in missing
    assert there == ""


def test_of_a_single_light_no_frame_of_it_alone_is_asked(client: TestClient) -> None:
    assert "A alone" not in lists(client, begin(client))[0]


def test_one_light_is_set_up_with_a_press_and_the_lights_come_back_after_the_frame(client: TestClient) -> None:
    shot = two_lights(client)
    log(client, shot)

    part = set_up(client, shot, "one light alone", "B")
    assert "Lit by B alone for one frame." in part
    assert lit(client, shot) == "B"
    assert standing(client, shot)["purpose"] == "one light alone"
    assert "Put the lights back" in client.get(shot).text

    pictured = {"picture": ("b.jpg", jpeg_bytes(srgb_codes(scene())), "image/jpeg")}
    client.post(f"{shot}/frames", data={"purpose": "one light alone"}, files=pictured)

    assert lit(client, shot) == "AB"
    assert standing(client, shot)["purpose"] == "test"
    frame = client.get(f"/api/v1{shot}/frames").json()["frames"][0]
    assert (frame["number"], frame["purpose"]) == (2, "one light alone")
    for _ in range(200):
        missing, there = lists(client, shot)
        if "B alone" in there:
            break
        assert "frame 2: its picture has no reading yet" in missing
        time.sleep(0.05)
    assert "B alone frame 2" in there
    assert "A alone" in missing


def test_what_is_set_up_is_left_without_a_frame(client: TestClient) -> None:
    shot = two_lights(client)
    client.post(f"{shot}/next", data={"purpose": "stack"})

    set_up(client, shot, "one light alone", "A")
    set_up(client, shot, "one light alone", "A", status=200)
    client.post(f"{shot}/strike/put-back", headers=HTMX)

    assert lit(client, shot) == "AB"
    assert standing(client, shot)["purpose"] == "stack"


def test_another_press_sets_up_another_and_all_comes_back(client: TestClient) -> None:
    shot = two_lights(client)
    shutter = standing(client, shot)["set_up"]["shutter"]  # type: ignore[index]

    set_up(client, shot, "one light alone", "A")
    set_up(client, shot, "ambient check")
    assert lit(client, shot) == ""
    set_up(client, shot, "rule in the frame")
    assert lit(client, shot) == "AB"
    assert standing(client, shot)["set_up"]["shutter"] == shutter  # type: ignore[index]
    set_up(client, shot, "one light alone", "B")
    assert lit(client, shot) == "B"
    client.post(f"{shot}/put-back")

    assert lit(client, shot) == "AB"
    assert standing(client, shot)["set_up"]["shutter"] == shutter  # type: ignore[index]


def test_a_dial_turned_meanwhile_stays_turned(client: TestClient) -> None:
    shot = two_lights(client)

    set_up(client, shot, "one light alone", "A")
    set_field(client, shot, "shutter", "1/60")
    client.post(f"{shot}/strike/put-back")

    assert standing(client, shot)["set_up"]["shutter"] == "1/60"  # type: ignore[index]


def test_a_light_that_is_off_or_nothing_at_all_is_not_set_up(client: TestClient) -> None:
    shot = two_lights(client)
    set_field(client, shot, "lights.B.lit", "off")

    assert "B is not lit" in set_up(client, shot, "one light alone", "B", status=422)
    assert "A frame is set up for one of" in set_up(client, shot, "a good mood", status=422)
    page = client.post(f"{shot}/strike/evidence", data={"kind": "one light alone", "about": "B"})
    assert page.status_code == 422
    assert "<html" in page.text
    assert lit(client, shot) == "A"


def test_a_frame_made_to_be_read_is_neither_the_reference_nor_the_frame_before(client: TestClient) -> None:
    shot = two_lights(client)

    for kind, about in (("one light alone", "A"), ("rule in the frame", "")):
        set_up(client, shot, kind, about)
        log(client, shot, purpose=kind)
    log(client, shot)
    newest, rule, solo = client.get(f"/api/v1{shot}/frames").json()["frames"]

    assert [each["is_reference"] for each in (newest, rule, solo)] == [True, False, False]
    assert newest["ledger"]["since_previous"] is None


def test_a_light_that_was_moved_since_is_asked_for_again(client: TestClient) -> None:
    shot = two_lights(client)
    set_field(client, shot, "lights.B.distance", "80 cm")
    set_up(client, shot, "one light alone", "B")
    log(client, shot, purpose="one light alone")

    assert "frame 1 has no picture" in lists(client, shot)[0]
    set_field(client, shot, "lights.B.distance", "60 cm")

    assert "frame 1 is from before B was changed" in lists(client, shot)[0]


def test_a_rule_in_the_frame_or_a_known_scale_is_on_record(client: TestClient) -> None:
    shot = begin(client)
    set_up(client, shot, "rule in the frame")
    log(client, shot, purpose="rule in the frame")
    assert "frame 1: tap the rule there" in lists(client, shot)[1]

    set_field(client, shot, "magnification", "1:2")

    assert "scale known: 0.5" in lists(client, shot)[1]


def test_a_meter_reading_is_kept_at_the_power_and_distance_that_stand(client: TestClient) -> None:
    shot = begin(client)
    assert "Type it" in lists(client, shot)[0]
    set_field(client, shot, "lights.A.distance", "80 cm")

    refused = client.post(f"{shot}/strike/meter", data={"about": "A", "f_number": "bright"}, headers=HTMX)
    assert refused.status_code == 422
    assert 'role="alert"' in refused.text
    kept = client.post(f"{shot}/strike/meter", data={"about": "A", "f_number": "11"}, headers=HTMX)

    assert kept.status_code == 200
    assert re.search(r"Meter reading of A f/11 at [^,]+, 80 cm, ISO 100", lists(client, shot)[1])


def test_a_meter_reading_without_a_distance_is_not_guessed(client: TestClient) -> None:
    shot = begin(client)

    answer = client.post(f"{shot}/strike/meter", data={"about": "A", "f_number": "11"}, headers=HTMX)

    assert answer.status_code == 422
    assert "needs its power and its distance" in answer.text


def test_three_questions_stand_first_and_the_others_behind_a_disclosure(client: TestClient) -> None:
    shot = two_lights(client)
    set_field(client, shot, "magnification", "unknown")
    set_field(client, shot, "f_number", "unknown")

    page = client.get(f"{shot}/strike").text
    first, _, others = page.partition('<details class="more" id="other-questions')

    assert first.count('<li id="ask-') == 3
    assert others.count('<li id="ask-') >= 1
    assert "worth less" in others


def test_the_list_is_asked_for_alone_by_an_open_page(client: TestClient) -> None:
    shot = begin(client)

    part = client.get(f"{shot}/strike/evidence", headers=HTMX).text

    assert part.lstrip().startswith("<section")
    assert "<html" not in part

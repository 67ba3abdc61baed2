"""Suggestions from geometry over HTTP: asked by an address, written in by a key, never over a value that has moved."""

from __future__ import annotations

import html
import re
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, element, set_field, told
from webapp.kit import inventory


def placed(client: TestClient, **said: str) -> str:
    """A shot whose only light, a bare lamp, stands 80 cm away."""
    shot = begin(client)
    place = {"field": "lights.A", "distance": "80", "bearing": "45 left", "height": "20"} | said
    assert client.post(f"{shot}/plan", data=place, headers=HTMX).status_code == 200
    return shot


def ask(client: TestClient, shot: str, status: int = 200, **said: str) -> str:
    asked = {"light": "A", "want": "light", "amount": "+1", "unit": "cm"} | said
    answer = client.get(f"{shot}/plan/suggestions?{urlencode(asked)}", headers=HTMX)
    assert answer.status_code == status, answer.text
    return html.unescape(answer.text)


def keys(text: str) -> list[tuple[str, dict[str, str]]]:
    """The buttons of an answer with what they send."""
    found = []
    for form in re.findall(r'<form class="inline".*?</form>', text, re.S):
        words = re.search(r"<button[^>]*>(.*?)</button>", form)
        assert words is not None
        found.append((words.group(1), dict(re.findall(r'name="(\w+)" value="([^"]*)"', form))))
    return found


def moves(text: str) -> list[tuple[str, dict[str, str]]]:
    """Those of the buttons that put a light somewhere."""
    return [(words, fields) for words, fields in keys(text) if words.startswith("Put ")]


def place_of(client: TestClient, shot: str) -> str:
    found = re.search(
        r"<summary><span>key A</span>.*?</summary>\s*<p[^>]*>(.*?)</p>", client.get(f"{shot}/plan").text, re.S
    )
    assert found is not None
    return html.unescape(found.group(1))


def test_the_partial_is_the_element_of_the_full_page(client: TestClient) -> None:
    shot = placed(client)
    address = f"{shot}/plan/suggestions?{urlencode({'light': 'A', 'want': 'light', 'amount': '+1'})}"

    partial, page = client.get(address, headers=HTMX).text, client.get(address).text

    suggestions = "suggestions-" + shot.rsplit("/", 1)[1]
    assert element(partial, suggestions) == element(page, suggestions)


def test_the_plan_leads_to_its_suggestions_with_and_without_scripts(client: TestClient) -> None:
    shot = placed(client)

    page = client.get(f"{shot}/plan").text

    assert f'href="{shot}/plan/suggestions' in page
    assert f'hx-get="{shot}/plan/suggestions' in page


def test_a_stop_more_of_a_bare_lamp_is_by_inverse_square_and_its_key_writes_it_in(client: TestClient) -> None:
    shot = placed(client)
    words, fields = moves(ask(client, shot))[0]

    answer = client.post(f"{shot}/plan/suggestions", data=fields)

    assert words == "Put A at 56.6 cm"
    assert (answer.status_code, answer.headers["location"]) == (303, f"{shot}/plan")
    assert place_of(client, shot).startswith("56.6 cm from the subject, 45° left, 14.2 cm above, planned · bare lamp")
    assert 'name="value" value="56.6 cm"' in told(client, shot)


def test_with_scripts_the_key_leads_back_to_the_plan(client: TestClient) -> None:
    shot = placed(client)
    _, fields = moves(ask(client, shot))[0]

    answer = client.post(f"{shot}/plan/suggestions", data=fields, headers=HTMX)

    assert (answer.status_code, answer.headers["HX-Redirect"]) == (204, f"{shot}/plan")


def test_a_key_over_a_place_that_has_moved_since_writes_nothing_and_answers_anew(client: TestClient) -> None:
    shot = placed(client)
    _, fields = moves(ask(client, shot))[0]
    set_field(client, shot, "lights.A.distance", "160 cm")

    answer = client.post(f"{shot}/plan/suggestions", data=fields, headers=HTMX)

    assert answer.status_code == 409
    assert "The set has changed since" in answer.text
    assert moves(html.unescape(answer.text))[0][0] == "Put A at 113.1 cm"
    assert "160 cm from the subject" in place_of(client, shot)


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"amount": "more"}, "is no number of stops"),
        ({"amount": "+40"}, "more than 12 stops"),
        ({"want": "ratio", "amount": "x"}, "is no ratio"),
        ({"want": "evenness", "amount": "0"}, "even to nothing"),
        ({"want": "size", "amount": "300"}, "degrees between 0 and 180"),
        ({"want": "size", "amount": "A"}, "as large as itself"),
        ({"want": "edge", "amount": "-3"}, "between nothing and 5 m"),
        ({"want": "colour"}, "nothing that a set is asked for"),
    ],
)
def test_what_cannot_be_read_is_refused_with_what_was_typed(
    client: TestClient, said: dict[str, str], told: str
) -> None:
    text = ask(client, placed(client), 422, **said)

    assert told in text
    assert f'value="{said.get("amount", "+1")}"' in text


def test_in_inches_lengths_are_typed_and_told_in_inches(client: TestClient) -> None:
    shot = placed(client)

    text = ask(client, shot, unit="in")

    assert moves(text)[0][0] == "Put A at 22.3 in"


def test_a_set_without_a_place_says_what_is_missing(client: TestClient) -> None:
    text = ask(client, begin(client))

    assert "A has no position: place it first." in text
    assert keys(text) == []


def test_a_ratio_is_not_told_from_joules_alone(client: TestClient) -> None:
    shot = placed(client)
    set_field(client, shot, "lights.A.role", "key")

    assert "There is no fill that is lit" in ask(client, shot, want="ratio", amount="3:1")


def test_a_bare_lamp_has_no_softness_to_match(client: TestClient) -> None:
    assert "A has no size" in ask(client, placed(client), want="size", amount="20")


@pytest.mark.parametrize("place", [{"x": "far"}, {"x": "10 mm", "y": "10 mm", "z": "10 mm"}, {"power": "1/2"}, {}])
def test_only_what_is_offered_is_written(client: TestClient, place: dict[str, str]) -> None:
    shot = placed(client)
    asked = {"light": "A", "want": "light", "amount": "+1", "unit": "cm"}

    answer = client.post(f"{shot}/plan/suggestions", data={"of": "A"} | asked | place, headers=HTMX)

    assert answer.status_code == 409
    assert "80 cm from the subject" in place_of(client, shot)
    assert moves(html.unescape(answer.text))[0][0] == "Put A at 56.6 cm"


def softboxes(client: TestClient) -> str:
    """A key of 60 x 60 cm and a fill of 90 cm across, each with a reading of its modifier, both placed."""
    shot = begin(client)
    records = client.app.state.services.records  # type: ignore[attr-defined]
    choices = inventory.choices(records)
    head = next(item for item, name in choices.heads if "200 J" in name)
    for name, role, bearing in (("softbox 60", "key", "40 left"), ("octagon", "fill", "45 right")):
        letter = "A" if role == "key" else "B"
        modifier = next(item for item, words in choices.modifiers if name in words)
        if letter == "B":
            client.post(f"{shot}/lights", data={"head": head})
        for field, value in (("head", head), ("modifier", modifier), ("role", role), ("power", "25 J")):
            assert set_field(client, shot, f"lights.{letter}.{field}", value).status_code == 303
        reading = {"modifier_id": modifier, "f_number": "8", "power": "25 J", "distance_mm": "1000"}
        inventory.add_meter_reading(records, head, reading)
        place = {"field": f"lights.{letter}", "distance": "100", "bearing": bearing, "height": "40"}
        assert client.post(f"{shot}/plan", data=place, headers=HTMX).status_code == 200
    client.post(f"{shot}/plan/things", data={"kind": "subject"})
    return shot


def test_a_ratio_is_reached_by_the_light_that_is_chosen_turned_or_moved(client: TestClient) -> None:
    shot = softboxes(client)

    text = ask(client, shot, want="ratio", amount="2:1")
    offered = dict(keys(text))

    up, there = offered
    assert (up[:6], there[:5]) == ("Turn A", "Put A")
    assert "2 : 1 as key : fill" in text
    assert "1 : 4 as key : fill" in ask(client, shot, want="ratio", amount="1:4", light="B")
    assert client.post(f"{shot}/plan/suggestions", data=offered[up]).status_code == 303
    text = client.get(f"{shot}/plan").text
    assert re.search(r"key A less fill B.*?\+1\.0 stops", text, re.S)


def test_a_mark_for_a_power_that_has_moved_since_is_not_written(client: TestClient) -> None:
    shot = softboxes(client)
    offered = dict(keys(ask(client, shot, want="ratio", amount="2:1")))
    set_field(client, shot, "lights.A.power", "12.5 J")

    answer = client.post(
        f"{shot}/plan/suggestions", data=next(each for words, each in offered.items() if words.startswith("Turn A"))
    )

    assert answer.status_code == 409
    assert 'name="value" value="12.5 J"' in told(client, shot)


def test_nothing_is_written_where_another_light_has_moved_since(client: TestClient) -> None:
    shot = softboxes(client)
    offered = dict(keys(ask(client, shot, want="ratio", amount="2:1")))
    set_field(client, shot, "lights.B.distance", "150 cm")

    answer = client.post(
        f"{shot}/plan/suggestions", data=next(each for words, each in offered.items() if words.startswith("Put A"))
    )

    assert answer.status_code == 409
    assert "The set has changed since" in answer.text
    assert "100 cm from the subject" in place_of(client, shot)


def test_what_stands_as_it_was_offered_but_was_changed_and_changed_back_is_asked_again(client: TestClient) -> None:
    shot = placed(client)
    _, fields = moves(ask(client, shot))[0]
    set_field(client, shot, "lights.A.distance", "160 cm")
    set_field(client, shot, "lights.A.distance", "80 cm")

    answer = client.post(f"{shot}/plan/suggestions", data=fields)

    assert answer.status_code == 409
    assert "Another page of yours changed position of A" in html.unescape(answer.text)


def test_a_softbox_is_put_where_it_looks_as_large_as_the_other_light(client: TestClient) -> None:
    shot = softboxes(client)

    text = ask(client, shot, want="size", amount="b")

    # 60 cm of box looks as large at 66.7 cm as 90 cm of octagon at 1 m.
    assert keys(text)[0][0] == "Put A at 66.7 cm"
    assert "gives the exposure back" in text
    words, fields = keys(text)[1]
    mark = re.fullmatch(r"Put A at 66.7 cm and turn it to (.*)", words)
    assert mark is not None
    assert client.post(f"{shot}/plan/suggestions", data=fields).status_code == 303
    assert "66.7 cm from the subject" in place_of(client, shot)
    assert f'name="value" value="{mark.group(1)}"' in told(client, shot)


def test_a_place_and_a_mark_are_written_together_or_not_at_all(client: TestClient) -> None:
    shot = softboxes(client)
    _, fields = keys(ask(client, shot, want="size", amount="b"))[1]
    set_field(client, shot, "lights.A.power", "50 J")

    answer = client.post(f"{shot}/plan/suggestions", data=fields)

    assert answer.status_code == 409
    assert "100 cm from the subject" in place_of(client, shot)


def test_evenness_says_what_reaches_it_with_each_figure_before_and_after(client: TestClient) -> None:
    shot = softboxes(client)

    set_field(client, shot, "lights.B.lit", "off")

    text = ask(client, shot, want="evenness", amount="0.2")

    assert "Light over the subject within 0.20 stops; now 0." in text
    assert "range over the subject" in text
    assert any(words.startswith("Put A at") for words, _ in keys(text))


def put_up_background(client: TestClient, shot: str) -> None:
    """20 cm behind the subject, near enough for its shadow to be seen there."""
    client.post(f"{shot}/plan/things", data={"kind": "background"})
    place = {"field": "things.background", "distance": "20", "bearing": "180", "height": "0"}
    assert client.post(f"{shot}/plan", data=place, headers=HTMX).status_code == 200


def test_the_edge_of_a_shadow_is_told_on_what_it_falls(client: TestClient) -> None:
    shot = softboxes(client)
    put_up_background(client, shot)

    text = ask(client, shot, want="edge", amount="8")

    assert "A shadow of A with an edge of 8 cm; now" in text
    assert "its shadow's edge on the background" in text


def test_where_a_light_cannot_stand_there_is_no_key_but_the_reason(client: TestClient) -> None:
    shot = softboxes(client)
    set_field(client, shot, "magnification", "0.5")
    client.post(f"{shot}/plan", data={"field": "lights.A", "distance": "90", "bearing": "30 left", "height": "0"})

    text = ask(client, shot, amount="+2")

    assert "it cannot stand: A stands in the picture" in text
    assert moves(text) == []


def test_suggestions_are_in_the_lengths_of_the_house(client: TestClient) -> None:
    shot = softboxes(client)
    put_up_background(client, shot)
    client.post("/lengths", data={"unit": "in"})

    text = ask(client, shot, want="edge", amount="3", unit="")

    assert "A shadow of A with an edge of 3 in; now" in text
    assert re.search(r"Put A at \d+(\.\d|[¼½¾])? in", text)
    assert "Comes to 3 in." in text

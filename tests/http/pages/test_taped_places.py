"""How well a place is known, over HTTP: planned, carried over, taped; and what recipes, sheets and exports say of it."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, log, told
from webapp.plan.positions import Position
from webapp.shoots import frames, set_up_now


def post(client: TestClient, shot: str, status: int = 200, **said: str) -> str:
    answer = client.post(f"{shot}/plan", data={"field": "lights.A"} | said, headers=HTMX)
    assert answer.status_code == status, answer.text
    return answer.text


def stands(client: TestClient, shot: str, letter: str = "A") -> Position:
    records = client.app.state.services.records  # type: ignore[attr-defined]
    light = set_up_now.state(records, shot.rsplit("/", 1)[1]).set_up.light(letter)
    assert light is not None
    assert light.position is not None
    return light.position


def tick(client: TestClient, shot: str, page: str, status: int = 200) -> str:
    """Press what the page offers of light A."""
    form = next(
        each for each in re.findall(r"<form.*?</form>", page, re.S) if "tape_says_so" in each and "lights.A" in each
    )
    said = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form))
    return post(client, shot, status, **said)


def test_a_drag_plans_one_press_tapes_and_the_next_drag_plans_again(client: TestClient) -> None:
    shot = begin(client)
    dragged = post(client, shot, x="-300 mm", y="-600 mm", z="0 mm", drag="1")
    assert "67 cm from the subject, 27° left, level with it, planned" in dragged
    assert "The tape says 67 cm" in dragged

    taped = tick(client, shot, dragged)
    assert "27° left, level with it, taped" in taped
    assert "The tape says 67 cm" not in taped

    # An arrow key sends what a drag sends.
    post(client, shot, x="-310 mm", y="-600 mm", z="0 mm", drag="1")
    assert stands(client, shot).known == "planned"


def test_a_press_confirms_no_other_place_than_the_page_showed(client: TestClient) -> None:
    shot = begin(client)
    seen = post(client, shot, distance="80", bearing="45 left", height="0")
    post(client, shot, distance="95", bearing="45 left", height="0")

    answer = tick(client, shot, seen, 409)

    assert "95 cm" in answer
    assert stands(client, shot).known == "planned"
    post(client, shot, 422, tape_says_so="on")


@pytest.mark.parametrize(
    ("said", "known"),
    [
        # What the form sends where nobody touched it: lengths and bearings as they are printed.
        ({"distance": "80.3 cm", "bearing": "45° left", "height": "0 cm", "aim_x": "5"}, "taped"),
        ({"distance": "80.3 cm", "bearing": "45° left", "height": "0 cm", "known": ""}, "taped"),
        ({"distance": "90", "bearing": "45° left", "height": "0 cm", "known": ""}, "planned"),
        ({"distance": "90", "bearing": "45° left", "height": "0 cm", "taped": "on", "known": ""}, "taped"),
        ({"distance": "90", "bearing": "45° left", "height": "0 cm", "known": "estimated"}, "estimated"),
        ({"distance": "80.3 cm", "bearing": "45° left", "height": "0 cm", "known": "unknown"}, "unknown"),
    ],
)
def test_a_typed_place_is_planned_once_it_moves_unless_it_is_said_to_be_taped(
    client: TestClient, said: dict[str, str], known: str
) -> None:
    shot = begin(client)
    post(client, shot, distance="80.3", bearing="45.3 left", height="0", known="taped")

    post(client, shot, **said)

    assert stands(client, shot).known == known


def test_a_distance_in_the_ledger_moves_a_taped_light_to_a_planned_place(client: TestClient) -> None:
    shot = begin(client)
    post(client, shot, distance="80", bearing="45 left", height="0", known="taped")

    client.post(f"{shot}/standing", data={"field": "lights.A.distance", "value": "60 cm"})

    assert stands(client, shot).known == "planned"


def test_another_session_carries_places_over_and_names_the_set_that_they_come_from(client: TestClient) -> None:
    shot = begin(client)
    post(client, shot, distance="80", bearing="45 left", height="40", known="taped")
    frame = log(client, shot)

    session = client.post("/sessions", data={"name": "the next client"}).headers["location"]
    other = client.post(f"{session}/shots", data={"title": "cup"}).headers["location"]

    assert stands(client, other) == Position(
        stands(client, shot).at, known="carried over", carried_from=shot.rsplit("/", 1)[1]
    )
    page = client.get(f"{other}/plan").text
    assert "40 cm above, carried over from enamel dial, bench day" in page
    assert "carried over from enamel dial, bench day" in client.get(f"{other}/strike").text
    assert "Carried over, not measured here: A." in client.get(other).text
    tick(client, other, page)
    assert (stands(client, other).known, stands(client, other).carried_from) == ("taped", "")
    # A frame says what was known when it was made.
    post(client, shot, x="0 mm", y="-900 mm", z="0 mm", drag="1")
    records = client.app.state.services.records  # type: ignore[attr-defined]
    frozen = frames.one(records, frame.rsplit("/", 1)[1]).set_up.lights[0].position
    assert frozen is not None
    assert frozen.known == "taped"


def test_a_plan_is_still_a_plan_in_another_session(client: TestClient) -> None:
    shot = begin(client)
    post(client, shot, distance="80", bearing="45 left", height="40")

    session = client.post("/sessions", data={"name": "the next client"}).headers["location"]
    other = client.post(f"{session}/shots", data={"title": "cup"}).headers["location"]

    assert stands(client, other).known == "planned"


def test_before_the_set_is_struck_a_tick_tapes_what_stands_and_the_figure_is_beside_it(client: TestClient) -> None:
    shot = begin(client)
    post(client, shot, distance="80", bearing="45 left", height="0")
    client.post(f"{shot}/plan/things", data={"kind": "flag"})
    asked = client.get(f"{shot}/strike").text
    assert "the tape says 80 cm" in asked
    assert 'name="things.flag-1.taped"' in asked
    versions = dict(re.findall(r'name="(version\.[^"]+)" value="(\d+)"', asked))

    # Somebody moves it before the tick is sent.
    post(client, shot, x="0 mm", y="-900 mm", z="0 mm", drag="1")
    stale = client.post(f"{shot}/strike", data={"lights.A.taped": "on"} | versions)
    assert stale.status_code == 409
    assert stands(client, shot).known == "planned"
    versions = dict(re.findall(r'name="(version\.[^"]+)" value="(\d+)"', client.get(f"{shot}/strike").text))
    client.post(f"{shot}/strike", data={"lights.A.taped": "on"} | versions)

    assert stands(client, shot).known == "taped"


def test_recipe_sheet_and_document_tell_them_apart(client: TestClient) -> None:
    shot = begin(client)
    for _ in range(2):
        client.post(f"{shot}/lights", data={"head": re.findall(r'<option value="([^"]+)"', told(client, shot))[-1]})
    post(client, shot, distance="80", bearing="45 left", height="0", taped="on")
    post(client, shot, field="lights.B", distance="90", bearing="45 right", height="0")
    post(client, shot, field="lights.C", distance="70", bearing="90 right", height="0", known="carried over")
    frame = log(client, shot)

    published = client.post(
        f"/api/v1{frame}/recipe", json={"title": "Enamel dial"}, headers={"Idempotency-Key": "once"}
    )
    assert published.status_code == 201, published.text
    recipe = f"/recipes/{published.json()['id']}"

    for page in (client.get(recipe).text, client.get(f"{recipe}/sheet?step=0").text):
        for words in ("45° left, level with it (taped)", "45° right, level with it (planned)"):
            assert words in page
        assert "90° right, level with it (carried over)" in page
    read = client.get(f"/api/v1{recipe}/versions/1").json()
    known = [light["position"]["known"] for light in read["recipe"]["lights"]]
    assert known == ["taped", "planned", "carried over"]
    # Whose set it was is no reader's business.
    assert "carried_from" not in str(read)


def test_two_tape_measurements_tell_no_more_than_is_known_of_the_camera(client: TestClient) -> None:
    shot = begin(client)
    said = {"field": "lights.A", "from_subject": "60", "from_camera": "80", "height": "0", "side": "right"}

    client.post(f"{shot}/plan/tape", data=said)
    assumed = stands(client, shot).known
    note = "Tape the camera first"
    assert note in client.get(f"{shot}/plan").text
    client.post(f"{shot}/plan/things", data={"kind": "camera"})
    post(client, shot, field="things.camera", distance="100", bearing="in front", height="0", taped="on")
    client.post(f"{shot}/plan/tape", data=said)

    assert (assumed, stands(client, shot).known) == ("estimated", "taped")
    assert note not in client.get(f"{shot}/plan").text


def test_what_no_tape_has_confirmed_is_dashed_on_the_drawing(client: TestClient) -> None:
    shot = begin(client)

    planned = post(client, shot, distance="80", bearing="45 left", height="0")
    taped = tick(client, shot, planned)

    assert planned.count('stroke-dasharray="7 3"') > taped.count('stroke-dasharray="7 3"')
    assert "dashed: not taped" in taped


def test_a_distance_without_a_position_is_carried_over_and_one_tick_tapes_it(client: TestClient) -> None:
    shot = begin(client)
    client.post(f"{shot}/standing", data={"field": "lights.A.distance", "value": "120"})

    session = client.post("/sessions", data={"name": "the next client"}).headers["location"]
    other = client.post(f"{session}/shots", data={"title": "cup"}).headers["location"]

    plan = client.get(f"{other}/plan").text
    assert "120 cm from the subject, carried over; its direction is unknown" in plan
    assert "Carried over, not measured here: A." in client.get(other).text
    recipe = client.get(f"/api/v1{log(client, other)}/recipe").json()
    assert "lights.A.distance" in recipe["settings"]["carried"]
    assert recipe["lights"][0]["distance_mm"] == 1200.0

    tick(client, other, plan)
    assert "carried over" not in client.get(f"{other}/plan").text
    assert client.get(f"/api/v1{log(client, other)}/recipe").json()["settings"]["carried"] == []


def test_a_distance_that_was_carried_over_is_ticked_before_the_set_is_struck(client: TestClient) -> None:
    shot = begin(client)
    client.post(f"{shot}/standing", data={"field": "lights.A.distance", "value": "120"})
    session = client.post("/sessions", data={"name": "the next client"}).headers["location"]
    other = client.post(f"{session}/shots", data={"title": "cup"}).headers["location"]
    asked = client.get(f"{other}/strike").text
    versions = dict(re.findall(r'name="(version\.[^"]+)" value="(\d+)"', asked))
    assert "the tape says 120 cm" in asked

    client.post(f"{other}/strike", data={"lights.A.taped": "on"} | versions)

    assert "the tape says 120 cm" not in client.get(f"{other}/strike").text


def test_what_holds_a_light_is_on_record_from_the_plan_to_recipe_sheet_and_cautions(client: TestClient) -> None:
    shot = begin(client)
    client.post(f"{shot}/plan/things", data={"kind": "table"})
    unsaid = post(client, shot, distance="60", bearing="0", height="59", taped="on")
    assert 'class="boom" stroke-width="1.1" stroke-dasharray' in unsaid, "where no stand can stand, one is guessed"
    assert "on a boom: a counterweight" not in client.get(f"{shot}/set-up").text

    held = post(client, shot, distance="60", bearing="0", height="59", held_by="boom")

    assert "59 cm above · taped, on a boom" in held
    assert 'class="boom" stroke-width="1.1"/>' in held
    assert 'stroke-dasharray="9 3"' not in held
    assert (
        "A on a boom: a counterweight at its other end, a sandbag on its stand" in client.get(f"{shot}/set-up").text
    )
    read = client.get(f"/api/v1{shot}/plan").json()
    assert [each["held_by"] for each in read["lights"]] == ["boom"]
    frame = log(client, shot)
    published = client.post(
        f"/api/v1{frame}/recipe", json={"title": "Enamel dial"}, headers={"Idempotency-Key": "once"}
    )
    assert published.status_code == 201, published.text
    recipe = f"/recipes/{published.json()['id']}"
    for page in (client.get(recipe).text, client.get(f"{recipe}/sheet?step=0").text):
        assert "on a boom" in page
    hung = post(client, shot, distance="60", bearing="0", height="59", held_by="hung")
    assert 'class="boom"' not in hung
    post(client, shot, 422, distance="60", bearing="0", height="59", held_by="a friend")

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
        ("grey one", "ND 0.9", "3.0"),
        ("grey two", "ND8", "3.0"),
        ("grey three", "2 stops", "2.0"),
    ):
        client.post(
            "/kit/filters/new",
            data={"name": name, "kind": "neutral", "fits": "both", "loss": loss, "shift_mired": "0"},
        )
        row = client.get("/kit").text.split(f">{name}</a>")[1].split("</tr>")[0]
        assert f'<td data-label="loss, stops">{takes}</td>' in row


def test_an_invalid_item_keeps_what_was_typed_with_the_sentence_at_its_field(client: TestClient) -> None:
    answer = client.post("/kit/cameras/new", data={"name": "mine", "sensor_width_mm": "-3", "sync_mark": "1/0"})

    assert answer.status_code == 422
    assert 'value="mine"' in answer.text
    assert 'value="-3"' in answer.text
    assert "more than 0 is needed" in answer.text
    assert "divides by nothing" in answer.text


def test_an_item_that_a_frame_holds_is_not_deleted_and_the_reason_is_said(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    head = item(client, "monolight 400 J")

    answer = client.post(f"{head}/delete")

    assert answer.status_code == 409
    assert "cannot be deleted: 1 frame and 1 set-up hold it" in answer.text
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
        f"{head}/readings", data={"modifier_id": "", "f_number": "f/16", "power": "400 J", "distance_mm": "100 cm"}
    )

    page = told(client, shot)
    assert "against the meter reading" in page
    assert '<td class="num over">+2.0' in page


def test_a_starter_kit_lets_a_newcomer_log_at_once(client: TestClient) -> None:
    assert log(client, begin(client)).startswith("/frames/")


CAMERA = {
    "name": "my camera",
    "sensor_width_mm": "36",
    "sensor_height_mm": "24",
    "width_px": "6000",
    "height_px": "4000",
    "lowest_iso": "100",
    "highest_iso": "6400",
}
LENS = {"name": "my lens", "shortest_focal_mm": "85", "widest_f_number": "2", "smallest_f_number": "22"}
HEAD = {"name": "my head", "range_stops": "6", "step_stops": "0.1", "full_energy_j": "250"}


def add_own_kit(client: TestClient) -> None:
    for kind, said in (("cameras", CAMERA), ("lenses", LENS), ("lights", HEAD)):
        assert client.post(f"/kit/{kind}/new", data=said).status_code == 303


def in_use(client: TestClient, shot: str) -> tuple[str, ...]:
    """Camera, lens and heads that are chosen on the set-up, with the first that each list offers."""
    page = client.get(f"{shot}/set-up").text
    return tuple(
        name
        for field in ("camera", "lens", "lights.A.head")
        for name in re.findall(rf'value="{re.escape(field)}".*?<option value="[^"]*" selected>([^<]+)', page, re.S)[
            :1
        ]
    )


def test_the_first_shot_takes_ones_own_camera_lens_and_head(client: TestClient) -> None:
    add_own_kit(client)

    assert in_use(client, begin(client)) == ("my camera", "my lens", "my head")


def test_own_kit_comes_first_and_the_starters_is_folded_away_under_its_name(client: TestClient) -> None:
    add_own_kit(client)

    page = client.get("/kit").text

    assert page.index("my camera") < page.index("Camera 36 × 24")
    assert page.index("my head") < page.index("monolight 400 J")
    folded = re.findall(r'<details class="more" id="(\w+)-starter-kit"( open)?>', page)
    assert folded == [("cameras", ""), ("lenses", ""), ("lights", ""), ("modifiers", " open"), ("filters", " open")]


def test_a_piece_of_kit_tells_the_shots_that_it_was_used_in(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    log(client, shot)

    used = client.get(item(client, "monolight 400 J")).text.split('id="used-in"')[1]

    assert f'href="{shot}"' in used
    assert "2 frames" in used
    row = client.get("/kit").text.split("monolight 400 J")[1].split("</tr>")[0]
    assert '<td class="num" data-label="frames">2</td>' in row
    assert 'id="used-in"' not in client.get(item(client, "monolight 200 J")).text


def test_a_field_at_fault_is_focused_and_described_and_its_unit_stands_in_it(client: TestClient) -> None:
    page = client.post("/kit/lights/new", data={"name": "", "full_energy_j": "much", "range_stops": "6"}).text

    name, energy, range_stops = (
        re.findall(rf'<input id="field-{each}"[^>]*>', page)[0] for each in ("name", "full_energy_j", "range_stops")
    )
    assert 'aria-invalid="true" autofocus' in name
    assert 'aria-describedby="unit-full_energy_j problem-full_energy_j help-full_energy_j"' in energy
    assert "autofocus" not in energy
    assert 'aria-describedby="unit-range_stops help-range_stops"' in range_stops
    assert '<span class="unit" id="unit-range_stops">stops</span>' in page


def test_a_starter_item_that_was_changed_is_ones_own(client: TestClient) -> None:
    zoom = item(client, "24–70 mm zoom")

    client.post(zoom, data=LENS | {"name": "my old zoom"})

    assert in_use(client, begin(client))[1] == "my old zoom"
    page = client.get("/kit").text
    assert page.index("my old zoom") < page.index("100 mm macro")


def test_a_new_session_takes_own_kit_where_the_last_shot_had_none_of_it(client: TestClient) -> None:
    begin(client)
    add_own_kit(client)

    assert in_use(client, begin(client))[0] == "my camera"


def test_a_new_session_goes_on_with_the_last_set_up_once_it_has_own_kit(client: TestClient) -> None:
    add_own_kit(client)
    shot = begin(client)
    client.post(f"{shot}/standing", data={"field": "f_number", "value": "11"})

    assert "f/11" in told(client, begin(client))

"""Lengths as the reader likes them: chosen once, then told and asked for in inches wherever the house has pages."""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, element, log, offers, set_field, told
from webapp.records import kit as kit_records
from webapp.records.tables import Modifier
from webapp.shoots import set_up_now


def choose(client: TestClient, unit: str, back: str = "/") -> None:
    answer = client.post("/lengths", data={"unit": unit, "back": back})
    assert (answer.status_code, answer.headers["location"]) == (303, back)


def dial(page: str, field: str) -> str:
    """What a dial of the desk reads."""
    form = page[page.index(f'name="field" value="{field}"') :]
    found = re.search(r'name="value" value="([^"]*)"', form)
    assert found is not None
    return html.unescape(found.group(1))


def distance_mm(client: TestClient, shot: str) -> float | None:
    records = client.app.state.services.records  # type: ignore[attr-defined]
    return set_up_now.state(records, shot.rsplit("/", 1)[1]).set_up.lights[0].distance_mm


@pytest.fixture
def shot(client: TestClient) -> str:
    """A shot with its light at 60 cm in frame 1, the reference."""
    shot = begin(client)
    set_field(client, shot, "f_number", "8")
    set_field(client, shot, "lights.A.power", "25 J")
    set_field(client, shot, "lights.A.distance", "60 cm")
    log(client, shot)
    return shot


def test_with_inches_chosen_the_desk_reads_inches_on_every_device(client: TestClient, shot: str) -> None:
    choose(client, "in", shot)
    client.cookies.clear()

    page = told(client, shot)

    assert dial(page, "lights.A.distance") == "23.6 in"
    assert re.search(r">23\.6 in · ", page)
    assert re.search(r'value="in" aria-pressed="true"', page)


def test_centimetres_come_back_as_they_were(client: TestClient, shot: str) -> None:
    choose(client, "in")

    choose(client, "cm")

    page = told(client, shot)
    assert dial(page, "lights.A.distance") == "60 cm"
    assert " in, " not in page
    assert distance_mm(client, shot) == 600.0


def test_a_bare_number_is_in_inches_and_a_unit_is_taken_at_its_word(client: TestClient, shot: str) -> None:
    choose(client, "in")

    set_field(client, shot, "lights.A.distance", "24")
    bare = distance_mm(client, shot)
    set_field(client, shot, "lights.A.distance", "80 cm")

    assert bare == pytest.approx(609.6)
    assert distance_mm(client, shot) == pytest.approx(800.0)
    assert dial(told(client, shot), "lights.A.distance") == "31½ in"


def test_a_dial_sent_back_as_it_reads_moves_nothing(client: TestClient, shot: str) -> None:
    choose(client, "in")

    set_field(client, shot, "lights.A.distance", "23.6 in")

    assert distance_mm(client, shot) == 600.0


def test_a_step_goes_by_the_marks_of_the_tape(client: TestClient, shot: str) -> None:
    choose(client, "in")
    set_field(client, shot, "lights.A.distance", "24")

    set_field(client, shot, "lights.A.distance", "", steps="1")

    assert dial(told(client, shot), "lights.A.distance") == "24½ in"


def test_what_is_no_distance_is_refused_and_the_dial_keeps_what_stands(client: TestClient, shot: str) -> None:
    choose(client, "in")
    typed = {"field": "lights.A.distance", "value": "9999", "panel": "set-up"}

    answer = client.post(f"{shot}/standing", data=typed, headers=HTMX)

    assert answer.status_code == 422
    assert "9999" in answer.text
    assert dial(answer.text, "lights.A.distance") == "23.6 in"
    assert distance_mm(client, shot) == 600.0


def test_a_stale_change_of_a_distance_shows_both_values_in_inches(client: TestClient, shot: str) -> None:
    choose(client, "in")
    set_field(client, shot, "lights.A.distance", "30")

    answer = client.post(
        f"{shot}/standing", data={"field": "lights.A.distance", "value": "40", "version": "0"}, headers=HTMX
    )

    assert answer.status_code == 409
    assert "30 in" in answer.text
    assert "40 in" in answer.text


def test_entries_and_the_log_tell_of_a_move_in_inches(client: TestClient, shot: str) -> None:
    choose(client, "in")
    set_field(client, shot, "lights.A.distance", "80 cm")
    frame = log(client, shot)

    page = told(client, shot)

    assert "distance 23.6 in to 31½ in" in page
    assert "A distance 23.6 in to 31½ in" in element(page, "frames-" + shot.rsplit("/", 1)[1])
    assert "distance 23.6 in to 31½ in" in client.get(frame).text


def test_a_correction_by_distance_is_told_and_pressed_in_inches(client: TestClient, shot: str) -> None:
    choose(client, "in")
    set_field(client, shot, "lights.A.power", "50 J")

    page = told(client, shot)
    offered = {action: digest for action, digest in offers(page).items() if action.endswith(" in")}
    (action,) = offered
    pressed = {"digest": offered[action], "panel": "set-up"}
    answer = client.post(f"{shot}/corrections", data=pressed, headers=HTMX)

    # One stop by the inverse square of a point or a small face: 1.41 times 23.6 in, to half an inch.
    assert re.fullmatch(r"Move A to 33½? in", action)
    assert answer.status_code == 200
    assert f"A: 23.6 in to {action.rsplit(' to ', 1)[1]}. Turn the dial to match." in answer.text
    assert dial(answer.text, "lights.A.distance") == action.rsplit(" to ", 1)[1]


def test_a_correction_offered_in_centimetres_is_not_written_in_once_inches_are_read(
    client: TestClient, shot: str
) -> None:
    set_field(client, shot, "lights.A.power", "50 J")
    (offered,) = (digest for action, digest in offers(told(client, shot)).items() if action.endswith(" cm"))
    choose(client, "in")

    answer = client.post(f"{shot}/corrections", data={"digest": offered}, headers=HTMX)

    assert answer.status_code == 409
    assert distance_mm(client, shot) == 600.0


def test_a_frame_is_corrected_in_inches_and_a_distance_left_alone_stays(client: TestClient, shot: str) -> None:
    choose(client, "in")
    frame = log(client, shot)
    form = client.get(frame).text
    reads = re.search(r'name="lights-A-distance"[^>]*value="([^"]*)"', form)
    assert reads is not None
    assert reads.group(1) == "23.6 in"

    client.post(frame, data={"purpose": "test", "lights-A-distance": "23.6 in", "because": "only the words"})
    kept = client.get(frame).text
    client.post(frame, data={"purpose": "test", "lights-A-distance": "30"})

    assert "lights.A.distance" not in kept
    assert 'value="30 in"' in client.get(frame).text


def test_the_records_and_the_api_stay_in_millimetres(client: TestClient, shot: str) -> None:
    before = client.get(f"/api/v1{shot}/standing").json()["fields"]

    choose(client, "in")

    assert client.get(f"/api/v1{shot}/standing").json()["fields"] == before


@pytest.mark.parametrize("unit", ["", "ft", "mm"])
def test_an_unknown_unit_is_refused_and_the_old_one_stays(client: TestClient, shot: str, unit: str) -> None:
    answer = client.post("/lengths", data={"unit": unit})

    assert answer.status_code == 422
    assert dial(told(client, shot), "lights.A.distance") == "60 cm"


def test_the_way_back_leads_to_no_other_house(client: TestClient) -> None:
    answer = client.post("/lengths", data={"unit": "in", "back": "//elsewhere.example"})

    assert answer.headers["location"] == "/"


def edited(client: TestClient, name: str) -> tuple[str, dict[str, str]]:
    """The address of a piece of kit, and what its form would send as it is drawn."""
    found = re.search(rf'href="(/kit/[a-z]+/[^"]+)">{re.escape(name)}', client.get("/kit").text)
    assert found is not None
    page = client.get(found.group(1)).text
    said = dict(re.findall(r'<input id="field-[a-z_]+" name="([a-z_]+)" value="([^"]*)"', page))
    said |= dict(re.findall(r'<input type="hidden" name="(units)" value="([^"]*)"', page))
    for field, options in re.findall(r'<select id="field-[a-z_]+" name="([a-z_]+)"[^>]*>(.*?)</select>', page):
        said |= dict.fromkeys([field], *re.findall(r'value="([^"]*)" selected', options))
    return found.group(1), said


def sizes_mm(client: TestClient, name: str) -> tuple[float | None, float | None]:
    with client.app.state.services.records.reading() as db:  # type: ignore[attr-defined]
        row = next(each for each in kit_records.items_in(db, Modifier) if each.name == name)
    return row.width_mm, row.height_mm


STRIP = "strip softbox 30 × 120 cm"


def test_sizes_of_kit_are_told_and_typed_in_inches(client: TestClient) -> None:
    choose(client, "in")
    address, said = edited(client, STRIP)

    client.post(address, data=said | {"width_mm": "12"})

    assert (said["width_mm"], said["height_mm"]) == ("11.8", "47.2")
    assert sizes_mm(client, STRIP) == (pytest.approx(304.8), 1200.0)
    assert '<td data-label="size, in">12 × 47.2</td>' in client.get("/kit").text


def test_sizes_of_kit_are_told_and_typed_in_centimetres(client: TestClient) -> None:
    address, said = edited(client, STRIP)

    client.post(address, data=said | {"width_mm": "35,5", "height_mm": "1200 mm"})

    assert (said["width_mm"], said["height_mm"]) == ("30", "120")
    assert '<span class="unit" id="unit-width_mm">cm</span>' in client.get(address).text
    assert sizes_mm(client, STRIP) == (355.0, 1200.0)
    camera = re.search(r'href="(/kit/cameras/[^"]+)"', client.get("/kit").text)
    assert camera is not None
    assert '<span class="unit" id="unit-sensor_width_mm">mm</span>' in client.get(camera.group(1)).text


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("3000", "“3000” is out of range: above 0 and up to 2000 cm."),
        ("20000", "“20000” is more than 100 m"),
        ("wide", "“wide” is not a length: write it as 40 cm"),
        ("-3", "“-3” is out of range: above 0 and up to 2000 cm."),
    ],
)
def test_a_size_that_cannot_be_is_refused_in_the_unit_that_it_is_typed_in(
    client: TestClient, typed: str, why: str
) -> None:
    address, said = edited(client, STRIP)

    answer = client.post(address, data=said | {"width_mm": typed})

    assert answer.status_code == 422
    assert why in answer.text
    assert sizes_mm(client, STRIP) == (300.0, 1200.0)


def test_a_form_is_read_in_the_unit_that_it_was_drawn_in(client: TestClient) -> None:
    address, said = edited(client, STRIP)
    choose(client, "in")

    refused = client.post(address, data=said | {"units": "cm", "width_mm": "wide"})
    client.post(address, data=said | {"units": "cm", "width_mm": "35"})

    assert 'name="units" value="cm"' in refused.text
    assert 'name="height_mm" value="120"' in refused.text
    assert sizes_mm(client, STRIP) == (350.0, 1200.0)


@pytest.mark.parametrize(("unit", "older"), [("cm", ("300", "1200", "mm")), ("in", ("11.8", "47.2", "in"))])
def test_a_form_that_was_open_across_an_upgrade_is_saved_only_once_its_sizes_were_checked(
    client: TestClient, unit: str, older: tuple[str, str, str]
) -> None:
    choose(client, unit)
    address, drawn = edited(client, STRIP)
    width, height, was_in = older
    kept = {name: text for name, text in drawn.items() if name != "units"} | {"width_mm": width, "height_mm": height}

    refused = client.post(address, data=kept)

    assert refused.status_code == 422
    assert f"Not saved yet: check {width} {was_in}, then save." in refused.text
    assert f'name="width_mm" value="{width} {was_in}"' in refused.text
    assert sizes_mm(client, STRIP) == (300.0, 1200.0)
    client.post(
        address, data=kept | {"units": unit, "width_mm": f"{width} {was_in}", "height_mm": f"{height} {was_in}"}
    )
    assert sizes_mm(client, STRIP) == (300.0, 1200.0)


def test_a_length_with_its_unit_says_all_where_the_form_says_none(client: TestClient) -> None:
    address, said = edited(client, STRIP)
    del said["units"]

    client.post(address, data=said | {"width_mm": "35 cm", "height_mm": "48 in"})

    assert sizes_mm(client, STRIP) == (350.0, pytest.approx(1219.2))


def test_a_reading_that_was_open_across_an_upgrade_is_kept_only_once_its_distance_was_checked(
    client: TestClient,
) -> None:
    light, _ = edited(client, "monolight 400 J")
    typed = {"modifier_id": "", "f_number": "11", "power": "full", "distance_mm": "1000"}

    refused = client.post(f"{light}/readings", data=typed)

    assert refused.status_code == 422
    assert 'name="distance_mm" value="1000 mm"' in refused.text
    client.post(f"{light}/readings", data=typed | {"units": "cm", "distance_mm": "1000 mm"})
    assert "100 cm, bare" in client.get(light).text


def test_a_size_that_is_none_comes_back_as_typed(client: TestClient) -> None:
    choose(client, "in")
    address, said = edited(client, STRIP)

    answer = client.post(address, data=said | {"width_mm": "a foot"})

    assert answer.status_code == 422
    assert 'value="a foot"' in answer.text
    assert 'value="47.2"' in answer.text
    assert sizes_mm(client, STRIP) == (300.0, 1200.0)


def test_a_meter_reading_is_kept_and_told_in_inches(client: TestClient) -> None:
    choose(client, "in")
    light, _ = edited(client, "monolight 400 J")
    typed = {"modifier_id": "", "f_number": "11", "power": "full", "distance_mm": "40"}

    client.post(f"{light}/readings", data=typed | {"units": "in"})

    assert "40 in, bare" in client.get(light).text

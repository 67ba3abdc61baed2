"""What a student works out under a link: their own kit and the worksheets, with nothing kept and no script."""

from __future__ import annotations

import html
import re

import pytest
from sqlalchemy import text
from sqlmodel import SQLModel

from tests.http.recipes.conftest import Shoot, link, published

KIT = {
    "sensor_width_mm": "23.5",
    "sensor_height_mm": "15.6",
    "shortest_focal_mm": "60",
    "f_number_A": "11",
    "power_A": "full",
    "distance_mm_A": "1000",
    "shape_A": "disc",
    "width_mm_A": "600",
}


@pytest.fixture
def student(shoot: Shoot) -> str:
    shoot.client.post(f"{shoot.shot}/standing", data={"field": "magnification", "value": "0.2"})
    shoot.client.post(f"{shoot.shot}/frames", data={"purpose": "final"})
    frame = re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', shoot.client.get(shoot.shot).text)[0]
    return link(shoot, published(Shoot(shoot.client, shoot.session, shoot.shot, frame)))


def addresses(page: str, beginning: str) -> list[str]:
    return [html.unescape(each) for each in re.findall(r'href="([^"]+)"', page) if each.startswith(beginning)]


def test_the_kit_that_is_typed_in_gets_the_table_of_what_it_asks(shoot: Shoot, student: str) -> None:
    form = shoot.client.get(f"{student}/kit")
    page = shoot.client.get(f"{student}/kit", params=KIT)

    assert "as written" not in form.text
    assert page.status_code == 200
    for part in ("as written", "on your kit", "difference", "A distance", "Workings"):
        assert part in page.text
    assert 'value="23.5"' in page.text
    assert "<script" not in page.text


def test_sizes_of_typed_kit_are_in_centimetres_and_an_address_sent_before_says_what_it_did(
    shoot: Shoot, student: str
) -> None:
    before = shoot.client.get(f"{student}/kit", params=KIT)
    now = shoot.client.get(f"{student}/kit", params=KIT | {"units": "cm", "distance_mm_A": "100", "width_mm_A": "60"})
    wrong = shoot.client.get(f"{student}/kit", params=KIT | {"units": "cm", "width_mm_A": "3000"})

    assert 'name="width_mm_A" value="600 mm"' in before.text
    assert 'name="width_mm_A" value="60"' in now.text
    assert '<span class="unit" id="unit-width_mm_A">cm</span>' in now.text
    assert 'name="units" value="cm"' in now.text
    assert figures_of(before.text) == figures_of(now.text) != []
    assert "“3000” is out of range: above 0 and up to 2000 cm." in wrong.text


def test_a_reader_has_their_kit_in_inches_as_people_write_them_and_turns_it_back(shoot: Shoot, student: str) -> None:
    typed = KIT | {"units": "cm", "distance_mm_A": "127", "width_mm_A": "61", "distance_A": "76.2"}
    metric = shoot.client.get(f"{student}/kit", params=typed).text
    turned = shoot.client.get(f"{student}/kit", params=typed | {"lengths": "in"}).text
    feet = typed | {"units": "in", "distance_mm_A": "4'2\"", "width_mm_A": "24", "distance_A": "2' 6\""}

    assert ">Use inches</button>" in metric
    for part in ('name="distance_mm_A" value="50"', 'name="width_mm_A" value="24"', 'name="distance_A" value="30"'):
        assert part in turned
    assert turned.count('id="unit-width_mm_A">in</span>') == 1
    assert ">Use centimetres</button>" in turned
    told = shoot.client.get(f"{student}/kit", params=feet)
    assert told.status_code == 200
    assert '<input type="hidden" name="units" value="in">' in told.text
    back = shoot.client.get(f"{student}/kit", params=feet | {"lengths": "cm"}).text
    assert 'name="distance_mm_A" value="127"' in back
    assert 'name="distance_A" value="76.2"' in back


def figures_of(page: str) -> list[str]:
    return re.findall(r"<td[^>]*>([^<]+)</td>", page)


def test_a_field_that_cannot_be_is_marked_and_what_was_typed_stays(shoot: Shoot, student: str) -> None:
    answer = shoot.client.get(f"{student}/kit", params=KIT | {"f_number_A": "bright <b>"})

    assert answer.status_code == 422
    assert "bright &lt;b&gt;" in answer.text
    assert 'value="60"' in answer.text
    assert "No figures until the fields marked are put right." in answer.text


def test_nothing_that_a_reader_types_is_kept(shoot: Shoot, student: str) -> None:
    records = shoot.client.app.state.services.records  # type: ignore[attr-defined]

    def everything() -> list[object]:
        with records.reading() as db:
            return [
                [tuple(row) for row in db.execute(text(f"SELECT * FROM {table}"))]
                for table in SQLModel.metadata.tables
            ]

    before = everything()
    shoot.client.get(f"{student}/kit", params=KIT)
    shoot.client.get(f"{student}/worksheets/close-up", params={"f_number": "11", "magnification": "1"})

    assert everything() == before


def test_every_worksheet_of_the_link_opens_under_its_own_address_with_figures(shoot: Shoot, student: str) -> None:
    page = shoot.client.get(student).text
    filled = addresses(page, f"{student}/worksheets/")
    whole_list = addresses(shoot.client.get(f"{student}/worksheets").text, f"{student}/worksheets/")

    assert len(filled) >= 4
    assert len(whole_list) > 20
    for each in {*filled, *whole_list}:
        answer = shoot.client.get(each)
        assert answer.status_code == 200, each
        assert 'action="/worksheets' not in answer.text
        assert f'action="{student}/worksheets/' in answer.text


def test_a_worksheet_says_what_cannot_be_and_keeps_it(shoot: Shoot, student: str) -> None:
    answer = shoot.client.get(f"{student}/worksheets/close-up", params={"f_number": "soft", "magnification": "1"})

    assert answer.status_code == 422
    assert 'value="soft"' in answer.text
    assert shoot.client.get(f"{student}/worksheets/none-such").status_code == 404


def test_a_worksheet_of_a_link_is_filled_in_and_told_in_inches_where_its_reader_asks(
    shoot: Shoot, student: str
) -> None:
    address, typed = f"{student}/worksheets/guide-number", {"guide_number_m": "40", "distance_mm": "50.8"}

    metric = shoot.client.get(address, params=typed | {"units": "cm"}).text
    inches = shoot.client.get(address, params=typed | {"units": "cm", "lengths": "in"}).text
    # The next press sends what stands in the form by then.
    kept = shoot.client.get(address, params=typed | {"units": "in", "distance_mm": "20"}).text

    assert 'name="lengths" value="in">Use inches</button>' in metric
    for page in (inches, kept):
        assert '<input type="hidden" name="units" value="in">' in page
        assert 'name="distance_mm" value="20"' in page
        assert '<span class="unit">in</span>' in page
        assert 'name="lengths" value="cm">Use centimetres</button>' in page
    assert 'name="lengths"' not in shoot.client.get(f"{student}/worksheets/close-up").text


def test_a_client_has_neither_kit_nor_worksheets(shoot: Shoot) -> None:
    client = link(shoot, published(shoot), reader="client", figures="true")

    assert "worksheets" not in shoot.client.get(client).text
    for page in ("kit", "worksheets", "worksheets/close-up"):
        assert shoot.client.get(f"{client}/{page}").status_code == 404


def test_a_withdrawn_link_takes_its_tools_with_it(shoot: Shoot, student: str) -> None:
    shoot.client.post(f"/links/{student.rsplit('/', 1)[1]}/withdraw")

    for page in ("kit", "worksheets", "worksheets/close-up"):
        assert shoot.client.get(f"{student}/{page}").status_code == 404


def test_the_preview_of_a_link_has_the_same_tools(shoot: Shoot) -> None:
    seen = f"{published(shoot)}/versions/1/as/student"

    for page in ("", "/kit", "/worksheets", "/worksheets/close-up"):
        answer = shoot.client.get(f"{seen}{page}")
        assert answer.status_code == 200
        assert "not shared yet" in answer.text


def test_the_first_answer_is_two_taps_away_and_a_dial_three(shoot: Shoot, student: str) -> None:
    """No letter is typed: a format, a lens, and a head whose guide number stands in for a meter."""

    def tap(page: str, words: str) -> str:
        address = re.findall(rf'href="([^"]+)"[^>]*>{re.escape(words)}<', page)[0]
        answer = shoot.client.get(html.unescape(address))
        assert answer.status_code == 200
        return answer.text

    page = tap(shoot.client.get(f"{student}/kit").text, "23.5 × 15.6")
    page = tap(page, "60 mm macro")
    assert "as written" in page
    assert 'value="23.5"' in page
    assert 'value="60"' in page
    assert page.count('aria-current="true"') == 2

    page = tap(page, "200 J head")
    assert "A: by the guide number 45 m, which is an estimate" in page
    assert 'value="200"' in page
    assert page.count('aria-current="true"') == 3
    assert "has no head" not in page


def test_without_a_meter_one_test_frame_will_do(shoot: Shoot, student: str) -> None:
    said = {name: text for name, text in KIT.items() if name not in ("f_number_A", "power_A", "distance_mm_A")}
    said |= {"test_f_number_A": "8", "test_stops_A": "-1.3", "test_distance_mm_A": "900"}

    page = shoot.client.get(f"{student}/kit", params=said)
    far = shoot.client.get(f"{student}/kit", params=said | {"test_distance_mm_A": ""})

    assert "A: by your test frame at f/8, which reads −1.3 stops." in page.text
    assert far.status_code == 422
    assert "how far the light was from the grey card" in far.text


def test_a_guide_number_with_a_modifier_asks_what_it_takes(shoot: Shoot, student: str) -> None:
    said = {name: text for name, text in KIT.items() if name not in ("f_number_A", "power_A", "distance_mm_A")}
    said |= {"guide_number_m_A": "45"}

    asked = shoot.client.get(f"{student}/kit", params=said)
    told = shoot.client.get(f"{student}/kit", params=said | {"loss_stops_A": "1.5"})

    assert asked.status_code == 422
    assert "say how many stops the modifier takes" in asked.text
    assert told.status_code == 200


def test_a_key_under_a_link_steps_a_value_and_stays_under_the_link(shoot: Shoot, student: str) -> None:
    address = f"{student}/worksheets/close-up"

    moved = shoot.client.get(
        address, params={"f_number": "f/11", "magnification": "1", "step": "f_number:+1"}, follow_redirects=False
    )

    assert moved.status_code == 303
    assert moved.headers["location"].startswith(address)
    assert 'value="f/13"' in shoot.client.get(moved.headers["location"]).text
    # What a reader typed is kept nowhere, also not with the reader.
    assert "set-cookie" not in shoot.client.get(address, params={"f_number": "f/8", "magnification": "1"}).headers

"""The desk over HTTP: the same partial in the page and for htmx, every tap without scripts, bad input kept."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, element, folded, log, offers, set_field, told


def test_the_partial_is_the_element_of_the_full_page(client: TestClient) -> None:
    shot = begin(client)
    partial = client.post(f"{shot}/standing", data={"field": "f_number", "value": "11"}, headers=HTMX)

    page = client.get(shot)

    desk = "desk-" + shot.rsplit("/", 1)[1]
    assert partial.headers["vary"] == page.headers["vary"] == "HX-Request, Accept-Encoding"
    assert element(partial.text, desk) == element(page.text, desk)


def test_a_change_without_htmx_redirects_to_the_page_that_shows_it(client: TestClient) -> None:
    shot = begin(client)

    answer = set_field(client, shot, "f_number", "f/16")

    assert answer.status_code == 303
    assert answer.headers["location"] == shot
    assert 'value="f/16"' in told(client, shot)


@pytest.mark.parametrize(
    ("field", "value", "why"),
    [
        ("f_number", "f/0", "is no f-number"),
        ("f_number", "9" * 10_000, "too long"),
        ("shutter", "1/0", "divides by nothing"),
        ("iso", "-100", "is no ISO"),
        ("iso", "nan", "is no ISO"),
        ("magnification", "-1", "is no magnification"),
        ("subject_distance", "0", "is no distance"),
        ("pops", "0", "is no number of pops"),
        ("lights.A.power", "800 J", "above full"),
        ("lights.A.power", "1/1000", "below the lowest mark"),
        ("lights.A.distance", "0 cm", "is no distance"),
    ],
)
def test_a_nonsense_value_is_refused_at_its_field_and_changes_nothing(
    client: TestClient, field: str, value: str, why: str
) -> None:
    shot = begin(client)
    before = folded(told(client, shot))

    answer = client.post(f"{shot}/standing", data={"field": field, "value": value}, headers=HTMX)

    assert answer.status_code == 422
    assert why in answer.text
    assert re.sub(r"X-Page[^}]+|page=[^\"]+", "", folded(told(client, shot))) == re.sub(
        r"X-Page[^}]+|page=[^\"]+", "", before
    )


def test_an_unknown_light_is_not_found_and_the_page_says_so(client: TestClient) -> None:
    shot = begin(client)

    answer = client.post(f"{shot}/standing", data={"field": "lights.Z.power", "value": "1/2"}, headers=HTMX)

    assert answer.status_code == 404
    assert answer.headers["hx-retarget"] == "#trouble"
    assert "no light Z" in answer.text


def test_a_stale_version_gets_409_and_both_values(client: TestClient) -> None:
    shot = begin(client)
    set_field(client, shot, "f_number", "16", version="0")

    answer = set_field(client, shot, "f_number", "11", version="0")

    assert answer.status_code == 409
    assert "to 16" in answer.text
    assert "11 was not written in" in answer.text


def test_the_same_save_key_logs_one_frame(client: TestClient) -> None:
    shot = begin(client)
    for _ in range(3):
        client.post(f"{shot}/frames", data={"purpose": "test", "save_key": "one-press"})

    assert told(client, shot).count('<tr id="frame-') == 1


def test_the_same_save_key_with_other_words_is_refused(client: TestClient) -> None:
    shot = begin(client)
    client.post(f"{shot}/frames", data={"purpose": "test", "save_key": "one-press"})

    answer = client.post(f"{shot}/frames", data={"purpose": "final", "save_key": "one-press"})

    assert answer.status_code == 409


def test_a_correction_that_no_longer_holds_is_not_written(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    set_field(client, shot, "f_number", "11")
    offered = next(iter(offers(told(client, shot)).values()))
    set_field(client, shot, "f_number", "16")

    answer = client.post(f"{shot}/corrections", data={"digest": offered}, headers=HTMX)

    assert answer.status_code == 409
    assert offered not in offers(told(client, shot)).values()


def with_a_second_light(client: TestClient, shot: str) -> None:
    head = re.search(r'<option value="([^"]+)">monolight 200 J', told(client, shot))
    assert head is not None
    client.post(f"{shot}/lights", data={"head": head.group(1)})


def test_the_aperture_that_was_just_closed_is_not_what_the_key_opens_again(client: TestClient) -> None:
    shot = begin(client)
    with_a_second_light(client, shot)
    log(client, shot)

    set_field(client, shot, "f_number", "22")

    page, every = client.get(shot).text, client.get(f"{shot}/balance").text
    assert list(offers(page)) == ["Set A 50 J, B 25 J"]
    assert list(offers(every)) == ["Set A 50 J, B 25 J", "Set ISO 800", "Set 8 pops in 13 s", "Set f/8"]
    assert "f/22 to f/8. That takes back what was just changed." in every


def test_where_every_way_takes_back_what_was_just_changed_it_is_told_and_its_key_is_a_press_away(
    client: TestClient,
) -> None:
    shot = begin(client)
    with_a_second_light(client, shot)
    log(client, shot)

    set_field(client, shot, "lights.A.power", "12.5 J")

    page = client.get(shot).text
    assert "Key A is 1.0 over. A: 12.5 J to 6.25 J. That takes back what was just changed." in page
    assert not offers(page)
    assert "Other ways" in page
    every = client.get(f"{shot}/balance").text
    assert list(offers(every)) == ["Set A 6.25 J", "Put ND 0.3 sheet on A"]
    assert '<button class="key">' not in every.partition("ways-to-put-right")[2]


def test_a_dial_and_a_sheet_are_written_in_by_one_press(client: TestClient) -> None:
    shot = begin(client)
    set_field(client, shot, "lights.A.power", "12.5 J")
    set_field(client, shot, "f_number", "16")
    log(client, shot)
    set_field(client, shot, "f_number", "8")

    pressed = offers(client.get(shot).text)["Set A 6.25 J and ND 0.3 sheet on"]
    client.post(f"{shot}/corrections", data={"digest": pressed})

    page = client.get(shot).text
    assert "ND 0.3 sheet" in page
    assert "A on target." in page
    assert "12.5 J to 6.25 J and ND 0.3 sheet on A" in page


def test_a_balance_that_is_meant_stays_quiet(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    set_field(client, shot, "f_number", "7.1")
    assert offers(told(client, shot))

    client.post(f"{shot}/intended", data={"letter": "A"})

    page = told(client, shot)
    assert not offers(page)
    assert "+0.3 intended" in page


def test_a_light_comes_into_the_set_with_the_next_letter_and_goes_again(client: TestClient) -> None:
    shot = begin(client)
    head = re.search(r'<option value="([^"]+)">ring flash', told(client, shot))
    assert head is not None

    client.post(f"{shot}/lights", data={"head": head.group(1)})
    assert re.search(r"<h3>fill B</h3>\s*<span[^>]*>ring flash 400 J", told(client, shot))

    client.post(f"{shot}/lights/B/remove")
    assert "fill B" not in told(client, shot)


def test_a_filter_goes_in_twice_and_comes_out_once(client: TestClient) -> None:
    shot = begin(client)
    sheet = re.search(r'<option value="\+([^"]+)">ND 0.6 sheet', told(client, shot))
    assert sheet is not None

    for _ in range(2):
        set_field(client, shot, "lights.A.filters", "+" + sheet.group(1))
    assert "2 × ND 0.6 sheet" in told(client, shot)

    set_field(client, shot, "lights.A.filters", "-" + sheet.group(1))
    assert "2 × ND 0.6 sheet" not in told(client, shot)
    assert "ND 0.6 sheet, 2.0 stops" in told(client, shot)


def test_an_unknown_value_is_legal_and_never_zero(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)

    set_field(client, shot, "lights.A.power", "?")

    page = told(client, shot)
    assert "No balance for key A: its power is unknown." in page
    assert '<td class="num unknown">–' in page


def test_text_from_forms_is_escaped_everywhere(client: TestClient) -> None:
    session = client.post("/sessions", data={"name": "<script>alert(1)</script>"}).headers["location"]
    shot = client.post(f"{session}/shots", data={"title": '"><img src=x onerror=alert(1)>'}).headers["location"]
    set_field(client, shot, "lights.A.role", "<b>key</b>")
    frame = log(client, shot, because="<svg onload=alert(1)>")

    for address in ("/", session, shot, frame):
        text = client.get(address).text
        assert "<script>alert" not in text
        assert "<img src=x" not in text
        assert "<svg onload" not in text
        assert "<b>key" not in text


def test_the_queries_of_a_page_do_not_grow_with_its_frames(client: TestClient) -> None:
    from sqlalchemy import event

    shot = begin(client)
    engine = client.app.state.services.records.engine  # type: ignore[attr-defined]
    counts = []
    for _ in range(2):
        for _ in range(6):
            log(client, shot)
        asked: list[str] = []

        def heard(
            _connection: object, _cursor: object, statement: str, *_rest: object, asked: list[str] = asked
        ) -> None:
            asked.append(statement)

        event.listen(engine, "before_cursor_execute", heard)
        client.get(shot)
        event.remove(engine, "before_cursor_execute", heard)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_a_new_shot_takes_the_set_up_of_the_one_that_was_active(client: TestClient) -> None:
    first = begin(client)
    session = client.post("/sessions", data={"name": "bench day"}).headers["location"]
    second = client.post(f"{session}/shots", data={"title": "bezel"}).headers["location"]
    third = client.post(f"{session}/shots", data={"title": "crown"}).headers["location"]
    set_field(client, second, "f_number", "5.6")
    set_field(client, third, "f_number", "16")
    client.post(f"{second}/on-set")

    fourth = client.post(f"{session}/shots", data={"title": "strap"}).headers["location"]

    assert 'value="f/5.6"' in client.get(fourth).text
    assert 'value="f/8"' in client.get(first).text

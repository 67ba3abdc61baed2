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


# --- what the kit cannot do -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "typed", "why", "key", "sent"),
    [
        ("lights.A.power", "3 J", "the dial goes from 6.25 J to 400 J", "", ""),
        ("lights.A.power", "800 J", "the dial goes from 6.25 J to 400 J", "Set A 400 J", "400 J"),
        ("lights.A.power", "+9", "the dial goes from 6.25 J to 400 J", "Set A 400 J", "400 J"),
        ("f_number", "45", "100 mm macro goes from f/2.8 to f/32", "Set f/32", "32"),
        ("f_number", "f/1.4", "100 mm macro goes from f/2.8 to f/32", "Set f/2.8", "2.8"),
        ("iso", "50", "goes from ISO 100 to ISO 25600", "", ""),
        ("iso", "102400", "goes from ISO 100 to ISO 25600", "Set ISO 25600", "25600"),
        ("focal_length", "200", "100 mm macro goes from 100 to 100 mm", "", ""),
    ],
)
def test_a_value_beyond_the_kit_is_refused_with_its_range_and_the_nearest_is_a_key(
    client: TestClient, field: str, typed: str, why: str, key: str, sent: str
) -> None:
    """Where the nearest stands already (6.25 J, ISO 100, 100 mm) there is nothing to press."""
    shot = begin(client)

    answer = client.post(f"{shot}/standing", data={"field": field, "value": typed}, headers=HTMX)

    assert answer.status_code == 422
    assert why in answer.text
    keys = re.findall(r'<button class="key" name="value" value="([^"]+)">([^<]+)</button>', answer.text)
    assert keys == ([(sent, key)] if key else [])
    if key:
        version = re.search(
            rf'name="field" value="{field}"><input type="hidden" name="version" value="(\d+)">', answer.text
        )
        assert version is not None
        assert set_field(client, shot, field, sent, version=version.group(1)).status_code == 303
        stands = {"f_number": f"f/{sent}"}.get(field, sent)
        assert re.search(rf'id="value-[^"]+-{field}" name="value" value="{stands}"', client.get(shot).text)


def test_a_focal_length_beyond_the_lens_has_its_key_beside_the_dial(client: TestClient) -> None:
    shot = begin(client)
    zoom = re.search(r'<option value="([^"]+)">24–70 mm zoom', told(client, shot))
    assert zoom is not None
    set_field(client, shot, "lens", zoom.group(1))

    answer = client.post(
        f"{shot}/standing", data={"field": "focal_length", "value": "200", "panel": "set-up"}, headers=HTMX
    )

    assert answer.status_code == 422
    assert '<button class="outline" name="value" value="70">Set 70 mm</button>' in answer.text


def test_the_light_of_a_power_that_the_head_does_not_have_is_had_in_at_least_three_other_ways(
    client: TestClient,
) -> None:
    shot = begin(client)
    with_a_second_light(client, shot)
    set_field(client, shot, "lights.A.distance", "60 cm")
    set_field(client, shot, "lights.A.power", "12.5 J")
    log(client, shot)

    refused = client.post(f"{shot}/standing", data={"field": "lights.A.power", "value": "3 J"}, headers=HTMX).text

    assert ">Set A 6.25 J</button>" in refused
    address = re.search(r'href="(/shots/[^"]+/balance\?light=A&amp;power=3\+J)"', refused)
    assert address is not None
    panel = client.get(address.group(1).replace("&amp;", "&")).text
    assert "Other ways to 3 J of A" in panel
    ways = offers(panel)
    assert list(ways) == [
        "Set A 6.25 J, put ND 0.3 sheet on A",
        "Set A 6.25 J, put diffusing sheet on A",
        "Set A 6.25 J, set f/11, B 6.25 J",
        "Set A 6.25 J, move A to 87 cm",
    ]
    assert "A: 12.5 J to 6.25 J. Put ND 0.3 sheet on A (takes 1.0). Leaves +0.1." in panel

    wish = {"light": "A", "power": "3 J", "digest": ways["Set A 6.25 J, put ND 0.3 sheet on A"]}
    assert client.post(f"{shot}/corrections", data=wish).status_code == 303
    page = client.get(shot).text
    assert 'value="6.25 J"' in page
    assert "ND 0.3 sheet" in page


def test_at_the_lowest_mark_with_distances_unknown_there_are_three_other_ways_too(client: TestClient) -> None:
    shot = begin(client)
    with_a_second_light(client, shot)

    ways = offers(client.get(f"{shot}/balance?light=A&power=3+J").text)

    assert list(ways) == ["Put ND 0.3 sheet on A", "Put diffusing sheet on A", "Set f/11, B 6.25 J"]
    client.post(f"{shot}/corrections", data={"light": "A", "power": "3 J", "digest": ways["Set f/11, B 6.25 J"]})
    page = client.get(shot).text
    assert 'value="f/11"' in page
    assert page.count('value="6.25 J"') == 2


def test_a_change_past_full_is_told_by_the_energy_that_it_comes_to(client: TestClient) -> None:
    """Nine stops above 6.25 J, six of them on the dial."""
    shot = begin(client)

    panel = client.get(f"{shot}/balance?light=A&power=%2B9").text

    assert "Other ways to 3200 J of A" in panel
    assert list(offers(panel)) == [
        "Set A 400 J, set f/2.8",
        "Set A 400 J, set ISO 800",
        "Set A 400 J, set 8 pops in 13 s",
    ]


@pytest.mark.parametrize(
    "wish", ["light=A&power=fog", "light=A&power=50+J", "light=Z&power=3+J", "light=A", "power=3+J"]
)
def test_a_wish_that_is_none_is_the_balance_alone(client: TestClient, wish: str) -> None:
    shot = begin(client)

    answer = client.get(f"{shot}/balance?{wish}")

    assert answer.status_code == 200
    assert "Other ways to" not in answer.text

"""A frame's page: corrected, taken back, made the reference, with its revisions kept."""

from __future__ import annotations

import html
import io
import json
import re
from datetime import datetime
from fractions import Fraction

import numpy as np
from starlette.testclient import TestClient

from tests.demo_bake.camera import CameraSettings, write_jpeg
from tests.http.pages.walk import HTMX, begin, log, set_field, told


def revision_of(client: TestClient, frame: str) -> str:
    text = client.get(frame).text
    return text.split('name="revision" value="')[1].split('"')[0]


def test_an_edit_keeps_the_earlier_revision_and_recomputes_the_later_frames(client: TestClient) -> None:
    shot = begin(client)
    first = log(client, shot)
    second = log(client, shot)
    assert 'class="num even">0.0' in client.get(second).text

    answer = client.post(first, data={"revision": revision_of(client, first), "purpose": "test", "f_number": "5.6"})

    assert answer.status_code == 303
    assert 'class="num under">−1.0' in client.get(second).text
    assert "changed f_number" in client.get(first).text
    client.post(f"{first}/revisions/1/restore")
    assert 'class="num even">0.0' in client.get(second).text


def test_a_nonsense_correction_keeps_what_was_typed_and_the_stored_frame(client: TestClient) -> None:
    shot = begin(client)
    frame = log(client, shot)

    answer = client.post(frame, data={"revision": "1", "f_number": "f/0", "because": "kept words", "iso": "200"})

    assert answer.status_code == 422
    assert "is no f-number" in answer.text
    assert 'value="kept words"' in answer.text
    assert 'value="f/0"' in answer.text
    assert "kept words" not in told(client, shot)


def test_a_stale_correction_is_refused(client: TestClient) -> None:
    shot = begin(client)
    frame = log(client, shot)
    client.post(frame, data={"revision": "1", "f_number": "11"})

    assert client.post(frame, data={"revision": "1", "f_number": "16"}).status_code == 409


def test_a_frame_taken_back_is_out_of_the_reckoning_and_stays_readable(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    set_field(client, shot, "f_number", "16")
    wrong = log(client, shot)
    set_field(client, shot, "f_number", "8")

    client.post(f"{wrong}/take-back")

    assert "as frame 1" in told(client, shot)
    assert "excluded" in client.get(wrong).text
    client.post(f"{wrong}/bring-back")
    assert "was f/16" in told(client, shot)


def test_the_reference_frame_cannot_be_taken_back(client: TestClient) -> None:
    shot = begin(client)
    reference = log(client, shot)

    answer = client.post(f"{reference}/take-back")

    assert answer.status_code == 409
    assert "make another frame the reference first" in answer.text


def test_another_reference_frame_changes_every_balance(client: TestClient) -> None:
    shot = begin(client)
    first = log(client, shot)
    set_field(client, shot, "f_number", "11")
    second = log(client, shot)

    client.post(f"{second}/reference")

    assert 'class="num over">+1.0' in client.get(first).text
    assert "against frame 2" in told(client, shot)


def test_a_frame_is_held_against_any_other(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    set_field(client, shot, "f_number", "11")
    second = log(client, shot)
    set_field(client, shot, "f_number", "16")
    third = log(client, shot)

    against = client.get(third, params={"against": second.rsplit("/", 1)[1]}).text

    assert "against frame 2" in against
    assert "aperture f/11 to f/16" in against


def test_an_earlier_set_up_stands_again(client: TestClient) -> None:
    shot = begin(client)
    first = log(client, shot)
    set_field(client, shot, "f_number", "22")
    log(client, shot)

    client.post(f"{first}/stand")

    assert 'value="f/8"' in told(client, shot)


def test_an_ambient_check_is_never_the_frame_before(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    client.post(f"{shot}/ambient-check")
    log(client, shot, purpose="ambient check")

    page = told(client, shot)

    assert "as frame 1" in page
    assert 'value="1/125"' in page


def test_every_figure_shows_its_working(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    set_field(client, shot, "f_number", "22")

    page = told(client, shot)

    assert "<math" in page
    assert "marked values count as the exact steps they name" in page
    assert "CIPA DC-008" in page


def test_what_is_seen_by_eye_is_typed_on_the_frame_and_on_the_set(client: TestClient) -> None:
    shot = begin(client)
    frame = log(client, shot)

    assert client.post(f"{frame}/by-eye", data={"typed": "0.0"}).headers["location"] == frame
    on_set = client.post(f"{frame}/by-eye", data={"typed": "a third too dark", "on_set": "true"})

    assert on_set.headers["location"] == shot
    assert "−0.3 by eye" in client.get(shot).text
    assert "good to about a third of a stop" in client.get(frame).text


def test_a_look_that_says_nothing_is_refused_where_it_was_typed(client: TestClient) -> None:
    shot = begin(client)
    frame = log(client, shot)
    typed = {"typed": "rather bright", "on_set": "true"}

    plain = client.post(f"{frame}/by-eye", data=typed)
    swapped = client.post(f"{frame}/by-eye", data=typed, headers=HTMX)

    for answer in (plain, swapped):
        assert answer.status_code == 422
        assert 'value="rather bright"' in answer.text
        assert "says no level" in answer.text
    assert "by eye</td>" not in client.get(shot).text


def options_of(page: str, field: str) -> dict[str, str]:
    """What a list of the correction form offers: the value behind each text."""
    listed = re.findall(rf'<select id="field-{field}".*?</select>', page, re.S)[0]
    return {html.unescape(text): value for value, text in re.findall(r'<option value="([^"]*)"[^>]*>([^<]+)', listed)}


def test_a_slip_in_the_kit_is_put_right_on_the_frames_page(client: TestClient) -> None:
    shot = begin(client)
    frame = log(client, shot)
    page = client.get(frame).text
    sheets, modifiers, heads = (options_of(page, f"lights-A-{name}") for name in ("filters", "modifier", "head"))
    nd = next(text for text in sheets if text.startswith("and ") and "0.6" in text)
    other = next(text for text in modifiers if text != "bare")

    said = {
        "revision": revision_of(client, frame),
        "lights-A-filters": sheets[nd],
        "lights-A-modifier": modifiers[other],
    }
    assert client.post(frame, data=said).status_code == 303

    light = client.get(f"/api/v1{frame}").json()["set_up"]["lights"]["A"]
    assert [each["name"] for each in light["filters"]] == [nd.removeprefix("and ")]
    assert light["modifier"]["name"] == other
    assert f"without {nd.removeprefix('and ')}" in options_of(client.get(frame).text, "lights-A-filters")
    # What was not touched stays, and none of it is a change.
    untouched = {
        "revision": revision_of(client, frame),
        "lights-A-head": heads[next(iter(heads))],
        "lights-A-filters": "",
    }
    client.post(frame, data=untouched)
    assert client.get(f"/api/v1{frame}").json()["set_up"]["lights"]["A"]["filters"] == light["filters"]


def test_a_sheet_that_was_not_there_comes_out(client: TestClient) -> None:
    shot = begin(client)
    sheets = options_of(client.get(log(client, shot)).text, "lens_filters")
    nd = next(value for text, value in sheets.items() if text.startswith("and ") and value)
    set_field(client, shot, "lens_filters", nd)
    frame = log(client, shot)
    out = next(
        v for text, v in options_of(client.get(frame).text, "lens_filters").items() if text.startswith("without")
    )

    client.post(frame, data={"revision": revision_of(client, frame), "lens_filters": out})

    assert client.get(f"/api/v1{frame}").json()["set_up"]["lens_filters"] == []


def test_a_frame_leads_to_the_one_before_and_the_one_after(client: TestClient) -> None:
    shot = begin(client)
    frames = [log(client, shot) for _ in range(3)]

    first, middle, last = (client.get(each).text for each in frames)

    assert f'href="{frames[0]}" rel="prev"' in middle
    assert f'href="{frames[2]}" rel="next"' in middle
    assert 'rel="prev"' not in first
    assert 'rel="next"' not in last


def test_a_refused_correction_comes_back_opened(client: TestClient) -> None:
    shot = begin(client)
    frame = log(client, shot)
    folded = '<details class="more"><summary><h2>Correct this frame</h2>'

    answer = client.post(frame, data={"revision": "1", "f_number": "f/0"})

    assert folded in client.get(frame).text
    assert folded.replace('"more"', '"more" open') in answer.text


def test_a_page_has_one_dark_key_and_two_beside_it(client: TestClient) -> None:
    shot = begin(client)

    page = client.get(log(client, shot)).text

    keys = page.split('class="row key-row')[1].split('<details class="menu">')[0]
    assert keys.count('class="key"') == 1
    assert keys.count('class="outline"') == 2


def test_a_patch_says_in_words_where_its_face_points_and_takes_it_back(client: TestClient) -> None:
    shot = begin(client)
    frame = log(client, shot)
    sides = {"name": "label", "x": "40", "y": "40", "width": "10", "height": "10", "wanted_stops": "0"}

    def points() -> tuple[float | None, float | None]:
        (patch,) = client.get(f"/api/v1{shot}/patches").json()
        return patch["bearing_deg"], patch["elevation_deg"]

    drawn = client.post(f"{frame}/patches", data=sides | {"bearing_deg": "30 left", "elevation_deg": "10°"})

    assert drawn.status_code == 303
    assert points() == (-30.0, 10.0)
    patch = f"{frame}/patches/{client.get(f'/api/v1{shot}/patches').json()[0]['id']}"
    assert client.post(patch, data={"bearing_deg": "sideways"}).status_code == 422
    # What is left empty stays.
    assert client.post(patch, data={"name": "front label"}).status_code == 303
    assert points() == (-30.0, 10.0)
    assert client.post(patch, data={"bearing_deg": "unknown"}).status_code == 303
    assert points() == (None, None)


def test_the_brief_is_read_where_the_picture_is_made(client: TestClient) -> None:
    shot = begin(client)
    session = "/sessions/" + client.get(f"/api/v1{shot}").json()["session_id"]
    assert "Nothing is said yet of use, size, crop or deadline." in client.get(f"{shot}/brief").text
    frame = log(client, shot)
    assert "<h2>Brief</h2>" not in client.get(frame).text
    brief = {"brief": "Six labels", "used_for": "poster", "crop": "2:3", "must_match": "the bottle of March"}
    stands = {"name": "day", "day": "2026-11-29", "revision": revision_of(client, session)}

    assert client.post(session, data=stands | brief | {"deadline": "2026-12-12"}).status_code == 303

    assert f'href="{shot}/brief" data-panel' in client.get(shot).text
    panel, page = client.get(f"{shot}/brief", headers=HTMX).text, client.get(frame).text
    for text in (panel, page, client.get(session).text):
        assert all(told in text for told in (*brief.values(), "12 December 2026")), text
    assert f'href="{session}#brief"' in panel


def a_file(f_number: float) -> bytes:
    """A camera's file at an f-number."""
    out = io.BytesIO()
    settings = CameraSettings(f_number, Fraction(1, 125), 100, 100.0, datetime(2026, 11, 24, 10))
    write_jpeg(out, np.full((64, 96, 3), 0.18, dtype=np.float32), settings)
    return out.getvalue()


def test_a_tap_that_a_camera_file_came_before_is_told_which_file_and_when(client: TestClient) -> None:
    shot = begin(client)
    client.post(f"{shot}/frames", files={"picture": ("0007.jpg", a_file(16), "image/jpeg")})

    stale = client.post(f"{shot}/standing", data={"field": "f_number", "value": "11", "version": "0"})

    said = html.unescape(stale.text)
    assert stale.status_code == 409
    assert re.search(
        r"The file of frame 1, 0007\.jpg, changed the f-number to 16 at \d\d:\d\d:\d\d, after this page was drawn; "
        r"11 was not written in\.",
        said,
    )


def test_a_frame_says_what_was_tapped_before_it_and_not_written(client: TestClient) -> None:
    shot = begin(client)
    tapped = {
        "f_number": {"stood": "f/11", "steps": 2},
        "lights.A.power": {"value": "much"},
        "iso": {"value": "100"},
    }
    answer = client.post(f"{shot}/frames", data={"not_written": json.dumps(tapped)})
    frame = f"/frames/{answer.headers['X-Frame']}"

    words = "Tapped before it and not written: the f-number f/14 (the frame has f/8) and power of A much"
    assert words in html.unescape(client.get(frame).text)
    assert words in html.unescape(client.get(shot).text)
    asked = client.get(f"/api/v1{frame}").json()
    assert asked["not_written"] == {"f_number": "f/14", "lights.A.power": "much"}
    assert asked["set_up"]["f_number"] == "8"

    nothing = client.post(f"{shot}/frames", data={"not_written": "[1]"})
    assert nothing.status_code == 422
    assert "log it again" in nothing.text

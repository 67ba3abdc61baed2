"""The plan over HTTP: the partial is the element of the page, places and distances follow each other, bad input kept."""

from __future__ import annotations

import os
import re
import signal
from concurrent.futures import ThreadPoolExecutor
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.halted import halt, wait_until
from tests.http.pages.walk import HTMX, begin, element, log, set_field, told
from tests.made_pictures import jpeg_bytes, scene, srgb_codes
from webapp.errors import NotReadYet
from webapp.shoots import set_up_now


def place(client: TestClient, shot: str, field: str = "lights.A", **said: str) -> str:
    answer = client.post(f"{shot}/plan", data={"field": field} | said, headers=HTMX)
    assert answer.status_code == 200, answer.text
    return answer.text


def distance(client: TestClient, shot: str) -> str:
    found = re.search(r'name="distance" value="([^"]*)"', client.get(f"{shot}/plan").text)
    assert found is not None
    return found.group(1)


def traced(client: TestClient, address: str, headers: dict[str, str] | None = None) -> str:
    """The shadows once they are there, however long that takes."""
    told = [client.get(address, headers=headers).text]
    wait_until(
        lambda: "Tracing the shadows." not in told[-1] or told.append(client.get(address, headers=headers).text)
    )
    return told[-1]


def test_the_partial_is_the_element_of_the_full_page(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")

    partial = client.get(f"{shot}/plan", headers=HTMX).text

    plan = "plan-" + shot.rsplit("/", 1)[1]
    assert element(partial, plan) == element(client.get(f"{shot}/plan").text, plan)


def test_a_place_writes_the_distance_of_the_ledger(client: TestClient) -> None:
    shot = begin(client)

    text = place(client, shot, distance="80", bearing="45 left", height="40", known="taped")

    assert "80 cm from the subject, 45° left, 40 cm above" in text
    assert 'name="value" value="80 cm"' in told(client, shot)


def test_a_distance_of_the_ledger_moves_the_place_along_its_line(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")

    set_field(client, shot, "lights.A.distance", "160 cm")

    assert "160 cm from the subject, 45° left, 80 cm above" in client.get(f"{shot}/plan").text


def test_inches_are_typed_and_told_where_the_page_is_in_inches(client: TestClient) -> None:
    shot = begin(client)

    text = place(client, shot, distance="20", bearing="30 right", height="0", unit="in")

    assert "20 in from the subject, 30° right" in text
    assert distance(client, shot) == "50.8 cm"


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"distance": "10", "bearing": "0", "height": "50"}, "longest of the three"),
        ({"distance": "ten", "bearing": "0"}, "is not a distance"),
        ({"distance": "80", "bearing": "sideways"}, "is no bearing"),
        ({"distance": "1000000"}, "more than 100 m"),
    ],
)
def test_a_place_that_cannot_be_is_refused_with_what_was_typed(
    client: TestClient, said: dict[str, str], told: str
) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")

    answer = client.post(f"{shot}/plan", data={"field": "lights.A"} | said, headers=HTMX)

    assert answer.status_code == 422
    assert told in answer.text
    assert f'value="{said["distance"]}"' in answer.text
    assert distance(client, shot) == "80 cm"


def test_a_light_at_no_distance_is_a_caution_and_its_entry_unknown(client: TestClient) -> None:
    shot = begin(client)

    text = place(client, shot, x="0", y="0", z="0")

    assert "at no distance" in text
    assert 'name="value" value="unknown"' in told(client, shot)


def undo(client: TestClient, shot: str) -> str:
    """Press what the page offers after it was loaded anew."""
    offered = re.search(r'name="move" value="([^"]+)"', client.get(f"{shot}/plan").text)
    assert offered is not None
    answer = client.post(f"{shot}/plan/undo", data={"move": offered.group(1)}, headers=HTMX)
    assert answer.status_code == 200, answer.text
    return answer.text


def test_undo_survives_a_reload_and_puts_the_light_back_with_its_aim(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40", aim_x="10", known="taped")
    place(client, shot, distance="60", bearing="30 left", height="40", aim_x="-20", known="estimated")

    text = undo(client, shot)

    assert "80 cm from the subject, 45° left, 40 cm above" in text
    assert 'name="aim_x" value="10 cm"' in text
    assert ">taped unless moved</option>" in text
    assert 'name="value" value="80 cm"' in told(client, shot)


def test_undo_goes_back_step_by_step(client: TestClient) -> None:
    shot = begin(client)
    for distance_cm in ("100", "80", "60"):
        place(client, shot, distance=distance_cm, bearing="0", height="0")

    assert "Put A back: 100 cm" in undo(client, shot)
    assert "100 cm from the subject" in undo(client, shot)


def test_undo_brings_back_what_was_taken_away(client: TestClient) -> None:
    shot = begin(client)
    client.post(f"{shot}/plan/things", data={"kind": "flag"})
    place(client, shot, "things.flag-1", distance="40", bearing="90 right", height="0", size_width="25")
    place(client, shot, "things.flag-1", there="off")

    assert 'name="size_width" value="25 cm"' in undo(client, shot)


def test_undo_brings_a_light_back_that_was_taken_out_at_the_desk(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")
    client.post(f"{shot}/lights/A/remove")

    assert "80 cm from the subject, 45° left, 40 cm above" in undo(client, shot)


def test_undo_that_somebody_overtook_is_refused(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")
    offered = re.search(r'name="move" value="([^"]+)"', client.get(f"{shot}/plan").text)
    assert offered is not None
    place(client, shot, distance="60", bearing="45 left", height="40")

    answer = client.post(f"{shot}/plan/undo", data={"move": offered.group(1)}, headers=HTMX)

    assert answer.status_code == 409
    assert distance(client, shot) == "60 cm"


def test_a_place_read_before_somebody_else_moved_the_light_is_shown_beside_it(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40", version="0")

    answer = client.post(
        f"{shot}/plan", data={"field": "lights.A", "distance": "60", "bearing": "0", "version": "0"}, headers=HTMX
    )

    assert answer.status_code == 409
    assert "Another page of yours changed position of A to 80 cm; 45° left; 40 cm above" in answer.text
    assert 'name="distance" value="60"' in answer.text
    assert distance(client, shot) == "80 cm"
    version = re.search(r'name="version" value="(\d+)"', answer.text)
    assert version is not None
    place(client, shot, distance="60", bearing="0", height="0", version=version.group(1))
    assert distance(client, shot) == "60 cm"


def test_a_drag_that_came_too_late_is_offered_once_more(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40", version="0")
    drag = {"field": "lights.A", "drag": "1", "x": "0 mm", "y": "-500 mm", "z": "0 mm", "version": "0"}

    late = client.post(f"{shot}/plan", data=drag, headers=HTMX)

    assert late.status_code == 409
    assert "Put A there all the same" in late.text
    again = late.text[: late.text.index("Put A there all the same")].rpartition("<form")[2]
    said = dict(re.findall(r'name="([^"]+)" value="([^"]*)"', again))
    assert "50 cm from the subject, in front" in place(
        client, shot, **{k: v for k, v in said.items() if k != "field"}
    )


def test_a_distance_from_the_desk_makes_the_plan_that_was_read_before_it_stale(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40", version="0")
    set_field(client, shot, "lights.A.distance", "160 cm")

    answer = client.post(f"{shot}/plan", data={"field": "lights.A", "distance": "100", "version": "1"}, headers=HTMX)

    assert answer.status_code == 409


@pytest.mark.parametrize(
    ("way", "unit", "told"),
    [
        ("hand", "cm", "300 cm from the subject, 90° left, level with it"),
        ("height", "cm", "303.6 cm from the subject, 90° left, 25 cm above"),
        ("keys", "cm", "303 cm from the subject, 90° left, 24.6 cm above"),
        ("height", "in", "119½ in from the subject, 90° left, 9½ in above"),
    ],
)
def test_a_drag_is_read_as_a_tape_reads_and_a_key_goes_by_whole_steps(
    client: TestClient, way: str, unit: str, told: str
) -> None:
    shot = begin(client)
    x, y = ("-3020 mm", "-10 mm") if way in ("hand", "keys") else ("-3026 mm", "0 mm")
    z = "0 mm" if way == "hand" else "246 mm"

    assert told in place(client, shot, x=x, y=y, z=z, drag=way, unit=unit)


def test_a_late_drag_does_not_put_a_thing_up_again(client: TestClient) -> None:
    shot = begin(client)
    client.post(f"{shot}/plan/things", data={"kind": "flag"})
    place(client, shot, "things.flag-1", there="off")

    answer = client.post(
        f"{shot}/plan",
        data={"field": "things.flag-1", "drag": "1", "x": "1", "y": "1", "z": "0", "version": "0"},
        headers=HTMX,
    )

    assert answer.status_code == 409
    assert "Another page of yours changed position of flag 1 to not there" in answer.text
    assert "Remove flag 1" not in client.get(f"{shot}/plan").text


def test_the_frame_that_is_laid_under_stays_there_while_things_are_moved(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="100", bearing="60 left", height="0")
    frame = log(client, shot).rsplit("/", 1)[1]

    text = place(client, shot, distance="80", bearing="60 left", height="0", under=frame, unit="in")

    assert "Against frame 1, dotted" in text
    assert f"unit=in&amp;under={frame}" in text
    sent = {"field": "lights.A", "distance": "60", "under": frame}
    assert client.post(f"{shot}/plan", data=sent).headers["location"] == f"{shot}/plan?under={frame}"


def test_a_preview_shows_what_would_follow_and_keeps_nothing(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")

    answer = client.post(
        f"{shot}/plan/preview", data={"field": "lights.A", "x": "0", "y": "-50", "z": "0"}, headers=HTMX
    )

    assert "50 cm from the subject, in front" in answer.text
    assert distance(client, shot) == "80 cm"


def test_the_tape_asks_for_the_side_and_then_places(client: TestClient) -> None:
    shot = begin(client)
    said = {"field": "lights.A", "from_subject": "60", "from_camera": "80", "height": "0"}

    asked = client.post(f"{shot}/plan/tape", data=said, headers=HTMX).text
    placed = client.post(f"{shot}/plan/tape", data=said | {"side": "right"}, headers=HTMX).text

    assert "The two measurements meet on both sides" in asked
    assert "A: " in placed
    assert "60 cm from the subject, 53° right" in placed


def test_tapes_that_cannot_meet_name_the_one_to_check(client: TestClient) -> None:
    shot = begin(client)

    answer = client.post(
        f"{shot}/plan/tape",
        data={"field": "lights.A", "from_subject": "20", "from_camera": "30"},
        headers=HTMX,
    )

    assert answer.status_code == 422
    assert "Check the tape from the subject" in answer.text
    assert 'name="from_subject" value="20"' in answer.text


def test_a_frame_keeps_its_plan_and_two_are_laid_over_each_other(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="100", bearing="60 left", height="0")
    first = log(client, shot)
    place(client, shot, distance="80", bearing="45 left", height="0")
    second = log(client, shot)

    text = client.get(f"{second}/plan", params={"under": first.rsplit("/", 1)[1]}).text

    assert "100 cm from the subject, 60° left" in client.get(f"{first}/plan").text
    assert "A moved 20 cm nearer and 15° forward." in text


def test_the_partial_of_a_frame_is_the_element_of_its_page_and_moves_nothing(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="100", bearing="60 left", height="0")
    frame = log(client, shot)

    partial = client.get(f"{frame}/plan", headers=HTMX).text

    plan = "plan-frame-" + frame.rsplit("/", 1)[1]
    assert element(partial, plan) == element(client.get(f"{frame}/plan").text, plan)
    assert "<form" not in partial
    assert f'data-here="{frame}/plan"' in partial


def test_things_are_put_up_sized_and_taken_away(client: TestClient) -> None:
    shot = begin(client)
    client.post(f"{shot}/plan/things", data={"kind": "flag"})

    text = place(client, shot, "things.flag-1", distance="40", bearing="90 right", height="0", size_width="25")
    assert 'name="size_width" value="25 cm"' in text

    assert "Remove flag 1" not in place(client, shot, "things.flag-1", there="off")


def test_the_shadow_card_is_a_picture_of_the_set_and_of_two_frames(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")
    frame = log(client, shot)

    cards = [
        client.get(f"{shot}/plan/card.png"),
        client.get(f"{frame}/plan/card.png", params={"beside": frame.rsplit("/", 1)[1]}),
    ]

    assert [each.headers["content-type"] for each in cards] == ["image/png"] * 2
    assert all(each.content.startswith(b"\x89PNG") for each in cards)


def test_shadows_follow_the_plan_in_a_part_of_their_own_and_are_a_page_without_htmx(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")
    for kind in ("subject", "table"):
        client.post(f"{shot}/plan/things", data={"kind": kind})

    plan = client.get(f"{shot}/plan").text
    part = traced(client, f"{shot}/plan/shadows", HTMX)
    page = traced(client, f"{shot}/plan/shadows?shape=disc")

    assert f'hx-get="{shot}/plan/shadows?' in plan
    assert f'<a href="{shot}/plan/shadows?' in plan
    assert "shadow of A on the table" in part
    assert "shape=ball" in part
    assert "shadow of A on the table" in page
    assert "look=lens&amp;shape=disc" in page


def test_of_a_flat_subject_on_a_table_the_plan_says_how_far_its_face_is_off_square(client: TestClient) -> None:
    shot = begin(client)
    for kind in ("subject", "table", "camera"):
        client.post(f"{shot}/plan/things", data={"kind": kind})
    sizes = {"size_width": "10", "size_height": "1", "size_depth": "8"}
    place(client, shot, "things.subject", distance="0", bearing="0", height="0", **sizes)

    level = place(client, shot, "things.camera", distance="100", bearing="in front", height="0")
    looks_down = place(client, shot, "things.camera", distance="100", bearing="in front", height="94")

    assert "off square to the lens" not in level
    assert "its face is its top, 20° off square to the lens" in looks_down


def test_the_plan_is_in_the_lengths_of_the_house_unless_others_are_asked_for(client: TestClient) -> None:
    shot = begin(client)
    set_field(client, shot, "lights.A.distance", "60 cm")
    frame = log(client, shot)
    client.post("/lengths", data={"unit": "in"})

    usual, asked = client.get(f"{shot}/plan").text, client.get(f"{shot}/plan?unit=cm").text

    assert 'data-unit="in"' in usual
    assert 'value="23.6 in"' in usual
    assert 'data-unit="cm"' in asked
    assert 'value="60 cm"' in asked
    assert f"{shot}/plan?unit=cm" in asked
    assert 'data-unit="in"' in client.get(f"{frame}/plan").text


def test_a_bare_number_on_the_plan_is_in_the_unit_that_it_shows(client: TestClient) -> None:
    shot = begin(client)
    client.post("/lengths", data={"unit": "in"})

    text = place(client, shot, distance="20", bearing="30 right", height="8 above")

    assert "20 in from the subject, 30° right, 8 in above" in text


def test_a_turn_in_inches_leaves_the_distance_that_was_taped_in_centimetres(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="21")
    client.post("/lengths", data={"unit": "in"})

    place(client, shot, distance="31.5 in", bearing="60 left", height="8.3 in", unit="in")

    assert "80 cm from the subject, 60° left, 21 cm above" in client.get(f"{shot}/plan?unit=cm").text
    client.post("/lengths", data={"unit": "cm"})
    assert 'name="value" value="80 cm"' in told(client, shot)


def test_no_place_is_carried_as_taped_into_another_session(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40", known="taped")

    session = client.post("/sessions", data={"name": "another day"}).headers["location"]
    other = client.post(f"{session}/shots", data={"title": "again"}).headers["location"]
    same = client.post(f"{session}/shots", data={"title": "and again"}).headers["location"]

    known = {address: known_of_a(client, address) for address in (shot, other, same)}
    assert known == {shot: "taped", other: "carried over", same: "carried over"}
    assert "80 cm from the subject" in client.get(f"{other}/plan").text


def known_of_a(client: TestClient, shot: str) -> str:
    records = client.app.state.services.records  # type: ignore[attr-defined]
    position = set_up_now.state(records, shot.rsplit("/", 1)[1]).set_up.lights[0].position
    assert position is not None
    return str(position.known)


def test_a_new_shot_asks_which_places_still_hold_and_measures_none_by_itself(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40", known="taped")
    client.post(f"{shot}/lights", data={"head": re.findall(r'<option value="([^"]+)"', told(client, shot))[-1]})
    set_field(client, shot, "lights.B.distance", "120")
    session = re.findall(r'href="(/sessions/[^"]+)"', client.get(shot).text)[0]

    asked = client.get(session).text
    places = {"places_of": shot.rsplit("/", 1)[1], "lights.A": "on"}
    refused = client.post(f"{session}/shots", data={"title": ""} | places)
    begun = client.post(f"{session}/shots", data={"title": "the back of it"} | places).headers["location"]

    for words in ("80 cm from the subject, 45° left, 40 cm above", "120 cm from the subject"):
        assert words in asked
    assert asked.count(" checked> <strong>") == 2
    assert refused.text.count(" checked> <strong>") == 1
    assert known_of_a(client, begun) == "taped"
    page = told(client, begun)
    assert "Carried over, not measured here: B." in page
    plan = client.get(f"{begun}/plan").text
    assert "120 cm from the subject, carried over; its direction is unknown" in plan


def test_one_press_begins_a_shot_where_all_places_still_hold(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40", known="taped")
    session = re.findall(r'href="(/sessions/[^"]+)"', client.get(shot).text)[0]
    ticked = re.findall(r'name="(lights\.\w+)" value="on" checked', client.get(session).text)

    places = {"places_of": shot.rsplit("/", 1)[1]} | dict.fromkeys(ticked, "on")
    same = client.post(f"{session}/shots", data={"title": "bezel"} | places).headers["location"]
    # A page that was drawn before another shot was made active asked about that one's places.
    late = client.post(f"{session}/shots", data={"title": "crown"} | places).headers["location"]

    assert (known_of_a(client, same), known_of_a(client, late)) == ("taped", "carried over")
    assert "Carried over" not in client.get(same).text


def test_what_the_figures_are_for_is_chosen_once_and_said_beside_each_and_in_suggestions(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="0")

    chosen = client.post(f"{shot}/plan/figures-for", data={"surface": "left"}, headers=HTMX).text

    for text in (chosen, client.get(f"{shot}/plan").text):
        assert '<option value="left" selected>left side</option>' in text
        assert "share of A on the left side" in text
        assert "share of A on the face to the lens" not in text
    wished = client.get(f"{shot}/plan/suggestions?light=A&want=light&amount=%2B1").text
    assert "The light of A on the left side changed by +1.00 stops" in wished
    refused = client.post(f"{shot}/plan/figures-for", data={"surface": "underneath"}, headers=HTMX)
    assert (refused.status_code, "is no surface of this subject" in refused.text) == (422, True)


def test_what_a_move_did_is_told_first_with_each_figure_as_it_was(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="100", bearing="45 left", height="0")
    moved = place(client, shot, distance="50", bearing="45 left", height="0")

    told = moved[moved.index('<div class="sheet moved">') : moved.index('<div class="sheet places">')]
    assert "A moved 50 cm nearer." in told
    assert "Put A back: 100 cm" in told
    preview = client.post(
        f"{shot}/plan/preview", data={"field": "lights.A", "x": "0", "y": "-900 mm", "z": "0", "drag": "hand"}
    ).text
    held = preview[preview.index('<div class="sheet moved">') : preview.index('<div class="sheet places">')]
    assert "A moved" in held
    assert "Put A back" not in held


def test_the_gloss_is_drawn_and_told_and_a_tilt_moves_what_it_shows(client: TestClient) -> None:
    shot = begin(client)
    place(client, shot, distance="90", bearing="in front", height="85")
    client.post(f"{shot}/plan/things", data={"kind": "subject"})

    text = place(client, shot, "things.subject", x="0", y="0", z="0", tilted="35 back")

    assert 'name="tilted" value="35° back"' in text
    assert re.search(r"flat gloss</th><td[^>]*>A (less than 1|\d+)\s%<", text, re.S)
    assert "off the lens axis, above it" in text
    assert "The subject as a flat gloss shows A" in text
    flat = place(client, shot, "things.subject", x="0", y="0", z="0", tilted="90 back")
    assert "the lens sees the subject&#39;s edge or its back" in flat
    refused = client.post(
        f"{shot}/plan", data={"field": "things.subject", "x": "0", "y": "0", "z": "0", "tilted": "95"}
    )
    assert (refused.status_code, "is no tilt" in refused.text) == (422, True)


def test_shadows_that_wait_for_a_picture_say_so_and_follow_it(client: TestClient, tmp_path: Path) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")
    pictures = client.app.state.services.light_table.pictures  # type: ignore[attr-defined]
    (tmp_path / "large.jpg").write_bytes(jpeg_bytes(srgb_codes(scene())))
    pictures.make_preview(tmp_path / "large.jpg", 64)
    with ThreadPoolExecutor(1) as another:
        halt(worker := pictures.worker_id)
        try:
            read = another.submit(pictures.make_preview, tmp_path / "large.jpg", 64)
            wait_until(lambda: pictures.reads_a_picture)

            later = client.get(f"{shot}/plan/shadows?shape=ball", headers=HTMX).text
        finally:
            os.kill(worker, signal.SIGCONT)
        assert read.result()
    assert "Waiting for a picture that is being prepared; the shadows follow." in later
    again = re.search(r'<div id="shadows-[^"]+" class="shadows" hx-get="([^"]+)" hx-trigger="load delay:', later)
    assert again is not None
    assert "shape=ball" in again.group(1)
    assert "look=lens&amp;shape=ball" in traced(client, unescape(again.group(1)), HTMX)


def test_shadows_whose_process_ended_say_so_with_a_way_to_ask_again(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    shot = begin(client)
    place(client, shot, distance="80", bearing="45 left", height="40")
    pictures = client.app.state.services.light_table.pictures  # type: ignore[attr-defined]

    def ended(asked: bytes, within_s: float) -> bytes:
        raise NotReadYet("This picture ended the process that read it.")

    with monkeypatch.context() as dead:
        dead.setattr(pictures, "trace", ended)
        part = client.get(f"{shot}/plan/shadows", headers=HTMX)
        page = client.get(f"{shot}/plan/shadows")
        card = client.get(f"{shot}/plan/card.png")

    words = "The shadows could not be worked out: the process that traces them ended, or took longer than 30 s."
    assert words in part.text
    assert 'hx-trigger="load' not in part.text
    assert words in page.text
    again = re.search(r'<a href="([^"]+)"[^>]*>Try again</a>', page.text)
    assert again is not None
    assert (card.status_code, words in card.text) == (503, True)
    assert "Subject shown as" in traced(client, unescape(again.group(1)))

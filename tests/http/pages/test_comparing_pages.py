"""Two frames beside each other, the lights re-mixed, and a stack as one line, as a browser without scripts sees them."""

from __future__ import annotations

import io
import re
import threading
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, log, set_field, told
from tests.made_pictures import jpeg_bytes, rational, srgb_codes
from webapp.pictures.pyramid import Pyramid
from webapp.pictures.sharpness import SharpnessMap


def content(left: float, right: float | None = None, f_number: str = "8", minute: int = 0) -> bytes:
    light = np.full((96, 144, 3), left)
    light[:, 72:] = left if right is None else right
    grain = np.random.default_rng(minute).normal(1.0, 0.03, (96, 144, 1))
    exif = {
        0x829A: rational("1/125"),
        0x829D: rational(f_number),
        0x8827: 100,
        0x9003: f"2026:11:24 10:{minute:02}:00",
    }
    return jpeg_bytes(srgb_codes(light * grain), settings=exif)


def drop(client: TestClient, shot: str, picture: bytes) -> str:
    """Log a frame with a picture, and wait until it is measured; the answer is the frame's address."""
    client.post(f"{shot}/frames", data={"purpose": "test"}, files={"picture": ("a.jpg", picture, "image/jpeg")})
    services(client).intake._workers.submit(lambda: None).result()
    found = re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', told(client, shot))
    return str(found[0])


def services(client: TestClient) -> Any:
    return client.app.state.services  # type: ignore[attr-defined]


def beside(first: str, second: str) -> str:
    return f"{first}/compare/{second.rsplit('/', 1)[1]}"


@pytest.fixture
def two(client: TestClient) -> tuple[str, str, str]:
    """A shot with two frames: the second a stop brighter, and the log says so."""
    shot = begin(client)
    first = drop(client, shot, content(0.1, minute=1))
    set_field(client, shot, "lights.A.power", "+1")
    return shot, first, drop(client, shot, content(0.2, minute=2))


def test_what_differs_is_told_with_what_was_measured(client: TestClient, two: tuple[str, str, str]) -> None:
    page = client.get(beside(two[1], two[2])).text

    assert "energy" in page
    assert 'class="num over">+1.0' in page
    assert "lifted by" in page
    assert 'name="lift" value="-1.00"' in page or 'name="lift" value="-0.99"' in page


def test_without_scripts_the_previews_are_equalised_by_a_form(client: TestClient, two: tuple[str, str, str]) -> None:
    page = client.get(beside(two[1], two[2])).text

    shown = re.findall(r'<img class="large" src="([^"]+)"', page)
    first, second = (np.asarray(Image.open(io.BytesIO(client.get(each).content))).mean() for each in shown)
    assert second == pytest.approx(first, rel=0.03)


def test_equalising_is_left_out_by_the_form_alone(client: TestClient, two: tuple[str, str, str]) -> None:
    page = client.get(beside(two[1], two[2]), params={"lift": "-1"}).text

    assert "lifted?" not in page
    assert re.search(r'name="equalise" value="1">', page)


def test_brightness_and_nudge_are_told_by_the_previews(client: TestClient, two: tuple[str, str, str]) -> None:
    address = beside(two[1], two[2])

    part = client.get(f"{address}/laid", headers=HTMX).text
    told = client.get(f"/api/v1{address}").json()

    assert "hx-get" not in part
    assert 'name="lift" value="-1.00"' in part or 'name="lift" value="-0.99"' in part
    assert told["lift_stops"] == pytest.approx(-1.0, abs=0.02)
    assert told["nudge"] is None
    assert client.get(f"{address}/laid").headers["location"] == address


def test_nothing_is_called_equalised_where_nothing_tells_by_how_much(client: TestClient) -> None:
    shot = begin(client)
    black = [drop(client, shot, content(0.0, minute=minute)) for minute in (1, 2)]
    address = beside(*black)

    page, part = client.get(address).text, client.get(f"{address}/laid", headers=HTMX).text

    assert "is being read from the previews" in page
    assert "Nothing tells how much brighter frame 2 is: type a number" in part
    assert 'name="lift" value=""' in page
    assert 'name="lift" value=""' in part
    assert 'name="equalise" value="1">' in part


def test_tiles_and_maps_come_once_they_are_made(client: TestClient, two: tuple[str, str, str]) -> None:
    address = beside(two[1], two[2])
    client.get(address)
    services(client).light_table.wait()

    page = client.get(address).text
    told = client.get(f"{address}/sharpness", headers=HTMX).text

    (digest, _) = re.findall(r'"digest": "([0-9a-f]{64})"', page)
    assert client.get(f"/pictures/{digest}/pyramid").json() == {
        "made": True,
        "tile": 512,
        "levels": [[144, 96]],
    }
    tile = client.get(f"/pictures/{digest}/tiles/0/0_0")
    assert (tile.status_code, tile.headers["content-type"]) == (200, "image/jpeg")
    assert "immutable" in tile.headers["cache-control"]
    assert "hx-get" not in told
    assert "Airy disc" in told


def test_the_page_says_how_far_the_tiles_are_and_what_can_be_done_meanwhile(
    client: TestClient, two: tuple[str, str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    table, address = services(client).light_table, beside(two[1], two[2])
    cutting, go_on = threading.Event(), threading.Event()
    make_pyramid = table.pictures.make_pyramid

    def held(path: Path, into: Path) -> Pyramid:
        cutting.set()
        go_on.wait(30)
        return make_pyramid(path, into)

    monkeypatch.setattr(table.pictures, "make_pyramid", held)
    try:
        client.get(address)
        assert cutting.wait(30)
        page = client.get(address).text
    finally:
        go_on.set()
    table.wait()
    part = client.get(f"{address}/tiles", headers=HTMX).text

    words = "Preparing the 100 % view: frame 1 0\u00a0%, frame 2 waiting. The previews can be compared meanwhile."
    assert words in page
    assert f'hx-get="{address}/tiles"' in page
    assert "The 100 % view of frame 1 and frame 2 is ready." in part
    assert "hx-get" not in part
    assert "tiles-progress" not in client.get(address).text
    assert client.get(f"{address}/tiles").headers["location"] == address


def test_the_page_says_how_far_the_maps_of_sharpness_are(
    client: TestClient, two: tuple[str, str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    table, address = services(client).light_table, beside(two[1], two[2])
    measuring, go_on = threading.Event(), threading.Event()
    sharpness_of = table.pictures.sharpness_of

    def held(path: Path, longest_px: int, so_far: Path) -> SharpnessMap:
        so_far.write_text("0.42")
        measuring.set()
        go_on.wait(30)
        return sharpness_of(path, longest_px, so_far)

    monkeypatch.setattr(table.pictures, "sharpness_of", held)
    try:
        client.get(address)
        assert measuring.wait(30)
        part = client.get(f"{address}/sharpness", headers=HTMX).text
    finally:
        go_on.set()
    table.wait()

    assert "Measuring sharpness: frame 1 42\u00a0%, frame 2 waiting." in part
    assert '<progress max="200" value="42"' in part
    assert part.count("hx-get=") == 1
    assert "Measuring" not in client.get(f"{address}/sharpness", headers=HTMX).text
    assert list(table._root.rglob("*.so-far")) == []


@pytest.mark.parametrize(
    "path",
    [
        f"/pictures/{'0' * 64}/pyramid",
        f"/pictures/{'0' * 64}/tiles/0/0_0",
        "/pictures/../../x/tiles/0/0_0",
        "/frames/none/compare/none",
    ],
)
def test_what_there_is_not_is_not_found(client: TestClient, path: str) -> None:
    assert client.get(path).status_code == 404


def test_a_lift_that_is_no_number_is_refused(client: TestClient, two: tuple[str, str, str]) -> None:
    assert client.get(beside(two[1], two[2]), params={"lift": "much"}).status_code == 422


def test_a_frame_alone_goes_nowhere_and_two_go_beside_the_reference(
    client: TestClient, two: tuple[str, str, str]
) -> None:
    _, first, second = two

    assert client.get(f"{second}/compare").headers["location"] == beside(first, second)


def test_an_address_of_before_leads_to_the_same_frames(client: TestClient) -> None:
    old = client.get("/frames/a/beside/b?lift=1", follow_redirects=False)

    assert (old.status_code, old.headers["location"]) == (308, "/frames/a/compare/b?lift=1")


def test_frames_without_pictures_are_compared_by_their_settings(client: TestClient) -> None:
    shot = begin(client)
    first = log(client, shot)
    set_field(client, shot, "f_number", "16")

    page = client.get(beside(first, log(client, shot))).text

    assert "has no picture that can be shown" in page
    assert 'name="equalise"' not in page
    assert "aperture f/8 to f/16" in page


def two_lights(client: TestClient) -> str:
    """A shot with a frame lit by the key alone and one lit by the fill alone."""
    shot = begin(client)
    head = re.search(r'<select name="head"><option value="([^"]+)"', told(client, shot))
    assert head is not None
    client.post(f"{shot}/lights", data={"head": head.group(1)})
    set_field(client, shot, "lights.A.power", "-1")
    set_field(client, shot, "lights.B.power", "-1")
    set_field(client, shot, "lights.B.lit", "off")
    drop(client, shot, content(0.12, 0.03, minute=1))
    set_field(client, shot, "lights.A.lit", "off")
    set_field(client, shot, "lights.B.lit", "on")
    drop(client, shot, content(0.03, 0.12, minute=2))
    return shot


def test_the_sum_of_lights_shows_a_preview_with_figures_and_marks(client: TestClient) -> None:
    shot = two_lights(client)

    page = client.get(f"{shot}/remix", params={"level-A": "0", "level-B": "-1"}).text

    assert "Preview," in page
    assert "as key : fill" in page
    assert "as (key + fill) : fill" in page
    assert "ambient light is not proven" in page
    picture = client.get(re.search(r'<img src="([^"]+remix.jpg[^"]+)"', page).group(1).replace("&amp;", "&"))  # type: ignore[union-attr]
    light = np.asarray(Image.open(io.BytesIO(picture.content)))
    assert light[48, 20].mean() > light[48, 120].mean()


def test_a_ratio_set_after_the_fact_moves_the_fill_alone(client: TestClient) -> None:
    shot = two_lights(client)

    page = client.get(f"{shot}/remix", params={"ratio": "3:1", "convention": "key : fill", "set-ratio": "1"}).text

    assert "3 : 1 as key : fill, 4 : 1 as (key + fill) : fill" in page
    assert 'name="level-A" value="0"' in page


@pytest.mark.parametrize(
    ("asked", "words"),
    [({"to": "many", "of": "B", "set-level": "1"}, "is no"), ({"ratio": "wide", "set-ratio": "1"}, "is no ratio")],
)
def test_nonsense_is_said_and_stays_in_its_field(client: TestClient, asked: dict[str, str], words: str) -> None:
    shot = two_lights(client)

    answer = client.get(f"{shot}/remix", params=asked)

    assert answer.status_code == 422
    assert words in answer.text
    assert f'value="{next(iter(asked.values()))}"' in answer.text


def test_a_mix_is_saved_found_again_and_forgotten(client: TestClient) -> None:
    shot = two_lights(client)

    kept = client.post(f"{shot}/mixes", data={"name": "darker fill", "saved_for": "lesson", "level-B": "-1.5"})
    page = client.get(kept.headers["location"]).text

    assert kept.status_code == 303
    assert 'name="level-B" value="-1.5"' in page
    assert "for a lesson: A 0.0, B −1.5" in page
    mix = kept.headers["location"].split("mix=")[1]
    client.post(f"{shot}/mixes/{mix}/forget")
    assert "darker fill" not in client.get(f"{shot}/remix").text
    assert client.get(kept.headers["location"]).status_code == 404


def test_a_mix_without_a_name_is_refused_with_what_was_mixed(client: TestClient) -> None:
    shot = two_lights(client)

    answer = client.post(f"{shot}/mixes", data={"name": " ", "level-B": "-1.5"})

    assert answer.status_code == 422
    assert 'name="level-B" value="-1.5"' in answer.text


def test_the_marks_go_into_the_standing_set_up(client: TestClient) -> None:
    shot = two_lights(client)

    client.post(f"{shot}/remix/powers", data={"level-A": "off", "level-B": "-1"})

    page = told(client, shot)
    assert "key A is off, switch it on" in page
    assert "fill B is lit, switch it off" in page


def test_a_light_stands_on_the_marks_of_its_own_head(client: TestClient) -> None:
    shot = two_lights(client)

    page = client.get(f"{shot}/remix").text

    marks = re.findall(r'name="level-B" value="([^"]+)"( checked)?> <span>([^<]+)', page)
    # Photographed at its lowest mark, six stops below full: each mark above it gives twice as much.
    assert [value for value, _, _ in marks] == ["6", "5", "4", "3", "2", "1", "0", "off"]
    assert [mark for _, _, mark in marks][:3] == ["400 J", "200 J", "100 J"]
    assert [mark for _, chosen, mark in marks if chosen] == ["6.25 J"]


def test_a_click_goes_to_the_next_mark_of_the_head(client: TestClient) -> None:
    shot = two_lights(client)

    clicked = client.get(f"{shot}/remix", params={"level-B": "0", "click-B": "0.1"}).text

    # Between two whole stops it has a rung of its own.
    assert re.search(r'name="level-B" value="0.1" checked> <span>6.7 J<', clicked)


def test_an_address_of_before_leads_to_the_same_mix(client: TestClient) -> None:
    shot = two_lights(client)

    answer = client.get(f"{shot}/sum", params={"weight-B": "-1", "plain": "1"}, follow_redirects=False)

    assert answer.status_code == 308
    assert answer.headers["location"] == f"{shot}/remix?level-B=-1&plain=1"


def test_without_frames_of_one_light_there_is_no_sum(client: TestClient) -> None:
    shot = begin(client)

    assert "log one for each light" in client.get(f"{shot}/remix").text
    assert client.get(f"{shot}/remix.jpg").status_code == 409


def stack(client: TestClient, shot: str, count: int) -> None:
    for index in range(count):
        because = f"focus at {0.3 * index - 0.3:.1f} mm".replace("-", "−")
        client.post(f"{shot}/frames", data={"purpose": "stack", "because": because})


def test_a_stack_is_one_line_that_opens(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot)
    stack(client, shot, 4)
    log(client, shot)

    page = told(client, shot)

    assert "Frames 2 to 5 · stack of 4 · focus −0.3 to 0.6 mm, step 0.3 mm" in page
    assert page.count("<summary>Frames") == 1
    assert len(re.findall(r'aria-label="Frame \d', page)) == 6


def test_a_changed_setting_ends_a_stack(client: TestClient) -> None:
    shot = begin(client)
    stack(client, shot, 2)
    set_field(client, shot, "f_number", "16")
    stack(client, shot, 2)

    page = told(client, shot)

    assert "Frames 1 to 2 · stack of 2" in page
    assert "Frames 3 to 4 · stack of 2" in page


def test_logging_into_a_stack_draws_the_log_anew(client: TestClient) -> None:
    shot = begin(client)
    stack(client, shot, 2)

    answer = client.post(f"{shot}/frames", data={"purpose": "stack"}, headers=HTMX).text

    assert "Frames 1 to 3 · stack of 3" in answer
    assert "<hx-upsert" not in answer


def test_the_log_of_a_stack_asks_as_often_as_the_log_of_a_frame(client: TestClient, tmp_path: Path) -> None:
    from sqlalchemy import event

    asked: list[str] = []
    event.listen(services(client).records.engine, "before_cursor_execute", lambda *call: asked.append(call[2]))
    short, long = begin(client), begin(client)
    stack(client, short, 2)
    stack(client, long, 12)

    counts = []
    for shot in (short, long):
        asked.clear()
        client.get(shot)
        counts.append(len(asked))

    assert counts[0] == counts[1]

"""The first page: what the program is for, the shot that goes on, and the sessions with what they are known by."""

from __future__ import annotations

import io
import re

from PIL import Image
from starlette.testclient import TestClient

from tests.http.running import wait_until


def _picture(level: int) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), (level, level, level)).save(out, "JPEG")
    return out.getvalue()


def _begun(client: TestClient, session: str, *titles: str) -> list[str]:
    address = client.post("/sessions", data={"name": session}).headers["location"]
    return [client.post(f"{address}/shots", data={"title": each}).headers["location"] for each in titles]


def _frame(client: TestClient, shot: str, level: int = 0, purpose: str = "test") -> str:
    """Log a frame, with a picture where a level is given; the answer is where the frame is."""
    files = {"picture": ("a.jpg", _picture(level), "image/jpeg")} if level else None
    frame = f"/frames/{client.post(f'{shot}/frames', data={'purpose': purpose}, files=files).headers['X-Frame']}"
    if level:
        wait_until(lambda: "/preview" in client.get(frame).text)
    return frame


def _shown(client: TestClient, shot: str) -> str:
    """The words for the picture of the shot on the set."""
    found = re.search(
        rf'<a class="picture" href="{shot}"><img src="/pictures/\w+/preview" alt="([^"]*)"', client.get("/").text
    )
    return found[1] if found else ""


def test_before_there_is_a_session_it_says_what_it_is_for_and_has_one_field_in_sight(client: TestClient) -> None:
    page = client.get("/").text

    form = page.split('action="/sessions"')[1].split("<details")[0]
    assert "keep the finished shot as a recipe" in page
    assert "On the set" not in page
    assert "Look at the demo" in page
    assert re.findall(r'<(?:input|textarea|select)[^>]* name="(\w+)"', form) == ["name"]


def test_the_shot_on_the_set_is_one_press_away_with_its_newest_picture_or_its_hero(client: TestClient) -> None:
    (shot,) = _begun(client, "bench day", "Enamel dial")
    assert f'href="{shot}">Go on with Enamel dial' in client.get("/").text
    assert _shown(client, shot) == ""

    first = _frame(client, shot, 90)
    _frame(client, shot, 120)
    _frame(client, shot)
    assert _shown(client, shot) == "frame 2 of Enamel dial"

    client.post(f"{first}/verdict", data={"verdict": "hero"})
    assert _shown(client, shot) == "the hero, frame 1 of Enamel dial"


def test_an_ambient_check_and_an_excluded_frame_are_no_picture_of_a_shot(client: TestClient) -> None:
    (shot,) = _begun(client, "bench day", "Enamel dial")
    _frame(client, shot, 90)
    excluded = _frame(client, shot, 120)
    _frame(client, shot, 10, purpose="ambient check")

    client.post(f"{excluded}/take-back")

    assert _shown(client, shot) == "frame 1 of Enamel dial"


def test_a_session_of_many_shots_names_the_newest_and_counts_the_others(client: TestClient) -> None:
    _begun(client, "catalogue", *(f"Tile {number}" for number in range(1, 8)))

    listed = client.get("/").text.split("<h2>Sessions</h2>")[1]

    assert re.findall(r">(Tile \d)<", listed) == ["Tile 7", "Tile 6", "Tile 5", "Tile 4"]
    assert "and 3 more" in listed


def test_the_newest_sessions_have_their_pictures_and_the_others_a_line_each(client: TestClient) -> None:
    names = [f"day {number}" for number in range(1, 16)]
    for name in names:
        client.post("/sessions", data={"name": name})

    pictured, earlier = client.get("/").text.split("<h2>Sessions</h2>")[1].split("<details")[:2]

    assert re.findall(r">(day \d+)<", pictured) == names[:2:-1]
    assert "3 earlier sessions" in earlier
    assert re.findall(r">(day \d+)<", earlier) == names[2::-1]


def test_one_place_alone_is_marked_in_the_head(client: TestClient) -> None:
    (shot,) = _begun(client, "bench day", "Enamel dial")
    for address, place in ((shot, "Set"), (f"{shot}/plan", "Sessions"), ("/", "Sessions"), ("/kit", "Kit")):
        head = client.get(address).text.split('<header class="masthead">')[1].split("<details")[0]

        assert re.findall(r"aria-current=[^>]*>(\w+)<", head) == [place], address

"""Frames are found by what they are: over JSON, as it stands in the record after each change."""

from __future__ import annotations

import pytest

from tests.http.api.conftest import Desk, Json
from tests.http.api.test_api_readings import CARD


def found(desk: Desk, question: str) -> Json:
    told: Json = desk.call("GET", "/frames", params={"q": question})
    return told


def numbers(desk: Desk, question: str) -> list[int]:
    return [each["number"] for each in found(desk, question)["frames"]]


@pytest.fixture
def shot(desk: Desk) -> Desk:
    """Three frames: A at full power; A at its floor; f/16, the hero."""
    desk.set(f_number="11", lights__A__power="full")
    desk.log(because="first light")
    desk.set(lights__A__power="1/64")
    desk.log(because="as low as the head goes")
    desk.set(lights__A__power="1/32", f_number="16")
    desk.log(verdict="hero", because="deeper")
    return desk


@pytest.mark.parametrize(
    ("question", "expected"),
    [
        ("hero frames", [3]),
        ("hero frames with light A", [3]),
        ("hero frames with light B", []),
        ("frames where head A was at full power", [1]),
        ("frames where head A was at its minimum", [2]),
        ("frames at f/16", [3]),
        ("frames at f/11 or wider", [2, 1]),
        ("frames not at f/16", [2, 1]),
        ("frames with one light, enamel", [3, 2, 1]),
        ("frames with more than one light", []),
        ("frames without light A", []),
        ("frames deeper", [3]),
        ("frame 2", [2]),
        ("frames with an unexplained difference", []),
        ("rejected frames", []),
        ("reference frames", [1]),
    ],
)
def test_frames_are_found_by_what_they_are(shot: Desk, question: str, expected: list[int]) -> None:
    assert numbers(shot, question) == expected


def test_a_frame_is_found_as_it_stands_after_each_change(shot: Desk) -> None:
    second = found(shot, "frame 2")["frames"][0]["id"]

    shot.call("PATCH", f"/frames/{second}", json={"verdict": "hero", "revision": 1})
    assert numbers(shot, "hero frames") == [2]
    shot.call("PATCH", f"/frames/{second}", json={"changes": [{"field": "f_number", "value": "22"}], "revision": 2})
    assert numbers(shot, "frames at f/22") == [2]
    assert numbers(shot, "frames at f/11") == [1]
    shot.call("PATCH", f"/frames/{second}", json={"verdict": "fails", "revision": 3})
    assert numbers(shot, "rejected frames") == [2]
    assert numbers(shot, "hero frames") == []


def test_a_shot_that_is_renamed_takes_its_frames_along(shot: Desk) -> None:
    revision = shot.call("GET", f"/shots/{shot.shot_id}")["revision"]

    shot.call("PATCH", f"/shots/{shot.shot_id}", json={"title": "silver bowl", "revision": revision})

    assert numbers(shot, "frames of the bowl") == [3, 2, 1]
    assert numbers(shot, "frames enamel") == []


def test_what_changed_between_two_frames_is_told(shot: Desk) -> None:
    told = found(shot, "what changed between frames 2 and 3")

    (between,) = told["between"]
    assert [each["number"] for each in told["frames"]] == [2, 3]
    ledger = shot.call("GET", between["ledger"].removeprefix("/api/v1"))
    assert {entry["cause"] for entry in ledger["entries"]} >= {"energy", "aperture"}
    assert found(shot, "what changed between frames 2 and 9")["frames"] == []


def test_an_unexplained_difference_is_found(shot: Desk) -> None:
    first, third = (found(shot, f"frame {number}")["frames"][0]["id"] for number in (1, 3))
    shot.call("POST", f"/shots/{shot.shot_id}/patches", 201, json=CARD)
    shot.call("POST", f"/frames/{first}/readings", 201, json={"typed": "card 0.0"})
    shot.call("POST", f"/frames/{third}/readings", 201, json={"typed": "a stop too bright"})

    told = found(shot, "frames with an unexplained difference")

    assert [each["number"] for each in told["frames"]] == [3]
    assert told["frames"][0]["unexplained_stops"] > 1.0
    assert numbers(shot, "unexplained difference over 1 stop") == [3]
    assert numbers(shot, "frames without an unexplained difference") == [2, 1]


def test_an_ambient_check_that_failed_is_found(shot: Desk) -> None:
    shot.call("POST", f"/shots/{shot.shot_id}/patches", 201, json=CARD)
    shot.call("POST", f"/shots/{shot.shot_id}/ambient-check")
    check = shot.log(purpose="ambient check")
    assert numbers(shot, "ambient checks") == [check["number"]]
    assert numbers(shot, "ambient checks that failed") == []

    shot.call("POST", f"/frames/{check['id']}/readings", 201, json={"typed": "a stop too bright"})

    assert numbers(shot, "ambient checks that failed") == [check["number"]]


def test_what_a_frame_does_not_have_is_said_and_nothing_is_found(shot: Desk) -> None:
    told = found(shot, "frames in medium format")

    assert told["frames"] == []
    assert told["says"] == "Frames are not searched by format; recipes are."


def test_conditions_come_back_with_what_there_is_without_them(shot: Desk) -> None:
    told = found(shot, "hero frames at f/22")

    assert [(each["words"], each["count_without"]) for each in told["conditions"]] == [
        ("hero", 0),
        ("aperture: f/22", 1),
    ]


def test_the_page_asks_frames_where_the_question_does(shot: Desk) -> None:
    page = shot.client.get("/recipes", params={"q": "hero frames with light A"}).text
    among = shot.client.get("/recipes", params={"q": "deeper", "among": "frames"}).text
    changed = shot.client.get("/recipes", params={"q": "what changed between frames 2 and 3"}).text

    assert "<h2>1 frame</h2>" in page
    assert "enamel dial, frame 3" in page
    assert "<h2>1 frame</h2>" in among
    assert "from frame 2 to frame 3" in changed
    assert "The same among recipes" in page

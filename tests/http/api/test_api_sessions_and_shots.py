from __future__ import annotations

import pytest

from tests.http.api.conftest import Desk


def test_a_session_is_begun_and_read_back(desk: Desk) -> None:
    begun = desk.call(
        "POST", "/sessions", 201, json={"name": "bottles", "day": "2026-11-24", "zone": "Europe/Vienna"}
    )

    assert desk.call("GET", f"/sessions/{begun['id']}") == begun
    assert (begun["day"], begun["zone"]) == ("2026-11-24", "Europe/Vienna")
    assert begun["id"] in {each["id"] for each in desk.call("GET", "/sessions")}


def test_what_is_said_of_a_session_changes_field_by_field(desk: Desk) -> None:
    desk.call("PATCH", f"/sessions/{desk.session_id}", json={"place": "attic"})

    changed = desk.call("PATCH", f"/sessions/{desk.session_id}", json={"brief": "six labels"})

    assert (changed["name"], changed["place"], changed["brief"]) == ("bench day", "attic", "six labels")


def test_what_the_pictures_are_for_is_kept_each_in_its_field(desk: Desk) -> None:
    brief = {"used_for": "poster", "size": "A1 at 200 ppi", "crop": "2:3", "deadline": "2026-12-12"}
    brief |= {"must_match": "the bottle of March"}

    changed = desk.call("PATCH", f"/sessions/{desk.session_id}", json=brief)

    assert {name: changed[name] for name in brief} == brief
    assert desk.call("PATCH", f"/sessions/{desk.session_id}", json={"deadline": None})["deadline"] is None


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"deadline": "soon"}, "deadline"),
        ({"name": ""}, "name"),
        ({"zone": "Mars/Olympus"}, "zone"),
        ({"weather": "fog"}, "weather"),
        ({"day": "?"}, "day"),
    ],
)
def test_a_session_is_refused_at_its_field_and_stays(desk: Desk, changes: dict[str, str], field: str) -> None:
    before = desk.call("GET", f"/sessions/{desk.session_id}")

    refusal = desk.call("PATCH", f"/sessions/{desk.session_id}", 422, json={"place": "cellar"} | changes)

    assert [problem["loc"] for problem in refusal["detail"]] == [["body", field]]
    assert desk.call("GET", f"/sessions/{desk.session_id}") == before


def test_a_new_session_is_refused_at_its_field(desk: Desk) -> None:
    refusal = desk.call("POST", "/sessions", 422, json={"name": "x" * 10_000})

    assert refusal["detail"][0]["loc"] == ["body", "name"]


def test_an_empty_session_can_be_forgotten(desk: Desk) -> None:
    begun = desk.call("POST", "/sessions", 201, json={"name": "called off"})["id"]

    desk.call("DELETE", f"/sessions/{begun}", 204)

    desk.call("GET", f"/sessions/{begun}", 404)


def test_a_session_with_a_shot_is_not_forgotten(desk: Desk) -> None:
    refusal = desk.call("DELETE", f"/sessions/{desk.session_id}", 409)

    assert "1 shot" in refusal["detail"][0]["msg"]
    desk.call("GET", f"/sessions/{desk.session_id}")


def test_shots_are_numbered_and_the_newest_is_on_the_set(desk: Desk) -> None:
    second = desk.call("POST", f"/sessions/{desk.session_id}/shots", 201, json={"title": "case back"})

    listed = desk.call("GET", f"/sessions/{desk.session_id}/shots")
    assert [(shot["number"], shot["title"], shot["on_set"]) for shot in listed] == [
        (1, "enamel dial", False),
        (2, "case back", True),
    ]
    assert listed[1] == second


def test_one_shot_at_a_time_is_on_the_set(desk: Desk) -> None:
    second = desk.call("POST", f"/sessions/{desk.session_id}/shots", 201, json={"title": "case back"})["id"]

    assert desk.call("POST", f"/shots/{desk.shot_id}/on-set")["on_set"] is True

    assert desk.call("GET", f"/shots/{second}")["on_set"] is False


def test_what_is_said_of_a_shot_changes_field_by_field(desk: Desk) -> None:
    changed = desk.call("PATCH", f"/shots/{desk.shot_id}", json={"look": "raking", "wanted_depth_mm": 3})

    assert (changed["title"], changed["look"], changed["wanted_depth_mm"]) == ("enamel dial", "raking", 3)


def test_a_shot_is_refused_at_its_field(desk: Desk) -> None:
    refusal = desk.call("PATCH", f"/shots/{desk.shot_id}", 422, json={"wanted_depth_mm": -1})

    assert refusal["detail"][0]["loc"] == ["body", "wanted_depth_mm"]


def test_a_shot_with_frames_is_not_forgotten(desk: Desk) -> None:
    desk.log()

    refusal = desk.call("DELETE", f"/shots/{desk.shot_id}", 409)

    assert "1 frame" in refusal["detail"][0]["msg"]
    assert desk.call("GET", f"/shots/{desk.shot_id}/frames")["frames"]


def test_a_shot_without_frames_can_be_forgotten(desk: Desk) -> None:
    desk.call("DELETE", f"/shots/{desk.shot_id}", 204)

    desk.call("GET", f"/shots/{desk.shot_id}", 404)
    desk.call("DELETE", f"/sessions/{desk.session_id}", 204)


@pytest.mark.parametrize("said", ["soon", "24.11.2026", "2026-02-30", 20261124, True])
@pytest.mark.parametrize("field", ["day", "deadline"])
def test_what_is_no_day_is_refused_with_how_one_is_written(desk: Desk, field: str, said: object) -> None:
    (problem,) = desk.call("PATCH", f"/sessions/{desk.session_id}", 422, json={field: said})["detail"]

    assert problem["msg"] == "Write a day as 2026-11-24."


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("GET", "/sessions/none"),
        ("PATCH", "/sessions/none"),
        ("DELETE", "/sessions/none"),
        ("GET", "/sessions/none/shots"),
        ("GET", "/shots/none"),
        ("PATCH", "/shots/none"),
        ("DELETE", "/shots/none"),
        ("POST", "/shots/none/on-set"),
        ("GET", "/shots/none/standing"),
        ("GET", "/shots/none/frames"),
        ("POST", "/shots/none/frames"),
        ("POST", "/shots/none/ambient-check"),
        ("GET", "/frames/none"),
        ("POST", "/frames/none/reference"),
        ("GET", "/kit/lights/none"),
        ("GET", "/kit/brooms"),
    ],
)
def test_what_is_not_there_is_said_to_be_not_there(desk: Desk, method: str, path: str) -> None:
    refusal = desk.call(method, path, 404, json={} if method in ("PATCH", "POST") else None)

    assert refusal["detail"][0]["msg"]


@pytest.mark.parametrize(
    ("said", "left"), [({}, True), ({"still_measured": ["lights.A"]}, True), ({"still_measured": []}, False)]
)
def test_a_new_shot_says_which_measured_places_still_hold(desk: Desk, said: dict[str, list[str]], left: bool) -> None:
    desk.set(lights__A__distance=800)

    shot = desk.call("POST", f"/sessions/{desk.session_id}/shots", 201, json={"title": "the back of it"} | said)

    standing = desk.call("GET", f"/shots/{shot['id']}/standing")
    assert standing["set_up"]["lights"]["A"]["distance_mm"] == 800.0
    assert [each["reason"] for each in standing["says_facts"]] == ([] if left else ["places_carried_over"])

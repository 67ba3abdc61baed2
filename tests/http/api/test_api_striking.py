"""Closing a shot over JSON: the questions, the answers, and what a closed shot refuses."""

from __future__ import annotations

from typing import Any

import pytest

from tests.http.api.conftest import Desk, Json


def close(desk: Desk, status: int = 200, **body: Any) -> Json:
    told: Json = desk.call("POST", f"/shots/{desk.shot_id}/close", status, json=body)
    return told


def questions(desk: Desk) -> Json:
    found: Json = desk.call("GET", f"/shots/{desk.shot_id}/before-striking")
    return found


def test_the_questions_come_dearest_first_with_their_blanks_and_working(desk: Desk) -> None:
    desk.set(lights__A__distance="12 cm")

    asked = questions(desk)

    assert [each["about"] for each in asked["questions"]] == ["lights.A", "subject_distance"]
    assert asked["questions"][0]["error_stops"] == pytest.approx(0.5)
    assert [each["name"] for each in asked["questions"][0]["blanks"]] == [
        "lights.A.distance",
        "lights.A.bearing",
        "lights.A.height",
    ]
    assert asked["questions"][0]["working"]["source"]
    assert asked["versions"]["lights.A.distance"] == 1


def test_answers_reach_the_set_up_and_the_frame(desk: Desk) -> None:
    frame = desk.log()["id"]
    asked = questions(desk)
    assert asked["frame_id"] == frame

    told = close(
        desk,
        answers={"lights.A.distance": "80 cm", "lights.A.bearing": "45 left"},
        versions=asked["versions"],
        as_in_frame=frame,
    )

    assert told["closed_at"] is not None
    assert not told["on_set"]
    assert told["completed"] == ["place of A"]
    assert desk.call("GET", f"/frames/{frame}")["set_up"]["lights"]["A"]["distance_mm"] == 800


def test_a_closed_shot_refuses_frames_and_the_set_until_it_is_opened(desk: Desk) -> None:
    close(desk)

    desk.log(409)
    desk.call("POST", f"/shots/{desk.shot_id}/on-set", 409)
    close(desk, 409)

    opened = desk.call("POST", f"/shots/{desk.shot_id}/reopen")
    assert (opened["closed_at"], opened["on_set"]) == (None, True)
    desk.log()


@pytest.mark.parametrize(
    ("answers", "where"),
    [
        ({"lights.A.distance": "near"}, ["lights", "A", "distance"]),
        ({"lights.Z.distance": "80 cm"}, ["answers", "lights.Z.distance"]),
        ({"colour": "red"}, ["answers", "colour"]),
    ],
)
def test_an_answer_that_cannot_be_kept_is_told_at_its_place_and_the_shot_stays_open(
    desk: Desk, answers: dict[str, str], where: list[str]
) -> None:
    told = close(desk, 422, answers=answers)

    assert told["detail"][0]["loc"] == ["body", *where]
    assert desk.call("GET", f"/shots/{desk.shot_id}")["closed_at"] is None


def test_a_frame_that_there_is_not_is_a_wrong_value(desk: Desk) -> None:
    assert close(desk, 422, as_in_frame="none")["detail"][0]["loc"] == ["body", "as_in_frame"]


def test_an_answer_that_somebody_gave_first_is_refused_with_both(desk: Desk) -> None:
    asked = questions(desk)
    desk.set(lights__A__distance="75 cm")

    told = close(desk, 409, answers={"lights.A.distance": "80 cm"}, versions=asked["versions"])

    assert (told["detail"][0]["stands"], told["detail"][0]["offered"]) == ("75 cm", "80 cm")


def test_what_is_on_record_is_told_and_what_is_missing_is_set_up_for_one_frame(desk: Desk) -> None:
    head = desk.call("GET", "/kit/lights")[0]["id"]
    desk.call("POST", f"/shots/{desk.shot_id}/lights", 201, json={"head_id": head})
    shot = f"/shots/{desk.shot_id}"
    missing = {(each["kind"], each["about"]) for each in questions(desk)["on_record"] if not each["is_there"]}
    assert {("one light alone", "A"), ("one light alone", "B"), ("ambient check", "")} <= missing

    alone = desk.call("POST", f"{shot}/one-light-alone", json={"light": "B"})
    assert [alone["set_up"]["lights"][each]["lit"] for each in "AB"] == [False, True]
    assert alone["set_up_for"] == alone["purpose"] == "one light alone"
    assert desk.log()["purpose"] == "one light alone"

    after = desk.call("POST", f"{shot}/rule-in-frame")
    assert [after["set_up"]["lights"][each]["lit"] for each in "AB"] == [True, True]
    assert after["set_up_for"] == "rule in the frame"
    assert desk.call("POST", f"{shot}/put-back")["set_up_for"] == ""
    (line,) = (
        each for each in questions(desk)["on_record"] if (each["kind"], each["about"]) == ("one light alone", "B")
    )
    assert line["says"] == "frame 1 has no picture"


def test_a_light_that_is_not_lit_cannot_light_a_frame_alone(desk: Desk) -> None:
    told = desk.call("POST", f"/shots/{desk.shot_id}/one-light-alone", 422, json={"light": "Z"})

    assert "is not lit" in str(told)

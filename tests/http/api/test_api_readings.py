"""Pictures as evidence over JSON: patches, readings, causes, the proof, the ratio, the scale."""

from __future__ import annotations

import time
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from tests.http.api.conftest import Desk, Json
from tests.made_pictures import jpeg_bytes, rational, srgb_codes

CARD = {"name": "card", "x": 0.1, "y": 0.3, "width": 0.3, "height": 0.4}


def picture(stops: float, f_number: str = "8", shutter: str = "1/125", seed: int = 0) -> bytes:
    """A grey picture so many stops about mid-tone, with the settings of a camera."""
    grain = np.random.default_rng(seed).normal(1.0, 0.01, (120, 160, 1))
    codes = srgb_codes(np.full((120, 160, 3), 0.18 * 2.0**stops) * grain)
    settings = {0x829D: rational(f_number), 0x829A: rational(str(Fraction(shutter))), 0x8827: 100}
    return jpeg_bytes(codes, settings=settings)


def shoot(desk: Desk, content: bytes, name: str, **words: Any) -> Json:
    """Log a frame with a picture, and wait until it is read."""
    sent = {"files": {"picture": (name, content, "image/jpeg")}, "data": words}
    frame: Json = desk.call("POST", f"/shots/{desk.shot_id}/frames", 201, **sent)
    until_read(desk)
    return frame


def until_read(desk: Desk) -> None:
    deadline = time.monotonic() + 120
    while desk.call("GET", f"/shots/{desk.shot_id}/evidence")["still_to_measure"]:
        assert time.monotonic() < deadline
        time.sleep(0.02)


@pytest.fixture
def off_by_one(desk: Desk) -> Json:
    """A reference at f/8, and a frame whose head stood one stop above its log."""
    desk.set(lights__A__power="25 J")
    shoot(desk, picture(0.0, seed=1), "a1.jpg")
    return shoot(desk, picture(1.0, seed=2), "a2.jpg")


def test_the_unexplained_difference_and_its_cause(desk: Desk, off_by_one: Json) -> None:
    told = desk.call("GET", f"/frames/{off_by_one['id']}/evidence")

    (patch,) = told["patches"]
    assert patch["unexplained_stops"] == pytest.approx(1.0, abs=0.03)
    assert patch["told"] is True
    assert told["explanations"][0]["title"] == "A stood at 50 J"
    assert told["explanations"][0]["changes"] == ["lights.A.power"]


def test_a_height_that_a_patch_faces_needs_its_bearing(desk: Desk) -> None:
    said = {"name": "lid", "x": 0.1, "y": 0.1, "width": 0.1, "height": 0.1, "elevation_deg": 20}

    (problem,) = desk.call("POST", f"/shots/{desk.shot_id}/patches", 422, json=said)["detail"]

    assert problem["loc"] == ["body", "elevation_deg"]
    assert problem["msg"] == "A height angle needs its bearing: 0 in front, + to the right."


def test_a_cause_is_taken_into_the_frame_by_its_key(desk: Desk, off_by_one: Json) -> None:
    path = f"/frames/{off_by_one['id']}"
    key = desk.call("GET", f"{path}/evidence")["explanations"][0]["key"]

    frame = desk.call("POST", f"{path}/explanations", json={"key": key, "revision": 1})

    assert frame["set_up"]["lights"]["A"]["power"] == "50 J"
    assert frame["revision"] == 2
    assert desk.call("GET", f"{path}/evidence")["explanations"] == []
    desk.call("POST", f"{path}/explanations", 409, json={"key": key})


def test_a_reading_in_full(desk: Desk, off_by_one: Json) -> None:
    (read,) = desk.call("GET", f"/frames/{off_by_one['id']}/readings")

    assert (read["patch_id"], read["name"], read["picture"]) == (None, "middle", "a2.jpg")
    assert read["reading"]["estimated"] is True
    assert read["reading"]["level"] == pytest.approx(0.36, rel=0.02)
    assert sum(read["reading"]["histogram"]) == pytest.approx(1.0)


def test_a_patch_is_drawn_moved_and_retired(desk: Desk, off_by_one: Json) -> None:
    drawn = desk.call("POST", f"/shots/{desk.shot_id}/patches", 201, json=CARD)
    until_read(desk)
    assert [each["name"] for each in desk.call("GET", f"/frames/{off_by_one['id']}/readings")] == ["card"]

    moved = desk.call("PATCH", f"/patches/{drawn['id']}", json={"x": 0.5, "wanted_stops": 1.0})
    until_read(desk)
    assert (moved["x"], moved["width"], moved["wanted_stops"]) == (0.5, 0.3, 1.0)

    desk.call("POST", f"/patches/{drawn['id']}/retire")
    assert desk.call("GET", f"/shots/{desk.shot_id}/patches") == []


@pytest.mark.parametrize("wrong", [{"width": 0}, {"x": "0.1"}, {"name": ""}, {"height": 1e9}, {"colour": "red"}])
def test_what_is_no_patch_is_refused_at_its_field(desk: Desk, wrong: Json) -> None:
    told = desk.call("POST", f"/shots/{desk.shot_id}/patches", 422, json=CARD | wrong)

    assert told["detail"][0]["loc"] == ["body", *wrong]
    assert desk.call("GET", f"/shots/{desk.shot_id}/patches") == []


def test_the_ambient_proof_falls_with_the_standing_set_up(desk: Desk) -> None:
    shoot(desk, picture(0.0, seed=1), "a1.jpg")
    assert desk.call("GET", f"/shots/{desk.shot_id}/evidence")["ambient"] is None
    desk.call("POST", f"/shots/{desk.shot_id}/ambient-check")
    shoot(desk, picture(-1.0, shutter="1", seed=2), "a2.jpg", purpose="ambient check")

    held = desk.call("GET", f"/shots/{desk.shot_id}/evidence")["ambient"]
    desk.set(f_number="4")
    fallen = desk.call("GET", f"/shots/{desk.shot_id}/evidence")["ambient"]

    assert held["proven_stops"] == pytest.approx(8.0, abs=0.05)
    assert (held["standing"], fallen["standing"]) == ("holds", "falls")
    assert fallen["now_stops"] == pytest.approx(6.0, abs=0.05)


def test_without_shares_there_is_no_ratio_to_aim_at(desk: Desk) -> None:
    desk.call("POST", f"/shots/{desk.shot_id}/ratio", 409, json={"ratio": "3:1"})
    desk.call("POST", f"/shots/{desk.shot_id}/ratio", 422, json={"ratio": "3:1", "convention": "three to one"})


def test_a_scale_from_a_rule(desk: Desk) -> None:
    frame = shoot(desk, picture(0.0), "a1.jpg")
    taps = {"first": [0.25, 0.5], "second": [0.75, 0.5], "length_mm": 36.0}

    told = desk.call("POST", f"/frames/{frame['id']}/scale", json=taps)

    # Half of a field of 72 mm on a sensor of 36 mm.
    assert told["magnification"] == pytest.approx(0.5)
    assert told["field_width_mm"] == pytest.approx(72.0)
    desk.call("POST", f"/frames/{frame['id']}/scale", 422, json=taps | {"second": [0.25, 0.5]})


def test_nothing_is_known_of_a_head_before_it_was_read(desk: Desk) -> None:
    light = desk.call("GET", "/kit/lights")[0]["id"]

    told = desk.call("GET", f"/kit/lights/{light}/learned")

    assert told == {"spread_stops": None, "runs": [], "step": None, "step_readings": 0}


def test_what_is_seen_by_eye_is_typed_and_told_apart(desk: Desk) -> None:
    desk.call("POST", f"/shots/{desk.shot_id}/patches", 201, json=CARD)
    first = desk.call("POST", f"/shots/{desk.shot_id}/frames", 201, json={})
    desk.call("POST", f"/frames/{first['id']}/readings", 201, json={"typed": "card 0.0"})
    second = desk.call("POST", f"/shots/{desk.shot_id}/frames", 201, json={})

    told = desk.call("POST", f"/frames/{second['id']}/readings", 201, json={"typed": "a stop too bright"})

    assert [(each["name"], each["reading"], each["by_eye"]["read_stops"]) for each in told] == [("card", None, 1.0)]
    (patch,) = desk.call("GET", f"/frames/{second['id']}/evidence")["patches"]
    assert (patch["by_eye"], patch["unexplained_stops"], patch["told"]) == (True, 1.0, True)


def test_black_by_eye_is_a_bound_over_the_api_too(desk: Desk) -> None:
    desk.call("POST", f"/shots/{desk.shot_id}/frames", 201, json={})
    desk.call("POST", f"/shots/{desk.shot_id}/ambient-check")
    check = desk.call("POST", f"/shots/{desk.shot_id}/frames", 201, json={"purpose": "ambient check"})

    (told,) = desk.call("POST", f"/frames/{check['id']}/readings", 201, json={"typed": "black by eye"})

    assert told["by_eye"] == {"read_stops": None, "at_most_stops": -5.0, "tolerance_stops": None}
    ambient = desk.call("GET", f"/shots/{desk.shot_id}/evidence")["ambient"]
    assert (ambient["by_eye"], ambient["is_bound"]) == (True, True)
    assert ambient["line"].startswith("Ambient proven by eye, at least ")


def test_a_look_that_says_nothing_is_refused(desk: Desk) -> None:
    frame = desk.call("POST", f"/shots/{desk.shot_id}/frames", 201, json={})

    refused = desk.call("POST", f"/frames/{frame['id']}/readings", 422, json={"typed": "rather bright"})

    assert "says no level" in str(refused)
    (told,) = desk.call("GET", f"/frames/{frame['id']}/readings")
    assert told["by_eye"] is None


def test_a_file_that_contradicts_the_ambient_check_is_logged_as_a_test(desk: Desk) -> None:
    shoot(desk, picture(0.0, seed=1), "a1.jpg")
    desk.call("POST", f"/shots/{desk.shot_id}/ambient-check")

    frame = shoot(desk, picture(0.0, seed=2), "shot_0007.jpg", purpose="ambient check")

    assert frame["purpose"] == "test"
    standing = desk.standing()
    assert standing["checking_ambient"]
    assert standing["says"] == (
        "shot_0007.jpg shows 1/125: logged as a test, not as the ambient check. The check goes on."
    )
    assert desk.call("GET", f"/shots/{desk.shot_id}/evidence")["ambient"] is None


def test_a_check_brighter_than_the_reference_frame_proves_nothing(desk: Desk) -> None:
    shoot(desk, picture(0.0, seed=1), "a1.jpg")
    desk.call("POST", f"/shots/{desk.shot_id}/ambient-check")
    shoot(desk, picture(1.0, shutter="1", seed=2), "a2.jpg", purpose="ambient check")

    ambient = desk.call("GET", f"/shots/{desk.shot_id}/evidence")["ambient"]

    assert (ambient["standing"], ambient["now_stops"]) == ("void", None)
    assert ambient["line"].startswith("Ambient not proven: the check, frame 2, reads 1.0 stops brighter than the ")


def test_an_exposure_series_teaches_the_camera_a_curve_that_its_page_shows_with_what_it_rests_on(desk: Desk) -> None:
    frame = shoot(desk, picture(0.0, seed=1), "a1.jpg")
    (camera,) = [each for each in desk.call("GET", "/kit/cameras") if each["name"] == "Camera 36 × 24"]
    page = f"/kit/cameras/{camera['id']}"

    assert desk.call("GET", f"{page}/curves") == []
    assert "Not known yet." in desk.client.get(page).text

    for number, (f_number, stops) in enumerate((("11", -1.0), ("16", -2.0), ("22", -3.0)), start=2):
        # One press a frame sets the next aperture of the series.
        assert f"Set up f/{f_number} for the curve ({number} of 5)" in desk.client.get(f"/frames/{frame['id']}").text
        desk.client.post(f"/frames/{frame['id']}/series")
        assert desk.standing()["set_up"]["f_number"] == f_number
        # A file whose contrast lies a quarter above that of a straight one.
        frame = shoot(desk, picture(1.25 * stops, f_number, seed=number), f"a{number}.jpg")

    (curve,) = desk.call("GET", f"{page}/curves")
    assert (curve["series"], curve["frames"], curve["stood_out"]) == (1, 4, 0)
    at = {each["level_stops"]: each for each in curve["points"]}
    assert at[-2.5]["light_stops"] == pytest.approx(-2.0, abs=0.1)
    assert at[-2.5]["known"]
    assert not at[-7.0]["known"]
    (patch,) = desk.call("GET", f"/frames/{frame['id']}/evidence")["patches"]
    assert (patch["read_stops"], patch["light_stops"]) == (
        pytest.approx(-3.75, abs=0.05),
        pytest.approx(-3.0, abs=0.1),
    )
    assert patch["measured_stops"] == pytest.approx(-3.0, abs=0.1)
    shown = desk.client.get(page).text
    assert "Rests on 4 frames in 1 series" in shown
    assert "<svg" in shown

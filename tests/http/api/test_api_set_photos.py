"""Photos of the set over JSON: added, told, placed, shown and deleted."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.http.api.conftest import Desk, Json
from tests.made_pictures import jpeg_bytes


def add(desk: Desk, level: int = 90, status: int = 201) -> Json:
    content = jpeg_bytes(np.full((60, 90, 3), level, dtype=np.uint8))
    file = {"photo": ("set.jpg", content, "image/jpeg")}
    told: Json = desk.call("POST", f"/shots/{desk.shot_id}/set-photos", status, files=file)
    return told


def place(desk: Desk, photo: Json, status: int = 200, **body: Any) -> Json:
    told: Json = desk.call("PUT", f"/set-photos/{photo['id']}/place", status, json=body)
    return told


def test_a_photo_is_added_once_told_placed_and_deleted(desk: Desk) -> None:
    photo = add(desk)
    assert (photo["name"], photo["caption"], photo["place"], photo["revision"]) == ("set.jpg", "", None, 1)
    assert add(desk)["id"] == photo["id"]

    told = desk.call("PATCH", f"/set-photos/{photo['id']}", json={"caption": "from the door", "revision": 1})
    placed = place(desk, photo, distance_mm=2000, bearing_deg=-90, revision=told["revision"])

    assert placed["place"]["x_mm"] == pytest.approx(-2000.0)
    assert placed["place"]["looks_deg"] == pytest.approx(90.0)
    assert desk.call("GET", f"/shots/{desk.shot_id}/set-photos") == [placed]
    assert desk.call("GET", f"/set-photos/{photo['id']}") == placed
    assert desk.client.get(f"/api/v1/set-photos/{photo['id']}/picture").headers["content-type"] == "image/jpeg"
    assert desk.call("DELETE", f"/set-photos/{photo['id']}/place")["place"] is None

    desk.call("DELETE", f"/set-photos/{photo['id']}", 204)

    assert desk.call("GET", f"/shots/{desk.shot_id}/set-photos") == []
    desk.call("GET", f"/set-photos/{photo['id']}/picture", 404)


def test_a_form_that_cannot_be_read_is_refused_like_any_wrong_value(desk: Desk) -> None:
    broken = {"content": b"--b\r\n2115--b--\r\n", "headers": {"Content-Type": "multipart/form-data; boundary=b"}}

    refused = desk.call("POST", f"/shots/{desk.shot_id}/set-photos", 422, **broken)

    assert "The form cannot be read" in str(refused)


def test_a_place_is_told_in_one_of_two_ways(desk: Desk) -> None:
    photo = add(desk)

    for body in ({}, {"x_mm": 1.0}, {"x_mm": 1.0, "y_mm": 2.0, "distance_mm": 3.0}, {"distance_mm": 5.0}):
        place(desk, photo, 422, **body)
    assert place(desk, photo, x_mm=1.0, y_mm=2.0, looks_deg=270)["place"]["looks_deg"] == pytest.approx(-90.0)
    place(desk, photo, 422, x_mm=99_000.0, y_mm=99_000.0)


def test_what_somebody_else_said_since_is_not_wiped(desk: Desk) -> None:
    photo = add(desk)
    desk.call("PATCH", f"/set-photos/{photo['id']}", json={"caption": "theirs", "revision": 1})

    stale = desk.call("PATCH", f"/set-photos/{photo['id']}", 409, json={"caption": "mine", "revision": 1})

    assert [(each["stands"], each["offered"]) for each in stale["detail"]] == [("theirs", "mine")]


def test_what_is_no_picture_is_refused_at_its_field(desk: Desk) -> None:
    file = {"photo": ("set.jpg", b"no picture", "image/jpeg")}

    told = desk.call("POST", f"/shots/{desk.shot_id}/set-photos", 422, files=file)

    assert told["detail"][0]["loc"][-1] == "photo"
    desk.call("POST", f"/shots/{desk.shot_id}/set-photos", 422)
    desk.call("POST", "/shots/none/set-photos", 404, files={"photo": ("a.jpg", b"x", "image/jpeg")})

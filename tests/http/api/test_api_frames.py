from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from tests.http.api.conftest import Desk
from tests.made_pictures import jpeg_bytes, rational
from webapp.app import create_app
from webapp.settings import Settings

EXPOSURE_TIME, F_NUMBER, ISO = 0x829A, 0x829D, 0x8827


def picture(f_number: str = "11", shade: int = 40) -> bytes:
    codes = np.full((24, 36, 3), shade, np.uint8)
    return jpeg_bytes(codes, settings={EXPOSURE_TIME: rational("1/125"), F_NUMBER: rational(f_number), ISO: 100})


def upload(desk: Desk, content: bytes, status: int = 201, key: str | None = None, **words: str) -> Any:
    return desk.call(
        "POST",
        f"/shots/{desk.shot_id}/frames",
        status,
        files={"picture": ("frame.jpg", content, "image/jpeg")},
        data=words,
        headers={"Idempotency-Key": key} if key else {},
    )


def frames_of(desk: Desk, **query: int) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = desk.call("GET", f"/shots/{desk.shot_id}/frames", params=query)["frames"]
    return found


def test_logging_freezes_the_standing_set_up(desk: Desk) -> None:
    desk.set(f_number="11")

    frame = desk.log(purpose="comparison", because="depth", notes="card out", verdict="stands")

    assert (frame["number"], frame["is_reference"], frame["revision"]) == (1, True, 1)
    assert [frame[name] for name in ("purpose", "because", "notes", "verdict")] == [
        "comparison",
        "depth",
        "card out",
        "stands",
    ]
    assert frame["set_up"] == desk.standing()["set_up"]
    desk.set(f_number="16")
    assert desk.call("GET", f"/frames/{frame['id']}")["set_up"]["f_number"] == "11"


def test_a_frame_of_which_nothing_is_said_is_a_frame(desk: Desk) -> None:
    frame = desk.call("POST", f"/shots/{desk.shot_id}/frames", 201)

    assert (frame["purpose"], frame["because"]) == ("test", "")


def test_a_frame_of_an_ambient_check_is_one_and_puts_the_lights_back(desk: Desk) -> None:
    desk.call("POST", f"/shots/{desk.shot_id}/ambient-check")

    frame = desk.log(key="room")

    assert frame["purpose"] == "ambient check"
    assert desk.standing()["set_up"]["lights"]["A"]["lit"] is True
    assert desk.log(key="room")["id"] == frame["id"]


def test_a_retried_save_gets_the_same_answer(desk: Desk) -> None:
    first = desk.log(key="k-1", because="depth")

    assert desk.log(key="k-1", because="depth") == first
    assert len(frames_of(desk)) == 1


def test_a_save_key_with_another_body_is_refused(desk: Desk) -> None:
    desk.log(key="k-1", because="depth")

    desk.log(409, key="k-1", because="noise")

    assert len(frames_of(desk)) == 1


def test_without_a_key_every_save_is_a_frame(desk: Desk) -> None:
    assert [desk.log()["number"], desk.log()["number"]] == [1, 2]


@pytest.mark.parametrize(
    ("words", "field"),
    [
        ({"purpose": "fun"}, "purpose"),
        ({"verdict": "nice"}, "verdict"),
        ({"because": "x" * 10_000}, "because"),
        ({"weather": "fog"}, "weather"),
        ({"notes": 5}, "notes"),
    ],
)
def test_words_are_refused_at_their_field_and_cost_no_frame(desk: Desk, words: dict[str, Any], field: str) -> None:
    refusal = desk.log(422, **words)

    assert [problem["loc"] for problem in refusal["detail"]] == [["body", field]]
    assert frames_of(desk) == []


@pytest.mark.parametrize(
    ("body", "kind"),
    [(b"{", "application/json"), (b'"\\ud800"', "application/json"), (b"purpose=test", "text/plain")],
)
def test_a_body_that_is_no_frame_is_refused(desk: Desk, body: bytes, kind: str) -> None:
    desk.call("POST", f"/shots/{desk.shot_id}/frames", 422, content=body, headers={"Content-Type": kind})

    assert frames_of(desk) == []


def test_a_body_without_a_picture_is_bounded(desk: Desk) -> None:
    long = b'{"notes": "' + b"x" * (1 << 20) + b'"}'

    desk.call(
        "POST", f"/shots/{desk.shot_id}/frames", 413, content=long, headers={"Content-Type": "application/json"}
    )


def test_frames_come_in_pages_newest_first(desk: Desk) -> None:
    for _ in range(5):
        desk.log()

    first = desk.call("GET", f"/shots/{desk.shot_id}/frames", params={"limit": 2})
    assert [frame["number"] for frame in first["frames"]] == [5, 4]
    rest = desk.call("GET", f"/shots/{desk.shot_id}/frames", params={"limit": 3, "before": first["before"]})
    assert [frame["number"] for frame in rest["frames"]] == [3, 2, 1]
    assert rest["before"] is None


# --- pictures -------------------------------------------------------------------------------------------------


def test_a_picture_brings_its_settings_and_keeps_what_was_set(desk: Desk) -> None:
    desk.set(f_number="8")

    frame = upload(desk, picture("11"), because="the file knows")

    assert (frame["set_up"]["f_number"], frame["because"]) == ("11", "the file knows")
    assert frame["conflicts"] == {"f_number": {"set": "8", "file": "11"}}
    assert [each["name"] for each in frame["pictures"]] == ["frame.jpg"]
    assert desk.standing()["set_up"]["f_number"] == "11"


def test_the_value_that_was_set_can_hold(desk: Desk) -> None:
    frame = upload(desk, picture("11"))

    held = desk.call("POST", f"/frames/{frame['id']}/hold", json={"field": "f_number", "which": "set"})

    assert held["set_up"]["f_number"] == "8"
    assert held["file_values"]["f_number"] == "11"
    refusal = desk.call("POST", f"/frames/{frame['id']}/hold", 422, json={"field": "iso", "which": "set"})
    assert refusal["detail"][0]["loc"] == ["body", "iso"]


def test_the_same_picture_twice_is_one_frame(desk: Desk) -> None:
    frame = upload(desk, picture())

    assert upload(desk, picture(), 200)["id"] == frame["id"]
    assert len(frames_of(desk)) == 1


def test_a_retried_upload_gets_the_same_answer(desk: Desk) -> None:
    frame = upload(desk, picture(), key="k-1")

    again = upload(desk, picture(), key="k-1")

    assert again["id"] == frame["id"]
    upload(desk, picture(shade=90), 409, key="k-1")
    assert len(frames_of(desk)) == 1


@pytest.mark.parametrize("content", [b"", b"GIF89a, or so it says", b"\xff\xd8\xff" + b"\0" * 100, picture()[:200]])
def test_a_broken_picture_is_refused_and_costs_no_frame(desk: Desk, content: bytes) -> None:
    stands = desk.log()

    refusal = upload(desk, content, 422)

    assert [problem["loc"] for problem in refusal["detail"]] == [["body", "picture"]]
    assert [frame["id"] for frame in frames_of(desk)] == [stands["id"]]


def test_a_picture_past_the_bound_is_refused_and_costs_no_frame(tmp_path: Path) -> None:
    small = create_app(Settings(data=tmp_path / "small", largest_upload_mb=1))
    with TestClient(small, base_url="http://testserver/api/v1") as client:
        session = client.post("/sessions", json={"name": "bench day"}).json()["id"]
        shot = client.post(f"/sessions/{session}/shots", json={"title": "enamel dial"}).json()["id"]

        answer = client.post(f"/shots/{shot}/frames", files={"picture": ("huge.jpg", b"\xff" * (3 << 19))})

        assert answer.status_code == 413
        assert "1 MB" in answer.json()["detail"][0]["msg"]
        assert client.get(f"/shots/{shot}/frames").json()["frames"] == []


def test_a_picture_that_is_no_file_is_refused(desk: Desk) -> None:
    refusal = desk.call(
        "POST",
        f"/shots/{desk.shot_id}/frames",
        422,
        files={"picture": (None, "a text"), "because": (None, "")},
    )

    assert refusal["detail"][0]["loc"] == ["body", "picture"]


def test_a_broken_form_is_refused(desk: Desk) -> None:
    desk.call(
        "POST",
        f"/shots/{desk.shot_id}/frames",
        422,
        content=b"--x\r\nnonsense",
        headers={"Content-Type": "multipart/form-data; boundary=x"},
    )

    assert frames_of(desk) == []


# --- afterwards -----------------------------------------------------------------------------------------------


def test_an_edit_keeps_the_earlier_revision_and_moves_later_balances(desk: Desk) -> None:
    first = desk.log()
    desk.log()

    edited = desk.call(
        "PATCH",
        f"/frames/{first['id']}",
        json={"verdict": "fails", "changes": [{"field": "f_number", "value": "11"}], "revision": 1},
    )

    assert (edited["verdict"], edited["set_up"]["f_number"], edited["revision"]) == ("fails", "11", 2)
    assert frames_of(desk)[0]["ledger"]["balances"]["A"] == 1.0
    told = desk.call("GET", f"/frames/{first['id']}")
    assert [each["revision"] for each in told["revisions"]] == [1]


def test_a_stale_edit_is_refused(desk: Desk) -> None:
    frame = desk.log()
    desk.call("PATCH", f"/frames/{frame['id']}", json={"notes": "first"})

    desk.call("PATCH", f"/frames/{frame['id']}", 409, json={"notes": "second", "revision": 1})

    assert desk.call("GET", f"/frames/{frame['id']}")["notes"] == "first"


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"purpose": "fun"}, ["purpose"]),
        ({"weather": "fog"}, ["weather"]),
        ({"changes": [{"field": "f_number", "value": "f/0"}]}, ["f_number"]),
        ({"changes": [{"field": "lights.A.power", "value": 2}]}, ["lights", "A", "power"]),
        ({"changes": [{"field": "lights.Q.power", "value": 0}]}, ["lights", "Q", "power"]),
        ({"changes": [{"field": "lens", "value": "no such lens"}]}, ["lens"]),
        ({"revision": 0}, ["revision"]),
    ],
)
def test_an_edit_is_refused_at_its_field_and_keeps_the_frame(
    desk: Desk, changes: dict[str, Any], path: list[str]
) -> None:
    frame = desk.log()

    refusal = desk.call("PATCH", f"/frames/{frame['id']}", 422, json={"notes": "kept?"} | changes)

    assert [problem["loc"] for problem in refusal["detail"]] == [["body", *path]]
    assert desk.call("GET", f"/frames/{frame['id']}")["notes"] == ""


def test_a_revision_is_put_back(desk: Desk) -> None:
    frame = desk.log(notes="first")
    desk.call("PATCH", f"/frames/{frame['id']}", json={"notes": "second"})

    restored = desk.call("POST", f"/frames/{frame['id']}/restore", json={"revision": 1})

    assert (restored["notes"], restored["revision"]) == ("first", 3)
    refusal = desk.call("POST", f"/frames/{frame['id']}/restore", 422, json={"revision": 9})
    assert refusal["detail"][0]["loc"] == ["body", "revision"]


def test_a_frame_is_taken_back_and_brought_back(desk: Desk) -> None:
    desk.log()
    frame = desk.log()

    assert desk.call("POST", f"/frames/{frame['id']}/take-back")["taken_back"] is True
    assert desk.call("POST", f"/frames/{frame['id']}/bring-back")["taken_back"] is False


def test_the_reference_frame_is_not_taken_back(desk: Desk) -> None:
    reference = desk.log()

    desk.call("POST", f"/frames/{reference['id']}/take-back", 409)


def test_another_frame_becomes_the_reference(desk: Desk) -> None:
    desk.log()
    desk.set(f_number="11")
    second = desk.log()

    assert desk.call("POST", f"/frames/{second['id']}/reference")["is_reference"] is True

    assert desk.call("GET", f"/shots/{desk.shot_id}")["reference_frame_id"] == second["id"]
    assert [frame["ledger"]["balances"]["A"] for frame in frames_of(desk)] == [0.0, 1.0]


def test_a_frame_is_held_against_any_other_with_its_workings(desk: Desk) -> None:
    desk.set(f_number="5.6", lights__A__distance=600)
    first = desk.log()
    desk.set(f_number="22", lights__A__distance=300)
    second = desk.log()

    told = desk.call("GET", f"/frames/{second['id']}/ledger", params={"against": first["id"]})

    assert told["balances"] == {"A": -2.0, "ambient": -4.0}
    aperture = next(each for each in told["entries"] if (each["cause"], each["acts_on"]) == ("aperture", "A"))
    assert aperture["working"]["value"] == aperture["stops"] == -4.0
    assert aperture["working"]["formula"]
    assert aperture["working"]["source"]
    # f/5.6 and f/22 name 2^2.5 and 2^4.5.
    assert [given["value"] for given in aperture["working"]["given"]] == pytest.approx([2**2.5, 2**4.5])
    assert told["workings"]["A"]["value"] == -2.0
    back = desk.call("GET", f"/frames/{first['id']}/ledger", params={"against": second["id"]})
    assert back["balances"] == {"A": 2.0, "ambient": 4.0}


@pytest.mark.parametrize(("query", "status"), [({}, 422), ({"against": "none"}, 404)])
def test_a_frame_is_held_against_a_frame_that_there_is(desk: Desk, query: dict[str, str], status: int) -> None:
    frame = desk.log()

    desk.call("GET", f"/frames/{frame['id']}/ledger", status, params=query)

"""Frames beside each other and added up, over JSON."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.http.api.conftest import Desk
from tests.made_pictures import jpeg_bytes, rational, srgb_codes


def upload(desk: Desk, left: float, right: float, minute: int) -> dict[str, Any]:
    light = np.full((96, 144, 3), left)
    light[:, 72:] = right
    grain = np.random.default_rng(minute).normal(1.0, 0.03, (96, 144, 1))
    settings = {
        0x829A: rational("1/125"),
        0x829D: rational("8"),
        0x8827: 100,
        0x9003: f"2026:11:24 10:{minute:02}:00",
    }
    content = jpeg_bytes(srgb_codes(light * grain), settings=settings)
    files = {"picture": ("a.jpg", content, "image/jpeg")}
    frame: dict[str, Any] = desk.call(
        "POST", f"/shots/{desk.shot_id}/frames", 201, files=files, data={"purpose": "test"}
    )
    services(desk).intake._workers.submit(lambda: None).result()
    return frame


def services(desk: Desk) -> Any:
    return desk.client.app.state.services  # type: ignore[attr-defined]


@pytest.fixture
def solos(desk: Desk) -> Desk:
    """A frame lit by A alone and one by B alone."""
    head = desk.call("GET", "/kit/lights")[0]["id"]
    desk.call("POST", f"/shots/{desk.shot_id}/lights", 201, json={"head_id": head, "role": "fill"})
    desk.set(lights__A__power="50 J", lights__B__power="50 J", lights__B__lit=False)
    upload(desk, 0.12, 0.03, 1)
    desk.set(lights__A__lit=False, lights__B__lit=True)
    upload(desk, 0.03, 0.12, 2)
    return desk


def test_two_frames_beside_each_other(desk: Desk) -> None:
    first = upload(desk, 0.1, 0.1, 1)
    desk.set(f_number="5.6")
    second = upload(desk, 0.2, 0.2, 2)
    address = f"/frames/{first['id']}/compare/{second['id']}"
    assert desk.call("GET", address)["sharpness"]["state"] in ("waiting", "made")
    services(desk).light_table.wait()

    told = desk.call("GET", address)

    assert told["refused"] == ""
    assert told["lift_stops"] == pytest.approx(-1.0, abs=0.03)
    assert told["measured"][0]["difference_stops"] == pytest.approx(1.0, abs=0.03)
    assert told["sharpness"]["state"] == "made"
    assert len(told["sharpness"]["tiles"]) == told["sharpness"]["columns"] * told["sharpness"]["rows"]
    assert told["first"]["optics"]["working"][0]["formula"]


def test_a_mix_with_a_ratio_and_its_power_settings(solos: Desk) -> None:
    shot = f"/shots/{solos.shot_id}"
    assert [part["letter"] for part in solos.call("GET", f"{shot}/remix")["parts"]] == ["A", "B"]

    wanted = {"ratio": "3:1", "key": "A", "fill": "B"}
    told = solos.call("POST", f"{shot}/remix", json={"levels": {"A": 0.0}, "ratio": wanted})

    (patch,) = told["patches"]
    ratio = next(each for each in patch["ratios"] if (each["of"], each["to"]) == ("A", "B"))
    assert (ratio["key_to_fill"], ratio["sum_to_fill"]) == (
        pytest.approx(3.0, abs=0.01),
        pytest.approx(4.0, abs=0.01),
    )
    assert sum(patch["shares"].values()) == pytest.approx(1.0)
    # At the middle both give the same; log2(3) is 1.585.
    assert told["levels"]["B"] == pytest.approx(-1.585, abs=0.05)
    marks = {each["letter"]: each for each in told["power_settings"]}
    assert marks["A"]["power_stops"] == pytest.approx(solos.standing()["set_up"]["lights"]["A"]["power_stops"])
    assert marks["B"]["power_stops"] - marks["A"]["power_stops"] == pytest.approx(-1.6, abs=0.06)


def test_a_mix_is_saved_and_forgotten(solos: Desk) -> None:
    shot = f"/shots/{solos.shot_id}"

    saved = solos.call("POST", f"{shot}/mixes", 201, json={"name": "darker", "levels": {"B": None}})

    assert saved["levels"] == {"A": 0.0, "B": None}
    assert solos.call("POST", f"{shot}/remix", json={"mix_id": saved["id"]})["power_settings"][1]["out"] is True
    solos.call("DELETE", f"{shot}/mixes/{saved['id']}", 204)
    assert solos.call("GET", f"{shot}/remix")["saved"] == []


def test_the_addresses_and_names_of_before_lead_to_those_of_now(solos: Desk) -> None:
    shot = f"/api/v1/shots/{solos.shot_id}"

    for older, newer in (("sum", "remix"), ("mixtures", "mixes")):
        moved = solos.client.post(f"{shot}/{older}", json={}, follow_redirects=False)
        assert (moved.status_code, moved.headers["location"]) == (308, f"{shot}/{newer}")
    made = solos.client.post(
        f"{shot}/mixtures", json={"name": "darker", "kept_for": "lesson", "weights": {"B": -1}}, follow_redirects=True
    ).json()
    assert (made["saved_for"], made["levels"]) == ("lesson", {"A": 0.0, "B": -1.0})
    told = solos.client.post(f"{shot}/sum", json={"mixture_id": made["id"]}, follow_redirects=True).json()
    assert told["levels"] == made["levels"]
    assert solos.client.delete(f"{shot}/mixtures/{made['id']}", follow_redirects=True).status_code == 204


@pytest.mark.parametrize(
    ("body", "where"),
    [
        ({"levels": {"Z": 0.0}}, ["body", "levels", "Z"]),
        ({"levels": {"A": 9.5}}, ["body", "levels", "A"]),
        ({"mix_id": "none"}, ["body", "mix_id"]),
        ({"ratio": {"ratio": "wide", "key": "A", "fill": "B"}}, ["body", "ratio", "ratio"]),
        ({"ratio": {"ratio": "3:1", "key": "A", "fill": "B", "patch": "none"}}, ["body", "ratio", "patch"]),
    ],
)
def test_nonsense_is_refused_at_its_field(solos: Desk, body: dict[str, Any], where: list[str]) -> None:
    refusal = solos.call("POST", f"/shots/{solos.shot_id}/remix", 422, json=body)

    assert refusal["detail"][0]["loc"] == where


def test_without_solo_frames_nothing_is_added_up(desk: Desk) -> None:
    assert "log one for each light" in desk.call("GET", f"/shots/{desk.shot_id}/remix")["refused"][0]
    desk.call("POST", f"/shots/{desk.shot_id}/remix", 409, json={})


def test_a_stack_is_a_series(desk: Desk) -> None:
    for position in ("−0.3", "0", "0.3"):
        desk.log(purpose="stack", because=f"focus at {position} mm")

    (series,) = desk.call("GET", f"/shots/{desk.shot_id}/series")

    assert (series["first"], series["last"], series["count"]) == (1, 3, 3)
    assert series["positions_mm"] == [-0.3, 0.0, 0.3]
    assert series["step_mm"] == pytest.approx(0.3)

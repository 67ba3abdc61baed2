from __future__ import annotations

from typing import Any

import pytest

from tests.http.api.conftest import Desk

NEW: dict[str, dict[str, Any]] = {
    "cameras": {"name": "bench camera", "sync_mark": "1/160"},
    "lenses": {"name": "60 mm macro", "shortest_focal_mm": 60, "greatest_magnification": 1},
    "lights": {"name": "head 250", "full_energy_j": 250, "range_stops": 7, "marking": "joules"},
    "modifiers": {"name": "softbox 60", "shape": "rectangle", "width_mm": 600, "height_mm": 600, "loss_stops": 1.3},
    "filters": {"name": "ND 0.6", "loss": "ND 0.6"},
}


def in_use(desk: Desk, kind: str) -> str:
    """The id of a piece of kit that the set-up now holds."""
    set_up = desk.standing()["set_up"]
    lit = set_up["lights"]["A"]
    ids = {"cameras": set_up["camera"], "lenses": set_up["lens"], "lights": lit["head"], "modifiers": lit["modifier"]}
    found: str = ids[kind]["id"]
    return found


@pytest.mark.parametrize("kind", NEW)
def test_an_item_is_kept_listed_changed_and_forgotten(desk: Desk, kind: str) -> None:
    kept = desk.call("POST", f"/kit/{kind}", 201, json=NEW[kind])
    assert kept["name"] == NEW[kind]["name"]
    assert kept in desk.call("GET", f"/kit/{kind}")

    changed = desk.call("PATCH", f"/kit/{kind}/{kept['id']}", json={"notes": "third shelf"})
    assert changed == kept | {"notes": "third shelf", "revision": 2}
    assert desk.call("GET", f"/kit/{kind}/{kept['id']}") == changed

    desk.call("DELETE", f"/kit/{kind}/{kept['id']}", 204)
    desk.call("GET", f"/kit/{kind}/{kept['id']}", 404)


@pytest.mark.parametrize("kind", ["cameras", "lenses", "lights"])
def test_kit_in_a_standing_set_up_is_not_forgotten(desk: Desk, kind: str) -> None:
    refusal = desk.call("DELETE", f"/kit/{kind}/{in_use(desk, kind)}", 409)

    assert "1 set-up hold" in refusal["detail"][0]["msg"]
    desk.call("GET", f"/kit/{kind}/{in_use(desk, kind)}")


def test_kit_in_a_frame_is_not_forgotten(desk: Desk) -> None:
    modifier = desk.call("GET", "/kit/modifiers")[0]["id"]
    desk.set(lights__A__modifier=modifier)
    desk.log()
    desk.set(lights__A__modifier=None)

    refusal = desk.call("DELETE", f"/kit/modifiers/{modifier}", 409)

    assert "1 frame " in refusal["detail"][0]["msg"]


def test_a_modifier_with_a_meter_reading_is_not_forgotten(desk: Desk) -> None:
    light, modifier = (desk.call("GET", f"/kit/{kind}")[0]["id"] for kind in ("lights", "modifiers"))
    reading = {"modifier_id": modifier, "f_number": "11", "power": "full", "distance_mm": 1000}
    desk.call("POST", f"/kit/lights/{light}/meter-readings", 201, json=reading)

    desk.call("DELETE", f"/kit/modifiers/{modifier}", 409)

    assert len(desk.call("GET", f"/kit/lights/{light}/meter-readings")) == 1


def test_a_retired_item_leaves_the_list_and_returns(desk: Desk) -> None:
    light = desk.call("POST", "/kit/lights", 201, json=NEW["lights"])["id"]

    assert desk.call("POST", f"/kit/lights/{light}/retire")["retired"] is True
    assert light not in {item["id"] for item in desk.call("GET", "/kit/lights")}
    assert light in {item["id"] for item in desk.call("GET", "/kit/lights", params={"retired": True})}

    assert desk.call("POST", f"/kit/lights/{light}/return")["retired"] is False
    assert light in {item["id"] for item in desk.call("GET", "/kit/lights")}


def test_density_is_read_as_density(desk: Desk) -> None:
    """ISO 5: transmittance 10^-0.6 is a quarter, two stops."""
    kept = desk.call("POST", "/kit/filters", 201, json={"name": "ND 0.6", "density": 0.6})

    assert kept["loss_stops"] == pytest.approx(2.0, abs=0.01)


def test_a_loss_is_given_anew_in_another_way(desk: Desk) -> None:
    kept = desk.call("POST", "/kit/filters", 201, json=NEW["filters"])

    changed = desk.call("PATCH", f"/kit/filters/{kept['id']}", json={"loss": "ND8"})

    assert changed["loss_stops"] == 3.0


def test_editing_kit_changes_the_standing_set_up_and_no_frame(desk: Desk) -> None:
    frame = desk.log()

    desk.call("PATCH", f"/kit/lights/{in_use(desk, 'lights')}", json={"full_energy_j": 600})

    assert desk.standing()["set_up"]["lights"]["A"]["full_energy_j"] == 600
    stands = desk.call("GET", f"/frames/{frame['id']}")["set_up"]["lights"]["A"]
    assert stands["full_energy_j"] == frame["set_up"]["lights"]["A"]["full_energy_j"] == 400


@pytest.mark.parametrize(
    ("kind", "said", "field"),
    [
        ("cameras", {"name": ""}, "name"),
        ("cameras", {"name": "x", "sensor_width_mm": 0}, "sensor_width_mm"),
        ("cameras", {"name": "x", "sync_mark": "1/0"}, "sync_mark"),
        ("lenses", {"name": "x", "widest_f_number": -2}, "widest_f_number"),
        ("lights", {"name": "x", "step_stops": 0}, "step_stops"),
        ("lights", {"name": "x", "full_energy_j": -1}, "full_energy_j"),
        ("lights", {"name": "x", "kind": "candle"}, "kind"),
        ("modifiers", {"name": "x" * 10_000}, "name"),
        ("filters", {"name": "x", "loss_stops": -1}, "loss_stops"),
        ("filters", {"name": "x", "colour": "red"}, "colour"),
    ],
)
def test_nonsense_is_refused_at_its_field(desk: Desk, kind: str, said: dict[str, Any], field: str) -> None:
    before = desk.call("GET", f"/kit/{kind}")

    refusal = desk.call("POST", f"/kit/{kind}", 422, json=said)

    assert [problem["loc"] for problem in refusal["detail"]] == [["body", field]]
    assert desk.call("GET", f"/kit/{kind}") == before


def test_a_change_that_cannot_be_keeps_the_item(desk: Desk) -> None:
    camera = desk.call("GET", "/kit/cameras")[0]

    desk.call("PATCH", f"/kit/cameras/{camera['id']}", 422, json={"lowest_iso": 102_400})

    assert desk.call("GET", f"/kit/cameras/{camera['id']}") == camera


def test_a_meter_reading_gives_a_balance_before_any_frame(desk: Desk) -> None:
    """Metered f/8 at the power and distance that stand: the camera at f/8 is even, at f/11 one under."""
    desk.set(lights__A__power=-3, lights__A__distance=1000)
    reading = {"f_number": "8", "power": "1/8", "distance_mm": 1000}

    desk.call("POST", f"/kit/lights/{in_use(desk, 'lights')}/meter-readings", 201, json=reading)

    assert desk.standing()["balances"]["A"] == 0.0
    assert desk.set(f_number="11")["balances"]["A"] == -1.0


@pytest.mark.parametrize(
    ("over", "field"),
    [
        ({"f_number": "f/0"}, "f_number"),
        ({"power": "9999 J"}, "power"),
        ({"distance_mm": 0}, "distance_mm"),
        ({"modifier_id": "no such modifier"}, "modifier_id"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_a_meter_reading_is_refused_at_its_field(desk: Desk, over: dict[str, Any], field: str) -> None:
    reading = {"f_number": "8", "power": "1/8", "distance_mm": 1000} | over

    refusal = desk.call("POST", f"/kit/lights/{in_use(desk, 'lights')}/meter-readings", 422, json=reading)

    assert [problem["loc"] for problem in refusal["detail"]] == [["body", field]]

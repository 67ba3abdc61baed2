"""What cannot be is refused at its field, and the answer can always be read."""

from __future__ import annotations

import json
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.http.api.asking import BALANCE, exposure, light, refused

LONG = "1" * 10_000


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("f_number", "f/0"),
        ("f_number", 0),
        ("f_number", -8),
        ("f_number", "eleven"),
        ("f_number", LONG),
        ("f_number", ""),
        ("f_number", True),
        ("f_number", ["8"]),
        ("f_number", {"mark": "8"}),
        ("shutter", "1/0"),
        ("shutter", "-1/125"),
        ("shutter", 0),
        ("shutter", LONG),
        ("iso", -100),
        ("iso", "ISO -100"),
        ("iso", 0),
        ("iso", False),
        ("lens_filter_stops", -1),
        ("lens_filter_stops", "1"),
        ("magnification", -0.5),
        ("magnification", 101),
        ("magnification", "1:1"),
        ("pupil_ratio", 0),
        ("pops", 0),
        ("pops", 1.5),
        ("lights", []),
        ("lights", None),
        ("lights", {"": light()}),
        ("lights", {" ": light()}),
        ("lights", {"x" * 21: light()}),
        ("lights", {LONG: light()}),
        ("lights", {"ambient": light()}),
        ("lights", {"all": light()}),
        ("lights", {str(number): light() for number in range(51)}),
        ("colour", "red"),
    ],
)
def test_a_nonsense_setting_is_refused_at_its_field(stateless: TestClient, field: str, value: Any) -> None:
    assert refused(stateless, exposure() | {field: value}) == ["body", "to", field]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("power_stops", 0.1),
        ("power_stops", -7.1),
        ("power_stops", "1/32"),
        ("power_stops", True),
        ("distance_mm", 0),
        ("distance_mm", -600),
        ("distance_mm", "60 cm"),
        ("distance_mm", 1e12),
        ("step_stops", 0),
        ("step_stops", -0.1),
        ("step_stops", 1e-300),
        ("step_stops", None),
        ("lowest_power_stops", 1),
        ("full_energy_j", 0),
        ("full_energy_j", -400),
        ("filter_stops", -1),
        ("lit", 1),
        ("lit", "yes"),
        ("lit", None),
        ("kind", "candle"),
        ("colour", "red"),
    ],
)
def test_a_nonsense_light_is_refused_at_its_field(stateless: TestClient, field: str, value: Any) -> None:
    assert refused(stateless, exposure({"A": light(**{field: value})})) == ["body", "to", "lights", "A", field]


@pytest.mark.parametrize(
    ("over", "path"),
    [
        ({"target_stops": "1"}, ["body", "target_stops"]),
        ({"target_stops": None}, ["body", "target_stops"]),
        ({"target_stops": 1000}, ["body", "target_stops"]),
        ({"dial": {"iso": "fifth"}}, ["body", "dial", "iso"]),
        ({"dial": {"colour": "third"}}, ["body", "dial", "colour"]),
        ({"dial": "third"}, ["body", "dial"]),
        ({"target": 1}, ["body", "target"]),
        ({"from": exposure(f_number="f/0")}, ["body", "from", "f_number"]),
    ],
)
def test_a_nonsense_question_is_refused_at_its_field(
    stateless: TestClient, over: dict[str, Any], path: list[str]
) -> None:
    assert refused(stateless, exposure(), **over) == path


def test_every_bad_value_is_named_at_once(stateless: TestClient) -> None:
    body = {"from": exposure(f_number="f/0", iso=-1), "to": exposure({"A": light(distance_mm=0)}, shutter="1/0")}

    answer = stateless.post(BALANCE, json=body)

    assert [problem["loc"][1:] for problem in answer.json()["detail"]] == [
        ["from", "f_number"],
        ["from", "iso"],
        ["to", "shutter"],
        ["to", "lights", "A", "distance_mm"],
    ]


def test_the_message_says_what_is_allowed(stateless: TestClient) -> None:
    answer = stateless.post(BALANCE, json={"from": exposure(), "to": exposure(f_number="f/0")})

    assert "between f/0.3 and f/1024" in answer.json()["detail"][0]["msg"]


@pytest.mark.parametrize("field", ["f_number", "shutter", "iso", "lights"])
def test_what_has_to_be_given_is_named(stateless: TestClient, field: str) -> None:
    after = exposure()
    del after[field]

    assert refused(stateless, after) == ["body", "to", field]


@pytest.mark.parametrize("token", ["NaN", "Infinity", "-Infinity", "1e400", "9" * 10_000])
@pytest.mark.parametrize(
    ("slot", "path"),
    [
        ("f_number", ["body", "to", "f_number"]),
        ("magnification", ["body", "to", "magnification"]),
        ("pops", ["body", "to", "pops"]),
        ("distance_mm", ["body", "to", "lights", "A", "distance_mm"]),
        ("power_stops", ["body", "to", "lights", "A", "power_stops"]),
        ("step_stops", ["body", "to", "lights", "A", "step_stops"]),
    ],
)
def test_no_number_is_refused_at_its_field(stateless: TestClient, token: str, slot: str, path: list[str]) -> None:
    marked = "PUT IT HERE"
    after = exposure({"A": light(**{slot: marked})}) if slot in light() else exposure(**{slot: marked})
    body = json.dumps({"from": exposure(), "to": after}).replace(f'"{marked}"', token)

    answer = stateless.post(BALANCE, content=body, headers={"Content-Type": "application/json"})

    assert answer.status_code == 422
    assert [problem["loc"] for problem in answer.json()["detail"]] == [path]


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b'"\\ud800"',
        b'{"\\udfff": 1}',
        b"\xff\xfe{}",
        b"[" * 100_000,
        b'{"from": {"lights": {"\\ud800": {}}}}',
    ],
)
def test_what_is_no_question_is_refused(stateless: TestClient, body: bytes) -> None:
    answer = stateless.post(BALANCE, content=body, headers={"Content-Type": "application/json"})

    assert answer.status_code == 422
    assert answer.json()["detail"][0]["loc"][0] == "body"


def test_a_body_past_all_bounds_is_refused(stateless: TestClient) -> None:
    answer = stateless.post(
        BALANCE, content=b'"' + b"x" * (1 << 20) + b'"', headers={"Content-Type": "application/json"}
    )

    assert answer.status_code == 413
    assert answer.json()["detail"]


def test_a_page_of_another_site_may_not_ask(stateless: TestClient) -> None:
    answer = stateless.post(BALANCE, json={}, headers={"Origin": "http://elsewhere.example"})

    assert answer.status_code == 403

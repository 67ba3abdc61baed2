"""How the tests ask: exposures as JSON, and the answer to a balance."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.testclient import TestClient

Json = dict[str, Any]
BALANCE = "/api/v1/balance"


def light(**over: Any) -> Json:
    """A monolight of 400 J at 6.25 J, 60 cm from the subject."""
    return {
        "lit": True,
        "power_stops": -6,
        "lowest_power_stops": -7,
        "step_stops": 0.1,
        "full_energy_j": 400,
        "distance_mm": 600,
        "filter_stops": 0,
    } | over


def exposure(lights: Mapping[str, Json] | None = None, **over: Any) -> Json:
    """f/5.6, 1/125, ISO 100, lit by A alone."""
    return {
        "f_number": "5.6",
        "shutter": "1/125",
        "iso": 100,
        "lens_filter_stops": 0,
        "magnification": None,
        "pupil_ratio": 1,
        "lights": {"A": light()} if lights is None else dict(lights),
    } | over


def ask(client: TestClient, before: Json, after: Json, **over: Any) -> Json:
    """The answer to a comparison, which has to be one."""
    answer = client.post(BALANCE, json={"from": before, "to": after} | over)
    assert answer.status_code == 200, answer.text
    told: Json = answer.json()
    return told


def refused(client: TestClient, after: Json, **over: Any) -> list[str]:
    """The path of the one field that a comparison is refused for."""
    answer = client.post(BALANCE, json={"from": exposure(), "to": after} | over)
    assert answer.status_code == 422, answer.text
    (problem,) = answer.json()["detail"]
    assert problem["msg"]
    path: list[str] = problem["loc"]
    return path


def stops_by_cause(told: Json, acts_on: str) -> dict[str, float | None]:
    return {entry["cause"]: entry["stops"] for entry in told["entries"] if entry["acts_on"] == acts_on}


def causes_offered(told: Json, acts_on: str = "A") -> list[str]:
    return [way["cause"] for way in told["corrections"] if way["acts_on"] == acts_on]


def applied(after: Json, correction: Json) -> Json:
    """An exposure with the fields of a correction's `to` in it."""
    if correction["acts_on"] in after["lights"] and not correction["to"].keys() & after.keys() - {"lights"}:
        fields = {"lights": {correction["acts_on"]: correction["to"]}}
    else:
        fields = correction["to"]
    lights = {name: {**stands, **fields.get("lights", {}).get(name, {})} for name, stands in after["lights"].items()}
    return {**after, **fields, "lights": lights}

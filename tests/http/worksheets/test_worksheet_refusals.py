"""What a worksheet cannot work with is refused in a sentence, at its parameter."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

Refused = Callable[..., dict[str, str]]
RING = {"shape": "ring", "diameter_mm": 60, "distance_mm": 100}
LENS = {"focal_length_mm": 50, "f_number": 8, "circle_of_confusion_mm": 0.03}
STACK = {"depth_mm": 10, "magnification": 1, "f_number": 8, "circle_of_confusion_mm": 0.02}
ROW = {
    "subject_width_mm": 600,
    "source_distance_mm": 1200,
    "bearing_deg": 60,
    "turn_deg": 40,
    "source_width_mm": 600,
}
PAIR = {
    "original_width_mm": 600,
    "original_height_mm": 400,
    "light_distance_mm": 1500,
    "bearing_deg": 45,
    "camera_distance_mm": 1200,
}
TUMBLER = {"glass_width_mm": 70, "wall_mm": 2, "field_distance_mm": 300}
SHEET = {
    "field_width_mm": 600,
    "field_height_mm": 400,
    "camera_distance_mm": 1500,
    "camera_height_mm": 500,
    "looks_at_mm": 150,
    "behind_mm": 300,
    "radius_mm": 400,
    "light_height_mm": 1200,
}
ENERGY = {"full_energy_j": 400, "power_stops": -1, "change_stops": 1}


@pytest.mark.parametrize(
    ("name", "query", "parameter"),
    [
        ("source-illuminance", {**RING, "inner_diameter_mm": 75}, "inner_diameter_mm"),
        ("source-illuminance", RING, "inner_diameter_mm"),
        ("source-illuminance", {"shape": "tube", "distance_mm": 100}, "shape"),
        ("source-illuminance", {**RING, "inner_diameter_mm": 40, "offset_mm": 1e6}, "offset_mm"),
        ("depth-of-field", {**LENS, "subject_distance_mm": 40}, "subject_distance_mm"),
        ("depth-of-field", LENS, "subject_distance_mm"),
        ("depth-of-field", {**LENS, "subject_distance_mm": 400, "magnification": 1}, "magnification"),
        ("depth-of-field", {**LENS, "magnification": 0}, "magnification"),
        ("focus-stack", {**STACK, "overlap": 1}, "overlap"),
        ("focus-stack", {**STACK, "overlap": -0.1}, "overlap"),
        ("flash-energy", {**ENERGY, "power_stops": 1}, "power_stops"),
        ("flash-energy", {**ENERGY, "lowest_power_stops": 6}, "lowest_power_stops"),
        ("flash-energy", {**ENERGY, "step_stops": 0}, "step_stops"),
        ("guide-number", {"guide_number_m": 40}, "f_number"),
        ("guide-number", {"guide_number_m": 40, "f_number": 8, "distance_mm": 5000}, "f_number"),
        ("guide-number", {"guide_number_m": 40, "f_number": 8, "power_stops": 1}, "power_stops"),
        ("pixel-levels", {"from_level": 0, "to_level": 128}, "from_level"),
        ("pixel-levels", {"from_level": 128, "to_level": 255}, "to_level"),
        ("lighting-ratio", {"ratio": 1, "convention": "sum_to_fill"}, "ratio"),
        ("lighting-ratio", {"ratio": 4}, "convention"),
        ("lighting-ratio", {"shadow_stops": -3}, "wanted_shadow_stops"),
        ("lighting-ratio", {"shadow_stops": -3, "wanted_shadow_stops": -4}, "wanted_shadow_stops"),
        ("lighting-ratio", {}, "key_minus_fill_stops"),
        ("family-of-angles", {"subject_width_mm": 10, "camera_distance_mm": 500, "light_distance_mm": 500, "tilt_deg": 90}, "tilt_deg"),
        ("field-of-view", {"focal_length_mm": 50, "sensor_width_mm": 36, "sensor_height_mm": 24, "subject_distance_mm": 40}, "subject_distance_mm"),
        ("softbox", {"angle_deg": 180, "source_distance_mm": 900, "screen_distance_mm": 100}, "angle_deg"),
        ("softbox", {"angle_deg": 40, "penumbra_mm": 60, "source_distance_mm": 900, "screen_distance_mm": 100}, "penumbra_mm"),
        ("softbox", {"angle_deg": 40, "screen_distance_mm": 100}, "source_distance_mm"),
        ("feathering", {**ROW, "bearing_deg": 90}, "bearing_deg"),
        ("feathering", {**ROW, "turn_deg": 86}, "turn_deg"),
        ("feathering", {**ROW, "source_distance_mm": 400}, "bearing_deg"),
        ("copy-glare", {"original_width_mm": 600, "camera_distance_mm": 1200, "light_distance_mm": 200, "light_width_mm": 100}, "tilt_deg"),
        ("copy-pair", {**PAIR, "bearing_deg": 90}, "bearing_deg"),
        ("copy-pair", {**PAIR, "bearing_deg": 88}, "bearing_deg"),
        ("edge-cards", {**TUMBLER, "dark_edge_mm": 35}, "dark_edge_mm"),
        ("edge-cards", {**TUMBLER, "wall_mm": 35, "dark_edge_mm": 5}, "wall_mm"),
        ("edge-cards", {**TUMBLER, "field_distance_mm": 30, "dark_edge_mm": 5}, "dark_edge_mm"),
        ("edge-cards", {**TUMBLER, "glass_index": 0.9, "dark_edge_mm": 5}, "wall_mm"),
        ("edge-cards", TUMBLER, "dark_edge_mm"),
        ("sweep", {**SHEET, "light_height_mm": 200}, "light_height_mm"),
        ("sync-ambient", {"ambient_f_number": 8, "ambient_shutter": "1/30", "iso": 400, "wanted_stops": 300, "sync": "1/200"}, "wanted_stops"),
        ("filter", {"factor": 0.5}, "factor"),
        ("filter", {"density": 1, "stops": 3}, "stops"),
        ("filter", {"crossed_deg": 91}, "crossed_deg"),
        ("colour-shift", {"from_kelvin": 500, "to_kelvin": 5000}, "from_kelvin"),
        ("colour-shift", {"from_kelvin": 5000, "shift_mired": -300}, "shift_mired"),
        ("colour-mix", {"kelvin": "3000;5000", "shares": "1"}, "shares"),
        ("colour-mix", {"kelvin": "3000;500", "shares": "1;1"}, "kelvin"),
        ("mixed-light", {"levels_stops": "1;;2"}, "levels_stops"),
        ("mixed-light", {"levels_stops": "10,9"}, "levels_stops"),
        ("marked-value", {"quantity": "iso", "mark": "fast"}, "mark"),
        ("marked-value", {"quantity": "power", "mark": "2/1"}, "mark"),
        ("close-up", {"f_number": 8, "magnification": 1, "reversed": "yes"}, "reversed"),
        ("close-up", {"f_number": 8, "magnification": 1, "dial": "quarter"}, "dial"),
        ("light-meter", {"f_number": 8, "shutter": "1/0", "iso": 100}, "shutter"),
        ("light-meter", {"f_number": "f/0", "shutter": 1, "iso": 100}, "f_number"),
        ("light-meter", {"f_number": 8, "shutter": 1, "iso": -100}, "iso"),
    ],
)  # fmt: skip
def test_the_refusal_stands_at_its_parameter(
    refused: Refused, name: str, query: dict[str, object], parameter: str
) -> None:
    problems = refused(name, **query)

    assert list(problems) == [parameter]
    assert problems[parameter].endswith(".")


@pytest.mark.parametrize("text", ["nan", "inf", "-inf", "1e999", "0x10", "1_000", "ten", "1;5", "1:0", "9" * 10_000])
def test_what_is_no_number_is_refused(refused: Refused, text: str) -> None:
    assert list(refused("close-up", f_number=8, magnification=text)) == ["magnification"]
    assert list(refused("mixed-light", levels_stops=f"1;{text.replace(';', '..')}")) == ["levels_stops"]


@pytest.mark.parametrize("text", ["nan", "f/inf", "8" * 10_000, "1/125", "\x00"])
def test_what_is_no_mark_is_refused(refused: Refused, text: str) -> None:
    assert list(refused("close-up", f_number=text, magnification=1)) == ["f_number"]


def test_an_unknown_parameter_is_named(refused: Refused) -> None:
    problems = refused("close-up", f_number=8, magnification=1, magnificaton=2)

    assert list(problems) == ["magnificaton"]
    assert "magnificaton" in problems["magnificaton"]
    assert "magnification" in problems["magnificaton"]


def test_everything_wrong_is_told_at_once(refused: Refused) -> None:
    assert set(refused("close-up", f_number="wide", pupil_ratio=-1)) == {
        "f_number",
        "magnification",
        "pupil_ratio",
    }


def test_a_parameter_given_twice_is_refused(client: TestClient) -> None:
    answer = client.get("/api/v1/worksheets/close-up?f_number=8&magnification=1&magnification=2")

    assert answer.status_code == 422
    assert answer.json()["detail"][0]["loc"] == ["query", "magnification"]


def test_an_unknown_worksheet_is_not_there(client: TestClient) -> None:
    assert client.get("/api/v1/worksheets/depth").status_code == 404
    assert client.get("/worksheets/depth").status_code == 404

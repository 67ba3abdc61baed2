"""How worksheets are asked and how they answer: lists, marks, signs, nulls, defaults."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Any

import pytest
from starlette.testclient import TestClient

Ask = Callable[..., dict[str, Any]]
DEPTH = {"focal_length_mm": 50, "f_number": 8, "circle_of_confusion_mm": 0.03}
SAME = {
    "from_f_number": 8,
    "to_f_number": 8,
    "from_shutter": "1/125",
    "to_shutter": "1/125",
    "from_iso": 100,
    "to_iso": 100,
}
FORMATS = {
    "from_sensor_width_mm": 36,
    "from_sensor_height_mm": 24,
    "to_sensor_width_mm": 24,
    "to_sensor_height_mm": 16,
}


def test_lists_have_semicolons_and_a_comma_is_a_decimal_sign(ask: Ask) -> None:
    assert ask("mixed-light", levels_stops="0;-1")["shares"] == ask("mixed-light", levels_stops="0 ; −1")["shares"]
    assert ask("mixed-light", levels_stops="0,5; 0.5")["shares"] == [0.5, 0.5]


def test_switches_are_true_and_false(ask: Ask) -> None:
    usual = ask("close-up", f_number=8, magnification=2, pupil_ratio=2, reversed="false")
    reversed_lens = ask("close-up", f_number=8, magnification=2, pupil_ratio=2, reversed="true")

    assert usual == ask("close-up", f_number=8, magnification=2, pupil_ratio=2)
    # The f-number and pupil ratio stay those of the lens mounted normally: 8 (1/2 + 2).
    assert reversed_lens["effective_f_number"] == 20


@pytest.mark.parametrize("shutter", ["30", "30s", "30 s"])
def test_a_bare_shutter_number_is_seconds(ask: Ask, shutter: str) -> None:
    assert ask("light-meter", f_number="f/1", shutter=shutter, iso=100)["ev"] == -5


def test_marks_are_read_on_the_third_stop_dial_unless_another_is_named(ask: Ask) -> None:
    third = ask("close-up", f_number="f/13", magnification=0)["effective_f_number"]
    half = ask("close-up", f_number="f/13", magnification=0, dial="half")["effective_f_number"]

    assert 2 * math.log2(third) == pytest.approx(22 / 3)
    assert 2 * math.log2(half) == pytest.approx(15 / 2)


def test_a_value_on_no_dial_is_used_as_it_is_and_said_to_be(client: TestClient) -> None:
    answer = client.get("/api/v1/worksheets/close-up", params={"f_number": "12.2", "magnification": 0}).json()

    assert answer["results"]["effective_f_number"] == pytest.approx(12.2, rel=1e-12)
    assert any("no dial" in caution for caution in answer["cautions"])


def test_results_are_not_snapped_to_a_dial(ask: Ask) -> None:
    assert ask("sharpest-aperture", depth_mm=2, magnification=1)["f_number"] == pytest.approx(math.sqrt(750) / 2)


def test_an_optional_parameter_left_out_is_unchanged(client: TestClient) -> None:
    answer = client.get("/api/v1/worksheets/exposure-difference", params={**SAME, "to_power_stops": -3}).json()

    assert answer["results"] == {"flash_balance_stops": 0, "ambient_balance_stops": 0, "entries": []}
    assert any("unchanged" in caution for caution in answer["cautions"])


def test_an_empty_text_counts_as_left_out(ask: Ask) -> None:
    assert ask("depth-of-field", **DEPTH, subject_distance_mm=3000, magnification="") == ask(
        "depth-of-field", **DEPTH, subject_distance_mm=3000
    )


def test_to_infinity_is_null(ask: Ask) -> None:
    beyond = ask("depth-of-field", **DEPTH, subject_distance_mm=20_000)
    crossed = ask("filter", crossed_deg=90)
    wide = ask("shadow", source_width_mm=20, source_distance_mm=500, screen_distance_mm=50, occluder_width_mm=30)

    assert beyond["far_mm"] is beyond["depth_mm"] is None
    assert crossed["stops"] is crossed["density"] is crossed["factor"] is None
    assert wide["umbra_length_mm"] is None


def test_more_light_is_positive_and_to_is_held_against_from(ask: Ask) -> None:
    opened = ask("exposure-difference", **{**SAME, "to_f_number": "5.6"})
    nearer = ask("exposure-difference", **SAME, from_distance_mm=2000, to_distance_mm=1000)
    raised = ask("exposure-difference", **SAME, from_power_stops=-3, to_power_stops=-1)

    assert opened["flash_balance_stops"] == opened["ambient_balance_stops"] == 1
    assert (nearer["flash_balance_stops"], nearer["ambient_balance_stops"]) == (2, 0)
    assert (raised["flash_balance_stops"], raised["ambient_balance_stops"]) == (2, 0)


def test_the_shutter_moves_the_ambient_light_alone(ask: Ask) -> None:
    longer = ask("exposure-difference", **{**SAME, "to_shutter": "1/30"})

    assert (longer["flash_balance_stops"], longer["ambient_balance_stops"]) == (0, 2)
    assert longer["entries"] == [
        {"cause": "shutter", "acts_on": "ambient", "stops": 2, "from": "1/125 s", "to": "1/30 s"}
    ]


def test_losses_are_positive(ask: Ask) -> None:
    darker = ask("exposure-difference", **SAME, from_lens_filter_stops=0, to_lens_filter_stops=3)
    closer = ask("exposure-difference", **SAME, from_magnification=0, to_magnification=1)

    assert darker["flash_balance_stops"] == darker["ambient_balance_stops"] == -3
    assert closer["flash_balance_stops"] == closer["ambient_balance_stops"] == -2
    assert ask("close-up", f_number=8, magnification=1)["exposure_increase_stops"] == 2
    assert ask("filter", factor=8)["stops"] == 3


def test_the_balance_is_the_sum_of_its_entries(ask: Ask) -> None:
    changed = ask(
        "exposure-difference",
        **{**SAME, "to_f_number": "f/11", "to_iso": 250, "to_shutter": "1/50"},
        from_magnification=0.2,
        to_magnification=0.7,
        from_power_stops=-4,
        to_power_stops=-1.5,
    )

    for light in ("flash", "ambient"):
        acting = [entry["stops"] for entry in changed["entries"] if entry["acts_on"] in (light, "all")]
        assert changed[f"{light}_balance_stops"] == pytest.approx(math.fsum(acting))


def test_pupil_ratio_counts_in_a_difference(ask: Ask) -> None:
    closer = ask("exposure-difference", **SAME, from_magnification=0, to_magnification=1, pupil_ratio=0.5)

    assert closer["flash_balance_stops"] == pytest.approx(-2 * math.log2(3))


def test_the_literal_is_held_against_the_exact(ask: Ask) -> None:
    # 1/125 s is longer than the 1/128 it names; f/11 is the smaller number than 11.31.
    assert ask("marked-value", quantity="shutter", mark="1/125")["literal_minus_exact_stops"] > 0
    assert ask("marked-value", quantity="f_number", mark="11")["literal_minus_exact_stops"] < 0


def test_a_mark_that_two_dials_share_tells_the_other_reading(ask: Ask) -> None:
    third = ask("marked-value", quantity="shutter", mark="20", dial="third")

    assert third["exact"] == pytest.approx(2 ** (13 / 3))
    assert third["other_readings"] == [{"dial": "half", "exact": pytest.approx(2**4.5)}]


def test_depth_is_far_minus_near_also_for_a_magnification(ask: Ask) -> None:
    field = ask("depth-of-field", focal_length_mm=100, f_number=16, circle_of_confusion_mm=0.03, magnification=1)

    # Traced through the pupil's edge: 1.92004 mm; the close-up form says 1.92.
    assert field["depth_mm"] == pytest.approx(1.92004, abs=5e-6)
    assert field["far_mm"] - field["near_mm"] == pytest.approx(field["depth_mm"], rel=1e-9)
    assert field["near_mm"] < 200 < field["far_mm"]


def test_wavelength_defaults_to_the_green_line(ask: Ask) -> None:
    assert ask("sharpest-aperture", depth_mm=2, magnification=1) == ask(
        "sharpest-aperture", depth_mm=2, magnification=1, wavelength_nm=546
    )


def test_whether_a_circle_of_confusion_is_reached_is_told_only_for_one(ask: Ask) -> None:
    deep = {"depth_mm": 20, "magnification": 1}

    assert ask("sharpest-aperture", **deep)["reaches_circle_of_confusion"] is None
    assert ask("sharpest-aperture", **deep, circle_of_confusion_mm=0.03)["reaches_circle_of_confusion"] is False
    assert ask("sharpest-aperture", **deep, circle_of_confusion_mm=0.5)["reaches_circle_of_confusion"] is True


def test_a_stack_counts_with_and_without_its_ends(ask: Ask) -> None:
    thin = {
        "depth_mm": 0.5,
        "magnification": 1,
        "f_number": 16,
        "circle_of_confusion_mm": 0.03,
        "overlap": 0.2,
    }

    stack = ask("focus-stack", **thin)

    assert (stack["frames"], stack["frames_with_ends"]) == (1, 2)


def test_a_point_has_no_relative_illuminance(ask: Ask) -> None:
    point = ask("source-illuminance", shape="point", distance_mm=1000, to_distance_mm=2000, offset_mm=1000)

    assert point["relative_illuminance"] is None
    assert point["over_inverse_square_stops"] == pytest.approx(0, abs=1e-12)
    assert point["change_stops"] == -2
    # The cosine cubed at 45 degrees.
    assert point["offset_stops"] == pytest.approx(-1.5)


def test_a_source_that_is_not_moved_does_not_change(ask: Ask) -> None:
    disc = ask("source-illuminance", shape="disc", diameter_mm=600, distance_mm=600)

    assert (disc["change_stops"], disc["offset_stops"], disc["peak_distance_mm"]) == (0, 0, None)
    assert disc["over_inverse_square_stops"] < 0


def test_the_offset_of_a_rectangle_runs_along_its_width(ask: Ask) -> None:
    lying = ask("source-illuminance", shape="rectangle", width_mm=1200, height_mm=100, distance_mm=300, offset_mm=300)
    standing = ask(
        "source-illuminance", shape="rectangle", width_mm=100, height_mm=1200, distance_mm=300, offset_mm=300
    )

    assert lying["offset_stops"] > standing["offset_stops"] + 1


def test_sizes_that_do_not_belong_to_the_shape_are_said_to_be_unused(client: TestClient) -> None:
    query = {"shape": "disc", "diameter_mm": 600, "inner_diameter_mm": 100, "distance_mm": 600}
    answer = client.get("/api/v1/worksheets/source-illuminance", params=query).json()

    assert any("not used" in caution for caution in answer["cautions"])


def test_a_longer_shutter_is_positive_on_mixed_light(ask: Ask) -> None:
    assert ask("ambient-share", ambient_stops=0, shutter_change_stops=1)["total_change_stops"] > 0
    assert ask("ambient-share", ambient_stops=0, shutter_change_stops=-1)["total_change_stops"] < 0
    assert ask("ambient-share", ambient_stops=0)["total_change_stops"] == 0


@pytest.mark.parametrize(
    "told",
    [
        {"key_minus_fill_stops": 2},
        {"ratio": 4, "convention": "key_to_fill"},
        {"ratio": 5, "convention": "sum_to_fill"},
    ],
)
def test_a_ratio_is_the_same_however_it_is_told(ask: Ask, told: dict[str, object]) -> None:
    assert ask("lighting-ratio", **told) == {"key_to_fill": 4, "sum_to_fill": 5, "fill_stops": -2}


def test_the_fill_to_add_is_against_the_key_alone(ask: Ask) -> None:
    # An eighth is there, a quarter is wanted: another eighth has to come.
    assert ask("lighting-ratio", shadow_stops=-3, wanted_shadow_stops=-2)["fill_stops"] == -3


def test_residue_is_wanted_minus_reached(ask: Ask) -> None:
    dial = {"full_energy_j": 400, "lowest_power_stops": -6, "step_stops": 1}

    between = ask("flash-energy", **dial, power_stops=-3, change_stops=1.25)
    below = ask("flash-energy", **dial, power_stops=-5, change_stops=-3)
    above = ask("flash-energy", **dial, power_stops=-1, change_stops=3)

    assert (between["to_power_stops"], between["residue_stops"], between["pops"]) == (-2, 0.25, 1)
    assert (below["to_power_stops"], below["residue_stops"], below["pops"]) == (-6, -2, 1)
    assert (above["to_power_stops"], above["residue_stops"], above["pops"]) == (0, 2, 4)


def test_quantisation_adds_up_from_both_levels(ask: Ask) -> None:
    # Half a code, as a ± figure: 0.145 at 5, 0.022 at 64 (IEC 61966-2-1, to three places).
    assert ask("pixel-levels", from_level=5, to_level=64)["quantisation_stops"] == pytest.approx(0.167, abs=1e-3)


def test_the_soft_edge_is_there_also_where_no_core_is_left(client: TestClient) -> None:
    query = {
        "source_width_mm": 600,
        "source_distance_mm": 1000,
        "screen_distance_mm": 500,
        "occluder_width_mm": 100,
    }
    answer = client.get("/api/v1/worksheets/shadow", params=query).json()

    assert answer["results"]["umbra_mm"] == 0
    assert answer["results"]["penumbra_mm"] == 300
    assert any("No full shadow" in caution for caution in answer["cautions"])


@pytest.mark.parametrize("offset_mm", [500, -500])
def test_a_shadow_goes_away_from_the_light(ask: Ask, offset_mm: float) -> None:
    thrown = {
        "source_width_mm": 1,
        "source_distance_mm": 750,
        "screen_distance_mm": 50,
        "occluder_width_mm": 10,
    }

    assert ask("shadow", **thrown, offset_mm=offset_mm)["displacement_mm"] == pytest.approx(33.333, abs=5e-4)


def test_the_family_of_angles_goes_away_from_the_camera(ask: Ask) -> None:
    square_on = {"subject_width_mm": 10, "camera_distance_mm": 1000, "light_distance_mm": 500}

    assert ask("family-of-angles", **square_on)["centre_mm"] == 0
    assert ask("family-of-angles", **square_on, tilt_deg=22.5)["centre_mm"] == pytest.approx(500)
    assert ask("family-of-angles", **square_on, tilt_deg=-22.5)["centre_mm"] == pytest.approx(500)


def test_a_card_has_ten_millimetres_more_on_every_side(ask: Ask) -> None:
    view = {"field_width_mm": 100, "field_height_mm": 50, "camera_distance_mm": 500, "card_distance_mm": 500}

    assert ask("background-card", **view) == {"width_mm": 220, "height_mm": 120}
    assert ask("background-card", **view, margin_mm=0) == {"width_mm": 200, "height_mm": 100}


def test_an_equivalent_picture_gathers_the_same_light(ask: Ask) -> None:
    distant = ask("format-equivalence", **FORMATS, f_number=6, focal_length_mm=60)

    assert distant["f_number"] == distant["effective_f_number"] == pytest.approx(4)
    assert distant["focal_length_mm"] == pytest.approx(40)
    assert distant["total_light_stops"] == pytest.approx(0, abs=1e-12)
    assert distant["total_light_at_same_f_number_stops"] == pytest.approx(2 * math.log2(2 / 3))
    assert "magnification" not in distant


def test_duv_is_below_the_locus_for_a_mix(ask: Ask) -> None:
    assert ask("colour-mix", kelvin="2900;6500", shares="1;1")["duv"] < 0


def test_every_worksheet_tells_its_working(client: TestClient) -> None:
    for described in client.get("/api/v1/worksheets").json()["worksheets"]:
        page = client.get(f"/worksheets/{described['name']}")
        assert 'class="working"' in page.text, described["name"]


def test_a_step_of_a_working_has_its_formula_numbers_and_citation(client: TestClient) -> None:
    query = {"f_number": "f/16", "magnification": 1}
    step = client.get("/api/v1/worksheets/close-up", params=query).json()["working"][0]

    assert step == {
        "result": "effective f-number",
        "value": 32,
        "unit": "",
        "formula": "N_eff = N (1 + m / P)",
        "given": [
            {"symbol": "N", "meaning": "f-number as marked", "value": 16, "unit": ""},
            {"symbol": "m", "meaning": "magnification", "value": 1, "unit": ""},
            {"symbol": "P", "meaning": "pupil magnification", "value": 1, "unit": ""},
        ],
        "assumptions": [],
        "source": step["source"],
    }
    assert "pupil magnification" in step["source"]


def test_the_list_names_every_worksheet_with_its_parameters(client: TestClient) -> None:
    listed = {each["name"]: each for each in client.get("/api/v1/worksheets").json()["worksheets"]}

    assert len(listed) == 30
    close_up = {each["name"]: each for each in listed["close-up"]["parameters"]}
    assert close_up["f_number"]["required"]
    assert close_up["dial"]["default"] == "third"
    assert close_up["dial"]["choices"][:3] == ["full", "half", "third"]
    assert all(each["purpose"].endswith(".") for each in listed.values())


def test_the_description_of_the_interface_names_every_parameter(client: TestClient) -> None:
    paths = client.get("/api/v1/openapi.json").json()["paths"]

    for described in client.get("/api/v1/worksheets").json()["worksheets"]:
        in_openapi = paths[f"/api/v1/worksheets/{described['name']}"]["get"]["parameters"]
        assert [each["name"] for each in in_openapi] == [each["name"] for each in described["parameters"]]
    assert json.dumps(paths["/api/v1/worksheets/close-up"]["get"]["responses"]).count("schema") >= 2

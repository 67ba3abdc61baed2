"""The ways out of a balance that is off: which, in which order, and in which words."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.http.api.asking import applied, ask, causes_offered, exposure, light


def one_over(**over: Any) -> dict[str, Any]:
    return exposure({"A": light(power_stops=-1, **over)}, f_number="22")


def test_one_light_over_is_taken_back_by_its_energy_first(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), one_over())

    first = told["corrections"][0]
    assert (first["acts_on"], first["cause"], first["to"]) == ("A", "energy", {"power_stops": -2.0})
    assert first["leaves_stops"] == 0.0
    assert first["sentence"] == "A is 1.0 over. A: 200 J to 100 J. Depth and ambient unchanged."


def test_after_the_energy_comes_iso_which_costs_noise_then_aperture_which_costs_depth_then_distance(
    stateless: TestClient,
) -> None:
    assert causes_offered(ask(stateless, exposure(), one_over())) == ["energy", "iso", "aperture", "distance"]


def test_a_correction_names_the_fields_of_an_exposure(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), one_over())

    fields = {way["cause"]: way["to"] for way in told["corrections"]}
    assert fields["aperture"] == {"f_number": "32"}
    assert fields["iso"] == {"iso": 50}
    assert fields["distance"].keys() == {"distance_mm"}


@pytest.mark.parametrize("power_stops", [-7, -4, -1, 0])
def test_the_shutter_never_corrects_flash(stateless: TestClient, power_stops: float) -> None:
    told = ask(stateless, exposure(), exposure({"A": light(power_stops=power_stops)}, shutter="1/500"))

    assert "shutter" not in causes_offered(told)


def test_an_energy_below_the_dial_is_a_note_with_its_number(stateless: TestClient) -> None:
    low = light(power_stops=-6, lowest_power_stops=-6, full_energy_j=None)

    told = ask(stateless, exposure({"A": low}, f_number="16"), exposure({"A": low}, f_number="8"))

    assert causes_offered(told)[:2] == ["iso", "aperture"]
    assert any("needs 1/256, the lowest mark is 1/64: 2.0 stops short" in note for note in told["notes"])


def test_an_energy_above_full_is_a_note_and_pops_are_offered_where_the_recycle_time_is_known(
    stateless: TestClient,
) -> None:
    full = {"A": light(power_stops=0)}
    recycling = {"A": light(power_stops=0, recycle_s=1.5)}

    told = ask(stateless, exposure(full), exposure(full, f_number="11"))
    known = ask(stateless, exposure(recycling), exposure(recycling, f_number="11"))

    assert any("2.0 stops more than full" in note for note in told["notes"])
    assert any("would need the recycle time" in note for note in told["notes"])
    assert causes_offered(told) == ["iso", "aperture", "distance"]
    assert causes_offered(known) == ["iso", "aperture", "distance", "pops"]
    assert known["corrections"][-1]["to"] == {"pops": 4, "shutter": "6"}


def test_all_lights_over_alike_are_corrected_together_the_energies_first_since_ratios_hold(
    stateless: TestClient,
) -> None:
    both = {"A": light(), "B": light(power_stops=-3)}

    told = ask(stateless, exposure(both, f_number="11"), exposure(both, f_number="8"))

    assert causes_offered(told, "all")[:3] == ["energy", "iso", "aperture"]
    energies = told["corrections"][0]
    assert energies["to"] == {"lights": {"A": {"power_stops": -7.0}, "B": {"power_stops": -4.0}}}
    assert "Ratios, depth and ambient unchanged." in energies["sentence"]


def test_one_light_of_two_over_is_corrected_alone(stateless: TestClient) -> None:
    both = {"A": light(), "B": light()}

    told = ask(stateless, exposure(both), exposure(both | {"B": light(power_stops=-5)}))

    assert {way["acts_on"] for way in told["corrections"]} == {"B"}
    assert causes_offered(told, "B") == ["energy", "distance"]


def test_a_light_of_unknown_power_is_left_alone(stateless: TestClient) -> None:
    both = {"A": light(), "B": light(power_stops=None)}

    told = ask(stateless, exposure(both, f_number="11"), exposure(both, f_number="8"))

    assert {way["acts_on"] for way in told["corrections"]} == {"A"}


def test_a_shift_that_is_meant_is_even(stateless: TestClient) -> None:
    assert ask(stateless, exposure(), one_over(), target_stops=1)["corrections"] == []


def test_the_target_concerns_flash_and_not_the_ambient_light(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), exposure(), target_stops=1)

    assert told["balances"] == {"A": 0.0, "ambient": 0.0}
    assert told["corrections"][0]["to"] == {"power_stops": -5.0}
    assert {way["acts_on"] for way in told["corrections"]} == {"A"}


def test_filters_on_an_under_lit_light_come_off(stateless: TestClient) -> None:
    filtered = {"A": light(filter_stops=1, power_stops=0)}

    told = ask(stateless, exposure(filtered), exposure(filtered, f_number="8"))

    assert told["corrections"][0]["cause"] == "filters"
    assert told["corrections"][0]["to"] == {"filter_stops": 0.0}


def test_filters_on_the_lens_come_off_where_all_is_under(stateless: TestClient) -> None:
    told = ask(stateless, exposure(lens_filter_stops=2), exposure(lens_filter_stops=2, f_number="11"))

    way = next(each for each in told["corrections"] if each["cause"] == "lens_filters")
    assert way["to"] == {"lens_filter_stops": 0.0}
    assert way["leaves_stops"] == 0.0


def test_a_coarse_dial_says_what_it_leaves(stateless: TestClient) -> None:
    coarse = light(step_stops=1, power_stops=-2)

    told = ask(stateless, exposure({"A": coarse}), exposure({"A": coarse}, f_number="4.5"))

    energy = told["corrections"][0]
    assert energy["to"] == {"power_stops": -3.0}
    assert energy["leaves_stops"] == pytest.approx(-1 / 3, abs=1e-9)
    assert "Leaves −0.3." in energy["sentence"]


@pytest.mark.parametrize("dial", ["full", "half", "third", "tenth"])
def test_camera_corrections_are_marks_of_the_dials(stateless: TestClient, dial: str) -> None:
    dials = {"f_number": dial, "iso": dial}
    after = exposure({"A": light(power_stops=-5.3)})

    told = ask(stateless, exposure(), after, dial=dials)

    for way in told["corrections"]:
        again = ask(stateless, exposure(), applied(after, way), dial=dials)
        assert again["balances"]["A"] == pytest.approx(way["leaves_stops"], abs=1e-8)


def test_an_aperture_past_the_last_mark_is_a_note(stateless: TestClient) -> None:
    after = exposure({"A": light(power_stops=0)}, f_number="90")

    told = ask(stateless, exposure(f_number="90"), after)

    assert "aperture" not in causes_offered(told)
    assert any("needs f/724; the lens ends at f/128: 5.0 stops short" in note for note in told["notes"])


def test_a_distance_out_of_reach_is_a_note(stateless: TestClient) -> None:
    far = exposure({"A": light(power_stops=0, distance_mm=90_000)})

    told = ask(stateless, exposure({"A": light(power_stops=-6, distance_mm=90_000)}), far)

    assert "distance" not in causes_offered(told)
    assert any("out of reach" in note for note in told["notes"])

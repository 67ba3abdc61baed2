"""The stateless balance: what changed, in stops, and what it comes to."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.http.api.asking import BALANCE, ask, exposure, light, stops_by_cause


def test_five_stops_of_energy_against_four_of_aperture_leave_one_over(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), exposure({"A": light(power_stops=-1)}, f_number="22"))

    assert stops_by_cause(told, "A") == {"aperture": -4.0, "energy": 5.0}
    assert stops_by_cause(told, "ambient") == {"aperture": -4.0}
    assert told["balances"] == {"A": 1.0, "ambient": -4.0}
    assert told["notes"] == []


def test_four_stops_of_energy_against_four_of_aperture_are_even(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), exposure({"A": light(power_stops=-2)}, f_number="22"))

    assert told["balances"] == {"A": 0.0, "ambient": -4.0}
    assert told["corrections"] == []


def test_only_four_settings_have_to_be_given(stateless: TestClient) -> None:
    least = {"f_number": 8, "shutter": "1/125", "iso": "100", "lights": {}}

    assert ask(stateless, least, {**least, "f_number": "f/11"})["balances"] == {"ambient": -1.0}


def test_nothing_changed_is_no_entry(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), exposure())

    assert told == {"entries": [], "balances": {"A": 0.0, "ambient": 0.0}, "corrections": [], "notes": []}


def test_an_entry_says_from_what_to_what(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), exposure(f_number=22, shutter=0.5))

    texts = {entry["cause"]: (entry["from"], entry["to"]) for entry in told["entries"]}
    assert texts == {"aperture": ("f/5.6", "f/22"), "shutter": ("1/125", "1/2")}


@pytest.mark.parametrize(
    ("field", "was", "now", "stops"),
    [
        # ISO 517: the f-numbers of the full-stop row are whole stops apart, whatever (22/5.6) squared says.
        ("f_number", "5.6", "22", -4.0),
        ("f_number", "1.4", 2, -1.0),
        ("iso", 100, 800, 3.0),
        ("iso", "ISO 100", 125, 1 / 3),
    ],
)
def test_marks_count_as_the_exact_steps_they_name(
    stateless: TestClient, field: str, was: Any, now: Any, stops: float
) -> None:
    told = ask(stateless, exposure(**{field: was}), exposure(**{field: now}))

    assert told["balances"]["A"] == pytest.approx(stops, abs=1e-9)
    assert told["balances"]["ambient"] == pytest.approx(stops, abs=1e-9)


def test_the_shutter_moves_the_ambient_light_and_not_flash(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), exposure(shutter="1/60"))

    assert told["balances"] == {"A": 0.0, "ambient": 1.0}
    assert stops_by_cause(told, "A") == {}


def test_the_shutter_moves_a_continuous_light(stateless: TestClient) -> None:
    lamp = {"A": light(kind="continuous")}

    told = ask(stateless, exposure(lamp), exposure(lamp, shutter="1/60"))

    assert told["balances"] == {"A": 1.0, "ambient": 1.0}
    assert told["corrections"] == []


def test_the_dial_decides_what_a_mark_stands_for(stateless: TestClient) -> None:
    """f/13 is half a stop below f/11 on a half-stop dial and a third of one on a third-stop dial."""
    halves = ask(stateless, exposure(f_number="11"), exposure(f_number="13"), dial={"f_number": "half"})
    thirds = ask(stateless, exposure(f_number="11"), exposure(f_number="13"))

    assert halves["balances"]["ambient"] == pytest.approx(-1 / 2)
    assert thirds["balances"]["ambient"] == pytest.approx(-1 / 3, abs=1e-9)


def test_halving_the_distance_gives_two_stops_to_that_light_alone(stateless: TestClient) -> None:
    both = {"A": light(), "B": light()}

    told = ask(stateless, exposure(both), exposure(both | {"A": light(distance_mm=300)}))

    assert told["balances"] == {"A": 2.0, "B": 0.0, "ambient": 0.0}


def test_filters_take_away(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), exposure({"A": light(filter_stops=1)}, lens_filter_stops=2))

    assert stops_by_cause(told, "A") == {"lens_filters": -2.0, "filters": -1.0}
    assert told["balances"] == {"A": -3.0, "ambient": -2.0}


def test_life_size_costs_two_stops(stateless: TestClient) -> None:
    """Exposure factor (1 + m)^2 for a symmetrical lens: 4 at life size."""
    told = ask(stateless, exposure(magnification=0), exposure(magnification=1))

    assert stops_by_cause(told, "A") == {"close_up": -2.0}


@pytest.mark.parametrize("distant", [None, 0])
def test_no_magnification_is_a_distant_subject(stateless: TestClient, distant: float | None) -> None:
    told = ask(stateless, exposure(magnification=1), exposure(magnification=distant))

    assert told["balances"] == {"A": 2.0, "ambient": 2.0}
    assert not any("magnification" in note for note in told["notes"])


def test_a_pupil_ratio_of_two_halves_the_close_up_extension(stateless: TestClient) -> None:
    """(1 + m/P)^2 with m = 2, P = 2 is the same 4 as life size with a symmetrical lens."""
    told = ask(stateless, exposure(), exposure(magnification=2, pupil_ratio=2))

    assert stops_by_cause(told, "A") == {"close_up": -2.0}


def test_sixteen_pops_are_four_stops_for_flash(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), exposure(pops=16))

    assert stops_by_cause(told, "A") == {"pops": 4.0}


# --- unknown, unchanged, off ----------------------------------------------------------------------------------


@pytest.mark.parametrize("sides", [("from",), ("to",), ("from", "to")])
def test_an_unknown_power_is_no_balance_and_a_note(stateless: TestClient, sides: tuple[str, ...]) -> None:
    unknown = exposure({"A": light(power_stops=None)})
    known = exposure()

    told = ask(stateless, unknown if "from" in sides else known, unknown if "to" in sides else known)

    assert told["balances"] == {"A": None, "ambient": 0.0}
    assert stops_by_cause(told, "A") == {"energy": None}
    assert any("power is unknown" in note for note in told["notes"])


def without(name: str, stands: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in stands.items() if key != name}


def test_a_power_that_neither_side_gives_is_taken_as_unchanged(stateless: TestClient) -> None:
    silent = {"A": without("power_stops", light())}

    told = ask(stateless, exposure(silent), exposure(silent, f_number="8"))

    assert told["balances"]["A"] == -1.0
    assert "The power of A is given on neither side and taken as unchanged." in told["notes"]
    assert "energy" not in {way["cause"] for way in told["corrections"]}


def test_a_power_that_one_side_gives_is_unknown(stateless: TestClient) -> None:
    told = ask(stateless, exposure({"A": without("power_stops", light())}), exposure())

    assert told["balances"]["A"] is None


def test_a_distance_unknown_on_both_sides_is_taken_as_unchanged(stateless: TestClient) -> None:
    somewhere = {"A": light(distance_mm=None)}

    told = ask(stateless, exposure(somewhere), exposure(somewhere))

    assert told["balances"]["A"] == 0.0
    assert any("distance of A" in note and "unchanged" in note for note in told["notes"])


def test_a_distance_known_on_one_side_is_no_balance(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), exposure({"A": light(distance_mm=None)}))

    assert told["balances"]["A"] is None
    assert any("distance" in note for note in told["notes"])


@pytest.mark.parametrize("field", ["f_number", "iso", "lens_filter_stops"])
def test_a_setting_unknown_on_both_sides_is_taken_as_unchanged(stateless: TestClient, field: str) -> None:
    told = ask(stateless, exposure(**{field: None}), exposure(**{field: None}))

    assert told["balances"] == {"A": 0.0, "ambient": 0.0}
    assert any("unknown on both sides and taken as unchanged" in note for note in told["notes"])


@pytest.mark.parametrize("field", ["f_number", "iso", "lens_filter_stops"])
def test_a_setting_known_on_one_side_is_no_balance(stateless: TestClient, field: str) -> None:
    told = ask(stateless, exposure(), exposure(**{field: None}))

    assert told["balances"] == {"A": None, "ambient": None}
    assert len(told["notes"]) == 1


def test_a_shutter_known_on_one_side_leaves_flash_its_balance(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), exposure(shutter=None))

    assert told["balances"] == {"A": 0.0, "ambient": None}


@pytest.mark.parametrize(("was", "balance"), [(None, 0.0), (0, None)])
def test_an_unknown_filter_on_a_light(stateless: TestClient, was: float | None, balance: float | None) -> None:
    told = ask(stateless, exposure({"A": light(filter_stops=was)}), exposure({"A": light(filter_stops=None)}))

    assert told["balances"]["A"] == balance
    assert len(told["notes"]) == 1


@pytest.mark.parametrize(
    ("before", "after", "notes"),
    [
        ({"A": light(lit=False)}, {"A": light()}, 1),
        ({}, {"A": light()}, 1),
        ({"A": light()}, {"A": light(lit=False)}, 1),
        ({"A": light()}, {}, 1),
        ({"A": light(lit=False)}, {"A": light(lit=False)}, 0),
        ({"A": light(lit=False)}, {}, 0),
        ({}, {"A": light(lit=False)}, 0),
    ],
)
def test_a_light_that_is_off_or_absent_on_one_side_has_no_balance(
    stateless: TestClient, before: dict[str, Any], after: dict[str, Any], notes: int
) -> None:
    told = ask(stateless, exposure(before), exposure(after))

    assert told["balances"] == {"A": None, "ambient": 0.0}
    assert told["entries"] == []
    assert told["corrections"] == []
    assert len(told["notes"]) == notes


def test_joules_do_not_compare_two_heads(stateless: TestClient) -> None:
    told = ask(stateless, exposure(), exposure({"A": light(full_energy_j=200, power_stops=-5)}))

    assert told["balances"]["A"] is None
    assert any("another head" in note for note in told["notes"])


def test_a_full_energy_unknown_on_both_sides_is_taken_as_unchanged(stateless: TestClient) -> None:
    unknown = light(full_energy_j=None)

    told = ask(stateless, exposure({"A": unknown}), exposure({"A": unknown | {"power_stops": -5}}))

    assert told["balances"]["A"] == 1.0
    assert "The full energy of A is unknown on both sides and taken as unchanged." in told["notes"]
    assert told["corrections"][0]["sentence"].startswith("A is 1.0 over. A: 1/32 to 1/64.")


@pytest.mark.parametrize("known", [1, None])
def test_a_pupil_ratio_that_is_unknown_is_assumed_and_said_so(stateless: TestClient, known: float | None) -> None:
    told = ask(stateless, exposure(pupil_ratio=known), exposure(magnification=1, pupil_ratio=None))

    assert stops_by_cause(told, "A") == {"close_up": -2.0}
    assert any("pupil ratio is unknown and taken as 1" in note for note in told["notes"])


def test_a_full_energy_given_on_one_side_is_no_other_head(stateless: TestClient) -> None:
    told = ask(stateless, exposure({"A": light(full_energy_j=None)}), exposure({"A": light(power_stops=-5)}))

    assert told["balances"]["A"] == 1.0


def test_the_answer_needs_no_other_site_and_no_key(stateless: TestClient) -> None:
    answer = stateless.post(BALANCE, json={"from": exposure(), "to": exposure()})

    assert answer.headers["content-type"] == "application/json"

from __future__ import annotations

from typing import Any

import pytest

from tests.http.api.conftest import Desk


def versions(standing: dict[str, Any]) -> dict[str, int]:
    return {name: field["version"] for name, field in standing["fields"].items()}


def change(desk: Desk, status: int = 200, **fields: Any) -> Any:
    return desk.call("PATCH", f"/shots/{desk.shot_id}/standing", status, json={"changes": [fields]})


def test_the_standing_set_up_tells_every_field_with_its_version(desk: Desk) -> None:
    standing = desk.standing()

    assert standing["set_up"]["f_number"] == standing["fields"]["f_number"]["value"] == "8"
    assert standing["set_up"]["lights"].keys() == {"A"}
    assert {"lights.A.power", "lights.A.distance", "lens_filters", "camera"} <= standing["fields"].keys()
    assert set(versions(standing).values()) == {0}


@pytest.mark.parametrize(
    ("field", "value", "reads"),
    [
        ("f_number", "f/11", "11"),
        ("f_number", 5.6, "5.6"),
        ("shutter", "0.5s", "1/2"),
        ("iso", 200, "200"),
        ("lights.A.power", "25 J", "25 J"),
        ("lights.A.power", "1/32", "12.5 J"),
        ("lights.A.power", -4, "25 J"),
        ("lights.A.power", None, "unknown"),
        ("lights.A.distance", "60 cm", "60 cm"),
        ("lights.A.distance", 600, "60 cm"),
        ("lights.A.lit", False, "off"),
        ("lights.A.intended", "+1/3", "+0.333333"),
        ("subject_distance", 1200, "120 cm"),
        ("magnification", "1:2", "0.5"),
        ("pops", 4, "4"),
    ],
)
def test_a_field_is_set_as_it_would_be_typed_or_in_units(desk: Desk, field: str, value: Any, reads: str) -> None:
    standing = change(desk, field=field, value=value)

    assert standing["fields"][field]["value"] == reads
    assert standing["fields"][field]["version"] >= 1
    assert desk.standing() == standing


def test_a_dial_moves_by_clicks(desk: Desk) -> None:
    assert change(desk, field="f_number", steps=3)["set_up"]["f_number"] == "11"
    assert change(desk, field="lights.A.power", steps=10)["set_up"]["lights"]["A"]["power"] == "12.5 J"


def test_only_what_changed_has_a_new_version(desk: Desk) -> None:
    before, after = versions(desk.standing()), versions(desk.set(f_number="11"))

    assert {name for name in after if after[name] != before[name]} == {"f_number"}


def test_a_stale_change_is_not_written_and_both_values_come_back(desk: Desk) -> None:
    desk.set(f_number="11")

    refusal = change(desk, 409, field="f_number", value="16", version=0)

    assert (refusal["detail"][0]["stands"], refusal["detail"][0]["offered"]) == ("11", "16")
    assert desk.standing()["set_up"]["f_number"] == "11"


def test_a_change_with_the_version_that_was_read_is_written(desk: Desk) -> None:
    version = desk.set(f_number="11")["fields"]["f_number"]["version"]

    assert change(desk, field="f_number", value="16", version=version)["set_up"]["f_number"] == "16"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("f_number", "f/0"),
        ("f_number", "eleven"),
        ("shutter", "1/0"),
        ("iso", -100),
        ("lights.A.power", 1),
        ("lights.A.power", 150),
        ("lights.A.power", "500 J"),
        ("lights.A.power", "1/4096"),
        ("lights.A.distance", 0),
        ("lights.A.distance", "-3 m"),
        ("lights.A.head", "no such head"),
        ("lights.A.modifier", "no such modifier"),
        ("lights.Z.power", "1/2"),
        ("lens", "no such lens"),
        ("lens_filters", ["no such filter"]),
        ("pops", 0),
        ("magnification", -1),
    ],
)
def test_a_nonsense_value_is_refused_at_its_field(desk: Desk, field: str, value: Any) -> None:
    before = desk.standing()

    refusal = change(desk, 422, field=field, value=value)

    assert [problem["loc"] for problem in refusal["detail"]] == [["body", *field.split(".")]]
    assert desk.standing() == before


def test_one_bad_field_keeps_all_from_being_written(desk: Desk) -> None:
    refusal = desk.set(422, f_number="11", iso="-1", shutter="1/0")

    assert [problem["loc"] for problem in refusal["detail"]] == [["body", "iso"], ["body", "shutter"]]
    assert desk.standing()["set_up"]["f_number"] == "8"


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"changes": []},
        {"changes": [{"field": "f_number"}]},
        {"changes": [{"field": "f_number", "value": "8", "steps": 1}]},
        {"changes": [{"field": "weather", "value": "fog"}]},
        {"changes": [{"field": "lights.A.colour", "value": "red"}]},
        {"changes": [{"field": "f_number", "value": {"mark": 8}}]},
        {"changes": [{"field": "f_number", "value": "8" * 10_000}]},
        {"changes": [{"field": "f_number", "value": "8", "version": -1}]},
        {"changes": [{"field": "f_number", "value": "8", "by": "me"}]},
        {"changes": [{"field": "lens", "steps": 1}]},
        {"changes": "f_number"},
    ],
)
def test_a_change_that_says_nothing_clear_is_refused(desk: Desk, body: dict[str, Any]) -> None:
    refusal = desk.call("PATCH", f"/shots/{desk.shot_id}/standing", 422, json=body)

    assert refusal["detail"][0]["loc"][0] == "body"


def test_the_whole_shoot_over_json(desk: Desk) -> None:
    """The reference at f/5.6; closing to f/22 costs four stops; the energy makes them good."""
    desk.set(f_number="5.6", lights__A__power=-6, lights__A__distance=600)
    desk.log()

    closed = desk.set(f_number="22")
    assert closed["balances"] == {"A": -4.0, "ambient": -4.0}
    assert closed["corrections"][0]["cause"] == "energy"

    opened = desk.write_in("energy")
    assert opened["balances"] == {"A": 0.0, "ambient": -4.0}
    assert opened["set_up"]["lights"]["A"]["power"] == "100 J"
    assert desk.log()["ledger"]["balances"]["A"] == 0.0


def test_a_stop_too_much_is_taken_back(desk: Desk) -> None:
    desk.set(f_number="5.6", lights__A__power=-6)
    desk.log()

    over = desk.set(f_number="22", lights__A__power=-1)
    assert over["balances"]["A"] == 1.0
    assert over["corrections"][0]["sentence"].startswith("Key A is 1.0 over. A: 200 J to 100 J.")

    assert desk.write_in("energy")["balances"]["A"] == 0.0


def test_a_correction_that_reads_otherwise_by_now_is_not_written(desk: Desk) -> None:
    desk.log()
    way = desk.set(f_number="11")["corrections"][0]
    after = desk.set(f_number="16")

    for names in (("acts_on", "cause", "action"), ("digest",)):
        desk.call("POST", f"/shots/{desk.shot_id}/corrections", 409, json={name: way[name] for name in names})

    assert desk.standing() == after


@pytest.mark.parametrize("names", [("acts_on", "cause", "action"), ("digest",)])
def test_a_correction_is_written_in_by_its_digest_or_by_its_words(desk: Desk, names: tuple[str, ...]) -> None:
    desk.log()
    way = desk.set(f_number="11")["corrections"][0]

    told = desk.call("POST", f"/shots/{desk.shot_id}/corrections", json={name: way[name] for name in names})

    assert told["says"] == f"Now set: {way['action']}. Turn the dial to match."
    assert (told["says_facts"][0]["reason"], told["says_facts"][0]["values"]["move"]) == (
        "correction_written",
        way["action_fact"]["reason"],
    )
    assert told["balances"]["A"] == pytest.approx(way["leaves_stops"])


@pytest.mark.parametrize("left_out", ["acts_on", "cause", "action"])
def test_without_a_digest_nothing_of_the_old_body_may_be_left_out(desk: Desk, left_out: str) -> None:
    pressed = {
        name: value
        for name, value in (("acts_on", "A"), ("cause", "energy"), ("action", "A: on"))
        if name != left_out
    }

    refusal = desk.call("POST", f"/shots/{desk.shot_id}/corrections", 422, json=pressed)

    assert [each["loc"] for each in refusal["detail"]] == [["body", left_out]]


def test_each_sentence_has_its_fact_beside_it(desk: Desk) -> None:
    desk.log()

    told = desk.set(shutter="1/500", f_number="11")

    assert len(told["notes"]) == len(told["note_facts"]) > 0
    beyond = next(each for each in told["note_facts"] if each["reason"] == "beyond_sync")
    assert beyond["values"]["shutter"] == "1/500"
    assert told["total_fact"]["reason"] == "total_alike"
    assert told["lines"][0]["against"] == "frame 1"
    assert told["lines"][0]["against_fact"] == {"reason": "against_frame", "about": "", "values": {"frame": 1}}
    assert told["corrections"][0]["stands_fact"]["values"]["off_stops"] == pytest.approx(-1.0)


@pytest.mark.parametrize("cause", ["magic", "", None])
def test_a_cause_that_is_none_is_refused(desk: Desk, cause: str | None) -> None:
    pressed = {"acts_on": "A", "cause": cause, "action": "A: on"}

    refusal = desk.call("POST", f"/shots/{desk.shot_id}/corrections", 422, json=pressed)

    assert refusal["detail"][0]["loc"] == ["body", "cause"]


def test_a_light_comes_into_the_set_and_goes(desk: Desk) -> None:
    head = desk.call("GET", "/kit/lights")[1]["id"]

    with_b = desk.call("POST", f"/shots/{desk.shot_id}/lights", 201, json={"head_id": head, "role": "rim"})
    assert with_b["set_up"]["lights"]["B"]["role"] == "rim"

    without = desk.call("DELETE", f"/shots/{desk.shot_id}/lights/B")
    assert without["set_up"]["lights"].keys() == {"A"}
    desk.call("DELETE", f"/shots/{desk.shot_id}/lights/B", 404)


def test_a_head_that_is_none_is_refused_at_its_field(desk: Desk) -> None:
    refusal = desk.call("POST", f"/shots/{desk.shot_id}/lights", 422, json={"head_id": "no such head"})

    assert refusal["detail"][0]["loc"] == ["body", "head_id"]


def test_an_ambient_check_puts_everything_back(desk: Desk) -> None:
    checking = desk.call("POST", f"/shots/{desk.shot_id}/ambient-check")
    assert checking["checking_ambient"]
    assert (checking["set_up"]["shutter"], checking["set_up"]["lights"]["A"]["lit"]) == ("1", False)

    after = desk.call("DELETE", f"/shots/{desk.shot_id}/ambient-check")
    assert (after["set_up"]["shutter"], after["set_up"]["lights"]["A"]["lit"]) == ("1/125", True)


def test_what_is_unknown_is_null_with_a_note(desk: Desk) -> None:
    desk.log()

    standing = desk.set(lights__A__power=None)

    assert standing["balances"]["A"] is None
    assert any("power is unknown" in note for note in standing["notes"])


def test_what_changed_since_the_frame_before_is_told(desk: Desk) -> None:
    desk.log()

    since = desk.set(iso=200)["since_previous"]

    assert since["frame"] == 1
    assert {(entry["cause"], entry["stops"]) for entry in since["entries"]} == {("iso", 1.0)}


@pytest.mark.parametrize(
    ("field", "value", "nearest"),
    [("lights__A__power", "3 J", "6.25 J"), ("f_number", "45", "32"), ("iso", 204_800, "25600")],
)
def test_a_value_beyond_the_kit_is_refused_with_the_nearest_that_it_can(
    desk: Desk, field: str, value: Any, nearest: str
) -> None:
    (refusal,) = desk.set(422, **{field: value})["detail"]

    assert refusal["nearest"] == nearest
    assert desk.set(**{field: nearest})["fields"][field.replace("__", ".")]["value"] == nearest


def test_a_value_that_cannot_be_read_has_no_nearest(desk: Desk) -> None:
    (refusal,) = desk.set(422, f_number="fog")["detail"]

    assert "nearest" not in refusal


def test_a_way_says_whether_it_takes_back_what_was_just_changed(desk: Desk) -> None:
    desk.log()

    told = desk.set(f_number="11")

    assert [(way["cause"], way["turns_back"]) for way in (told["corrections"][0], told["corrections"][-1])] == [
        ("energy", False),
        ("aperture", True),
    ]

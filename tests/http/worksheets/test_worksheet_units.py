"""Units as the house reads them, values as people write them, keys that step, and what a form begins with."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from webapp.kit import units

Ask = Callable[..., dict[str, Any]]
HTMX = {"HX-Request": "true"}
SHADOW = {
    "source_width_mm": "60",
    "source_distance_mm": "100",
    "screen_distance_mm": "10",
    "occluder_width_mm": "10",
}


@pytest.fixture
def in_inches(client: TestClient) -> Iterator[TestClient]:
    records = client.app.state.services.records  # type: ignore[attr-defined]
    units.choose(records, "in")
    yield client
    units.choose(records, "cm")


def value_of(page: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    assert found is not None, name
    return found.group(1)


def figures(page: str) -> list[str]:
    """Figure and unit of the large figures."""
    found = re.search(r'<dl class="leading">(.*?)</dl>', page, re.DOTALL)
    assert found is not None
    told = re.findall(r"<dd>(.*?)</dd>", found.group(1))
    return [re.sub(r"<[^>]+>", "", each).replace("&nbsp;", " ") for each in told]


def working(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", page.partition('id="worksheet-working"')[2]))


def test_a_bare_length_is_in_centimetres_and_answered_so(client: TestClient) -> None:
    page = client.get("/worksheets/shadow", params={"units": "cm", **SHADOW}).text

    assert figures(page) == ["6 cm", "5 cm", "0 cm"]
    assert "width of the source: 60 cm" in working(page)
    assert " mm" not in working(page)
    assert "on the screen, cm" in page


def test_the_same_in_inches(in_inches: TestClient) -> None:
    asked = {"units": "in", **SHADOW}
    page = in_inches.get("/worksheets/shadow", params=asked).text

    assert figures(page) == ["6 in", "5 in", "0 in"]
    assert "width of the source: 60 in" in working(page)
    assert "on the screen, in" in page


def test_an_address_in_millimetres_is_told_in_the_readers_unit(in_inches: TestClient) -> None:
    asked = {name: f"{float(text) * 25.4:g}" for name, text in SHADOW.items()}
    page = in_inches.get("/worksheets/shadow", params=asked).text

    assert value_of(page, "source_width_mm") == "60"
    assert figures(page)[0] == "6 in"


def test_an_address_in_centimetres_means_the_same_after_the_house_changed_to_inches(in_inches: TestClient) -> None:
    page = in_inches.get("/worksheets/shadow", params={"units": "cm", **SHADOW}).text

    assert value_of(page, "source_width_mm") == "23.62"
    assert figures(page)[0] == "2.36 in"


def test_examples_are_round_in_the_readers_unit(in_inches: TestClient) -> None:
    page = in_inches.get("/worksheets/shadow").text

    assert [value_of(page, name) for name in ("source_width_mm", "screen_distance_mm")] == ["24", "4"]
    assert figures(page)[0] == "2.46 in"


@pytest.mark.parametrize("written", ["60 cm", "0,6 m", "600 mm", "600", "0.6 m"])
def test_lengths_are_read_with_their_units(ask: Ask, written: str) -> None:
    thrown = ask(
        "shadow",
        source_width_mm=written,
        source_distance_mm="1 m",
        screen_distance_mm="10 cm",
        occluder_width_mm="10cm",
    )

    assert thrown["penumbra_mm"] == pytest.approx(60)


def test_focal_length_and_sensor_stay_in_millimetres(in_inches: TestClient) -> None:
    asked = {"units": "in", "focal_length_mm": "50", "f_number": "8", "circle_of_confusion_mm": "0,03"}
    page = in_inches.get("/worksheets/depth-of-field", params=asked | {"subject_distance_mm": "120"}).text

    assert "focal length: 50 mm" in working(page)
    assert figures(page)[0].endswith(" in")


@pytest.mark.parametrize("written", ["0.25", "1/4", "25 %", "25%", "0,25", "1:4"])
def test_parts_are_read_as_people_write_them(ask: Ask, written: str) -> None:
    stack = {"depth_mm": "10 mm", "magnification": "1:1", "f_number": "f/5.6", "circle_of_confusion_mm": "0.02"}

    assert ask("focus-stack", **stack, overlap=written)["frames"] == 30


@pytest.mark.parametrize("written", ["1/32", "-5", "−5 stops"])
def test_powers_are_read_as_fractions_and_as_stops(ask: Ask, written: str) -> None:
    changed = ask("flash-energy", full_energy_j="400 J", power_stops=written, change_stops="2.5 stops")

    assert changed["energy_j"] == pytest.approx(12.5)
    assert changed["to_power_stops"] == pytest.approx(-2.5)


def test_a_ratio_is_read_as_one(ask: Ask) -> None:
    assert ask("lighting-ratio", ratio="4 : 1", convention="key_to_fill")["fill_stops"] == -2


def test_only_what_changed_is_asked_for(ask: Ask) -> None:
    closed = ask("exposure-difference", from_f_number="f/8", to_f_number="f/11")

    assert closed["flash_balance_stops"] == closed["ambient_balance_stops"] == -1


def test_figures_on_a_scale_show_the_nearest_mark_and_the_working_the_figure(client: TestClient) -> None:
    page = client.get("/worksheets/sharpest-aperture", params={"depth_mm": "2", "magnification": "1"}).text

    assert figures(page)[0] == "f/14"
    assert "13.693" in working(page)


@pytest.mark.parametrize(
    ("name", "query", "field", "said"),
    [
        ("family-of-angles", {"subject_width_mm": "20", "camera_distance_mm": "100", "light_distance_mm": "100", "tilt_deg": "95"},
         "tilt_deg", "At a tilt of 95°"),
        ("shadow", {**SHADOW, "source_width_mm": "-2"}, "source_width_mm", "must be above 0, not −2 cm"),
        ("flash-energy", {"full_energy_j": "400", "power_stops": "1", "change_stops": "0"}, "power_stops", "above full"),
        ("mixed-light", {"levels_stops": "10, 9"}, "levels_stops", "semicolons"),
        ("depth-of-field", {"focal_length_mm": "50", "f_number": "8", "circle_of_confusion_mm": "0.03",
                            "subject_distance_mm": "far"}, "subject_distance_mm", "40 cm"),
    ],
)  # fmt: skip
def test_a_refusal_says_what_the_bound_means(
    client: TestClient, name: str, query: dict[str, str], field: str, said: str
) -> None:
    answer = client.get(f"/worksheets/{name}", params={"units": "cm", **query}, headers=HTMX)

    assert answer.status_code == 422
    beside = re.search(rf'id="problem-{field}"[^>]*>([^<]+)<', answer.text)
    assert beside is not None
    assert said in beside.group(1)


@pytest.mark.parametrize(
    ("name", "field", "before", "key", "after"),
    [
        ("shadow", "source_distance_mm", "100", "+1", "105"),
        ("shadow", "screen_distance_mm", "10", "-1", "9.5"),
        ("close-up", "f_number", "f/11", "+1", "f/13"),
        ("light-meter", "shutter", "1/60", "-1", "1/50"),
        ("flash-energy", "power_stops", "1/4", "+1", "1/4+1/3"),
        ("flash-energy", "power_stops", "full", "+1", "1/1"),
        ("flash-energy", "change_stops", "1/2", "+1", "+2/3"),
        ("flash-energy", "full_energy_j", "400", "+1", "450"),
        ("focus-stack", "overlap", "25 %", "+1", "30 %"),
        ("close-up", "magnification", "1", "-1", "0.95"),
        ("family-of-angles", "tilt_deg", "18", "+1", "20"),
    ],
)
def test_a_key_steps_one_value_and_leaves_the_rest(
    client: TestClient, name: str, field: str, before: str, key: str, after: str
) -> None:
    page = client.get(f"/worksheets/{name}").text
    asked = {each: value_of(page, each) for each in re.findall(r'<input id="field-(\w+)"', page)} | {"units": "cm"}

    stepped = client.get(
        f"/worksheets/{name}", params=asked | {field: before, "step": f"{field}:{key}"}, headers=HTMX
    )
    moved = client.get(f"/worksheets/{name}", params=asked | {field: before, "step": f"{field}:{key}"})

    assert value_of(stepped.text, field) == after
    assert "step=" not in stepped.headers["HX-Replace-Url"]
    # Without scripts the key leads to the address of the new value.
    assert moved.status_code == 303
    assert value_of(client.get(moved.headers["location"]).text, field) == after


def test_a_key_on_what_cannot_be_read_leaves_it_for_the_form_to_say(client: TestClient) -> None:
    asked = {"f_number": "wide", "magnification": "1", "step": "f_number:+1"}

    assert client.get("/worksheets/close-up", params=asked, headers=HTMX).status_code == 422


def test_a_key_on_a_number_past_all_bounds_leaves_it_for_the_form_to_say(client: TestClient) -> None:
    page = client.get("/worksheets/focus-stack").text
    asked = {each: value_of(page, each) for each in re.findall(r'<input id="field-(\w+)"', page)}
    asked |= {"pupil_ratio": "9" * 400, "step": "pupil_ratio:+1"}

    assert client.get("/worksheets/focus-stack", params=asked, headers=HTMX).status_code == 422


def test_a_form_begins_with_what_was_typed_last_on_this_device(client: TestClient) -> None:
    client.get("/worksheets/close-up", params={"f_number": "f/16", "magnification": "2"})

    again = client.get("/worksheets/close-up").text
    anew = client.get("/worksheets/close-up", params={"from": "examples"}).text

    assert (value_of(again, "f_number"), value_of(again, "magnification")) == ("f/16", "2")
    assert "As last time on this device." in again
    assert value_of(anew, "f_number") == "f/11"


def test_what_was_refused_is_not_kept_for_the_next_time(client: TestClient) -> None:
    client.get("/worksheets/close-up", params={"f_number": "wide", "magnification": "2"})

    assert value_of(client.get("/worksheets/close-up").text, "f_number") == "f/11"


def test_a_damaged_cookie_is_passed_over(client: TestClient) -> None:
    client.cookies.set("last", "f_number=wide&zoom=2", path="/worksheets/close-up")

    page = client.get("/worksheets/close-up")

    assert page.status_code == 200
    assert "These values are examples." in page.text

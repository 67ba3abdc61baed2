"""Recipes over JSON: published, found, solved for other kit, handed out, carried away, made again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.http.api.conftest import Desk
from webapp.app import create_app
from webapp.settings import Settings

Json = dict[str, Any]


def published(desk: Desk, key: str | None = None, **said: Any) -> Json:
    """A recipe of a frame whose light stands a metre away."""
    desk.set(lights__A__distance="100 cm", lights__A__power="50 J", magnification="0.2", subject_distance="60 cm")
    frame = desk.log(purpose="final")["id"]
    words = {"title": "Enamel dial", "why": "soft from above", "looks": ["soft"], "directions": {"A": "top"}}
    headers = {"Idempotency-Key": key} if key else {}
    told: Json = desk.call("POST", f"/frames/{frame}/recipe", 201, json=words | said, headers=headers)
    return told


# --- publish ----------------------------------------------------------------------------------------------------------


def test_a_draft_says_what_the_ledger_knows(desk: Desk) -> None:
    frame = desk.log()["id"]

    told = desk.call("GET", f"/frames/{frame}/recipe")

    assert told["title"] == "enamel dial"
    assert [light["letter"] for light in told["lights"]] == ["A"]


def test_a_frame_is_published_in_the_words_that_were_sent(desk: Desk) -> None:
    told = published(desk, post=[{"kind": "rotation", "rotation_deg": 0.8, "reason": "horizon"}])

    assert (told["number"], told["newest"], told["differs"]) == (1, 1, [])
    recipe = told["recipe"]
    assert (recipe["title"], recipe["looks"]) == ("Enamel dial", ["soft"])
    assert recipe["lights"][0]["direction"] == "top"
    assert recipe["post"][0]["rotation_deg"] == 0.8
    assert recipe["settings"]["f_number"]["text"] == "8"


def test_the_same_key_publishes_once(desk: Desk) -> None:
    desk.set(lights__A__power="50 J")
    frame = desk.log()["id"]
    first, again = (
        desk.call(
            "POST", f"/frames/{frame}/recipe", 201, json={"title": "once"}, headers={"Idempotency-Key": "key-1"}
        )
        for _ in range(2)
    )

    assert first == again
    desk.call("POST", f"/frames/{frame}/recipe", 409, json={"title": "two"}, headers={"Idempotency-Key": "key-1"})
    assert desk.call("GET", "/recipes")["count"] == 1


def test_the_next_version_says_what_differs_and_the_first_stays(desk: Desk) -> None:
    recipe = published(desk)["id"]

    told = desk.call("POST", f"/recipes/{recipe}/versions", 201, json={"title": "Dial, again"})

    assert told["number"] == 2
    assert told["differs"] == ["title “Enamel dial” to “Dial, again”"]
    assert [each["number"] for each in desk.call("GET", f"/recipes/{recipe}/versions")] == [2, 1]
    assert desk.call("GET", f"/recipes/{recipe}/versions/1")["recipe"]["title"] == "Enamel dial"
    assert desk.call("GET", f"/recipes/{recipe}/versions/1/document")["title"] == "Enamel dial"
    assert desk.call("GET", f"/recipes/{recipe}")["recipe"]["title"] == "Dial, again"
    assert desk.call("GET", f"/recipes/{recipe}/differences?before=2&after=1") == [
        "title “Dial, again” to “Enamel dial”"
    ]


def test_the_same_again_is_refused_and_nothing_is_published(desk: Desk) -> None:
    recipe = published(desk)["id"]

    desk.call("POST", f"/recipes/{recipe}/versions", 409, json={"title": "Enamel dial"})

    assert len(desk.call("GET", f"/recipes/{recipe}/versions")) == 1


@pytest.mark.parametrize(
    ("said", "where"),
    [
        ({"title": ""}, ["body", "title"]),
        ({"title": "<b>x"}, ["body", "title"]),
        ({"directions": {"Z": "top"}}, ["body", "directions", "Z"]),
        ({"directions": {"A": "sideways"}}, ["body", "directions", "A"]),
        ({"tolerances": [{"what": "level", "within": 0, "unit": "stops"}]}, ["body", "tolerances", "0", "within"]),
        ({"recipe_id": "none"}, ["body", "recipe_id"]),
        ({"power": 3}, ["body", "power"]),
    ],
)
def test_what_cannot_be_published_is_refused_at_its_field(desk: Desk, said: Json, where: list[str]) -> None:
    frame = desk.log()["id"]

    refusal = desk.call("POST", f"/frames/{frame}/recipe", 422, json=said)

    assert refusal["detail"][0]["loc"] == where
    assert desk.call("GET", "/recipes")["count"] == 0


# --- find -------------------------------------------------------------------------------------------------------------


def test_a_recipe_is_found_by_words_facets_and_figures(desk: Desk) -> None:
    recipe = published(desk)["id"]

    for asked in ({"q": "enam"}, {"facet": "look=soft"}, {"f_from": 8, "f_to": 11}, {"m_from": 0.1}, {"q": "f/8"}):
        found = desk.call("GET", "/recipes", params=asked)
        assert [each["id"] for each in found["recipes"]] == [recipe], asked
    assert {"facet": "look", "value": "soft", "count": 1} in desk.call("GET", "/recipes")["facets"]
    for asked in ({"facet": "look=hard"}, {"f_from": 11}, {"until": "2001-01-01"}):
        assert desk.call("GET", "/recipes", params=asked)["recipes"] == [], asked


def test_the_search_is_read_page_by_page(desk: Desk) -> None:
    recipe = published(desk)["id"]
    for number in range(20):
        frame = desk.log()["id"]
        desk.call("POST", f"/frames/{frame}/recipe", 201, json={"title": f"Dial {number}"})

    first = desk.call("GET", "/recipes", params={"q": "dial"})
    second = desk.call("GET", "/recipes", params={"q": "dial", "page": first["next_page"]})

    assert (first["count"], len(first["recipes"]), len(second["recipes"])) == (21, 20, 1)
    assert second["next_page"] is None
    assert recipe in {each["id"] for each in first["recipes"] + second["recipes"]}


def test_what_a_question_states_comes_back_as_data(desk: Desk) -> None:
    recipe = published(desk)["id"]

    found = desk.call("GET", "/recipes", params={"q": "enam fewer than 3 lights without softbox"})

    assert [each["id"] for each in found["recipes"]] == [recipe]
    lights, softbox = found["conditions"]
    assert (lights["about"], lights["words"], lights["said"]) == (
        "lights",
        "lights: less than 3",
        "fewer than 3 lights",
    )
    assert lights["question_without"] == "enam without softbox"
    assert [(each["compare"], each["value"], each["low"]) for each in lights["reaches"]] == [("less than", 3, None)]
    assert (softbox["negated"], softbox["marks"]) == (True, [{"facet": "family", "value": "softbox"}])
    assert found["searched_as_words"] == ["enam"]


def test_nothing_is_found_that_does_not_meet_what_is_stated(desk: Desk) -> None:
    published(desk)

    found = desk.call("GET", "/recipes", params={"q": "enam more than 3 lights"})

    assert found["recipes"] == []
    assert [each["count_without"] for each in found["conditions"]] == [1]


def test_what_is_no_filter_is_refused(desk: Desk) -> None:
    refusal = desk.call("GET", "/recipes?facet=colour=red", 422)

    assert "is no filter" in refusal["detail"][0]["msg"]


def test_recipes_like_one_come_with_their_distance(desk: Desk) -> None:
    first = published(desk)["id"]
    other = published(desk, title="Dial from the side", directions={"A": "side"})["id"]

    (near,) = desk.call("GET", f"/recipes/{first}/like")

    assert near["recipe"]["id"] == other
    assert 0.0 < near["distance"] < 1.0


# --- vocabulary -------------------------------------------------------------------------------------------------------


def test_a_term_is_added_edited_and_dropped(desk: Desk) -> None:
    term = desk.call("POST", "/vocabulary", 201, json={"facet": "look", "term": "velvety", "others": ["velvet"]})
    desk.call("PUT", f"/vocabulary/{term['id']}", json={"facet": "look", "term": "velvety", "others": ["plush"]})
    assert next(each for each in desk.call("GET", "/vocabulary") if each["id"] == term["id"])["others"] == ["plush"]
    desk.call("POST", "/vocabulary", 422, json={"facet": "look", "term": "velvety"})
    desk.call("POST", "/vocabulary", 422, json={"facet": "smell", "term": "rose"})

    desk.call("DELETE", f"/vocabulary/{term['id']}", 204)

    assert term["id"] not in {each["id"] for each in desk.call("GET", "/vocabulary")}
    desk.call("DELETE", f"/vocabulary/{term['id']}", 404)


# --- on other kit -----------------------------------------------------------------------------------------------------


def test_a_recipe_is_solved_for_the_studios_own_kit(desk: Desk) -> None:
    told = published(desk)
    stands = desk.standing()["set_up"]
    own = {"camera_id": stands["camera"]["id"], "lens_id": stands["lens"]["id"]}
    light = {"head_id": stands["lights"]["A"]["head"]["id"], "distance_mm": 707.107}

    solved = desk.call("POST", f"/recipes/{told['id']}/adapt", json={"own": own | {"lights": {"A": light}}})

    assert solved["magnification"] == pytest.approx(0.2)
    # A point at 70.7 instead of 100 cm gains a stop, which the dial takes back: 50 J to 25 J.
    was = stands["lights"]["A"]["power_stops"]
    assert solved["lights"]["A"]["power_stops"] == pytest.approx(was - 1.0, abs=0.01)
    assert any(row["what"] == "A power" and row["working"] for row in solved["rows"])


def test_a_recipe_is_solved_for_kit_that_is_typed_in(desk: Desk) -> None:
    recipe = published(desk)["id"]
    camera = {"sensor_width_mm": 18, "sensor_height_mm": 12, "shortest_focal_mm": 50}
    camera |= {"widest_f_number": 1.4, "smallest_f_number": 22}

    light = {"metered": {"f_number": "11", "distance_mm": 1000}, "distance_mm": 1000}

    solved = desk.call("POST", f"/recipes/{recipe}/adapt", json={"typed": {"camera": camera, "lights": {"A": light}}})

    # Half the format: half the magnification, half the focal length from the same place.
    assert solved["magnification"] == pytest.approx(0.1)
    assert solved["lights"]["A"]["distance_mm"] == 1000
    assert solved["lost"]


@pytest.mark.parametrize(
    ("said", "where"),
    [
        ({}, ["body"]),
        ({"own": {"camera_id": "none", "lens_id": "none"}}, ["body", "own"]),
        ({"typed": {"camera": {"sensor_width_mm": 0}}}, ["body", "typed", "camera", "sensor_width_mm"]),
    ],
)
def test_kit_that_is_none_is_refused_at_its_field(desk: Desk, said: Json, where: list[str]) -> None:
    recipe = published(desk)["id"]

    refusal = desk.call("POST", f"/recipes/{recipe}/adapt", 422, json=said)

    assert refusal["detail"][0]["loc"] == where


def test_a_typed_light_that_cannot_be_is_refused_at_its_letter(desk: Desk) -> None:
    recipe = published(desk)["id"]
    camera = {"sensor_width_mm": 36, "sensor_height_mm": 24, "shortest_focal_mm": 100}
    camera |= {"widest_f_number": 2.8, "smallest_f_number": 32}
    light = {"metered": {"f_number": "bright", "distance_mm": 1000}}

    refusal = desk.call(
        "POST", f"/recipes/{recipe}/adapt", 422, json={"typed": {"camera": camera, "lights": {"A": light}}}
    )

    assert refusal["detail"][0]["loc"] == ["body", "typed", "lights", "A", "metered", "f_number"]


# --- links and bundles ------------------------------------------------------------------------------------------------


def test_a_link_is_handed_out_read_and_withdrawn(desk: Desk) -> None:
    recipe = published(desk)["id"]
    link = desk.call("POST", f"/recipes/{recipe}/links", 201, json={"reader": "student", "days": 30})
    assert desk.client.get(link["path"]).status_code == 200
    assert [each["views"] for each in desk.call("GET", f"/recipes/{recipe}/links")] == [1]

    desk.call("DELETE", f"/links/{link['token']}", 204)

    assert desk.client.get(link["path"]).status_code == 404
    desk.call("DELETE", f"/links/{link['token']}", 404)
    desk.call("POST", f"/recipes/{recipe}/links", 422, json={"reader": "anybody"})


def test_the_same_key_hands_out_one_link(desk: Desk) -> None:
    recipe = published(desk)["id"]
    sent: Json = {"json": {"reader": "client"}, "headers": {"Idempotency-Key": "link-1"}}

    first, again = (desk.call("POST", f"/recipes/{recipe}/links", 201, **sent) for _ in range(2))

    assert first == again
    assert len(desk.call("GET", f"/recipes/{recipe}/links")) == 1


def test_a_bundle_goes_out_of_one_house_and_into_another(desk: Desk, tmp_path: Path) -> None:
    recipe = published(desk)
    zipped = desk.client.get(f"/api/v1/recipes/{recipe['id']}/bundle")
    assert zipped.headers["content-type"] == "application/zip"
    bundle: Json = {"content": zipped.content, "headers": {"Content-Type": "application/zip"}}

    assert desk.call("POST", "/recipes/bundles", 200, **bundle)["id"] == recipe["id"]

    with TestClient(create_app(Settings(data=tmp_path / "other"))) as client:
        other = Desk(client, "", "")
        told = other.call("POST", "/recipes/bundles", 201, **bundle)
        assert told["recipe"] == recipe["recipe"]
        assert other.call("POST", "/recipes/bundles", 200, **bundle)["id"] == told["id"]


def test_what_is_no_bundle_is_refused_whole(desk: Desk) -> None:
    refusal = desk.call("POST", "/recipes/bundles", 422, content=b"x", headers={"Content-Type": "application/zip"})

    assert "nothing was changed" in refusal["detail"][0]["msg"]
    desk.call("POST", "/recipes/bundles", 422, content=b"x")
    assert desk.call("GET", "/recipes")["count"] == 0


# --- made again -------------------------------------------------------------------------------------------------------


def test_a_reshoot_stands_as_the_recipe_and_is_balanced_against_it(desk: Desk) -> None:
    recipe = published(desk)["id"]
    prepared = desk.call("GET", f"/recipes/{recipe}/reshoot")
    assert prepared["version"] == 1
    assert prepared["lights"]["A"]["head_id"]

    begun = desk.call("POST", f"/recipes/{recipe}/reshoot", 201, json={"title": "Dial, second"})

    again = Desk(desk.client, begun["session_id"], begun["shot_id"])
    standing = again.standing()
    assert standing["set_up"]["lights"]["A"]["power"] == "50 J"
    assert (standing["reference_frame"], standing["stand_in"]) == (None, "the recipe")
    assert (standing["lines"][0]["stops"], standing["lines"][0]["against"]) == (0.0, "the recipe")
    changed = again.set(lights__A__distance="70.7107 cm")
    assert changed["balances"]["A"] == pytest.approx(1.0, abs=1e-4)
    assert again.log()["is_reference"] is False


def test_the_same_key_begins_one_reshoot(desk: Desk) -> None:
    recipe = published(desk)["id"]
    headers = {"Idempotency-Key": "reshoot-1"}

    first = desk.call("POST", f"/recipes/{recipe}/reshoot", 201, json={}, headers=headers)
    again = desk.call("POST", f"/recipes/{recipe}/reshoot", 200, json={}, headers=headers)

    assert first == again
    desk.call("POST", f"/recipes/{recipe}/reshoot", 409, json={"title": "another"}, headers=headers)


def test_lines_are_ticked_once_and_unticked(desk: Desk) -> None:
    begun = desk.call("POST", f"/recipes/{published(desk)['id']}/reshoot", 201, json={"session_id": desk.session_id})
    address = f"/shots/{begun['shot_id']}/checklist"
    line = begun["lines"][0]["id"]

    ticked = desk.call("PUT", f"{address}/{line}", json={"ticked": True})["lines"][0]["ticked_at"]

    assert ticked
    assert desk.call("PUT", f"{address}/{line}", json={"ticked": True})["lines"][0]["ticked_at"] == ticked
    assert desk.call("PUT", f"{address}/{line}", json={"ticked": False})["lines"][0]["ticked_at"] is None
    desk.call("PUT", f"{address}/none", 404, json={"ticked": True})
    desk.call("GET", f"/shots/{desk.shot_id}/checklist", 404)


@pytest.mark.parametrize(
    ("said", "where"),
    [
        ({"session_id": "none"}, ["body", "session_id"]),
        ({"lights": {"Z": {"head_id": None}}}, ["body", "lights", "Z"]),
        ({"camera_id": "none"}, ["body", "camera_id"]),
        ({"lights": {"A": {"head_id": "none"}}}, ["body", "lights", "A", "head_id"]),
        ({"how": "guessed"}, ["body", "how"]),
    ],
)
def test_a_reshoot_that_cannot_be_begins_nothing(desk: Desk, said: Json, where: list[str]) -> None:
    recipe = published(desk)["id"]
    before = desk.call("GET", "/sessions")

    refusal = desk.call("POST", f"/recipes/{recipe}/reshoot", 422, json=said)

    assert refusal["detail"][0]["loc"] == where
    assert desk.call("GET", "/sessions") == before


# --- nothing is passed on as measured that was carried over -------------------------------------------------------------


def test_what_came_over_from_another_session_is_published_as_carried(desk: Desk) -> None:
    first = published(desk)["recipe"]
    assert first["settings"]["carried"] == []
    session = desk.call("POST", "/sessions", 201, json={"name": "the day after"})["id"]
    shot = desk.call("POST", f"/sessions/{session}/shots", 201, json={"title": "dial again"})["id"]
    again = Desk(desk.client, session, shot)

    carried = desk.call("GET", f"/frames/{again.log()['id']}/recipe")["settings"]["carried"]
    again.set(magnification="0.25")
    said = desk.call("GET", f"/frames/{again.log()['id']}/recipe")["settings"]["carried"]

    distances = ["subject_distance", "lights.A.distance"]
    assert (carried, said) == (["magnification", *distances], distances)


def test_a_contradiction_is_refused_by_its_key_until_it_is_stated(desk: Desk) -> None:
    desk.set(focal_length="100", magnification="0.5", subject_distance="2 m")
    frame = desk.log()["id"]

    refusal = desk.call("POST", f"/frames/{frame}/recipe", 422, json={"title": "Dial"})
    told = desk.call("POST", f"/frames/{frame}/recipe", 201, json={"title": "Dial", "open": ["open_field"]})

    assert refusal["detail"][0]["loc"] == ["body", "open", "open_field"]
    assert told["recipe"]["open"][0].startswith("Field, focal length and distance contradict")

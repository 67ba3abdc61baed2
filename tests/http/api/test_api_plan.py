"""The plan over JSON: what stands where, what follows from it, moves with versions, and the drawings."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from typing import Any

import pytest

from tests.http.api.conftest import Desk, Json


def plan(desk: Desk) -> Json:
    found: Json = desk.call("GET", f"/shots/{desk.shot_id}/plan")
    return found


def put(desk: Desk, what: str, status: int = 200, **body: Any) -> Json:
    told: Json = desk.call("PUT", f"/shots/{desk.shot_id}/plan/{what}", status, json=body)
    return told


def two_metered_lights(desk: Desk) -> None:
    """Key A and fill B, both metered and at the reading's own power."""
    head = desk.client.get("/api/v1/kit/lights").json()[0]["id"]
    desk.call(
        "POST",
        f"/kit/lights/{head}/meter-readings",
        201,
        json={"f_number": "16", "power": "full", "distance_mm": 1000},
    )
    for role in ("key", "fill"):
        desk.call("POST", f"/shots/{desk.shot_id}/lights", 201, json={"head_id": head, "role": role})
    desk.call("DELETE", f"/shots/{desk.shot_id}/lights/A")


def test_a_place_told_by_the_tape_is_the_one_told_by_x_y_and_z(desk: Desk) -> None:
    by_tape = put(desk, "lights/A", distance_mm=500, bearing_deg=90, height_mm=300)["lights"][0]["position"]
    by_axes = put(desk, "lights/A", x_mm=400, y_mm=0, z_mm=300)["lights"][0]["position"]

    # Three, four, five: the oldest right triangle.
    assert (by_tape["x_mm"], by_tape["y_mm"], by_tape["z_mm"]) == (400, 0, 300)
    assert by_axes["distance_mm"] == pytest.approx(500)
    assert by_axes["bearing_deg"] == pytest.approx(90)


def test_a_place_writes_the_distance_of_the_ledger_and_counts_as_a_change(desk: Desk) -> None:
    put(desk, "lights/A", distance_mm=800, bearing_deg=-45, height_mm=400, known="taped", version=0)

    stands = desk.standing()
    assert stands["set_up"]["lights"]["A"]["distance_mm"] == 800
    assert stands["fields"]["lights.A.position"] == {
        "value": "80 cm; 45° left; 40 cm above; taped",
        "version": plan(desk)["lights"][0]["version"],
    }


def test_a_position_can_be_set_as_a_field_too(desk: Desk) -> None:
    desk.set(lights__A__position="80 cm; 45 left; 40 above; taped")

    assert plan(desk)["lights"][0]["position"]["known"] == "taped"


def test_a_place_read_before_somebody_else_moved_the_light_is_refused_with_both(desk: Desk) -> None:
    put(desk, "lights/A", distance_mm=800, bearing_deg=0, version=0)

    (problem,) = put(desk, "lights/A", 409, distance_mm=600, bearing_deg=0, version=0)["detail"]

    assert problem["loc"] == ["body", "lights", "A", "position"]
    assert problem["stands"].startswith("80 cm")
    assert problem["offered"].startswith("60 cm")
    assert plan(desk)["lights"][0]["position"]["distance_mm"] == 800


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"distance_mm": 500},
        {"distance_mm": 500, "bearing_deg": 0, "x_mm": 1},
        {"x_mm": 1, "y_mm": 1},
        {"distance_mm": 100, "bearing_deg": 0, "height_mm": 500},
        {"distance_mm": -1, "bearing_deg": 0},
        {"distance_mm": 500, "bearing_deg": 0, "known": "guessed"},
        {"distance_mm": "500", "bearing_deg": 0},
    ],
)
def test_a_place_that_is_none_is_refused_and_nothing_moves(desk: Desk, body: Json) -> None:
    before = plan(desk)

    put(desk, "lights/A", 422, **body)

    assert plan(desk) == before


def test_a_light_that_there_is_not_is_not_found(desk: Desk) -> None:
    put(desk, "lights/Z", 404, distance_mm=500, bearing_deg=0)


def test_a_forgotten_place_is_unknown_and_the_distance_stays(desk: Desk) -> None:
    put(desk, "lights/A", distance_mm=800, bearing_deg=0)

    told = desk.call("DELETE", f"/shots/{desk.shot_id}/plan/lights/A")

    assert told["lights"][0]["position"] is None
    assert desk.standing()["set_up"]["lights"]["A"]["distance_mm"] == 800


def test_things_are_put_up_once_sized_and_taken_away(desk: Desk) -> None:
    where = {"distance_mm": 400, "bearing_deg": 90, "size": {"width_mm": 250, "height_mm": 300}}
    put(desk, "things/flag-1", **where)

    (flag,) = put(desk, "things/flag-1", **where)["things"]
    assert (flag["kind"], flag["width_mm"], flag["height_mm"]) == ("flag", 250, 300)

    assert desk.call("DELETE", f"/shots/{desk.shot_id}/plan/things/flag-1")["things"] == []
    desk.call("DELETE", f"/shots/{desk.shot_id}/plan/things/flag-1", 404)


def test_only_the_subject_is_turned(desk: Desk) -> None:
    here = {"x_mm": 0, "y_mm": 0, "z_mm": 0}

    assert put(desk, "things/subject", turned_deg=-20, **here)["things"][0]["turned_deg"] == pytest.approx(-20)
    put(desk, "things/table", 422, turned_deg=20, **here)
    assert put(desk, "things/subject", tilted_deg=90, **here)["things"][0]["tilted_deg"] == pytest.approx(90)
    put(desk, "things/subject", 422, tilted_deg=91, **here)
    put(desk, "things/table", 422, tilted_deg=20, **here)
    put(desk, "things/sofa", 422, **here)


def test_the_last_move_is_offered_back_and_taken_back_once(desk: Desk) -> None:
    put(desk, "lights/A", distance_mm=800, bearing_deg=0)
    offered = put(desk, "lights/A", distance_mm=600, bearing_deg=0)["last_move"]
    assert offered["words"] == "Put A back: 80 cm, in front, 0 cm above, planned"

    told = desk.call("POST", f"/shots/{desk.shot_id}/plan/undo", json={"move": offered["id"]})

    assert told["lights"][0]["position"]["distance_mm"] == 800
    desk.call("POST", f"/shots/{desk.shot_id}/plan/undo", 409, json={"move": offered["id"]})


def test_what_follows_is_told_with_its_working(desk: Desk) -> None:
    two_metered_lights(desk)
    letters = [each["letter"] for each in plan(desk)["lights"]]
    for letter, distance in zip(letters, (1000, 2000), strict=True):
        put(desk, f"lights/{letter}", distance_mm=distance, bearing_deg=0, known="taped")

    told = put(desk, "things/background", x_mm=0, y_mm=1000, z_mm=0)

    # Two lights alike, one at twice the distance: four to one, as the inverse square has it; far from a small face.
    assert told["ratio"]["key_to_fill"] == pytest.approx(4.0, rel=0.02)
    assert [each["modelled"] for each in told["shares"]] == pytest.approx([0.8, 0.2], abs=0.01)
    assert all(each["working"] for each in told["shares"])
    assert told["ratio"]["working"]["source"]
    assert told["evenness"]["range_stops"] >= 0.0


def test_what_of_a_tilted_subject_lies_behind_the_background_is_left_out_and_told(desk: Desk) -> None:
    put(desk, "lights/A", distance_mm=900, bearing_deg=0, height_mm=300)
    put(desk, "things/background", x_mm=0, y_mm=30, z_mm=0)
    size = {"width_mm": 100, "height_mm": 200, "depth_mm": 50}

    told = put(desk, "things/subject", x_mm=0, y_mm=0, z_mm=0, size=size, tilted_deg=60)["evenness"]

    assert told["left_out"] == ["background"]
    assert told["stops"][-1] == [None] * 13
    # The light comes from the front and above on a face that leans back: no place of it that is seen is dark.
    assert told["range_stops"] < 1.0
    page = desk.client.get(f"/shots/{desk.shot_id}/plan").text
    assert "a part of it lies behind the background and is left out." in page
    assert put(desk, "things/background", x_mm=0, y_mm=-100, z_mm=0)["evenness"] is None
    page = desk.client.get(f"/shots/{desk.shot_id}/plan").text
    assert "Not told: from the lens the middle of the subject lies behind the background." in page


def test_shadows_are_told_as_seen_or_with_the_reason_why_not(desk: Desk) -> None:
    put(desk, "lights/A", distance_mm=900, bearing_deg=50, height_mm=300)
    put(desk, "things/subject", x_mm=0, y_mm=0, z_mm=0, size={"width_mm": 60, "height_mm": 120, "depth_mm": 40})
    put(desk, "things/table", x_mm=0, y_mm=0, z_mm=-60)

    told = desk.call("GET", f"/shots/{desk.shot_id}/plan/shadows")["shadows"]

    by_surface = {each["on"]: each for each in told}
    assert list(by_surface) == ["table", "background", "subject"]
    seen, absent = by_surface["table"], by_surface["background"]
    assert seen["seen"]
    assert seen["depth_stops"] > 1.0
    assert seen["picture"]["sides"] == ["left"]
    assert seen["working"][0]["source"]
    assert not absent["seen"]
    assert absent["why_fact"]["reason"] == "no_such_surface"
    assert absent["why"] == "No shadow of A is seen on the background: no background stands on the plan."


def test_without_a_meter_reading_a_share_is_unknown_and_says_why(desk: Desk) -> None:
    put(desk, "lights/A", distance_mm=800, bearing_deg=0)

    (share,) = plan(desk)["shares"]

    assert share["modelled"] is None
    assert "no meter reading" in share["why"]


def test_a_frame_keeps_its_plan(desk: Desk) -> None:
    put(desk, "lights/A", distance_mm=800, bearing_deg=0)
    frame = desk.log()["id"]
    put(desk, "lights/A", distance_mm=600, bearing_deg=0)

    (light,) = desk.call("GET", f"/frames/{frame}/plan")["lights"]

    assert light["position"]["distance_mm"] == 800
    assert light["version"] is None


def test_the_drawing_is_a_file_of_its_own_and_the_card_a_picture(desk: Desk) -> None:
    put(desk, "lights/A", distance_mm=800, bearing_deg=-45, height_mm=400)
    frame = desk.log()["id"]
    asked = (f"shots/{desk.shot_id}", f"frames/{frame}", f"shots/{desk.shot_id}?under={frame}&unit=in")

    for each in asked:
        path, _, query = each.partition("?")
        drawing = desk.client.get(f"/api/v1/{path}/plan/drawing.svg?{query}")
        assert drawing.headers["content-type"] == "image/svg+xml"
        assert ET.fromstring(drawing.text).tag == "{http://www.w3.org/2000/svg}svg"
    for path in (f"shots/{desk.shot_id}/plan/card.png", f"frames/{frame}/plan/card.png?beside={frame}"):
        card = desk.client.get(f"/api/v1/{path}")
        assert card.headers["content-type"] == "image/png"
        assert card.content.startswith(b"\x89PNG")


def test_an_aim_is_kept_through_a_move_that_does_not_tell_it(desk: Desk) -> None:
    put(desk, "lights/A", distance_mm=800, bearing_deg=0, aim={"x_mm": 50, "y_mm": 0, "z_mm": 20})

    aim = put(desk, "lights/A", distance_mm=600, bearing_deg=0)["lights"][0]["position"]["aim"]

    assert math.isclose(aim["x_mm"], 50)
    assert math.isclose(aim["z_mm"], 20)


def test_each_side_of_the_subject_has_its_light_with_its_working(desk: Desk) -> None:
    two_metered_lights(desk)
    for letter, bearing in (("B", -90), ("C", 0)):
        desk.set(**{f"lights__{letter}__power": "full"})
        put(desk, f"lights/{letter}", distance_mm=1000, bearing_deg=bearing)

    told = plan(desk)

    sides = {each["name"]: each for each in told["cube"]["sides"]}
    assert (told["surface"], told["cube"]["is_absolute"]) == ("lens", True)
    # f/16 from B on the left, the same from C to the lens, and nothing of either on the other.
    assert sides["left"]["by_light"] == {"B": pytest.approx(8.0), "C": None}
    assert sides["lens"]["total"] == pytest.approx(8.0)
    assert sides["left"]["against_lens_stops"] == pytest.approx(0.0)
    assert sides["right"]["total"] is None
    assert [step["result"][:5] for step in sides["left"]["working"]] == ["level", "light"]
    put(desk, "things/reflector-1", x_mm=400, y_mm=0, z_mm=0)
    (fill,) = plan(desk)["cube"]["card_fills"]
    assert (fill["card"], fill["key"]) == ("reflector 1", "B")
    assert -4.0 < fill["under_key"]["right"] < -2.0


def test_through_a_grid_a_light_falls_off_from_its_axis(desk: Desk) -> None:
    """A grid that cuts off at 20 degrees, aimed 10 past the subject: by the law of two circles 1.06 stops less, beside
    the cosine of the slope."""
    head = desk.client.get("/api/v1/kit/lights").json()[0]["id"]
    grid = desk.call("POST", "/kit/modifiers", 201, json={"name": "grid", "shape": "point", "cutoff_deg": 20})["id"]
    reading = {"modifier_id": grid, "f_number": "16", "power": "full", "distance_mm": 1000}
    desk.call("POST", f"/kit/lights/{head}/meter-readings", 201, json=reading)
    desk.set(lights__A__head=head, lights__A__modifier=grid, lights__A__power="full")
    put(desk, "lights/A", distance_mm=1000, bearing_deg=0)
    past = math.tan(math.radians(10)) * 1000

    put(desk, "lights/A", distance_mm=1000, bearing_deg=0, aim={"x_mm": past, "y_mm": 0, "z_mm": 0})

    x = math.tan(math.radians(10)) / math.tan(math.radians(20))
    through = 2 / math.pi * (math.acos(x) - x * math.sqrt(1 - x * x))
    side = next(each for each in plan(desk)["cube"]["sides"] if each["name"] == "lens")
    assert side["by_light"]["A"] == pytest.approx(8 + math.log2(through), abs=1e-6)
    assert "cuts off 20° from the axis" in str(side["working"])


def test_what_a_flat_gloss_shows_is_told_by_angles_off_the_lens_axis(desk: Desk) -> None:
    put(desk, "things/camera", x_mm=0, y_mm=0, z_mm=600)
    put(desk, "things/subject", x_mm=0, y_mm=0, z_mm=0, tilted_deg=20)
    put(desk, "things/flag-1", x_mm=0, y_mm=335, z_mm=400, size={"width_mm": 30, "height_mm": 30})

    told = plan(desk)["mirrored"]

    flag = next(each for each in told if each["name"] == "flag 1")
    assert flag["kind"] == "flag"
    assert 0.0 < flag["fraction"] < 1.0
    assert flag["where"] == {"across": "middle", "up": "middle"}
    assert flag["family"]["side"] == "above"
    # Tilted by 20°, the gloss looks 40° off the axis.
    assert flag["family"]["from_deg"] < 40.0 < flag["family"]["to_deg"]


def test_a_patch_that_says_where_its_face_points_has_the_light_of_that_face(desk: Desk) -> None:
    two_metered_lights(desk)
    for letter, bearing in (("B", -45), ("C", 0)):
        desk.set(**{f"lights__{letter}__power": "full"})
        put(desk, f"lights/{letter}", distance_mm=1000, bearing_deg=bearing)
    drawn = {"name": "label", "x": 0.4, "y": 0.4, "width": 0.1, "height": 0.1, "bearing_deg": -45}
    patch = desk.call("POST", f"/shots/{desk.shot_id}/patches", 201, json=drawn)

    label = next(each for each in plan(desk)["cube"]["sides"] if each["name"] == "label")

    assert (patch["bearing_deg"], patch["elevation_deg"]) == (-45, 0)
    assert (label["kind"], label["words"]) == ("own", "label")
    # Square to B, and 45 degrees off C, which is half a stop.
    assert label["by_light"] == {"B": pytest.approx(8.0), "C": pytest.approx(7.5)}
    assert desk.call("PATCH", f"/patches/{patch['id']}", json={"name": "lid"})["bearing_deg"] == -45
    assert desk.call("PATCH", f"/patches/{patch['id']}", json={"bearing_deg": None})["elevation_deg"] is None
    assert all(each["kind"] != "own" for each in plan(desk)["cube"]["sides"])
    desk.call("PATCH", f"/patches/{patch['id']}", 422, json={"elevation_deg": 30})


# --- what the figures are for ----------------------------------------------------------------------------------------


def level_from_both_sides(desk: Desk) -> None:
    """The key B from the left at 1 m, the fill C from the right at 2 m, level with the subject."""
    two_metered_lights(desk)
    put(desk, "lights/B", distance_mm=1000, bearing_deg=-60)
    put(desk, "lights/C", distance_mm=2000, bearing_deg=60)


@pytest.mark.parametrize(
    ("surface", "of_key", "stops"),
    [
        # 60° off square halves both: what is left is the distance, two stops by inverse square.
        ("lens", 0.8, 2.0),
        ("flat", 0.8, 2.0),
        # A dome reads (1 + cos θ)/2 of each: the same of both here.
        ("dome", 0.8, 2.0),
        ("left", 1.0, None),
        ("right", 0.0, None),
    ],
)
def test_shares_and_ratio_are_for_the_surface_that_is_chosen(
    desk: Desk, surface: str, of_key: float, stops: float | None
) -> None:
    level_from_both_sides(desk)

    chosen = put(desk, "figures-for", surface=surface)

    assert [each["modelled"] for each in chosen["shares"]] == pytest.approx([of_key, 1.0 - of_key], abs=0.02)
    assert (chosen["ratio"] and chosen["ratio"]["stops"]) == (stops and pytest.approx(stops, abs=0.1))
    assert (chosen["surface_key"], plan(desk)["surface_key"]) == (surface, surface)
    levels = next(each["by_light"] for each in chosen["cube"]["sides"] if each["name"] == surface)
    known = {letter: 2.0**av for letter, av in levels.items() if av is not None}
    assert {each["letter"]: each["modelled"] for each in chosen["shares"] if each["modelled"]} == pytest.approx(
        {letter: light / sum(known.values()) for letter, light in known.items()}
    )


def test_a_surface_that_is_none_is_refused_and_one_that_this_set_has_not_gives_way_to_the_lens(desk: Desk) -> None:
    level_from_both_sides(desk)
    (problem,) = put(desk, "figures-for", 422, surface="underneath")["detail"]
    assert "is no surface of this subject" in problem["msg"]

    # Only a subject that is looked down on has a far side.
    assert put(desk, "figures-for", surface="far")["surface_key"] == "lens"
    desk.call("PUT", f"/shots/{desk.shot_id}/plan/things/camera", json={"x_mm": 0, "y_mm": 0, "z_mm": 1000})
    assert plan(desk)["surface_key"] == "far"

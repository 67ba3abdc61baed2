"""What contradicts itself or is not known is found before a recipe is published, and what is doubted has no narrow tolerance."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tests.unit.recipes.made import light, recipe
from tests.unit.recipes.test_building import GEL, at, patch, thing, whole
from webapp.errors import SeveralInvalid
from webapp.ledger.evidence import PatchEvidence
from webapp.recipes.document import PositionPart, Recipe, read_recipe, recipe_json
from webapp.recipes.open_points import Doubts, Where, how_known, levels_within, open_points
from webapp.web.words.say import say
from webapp.web.words.stating import with_open_stated


def keys(made: Recipe, doubts: Doubts | None = None) -> list[str]:
    return [each.key for each in open_points(made, doubts or Doubts())]


def unexplained(stops: float) -> Doubts:
    seen = PatchEvidence("p", "label", 0.0, "raw", 0.5, 0.5, False, 0.0, 0.0, unexplained_stops=stops)
    return Doubts(unexplained=(replace(seen, tolerance_stops=0.1),))


def settings(**over: Any) -> dict[str, Any]:
    return {"settings": recipe().settings.model_copy(update=over)}


def test_a_whole_recipe_has_nothing_open() -> None:
    assert keys(whole()) == []


@pytest.mark.parametrize("m", [0.1, 0.4])
def test_a_field_that_its_focal_length_does_not_give_at_its_distance_is_a_contradiction(m: float) -> None:
    # 120 mm at 33/180 stands 120 (1 + 180/33) = 775 mm away (thin lens), as the recipe has it.
    assert "open_field" not in keys(whole())
    (point,) = open_points(whole(**settings(magnification=m)))

    assert (point.key, point.contradicts, point.where) == ("open_field", True, Where.FRAME)


def test_an_estimated_magnification_contradicts_nothing() -> None:
    assert keys(whole(**settings(magnification=0.4, magnification_estimated=True))) == []


def test_a_camera_that_stands_in_two_places_is_a_contradiction() -> None:
    camera = thing("camera", "camera", 0, -1100, 0, 80, 80)

    assert keys(whole(things=(*whole().things, camera))) == ["open_camera_twice"]


def test_what_the_ledger_cannot_explain_comes_first() -> None:
    made = whole(things=tuple(each for each in whole().things if not each.id.startswith("reflector")))

    assert keys(made, unexplained(0.4)) == ["open_unexplained:label", "open_shone_on:C"]
    assert keys(whole(), Doubts(sums_off={"rim": 0.5})) == ["open_shares:rim"]


def test_a_light_without_a_place_is_open_and_a_ring_on_the_lens_is_not() -> None:
    nowhere = light("A", position=None, incident_av=8.0)
    ring = light("A", position=None, incident_av=8.0, head=nowhere.head.model_copy(update={"form": "ring"}))
    lost = light("A", position=PositionPart(at=at(0, 900, 0).at, known="unknown"), incident_av=8.0)

    assert [keys(recipe(each)) for each in (nowhere, ring, lost)] == [["open_position:A"], [], ["open_position:A"]]


def test_a_size_that_nobody_gave_is_open() -> None:
    backdrop = thing("background", "background", 0, 600, 0, 1000, 1000)

    assert keys(whole(things=(*whole().things[:3], backdrop, whole().things[4]))) == ["open_size:background"]


def test_what_was_not_measured_is_open_unless_a_picture_tells_it() -> None:
    made = whole(not_measured=("power of D", "incident reading of D", "camera distance"))
    unread = whole(not_measured=("incident reading of D",), patches=())

    assert keys(made) == ["open_unknown:D:power", "open_unknown:camera distance"]
    assert keys(unread) == ["open_unknown:D:incident reading"]


def test_a_contradiction_is_not_published_until_it_is_stated() -> None:
    made = whole(**settings(magnification=0.4), not_measured=("camera distance",))
    points = open_points(made)

    with pytest.raises(SeveralInvalid) as refused:
        with_open_stated(made, points, [])
    with pytest.raises(SeveralInvalid) as asked:
        with_open_stated(made, points, [], asked_of_all=True)

    assert [each.where for each in refused.value.problems] == [("open", "open_field")]
    assert len(asked.value.problems) == 2
    stated = with_open_stated(made, points, ["open_field"])
    assert len(stated.open) == 1
    assert stated.open[0].startswith("Field, focal length and distance contradict each other")


def known(made: Recipe) -> tuple[list[str], list[str], list[str]]:
    found = how_known(made)
    grades = (found.measured, found.estimated, found.carried_over)
    measured, estimated, carried = ([say(each) for each in grade] for grade in grades)
    return measured, estimated, carried


def test_measured_and_estimated_are_told_apart() -> None:
    measured, estimated, _ = known(whole())

    assert "place of D" in measured
    assert "level at rim" in measured
    assert estimated == ["incident level of D"]


@pytest.mark.parametrize("name", ["magnification", "subject_distance"])
def test_what_was_carried_over_from_another_set_is_not_measured(name: str) -> None:
    told = {"magnification": "magnification", "subject_distance": "camera distance"}[name]

    assert told in known(whole())[0]
    assert told in known(whole(**settings(carried=(name,))))[2]


def test_a_meter_reading_is_measured_where_it_was_taken_on_this_set() -> None:
    here = recipe(light("A", incident_av=8.0, metered_here=True, position=at(0, -900, 0)))
    carried = recipe(light("A", incident_av=8.0, position=at(0, -900, 0)))

    assert "incident level of A" in known(here)[0]
    assert "incident level of A" in known(carried)[1]
    # An older document says nothing of it.
    old = (
        recipe_json(carried)
        .replace("stopledger-recipe/3", "stopledger-recipe/2")
        .replace('"metered_here": false,', "")
    )
    assert known(read_recipe(old)) == known(carried)


def test_levels_are_asked_for_no_closer_than_they_are_known() -> None:
    by_kit = recipe(light("A", incident_av=8.0))
    read = whole(patches=(patch("label", 0.0, D=0.9).model_copy(update={"tolerance_stops": 0.35}),))

    assert levels_within(by_kit, Doubts()) == {}
    assert levels_within(recipe(light("A", incident_av=8.0, metered_here=True)), Doubts()) == {"": 0.1}
    assert levels_within(whole(), Doubts()) == {"label": 0.1, "rim": 0.1}
    assert levels_within(read, Doubts()) == {"label": 0.4}
    assert levels_within(whole(), unexplained(-0.6)) == {"label": 0.6, "rim": 0.1}


def test_a_gel_is_no_doubt() -> None:
    assert keys(recipe(light("A", filters=(GEL,), position=at(0, -900, 0), incident_av=8.0))) == []


def test_a_distance_out_of_a_recipe_is_measured_once_somebody_has_taped_it() -> None:
    taped = recipe(light("A", incident_av=8.0))
    out_of_a_recipe = recipe(light("A", incident_av=8.0), **settings(carried=("lights.A.distance",)))

    assert "distance of A" in known(taped)[0]
    assert "distance of A" in known(out_of_a_recipe)[2]

"""A reshoot begun from a recipe that came from elsewhere: what is here serves, what is not is chosen or said."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.conftest import Studio
from tests.unit.recipes.made import head, light, recipe
from webapp.errors import Conflict, SeveralInvalid
from webapp.recipes import publish, reshoot
from webapp.recipes.document import LightPart, PatchPart, PlacePart, PositionPart, Recipe, ThingPart
from webapp.recipes.kit_match import ChosenLight
from webapp.recipes.reshoot import Begun, Way
from webapp.records import kit as kit_records
from webapp.records import shots as shot_records
from webapp.records.tables import Camera, Lens, LightHead
from webapp.shoots import readings, sessions, set_up_now
from webapp.web.words.say import say

MONOLIGHT = {"name": "monolight 400 J", "full_j": 400.0}


def monolight(letter: str = "A", **over: object) -> LightPart:
    """A light whose head is in the starter kit, bare, a metre away."""
    said: dict[str, object] = {"shape": "point", "width_mm": None, "angular_size_deg": None, "distance_mm": 1000.0}
    return light(letter, head=head(**MONOLIGHT), **(said | over))  # type: ignore[arg-type]


def kept(studio: Studio, said: Recipe) -> str:
    return publish.publish(studio.records, said).recipe_id


def begun(studio: Studio, recipe_id: str, number: int | None = None, **lights: ChosenLight) -> Begun:
    """Begun as written with the first camera and lens of the starter kit, for a recipe that has neither from here."""
    start = reshoot.prepared(studio.records, recipe_id, number)
    with studio.records.reading() as db:
        camera, lens = kit_records.items_in(db, Camera)[0].id, kit_records.items_in(db, Lens)[0].id
    kit = replace(start.wishes.kit, camera_id=camera, lens_id=lens, lights={**start.wishes.kit.lights, **lights})
    return reshoot.begin_reshoot(studio.records, start, replace(start.wishes, kit=kit, how=Way.WRITTEN))


def test_a_head_of_the_house_is_known_by_name_and_figures_and_the_rest_is_asked_for(studio: Studio) -> None:
    recipe_id = kept(studio, recipe(monolight()))

    start = reshoot.prepared(studio.records, recipe_id)

    with studio.records.reading() as db:
        assert start.wishes.kit.lights["A"].head_id == kit_records.items_in(db, LightHead)[0].id
    assert (start.wishes.kit.camera_id, start.wishes.kit.lens_id) == ("", "")
    with pytest.raises(SeveralInvalid, match=r"44 × 33 is not in this studio.*120 macro is not in this studio"):
        reshoot.begin_reshoot(studio.records, start, start.wishes)


def test_the_shot_has_the_recipes_purpose_places_and_patches(studio: Studio) -> None:
    place = PositionPart(at=PlacePart(x_mm=0, y_mm=350, z_mm=0), known="taped")
    card = ThingPart(id="background", kind="background", position=place, width_mm=370, height_mm=280)
    at = PositionPart(at=PlacePart(x_mm=600, y_mm=-800, z_mm=0))
    said = recipe(
        monolight(position=at),
        things=(card,),
        patches=(PatchPart(name="rim", x=0.1, y=0.2, width=0.1, height=0.1, wanted_stops=2.3),),
    )

    shot_id = begun(studio, kept(studio, said)).shot_id

    state = set_up_now.state(studio.records, shot_id)
    assert (state.shot.subject_types, state.shot.surface, state.shot.look) == (
        "bottle",
        "transparent",
        "dark-field; rim",
    )
    assert state.shot.on_set
    assert state.set_up.lights[0].position is not None
    assert state.set_up.lights[0].position.at.distance_mm == pytest.approx(1000.0)
    assert [(each.kind, each.width_mm) for each in state.set_up.things] == [("background", 370)]
    assert [(each.name, each.wanted_stops) for each in readings.patches_of(studio.records, shot_id)] == [("rim", 2.3)]


def test_where_the_room_decides_the_place_moves_along_its_line(studio: Studio) -> None:
    at = PositionPart(at=PlacePart(x_mm=600, y_mm=-800, z_mm=0))
    recipe_id = kept(studio, recipe(monolight(position=at)))

    head_id = reshoot.prepared(studio.records, recipe_id).wishes.kit.lights["A"].head_id

    shot_id = begun(studio, recipe_id, A=ChosenLight(head_id, distance_mm=1500.0)).shot_id

    stands = set_up_now.state(studio.records, shot_id).set_up.lights[0]
    assert stands.distance_mm == 1500.0
    assert stands.position is not None
    assert (stands.position.at.x_mm, stands.position.at.y_mm) == (pytest.approx(900.0), pytest.approx(-1200.0))


def test_a_new_session_keeps_the_time_zone_of_the_newest(studio: Studio) -> None:
    sessions.begin_session(studio.records, {"name": "at home", "zone": "Europe/Vienna", "day": "2100-01-01"})

    shot_id = begun(studio, kept(studio, recipe(monolight()))).shot_id

    found = reshoot.checklist(studio.records, shot_id)
    assert found is not None
    assert found.zone == "Europe/Vienna"


def test_figures_that_no_light_has_are_refused_and_begin_nothing(studio: Studio) -> None:
    hollow = monolight(shape="ring", width_mm=100.0, inner_diameter_mm=200.0, modifier="hollow ring")
    recipe_id = kept(studio, recipe(hollow))
    with studio.records.reading() as db:
        before = len(shot_records.sessions(db))

    with pytest.raises(Conflict, match="This recipe cannot be rebuilt"):
        begun(studio, recipe_id)

    with studio.records.reading() as db:
        assert len(shot_records.sessions(db)) == before


def test_a_later_version_leaves_the_reshoot_of_the_earlier_one_as_it_was(studio: Studio) -> None:
    recipe_id = kept(studio, recipe(monolight()))
    shot_id = begun(studio, recipe_id, 1).shot_id
    publish.publish(studio.records, recipe(monolight(distance_mm=2000.0)), recipe_id=recipe_id)

    found = reshoot.checklist(studio.records, shot_id)

    assert found is not None
    assert found.number == 1
    assert "Distance 100 cm, face to subject." in [say(line.fact) for line in found.lines]
    line = set_up_now.state(studio.records, shot_id).assessment.of("A")
    assert line is not None
    assert line.stops == 0.0


def test_what_a_reshoot_starts_from_is_carried_until_it_is_measured_there(studio: Studio) -> None:
    taped = PositionPart(at=PlacePart(x_mm=500.0, y_mm=-500.0), known="taped")
    placed = monolight("A", position=taped, distance_mm=707.1)
    recipe_id = kept(studio, recipe(placed, monolight("B", role="fill")))

    shot_id = begun(studio, recipe_id, B=ChosenLight(prepared_head(studio))).shot_id
    stands = set_up_now.state(studio.records, shot_id).set_up
    with set_up_now.reading(studio.records, shot_id) as reader:
        told = set_up_now.Change("lights.B.distance", reader.typed("lights.B.distance", "80 cm"))
    taped_here = set_up_now.change(studio.records, shot_id, [told]).set_up

    places = [each.position for each in stands.lights if each.position]
    assert [(each.known, each.carried_from) for each in places] == [("carried over", recipe_id)]
    assert stands.carried == ("magnification", "subject_distance", "lights.B.distance")
    assert taped_here.carried == ("magnification", "subject_distance")


def prepared_head(studio: Studio) -> str:
    with studio.records.reading() as db:
        return kit_records.items_in(db, LightHead)[1].id

"""Places in a recipe: into the document and out of it, drawn, compared, and read from documents that had none."""

from __future__ import annotations

import json

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tests import typed
from tests.conftest import Studio
from tests.unit.recipes.made import light, recipe
from webapp.facts import fact
from webapp.ledger.ambient_proof import AmbientProof, Standing
from webapp.ledger.evidence_reasons import Reason
from webapp.plan.positions import KINDS, Place, Position, Thing, place_at
from webapp.plan.scales import Room
from webapp.quantities.places import KNOWN
from webapp.recipes import publish
from webapp.recipes.differences import differences
from webapp.recipes.document import AmbientPart, LightPart, PositionPart, ThingPart, read_recipe, recipe_json
from webapp.recipes.drafting import ambient_part
from webapp.recipes.set_plan import direction_of, drawn_plan
from webapp.recipes.written_frame import position_of, thing_of
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.web.words.drawing import captions
from webapp.web.words.say import say

lengths = st.floats(-1e5, 1e5)
places = st.builds(Place, lengths, lengths, lengths)
positions = st.builds(Position, places, places, st.sampled_from(KNOWN))
sizes = st.floats(0, 1e6)
things = st.builds(
    Thing, st.from_regex(r"[a-z]{1,9}-[1-9]", fullmatch=True), st.sampled_from(KINDS), positions, sizes, sizes, sizes
)


def standing_at(letter: str, position: Position, **over: object) -> LightPart:
    return light(letter, position=PositionPart.of(position), **over)


@given(positions)
def test_a_position_comes_back_from_a_document(position: Position) -> None:
    part = PositionPart.of(position)

    assert position_of(PositionPart.model_validate_json(part.model_dump_json())) == position


@given(things)
def test_a_thing_comes_back_from_a_document(thing: Thing) -> None:
    assert thing_of(ThingPart.of(thing)) == thing


def test_a_document_from_before_there_were_places_reads_with_them_unknown() -> None:
    old = json.loads(recipe_json(recipe()))
    for name in ("things", "ambient", "patches"):
        old.pop(name)
    del old["lights"][0]["position"]
    old["format"] = "stopledger-recipe/1"

    old["steps"] = ["prove black", "rim first"]
    old["changes"] = ["Frame 3: f/8 to f/11"]

    read = read_recipe(json.dumps(old))

    assert read == read_recipe(recipe_json(read))
    assert [(each.about, each.words, each.drafted) for each in read.steps] == [
        ("other", "prove black", False),
        ("other", "rim first", False),
    ]
    assert read.changes[0].words == "Frame 3: f/8 to f/11"
    assert read.lights[0].position is None
    assert read.ambient is None
    assert drawn_plan(read, captions()) == ""


@pytest.mark.parametrize(
    ("place", "direction"),
    [
        (place_at(900.0, 0.0), "on the lens axis"),
        (place_at(900.0, 20.0), "front"),
        (place_at(900.0, -45.0, 300.0), "side"),
        (place_at(900.0, 160.0), "back"),
        (place_at(900.0, 0.0, 880.0), "top"),
        (place_at(900.0, 90.0, -850.0), "below"),
        (Place(), None),
    ],
)
def test_a_place_tells_where_the_light_comes_from(place: Place, direction: str | None) -> None:
    assert direction_of(place) == direction


def test_the_plan_is_drawn_in_the_room_it_is_given() -> None:
    made = recipe(standing_at("A", Position(place_at(800.0, -45.0, 400.0))), light("B"))

    drawn = drawn_plan(made, captions(), Room(500.0, 600.0))

    assert 'viewBox="0 0 500 ' in drawn
    assert (
        "A: disc 60 cm, 80 cm from the subject, 45° left, 40 cm above (planned). B: disc 60 cm, no position" in drawn
    )


def test_a_version_says_what_moved_and_what_became_of_the_margin() -> None:
    before = recipe(
        standing_at("B", Position(place_at(1000.0, 60.0))), ambient=AmbientPart(margin_stops=8, patch="rim")
    )
    after = recipe(standing_at("B", Position(place_at(800.0, 45.0))))

    told = [say(each) for each in differences(before, after)]

    assert "B moved 20 cm nearer and 15° forward." in told
    assert "ambient margin 8.0 stops to unknown" in told


def test_a_draft_takes_places_from_the_frame(studio: Studio) -> None:
    where = {"distance": "80", "bearing": "45 left", "height": "40", "known": "taped"}
    typed.change(studio.records, studio.shot_id, {"lights.A.position": where})
    logged = log_frame(studio.records, studio.shot_id, FrameWords())

    drafted = publish.draft_from(studio.records, logged.frame_id)[0].figures

    position = drafted.lights[0].position
    assert position is not None
    assert position.known == "taped"
    assert position_of(position).at.distance_mm == pytest.approx(800.0)
    assert drafted.lights[0].direction == "side"
    assert drafted.ambient is None


def proof(standing_as: Standing, now_stops: float | None) -> AmbientProof:
    return AmbientProof(
        "f", 1, "rim", 7.4, now_stops, True, standing_as, fact(Reason.PROOF_HOLDS), None, None, None, ()
    )


def test_a_margin_goes_along_with_its_patch_and_as_the_bound_that_it_is() -> None:
    assert ambient_part(proof(Standing.HOLDS, 7.1)) == AmbientPart(margin_stops=7.1, at_least=True, patch="rim")


@pytest.mark.parametrize("found", [None, proof(Standing.VOID, 7.1), proof(Standing.UNTOLD, None)])
def test_a_margin_that_is_not_proven_stays_out(found: AmbientProof | None) -> None:
    assert ambient_part(found) is None


@given(st.lists(positions, min_size=1, max_size=4), st.lists(things, max_size=4))
@example([Position(Place(), Place())], [Thing("camera", "camera", Position(Place(), Place()), 0.0, 0.0)])
@example([Position(Place(1e5, 1e5, 1e5))], [Thing("subject", "subject", Position(Place()), 1e6, 0.0, 1e6)])
@example([Position(Place(1e-9, 0.0, 0.0))], [Thing("background", "background", Position(Place()), 0.0, 0.0)])
def test_whatever_a_document_can_hold_is_drawn(lights_at: list[Position], around: list[Thing]) -> None:
    lights = [standing_at(f"L{number}", each) for number, each in enumerate(lights_at)]
    made = recipe(*lights, things=tuple(ThingPart.of(each) for each in around))

    drawn = drawn_plan(made, captions())

    assert drawn.startswith("<svg")
    assert "nan" not in drawn
    assert "inf" not in drawn.replace("info", "")

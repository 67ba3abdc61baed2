"""How light meets the subject as the camera sees it, and what a record shows of technique."""

from __future__ import annotations

import pytest

from tests.unit.recipes.made import light, recipe
from webapp.recipes.document import PlacePart, PositionPart, Recipe, StepPart, ThingPart
from webapp.recipes.search.lines import set_up_distance, vector_of
from webapp.recipes.search.techniques import (
    Meeting,
    camera_axis,
    meeting_of,
    ratio_in,
    room_mm,
    techniques_of,
)

UP = ThingPart(
    id="camera",
    kind="camera",
    position=PositionPart(at=PlacePart(z_mm=900.0)),
    width_mm=140,
    height_mm=100,
)


def placed(x: float, y: float, z: float) -> PositionPart:
    return PositionPart(at=PlacePart(x_mm=x, y_mm=y, z_mm=z), known="taped")


def one(position: PositionPart, *, overhead: bool = False, **said: object) -> Recipe:
    lit = light(position=position, direction=None)
    return recipe(lit).model_copy(update={"things": (UP,) if overhead else (), **said})


def met(made: Recipe) -> Meeting | None:
    return meeting_of(made.lights[0], camera_axis(made))


@pytest.mark.parametrize(
    ("at", "level", "overhead"),
    [
        ((0.0, -800.0, 0.0), Meeting.ON_AXIS, Meeting.RAKING),
        ((0.0, 0.0, 800.0), Meeting.ABOVE, Meeting.ON_AXIS),
        ((800.0, 0.0, 0.0), Meeting.SIDE, Meeting.RAKING),
        ((0.0, 800.0, 100.0), Meeting.BEHIND, Meeting.RAKING),
        ((0.0, 0.0, -800.0), Meeting.BELOW, Meeting.BEHIND),
        ((500.0, -500.0, 500.0), Meeting.FRONT, Meeting.FRONT),
    ],
)
def test_a_light_is_told_by_where_it_stands_to_the_axis_of_the_camera(
    at: tuple[float, float, float], level: Meeting, overhead: Meeting
) -> None:
    assert met(one(placed(*at))) is level
    assert met(one(placed(*at), overhead=True)) is overhead


def test_a_camera_is_overhead_where_somebody_wrote_it() -> None:
    said = one(placed(0.0, 0.0, 800.0), steps=(StepPart(words="Camera straight above the dial"),))

    assert met(said) is Meeting.ON_AXIS


def test_set_ups_are_alike_by_how_the_light_meets_the_subject_and_not_by_where_it_stands() -> None:
    """A light above a flat lay and one beside a camera on its tripod both shine along the axis."""
    flat_lay = one(placed(0.0, 0.0, 800.0), overhead=True)
    copy_stand = one(placed(50.0, -800.0, 0.0))
    top_lit = one(placed(0.0, 0.0, 800.0))

    own = vector_of(flat_lay)

    assert set_up_distance(own, vector_of(copy_stand)) < set_up_distance(own, vector_of(top_lit))


def test_a_light_through_a_panel_is_less_like_a_bare_one() -> None:
    own = vector_of(recipe(light(modifier="panel 100x140", modifier_diffuses=True)))
    bare = vector_of(recipe(light(modifier="standard reflector", modifier_diffuses=False)))

    assert own.through is True
    assert set_up_distance(own, bare) > 0.0


def test_a_technique_that_is_denied_or_only_talked_about_is_none() -> None:
    made = recipe(light()).model_copy(
        update={"why": "raking light would show the brush", "steps": (StepPart(words="No gel on the fill"),)}
    )

    assert not {"raking", "gelled", "gel on the fill"} & set(techniques_of(made))


@pytest.mark.parametrize(
    ("text", "stops"),
    [
        ("key to fill 4:1", 2.0),
        ("key-to-fill 2 stops", 2.0),
        ("fill three stops under", 3.0),
        ("ratio of two to one", 1.0),
        ("magnification 4:1", None),
    ],
)
def test_a_ratio_is_read_where_it_is_one_of_light(text: str, stops: float | None) -> None:
    assert ratio_in(text) == stops


def test_the_room_is_what_lights_and_camera_take() -> None:
    made = one(placed(1500.0, 500.0, 300.0))
    made = made.model_copy(update={"settings": made.settings.model_copy(update={"subject_distance_mm": 1200.0})})

    assert room_mm(made) == (1700.0, 1500.0)
    assert room_mm(recipe(light(position=None))) is None

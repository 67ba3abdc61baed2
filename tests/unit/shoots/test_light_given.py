"""What each light gave, on a set whose light is known."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.made_sets import MadeSet, Truth, made_set, picture_of
from webapp.errors import InvalidValue
from webapp.shoots import explain, frames, set_up_now
from webapp.shoots.explain import Explained
from webapp.web.pages.evidence_parts import evidence_of
from webapp.web.words.say import say


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[MadeSet]:
    with made_set(tmp_path_factory.mktemp("made")) as made:
        yield made


def said(found: Explained) -> list[str]:
    return [say(each) for each in found.says]


def test_a_light_turned_down_is_told_with_the_lights_that_gave_as_logged(made: MadeSet) -> None:
    frame_id = made.plant({}, Truth({"A": -0.6}))

    first, second = said(explain.explain(made.records, frame_id))

    assert first.startswith("A gave 0.60 less than logged (±0.0")
    assert second == "B, C and the room gave as logged."


def test_the_page_says_what_each_light_gave_before_what_may_lie_behind_it(made: MadeSet) -> None:
    frame = frames.one(made.records, made.plant({}, Truth({"A": -0.6})))

    view, _ = evidence_of(made.records, frame)

    assert view.gave[0].startswith("A gave 0.60 less than logged")
    assert not any(each.set_apart for each in view.explanations)
    assert view.choice == "The picture does not tell these apart: take one if you know it."


def test_a_light_that_did_not_fire_is_set_apart(made: MadeSet) -> None:
    frame = frames.one(made.records, made.plant({}, Truth({"C": None})))

    view, _ = evidence_of(made.records, frame)

    assert view.gave[0] == "C gave nothing."
    assert [each.title for each in view.explanations if each.set_apart] == ["C did not fire"]
    assert view.choice == ""


def test_all_lights_alike_are_said_in_one(made: MadeSet) -> None:
    frame_id = made.plant({}, Truth(camera=-1.0))

    assert said(explain.explain(made.records, frame_id))[0].startswith("All lights gave 1.00 less than logged, alike")


def test_something_local_is_told_where_it_is(made: MadeSet) -> None:
    frame_id = made.plant({}, Truth(local={"label": -0.4}))

    found = explain.explain(made.records, frame_id)

    *_, last = said(found)
    assert found.attribution.explanations == ()
    assert last == "Something local at label: 0.40 darker than the lights together make it."


def test_where_a_light_has_no_frame_of_its_own_the_page_says_which_would_tell(made: MadeSet) -> None:
    head_id = set_up_now.state(made.records, made.shot_id).set_up.lights[0].head.id
    set_up_now.add_light(made.records, made.shot_id, head_id, "kicker")
    try:
        frame_id = made.shoot(picture_of(Truth({"A": 1.0})))
        found = explain.explain(made.records, frame_id)

        assert (found.gave, found.solo_wanted) == (None, "D")
        stands = set_up_now.stand_as_frame(made.records, made.shot_id, frame_id, found.solo_wanted).set_up
        assert [light.letter for light in stands.lights if light.lit] == ["D"]
        with pytest.raises(InvalidValue, match="no such light"):
            set_up_now.stand_as_frame(made.records, made.shot_id, frame_id, "Z")
    finally:
        set_up_now.remove_light(made.records, made.shot_id, "D")

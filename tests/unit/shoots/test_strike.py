"""Closing a shot: off the set, the answers kept in the set-up and in the frame, and open again."""

from __future__ import annotations

import pytest

from tests import typed
from tests.conftest import Studio
from webapp.errors import Conflict, InvalidValue, SeveralInvalid, StaleValue
from webapp.facts import fact
from webapp.records import shots as shot_records
from webapp.records.tables import Shot
from webapp.shoots import frames, sessions, set_up_now, strike
from webapp.shoots.log_frame import FrameWords, Logged, log_frame
from webapp.shoots.reasons import Reason

PLACE = {"lights.A.distance": "80 cm", "lights.A.bearing": "45 left", "lights.A.height": "20"}


def logged(studio: Studio, **words: str) -> Logged:
    return log_frame(studio.records, studio.shot_id, FrameWords.model_validate(words))


def shot_of(studio: Studio) -> Shot:
    with studio.records.reading() as db:
        return shot_records.shot_of(db, studio.shot_id)


def test_a_closed_shot_is_off_the_set_and_takes_no_frame(studio: Studio) -> None:
    strike.strike(studio.records, studio.shot_id, ())

    assert shot_of(studio).closed_at is not None
    with studio.records.reading() as db:
        assert shot_records.shot_on_the_set(db) is None
    with pytest.raises(Conflict, match="Open it again to log a frame"):
        logged(studio)
    with pytest.raises(Conflict, match="Open it again to put it on the set"):
        sessions.put_on_set(studio.records, studio.shot_id)


def test_a_save_that_was_answered_before_closing_is_answered_the_same_after_it(studio: Studio) -> None:
    first = log_frame(studio.records, studio.shot_id, FrameWords(), save_key="k")
    strike.strike(studio.records, studio.shot_id, ())

    again = log_frame(studio.records, studio.shot_id, FrameWords(), save_key="k")

    assert (again.frame_id, again.is_new) == (first.frame_id, False)


def test_opened_again_it_is_on_the_set_and_takes_frames(studio: Studio) -> None:
    other = sessions.begin_shot(studio.records, studio.session_id, {"title": "the back of it"})
    strike.strike(studio.records, studio.shot_id, ())

    strike.reopen(studio.records, studio.shot_id)

    with studio.records.reading() as db:
        assert shot_records.shot_on_the_set(db) == shot_of(studio)
        assert not shot_records.shot_of(db, other).on_set
    assert logged(studio).is_new


def test_closing_another_shot_leaves_the_one_on_the_set_where_it_is(studio: Studio) -> None:
    other = sessions.begin_shot(studio.records, studio.session_id, {"title": "the back of it"})

    strike.strike(studio.records, studio.shot_id, ())

    with studio.records.reading() as db:
        on_set = shot_records.shot_on_the_set(db)
    assert on_set is not None
    assert on_set.id == other


def test_a_shot_is_closed_once(studio: Studio) -> None:
    strike.strike(studio.records, studio.shot_id, ())

    with pytest.raises(Conflict, match="closed already"):
        typed.strike_with(studio.records, studio.shot_id, PLACE)


def test_answers_go_into_the_set_up_and_into_the_frame_as_a_revision(studio: Studio) -> None:
    frame_id = logged(studio).frame_id

    struck = typed.strike_with(studio.records, studio.shot_id, PLACE, as_in_frame=frame_id)

    stands = set_up_now.state(studio.records, studio.shot_id).set_up.lights[0]
    story = frames.story(studio.records, frame_id)
    assert struck.completed == ("lights.A.position",)
    assert stands.distance_mm == 800.0
    assert story.frame.set_up.lights[0].position == stands.position
    assert [each.what for each in story.revisions] == [
        (fact(Reason.COMPLETED_BEFORE_STRIKING, fields=("lights.A.position",)),)
    ]


def test_the_revision_before_it_can_be_put_back(studio: Studio) -> None:
    frame_id = logged(studio).frame_id
    typed.strike_with(studio.records, studio.shot_id, PLACE, as_in_frame=frame_id)

    frames.restore_revision(studio.records, frame_id, 1)

    assert frames.one(studio.records, frame_id).set_up.lights[0].distance_mm is None


def test_the_ledger_of_later_frames_rests_on_the_answer(studio: Studio) -> None:
    first = logged(studio).frame_id
    typed.change(studio.records, studio.shot_id, {"lights.A.distance": "160 cm"})
    second = logged(studio).frame_id
    typed.change(studio.records, studio.shot_id, {"lights.A.distance": None})
    unknown = frames.one(studio.records, second).ledger.of("A")

    typed.strike_with(studio.records, studio.shot_id, PLACE, as_in_frame=first)

    known = frames.one(studio.records, second).ledger.of("A")
    assert unknown is not None
    assert unknown.stops is None
    assert known is not None
    # Twice the distance is two stops less, by the inverse square and on the card of every meter.
    assert known.stops == pytest.approx(-2.0)


def test_without_a_frame_the_answers_stay_with_the_set_up(studio: Studio) -> None:
    frame_id = logged(studio).frame_id

    struck = typed.strike_with(studio.records, studio.shot_id, PLACE)

    assert struck.frame_id is None
    assert frames.one(studio.records, frame_id).set_up.lights[0].distance_mm is None


def test_a_distance_alone_leaves_the_direction_unknown(studio: Studio) -> None:
    typed.strike_with(studio.records, studio.shot_id, {"lights.A.distance": "80 cm"})

    light = set_up_now.state(studio.records, studio.shot_id).set_up.lights[0]
    assert (light.distance_mm, light.position) == (800.0, None)


@pytest.mark.parametrize(
    ("answers", "where"),
    [
        ({"lights.A.bearing": "45 left"}, ("lights", "A", "distance")),
        ({"lights.A.distance": "near"}, ("lights", "A", "distance")),
        ({"lights.A.distance": "10", "lights.A.height": "50"}, ("lights", "A", "position")),
        ({"magnification": "large"}, ("magnification",)),
    ],
)
def test_an_answer_that_cannot_be_read_keeps_the_shot_open_and_changes_nothing(
    studio: Studio, answers: dict[str, str], where: tuple[str, ...]
) -> None:
    before = set_up_now.state(studio.records, studio.shot_id).set_up

    with pytest.raises(SeveralInvalid) as refused:
        typed.strike_with(studio.records, studio.shot_id, {"subject_distance": "40 cm"} | answers)

    assert [each.where for each in refused.value.problems] == [where]
    assert shot_of(studio).closed_at is None
    assert set_up_now.state(studio.records, studio.shot_id).set_up == before


def test_an_answer_that_somebody_else_gave_first_is_shown_with_both(studio: Studio) -> None:
    versions = {"lights.A.distance": 0, "lights.A.position": 0}
    typed.change(studio.records, studio.shot_id, {"lights.A.distance": "75 cm"})

    with pytest.raises(StaleValue) as stale:
        typed.strike_with(studio.records, studio.shot_id, {"lights.A.distance": "80 cm"}, versions=versions)

    assert (stale.value.stands, stale.value.offered) == ("75 cm", "80 cm")
    assert shot_of(studio).closed_at is None


def test_a_frame_of_another_shot_is_refused(studio: Studio) -> None:
    frame_id = logged(studio).frame_id
    other = sessions.begin_shot(studio.records, studio.session_id, {"title": "the back of it"})

    with pytest.raises(InvalidValue, match="another shot"):
        strike.strike(studio.records, other, (), as_in_frame=frame_id)


@pytest.mark.parametrize(
    ("logged_as", "chosen"),
    [
        ([{}, {}], 2),
        ([{"purpose": "final"}, {}], 1),
        ([{"verdict": "stands"}, {}], 1),
        ([{}, {"verdict": "fails"}], 1),
        ([{}, {"purpose": "ambient check"}], 1),
    ],
)
def test_the_frame_that_is_offered_is_the_one_a_recipe_would_be_made_of(
    studio: Studio, logged_as: list[dict[str, str]], chosen: int
) -> None:
    for words in logged_as:
        logged(studio, **words)

    offered = strike.before_striking(studio.records, studio.shot_id).frames

    assert [each.number for each in offered if each.chosen] == [chosen]

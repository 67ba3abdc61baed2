"""What a transaction changed is read off its rows: by every use-case, and by none that was rolled back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests import typed
from tests.conftest import Studio
from webapp.errors import InvalidValue, PictureRefused
from webapp.kit import inventory, units
from webapp.optics.scales import Quantity
from webapp.quantities.marks import read_mark
from webapp.recipes.share import live_page
from webapp.recipes.share.live_page import LetOut
from webapp.records.changes import (
    Changed,
    FrameOf,
    KitOfHouse,
    LengthsOfHouse,
    LivePageEnded,
    Noted,
    NoticesOf,
    SavedMixesOf,
    SetUpOf,
    WholeShot,
)
from webapp.records.tables import SavedMix
from webapp.shoots import frames, readings, sessions, set_up_now, strike
from webapp.shoots.log_frame import FrameWords, log_frame, refuse_picture
from webapp.shoots.set_up_now import Change

Changes = Callable[[Callable[[], object]], set[Changed]]


@pytest.fixture
def notes(studio: Studio) -> list[Noted]:
    """What is noted from now on."""
    noted: list[Noted] = []
    studio.records.on_noted = noted.append
    return noted


@pytest.fixture
def changed_by(notes: list[Noted]) -> Changes:
    def changed(work: Callable[[], object]) -> set[Changed]:
        notes.clear()
        work()
        return {each for noted in notes for each in noted.changed}

    return changed


def logged(studio: Studio, **said: Any) -> str:
    return log_frame(studio.records, studio.shot_id, FrameWords.model_validate(said)).frame_id


def dialled(studio: Studio, field: str, value: str) -> set_up_now.StandingState:
    return typed.change(studio.records, studio.shot_id, {field: value})


def test_a_dial_changes_the_set_up_of_its_shot(studio: Studio, changed_by: Changes) -> None:
    assert changed_by(lambda: dialled(studio, "f_number", "16")) == {SetUpOf(studio.shot_id)}


def test_what_is_refused_changes_nothing(studio: Studio, notes: list[Noted]) -> None:
    with pytest.raises(InvalidValue):
        dialled(studio, "f_number", "wide")

    assert not any(each.changed for each in notes)


def test_a_number_rises_with_every_change_and_is_that_of_the_state(studio: Studio, notes: list[Noted]) -> None:
    first, second = dialled(studio, "f_number", "16"), dialled(studio, "f_number", "11")

    numbers = [each.number for each in notes if each.changed]
    assert numbers == [first.as_of, second.as_of]
    assert studio.records.newest == second.as_of > first.as_of


def test_the_state_that_is_answered_goes_with_the_change(studio: Studio, notes: list[Noted]) -> None:
    state = dialled(studio, "f_number", "16")

    assert [each.states[studio.shot_id] for each in notes if each.states] == [state]


def test_a_frame_changes_its_line_and_the_set_up_and_the_first_is_no_more(
    studio: Studio, changed_by: Changes
) -> None:
    ids: list[str] = []

    assert changed_by(lambda: ids.append(logged(studio))) == {
        FrameOf(studio.shot_id, ids[0]),
        SetUpOf(studio.shot_id),
    }


def test_the_same_save_key_changes_nothing_the_second_time(studio: Studio, changed_by: Changes) -> None:
    def save() -> object:
        return log_frame(studio.records, studio.shot_id, FrameWords(), save_key="key")

    save()

    assert changed_by(save) == set()


def test_a_frame_that_is_moved_changes_both_shots(studio: Studio, changed_by: Changes) -> None:
    logged(studio)
    frame_id = logged(studio)
    other = sessions.begin_shot(studio.records, studio.session_id, {"title": "the box"})

    changed = changed_by(lambda: frames.move(studio.records, frame_id, other))

    assert {WholeShot(studio.shot_id), WholeShot(other)} <= changed


def test_words_of_a_frame_change_that_frame_alone(studio: Studio, changed_by: Changes) -> None:
    ids = [logged(studio) for _ in range(3)]

    changed = changed_by(lambda: frames.edit(studio.records, ids[1], words={"because": "too hot"}))

    assert changed == {FrameOf(studio.shot_id, ids[1])}


def test_another_reference_changes_the_whole_shot(studio: Studio, changed_by: Changes) -> None:
    logged(studio)
    second = logged(studio)

    changed = changed_by(lambda: frames.make_reference(studio.records, second))

    assert WholeShot(studio.shot_id) in changed


def test_many_frames_worked_out_anew_change_the_whole_shot(studio: Studio, changed_by: Changes) -> None:
    first, *_ = [logged(studio) for _ in range(6)]

    changed = changed_by(
        lambda: frames.edit(studio.records, first, changes=[Change("f_number", read_mark(Quantity.F_NUMBER, "16"))])
    )

    assert changed == {WholeShot(studio.shot_id)}


def test_a_shot_that_comes_onto_the_set_changes_with_the_one_that_leaves_it(
    studio: Studio, changed_by: Changes
) -> None:
    other = sessions.begin_session(studio.records, {"name": "another day"})
    there = sessions.begin_shot(studio.records, other, {"title": "watch"})

    changed = changed_by(lambda: sessions.put_on_set(studio.records, studio.shot_id))

    assert changed == {SetUpOf(studio.shot_id), SetUpOf(there)}
    assert changed_by(lambda: sessions.put_on_set(studio.records, studio.shot_id)) == set()


def test_a_shot_that_is_begun_described_closed_and_opened_changes(studio: Studio, changed_by: Changes) -> None:
    ids: list[str] = []
    begun = changed_by(lambda: ids.append(sessions.begin_shot(studio.records, studio.session_id, {"title": "watch"})))
    assert {WholeShot(ids[0]), SetUpOf(studio.shot_id)} <= begun
    told = changed_by(lambda: sessions.describe_shot(studio.records, ids[0], {"title": "steel watch"}))
    assert told == {WholeShot(ids[0])}
    assert SetUpOf(ids[0]) in changed_by(lambda: strike.strike(studio.records, ids[0], {}))
    assert SetUpOf(ids[0]) in changed_by(lambda: strike.reopen(studio.records, ids[0]))
    assert changed_by(lambda: sessions.delete_shot(studio.records, ids[0])) == set()


def test_patches_notices_and_saved_mixes_change(studio: Studio, changed_by: Changes) -> None:
    place = {"name": "rim", "x": 0.1, "y": 0.1, "width": 0.1, "height": 0.1}
    reason = PictureRefused("no picture")

    def mixed() -> None:
        with studio.records.writing() as db:
            db.add(SavedMix(shot_id=studio.shot_id, name="darker", levels={}, frames={}))

    assert changed_by(lambda: readings.draw_patch(studio.records, studio.shot_id, place)) == {
        WholeShot(studio.shot_id)
    }
    assert changed_by(lambda: refuse_picture(studio.records, studio.shot_id, "a.jpg", reason)) == {
        NoticesOf(studio.shot_id)
    }
    assert changed_by(mixed) == {SavedMixesOf(studio.shot_id)}


def test_kit_changes_what_can_be_chosen_and_the_set_ups_that_it_stands_in(
    studio: Studio, changed_by: Changes
) -> None:
    head = set_up_now.state(studio.records, studio.shot_id).set_up.lights[0].head.id

    changed = changed_by(lambda: inventory.keep(studio.records, "lights", {"name": "beacon"}, head))

    assert changed == {KitOfHouse(), SetUpOf(studio.shot_id)}
    assert changed_by(lambda: inventory.retire(studio.records, "lights", head)) == {KitOfHouse()}


def test_the_unit_of_lengths_changes_every_page(studio: Studio, changed_by: Changes) -> None:
    assert changed_by(lambda: units.choose(studio.records, "in")) == {LengthsOfHouse()}
    assert changed_by(lambda: units.choose(studio.records, "in")) == set()


def test_a_live_page_that_is_withdrawn_has_ended(studio: Studio, changed_by: Changes) -> None:
    token = live_page.open_up(studio.records, studio.session_id, title="class", hours=8, let_out=LetOut())

    assert changed_by(lambda: live_page.withdraw(studio.records, token)) == {LivePageEnded(token)}

"""The room in made pictures: where it comes nearest in the whole frame, and how long and how far that carries."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pytest

from tests.unit.shoots.conftest import MID_TONE, Stage
from webapp.facts import fact
from webapp.ledger.ambient_proof import AmbientProof, Standing
from webapp.ledger.evidence_reasons import Reason
from webapp.records import shots as shot_records
from webapp.records.tables import Frame
from webapp.shoots import ambient_check, mixes, readings, sessions, set_up_now
from webapp.shoots.log_frame import FrameWords, log_frame

CARD = {"name": "card", "x": 0.6, "y": 0.6, "width": 0.2, "height": 0.2}


def check(stage: Stage, light: np.ndarray[Any, Any], *, raw: bool = True) -> str:
    """An ambient check whose picture shows this light."""
    ambient_check.begin_ambient_check(stage.records, stage.shot_id)
    stage.taken += 1
    path = stage._raw(light) if raw else stage._jpeg(light)
    picture = stage.intake.read(path.name, path)
    logged = log_frame(stage.records, stage.shot_id, FrameWords(purpose="ambient check"), picture=picture)
    stage.read()
    return logged.frame_id


def room(stops: float, window: float | None = None) -> np.ndarray[Any, Any]:
    """A room so far about mid-tone, with a window mirrored at the upper left."""
    light = np.full((480, 640), MID_TONE * 2.0**stops)
    if window is not None:
        light[80:120, 120:160] = MID_TONE * 2.0**window
    return light


def proof(stage: Stage) -> AmbientProof:
    found = set_up_now.state(stage.records, stage.shot_id).evidence.proof
    assert found is not None
    return found


@pytest.mark.parametrize("raw", [True, False])
def test_a_window_mirrored_outside_the_patch_is_the_margin(stage: Stage, raw: bool) -> None:
    readings.draw_patch(stage.records, stage.shot_id, CARD)
    stage.shoot(0.0, raw=raw)
    frame_id = check(stage, room(-6.0, window=1.0), raw=raw)

    found = proof(stage)

    # One second to 1/125 is seven stops: the patch alone would say thirteen.
    assert found.proven_stops == pytest.approx(6.0, abs=0.1)
    assert found.patch == ""
    assert found.nearest is not None
    assert found.nearest.middle == pytest.approx((140 / 640, 100 / 480), abs=0.04)
    assert stage.frame(frame_id).evidence.room is not None


def test_a_moved_patch_with_another_level_wanted_moves_the_margin(stage: Stage) -> None:
    patch_id = readings.draw_patch(stage.records, stage.shot_id, CARD)
    stage.shoot(0.0)
    check(stage, room(-2.0))
    before = proof(stage)

    readings.change_patch(stage.records, patch_id, {"wanted_stops": -3.0})
    after = proof(stage)

    assert before.proven_stops == pytest.approx(9.0, abs=0.05)
    assert (after.patch, round(after.proven_stops, 1)) == ("card", 6.0)


def test_a_clipped_check_proves_nothing_and_is_not_taken_out_of_a_mixture(stage: Stage) -> None:
    readings.draw_patch(stage.records, stage.shot_id, CARD)
    stage.shoot(0.0)
    check(stage, room(-6.0, window=4.0))

    found = proof(stage)

    assert found.standing is Standing.VOID
    assert found.reason.reason == Reason.CHECK_IS_CLIPPED
    assert found.now_stops is None
    assert (
        fact(Reason.AMBIENT_LEFT_IN, frame=2, why="clipped") in mixes.mixing(stage.records, stage.shot_id).found.notes
    )


def test_a_check_carries_to_the_next_shot_of_the_session_until_something_moves(stage: Stage) -> None:
    stage.shoot(0.0)
    check(stage, room(-4.0))
    with stage.records.reading() as db:
        session_id = shot_records.shot_of(db, stage.shot_id).session_id
        title = shot_records.shot_of(db, stage.shot_id).title
    first = stage.shot_id
    stage.shot_id = sessions.begin_shot(stage.records, session_id, {"title": "crown"})
    assert stage.shot_id != first

    carried = proof(stage)
    moved = stage.set(lights__A__distance="90 cm").evidence.proof

    assert (carried.standing, carried.shot) == (Standing.HOLDS, title)
    assert carried.proven_stops == pytest.approx(11.0, abs=0.05)
    assert moved is not None
    assert moved.reason == fact(Reason.PROOF_NOT_CARRIED, what=("A",))


def test_a_check_that_comes_later_in_the_session_is_carried_at_once(stage: Stage) -> None:
    stage.shoot(0.0)
    with stage.records.reading() as db:
        session_id = shot_records.shot_of(db, stage.shot_id).session_id
    first = stage.shot_id
    second = sessions.begin_shot(stage.records, session_id, {"title": "crown"})
    assert set_up_now.state(stage.records, second).evidence.proof is None

    stage.shot_id = first
    frame_id = check(stage, room(-4.0))
    found = set_up_now.state(stage.records, second).evidence.proof

    assert found is not None
    assert found.frame_id == frame_id


def test_an_old_check_says_so(stage: Stage) -> None:
    stage.shoot(0.0)
    frame_id = check(stage, room(-4.5))
    fresh = proof(stage)
    with stage.records.writing() as db:
        frame = db.get_one(Frame, frame_id)
        frame.logged_at -= dt.timedelta(hours=5)
        db.add(frame)

    old = proof(stage)

    # Eleven and a half stops are four and a half more than wanted.
    assert fresh.made_at is not None
    assert fresh.repeat_at == pytest.approx(fresh.made_at + dt.timedelta(hours=4.5), abs=dt.timedelta(minutes=10))
    assert (fresh.is_old, old.is_old, old.standing) == (False, True, Standing.HOLDS)


def test_a_check_that_turns_out_to_be_none_is_carried_no_more(stage: Stage) -> None:
    stage.shoot(0.0)
    frame_id = check(stage, room(-4.0))
    with stage.records.reading() as db:
        session_id = shot_records.shot_of(db, stage.shot_id).session_id
    second = sessions.begin_shot(stage.records, session_id, {"title": "crown"})
    assert set_up_now.state(stage.records, second).evidence.proof is not None

    with stage.records.writing() as db:
        frame = db.get_one(Frame, frame_id)
        frame.purpose = "test"
        db.add(frame)

    assert set_up_now.state(stage.records, second).evidence.proof is None

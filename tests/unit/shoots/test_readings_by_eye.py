"""Read by eye: what was judged works as a reading does, is told apart from one, and gives way to a file."""

from __future__ import annotations

import pytest
from sqlmodel import select

from tests.unit.shoots.conftest import Stage
from webapp.errors import Conflict, InvalidValue
from webapp.kit.learned import learned_of_head
from webapp.ledger.ambient_proof import Standing
from webapp.ledger.evidence import BLACK_TO_THE_EYE_STOPS, EYE_TOLERANCE_STOPS
from webapp.quantities.by_eye import read_seen
from webapp.records.tables import Reading, ReadingByEye
from webapp.shoots import readings, set_up_now
from webapp.shoots.ambient_check import begin_ambient_check
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.web.words.proof import proof_line

CARD = {"name": "card", "x": 0.1, "y": 0.3, "width": 0.3, "height": 0.4}


def log(stage: Stage, purpose: str = "test") -> str:
    """A frame without a picture."""
    return log_frame(stage.records, stage.shot_id, FrameWords(purpose=purpose)).frame_id


def look(stage: Stage, frame_id: str, typed: str) -> None:
    seen = read_seen(typed, readings.names_to_read(stage.records, frame_id))
    readings.keep_by_eye(stage.records, frame_id, seen)


def test_without_a_picture_the_ledger_predicts_and_the_eye_answers(stage: Stage) -> None:
    first = log(stage)
    look(stage, first, "0.0")
    stage.set(f_number="11")
    second = log(stage)

    look(stage, second, "a third too dark")

    (patch,) = stage.frame(second).evidence.patches
    assert patch.by_eye
    assert patch.read_stops == pytest.approx(-1 / 3)
    assert patch.unexplained_stops == pytest.approx(2 / 3)
    assert patch.tolerance_stops == EYE_TOLERANCE_STOPS
    assert patch.is_told


def test_a_third_by_eye_is_within_what_an_eye_tells(stage: Stage) -> None:
    look(stage, log(stage), "0.0")
    second = log(stage)

    look(stage, second, "a third too bright")

    assert not stage.frame(second).evidence.patches[0].is_told


def test_too_bright_is_against_the_wanted_level_as_it_was_then(stage: Stage) -> None:
    patch_id = readings.draw_patch(stage.records, stage.shot_id, CARD | {"wanted_stops": 1.0})
    frame_id = log(stage)
    look(stage, frame_id, "card half a stop over")

    readings.change_patch(stage.records, patch_id, {"wanted_stops": 0.0})

    (patch,) = stage.frame(frame_id).evidence.patches
    assert (patch.name, patch.wanted_stops, patch.read_stops) == ("card", 0.0, pytest.approx(1.5))


@pytest.mark.parametrize("raw", [True, False], ids=["raw", "rendered"])
def test_a_file_takes_the_place_of_the_eye_and_both_are_kept(stage: Stage, raw: bool) -> None:
    frame_id = stage.shoot(0.5, raw=raw)

    look(stage, frame_id, "−2")

    (patch,) = stage.frame(frame_id).evidence.patches
    assert not patch.by_eye
    assert patch.read_stops == pytest.approx(0.5, abs=0.3)
    (read,) = readings.readings_of_frame(stage.records, frame_id)
    assert read.read is read.reading
    assert read.by_eye is not None
    assert read.by_eye.read_stops == -2.0
    with stage.records.reading() as db:
        assert len(db.exec(select(Reading)).all()) == len(db.exec(select(ReadingByEye)).all()) == 1


@pytest.mark.parametrize(("raw", "compared"), [(False, True), (True, False)], ids=["rendered", "raw"])
def test_the_eye_is_held_against_a_rendered_file_and_not_against_a_raw_one(
    stage: Stage, raw: bool, compared: bool
) -> None:
    stage.shoot(0.0, raw=raw)
    frame_id = log(stage)

    look(stage, frame_id, "+1")

    (patch,) = stage.frame(frame_id).evidence.patches
    assert (patch.measured_stops is not None) is compared


def test_the_newest_look_holds_and_can_be_taken_back(stage: Stage) -> None:
    frame_id = log(stage)
    look(stage, frame_id, "+1")
    look(stage, frame_id, "-1")
    assert stage.frame(frame_id).evidence.patches[0].read_stops == pytest.approx(-1.0)

    look(stage, frame_id, "unknown")

    assert stage.frame(frame_id).evidence.patches == ()
    with stage.records.reading() as db:
        assert len(db.exec(select(ReadingByEye)).all()) == 3


def test_black_by_eye_proves_the_room_and_the_proof_says_who_looked(stage: Stage) -> None:
    log(stage)
    begin_ambient_check(stage.records, stage.shot_id)
    check = log(stage, "ambient check")

    look(stage, check, "black by eye")

    proof = set_up_now.state(stage.records, stage.shot_id).evidence.proof
    assert proof is not None
    assert proof.by_eye
    assert proof.is_bound
    assert proof.standing is Standing.HOLDS
    # One second to 1/125 is seven stops.
    assert proof.proven_stops == pytest.approx(7.0 - BLACK_TO_THE_EYE_STOPS)
    assert proof_line(proof) == "Ambient proven by eye, at least 12.0 stops below · still holds"


def test_shares_by_eye_say_so(stage: Stage) -> None:
    heads = set_up_now.state(stage.records, stage.shot_id).set_up.lights
    set_up_now.add_light(stage.records, stage.shot_id, heads[0].head.id)
    both = log(stage)
    look(stage, both, "0.0")
    stage.set(lights__B__lit="off")
    alone = log(stage)
    look(stage, alone, "-1")

    stage.set(lights__B__lit="on")

    (total,) = set_up_now.state(stage.records, stage.shot_id).evidence.totals
    assert total.shares.by_eye
    assert dict(total.shares.by_light) == {"A": pytest.approx(0.5), "B": pytest.approx(0.5)}


def test_the_kit_learns_nothing_from_an_eye(stage: Stage) -> None:
    for _ in range(4):
        look(stage, log(stage), "0.0")

    frame_id = stage.shoot(0.0)

    head = stage.frame(frame_id).set_up.lights[0].head.id
    with stage.records.reading() as db:
        assert learned_of_head(db, head).runs == ()


@pytest.mark.parametrize("typed", ["-5", "+2.5", "12"])
def test_what_no_eye_can_tell_is_refused_and_nothing_is_kept(stage: Stage, typed: str) -> None:
    frame_id = log(stage)

    with pytest.raises(
        InvalidValue, match=r"An eye tells levels from 5 stops below mid-tone, which is black, to 2.5"
    ):
        look(stage, frame_id, typed)

    assert stage.frame(frame_id).evidence.patches == ()


def test_a_patch_that_is_gone_is_refused(stage: Stage) -> None:
    patch_id = readings.draw_patch(stage.records, stage.shot_id, CARD)
    frame_id = log(stage)
    seen = read_seen("0", ["card"])
    readings.retire_patch(stage.records, patch_id)

    with pytest.raises(Conflict, match="This shot has no patch “card” any more"):
        readings.keep_by_eye(stage.records, frame_id, seen)

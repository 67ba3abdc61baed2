"""From the camera's file to the unexplained difference, through the records."""

from __future__ import annotations

import math

import pytest
from sqlalchemy import event

from tests.unit.shoots.conftest import Stage
from webapp.errors import Conflict, SeveralInvalid
from webapp.facts import fact
from webapp.ledger.ambient_proof import Standing
from webapp.ledger.evidence_reasons import Reason as Evident
from webapp.shoots import ambient_check, corrections, explain, frames, readings, set_up_now
from webapp.shoots.log_frame import renew_all
from webapp.shoots.reasons import Reason
from webapp.web.words.say import say

CARD = {"name": "card", "x": 0.1, "y": 0.3, "width": 0.3, "height": 0.4}
RIM = {"name": "rim", "x": 0.6, "y": 0.3, "width": 0.3, "height": 0.4, "wanted_stops": 1.0}
STEPS = (-3.0, -2.0, -1.0, -1 / 3, 1 / 3, 1.0, 2.0)


def test_a_bracket_of_raw_files_reads_its_steps_within_a_twentieth_of_a_stop(stage: Stage) -> None:
    stage.shoot(0.0)

    shot = [stage.frame(stage.shoot(stops)) for stops in STEPS]

    measured = [frame.evidence.first.measured_stops for frame in shot if frame.evidence.first]
    assert measured == pytest.approx(STEPS, abs=0.05)


def test_a_bracket_of_rendered_files_reads_its_steps_within_what_the_page_states(stage: Stage) -> None:
    stage.shoot(0.0, raw=False)

    for stops in (-3.0, -1.0, 1.0):
        seen = stage.frame(stage.shoot(stops, raw=False)).evidence.first
        assert seen is not None
        assert seen.tolerance_stops is not None
        assert seen.measured_stops == pytest.approx(stops, abs=min(seen.tolerance_stops, 0.05))
        assert seen.estimated


def test_the_ledger_predicts_and_the_picture_answers(stage: Stage) -> None:
    stage.shoot(0.0)
    stage.set(f_number="11", lights__A__power="100 J")

    right = stage.frame(stage.shoot(0.0)).evidence.first
    wrong = stage.frame(stage.shoot(1.0)).evidence.first

    assert right is not None
    assert wrong is not None
    assert right.unexplained_stops == pytest.approx(0.0, abs=0.02)
    assert not right.is_told
    assert wrong.unexplained_stops == pytest.approx(1.0, abs=0.02)
    assert wrong.tolerance_stops == 0.1
    assert wrong.is_told


def test_a_rendered_frame_is_not_held_against_a_raw_reference(stage: Stage) -> None:
    stage.shoot(0.0)

    seen = stage.frame(stage.shoot(0.0, raw=False)).evidence.first

    assert seen is not None
    assert seen.measured_stops is None
    assert seen.why_not == fact(Evident.NO_REFERENCE_READING)


def test_a_clipped_patch_is_not_compared(stage: Stage) -> None:
    stage.shoot(0.0)

    seen = stage.frame(stage.shoot(3.0)).evidence.first

    assert seen is not None
    assert seen.unexplained_stops is None
    assert seen.why_not == fact(Evident.PATCH_IS_CLIPPED)


def test_a_light_that_is_alone_is_told_against_the_reference_frame_and_no_later_one(stage: Stage) -> None:
    stage.shoot(0.0)
    right, wrong = stage.shoot(0.0), stage.shoot(-1.0)

    said = [[say(each) for each in explain.explain(stage.records, frame_id).says] for frame_id in (right, wrong)]

    assert said[0] == ["A gave as logged."]
    assert said[1][0].startswith("A gave 1.00 less than logged")


def test_taking_an_explanation_keeps_the_entry_that_stood(stage: Stage) -> None:
    stage.shoot(0.0)
    frame_id = stage.shoot(1.0)
    found = explain.explain(stage.records, frame_id).attribution.explanations[0]

    taken = explain.take_into_frame(stage.records, frame_id, found.key)

    assert taken.set_up.lights[0].power_mark() == "100 J"
    assert stage.unexplained(frame_id) == pytest.approx(0.0, abs=0.02)
    kept = frames.story(stage.records, frame_id).revisions[0].what
    assert kept == (
        fact(Reason.EXPLAINED_BY_PICTURE),
        *found.causes,
        fact(Reason.FIELDS_CHANGED, fields=(found.changes[0][0],)),
    )
    restored = frames.restore_revision(stage.records, frame_id, 1)
    assert restored.set_up.lights[0].power_mark() == "50 J"
    assert stage.unexplained(frame_id) == pytest.approx(1.0, abs=0.02)


def test_an_explanation_that_is_not_offered_any_more_changes_nothing(stage: Stage) -> None:
    stage.shoot(0.0)
    frame_id = stage.shoot(1.0)

    with pytest.raises(Conflict, match="look at it again"):
        explain.take_into_frame(stage.records, frame_id, "mark Z +3")

    assert stage.frame(frame_id).row.revision == 1


def test_another_reference_frame_reads_every_frame_anew(stage: Stage) -> None:
    stage.shoot(0.0)
    second = stage.shoot(1.0)
    third = stage.shoot(1.0)

    frames.make_reference(stage.records, second)

    assert stage.unexplained(third) == pytest.approx(0.0, abs=0.02)


def test_a_new_patch_is_read_in_earlier_pictures_too(stage: Stage) -> None:
    first = stage.shoot(0.0, right=1.0)
    second = stage.shoot(0.0, right=2.0)

    readings.draw_patch(stage.records, stage.shot_id, CARD)
    readings.draw_patch(stage.records, stage.shot_id, RIM)
    stage.read()

    for frame_id, rim in ((first, 1.0), (second, 2.0)):
        seen = stage.frame(frame_id).evidence.patches
        assert [each.name for each in seen] == ["card", "rim"]
        assert [each.read_stops for each in seen] == pytest.approx([0.0, rim], abs=0.02)


def test_a_patch_that_moved_is_read_where_it_now_lies(stage: Stage) -> None:
    frame_id = stage.shoot(0.0, right=1.0)
    patch_id = readings.draw_patch(stage.records, stage.shot_id, CARD)
    stage.read()

    readings.change_patch(stage.records, patch_id, {"x": 0.6})
    assert stage.frame(frame_id).evidence.patches == ()
    stage.read()

    seen = stage.frame(frame_id).evidence.first
    assert seen is not None
    assert seen.read_stops == pytest.approx(1.0, abs=0.02)


def test_the_last_patch_retired_leaves_the_middle(stage: Stage) -> None:
    frame_id = stage.shoot(0.5)
    patch_id = readings.draw_patch(stage.records, stage.shot_id, CARD)
    stage.read()

    readings.retire_patch(stage.records, patch_id)

    assert [each.name for each in stage.frame(frame_id).evidence.patches] == ["middle"]


def test_a_patch_past_the_edge_is_clamped_and_told(stage: Stage) -> None:
    frame_id = stage.shoot(0.0)

    readings.draw_patch(stage.records, stage.shot_id, CARD | {"x": -0.1})
    stage.read()

    (found,) = readings.readings_of_frame(stage.records, frame_id)
    assert found.reading is not None
    assert any("past the edge" in say(note) for note in found.reading.notes)
    assert found.reading.patch.x == 0.0


@pytest.mark.parametrize(
    "wrong", [{"name": ""}, {"width": 0.0}, {"x": math.nan}, {"height": 9.0}, {"wanted_stops": 99}]
)
def test_a_patch_that_is_none_is_refused_and_nothing_is_kept(stage: Stage, wrong: dict[str, object]) -> None:
    with pytest.raises(SeveralInvalid):
        readings.draw_patch(stage.records, stage.shot_id, CARD | wrong)

    assert readings.patches_of(stage.records, stage.shot_id) == ()


def test_two_patches_of_one_name_are_refused(stage: Stage) -> None:
    readings.draw_patch(stage.records, stage.shot_id, CARD)

    with pytest.raises(Conflict, match="CARD"):
        readings.draw_patch(stage.records, stage.shot_id, RIM | {"name": "CARD"})


def test_frames_lit_by_one_light_alone_give_the_total_and_the_ratio(stage: Stage) -> None:
    state = stage.set()
    set_up_now.add_light(stage.records, stage.shot_id, state.set_up.lights[0].head.id, "fill")
    stage.set(lights__B__power="50 J")
    a, b = math.log2(0.8), math.log2(0.2)
    reference = stage.shoot(0.0)
    stage.set(lights__B__lit="off")
    stage.shoot(a)
    stage.set(lights__B__lit="on", lights__A__lit="off")
    stage.shoot(b)

    state = stage.set(lights__A__lit="on", lights__B__power="100 J")

    (total,) = state.evidence.totals
    assert total.shares.by_light == pytest.approx({"A": 0.8, "B": 0.2}, abs=0.01)
    assert total.shares.sum_off_stops == pytest.approx(0.0, abs=0.02)
    assert total.total.stops == pytest.approx(math.log2(0.8 + 0.4), abs=0.01)
    assert total.ratio is not None
    assert total.ratio.key_to_fill == pytest.approx(2.0, abs=0.05)
    assert explain.explain(stage.records, reference).sums[0][1] == pytest.approx(0.0, abs=0.02)
    aimed = corrections.aim_at_ratio(stage.records, stage.shot_id, 4.0, "key : fill")
    assert aimed.set_up.light("B").power_mark() == "50 J"  # type: ignore[union-attr]
    assert aimed.assessment.of("B").off_by == pytest.approx(0.0, abs=0.01)  # type: ignore[union-attr]


def test_the_ambient_proof_follows_the_standing_set_up(stage: Stage) -> None:
    stage.shoot(0.0)
    ambient_check.begin_ambient_check(stage.records, stage.shot_id)
    stage.shoot(-1.0, purpose="ambient check")

    here = stage.set().evidence.proof
    opened = stage.set(f_number="4").evidence.proof

    assert here is not None
    assert opened is not None
    assert here.proven_stops == pytest.approx(8.0, abs=0.02)
    assert opened.now_stops == pytest.approx(6.0, abs=0.02)


def test_pictures_left_unread_by_a_stop_are_read_after_the_next_start(stage: Stage) -> None:
    frame_id = stage.shoot(0.5)
    readings.draw_patch(stage.records, stage.shot_id, CARD)
    assert readings.count_to_examine(stage.records, stage.shot_id) == 1
    assert stage.frame(frame_id).evidence.patches == ()

    stage.read()

    assert readings.count_to_examine(stage.records, stage.shot_id) == 0
    assert [each.name for each in stage.frame(frame_id).evidence.patches] == ["card"]


def queries(stage: Stage, work: object) -> int:
    seen: list[str] = []

    def heard(_conn: object, _cursor: object, statement: str, *_rest: object) -> None:
        seen.append(statement)

    event.listen(stage.records.engine, "before_cursor_execute", heard)
    try:
        work()  # type: ignore[operator]
    finally:
        event.remove(stage.records.engine, "before_cursor_execute", heard)
    return len(seen)


def test_readings_ask_no_more_of_the_records_as_a_session_grows(stage: Stage) -> None:
    stage.shoot(0.0)
    stage.shoot(0.1)

    def a_page() -> None:
        frames.page_of(stage.records, stage.shot_id, limit=40)

    def a_tap() -> None:
        stage.set(f_number="8")

    few = queries(stage, a_page), queries(stage, a_tap)
    for _ in range(6):
        stage.shoot(0.1)

    assert (queries(stage, a_page), queries(stage, a_tap)) == few


def test_a_check_that_reads_brighter_than_the_reference_frame_voids_its_proof(stage: Stage) -> None:
    stage.shoot(0.0)
    ambient_check.begin_ambient_check(stage.records, stage.shot_id)
    stage.shoot(1.0, purpose="ambient check")

    proof = set_up_now.state(stage.records, stage.shot_id).evidence.proof

    assert proof is not None
    assert proof.standing is Standing.VOID
    assert proof.reason == fact(Evident.CHECK_TOO_BRIGHT, frame=2, brighter_stops=pytest.approx(1.0, abs=0.05))


def test_what_is_stored_is_what_comes_out_when_it_is_worked_out_anew(stage: Stage) -> None:
    state = stage.set()
    set_up_now.add_light(stage.records, stage.shot_id, state.set_up.lights[0].head.id, "fill")
    stage.set(lights__B__power="50 J")
    both = stage.shoot(0.0)
    stage.set(lights__B__lit="off")
    alone = stage.shoot(-1.0)
    stored = [stage.frame(each).evidence for each in (both, alone)]

    with stage.records.writing() as db:
        renew_all(db)

    assert [stage.frame(each).evidence for each in (both, alone)] == stored
    assert stored[0].patches[0].shares

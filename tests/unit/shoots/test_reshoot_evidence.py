"""A reshoot's pictures held against what the recipe's picture read, patch by patch."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.shoots.conftest import Stage
from webapp.facts import fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.reasons import Reason as LedgerReason
from webapp.recipes import publish, reshoot
from webapp.records import kit as kit_records
from webapp.records.tables import Camera, LightHead
from webapp.shoots import explain, frames, readings, set_up_now
from webapp.web.words.written import written

LEFT, RIGHT = (
    {"name": "rim", "x": 0.1, "y": 0.2, "width": 0.3, "height": 0.6, "wanted_stops": 0.5},
    {"name": "label", "x": 0.6, "y": 0.2, "width": 0.3, "height": 0.6},
)


def published(stage: Stage) -> str:
    """A recipe with two patches: A lights the rim, B the label, as frames lit by each alone have shown."""
    with stage.records.reading() as db:
        head = kit_records.items_in(db, LightHead)[1].id
    set_up_now.add_light(stage.records, stage.shot_id, head, "fill")
    stage.set(lights__B__power="25 J", lights__B__distance="80 cm")
    for said in (LEFT, RIGHT):
        readings.draw_patch(stage.records, stage.shot_id, said)
    reference = stage.shoot(0.5, right=0.0)
    stage.set(lights__B__lit=False)
    stage.shoot(0.5, right=-6.0)
    stage.set(lights__A__lit=False, lights__B__lit=True)
    stage.shoot(-6.0, right=0.0)
    recipe = written(publish.draft_from(stage.records, reference)[0])
    return publish.publish(stage.records, recipe, frame_id=reference).recipe_id


def again(stage: Stage) -> Stage:
    """The stage with the reshoot on it."""
    start = reshoot.prepared(stage.records, published(stage))
    stage.shot_id = reshoot.begin_reshoot(stage.records, start, start.wishes).shot_id
    return stage


def test_the_recipe_keeps_what_each_patch_read_and_whose_light_it_was(stage: Stage) -> None:
    recipe = publish.read(stage.records, published(stage)).recipe

    rim, label = recipe.patches
    assert (rim.name, rim.wanted_stops, rim.kind) == ("rim", 0.5, "raw")
    assert rim.read_stops == pytest.approx(0.5, abs=0.02)
    assert label.read_stops == pytest.approx(0.0, abs=0.02)
    assert {each.letter: each.share for each in rim.shares} == pytest.approx({"A": 0.99, "B": 0.01}, abs=0.01)
    assert {each.letter: each.share for each in label.shares} == pytest.approx({"A": 0.015, "B": 0.985}, abs=0.01)


def test_the_patches_go_along_and_the_first_frame_is_no_reference(stage: Stage) -> None:
    again(stage)
    drawn = readings.patches_of(stage.records, stage.shot_id)
    assert [(each.name, each.wanted_stops) for each in drawn] == [("rim", 0.5), ("label", 0.0)]

    frame = stage.frame(stage.shoot(0.5, right=0.0))

    assert not frame.is_reference
    assert [each.against for each in frame.ledger.lit] == [fact(LedgerReason.AGAINST_RECIPE)] * 2


def test_a_set_rebuilt_as_it_was_reads_as_the_recipe(stage: Stage) -> None:
    again(stage)

    frame = stage.frame(stage.shoot(0.5, right=0.0))

    for seen in frame.evidence.patches:
        assert seen.predicted_stops == pytest.approx(0.0, abs=1e-6)
        assert seen.measured_stops == pytest.approx(0.0, abs=0.05)
        assert not seen.is_told


def test_a_light_turned_down_and_moved_is_predicted_at_its_own_patch(stage: Stage) -> None:
    again(stage)
    stage.set(lights__A__power="25 J", lights__A__distance="50 cm")

    # One stop down, and 20 log(60/50) is 0.53 nearer.
    frame = stage.frame(stage.shoot(0.5 - 0.474, right=0.0))

    rim, label = frame.evidence.patches
    assert rim.predicted_stops == pytest.approx(-0.47, abs=0.02)
    assert label.predicted_stops == pytest.approx(0.0, abs=0.02)
    assert not rim.is_told
    assert not label.is_told


def test_what_the_log_does_not_know_is_left_over_and_explained(stage: Stage) -> None:
    again(stage)

    frame_id = stage.shoot(-0.5, right=0.0)

    rim = stage.frame(frame_id).evidence.patches[0]
    assert rim.unexplained_stops == pytest.approx(-1.0, abs=0.05)
    assert all(each.causes for each in explain.explain(stage.records, frame_id).attribution.explanations)
    assert explain.explain(stage.records, frame_id).attribution.explanations


def test_another_kind_of_file_is_not_held_against_the_recipe(stage: Stage) -> None:
    again(stage)

    frame = stage.frame(stage.shoot(0.5, right=0.0, raw=False))

    assert [each.measured_stops for each in frame.evidence.patches] == [None, None]
    assert frame.evidence.patches[0].why_not == fact(Reason.NOT_IN_RECIPE)


def test_another_camera_widens_the_tolerance(stage: Stage) -> None:
    start = reshoot.prepared(stage.records, published(stage))
    kit = start.wishes.kit
    with stage.records.reading() as db:
        other = next(row.id for row in kit_records.items_in(db, Camera) if row.id != kit.camera_id)
    wishes = replace(start.wishes, kit=replace(kit, camera_id=other), how=reshoot.Way.WRITTEN)
    stage.shot_id = reshoot.begin_reshoot(stage.records, start, wishes).shot_id

    seen = stage.frame(stage.shoot(0.5, right=0.0)).evidence.patches[0]

    assert seen.tolerance_stops == pytest.approx(0.3)
    assert seen.warmth_stops is None


def test_made_the_reference_the_frame_takes_the_recipes_place(stage: Stage) -> None:
    again(stage)
    first = stage.shoot(0.3, right=0.0)
    second = stage.shoot(0.3, right=0.0)

    frames.make_reference(stage.records, first)

    assert stage.frame(first).is_reference
    rim = stage.frame(second).evidence.patches[0]
    assert rim.measured_stops == pytest.approx(0.0, abs=0.05)
    assert [each.against for each in stage.frame(second).ledger.lit] == [
        fact(LedgerReason.AGAINST_FRAME, frame=1)
    ] * 2

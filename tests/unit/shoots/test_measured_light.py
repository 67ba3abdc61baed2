"""The shares that pictures measured, at the set-up of each frame and at the standing one."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.unit.shoots.conftest import Stage
from webapp.ledger.geometry import follows
from webapp.ledger.set_up import IncidentReading
from webapp.plan.positions import Position, place_at
from webapp.plan.sides import Surface, direction
from webapp.records import kit as kit_records
from webapp.records.tables import LightHead
from webapp.shoots import set_up_now
from webapp.shoots.measured_light import MeasuredShares, shares_at, shares_of_frame


def lit(stage: Stage, a: float, b: float) -> float:
    """The level of both lights, where A alone gives 3/4 of the light of the reference frame and B 1/4."""
    return math.log2(0.75 * 2.0**a + 0.25 * 2.0**b)


@pytest.fixture
def measured(stage: Stage) -> Stage:
    """A reference frame by A and B, and one by A alone."""
    with stage.records.reading() as db:
        head = kit_records.items_in(db, LightHead)[0].id
    set_up_now.add_light(stage.records, stage.shot_id, head, "fill")
    stage.set(lights__B__power="50 J", lights__B__distance="60 cm")
    stage.shoot(lit(stage, 0.0, 0.0))
    stage.set(lights__B__lit="off")
    stage.shoot(math.log2(0.75))
    stage.set(lights__B__lit="on")
    return stage


def standing_shares(stage: Stage) -> MeasuredShares:
    state = set_up_now.state(stage.records, stage.shot_id)
    return shares_at(state.evidence.totals, state.assessment)


def test_the_standing_set_up_has_the_shares_of_the_reference_frame_until_something_moves(measured: Stage) -> None:
    assert standing_shares(measured).by_light == pytest.approx({"A": 0.75, "B": 0.25}, abs=0.01)

    measured.set(lights__B__power="100 J")

    # B doubled: 0.75 against 0.5, of 1.25 in all.
    assert standing_shares(measured).by_light == pytest.approx({"A": 0.6, "B": 0.4}, abs=0.01)


def test_a_frame_has_the_shares_of_its_own_set_up_whatever_stands_now(measured: Stage) -> None:
    measured.set(lights__B__power="100 J")
    frame = measured.frame(measured.shoot(lit(measured, 0.0, 1.0)))
    measured.set(lights__B__power="25 J")

    assert shares_of_frame(measured.records, frame).by_light == pytest.approx({"A": 0.6, "B": 0.4}, abs=0.01)


def test_where_a_light_moved_by_nobody_knows_how_much_no_share_is_known(measured: Stage) -> None:
    measured.set(lights__B__distance="")

    assert standing_shares(measured).by_light == {}


def test_without_pictures_there_are_none(stage: Stage) -> None:
    assert standing_shares(stage) == MeasuredShares()


def test_where_the_measured_patch_lies_on_a_face_the_modelled_share_is_of_that_face(measured: Stage) -> None:
    """A stands at its left, B in front: the face to the left has A alone, whatever a picture said of it."""
    for letter, bearing in (("A", -90.0), ("B", 0.0)):
        place = Position(place_at(600.0, bearing))
        change = set_up_now.Change(f"lights.{letter}.position", place)
        set_up_now.change(measured.records, measured.shot_id, [change])
    set_up = set_up_now.state(measured.records, measured.shot_id).set_up
    reading = IncidentReading(8.0, "f/16", 0.0, 600.0)
    set_up = replace(set_up, lights=tuple(replace(each, incident=reading) for each in set_up.lights))
    label = Surface("label", "own", direction(-90.0, 0.0))

    on_label, to_lens = (follows(set_up, {"A": 0.75, "B": 0.25}, at, (label,)) for at in ("label", "card"))

    assert (on_label.surface.key, to_lens.surface.key) == ("own:label", "lens")
    assert [each.modelled for each in on_label.shares] == pytest.approx([1.0, 0.0])
    assert [each.modelled for each in to_lens.shares] == pytest.approx([0.0, 1.0])

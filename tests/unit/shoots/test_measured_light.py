"""The shares that pictures measured, at the set-up of each frame and at the standing one."""

from __future__ import annotations

import math

import pytest

from tests.unit.shoots.conftest import Stage
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

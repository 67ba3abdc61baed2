"""The ambient margin on its way from a measured check into a recipe."""

from __future__ import annotations

import pytest

from tests.unit.shoots.conftest import Stage
from webapp.recipes import publish
from webapp.shoots.ambient_check import begin_ambient_check


def test_a_draft_has_the_margin_at_the_settings_of_its_own_frame(stage: Stage) -> None:
    stage.set(f_number="8", shutter="1/125")
    stage.shoot(0.0)
    begin_ambient_check(stage.records, stage.shot_id)
    stage.shoot(-4.0, purpose="ambient check")
    at_the_check = stage.shoot(0.0)
    stage.set(f_number="16")
    two_stops_down = stage.shoot(-2.0)

    margins = [publish.draft_from(stage.records, each)[0].figures.ambient for each in (at_the_check, two_stops_down)]

    # Four stops below mid-tone in a check of 1 s, which is seven stops longer than 1/125; f/16 takes two more.
    assert [each and each.margin_stops for each in margins] == pytest.approx([11.0, 13.0], abs=0.1)
    assert margins[0] is not None
    assert not margins[0].at_least


def test_a_draft_without_a_check_says_nothing_of_the_room(stage: Stage) -> None:
    frame = stage.shoot(0.0)

    assert publish.draft_from(stage.records, frame)[0].figures.ambient is None

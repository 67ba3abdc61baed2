"""What the plan's page prints of shares: modelled and measured beside each other, and why one of them is missing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.ledger.builders import set_up, standing_light
from webapp.ledger.set_up import IncidentReading, SetUp
from webapp.plan.positions import Position, place_at
from webapp.shoots.measured_light import MeasuredShares
from webapp.web.pages.plan_view import Line, Problem, Shown, plan_view

FRAME = Shown("frame-1", "shot", "enamel dial, frame 1", "/frames/1/plan", "", "/frames/1/plan/shadows")
DESK = replace(FRAME, id="shot", here="/shots/shot/plan", action="/shots/shot/plan")
READING = IncidentReading(8.0, "f/16", -6.0, 1000.0)


def pair(distance_of_b_mm: float | None = 1000.0) -> SetUp:
    a = standing_light("A", incident=READING, position=Position(place_at(1000.0, 0.0)))
    position = None if distance_of_b_mm is None else Position(place_at(distance_of_b_mm, 0.0))
    return set_up("8", a, standing_light("B", role="fill", incident=READING, position=position))


def share_of(letter: str, shown: SetUp, measured: MeasuredShares | None = None) -> Line:
    lines = plan_view(shown, FRAME, measured=measured).lines
    return next(line for line in lines if line.name == f"share of {letter} on the face to the lens")


def test_a_measured_share_stands_beside_the_modelled_one_with_the_difference() -> None:
    line = share_of("A", pair(), MeasuredShares("rim", {"A": 0.25, "B": 0.75}))

    # Half against a quarter is a stop.
    assert line.figure == "50\u00a0%"
    assert line.words == "measured 25\u00a0% at rim, modelled +1.0 stops against it"


def test_where_nothing_can_be_modelled_the_measured_share_is_the_figure() -> None:
    line = share_of("B", pair(None), MeasuredShares("rim", {"A": 0.25, "B": 0.75}))

    assert line.figure == "75\u00a0%"
    assert line.words == "measured 75\u00a0% at rim; not modelled: B has no position."


@pytest.mark.parametrize(("distance_mm", "figure"), [(1000.0, "50\u00a0%"), (None, "unknown")])
def test_without_a_measured_share_the_modelled_one_stands_alone(distance_mm: float | None, figure: str) -> None:
    assert share_of("B", pair(distance_mm)).figure == figure


def test_a_frame_is_not_moved_and_asks_for_nothing() -> None:
    view = plan_view(pair(None), FRAME)

    assert (view.movable, view.forms, view.ask, view.undo) == (False, (), (), None)
    assert plan_view(pair(None), DESK).ask


def test_a_late_drag_is_offered_again_under_the_version_that_stands() -> None:
    said = {"field": "lights.B", "drag": "1", "x": "0 mm", "y": "-500 mm", "z": "0 mm", "version": "3"}

    view = plan_view(pair(), DESK, versions={"lights.B.position": 5}, problem=Problem("lights.B", "moved", said))

    assert view.all_the_same is not None
    assert dict(view.all_the_same.said) == said | {"version": "5"}
    assert view.trouble == "moved"
    assert all(form.problem == "" for form in view.forms)

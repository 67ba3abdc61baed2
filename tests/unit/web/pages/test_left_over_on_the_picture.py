"""The place that no light explains, as the frame's page outlines and names it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.made_sets import Truth, made_set
from webapp.shoots import frames
from webapp.web.pages.evidence_parts import evidence_of
from webapp.web.pages.render import environment


def test_a_place_is_outlined_and_named_for_the_eye_and_for_the_ear(tmp_path: Path) -> None:
    with made_set(tmp_path) as made:
        frame_id = made.plant({}, Truth(local={"label": -1.0}))
        view, easel = evidence_of(made.records, frames.one(made.records, frame_id))

    assert easel is not None
    [mark] = easel.marks
    assert mark.spoken == "upper right, 1.0 stop less light left over"
    assert mark.word == "−1.0"
    # The label is the right third of the upper half: 667 to 1000 across, 0 to 333 down.
    ends = [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", mark.path)]
    assert (min(x for x, _ in ends), max(x for x, _ in ends)) == pytest.approx((667, 1000), abs=50)
    assert (min(y for _, y in ends), max(y for _, y in ends)) == pytest.approx((0, 333), abs=50)
    assert "Upper right, 1.0 stop less light left over: outlined on the picture." in view.gave
    drawn = environment().get_template("partials/easel.html").render(easel=easel)
    assert f"; {mark.spoken}" in drawn
    assert f'd="{mark.path}"' in drawn


def test_the_place_of_the_room_is_marked_on_its_check(tmp_path: Path) -> None:
    with made_set(tmp_path) as made:
        check = next(
            each
            for each in frames.page_of(made.records, made.shot_id, limit=9)
            if each.row.purpose == "ambient check"
        )
        view, easel = evidence_of(made.records, check)

    assert easel is not None
    [mark] = easel.marks
    assert mark.word == "room"
    assert mark.spoken.startswith("the room comes nearest at the ")
    assert any("the room comes nearest" in each for each in view.room)

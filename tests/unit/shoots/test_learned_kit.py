"""What frames teach about a head and about crossed polarisers, from raw files of a set whose light is known."""

from __future__ import annotations

import pytest

from tests.unit.shoots.conftest import Stage
from webapp.kit import inventory
from webapp.ledger.entries import Cause
from webapp.shoots import corrections, explain, set_up_now
from webapp.shoots.explain import HeadKnown
from webapp.web.pages.evidence_view import head_words
from webapp.web.words.corrections import action_of, sentence_of
from webapp.web.words.say import say

FOUR_FIFTHS = 0.8


def known(stage: Stage, frame_id: str) -> HeadKnown:
    return explain.explain(stage.records, frame_id).heads[0]


def test_a_run_at_one_power_gives_the_spread_of_the_head_and_its_tolerance(stage: Stage) -> None:
    levels = (0.3, 0.1, -0.1, 0.1, -0.1)
    shot = [stage.shoot(level) for level in levels]

    run = known(stage, shot[-1]).known.runs[0]

    assert run.spread.count == 5
    assert run.spread.deviation_stops == pytest.approx(0.167, abs=0.005)  # of the five levels
    assert run.spread.first_frame_stops == pytest.approx(0.3, abs=0.02)
    assert stage.set().set_up.lights[0].head.spread_stops == pytest.approx(0.167, abs=0.005)
    following = stage.frame(stage.shoot(0.3)).evidence.first
    assert following is not None
    assert following.tolerance_stops == pytest.approx(2 * 0.167, abs=0.02)


def test_a_misfire_widens_no_tolerance_and_is_said_to_stand_out(stage: Stage) -> None:
    shot = [stage.shoot(level) for level in (0.0, 0.02, -1.5, -0.02, 0.0)]

    known_now = known(stage, shot[-1])

    (run,) = known_now.known.runs
    assert (run.spread.count, run.stood_out) == (4, 1)
    assert "1 of 5 stood out" in head_words(known_now)[0]
    following = stage.frame(stage.shoot(0.3)).evidence.first
    assert following is not None
    assert following.tolerance_stops == pytest.approx(0.1)


def test_two_lights_of_one_make_are_no_run(stage: Stage) -> None:
    head_id = stage.set().set_up.lights[0].head.id
    set_up_now.add_light(stage.records, stage.shot_id, head_id, "fill")
    stage.set(lights__B__power="50 J", lights__B__distance="60 cm")
    stage.shoot(0.0)
    stage.set(lights__B__lit="off")
    stage.shoot(-0.2)
    stage.shoot(-0.2)
    stage.set(lights__B__lit="on", lights__A__lit="off")

    last = stage.shoot(-0.4)

    assert known(stage, last).known.runs == ()


def changes_of_power(stage: Stage, marks: tuple[str, ...]) -> None:
    """A head whose every marked stop gives four fifths, from 50 J at mid-tone."""
    for mark in marks:
        power = stage.set(lights__A__power=mark).set_up.lights[0].power_stops
        assert power is not None
        stage.shoot(FOUR_FIFTHS * (power + 3.0))


def test_after_five_changes_corrections_use_the_curve_of_the_head_and_say_so(stage: Stage) -> None:
    changes_of_power(stage, ("50 J", "100 J", "25 J", "50 J", "12.5 J"))
    before = stage.set(lights__A__power="100 J").set_up.lights[0].head
    changes_of_power(stage, ("100 J",))

    state = stage.set(lights__A__power="50 J", f_number="11")

    assert before.learned_from == 0
    head = state.set_up.lights[0].head
    assert (head.learned_slope, head.learned_from) == (pytest.approx(FOUR_FIFTHS, abs=0.01), 5)
    energy = next(each for each in state.assessment.corrections if each.cause is Cause.ENERGY)
    # One stop under needs one and a quarter marked stops, 118.9 J; the nearest tenth is 114.9 or 123.1 J.
    assert action_of(energy.move) in ("A: 50 J to 115 J", "A: 50 J to 123 J")
    assert "gives 0.80 a marked stop, as learned from 5 readings" in sentence_of(energy)
    assert abs(energy.leaves_stops) <= 0.05 * FOUR_FIFTHS + 0.01
    written = corrections.write_correction(stage.records, stage.shot_id, energy.digest)
    assert written.assessment.lights[0].stops == pytest.approx(energy.leaves_stops)


def test_old_frames_keep_the_balance_they_had(stage: Stage) -> None:
    stage.shoot(0.0)
    stage.set(lights__A__power="100 J")
    old = stage.shoot(FOUR_FIFTHS)
    changes_of_power(stage, ("25 J", "50 J", "12.5 J", "100 J", "50 J"))

    assert stage.set().set_up.lights[0].head.learned_from >= 5
    assert stage.frame(old).ledger.lights[0].stops == pytest.approx(1.0)


def test_editing_a_light_keeps_what_was_learned_of_it(stage: Stage) -> None:
    changes_of_power(stage, ("50 J", "100 J", "25 J", "50 J", "12.5 J", "50 J"))
    head = stage.set().set_up.lights[0].head
    with stage.records.reading() as db:
        from webapp.records.tables import LightHead

        said = inventory.said_of(db.get_one(LightHead, head.id))

    inventory.keep(stage.records, "lights", said | {"recycle_s": 2.0}, head.id)

    assert stage.set().set_up.lights[0].head.learned_slope == pytest.approx(head.learned_slope)


def test_rendered_files_of_other_levels_teach_no_curve(stage: Stage) -> None:
    for mark, stops in (
        ("50 J", 0.0),
        ("100 J", 0.8),
        ("25 J", -0.8),
        ("50 J", 0.0),
        ("12.5 J", -1.6),
        ("50 J", 0.0),
    ):
        stage.set(lights__A__power=mark)
        last = stage.shoot(stops, raw=False)

    assert known(stage, last).known.step_readings == 0


def test_a_crossed_pair_is_learned_from_a_frame_with_it_and_one_without(stage: Stage) -> None:
    sheet = inventory.keep(stage.records, "filters", {"name": "sheet", "kind": "polariser", "loss_stops": 1.3})
    lens = inventory.keep(
        stage.records, "filters", {"name": "lens polariser", "kind": "polariser", "loss_stops": 1.3}
    )
    stage.shoot(0.0)
    stage.set(lights__A__filters=[sheet], lens_filters=[lens])

    crossed = stage.shoot(-2.9)

    pair = explain.explain(stage.records, crossed).crossed_pair
    assert pair is not None
    assert (pair.loss_stops, pair.count) == (pytest.approx(2.9, abs=0.02), 1)


def test_after_five_readings_the_ledger_reckons_with_the_pair_and_says_so(stage: Stage) -> None:
    sheet = inventory.keep(stage.records, "filters", {"name": "sheet", "kind": "polariser", "loss_stops": 1.3})
    lens = inventory.keep(
        stage.records, "filters", {"name": "lens polariser", "kind": "polariser", "loss_stops": 1.3}
    )
    stage.shoot(0.0)
    by_the_kit = stage.set(lights__A__filters=[sheet], lens_filters=[lens]).assessment.lights[0].stops
    for _ in range(5):
        stage.shoot(-2.9)

    crossed = stage.set(lights__A__filters=[sheet], lens_filters=[lens])
    opened = stage.set(lights__A__filters=[])

    assert by_the_kit == pytest.approx(-2.6)
    assert crossed.assessment.lights[0].stops == pytest.approx(-2.9, abs=0.02)
    assert crossed.set_up.lens_filters[0].learned_from == 5
    assert "learned from 5 readings" in " ".join(map(say, crossed.assessment.notes))
    assert opened.assessment.lights[0].stops == pytest.approx(-1.3)
    assert opened.set_up.lens_filters[0].learned_from == 0

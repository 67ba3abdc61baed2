"""What is said about a set-up: against what it is held, what changed, when there is no total."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter

from tests.unit.ledger.builders import HEAD, LED, set_up, standing_light
from webapp.facts import fact
from webapp.ledger.assessment import Assessment, Baselines, NumberedSetUp, assess
from webapp.ledger.reasons import Reason
from webapp.ledger.set_up import IncidentReading, ModifierFigures
from webapp.ledger.ways import Means
from webapp.records.columns import document_bytes

METERED = IncidentReading(av=11.0, mark="45", power_stops=0.0, distance_mm=1000.0)


def against(reference: object, previous: object = None) -> Baselines:
    numbered = NumberedSetUp(3, reference)  # type: ignore[arg-type]
    return Baselines(numbered, NumberedSetUp(7, previous) if previous else numbered)  # type: ignore[arg-type]


def test_before_there_is_a_frame_the_meter_reading_gives_the_balance() -> None:
    # f/45 at full power and 1 m: at f/22 it is two stops over, and two stops of power take that back.
    said = assess(set_up("22", standing_light(power=-2.0, distance_mm=1000.0, incident=METERED)), Baselines())

    assert said.lights[0].stops == pytest.approx(0.0)
    assert said.lights[0].metered
    assert said.lights[0].against == fact(Reason.AGAINST_METER)


def test_the_metered_balance_knows_the_close_up_loss() -> None:
    lit = standing_light(power=0.0, distance_mm=1000.0, incident=METERED)

    said = assess(set_up("22", lit, magnification=1.0), Baselines())

    assert said.lights[0].stops == pytest.approx(0.0)


def test_without_reading_or_frame_a_light_has_no_balance_and_it_is_said() -> None:
    said = assess(set_up("8", standing_light()), Baselines())

    assert said.lights[0].stops is None
    assert fact(Reason.NOTHING_TO_COMPARE, "A", light="key A") in said.notes


def test_lights_that_moved_alike_have_one_total() -> None:
    reference = set_up("8", standing_light("A"), standing_light("B", role="fill"))
    now = set_up("11", standing_light("A"), standing_light("B", role="fill"))

    assert assess(now, against(reference)).total_stops == pytest.approx(-1.0)


def test_lights_that_moved_apart_have_no_total_and_it_is_said_what_would_give_one() -> None:
    reference = set_up("8", standing_light("A"), standing_light("B", role="fill"))
    now = set_up("8", standing_light("A"), standing_light("B", power=-5.0, role="fill"))

    said = assess(now, against(reference))

    assert said.total_stops is None
    assert said.total_reason == fact(Reason.NO_TOTAL_SHARES, lights=("A", "B"))


def test_two_lighting_changes_at_once_are_noted_and_one_is_not() -> None:
    before = set_up("8", standing_light(power=-3.0))
    one = set_up("8", standing_light(power=-2.0))
    two = set_up("8", standing_light(power=-2.0, distance_mm=900.0))

    assert Reason.SEVERAL_CHANGES not in {note.reason for note in assess(one, against(before)).notes}
    told = next(note for note in assess(two, against(before)).notes if note.reason == Reason.SEVERAL_CHANGES)
    assert (told["frame"], told["causes"], told["lights"]) == (3, ("energy", "distance"), ("A", "A"))


def test_a_shutter_faster_than_sync_is_flagged_only_while_a_flash_is_lit() -> None:
    fast = {"shutter": "1/500"}

    lit = assess(set_up("8", standing_light(), **fast), Baselines())
    dark = assess(set_up("8", standing_light(lit=False), **fast), Baselines())
    lamp = assess(set_up("8", standing_light(head=LED), **fast), Baselines())

    assert fact(Reason.BEYOND_SYNC, "all", shutter="1/500", sync="1/200") in lit.notes
    assert not any(note.reason == Reason.BEYOND_SYNC for note in (*dark.notes, *lamp.notes))


def test_a_light_switched_off_is_named_and_carries_no_figure() -> None:
    before = set_up("8", standing_light("A"), standing_light("B"))
    now = set_up("8", standing_light("A"), standing_light("B", lit=False))

    said = assess(now, against(before))

    assert said.switched == (fact(Reason.SWITCHED, "B", lit=False),)
    assert said.of("B").stops is None  # type: ignore[union-attr]


def test_an_intended_shift_asks_for_no_correction() -> None:
    reference = set_up("8", standing_light(power=-3.0))
    meant = set_up("8", standing_light(power=-2.7, intended_stops=0.3))

    assert assess(meant, against(reference), Means()).corrections == ()


def test_a_modifier_of_unknown_loss_leaves_the_balance_unknown() -> None:
    box = ModifierFigures("m", "softbox", None)

    said = assess(set_up("8", standing_light(modifier=box)), against(set_up("8", standing_light())))

    assert said.lights[0].stops is None
    assert fact(Reason.LOSS_UNKNOWN, "A", light="key A", fitted="softbox") in said.notes


def test_the_same_head_with_edited_figures_still_balances_by_its_stops() -> None:
    from dataclasses import replace

    reference = set_up("8", standing_light(power=-3.0))
    rerated = standing_light(power=-2.0, head=replace(HEAD, full_energy_j=500.0))

    assert assess(set_up("8", rerated), against(reference)).lights[0].stops == pytest.approx(1.0)


def test_metered_lights_add_up_and_are_aimed_at_together() -> None:
    # Two lights that each come to one stop below: together they expose rightly, as adding equal light gives one stop.
    low = IncidentReading(av=5.0, mark="5.6", power_stops=0.0, distance_mm=600.0)
    pair = (standing_light("A", power=0.0, incident=low), standing_light("B", power=0.0, incident=low))

    said = assess(set_up("8", *pair), Baselines(), Means())
    over = assess(set_up("5.6", *pair), Baselines(), Means())

    assert said.total_stops == pytest.approx(0.0)
    assert said.corrections == ()
    assert over.total_stops == pytest.approx(1.0)
    assert {correction.acts_on for correction in over.corrections} == {"all"}


def test_a_ledger_is_read_back_as_it_was_kept_and_holds_no_sentence() -> None:
    before = set_up("8", standing_light("A"), standing_light("B", distance_mm=None))
    now = set_up("8", standing_light("A", power=-2.0), standing_light("B", lit=False), shutter="1/500")
    said = assess(now, against(before))

    kept = document_bytes(Assessment, said)

    assert TypeAdapter(Assessment).validate_json(kept) == said
    assert b". " not in kept
    assert {note.reason for note in said.notes} >= {Reason.SEVERAL_CHANGES, Reason.BEYOND_SYNC}

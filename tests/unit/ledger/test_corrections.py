"""Corrections: what the kit can really make, in the order a working photographer tries it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.ledger.builders import exposure, light
from webapp.facts import Fact, fact
from webapp.ledger.corrections import Correction, Means, Sheet, Target, suggest
from webapp.ledger.entries import Cause, compare
from webapp.ledger.exposures import Exposure
from webapp.ledger.reasons import Effect, Reason
from webapp.optics.scales import Dial
from webapp.quantities.lengths import Lengths
from webapp.quantities.powers import Marking, PowerDial

LENS = Means(widest_f_number=2.8, smallest_f_number=32, lowest_iso=100, highest_iso=25600)


def ways(
    before: Exposure, after: Exposure, means: Means = LENS, target: float = 0.0
) -> tuple[list[Correction], list[Fact]]:
    found, notes = suggest(after, compare(before, after).balances, Target(target), means)
    return list(found), list(notes)


def test_one_stop_too_much_energy_is_put_right_on_the_head_that_has_it() -> None:
    found, _ = ways(exposure("5.6", light(power=-6)), exposure("22", light(power=-1)))

    assert found[0].cause is Cause.ENERGY
    assert found[0].to == {"power_stops": -2.0}
    assert found[0].leaves_stops == pytest.approx(0.0)
    assert found[0].stands == fact(Reason.OFF_TARGET, "A", light="A", off_stops=1.0, target_stops=0.0)
    assert found[0].move == fact(Reason.POWER_TO, "A", was="200 J", now="100 J")
    assert found[0].keeps == (Effect.DEPTH, Effect.AMBIENT, Effect.SOFTNESS)
    assert found[0].notes == ()


def test_the_shutter_is_never_a_way() -> None:
    found, notes = ways(exposure("5.6", light()), exposure("22", light()))

    assert "shutter" not in {correction.cause for correction in found}
    assert not any("shutter" in (*note.values, *note.values.values()) for note in notes)


def test_an_even_balance_asks_for_nothing() -> None:
    assert ways(exposure("8", light()), exposure("8", light())) == ([], [])


def test_energy_below_the_lowest_mark_is_named_with_what_it_would_have_needed() -> None:
    fractions = PowerDial(-6, 1 / 3, Marking.FRACTION)

    found, notes = ways(
        exposure("16", light(power=-6, dial=fractions)), exposure("8", light(power=-6, dial=fractions))
    )

    assert all(correction.cause is not Cause.ENERGY for correction in found)
    assert (notes[0].reason, notes[0].about) == (Reason.POWER_OUT_OF_REACH, "A")
    assert (notes[0]["needs"], notes[0]["ends"]) == ("1/256", "1/64")
    assert (notes[0]["short_stops"], notes[0]["off_stops"]) == (pytest.approx(2.0), pytest.approx(2.0))


def test_at_the_floor_a_sheet_of_density_0_6_takes_its_two_stops_and_says_what_is_left() -> None:
    means = Means(light_sheets=(Sheet("s", "ND 0.6 sheet", 1.9932),))

    found, _ = ways(exposure("16", light(power=-6)), exposure("7.1", light(power=-6)), means)

    sheet = next(correction for correction in found if correction.cause is Cause.FILTERS)
    assert sheet.acts_on == "A"
    assert sheet.to == {"filter_stops": pytest.approx(1.9932)}
    assert sheet.leaves_stops == pytest.approx(2 + 1 / 3 - 1.9932, abs=1e-9)


def test_only_the_light_that_is_off_is_touched() -> None:
    before = exposure("8", light("A", -3), light("B", -3))
    after = exposure("8", light("A", -3), light("B", -2))

    found, _ = ways(before, after)

    assert {correction.acts_on for correction in found} == {"B"}
    assert {correction.cause for correction in found} <= {Cause.ENERGY, Cause.FILTERS, Cause.DISTANCE}


def test_all_off_alike_moves_aperture_iso_or_every_energy_so_that_ratios_hold() -> None:
    before = exposure("8", light("A", -3), light("B", -4))
    after = exposure("11", light("A", -3), light("B", -4))

    found, _ = ways(before, after)

    assert [correction.cause for correction in found][:3] == [Cause.APERTURE, Cause.ISO, Cause.ENERGY]
    assert {correction.acts_on for correction in found} == {"all"}
    assert found[2].to == {"lights": {"A": {"power_stops": -2.0}, "B": {"power_stops": -3.0}}}


def test_an_iso_below_the_lowest_of_the_camera_is_a_note() -> None:
    found, notes = ways(exposure("8", light(power=-3)), exposure("8", light(power=-2)))

    assert Cause.ISO not in {correction.cause for correction in found}
    told = next(note for note in notes if note.reason == Reason.ISO_OUT_OF_REACH)
    assert (told["needs"], told["ends"]) == ("50", 100)


def test_a_shift_that_is_meant_stays_quiet() -> None:
    found, _ = ways(exposure("8", light(power=-3)), exposure("8", light(power=-2.7)), target=0.3)

    assert found == []


def test_a_half_stop_dial_offers_only_its_own_marks() -> None:
    means = Means(f_number_dial=Dial.HALF, widest_f_number=2.8, smallest_f_number=32)

    found, _ = ways(exposure("8", light(power=-3)), exposure("8", light(power=-2.6)), means)

    aperture = next(correction for correction in found if correction.cause is Cause.APERTURE)
    assert aperture.to == {"f_number": "9.5"}
    assert aperture.leaves_stops == pytest.approx(-0.1)


def test_several_pops_are_offered_for_a_subject_that_holds_still_and_for_no_other() -> None:
    before, after = exposure("5.6", light(power=0)), exposure("11", light(power=0))

    still, _ = ways(before, after)
    moving, notes = ways(before, after, Means(subject_is_static=False))

    assert next(correction for correction in still if correction.cause is Cause.POPS).to == {"pops": 4}
    assert Cause.POPS not in {correction.cause for correction in moving}
    assert [note["pops"] for note in notes if note.reason == Reason.POPS_NEED_STILLNESS] == [4]


def test_energy_above_full_is_not_offered() -> None:
    found, notes = ways(exposure("5.6", light(power=0)), exposure("11", light(power=0)))

    assert found[0].cause is not Cause.ENERGY
    assert (notes[0].reason, notes[0]["needs"]) == (Reason.POWER_OUT_OF_REACH, "")
    assert notes[0]["short_stops"] == pytest.approx(2.0)


def test_by_a_tape_in_inches_a_distance_is_one_of_its_marks() -> None:
    means = replace(LENS, tape=Lengths(inches=True))

    # Inverse square for a point: one stop less is √2 times 24 in, 33.94 in; to half an inch that is 34 in.
    found, _ = ways(exposure("8", light(distance_mm=609.6)), exposure("5.6", light(distance_mm=609.6)), means)

    moved = next(correction for correction in found if correction.cause is Cause.DISTANCE)
    assert moved.move.values == {"was_mm": pytest.approx(24 * 25.4), "now_mm": pytest.approx(34 * 25.4)}
    assert moved.to == {"distance_mm": pytest.approx(34 * 25.4)}
    assert abs(moved.leaves_stops) < 0.01


def test_a_correction_is_known_by_what_it_sets_and_where_and_not_by_how_it_is_told() -> None:
    (found, *_), _ = ways(exposure("5.6", light(power=-6)), exposure("22", light(power=-1)))

    retold = replace(found, move=replace(found.move, reason="another"), stands=replace(found.stands, about="B"))

    assert retold.digest == found.digest
    assert replace(found, to={"power_stops": -2.1}).digest != found.digest
    assert replace(found, acts_on="B").digest != found.digest
    assert replace(found, sheets=("s",)).digest != found.digest

"""Corrections: what the kit can really make, in the order a working photographer tries it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.unit.ledger.builders import exposure, light, neutral
from webapp.facts import Fact, fact
from webapp.ledger.corrections import suggest, ways_to_power
from webapp.ledger.entries import Cause, compare
from webapp.ledger.exposures import Exposure
from webapp.ledger.reasons import Effect, Reason
from webapp.ledger.sheets import Sheet
from webapp.ledger.ways import Correction, Means, Target
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


def test_all_off_alike_moves_every_energy_so_that_ratios_hold_then_iso_and_the_aperture_last() -> None:
    before = exposure("8", light("A", -3), light("B", -4))
    after = exposure("11", light("A", -3), light("B", -4))

    found, _ = ways(before, after)

    assert [correction.cause for correction in found] == [Cause.ENERGY, Cause.ISO, Cause.APERTURE]
    assert {correction.acts_on for correction in found} == {"all"}
    assert found[0].to == {"lights": {"A": {"power_stops": -2.0}, "B": {"power_stops": -3.0}}}


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
    before, after = (exposure(each, light(power=0, recycle_s=1.0)) for each in ("5.6", "11"))

    still, _ = ways(before, after)
    moving, notes = ways(before, after, Means(subject_is_static=False))

    assert next(correction for correction in still if correction.cause is Cause.POPS).to == {
        "pops": 4,
        "shutter": "4",
    }
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
    assert replace(found, sheets={"A": ("s",)}).digest != found.digest


# --- what was just changed stays ------------------------------------------------------------------------------


def since_ways(before: Exposure, after: Exposure, means: Means = LENS) -> list[Correction]:
    """The ways where the frame before is the reference frame, too."""
    compared = compare(before, after)
    return list(suggest(after, compared.balances, Target(), means, compared.entries)[0])


def test_an_aperture_that_was_just_closed_is_opened_again_last_of_all() -> None:
    pair = (light("A", -4), light("B", -5))

    found = since_ways(exposure("8", *pair), exposure("22", *pair))

    assert [(way.cause, way.turns_back) for way in found] == [
        (Cause.ENERGY, False),
        (Cause.ISO, False),
        (Cause.APERTURE, True),
    ]
    assert found[0].to == {"lights": {"A": {"power_stops": -1.0}, "B": {"power_stops": -2.0}}}


def test_what_overshot_comes_down_by_what_is_too_much() -> None:
    found = since_ways(exposure("5.6", light(power=-6)), exposure("22", light(power=-1)))

    assert (found[0].move["was"], found[0].move["now"]) == ("200 J", "100 J")
    assert not found[0].turns_back


def test_a_light_that_was_just_turned_up_is_not_turned_down_again_nor_dimmed_by_a_neutral_sheet() -> None:
    sheets = (Sheet("n", "ND 0.3", 1.0), Sheet("d", "diffusing sheet", 1.0, softens=True))
    both = (light("A", -3), light("B", -3))

    found = since_ways(
        exposure("8", *both), exposure("8", light("A", -2), light("B", -3)), Means(light_sheets=sheets)
    )

    assert [(way.cause, way.turns_back) for way in found] == [
        (Cause.DISTANCE, False),
        (Cause.ENERGY, True),
        (Cause.FILTERS, True),
    ]


def test_a_light_that_was_just_moved_nearer_is_turned_down_and_stays_where_it_is() -> None:
    found = since_ways(exposure("8", light(power=-3)), exposure("8", light(power=-3, distance_mm=300.0)))

    assert (found[0].cause, found[-1].cause) == (Cause.ENERGY, Cause.DISTANCE)
    assert found[-1].turns_back


# --- the end of a dial, and sheets for the rest ---------------------------------------------------------------

KIT = (
    Sheet("n3", "ND 0.3", 0.9966),
    Sheet("n6", "ND 0.6", 1.9932),
    Sheet("n9", "ND 0.9", 2.9897),
    Sheet("d", "diffusing sheet", 1.0, softens=True),
)


def test_one_sheet_is_preferred_to_two_that_come_a_hundredth_nearer() -> None:
    at_the_floor = light(power=-6)

    found, _ = ways(exposure("16", at_the_floor), exposure("8", at_the_floor), Means(light_sheets=KIT))

    assert found[0].move["fitted"] == ("ND 0.6",)
    assert found[0].leaves_stops == pytest.approx(2.0 - 1.9932)


def test_a_light_past_the_end_of_its_dial_goes_to_the_end_and_takes_one_sheet_for_the_rest() -> None:
    found, notes = ways(exposure("16", light(power=-5)), exposure("8", light(power=-5)), Means(light_sheets=KIT))

    assert found[0].to == {"power_stops": -6.0, "filter_stops": pytest.approx(0.9966)}
    assert found[0].sheets == {"A": ("n3",)}
    assert found[0].leaves_stops == pytest.approx(2.0 - 1.0 - 0.9966)
    assert {Effect.COLOUR, Effect.ENERGY} <= set(found[0].changes)
    assert found[1].sheets == {"A": ("d",)}
    assert Effect.SOFTNESS in found[1].changes
    assert notes[0].reason == Reason.POWER_OUT_OF_REACH


def test_where_the_sheet_takes_too_much_the_energy_comes_back_by_it() -> None:
    only = (Sheet("n6", "ND 0.6", 1.9932),)

    found, _ = ways(exposure("13", light(power=-6)), exposure("8", light(power=-6)), Means(light_sheets=only))

    assert found[0].to == {"power_stops": pytest.approx(-5.3), "filter_stops": pytest.approx(1.9932)}
    assert abs(found[0].leaves_stops) < 0.05


def test_of_all_lights_alike_each_goes_to_its_end_and_takes_sheets_for_its_own_rest() -> None:
    pair = (light("A", -3), light("B", -6))

    found, _ = ways(exposure("11", *pair), exposure("8", *pair), Means(light_sheets=KIT))

    assert found[0].to == {
        "lights": {"A": {"power_stops": -4.0}, "B": {"power_stops": -6.0, "filter_stops": pytest.approx(0.9966)}}
    }
    assert found[0].sheets == {"B": ("n3",)}
    assert found[0].move["fitted"] == ("", "ND 0.3")
    assert found[0].leaves_stops == pytest.approx(0.0034)


def test_past_full_the_filters_come_out_and_the_energy_does_the_rest() -> None:
    filtered = light(power=-0.5, filters=neutral(2.0))

    found, _ = ways(exposure("8", filtered), exposure("11", filtered))

    assert found[0].to == {"power_stops": -1.5, "filter_stops": 0.0}
    assert found[0].sheets == {"A": ()}
    assert found[0].leaves_stops == pytest.approx(0.0)


@pytest.mark.parametrize(("recycle_s", "shutter"), [(1.0, "4"), (3.0, "13"), (1.5, "6")])
def test_pops_come_with_the_shutter_open_for_their_recycling(recycle_s: float, shutter: str) -> None:
    """Four pops: 4, 12 and 6 seconds; the marks of the dial that are no shorter."""
    head = light(power=0, recycle_s=recycle_s)

    found, _ = ways(exposure("5.6", head), exposure("11", head))

    assert found[-1].to == {"pops": 4, "shutter": shutter}
    # From 1/125 (2^-7) to 4 (2^2), 13 (2^(11/3)) or 6 (2^(8/3)) seconds.
    longer = {"4": 9.0, "13": 7 + 11 / 3, "6": 7 + 8 / 3}[shutter]
    assert found[-1].move["ambient_stops"] == pytest.approx(longer)
    assert Effect.AMBIENT in found[-1].changes


def test_pops_into_a_shutter_that_stands_open_long_enough_leave_the_ambient_light_alone() -> None:
    head = light(power=0, recycle_s=1.0)

    found, _ = ways(exposure("5.6", head, shutter="8"), exposure("11", head, shutter="8"))

    assert found[-1].to == {"pops": 4}
    assert found[-1].move["ambient_stops"] == 0.0
    assert Effect.AMBIENT in found[-1].keeps


@pytest.mark.parametrize(("recycle_s", "reason"), [(None, Reason.POPS_NEED_RECYCLING), (30.0, Reason.POPS_NEED_TIME)])
def test_pops_that_cannot_be_fired_are_a_note(recycle_s: float | None, reason: Reason) -> None:
    head = light(power=0, recycle_s=recycle_s)

    found, notes = ways(exposure("5.6", head), exposure("11", head))

    assert Cause.POPS not in {way.cause for way in found}
    assert reason in {note.reason for note in notes}


def test_no_pops_where_a_lamp_would_be_given_more_light_by_the_open_shutter() -> None:
    lit = (light(power=0, recycle_s=1.0), light("B", kind="continuous"))

    found, _ = ways(exposure("5.6", *lit), exposure("11", *lit))

    assert Cause.POPS not in {way.cause for way in found}


def test_a_power_beyond_the_dial_is_had_by_its_end_and_a_sheet_or_iso_or_aperture_or_distance() -> None:
    """3 J of a head that ends at 6.25 J: 1.06 stops below it, wherever the dial stands now."""
    head = light(power=-2)

    found = ways_to_power(exposure("8", head, iso="800"), head, math.log2(3 / 400), replace(LENS, light_sheets=KIT))

    assert [way.cause for way in found] == [
        Cause.FILTERS,
        Cause.FILTERS,
        Cause.ISO,
        Cause.APERTURE,
        Cause.DISTANCE,
    ]
    assert [way.sheets for way in found[:2]] == [{"A": ("n3",)}, {"A": ("d",)}]
    assert {way.first for way in found} == {fact(Reason.POWER_TO, "A", was="100 J", now="6.25 J")}
    assert found[0].to == {"power_stops": -6.0, "filter_stops": pytest.approx(0.9966)}
    assert found[2].to == {"iso": 400, "lights": {"A": {"power_stops": -6.0}}}
    assert found[0].stands.number("off_stops") == pytest.approx(1.0589, abs=1e-4)
    assert found[0].stands["wished"] == "3 J"
    assert found[0].leaves_stops == pytest.approx(1.0589 - 0.9966, abs=1e-4)


def test_a_power_above_full_is_had_from_full() -> None:
    head = light(power=-6, recycle_s=1.0)

    found = ways_to_power(exposure("8", head), head, 1.0, LENS)

    assert [way.cause for way in found] == [Cause.ISO, Cause.APERTURE, Cause.DISTANCE, Cause.POPS]
    assert found[-1].to == {"pops": 2, "shutter": "2", "lights": {"A": {"power_stops": 0.0}}}
    assert {abs(way.leaves_stops) < 0.05 for way in found} == {True}


def test_among_other_lights_the_camera_moves_for_one_where_each_of_the_others_can_be_turned_against_it() -> None:
    low, high = light("A", -6), light("B", -0.5)
    lamp = light("C", kind="continuous")
    wish = math.log2(3 / 400)

    reached = ways_to_power(exposure("8", low, light("B", -3)), low, wish, LENS)
    past_full = ways_to_power(exposure("8", low, high), low, wish, LENS)
    with_a_lamp = ways_to_power(exposure("8", low, light("B", -3), lamp), low, wish, LENS)

    # 1.06 stops: the nearest third is one stop, and B comes up by as much.
    assert [way.to for way in reached if way.cause is Cause.APERTURE] == [
        {"f_number": "11", "lights": {"B": {"power_stops": -2.0}}}
    ]
    assert [way.cause for way in past_full] == [way.cause for way in with_a_lamp] == [Cause.DISTANCE]


def test_of_an_unknown_power_nothing_else_is_known_to_give_the_same() -> None:
    head = light(power=None)

    assert ways_to_power(exposure("8", head), head, -7.0, LENS) == ()


@pytest.mark.parametrize(("closed_to", "first"), [("16", Cause.ISO), ("22", Cause.APERTURE)])
def test_an_iso_that_shows_noise_comes_behind_the_aperture(closed_to: str, first: Cause) -> None:
    """Up to ISO 400 it stays clean: common practice."""
    found, _ = ways(exposure("8", light(power=0)), exposure(closed_to, light(power=0)))

    causes = [way.cause for way in found if way.cause in (Cause.ISO, Cause.APERTURE)]
    assert causes[0] is first
    assert set(causes) == {Cause.ISO, Cause.APERTURE}

"""Corrections in words: to the letter, whatever the way, and in the reader's lengths."""

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
from webapp.quantities.lengths import Lengths
from webapp.quantities.powers import Marking, PowerDial
from webapp.web.words.corrections import EFFECTS, action_of, effect_words, key_of, sentence_of
from webapp.web.words.say import say

LENS = Means(widest_f_number=2.8, smallest_f_number=32, lowest_iso=100, highest_iso=25600)
INCHES = Lengths(inches=True)


def ways(before: Exposure, after: Exposure, means: Means = LENS) -> tuple[dict[Cause, Correction], list[Fact]]:
    found, notes = suggest(after, compare(before, after).balances, Target(), means)
    return {each.cause: each for each in found}, list(notes)


def test_each_way_for_one_light_reads_as_what_is_off_what_to_do_and_what_it_costs() -> None:
    nd = Sheet("s", "ND 0.3", 1.0)
    sheets = replace(LENS, light_sheets=(nd,), lens_sheets=(nd,))

    found, _ = ways(exposure("8", light(power=-2), iso="200"), exposure("5.6", light(power=-2), iso="200"), sheets)

    assert {cause: sentence_of(each) for cause, each in found.items()} == {
        Cause.ENERGY: "A is 1.0 over. A: 100 J to 50 J. Depth and ambient unchanged.",
        Cause.FILTERS: (
            "A is 1.0 over. Put ND 0.3 on A (takes 1.0). Colour may shift a little. Depth and ambient unchanged."
        ),
        Cause.LENS_FILTERS: (
            "A is 1.0 over. Put ND 0.3 on the lens (takes 1.0 from everything). Depth unchanged; ambient and the finder "
            "darken with it."
        ),
        Cause.APERTURE: (
            "A is 1.0 over. f/5.6 to f/8. More depth of field, more diffraction. Ambient moves along; energy stays."
        ),
        Cause.ISO: "A is 1.0 over. ISO 200 to 100. Depth unchanged; ambient moves along. Noise falls.",
        Cause.DISTANCE: (
            "A is 1.0 over. A: 60 cm to 85 cm. Shadows harden, fall-off evens out. Depth and ambient unchanged."
        ),
    }


def test_filters_come_off_and_pops_are_added_where_there_is_too_little() -> None:
    before = exposure("8", light(power=0, recycle_s=1.5))
    after = exposure("8", light(power=0, recycle_s=1.5, filters=neutral(1.0)), lens_filters=neutral(1.0, "polariser"))

    found, _ = ways(before, after)

    assert sentence_of(found[Cause.FILTERS]) == (
        "A is 2.0 under. Take ND off A (gives 1.0). Leaves −1.0. What the filter did goes with it. Depth and ambient "
        "unchanged."
    )
    assert sentence_of(found[Cause.LENS_FILTERS]) == (
        "A is 2.0 under. Take polariser off the lens (gives 1.0 to everything). Leaves −1.0. Depth unchanged; ambient "
        "and the finder brighten with it."
    )
    assert sentence_of(found[Cause.POPS]) == (
        "A is 2.0 under. 1 to 4 pops in 6 s. Static subject only. The open shutter lets in 9.7 stops more ambient light: "
        "check it again."
    )


def test_all_alike_are_named_together_and_ratios_hold() -> None:
    before = exposure("8", light("A", -3), light("B", -4))
    after = exposure("11", light("A", -3), light("B", -4))

    found, _ = ways(before, after)

    assert sentence_of(found[Cause.ENERGY]) == (
        "A and B are all 1.0 under. A: 50 J to 100 J, B: 25 J to 50 J. Ratios, depth and ambient unchanged."
    )
    assert sentence_of(found[Cause.APERTURE]).endswith("Ambient moves along; ratios stay.")


def test_close_up_the_depth_of_field_is_told_in_figures() -> None:
    means = Means(widest_f_number=2.8, smallest_f_number=32, circle_of_confusion_mm=0.03)
    before, after = (exposure(each, light(power=-3), magnification=0.5) for each in ("8", "5.6"))

    found, _ = ways(before, after, means)

    # 2 c N (1 + m) / m^2 for a symmetric lens: 2 x 0.03 x 5.66 x 1.5 / 0.25 and the same at f/8.
    assert "Depth of field 2 mm to 2.9 mm, more diffraction." in sentence_of(found[Cause.APERTURE])


def test_a_learned_curve_is_told_behind_the_energy() -> None:
    head = {"slope": 0.8, "slope_from": 5}

    found, _ = ways(exposure("8", light(power=-3, **head)), exposure("11", light(power=-3, **head)))

    assert sentence_of(found[Cause.ENERGY]).endswith("A gives 0.80 a marked stop, as learned from 5 readings.")


def test_a_distance_is_told_in_the_readers_lengths_from_one_fact() -> None:
    move = fact(Reason.DISTANCE_TO, "A", was_mm=609.6, now_mm=863.6)

    assert action_of(move) == "A: 61 cm to 86.4 cm"
    assert action_of(move, INCHES) == "A: 24 in to 34 in"


@pytest.mark.parametrize(
    ("reason", "values", "words"),
    [
        (
            Reason.POWER_OUT_OF_REACH,
            {"needs": "1/256", "ends": "1/64", "short_stops": 2.0},
            "Key A is 2.0 over. By energy A needs 1/256, the lowest mark is 1/64: 2.0 stops short.",
        ),
        (
            Reason.POWER_OUT_OF_REACH,
            {"needs": "", "ends": "400 J", "short_stops": 2.0, "off_stops": -2.0},
            "Key A is 2.0 under. By energy A needs 2.0 stops more than full, the highest mark is 400 J.",
        ),
        (
            Reason.F_NUMBER_OUT_OF_REACH,
            {"needs": "45", "ends": 32.0, "short_stops": 1.0},
            "Key A is 2.0 over. By aperture it needs f/45; the lens ends at f/32: 1.0 stops short.",
        ),
        (
            Reason.ISO_OUT_OF_REACH,
            {"needs": "50", "ends": 100.0},
            "Key A is 2.0 over. By ISO it needs 50; the camera ends at 100.",
        ),
        (
            Reason.DISTANCE_OUT_OF_LAW,
            {"from_mm": 300.0, "most_stops": 1.0, "off_stops": -2.0},
            "Key A is 2.0 under. Distance does not do it: From 300 mm this source gains at most 1.00 stops by distance "
            "alone; +2.00 stops need more power.",
        ),
        (
            Reason.DISTANCE_OUT_OF_LAW,
            {"from_mm": 300.0, "most_stops": 1.0, "off_stops": 90.0},
            "Key A is 90.0 over. Distance does not do it: A change of -90.00 stops would move the source a million "
            "kilometres away; turn its power down.",
        ),
        (
            Reason.DISTANCE_OUT_OF_TAPE,
            {"needs_mm": 0.4},
            "Key A is 2.0 over. By distance A needs 0.4 mm: out of reach of a tape.",
        ),
        (
            Reason.DISTANCE_OUT_OF_TAPE,
            {"needs_mm": 240_000.0},
            "Key A is 2.0 over. By distance A needs 240 m: out of reach of a tape.",
        ),
        (
            Reason.TOO_MANY_POPS,
            {"needs": 128.0, "most": 64, "off_stops": -7.0},
            "Key A is 7.0 under. By several pops it needs 128 of them; past 64 that is no correction.",
        ),
        (
            Reason.TOO_MANY_POPS,
            {"needs": 2e6, "most": 64, "off_stops": -21.0, "target_stops": -0.5},
            "Key A is 21.0 under its −0.5. By several pops it needs millions of them; past 64 that is no correction.",
        ),
        (
            Reason.POPS_NEED_RECYCLING,
            {"pops": 4, "off_stops": -2.0},
            "Key A is 2.0 under. Several pops (4) would need the recycle time and the shutter to be known.",
        ),
        (
            Reason.POPS_NEED_TIME,
            {"pops": 32, "needs_s": 96.0, "most_s": 60.0, "off_stops": -5.0},
            "Key A is 5.0 under. Several pops (32) would need the shutter open for 96 s; its dial ends at 60 s.",
        ),
        (
            Reason.POPS_NEED_STILLNESS,
            {"pops": 4, "off_stops": -2.0},
            "Key A is 2.0 under. Several pops (4) would need a subject that does not move.",
        ),
    ],
)
def test_a_way_that_is_none_names_what_it_would_have_needed(
    reason: Reason, values: dict[str, float], words: str
) -> None:
    stands = {"light": "key A", "off_stops": 2.0, "target_stops": 0.0}

    assert say(Fact(reason, "A", stands | values)) == words


@pytest.mark.parametrize(("lowest", "end"), [("1/64", "below its lowest mark, 1/64"), ("", "above full")])
def test_energies_that_cannot_be_moved_together_name_the_light_that_is_past_its_end(lowest: str, end: str) -> None:
    told = fact(Reason.POWERS_OUT_OF_REACH, "B", lights=("A", "B"), off_stops=1.0, lowest=lowest, short_stops=0.7)

    assert say(told) == (
        f"A and B are all 1.0 over. All energies together cannot be moved: B would be 0.7 stops {end}."
    )


def test_the_dial_of_another_marking_is_told_in_its_own_marks() -> None:
    dial = PowerDial(-6, 1 / 3, Marking.FRACTION)

    found, _ = ways(exposure("8", light(power=-2, dial=dial)), exposure("5.6", light(power=-2, dial=dial)))

    assert action_of(found[Cause.ENERGY].move) == "A: 1/4 to 1/8"


def test_every_effect_has_words() -> None:
    assert set(EFFECTS) == set(Effect)
    assert effect_words(Effect.FINDER) == "finder brightness"


SHEETS = (Sheet("n", "ND 0.3", 0.9966), Sheet("d", "diffusing sheet", 1.0, softens=True))


def test_a_dial_and_a_sheet_are_one_way_with_one_key() -> None:
    low = light(power=-5)

    found, _ = suggest(
        exposure("8", low),
        compare(exposure("16", low), exposure("8", low)).balances,
        Target(),
        Means(light_sheets=SHEETS),
    )

    assert sentence_of(found[0]) == (
        "A is 2.0 over. A: 12.5 J to 6.25 J and ND 0.3 on A (takes 1.0). Colour may shift a little. Depth and ambient "
        "unchanged."
    )
    assert key_of(found[0]) == "Set A 6.25 J and ND 0.3 on"
    assert "The light grows softer; colour may shift." in sentence_of(found[1])


def test_the_sheets_of_several_lights_are_told_by_the_light() -> None:
    pair = (light("A", -3), light("B", -6))

    found, _ = ways(exposure("11", *pair), exposure("8", *pair), Means(light_sheets=SHEETS))

    assert sentence_of(found[Cause.ENERGY]) == (
        "A and B are all 1.0 over. A: 50 J to 25 J, B: 6.25 J and ND 0.3 on. Colour may shift a little. Ratios, depth "
        "and ambient unchanged."
    )
    assert key_of(found[Cause.ENERGY]) == "Set A 25 J, B 6.25 J and ND 0.3 on"


def test_a_way_that_takes_back_what_was_just_changed_says_so() -> None:
    compared = compare(exposure("8", light(power=0)), exposure("11", light(power=0)))

    found, _ = suggest(exposure("11", light(power=0)), compared.balances, Target(), LENS, compared.entries)

    assert sentence_of(found[-1]).startswith("A is 1.0 under. f/11 to f/8. That takes back what was just changed.")


def test_a_wish_beyond_the_dial_is_told_by_what_was_wished() -> None:
    head = light(power=-6)

    found = ways_to_power(exposure("8", head), head, math.log2(3 / 400), replace(LENS, light_sheets=SHEETS))

    assert say(found[0].stands) == "3 J of A"
    assert sentence_of(found[0]).startswith("Put ND 0.3 on A (takes 1.0). Leaves +0.1.")


def test_a_stop_for_all_with_the_other_lights_turned_against_it_is_one_way() -> None:
    pair = (light("A", -6), light("B", -3))

    found = ways_to_power(exposure("8", *pair, iso="200"), pair[0], math.log2(3.125 / 400), LENS)

    assert [sentence_of(each) for each in found if each.cause in (Cause.ISO, Cause.APERTURE)] == [
        "ISO 200 to 100, B: 50 J to 100 J. Depth unchanged; ambient moves along. Noise falls.",
        "f/8 to f/11, B: 50 J to 100 J. More depth of field, more diffraction. Ambient moves along.",
    ]
    assert key_of(found[1]) == "Set f/11, B 100 J"
    assert found[1].to == {"f_number": "11", "lights": {"B": {"power_stops": -2.0}}}


def test_a_wish_beyond_the_dial_turns_it_to_its_end_first() -> None:
    head = light(power=-5)

    found = ways_to_power(exposure("8", head, iso="200"), head, math.log2(3.125 / 400), LENS)

    assert [key_of(each) for each in found] == [
        "Set A 6.25 J, set ISO 100",
        "Set A 6.25 J, set f/11",
        "Set A 6.25 J, move A to 85 cm",
    ]
    assert sentence_of(found[0]) == (
        "A: 12.5 J to 6.25 J. ISO 200 to 100. Depth unchanged; ambient moves along. Noise falls."
    )

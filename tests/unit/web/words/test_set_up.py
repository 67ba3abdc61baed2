"""What a change of the set-up did, and what stands under a dial, in words."""

from __future__ import annotations

import pytest

from tests.unit.ledger.builders import set_up, standing_light
from webapp.facts import Fact, fact
from webapp.ledger.entries import compare
from webapp.ledger.exposures import exposure_of
from webapp.ledger.mix_settings import PowerSetting
from webapp.ledger.reasons import Reason as LedgerReason
from webapp.quantities.lengths import Lengths
from webapp.shoots.set_up_reasons import Reason
from webapp.web.words.dials import f_number_words, magnification_words, power_words, stack_words
from webapp.web.words.mix import mark_words
from webapp.web.words.set_up import field_mark, says_words
from webapp.web.words.workings import fence_post_words

INCHES = Lengths(inches=True)


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (
            fact(
                LedgerReason.FILE_DIFFERS,
                fields=("f_number", "shutter", "focal_length"),
                file=("11", "2", "85"),
                stood=("8", "1/125", "100"),
            ),
            "File f/11, set f/8; file 2 s, set 1/125; file 85 mm, set 100 mm. The set-up follows the file.",
        ),
        (fact(Reason.LIGHT_PUT_IN, "B", light="fill B", head="monolight"), "fill B is in the set: monolight."),
        (fact(Reason.LIGHT_TAKEN_OUT, "B"), "B is out of the set."),
        (
            fact(Reason.CORRECTION_WRITTEN, "A", move="power_to", was="200 J", now="100 J"),
            "Now set: A: 200 J to 100 J. Turn the dial to match.",
        ),
        (
            fact(Reason.AS_FRAME_AGAIN, frame=4),
            "The set-up of frame 4 stands again. Turn the dials to match.",
        ),
        (
            fact(Reason.AS_FRAME_WITH_ONE_LIGHT, "B", frame=4),
            "The set-up of frame 4 stands again, lit by B alone. Turn the dials to match.",
        ),
        (fact(Reason.SHIFT_IS_MEANT, "A", meant_stops=0.33), "A at +0.3 is intended."),
        (
            fact(Reason.RATIO_AIMED_AT, "B", was="100 J", now="50 J", ratio=3.0, patch="left card"),
            "B: 100 J to 50 J, for 3:1 at left card. Turn the dial to match.",
        ),
        (
            fact(Reason.NOT_THE_CHECK, file="shot_0007.jpg", shutter="1/125", fired=True, goes_on=True),
            "shot_0007.jpg shows 1/125 and a fired flash: logged as a test, not as the ambient check. The check goes on.",
        ),
        (
            fact(Reason.NOT_THE_CHECK, file="shot_0007.jpg", shutter=None, fired=True, goes_on=False),
            "shot_0007.jpg shows a fired flash: logged as a test, not as the ambient check.",
        ),
        (fact(Reason.AMBIENT_CHECK_BEGUN), "Ambient check: flashes off, 1 s. Modelling lamps as in the shoot."),
        (fact(Reason.AMBIENT_CHECK_ENDED), "Lights and shutter are back as they were."),
        (fact(Reason.FILLED_IN_FROM_RECIPE), "Filled in from the recipe. Build the set by the checklist."),
    ],
)
def test_what_a_change_did_reads_as_it_did(told: Fact, words: str) -> None:
    assert says_words((told,)) == words


def test_a_distance_that_was_written_in_is_told_in_the_readers_lengths() -> None:
    told = fact(Reason.CORRECTION_WRITTEN, "A", move="distance_to", was_mm=609.6, now_mm=863.6)

    assert says_words((told,), INCHES) == "Now set: A: 24 in to 34 in. Turn the dial to match."
    assert says_words(()) == ""


@pytest.mark.parametrize(
    ("field", "mark", "words"), [("iso", "200", "ISO 200"), ("shutter", "1/125", "1/125"), ("shutter", "2", "2 s")]
)
def test_a_setting_by_its_mark(field: str, mark: str, words: str) -> None:
    assert field_mark(field, mark) == words


def test_under_the_f_number_and_the_magnification() -> None:
    life_size = set_up("16", magnification=1.0)

    # f/16 at life size is f/32 effective; 2.44 x 546.1 nm x 32 is 43 µm, 7.1 pixels of 6 µm.
    assert f_number_words(life_size) == "f/32 effective · 1.8 mm deep · airy disc 7.1 px"
    assert magnification_words(life_size) == "costs 2.0 stops · field 36 mm × 24 mm"
    assert magnification_words(set_up("16", magnification=0.25), INCHES) == "costs 0.6 stops · field 5.7 × 3.8 in"
    assert magnification_words(set_up("16")) == "no close-up loss"
    assert magnification_words(set_up("16", magnification=None)) == "no close-up loss is reckoned with"


def test_a_depth_that_is_wanted_is_held_or_takes_a_stack() -> None:
    life_size = set_up("16", magnification=1.0)

    assert stack_words(life_size, 1.0) == "1 mm wanted: held in one frame"
    assert stack_words(life_size, 20.0).startswith("20 mm wanted: ")
    assert " frames in steps of " in stack_words(life_size, 20.0)
    assert stack_words(life_size, None) == stack_words(set_up("16"), 5.0) == ""


def test_under_a_power() -> None:
    assert power_words(standing_light(power=-2.0)) == "2.0 below full"
    assert power_words(standing_light(power=0.0)) == "full"
    assert power_words(standing_light(power=None)) == "power unknown"


def test_marks_and_gaps_of_an_aperture_are_counted_out() -> None:
    far = compare(exposure_of(set_up("5.6", standing_light())), exposure_of(set_up("22", standing_light())))
    near = compare(exposure_of(set_up("5.6", standing_light())), exposure_of(set_up("8", standing_light())))

    assert fence_post_words(far.of("A")[0]) == "f/5.6, 8, 11, 16, 22: four gaps, five marks"
    assert fence_post_words(near.of("A")[0]) == ""


def test_what_stands_in_the_way_of_a_mark_of_a_mix() -> None:
    beyond = fact(LedgerReason.MIX_OUT_OF_REACH, "A", light="key A", short_stops=1.0, highest=True, ends="400 J")
    elsewhere = fact(LedgerReason.MIX_AS_IN_FRAME, frame=3)

    assert mark_words(PowerSetting("A", "key A", "", None, out=True)) == "off"
    assert mark_words(PowerSetting("A", "key A", "400 J", 0.0, notes=(beyond, elsewhere))) == (
        "key A would need 1.0 stops past its highest mark, 400 J. With all else as in frame 3."
    )
    unknown = fact(LedgerReason.MIX_POWER_UNKNOWN, "A", light="key A")
    assert mark_words(PowerSetting("A", "key A", "", None, notes=(unknown,))) == "The power of key A is unknown."

"""What may be added up, what corrects it, and the way back to the dials."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.ledger.builders import HEAD, set_up, standing_light
from webapp.errors import InvalidValue
from webapp.facts import fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.mix_settings import power_settings
from webapp.ledger.remix import MOST_STOPS, Alone, LightsToMix, levels_for_ratio, lights_to_mix, mix
from webapp.ledger.set_up import FilterFigures, SetUp
from webapp.pictures.decode import LinearPicture
from webapp.quantities.stops import read_level
from webapp.web.words.mix import mark_words

A, B = standing_light("A", -3.0, role="key"), standing_light("B", -4.0, role="fill")


def alone(letter: str, number: int, f_number: str = "11", kind: str = "jpeg", **over: object) -> Alone:
    lights = (replace(A, lit=letter == "A"), replace(B, lit=letter == "B"))
    stands = set_up(f_number, *lights, **over)  # type: ignore[arg-type]
    return Alone(letter, f"frame-{number}", number, stands, f"digest-{number}", kind)


def flat(level: float) -> LinearPicture:
    return LinearPicture(np.full((8, 12, 3), level, np.float32), "jpeg", estimated=True, clipped_share=0.0, notes=())


def both(f_number_of_b: str = "11") -> LightsToMix:
    return lights_to_mix([alone("A", 2), alone("B", 3, f_number_of_b)], None, 0, None)


def test_frames_at_the_same_settings_need_no_correction() -> None:
    found = both()

    assert [part.correction_stops for part in found.parts] == [0.0, 0.0]
    assert found.gains({"A": 0.0, "B": -1.0}) == (1.0, 0.5)
    assert fact(Reason.AMBIENT_NOT_PROVEN) in found.notes


def test_a_frame_at_another_aperture_is_corrected_and_that_is_said() -> None:
    found = both("8")

    # Its light came through an f-number a stop wider than the sum stands at.
    assert found.parts[1].correction_stops == pytest.approx(-1.0)
    note = found.notes[0]
    assert note.reason == Reason.SETTINGS_CORRECTED
    assert note["stops"] == pytest.approx(-1.0)
    assert (note["causes"], note["was"], note["now"]) == (("aperture",), ("8",), ("11",))


def test_a_clipped_check_is_not_taken_out() -> None:
    check = replace(alone("", 4), is_clipped=True)

    found = lights_to_mix([alone("A", 2), alone("B", 3)], None, 0, check)

    assert found.ambient is None
    assert fact(Reason.AMBIENT_LEFT_IN, frame=4, why="clipped") in found.notes


def test_an_unknown_setting_is_refused_by_name() -> None:
    unknown = alone("B", 3)
    found = lights_to_mix([alone("A", 2), replace(unknown, set_up=replace(unknown.set_up, iso=None))], None, 0, None)

    assert found.parts == ()
    refused = found.refused[0]
    assert refused.reason == Reason.SETTINGS_NOT_BRIDGED
    assert (refused["causes"], refused["was"]) == (("iso",), (None,))


@pytest.mark.parametrize(
    ("other", "reason"),
    [
        (alone("B", 3, magnification=0.5), Reason.MAGNIFICATIONS_DIFFER),
        (alone("B", 3, kind="raw"), Reason.KINDS_OF_FILE_DIFFER),
    ],
)
def test_pictures_that_do_not_belong_together_are_refused(other: Alone, reason: Reason) -> None:
    found = lights_to_mix([alone("A", 2), other], None, 0, None)

    assert found.refused == (fact(reason, first=2, second=3),)


def test_nothing_to_add_up_says_what_to_do() -> None:
    assert lights_to_mix([], None, 0, None).refused == (fact(Reason.NO_SOLO_FRAME),)


def test_the_ambient_light_is_taken_out_of_each_and_put_in_once() -> None:
    check = Alone("", "check", 1, set_up("11", replace(A, lit=False), shutter="1"), "room", "jpeg")

    found = lights_to_mix([alone("A", 2), alone("B", 3)], None, 0, check)

    # From 1 s to 1/125 the room loses seven stops; with two frames it is in there twice, and once is too often.
    assert found.digests == ("digest-2", "digest-3", "room")
    assert found.gains({"A": 0.0, "B": 0.0}) == pytest.approx((1.0, 1.0, -(2.0**-7)))


def test_totals_and_ratios_follow_from_the_light() -> None:
    mixed = mix(both(), {"A": 0.0, "B": 0.0}, [flat(0.135), flat(0.045)])

    patch = mixed.patches[0]
    assert patch.total_stops == pytest.approx(0.0, abs=1e-6)
    ratio = patch.ratio("A", "B")
    assert ratio is not None
    # Key three times the fill: 3:1 and 4:1, the two conventions of the trade.
    assert (ratio.key_to_fill, ratio.sum_to_fill) == (pytest.approx(3.0), pytest.approx(4.0))


@given(st.floats(0.5, 12.0))
def test_a_ratio_that_is_set_is_there(wanted: float) -> None:
    pictures, stops = [flat(0.1), flat(0.07)], float(np.log2(wanted))
    levels = levels_for_ratio(
        mix(both(), {"A": 0.3, "B": 0.0}, pictures).patches[0], {"A": 0.3, "B": 0.0}, "A", "B", stops
    )

    ratio = mix(both(), levels, pictures).patches[0].ratio("A", "B")

    assert ratio is not None
    assert ratio.key_to_fill == pytest.approx(wanted, rel=0.001)


def test_a_light_left_out_gives_nothing_and_has_no_ratio() -> None:
    patch = mix(both(), {"A": 0.0, "B": None}, [flat(0.1), flat(0.07)]).patches[0]

    assert patch.light["B"] == 0.0
    assert patch.ratio("A", "B") is None
    with pytest.raises(ValueError, match="gives no light"):
        levels_for_ratio(patch, {"A": 0.0, "B": None}, "A", "B", 1.0)


def test_what_is_clipped_in_a_frame_is_said_of_the_sum() -> None:
    patch = mix(both(), {"A": -2.0, "B": 0.0}, [flat(1.0), flat(0.07)]).patches[0]

    assert patch.clipped_alone == ("A",)
    assert patch.blown_share == 0.0


def test_pictures_of_different_sizes_are_refused() -> None:
    other = replace(flat(0.1), rgb=np.zeros((3, 3, 3), np.float32))

    with pytest.raises(InvalidValue, match="different sizes"):
        mix(both(), {"A": 0.0, "B": 0.0}, [flat(0.1), other])


def standing(f_number: str = "11", **over_b: object) -> SetUp:
    return set_up(f_number, A, replace(B, **over_b))  # type: ignore[arg-type]


def marks(found: LightsToMix, at: SetUp, **levels: float | None) -> dict[str, tuple[str, float]]:
    return {each.letter: (each.mark, each.leaves_stops) for each in power_settings(found, levels, at)}


def test_levels_are_marks_on_the_dials() -> None:
    told = marks(both(), standing(), A=0.0, B=-1.0)

    assert told == {"A": ("50 J", 0.0), "B": ("12.5 J", 0.0)}


def test_a_weight_between_two_marks_says_what_it_leaves() -> None:
    mark, leaves = marks(both(), standing(), A=0.0, B=-0.04)["B"]

    assert mark == "25 J"
    assert leaves == pytest.approx(0.04)


def test_what_stands_otherwise_now_is_reckoned_with() -> None:
    # Half the distance gives two stops (inverse square), so the head goes two stops lower.
    told = marks(both(), standing(distance_mm=300.0), A=0.0, B=0.0)

    assert told["B"] == ("6.25 J", 0.0)


def test_a_light_that_is_off_now_is_reckoned_as_if_it_were_lit() -> None:
    assert marks(both(), standing(lit=False), A=0.0, B=0.0)["B"] == ("25 J", 0.0)


def test_past_the_end_of_the_dial_the_nearest_mark_and_what_is_missing_are_told() -> None:
    told = {each.letter: each for each in power_settings(both(), {"A": 4.0, "B": -3.0}, standing())}

    assert told["A"].mark == "400 J"
    assert "1.0 stops past its highest mark, 400 J" in mark_words(told["A"])
    assert told["A"].leaves_stops == pytest.approx(-1.0)
    assert "1.0 stops past its lowest mark, 6.25 J" in mark_words(told["B"])


def test_a_light_with_an_unknown_change_is_given_as_in_its_frame() -> None:
    gel = FilterFigures("g", "gel", "gel", None)

    (told,) = [
        each for each in power_settings(both(), {"A": 0.0, "B": -1.0}, standing(filters=(gel,))) if each.letter == "B"
    ]

    assert told.mark == "12.5 J"
    assert mark_words(told) == "With all else as in frame 3."


def test_the_marks_of_a_corrected_frame_make_the_mix_at_its_settings() -> None:
    found = both("8")

    # At f/11 the fill has to give a stop more for what it gave at f/8; as a weight of 0 it is shown a stop darker.
    assert marks(found, standing("11"), A=0.0, B=0.0)["B"] == ("25 J", 0.0)
    assert marks(found, standing("11"), A=0.0, B=1.0)["B"] == ("50 J", 0.0)


def test_a_left_out_light_is_off() -> None:
    (told,) = [each for each in power_settings(both(), {"A": 0.0, "B": None}, standing()) if each.letter == "B"]

    assert (told.mark, told.out) == ("", True)


@pytest.mark.parametrize(("typed", "stops"), [("−1,5", -1.5), ("0", 0.0), ("", 0.0), ("off", None), ("+2", 2.0)])
def test_a_weight_is_read_as_it_is_typed(typed: str, stops: float | None) -> None:
    assert read_level(typed, most=MOST_STOPS) == stops


@pytest.mark.parametrize("typed", ["many", "nan", "9", "-inf"])
def test_what_is_no_weight_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match="no level"):
        read_level(typed, most=MOST_STOPS)


def test_the_head_s_learned_slope_is_used_for_the_mark() -> None:
    learned = replace(HEAD, learned_slope=0.5, learned_from=9)
    frames = [alone("A", 2), alone("B", 3)]
    with_slope = replace(frames[1].set_up, lights=(frames[1].set_up.lights[0], replace(B, head=learned)))
    found = lights_to_mix([frames[0], replace(frames[1], set_up=with_slope)], None, 0, None)

    # A marked stop gives half a stop, so half a stop of light is a whole one on the dial.
    assert marks(found, set_up("11", A, replace(B, head=learned)), A=0.0, B=-0.5)["B"] == ("12.5 J", 0.0)

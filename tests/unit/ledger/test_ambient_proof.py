"""The ambient check as a proof: its margin, what it does to the picture, and when it falls."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.ledger.builders import set_up, standing_light
from webapp.facts import Fact, fact
from webapp.ledger.ambient_proof import AmbientCheck, CheckedPatch, Standing, moved_since, prove, room_stops
from webapp.ledger.evidence import RoomPlace
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.set_up import SetUp
from webapp.optics.scales import Quantity
from webapp.pictures.light_map import Place
from webapp.quantities.marks import read_mark

WORKING = set_up("8", standing_light(power=-6.0))


def check_of(read: float | None, working: SetUp = WORKING, at_most: float = -9.0, **patch: object) -> AmbientCheck:
    """A check at one second, every flash off, the rest as it stands."""
    dark = tuple(replace(light, lit=False) for light in working.lights)
    there = replace(working, shutter=read_mark(Quantity.SHUTTER, "1"), lights=dark)
    seen = CheckedPatch("card", 0.0, read, at_most if read is None else read, **patch)  # type: ignore[arg-type]
    return AmbientCheck("frame-2", 2, there, (seen,), working)


@pytest.mark.parametrize(("read", "margin"), [(-1.0, 8.0), (-0.4, 7.4), (-2.1, 9.1), (-1.5, 8.5)])
def test_one_second_against_a_125th_is_seven_stops_and_the_reading_the_rest(read: float, margin: float) -> None:
    proof = prove(check_of(read), WORKING)

    assert proof is not None
    assert proof.proven_stops == pytest.approx(margin)
    assert proof.reason == fact(Reason.PROOF_HOLDS)
    assert not proof.is_bound


def test_a_shadow_five_stops_down_gains_a_third_at_a_margin_of_seven() -> None:
    proof = prove(check_of(0.0), WORKING)

    assert proof is not None
    assert proof.shadow_lift_stops == pytest.approx(0.32, abs=0.005)
    assert proof.mid_tone_lift_stops == pytest.approx(0.0112, abs=5e-5)


def test_stopping_down_keeps_it_and_opening_by_two_lowers_it_by_two() -> None:
    check = check_of(-1.0)

    down = prove(check, set_up("16", standing_light()))
    opened = prove(check, set_up("4", standing_light()))

    assert down is not None
    assert opened is not None
    assert (down.standing, opened.standing) == (Standing.HOLDS, Standing.FALLS)
    assert opened.proven_stops == pytest.approx(8.0)
    assert opened.reason == fact(Reason.PROOF_FALLS, now_stops=pytest.approx(6.0))


@pytest.mark.parametrize(
    ("standing", "now"),
    [
        (set_up("8", standing_light(), shutter="1/60"), 7.0),
        (replace(WORKING, iso=read_mark(Quantity.ISO, "400")), 6.0),
        (replace(WORKING, pops=4), 6.0),
    ],
)
def test_a_longer_shutter_a_higher_iso_and_more_pops_lower_it(standing: SetUp, now: float) -> None:
    proof = prove(check_of(-1.0), standing)

    assert proof is not None
    assert proof.now_stops == pytest.approx(now)
    assert proof.standing is Standing.FALLS


def test_a_modelling_lamp_that_was_off_voids_it_and_one_that_was_on_does_not() -> None:
    lamp_on = set_up("8", standing_light(modelling_lamp=True))

    void = prove(check_of(-1.0), lamp_on)
    known = prove(check_of(-1.0, lamp_on), lamp_on)

    assert void is not None
    assert known is not None
    assert void.reason == fact(Reason.PROOF_IS_VOID, lamps=("A",))
    assert known.standing is Standing.HOLDS


def test_what_cannot_be_measured_is_a_bound() -> None:
    proof = prove(check_of(None, at_most=-8.2), WORKING)

    assert proof is not None
    assert proof.is_bound
    assert proof.proven_stops == pytest.approx(15.2)
    assert proof.reason == fact(Reason.PROOF_HOLDS)


def test_an_unknown_setting_is_said_and_not_taken_for_nothing() -> None:
    proof = prove(check_of(-1.0), replace(WORKING, iso=None))

    assert proof is not None
    assert proof.standing is Standing.UNTOLD
    assert proof.reason == fact(Reason.PROOF_UNTOLD, cause="iso")
    assert proof.now_stops is None


def test_the_patch_with_the_smallest_margin_speaks() -> None:
    check = check_of(-1.0)
    rim = CheckedPatch("rim", 2.3, 0.0, 0.0)
    shadow = CheckedPatch("shadow", -3.0, -2.0, -2.0)

    proof = prove(replace(check, patches=(*check.patches, rim, shadow)), WORKING)

    assert proof is not None
    assert (proof.patch, round(proof.proven_stops, 6)) == ("shadow", 6.0)


@pytest.mark.parametrize(("surface", "told"), [("high gloss", True), ("mirror", True), ("matt", False), ("", False)])
def test_a_shiny_subject_wants_the_eye_as_well(surface: str, told: bool) -> None:
    proof = prove(check_of(-1.0), WORKING, surface)

    assert proof is not None
    assert (fact(Reason.LOOK_WITH_THE_EYE) in proof.advice) is told


@pytest.mark.parametrize(
    ("warmth", "colour"),
    [
        (None, None),
        (0.1, fact(Reason.ROOM_LIKE_FLASH)),
        (0.9, fact(Reason.ROOM_UNLIKE_FLASH, warmth_stops=0.9)),
        (-0.4, fact(Reason.ROOM_UNLIKE_FLASH, warmth_stops=-0.4)),
    ],
)
def test_the_colour_of_the_room_is_told_where_the_patch_tells_it(warmth: float | None, colour: Fact | None) -> None:
    proof = prove(check_of(-1.0, warmth_stops=warmth), WORKING)

    assert proof is not None
    assert proof.colour == colour


def test_a_narrow_margin_says_what_would_widen_it() -> None:
    proof = prove(check_of(2.0), WORKING)

    assert proof is not None
    advice = proof.advice[0]
    assert (advice.reason, advice["wanted_stops"], advice["sync"]) == (Reason.WIDEN_MARGIN, 7.0, "1/200")
    assert advice.number("short_stops") == pytest.approx(2.0)
    assert advice.number("gives_stops") == pytest.approx(2 / 3, abs=0.02)
    assert advice.number("close_stops") == pytest.approx(4 / 3, abs=0.02)


def test_a_check_without_a_reading_proves_nothing() -> None:
    assert prove(replace(check_of(-1.0), patches=()), WORKING) is None


@given(st.sampled_from(["2.8", "4", "5.6", "8", "11", "16", "22"]), st.floats(-8, 2))
def test_the_margin_moves_by_just_what_the_aperture_moves(f_number: str, read: float) -> None:
    here, there = prove(check_of(read), WORKING), prove(check_of(read), set_up(f_number, standing_light()))

    assert here is not None
    assert there is not None
    assert here.now_stops is not None
    assert there.now_stops is not None
    closed = read_mark(Quantity.F_NUMBER, f_number).stops - 6.0
    assert there.now_stops - here.now_stops == pytest.approx(closed)


@pytest.mark.parametrize(("over", "void"), [(None, False), (-3.0, False), (0.3, False), (0.5, True)])
def test_a_check_that_reads_brighter_than_the_frame_with_flash_proves_nothing(over: float | None, void: bool) -> None:
    proof = prove(check_of(0.0, over_reference_stops=over), WORKING)

    assert proof is not None
    assert (proof.standing is Standing.VOID) is void
    assert (proof.now_stops is None) is void
    if void:
        assert proof.reason == fact(Reason.CHECK_TOO_BRIGHT, frame=2, brighter_stops=over)
        assert proof.mid_tone_lift_stops is None
        assert proof.advice == ()


def mirrored(read: float, clipped: float = 0.0, patch: str = "") -> RoomPlace:
    return RoomPlace(Place(0.1, 0.1, 0.02, 0.02), patch, 0.0, read, read, clipped)


def test_the_place_of_the_whole_picture_speaks_and_not_the_patch() -> None:
    # A window mirrored beside the card, ten stops brighter than what the card shows.
    proof = prove(replace(check_of(-10.0), nearest=mirrored(0.0)), WORKING)

    assert proof is not None
    assert (proof.patch, proof.nearest) == ("", Place(0.1, 0.1, 0.02, 0.02))
    assert proof.proven_stops == pytest.approx(7.0)
    assert proof.where == fact(Reason.ROOM_COMES_NEAREST, patch="", x=pytest.approx(0.11), y=pytest.approx(0.11))


def test_the_room_at_a_patch_is_told_by_the_patch() -> None:
    check = replace(check_of(-1.0), nearest=mirrored(2.0))

    # One second to 1/125 is seven stops, by exact marks.
    assert room_stops(check, "card", WORKING) == pytest.approx(-8.0)
    assert room_stops(check, "rim", WORKING) is None


@pytest.mark.parametrize(
    ("check", "patch", "x"),
    [
        (replace(check_of(-1.0), nearest=mirrored(2.5, clipped=0.3)), "", pytest.approx(0.11)),
        (check_of(2.4, is_clipped=True), "card", None),
    ],
)
def test_a_clipped_check_is_void_and_says_where(check: AmbientCheck, patch: str, x: float | None) -> None:
    proof = prove(check, WORKING)

    assert proof is not None
    assert proof.standing is Standing.VOID
    assert proof.reason == fact(Reason.CHECK_IS_CLIPPED, frame=2, patch=patch, x=x, y=x)
    assert (proof.now_stops, proof.where if patch == "" else None, proof.advice) == (None, None, ())
    assert not check.proves


MADE_AT = dt.datetime(2026, 11, 29, 10, 12, tzinfo=dt.UTC)


@pytest.mark.parametrize(("read", "hours"), [(-1.0, 1.0), (-3.5, 3.5), (-12.0, 8.0), (1.0, 1.0)])
def test_a_check_is_good_for_as_many_hours_as_it_has_stops_to_spare(read: float, hours: float) -> None:
    check = replace(check_of(read), made_at=MADE_AT)
    end = MADE_AT + dt.timedelta(hours=hours)

    before = prove(check, WORKING, at=end - dt.timedelta(minutes=1))
    after = prove(check, WORKING, at=end)

    assert before is not None
    assert after is not None
    assert before.repeat_at == end
    assert (before.is_old, after.is_old) == (False, True)


def test_a_check_of_another_shot_carries_where_nothing_moved() -> None:
    carried = replace(check_of(-3.0), shot="dial")
    turned_down = set_up("11", standing_light(power=-4.0))

    proof = prove(carried, turned_down)

    assert proof is not None
    assert (proof.standing, proof.shot) == (Standing.HOLDS, "dial")
    assert proof.now_stops == pytest.approx(11.0)


def other(name: str) -> SetUp:
    """The working set-up with one thing that stands otherwise."""
    light = standing_light(power=-6.0)
    return {
        "camera": replace(WORKING, camera=replace(WORKING.camera, id="another")),
        "lens": replace(WORKING, lens=replace(WORKING.lens, id="another")),
        "view": replace(WORKING, magnification=0.5),
        "A": set_up("8", replace(light, distance_mm=(light.distance_mm or 600.0) + 300.0)),
        "B": set_up("8", light, standing_light("B", power=-3.0, role="fill")),
    }[name]


@pytest.mark.parametrize("name", ["camera", "lens", "view", "A", "B"])
def test_a_check_of_another_shot_does_not_carry_past_what_moved(name: str) -> None:
    moved = other(name)

    proof = prove(replace(check_of(-3.0), shot="dial"), moved)

    assert proof is not None
    assert moved_since(check_of(-3.0).set_up, moved) == (name,)
    assert (proof.standing, proof.now_stops) == (Standing.VOID, None)
    assert proof.reason == fact(Reason.PROOF_NOT_CARRIED, what=(name,))

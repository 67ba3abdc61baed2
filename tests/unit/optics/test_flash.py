"""Flash: energy, guide numbers, pops, distance, duration."""

from __future__ import annotations

import math

import pytest

from webapp.optics import flash
from webapp.optics.flash import Pulse


def test_five_stops_below_full_is_a_thirty_second() -> None:
    assert flash.energy_at_j(400, -5) == pytest.approx(400 / 32)
    assert flash.power_from_energy_stops(400, 400 / 32) == pytest.approx(-5)


@pytest.mark.parametrize(
    ("from_j", "to_j", "stops"), [(500, 300, -0.7370), (1200, 75, -4), (600, 400, -0.5850), (200, 400, 1)]
)
def test_energy_is_compared_by_its_ratio(from_j: float, to_j: float, stops: float) -> None:
    assert flash.energy_change_stops(from_j, to_j) == pytest.approx(stops, abs=5e-5)


@pytest.mark.parametrize(("from_mm", "to_mm", "stops"), [(1000, 2000, -2), (600, 900, -1.1699), (300, 270, 0.3040)])
def test_a_nearer_flash_is_brighter(from_mm: float, to_mm: float, stops: float) -> None:
    assert flash.distance_change_stops(from_mm, to_mm) == pytest.approx(stops, abs=5e-5)


@pytest.mark.parametrize(("pops", "stops"), [(1, 0), (2, 1), (3, 1.585), (5, 2.322), (8, 3), (10, 3.322), (16, 4)])
def test_pops_add_as_light(pops: int, stops: float) -> None:
    assert flash.pops_stops(pops) == pytest.approx(stops, abs=5e-4)


@pytest.mark.parametrize(("gain", "pops"), [(0, 1), (0.1, 2), (1, 2), (1.585, 3), (2, 4), (2.5, 6), (4, 16)])
def test_a_gain_takes_whole_pops(gain: float, pops: int) -> None:
    assert flash.pops_for(gain) == pops


def test_closing_two_stops_at_full_power_takes_four_pops() -> None:
    change = flash.change_energy(400, 0, 2)

    assert (change.to_energy_j, change.to_power_stops, change.residue_stops) == (400, 0, 2)
    assert change.pops == 4
    assert change.residue_with_pops_stops == 0


def test_opening_one_stop_needs_half_the_energy() -> None:
    change = flash.change_energy(400, -1, -1, lowest_power_stops=-6, step_stops=1 / 3)

    assert (change.energy_j, change.to_energy_j) == (200, 100)
    assert (change.residue_stops, change.pops) == (0, 1)


def test_a_change_between_steps_goes_to_the_nearest_and_says_what_is_left() -> None:
    change = flash.change_energy(400, 0, -0.6, lowest_power_stops=-6, step_stops=0.5)

    assert change.to_power_stops == -0.5
    assert change.residue_stops == pytest.approx(-0.1)
    assert change.pops == 1


def test_a_light_at_its_lowest_gives_no_less() -> None:
    change = flash.change_energy(400, -4, -3, lowest_power_stops=-5, step_stops=0.1)

    assert change.to_power_stops == -5
    assert change.residue_stops == pytest.approx(-2)
    assert change.pops == 1


def test_a_hair_above_full_is_within_the_step_and_needs_no_second_pop() -> None:
    change = flash.change_energy(400, -1, 1.1, lowest_power_stops=-5, step_stops=1 / 3)

    assert change.to_power_stops == 0
    assert change.residue_stops == pytest.approx(0.1)
    assert change.pops == 1


def test_a_stepless_light_goes_where_it_is_told() -> None:
    change = flash.change_energy(400, -1.25, -0.11)

    assert change.to_power_stops == pytest.approx(-1.36)
    assert change.residue_stops == 0


def test_a_light_below_its_own_range_is_refused() -> None:
    with pytest.raises(ValueError, match="its range ends at -5"):
        flash.change_energy(400, -6, 1, lowest_power_stops=-5)


def test_power_above_full_is_refused() -> None:
    with pytest.raises(ValueError, match="stops below full"):
        flash.energy_at_j(400, 1)
    with pytest.raises(ValueError, match="more than this light holds"):
        flash.power_from_energy_stops(400, 500)


@pytest.mark.parametrize("step", [0, -1, math.nan])
def test_a_dial_without_steps_is_refused(step: float) -> None:
    with pytest.raises(ValueError, match="step of the dial"):
        flash.change_energy(400, -1, 1, step_stops=step)


def test_fewer_pops_than_one_are_refused() -> None:
    with pytest.raises(ValueError, match="at least once"):
        flash.pops_stops(0)
    with pytest.raises(ValueError, match="is a loss"):
        flash.pops_for(-1)


def test_a_guide_number_is_counted_from_the_flash() -> None:
    assert flash.flash_f_number(40, 2500) == pytest.approx(16)
    assert flash.flash_distance_mm(40, 16) == pytest.approx(2500)
    assert flash.guide_number_from_m(16, 2500) == pytest.approx(40)


@pytest.mark.parametrize(
    ("guide_number", "iso", "power", "pops", "expected"),
    [
        (32, 400, 0, 1, 64),
        (40, 200, 0, 1, 56.569),
        (40, 100, -4, 1, 10),
        (40, 100, -1, 1, 28.284),
        (20, 100, 0, 4, 40),
    ],
)
def test_a_guide_number_grows_with_the_root_of_the_light(
    guide_number: float, iso: float, power: float, pops: int, expected: float
) -> None:
    assert flash.guide_number_at(guide_number, iso, power, pops) == pytest.approx(expected, abs=5e-4)


def test_two_flashes_combine_by_the_root_of_squares() -> None:
    assert flash.combined_guide_number([30, 40]) == pytest.approx(50)
    assert flash.guide_number_ft(37) == pytest.approx(121.39, abs=0.005)


def test_no_flash_has_no_guide_number() -> None:
    with pytest.raises(ValueError, match="no flash to combine"):
        flash.combined_guide_number([])
    with pytest.raises(ValueError, match="distance of the flash"):
        flash.flash_f_number(40, 0)


def test_a_cut_pulse_has_no_tail() -> None:
    assert flash.tenth_duration_s(1 / 1000, Pulse.CUT) == 1 / 1000
    assert flash.tenth_duration_s(1 / 1000) == pytest.approx(3.3219 / 1000, abs=5e-8)


def test_a_pulse_cut_after_two_half_lives_has_lost_little() -> None:
    assert flash.cut_pulse_stops(0.002, 0.001) == pytest.approx(-0.4150, abs=5e-5)


def test_a_moving_subject_smears_by_half_a_millimetre() -> None:
    assert flash.motion_blur_mm(1, 1, 1 / 2000) == pytest.approx(0.5)
    assert flash.motion_blur_mm(0, 1, 1 / 2000) == 0


def test_twelve_frames_have_eleven_waits() -> None:
    assert flash.series_duration_s(12, 4) == 44
    assert flash.series_duration_s(1, 4) == 0
    with pytest.raises(ValueError, match="at least one flash"):
        flash.series_duration_s(0, 4)


def test_half_the_energy_is_back_in_half_the_time() -> None:
    assert flash.recycle_at_power_s(2.4, -1) == pytest.approx(1.2)


@pytest.mark.parametrize("bad", [0, -0.001, math.nan, math.inf])
def test_a_duration_that_is_none_is_refused(bad: float) -> None:
    for formula in (flash.tenth_duration_s, flash.half_duration_s, lambda t: flash.motion_blur_mm(1, 1, t)):
        with pytest.raises(ValueError, match="duration"):
            formula(bad)

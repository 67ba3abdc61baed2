"""What holds for any flash."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.optics import flash
from webapp.optics.flash import Pulse

energies_j = st.floats(1, 10_000)
powers = st.floats(-10, 0)
distances_mm = st.floats(10, 100_000)
steps = st.sampled_from([1.0, 0.5, 1 / 3, 0.1])
changes = st.floats(-12, 12)


@given(energies_j, powers, powers)
def test_more_power_is_never_less_energy(full: float, one: float, other: float) -> None:
    low, high = sorted((one, other))

    assert flash.energy_at_j(full, low) <= flash.energy_at_j(full, high) <= full


@given(energies_j, powers)
def test_energy_and_power_are_inverse(full: float, power: float) -> None:
    energy = flash.energy_at_j(full, power)

    assert flash.power_from_energy_stops(full, min(energy, full)) == pytest.approx(power, abs=1e-9)


@given(distances_mm, distances_mm)
def test_a_farther_light_is_never_brighter(one: float, other: float) -> None:
    near, far = sorted((one, other))

    assert flash.distance_change_stops(near, far) <= 0
    assert flash.distance_change_stops(far, near) == pytest.approx(-flash.distance_change_stops(near, far), abs=1e-9)


@given(energies_j, powers, changes, steps)
def test_a_change_stays_in_range_and_says_what_is_left(full: float, power: float, change: float, step: float) -> None:
    done = flash.change_energy(full, power, change, lowest_power_stops=-10, step_stops=step)

    assert -10 <= done.to_power_stops <= 0
    assert done.to_power_stops + done.residue_stops == pytest.approx(power + change, abs=1e-9)
    within_range = -10 <= power + change <= 0
    assert not within_range or abs(done.residue_stops) <= step / 2 + 1e-9


@given(energies_j, powers, changes)
def test_pops_reach_what_one_flash_cannot(full: float, power: float, change: float) -> None:
    done = flash.change_energy(full, power, change)

    wanted_j = full * 2 ** (power + change)
    assert done.pops * done.to_energy_j >= wanted_j * (1 - 0.004)
    assert done.pops == 1 or (done.pops - 1) * done.to_energy_j < wanted_j


@given(st.integers(1, 200))
def test_pops_and_their_gain_are_inverse(pops: int) -> None:
    assert flash.pops_for(flash.pops_stops(pops)) == pops


@given(st.floats(1, 200), distances_mm, st.floats(25, 100_000), powers)
def test_guide_number_f_number_and_distance_agree(number: float, distance: float, iso: float, power: float) -> None:
    f_number = flash.flash_f_number(number, distance, iso, power)

    assert flash.flash_distance_mm(number, f_number, iso, power) == pytest.approx(distance)
    assert flash.guide_number_from_m(f_number, distance, iso, power) == pytest.approx(number)


@given(st.floats(1, 200), st.integers(1, 50))
def test_equal_flashes_combine_like_pops(number: float, count: int) -> None:
    assert flash.combined_guide_number([number] * count) == pytest.approx(flash.guide_number_at(number, pops=count))


@given(st.floats(1e-6, 1), st.sampled_from(list(Pulse)))
def test_durations_are_inverse_and_ordered(t_half: float, pulse: Pulse) -> None:
    t_tenth = flash.tenth_duration_s(t_half, pulse)

    assert t_tenth >= t_half
    assert flash.half_duration_s(t_tenth, pulse) == pytest.approx(t_half)


@given(st.floats(1e-3, 100), st.floats(1e-3, 100))
def test_a_later_cut_leaves_more_light(one: float, other: float) -> None:
    early, late = sorted((one, other))

    assert flash.cut_pulse_stops(early, 1) <= flash.cut_pulse_stops(late, 1) <= 0
    assert math.isfinite(flash.cut_pulse_stops(early, 1))

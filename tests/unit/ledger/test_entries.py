"""Entries and balances: which change acts on which light, and by how much."""

from __future__ import annotations

import pytest

from tests.unit.ledger.builders import DIAL, exposure, light, neutral
from webapp.facts import fact
from webapp.ledger.entries import Cause, compare
from webapp.ledger.reasons import Reason
from webapp.optics import sources


def test_four_gaps_of_aperture_are_four_stops_however_many_marks_are_counted() -> None:
    compared = compare(exposure("5.6", light()), exposure("22", light()))

    assert compared.balances == {"A": -4.0, "ambient": -4.0}


def test_one_sixtieth_to_one_hundred_and_twenty_fifth_is_exactly_one_stop() -> None:
    compared = compare(exposure("8", light(), shutter="1/60"), exposure("8", light(), shutter="1/125"))

    assert compared.balances["ambient"] == -1.0


def test_the_shutter_does_not_move_flash() -> None:
    compared = compare(exposure("8", light(), shutter="1/125"), exposure("8", light(), shutter="1"))

    assert compared.balances == {"A": 0.0, "ambient": 7.0}
    assert not compared.of("A")


def test_the_shutter_moves_a_continuous_light() -> None:
    lamp = light(kind="continuous")

    compared = compare(exposure("8", lamp, shutter="1/125"), exposure("8", lamp, shutter="1/30"))

    assert compared.balances["A"] == 2.0


def test_five_stops_of_energy_against_four_of_aperture_leave_one_over() -> None:
    compared = compare(exposure("5.6", light(power=-6.0)), exposure("22", light(power=-1.0)))

    assert compared.balances["A"] == 1.0
    assert [(entry.cause, entry.stops) for entry in compared.of("A")] == [(Cause.APERTURE, -4.0), (Cause.ENERGY, 5.0)]
    assert [entry.told for entry in compared.of("A")] == [
        {"was": "5.6", "now": "22"},
        {"was": "6.25 J", "now": "200 J"},
    ]


def test_life_size_costs_two_stops() -> None:
    # Published in every close-up table: exposure factor (1 + m)^2 = 4 at m = 1.
    compared = compare(exposure("8", light()), exposure("8", light(), magnification=1.0))

    assert compared.balances == {"A": -2.0, "ambient": -2.0}
    assert compared.of("A")[0].cause is Cause.CLOSE_UP


def test_a_light_moved_from_one_metre_to_two_loses_two_stops() -> None:
    compared = compare(exposure("8", light(distance_mm=1000.0)), exposure("8", light(distance_mm=2000.0)))

    assert compared.balances == {"A": -2.0, "ambient": 0.0}


def test_a_ring_close_up_follows_its_own_law_and_not_the_inverse_square() -> None:
    # A thin ring of 55 mm mean radius, d^2 / (d^2 + R^2)^2: 1 m to 12 cm gains 5.58 stops, inverse square says 6.12.
    ring = sources.Ring(110.0, 110.0)

    compared = compare(
        exposure("8", light(distance_mm=1000.0, source=ring)), exposure("8", light(distance_mm=120.0, source=ring))
    )

    assert compared.balances["A"] == pytest.approx(5.576, abs=0.001)


def test_a_density_of_0_6_on_the_light_takes_two_stops_from_that_light_alone() -> None:
    sheet = neutral(1.9932)

    compared = compare(exposure("8", light(), light("B")), exposure("8", light(filters=sheet), light("B")))

    assert compared.balances["A"] == pytest.approx(-1.9932)
    assert compared.balances["B"] == 0.0


def test_a_filter_on_the_lens_takes_from_everything() -> None:
    compared = compare(exposure("8", light()), exposure("8", light(), lens_filters=neutral(3.0)))

    assert compared.balances == {"A": -3.0, "ambient": -3.0}


def test_four_pops_give_two_stops_to_the_flash_and_nothing_to_a_lamp() -> None:
    lamp = light("B", kind="continuous")

    compared = compare(exposure("8", light(), lamp), exposure("8", light(), lamp, pops=4))

    assert compared.balances["A"] == 2.0
    assert compared.balances["B"] == 0.0


def test_the_same_sheet_with_an_unknown_loss_on_both_sides_changes_nothing() -> None:
    sheet = neutral(0.0)
    unknown = type(sheet)(("gel-1",), None, "a gel")

    compared = compare(exposure("8", light(filters=unknown)), exposure("8", light(filters=unknown)))

    assert compared.balances["A"] == 0.0


def test_an_unknown_power_gives_no_balance_and_says_so() -> None:
    compared = compare(exposure("8", light()), exposure("8", light(power=None)))

    assert compared.balances["A"] is None
    assert fact(Reason.POWER_UNKNOWN, "A", light="A") in compared.notes


def test_a_distance_known_on_one_side_only_gives_no_balance() -> None:
    compared = compare(exposure("8", light()), exposure("8", light(distance_mm=None)))

    assert compared.balances["A"] is None
    assert fact(Reason.DISTANCE_UNKNOWN_ONCE, "A", light="A") in compared.notes
    assert (compared.of("A")[0].was, compared.of("A")[0].now) == (600.0, None)


def test_a_distance_unknown_on_both_sides_counts_as_unchanged_and_says_so() -> None:
    compared = compare(exposure("8", light(distance_mm=None)), exposure("8", light(distance_mm=None)))

    assert compared.balances["A"] == 0.0
    assert fact(Reason.DISTANCE_UNKNOWN, "A", light="A") in compared.notes


def test_lit_and_off_are_states_without_stops() -> None:
    compared = compare(exposure("8", light(lit=False)), exposure("8", light()))

    assert compared.balances["A"] is None
    assert fact(Reason.LIGHT_WAS_OFF, "A", light="A") in compared.notes


def test_a_light_that_was_off_in_the_reference_is_held_against_its_first_frame() -> None:
    first_lit = exposure("8", light(power=-3.0))

    compared = compare(exposure("8", light(lit=False)), exposure("8", light(power=-2.0)), baselines={"A": first_lit})

    assert compared.balances["A"] == 1.0


def test_joules_of_another_head_are_not_compared() -> None:
    compared = compare(exposure("8", light(head_key="h")), exposure("8", light(head_key="another")))

    assert compared.balances["A"] is None
    assert fact(Reason.ANOTHER_HEAD, "A", light="A") in compared.notes


def test_an_unknown_aperture_on_one_side_leaves_no_balance_at_all() -> None:
    compared = compare(exposure(None, light()), exposure("8", light()))

    assert compared.balances == {"A": None, "ambient": None}


def test_the_dial_writes_the_power_as_the_head_shows_it() -> None:
    assert DIAL.mark(-2.2) == "87.1 J"

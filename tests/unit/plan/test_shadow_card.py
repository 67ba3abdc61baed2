"""The shadow card's light at chosen places, against the analytic value and with more and more samples."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from webapp.optics import illuminance, sources
from webapp.optics.sources import Disc, Point, Rectangle, Ring
from webapp.plan.positions import Place, Position
from webapp.plan.shadow_card import irradiance, shadow_card
from webapp.plan.staging import Plan, PlanLight, Reading

UNIT_MM = 50.0
# On the table, in front of the object and clear of every shadow of a light overhead.
PLACE = np.array([[0.3, -1.8, -1.0]])
UP = np.array([[0.0, 0.0, 1.0]])


def overhead(source: sources.Source) -> PlanLight:
    above = Place(0.3 * UNIT_MM, -1.8 * UNIT_MM, 500.0)
    aim = Place(above.x_mm, above.y_mm, -100.0)
    return PlanLight("A", "key A", "key", True, source, Position(above, aim))


@pytest.mark.parametrize("source", [Point(), Disc(200.0), Ring(200.0, 100.0), Rectangle(200.0, 300.0)], ids=repr)
def test_the_light_on_the_table_is_the_analytic_one_within_a_twentieth_of_a_stop(
    source: sources.Source,
) -> None:
    found = float(irradiance(overhead(source), PLACE, UP, UNIT_MM)[0])

    analytic = float(illuminance.illuminance_per_intensity(source, 500.0 + UNIT_MM))
    assert abs(math.log2(found / analytic)) < 0.05


def test_more_samples_come_nearer_to_the_analytic_light() -> None:
    source = Rectangle(500.0, 400.0)
    analytic = float(illuminance.illuminance_per_intensity(source, 500.0 + UNIT_MM))

    off = [abs(float(irradiance(overhead(source), PLACE, UP, UNIT_MM, n)[0]) / analytic - 1.0) for n in (4, 64, 1024)]

    assert off[2] < 1e-3
    assert off[2] < off[1] < off[0]


def test_under_the_ball_a_lamp_overhead_leaves_the_table_dark() -> None:
    above = Place(-UNIT_MM, 0.0, 500.0)
    lamp = PlanLight("A", "key A", "key", True, Point(), Position(above, Place(-UNIT_MM, 0.0, 0.0)))

    dark, clear = irradiance(lamp, np.array([[-1.0, 0.3, -1.0], [-1.0, -1.6, -1.0]]), np.vstack((UP, UP)), UNIT_MM)

    assert dark == 0.0
    assert clear > 0.0


def test_one_stop_of_power_is_a_stop_on_the_card() -> None:
    light = replace(overhead(Disc(200.0)), reading=Reading(7.0, 1000.0), power_stops=0.0, filter_stops=0.0)
    plan = Plan((light,), camera_stops=9.0)
    brighter = replace(plan, lights=(replace(light, power_stops=1.0),))

    one, two = shadow_card(plan, 4, 40, 30), shadow_card(brighter, 4, 40, 30)

    lit = one > 0.0
    assert np.allclose(np.log2(two[lit] / one[lit]), 1.0)


def test_the_energy_of_the_whole_card_settles_with_more_samples() -> None:
    light = replace(overhead(Rectangle(500.0, 400.0)), position=Position(Place(-500.0, -350.0, 400.0)))
    plan = Plan((replace(light, reading=Reading(7.0, 1000.0), power_stops=0.0, filter_stops=0.0),), camera_stops=7.0)

    whole = float(shadow_card(plan, 400, 80, 60).sum())
    off = [abs(float(shadow_card(plan, samples, 80, 60).sum()) / whole - 1.0) for samples in (2, 12, 100)]

    assert off[2] < 2e-3
    assert off[1] < 1e-2
    assert off[2] < off[0]

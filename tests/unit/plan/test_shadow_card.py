"""The shadow card's light at chosen pixels against the analytic value, its ramps without steps, and from where it looks."""

from __future__ import annotations

import io
import math
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from webapp.optics import illuminance, sources
from webapp.optics.sources import Disc, Point, Rectangle, Ring
from webapp.plan.positions import ORIGIN, Place, Position, Thing
from webapp.plan.shadow_card import shadow_card, shadow_card_png
from webapp.plan.solids import Shape, usual_shape
from webapp.plan.staging import Plan, PlanLight, Reading
from webapp.plan.view import card_size

SUBJECT = Thing("subject", "subject", Position(ORIGIN), 60.0, 100.0, 60.0)
TABLE = Thing("table", "table", Position(Place(0.0, 0.0, -50.0)), 2000.0, 0.0, 2000.0)
OVERHEAD = Thing("camera", "camera", Position(Place(0.0, 0.0, 2000.0)), 80.0, 80.0)
SIZE = (160, 120)


def lamp(at: Place, source: sources.Source, aim: Place = ORIGIN) -> PlanLight:
    return PlanLight("A", "key A", "key", True, source, Position(at, aim), Reading(9.0, 1000.0), 0.0, 0.0)


def at(card: np.ndarray, plan: Plan, x_mm: float, y_mm: float) -> float:
    """The card's value at a place of the table below an overhead camera 2 m above the subject's middle."""
    assert plan.field_mm is not None
    height, width = card.shape
    scale = 2000.0 / 2050.0
    column = (x_mm * scale / plan.field_mm[0] + 0.5) * width
    row = (0.5 - y_mm * scale / plan.field_mm[1]) * height
    return float(card[int(row), int(column)])


@pytest.mark.parametrize("source", [Point(), Disc(200.0), Ring(200.0, 100.0), Rectangle(200.0, 300.0)], ids=repr)
def test_an_unshadowed_table_has_the_light_that_the_exposure_says(source: sources.Source) -> None:
    # The lamp 50 cm straight above a place clear of the subject; a meter a metre away reads two stops less than is set.
    above = lamp(Place(300.0, 0.0, 450.0), source, Place(300.0, 0.0, -50.0))
    plan = Plan((above,), (SUBJECT, TABLE, OVERHEAD), (800.0, 600.0), camera_stops=11.0)
    nearer = illuminance.illuminance_per_intensity(source, 500.0) / illuminance.illuminance_per_intensity(
        source, 1000.0
    )

    found = at(shadow_card(plan, size=SIZE), plan, 300.0, 0.0)

    assert abs(math.log2(found / (0.30 * nearer / 4.0))) < 0.06


def test_one_stop_of_power_is_a_stop_on_the_card() -> None:
    light = lamp(Place(-500.0, -350.0, 400.0), Rectangle(500.0, 400.0))
    plan = Plan((light,), (SUBJECT, TABLE), (300.0, 200.0), camera_stops=9.0)

    one, two = (shadow_card(each, size=SIZE) for each in (plan, plan.with_light(replace(light, power_stops=1.0))))

    lit = one > 0.0
    assert np.allclose(np.log2(two[lit] / one[lit]), 1.0)


def test_in_full_shadow_the_table_is_black_and_beside_it_lit() -> None:
    plan = Plan((lamp(Place(600.0, 0.0, 300.0), Point()),), (SUBJECT, TABLE, OVERHEAD), (800.0, 600.0))

    card = shadow_card(plan, size=SIZE)

    assert at(card, plan, -80.0, 0.0) == 0.0
    assert at(card, plan, -80.0, 100.0) > 0.0


def test_a_soft_edge_has_no_steps() -> None:
    """Across the soft edge behind a wall, 150 rows of pixels: the light falls evenly towards the wall, and of the greys
    none is missing, and none takes the place of its neighbours."""
    wall = replace(SUBJECT, width_mm=3000.0, height_mm=200.0, depth_mm=10.0)
    light = lamp(Place(0.0, -800.0, 1500.0), Rectangle(2000.0, 2000.0))
    table = replace(TABLE, position=Position(Place(0.0, 0.0, -100.0)))
    plan = Plan((light,), (wall, table, OVERHEAD), (600.0, 600.0))

    ramp = shadow_card(plan, shape="block")[10:150, 100:220].mean(axis=1)
    picture = np.asarray(Image.open(io.BytesIO(shadow_card_png(plan, shape="block"))))[5:155, 100:220]

    rows = np.arange(len(ramp))
    even = np.polyval(np.polyfit(rows, ramp, 4), rows)
    assert float(np.abs(ramp - even).max()) < 0.01 * float(ramp.max())
    counts = np.bincount(picture.ravel(), minlength=256)[int(picture.min()) + 6 : int(picture.max()) - 6]
    assert len(counts) > 70
    assert counts.min() > 0
    around = np.convolve(np.pad(counts, 4, mode="reflect"), np.ones(9) / 9.0, mode="valid")
    assert float((counts / around).max()) < 1.6


def test_a_table_a_flag_and_the_background_stand_in_the_light() -> None:
    under = Plan((lamp(Place(200.0, -200.0, -400.0), Disc(100.0)),), (SUBJECT, TABLE, OVERHEAD), (400.0, 300.0))
    flag = Thing("flag-1", "flag", Position(Place(300.0, 0.0, 200.0)), 900.0, 900.0)
    flagged = Plan((lamp(Place(600.0, 0.0, 400.0), Disc(60.0)),), (SUBJECT, TABLE, flag), (400.0, 300.0))

    assert shadow_card(under, size=SIZE).max() == 0.0
    assert np.median(shadow_card(flagged, size=SIZE)) == 0.0


def test_the_card_from_a_level_lens_shows_what_stands_before_it() -> None:
    """The top of the subject is at 50 of the 75 mm above the middle of the picture, the table's far edge on the level."""
    level = Thing("camera", "camera", Position(Place(0.0, -1000.0, 0.0)), 80.0, 80.0)
    plan = Plan((lamp(Place(0.0, -900.0, 500.0), Disc(300.0)),), (SUBJECT, TABLE, level), (200.0, 150.0))

    card = shadow_card(plan, size=(160, 120))

    # Its front stands 3 cm nearer: 50 mm look like 51.5.
    assert card[int(120 * (0.5 - 49.0 / 150.0)), 80] > 0.0
    assert card[int(120 * (0.5 - 54.0 / 150.0)), 80] == 0.0
    assert card[20, 20] == 0.0
    assert card[110, 20] > 0.0


def test_from_above_the_table_is_seen_around_the_subject() -> None:
    level = Thing("camera", "camera", Position(Place(0.0, -1000.0, 0.0)), 80.0, 80.0)
    plan = Plan((lamp(Place(500.0, 0.0, 300.0), Disc(80.0)),), (SUBJECT, TABLE, level), (200.0, 150.0))

    card = shadow_card(plan, "above", size=SIZE)

    assert card[60, 20] < 0.5 * card[20, 20]


@pytest.mark.parametrize(
    ("sides", "shape"),
    [
        ((60.0, 100.0, 60.0), "block"),
        ((80.0, 80.0, 80.0), "ball"),
        ((26.0, 3.0, 16.0), "disc"),
        ((150.0, 150.0, 10.0), "block"),
    ],
)
def test_the_usual_shape_follows_the_size(sides: tuple[float, float, float], shape: Shape) -> None:
    width, height, depth = sides

    assert usual_shape(Plan((), (replace(SUBJECT, width_mm=width, height_mm=height, depth_mm=depth),))) == shape


@pytest.mark.parametrize("shape", ["block", "ball", "disc"])
def test_every_shape_throws_a_shadow_away_from_the_light(shape: Shape) -> None:
    plan = Plan((lamp(Place(600.0, 0.0, 200.0), Disc(20.0)),), (SUBJECT, TABLE, OVERHEAD), (400.0, 300.0))

    card = shadow_card(plan, shape=shape, size=SIZE)

    assert at(card, plan, -90.0, 0.0) < 0.2 * at(card, plan, 90.0, 0.0)


def test_the_card_has_the_shape_of_the_picture() -> None:
    assert card_size(Plan((), (), (360.0, 240.0))) == (320, 213)
    assert card_size(Plan((), (), (240.0, 360.0))) == (213, 320)
    assert card_size(Plan()) == (320, 240)

"""A recipe on other kit, against a re-shoot worked out by hand, against the published rule of format equivalence, and
there and back."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.ledger.builders import CAMERA, LENS
from tests.unit.recipes.made import head, light, recipe, setting
from webapp.facts import Fact
from webapp.ledger.set_up import EmittingFigures, HeadFigures, IncidentReading, Light, ModifierFigures
from webapp.optics.equivalence import Measure
from webapp.optics.scales import Quantity
from webapp.quantities.powers import Marking
from webapp.recipes.adapt.adapting import Adapted, OtherKit, adapt
from webapp.recipes.document import Recipe
from webapp.web.words.adapting import adapted_words
from webapp.web.words.say import say

NINETY = replace(LENS, name="90 mm", shortest_focal_mm=90, longest_focal_mm=90)
ZOOM = replace(LENS, shortest_focal_mm=10, longest_focal_mm=600, widest_f_number=1.0, smallest_f_number=90)
C_HEAD = HeadFigures("c", "500 J", "flash", "head", 500.0, -6.0, 0.1, Marking.JOULES)


def bottle(**over: Any) -> Recipe:
    """44 × 33 upright, 120 mm at 77.5 cm, f/11; C is 500 J at 125 J, a small reflector 90 cm behind its panel."""
    c = light(
        "C", head=head(500.0), shape="point", width_mm=None, angular_size_deg=None, distance_mm=900, incident_av=6.0
    )
    return recipe(c, **over)


def stood(found: Adapted, letter: str) -> Light:
    light = found.set_up.light(letter)
    assert light is not None
    return light


def losses(found: Adapted) -> list[Fact]:
    return [each.fact for each in found.lost]


def test_the_bottle_again_on_the_smaller_format_with_c_further_off() -> None:
    moved = Light("C", "key", C_HEAD, distance_mm=1300)

    found = adapt(bottle(), OtherKit(CAMERA, NINETY, Measure.WIDTH, {"C": moved}, own=frozenset("C")))

    assert found.set_up.magnification == pytest.approx(0.133, abs=0.0005)
    assert found.set_up.subject_distance_mm == pytest.approx(765, abs=1)
    assert found.exact_f_number == pytest.approx(8.6, abs=0.05)
    assert found.set_up.f_number.exact == pytest.approx(8.98, abs=0.01)
    assert found.set_up.f_number is not None
    power = stood(found, "C").power_stops
    assert power is not None
    assert 500 * 2**power == pytest.approx(153.9, abs=0.05)
    assert found.residues["C"] == pytest.approx(0.03, abs=0.005)


def test_the_field_that_holds_is_the_side_that_was_chosen() -> None:
    by_width = adapt(bottle(), OtherKit(CAMERA, NINETY, Measure.WIDTH))
    by_height = adapt(bottle(), OtherKit(CAMERA, NINETY, Measure.HEIGHT))

    assert 24 / by_width.set_up.magnification == pytest.approx(180)
    assert 36 / by_height.set_up.magnification == pytest.approx(240)
    assert any("height +3.0 cm" in row.difference for row in adapted_words(by_width).rows)


def test_a_distant_fifty_on_a_crop_format_becomes_seventy_five() -> None:
    """50 mm f/2.8 at a crop of 1.5 is 75 mm, f/4.2 on 36 × 24 (the usual rule of format equivalence)."""
    base = bottle()
    assert base.camera is not None
    small = base.model_copy(
        update={
            "camera": base.camera.model_copy(update={"sensor_width_mm": 24.0, "sensor_height_mm": 16.0}),
            "settings": base.settings.model_copy(
                update={
                    "magnification": 0.0,
                    "focal_length_mm": 50.0,
                    "f_number": setting(Quantity.F_NUMBER, "2.8"),
                }
            ),
        }
    )

    found = adapt(small, OtherKit(CAMERA, ZOOM, Measure.DIAGONAL))

    assert found.set_up.focal_length_mm == pytest.approx(75.0)
    assert found.exact_f_number == pytest.approx(4.243, abs=0.0005)


def test_a_zoom_keeps_the_perspective_and_a_fixed_lens_names_its_shift() -> None:
    kept = adapt(bottle(), OtherKit(CAMERA, ZOOM))
    shifted = adapt(bottle(), OtherKit(CAMERA, replace(LENS, shortest_focal_mm=50, longest_focal_mm=50)))

    assert kept.set_up.subject_distance_mm == pytest.approx(775)
    assert not any("Perspective" in each for each in map(say, losses(kept)))
    assert any("Perspective" in each for each in map(say, losses(shifted)))


def test_a_larger_box_stands_further_off_and_looks_the_same() -> None:
    """60 cm at 80 cm looks as large as 90 cm at 120 cm."""
    small = light(width_mm=600, distance_mm=800, angular_size_deg=math.degrees(2 * math.atan(0.375)), incident_av=7.0)
    face = ModifierFigures("m", "90 cm box", None, EmittingFigures("disc", 900.0), diffuses=True)
    other = Light("A", "key", C_HEAD, face, incident=IncidentReading(7.0, "11", -2.0, 1200.0))

    found = adapt(recipe(small), OtherKit(CAMERA, ZOOM, lights={"A": other}))

    assert stood(found, "A").distance_mm == pytest.approx(1200)


def test_the_ratio_of_two_lights_is_kept_between_unlike_heads() -> None:
    key, fill = light("A", incident_av=8.0), light("B", role="fill", incident_av=6.0)
    reading = IncidentReading(9.0, "22", 0.0, 1000.0)
    weak = replace(C_HEAD, full_energy_j=200.0, step_stops=0.01)
    stand = (Light("A", "key", C_HEAD, incident=reading), Light("B", "fill", weak, incident=reading))
    kit = OtherKit(CAMERA, ZOOM, lights={each.letter: each for each in stand})

    found = adapt(recipe(key, fill), kit)

    levels = [found.levels[each] for each in "AB"]
    assert levels[0] is not None
    assert levels[1] is not None
    assert levels[0] - levels[1] == pytest.approx(2.0)


def test_a_head_that_does_not_reach_says_how_much_is_missing_and_a_way() -> None:
    weak = Light("C", "key", C_HEAD, incident=IncidentReading(2.0, "2", 0.0, 900.0), distance_mm=900.0)

    found = adapt(bottle(), OtherKit(CAMERA, ZOOM, lights={"C": weak}))

    assert stood(found, "C").power_stops == 0.0
    assert any("stops too little" in each and "cm it would do" in each for each in map(say, losses(found)))


def test_iso_and_sync_speed_are_respected_and_said() -> None:
    slow = replace(CAMERA, lowest_iso=200.0, sync_mark="1/60", sync_tv=6.0)

    found = adapt(bottle(), OtherKit(slow, ZOOM))

    assert found.exact_iso == 200.0
    assert [mark.text for mark in (found.set_up.iso, found.set_up.shutter) if mark] == ["200", "1/60"]
    assert sum("ISO" in each or "sync speed" in each for each in map(say, losses(found))) == 2


def test_a_light_that_was_never_metered_is_told_and_not_guessed() -> None:
    found = adapt(recipe(light(incident_av=None)), OtherKit(CAMERA, ZOOM))

    assert found.levels["A"] is None
    assert any("never metered" in each for each in map(say, losses(found)))


def test_a_recipe_without_magnification_is_refused_with_a_sentence() -> None:
    settings = bottle().settings.model_copy(update={"magnification": None})

    with pytest.raises(ValueError, match="magnification"):
        adapt(bottle(settings=settings), OtherKit(CAMERA, ZOOM))


@given(st.floats(5, 60), st.floats(0.01, 3.0), st.floats(1.5, 6.0))
def test_to_another_format_and_back_is_where_it_began(width: float, magnification: float, av: float) -> None:
    base = bottle()
    assert base.camera is not None
    first = base.model_copy(
        update={
            "settings": base.settings.model_copy(
                update={
                    "magnification": magnification,
                    "f_number": base.settings.f_number.model_copy(update={"stops": av})
                    if base.settings.f_number
                    else None,
                }
            )
        }
    )
    there_camera = replace(CAMERA, sensor_width_mm=width * 1.5, sensor_height_mm=width)
    there = adapt(first, OtherKit(there_camera, ZOOM))
    second = first.model_copy(
        update={
            "camera": base.camera.model_copy(update={"sensor_width_mm": width, "sensor_height_mm": width * 1.5}),
            "settings": first.settings.model_copy(
                update={
                    "magnification": there.set_up.magnification,
                    "f_number": setting(Quantity.F_NUMBER, "8").model_copy(
                        update={"stops": 2 * math.log2(there.exact_f_number)}
                    ),
                }
            ),
        }
    )

    back = adapt(second, OtherKit(replace(CAMERA, sensor_width_mm=44, sensor_height_mm=33), ZOOM))

    assert back.set_up.magnification == pytest.approx(magnification, rel=1e-9)
    assert 2 * math.log2(back.exact_f_number) == pytest.approx(av, abs=1e-9)

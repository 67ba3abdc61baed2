"""The kit that a reader types in: the same answer as for the same kit in the house, and refusals at their fields."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.recipes.made import light, recipe
from webapp.errors import SeveralInvalid
from webapp.recipes.adapt.adapting import OtherKit, adapt
from webapp.recipes.document import Recipe
from webapp.web.typed_kit import field_of, of_light, visitor_kit
from webapp.web.words.adapting import adapted_words
from webapp.web.words.say import say

CAMERA = {"sensor_width_mm": "24", "sensor_height_mm": "36", "shortest_focal_mm": "90", "widest_f_number": "2.8"}
METERED = {"f_number_A": "11", "power_A": "full", "distance_mm_A": "1000", "shape_A": "disc", "width_mm_A": "600"}


def metered_recipe() -> Recipe:
    return recipe(light(incident_av=6.0))


def typed(said: dict[str, str]) -> OtherKit:
    return visitor_kit(metered_recipe(), said, {"A": of_light(said, "A")})


def refused(said: dict[str, str]) -> dict[str, str]:
    with pytest.raises(SeveralInvalid) as error:
        typed(said)
    return {field_of(each): str(each) for each in error.value.problems}


def test_a_camera_and_a_lens_are_enough_to_begin_with() -> None:
    found = adapt(metered_recipe(), typed(CAMERA))

    # 33 mm of the written format stand upright on 24 mm: the magnification is in the ratio of the widths.
    assert found.set_up.magnification == pytest.approx(33 / 180 * 24 / 33)
    assert found.set_up.lights == ()


def test_a_meter_reading_tells_where_the_dial_has_to_stand() -> None:
    kit = typed(CAMERA | METERED)
    found = adapt(metered_recipe(), kit)
    (stands,) = found.set_up.lights

    # By hand: the mark f/11 is 7 stops, at 100 cm and full. The disc at the recipe's 90 cm gains by the squares of the
    # distances to its rim; what is too much for the wanted level is taken off at the dial, to a tenth of a stop.
    assert found.levels["A"] is not None
    gained = math.log2((100**2 + 30**2) / (90**2 + 30**2))
    assert stands.power_stops == pytest.approx(found.levels["A"] - 7.0 - gained, abs=0.06)


def test_energy_alone_names_the_dial_and_tells_no_power() -> None:
    kit = typed(CAMERA | {"full_energy_j_A": "250", "marking_A": "joules"})
    found = adapt(metered_recipe(), kit)

    assert [light.power_stops for light in found.set_up.lights] == [None]
    assert any(
        "your flash head, 250 J has no meter reading" in each for each in (say(each.fact) for each in found.lost)
    )


def test_what_cannot_be_is_refused_at_its_field_with_its_light() -> None:
    problems = refused(CAMERA | METERED | {"f_number_A": "bright", "lowest_iso": "-3", "sync_mark": ""})

    assert "A: " in problems["f_number_A"]
    assert set(problems) == {"f_number_A", "lowest_iso"}


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"shape_A": "rectangle", "width_mm_A": "600"}, "a rectangle needs its height"),
        ({"f_number_A": "11", "power_A": "full"}, "A: this is missing"),
        ({"marking_A": "joules", "distance_A": "80"}, "needs the full energy"),
        ({"distance_A": "far"}, "is no distance"),
        ({"held": "corner"}, "held by one of"),
        ({"smallest_f_number": "1.4"}, "lower f-number than the maximum"),
        ({"longest_focal_mm": "20"}, "lies below the shortest"),
        ({"sync_mark": "soon"}, "soon"),
    ],
)
def test_what_does_not_go_together_is_said(said: dict[str, str], words: str) -> None:
    assert any(words.lower() in each.lower() for each in refused(CAMERA | said).values())


@given(
    st.dictionaries(st.sampled_from([*CAMERA, *METERED, "highest_iso", "held", "sync_mark"]), st.text(max_size=12))
)
def test_anything_typed_is_taken_or_refused_by_name(said: dict[str, str]) -> None:
    try:
        adapt(metered_recipe(), typed(CAMERA | said))
    except (SeveralInvalid, ValueError) as error:
        told = str(error)
    else:
        told = "taken"

    assert told


NUMBERS = ["sensor_width_mm", "sensor_height_mm", "shortest_focal_mm", "widest_f_number", "smallest_f_number"]
NUMBERS += ["lowest_iso", "highest_iso", "greatest_magnification", "distance_A", "width_mm_A", "range_stops_A"]
NUMBERS += ["distance_mm_A", "step_stops_A", "full_energy_j_A"]


@given(st.dictionaries(st.sampled_from(NUMBERS), st.floats(0.0, 1e7).map(lambda value: f"{value:.6g}")))
def test_any_figures_are_worked_out_or_refused_in_a_sentence(said: dict[str, str]) -> None:
    try:
        told = repr(adapted_words(adapt(metered_recipe(), typed(METERED | said))))
    except (SeveralInvalid, ValueError) as error:
        told = str(error)

    assert told
    assert "nan" not in told


def test_a_guide_number_is_the_f_number_at_a_metre_less_what_the_modifier_takes() -> None:
    """N = GN / d: 45 at 1 m, and 1.5 stops less behind a box (the definition of the guide number)."""
    said = {"full_energy_j": "200", "guide_number_m": "45", "shape": "disc", "width_mm": "600", "loss_stops": "1.5"}

    kit = visitor_kit(recipe(light("A", incident_av=8.0)), {}, {"A": said})

    reading = kit.lights["A"].incident
    assert reading is not None
    assert reading.av == pytest.approx(2 * math.log2(45) - 1.5)
    assert (reading.power_stops, reading.distance_mm) == (0.0, 1000.0)
    assert [each.reason for each in kit.chosen] == ["from_guide_number"]


def test_a_test_frame_is_a_reading_at_its_effective_f_number() -> None:
    """f/8 and 33 × 44 mm upright at m = 33/180; on 36 × 24 by the width m = 24/180 = 0.133, so 8 × 1.133 = 9.07
    effective; a grey card that reads 1.3 stops under says that 1.3 stops less light fell on it than that takes."""
    said = {"full_energy_j": "200", "test_f_number": "8", "test_stops": "-1.3", "test_distance_mm": "900"}

    kit = visitor_kit(recipe(light("A", incident_av=8.0)), {}, {"A": said | {"guide_number_m": "45"}})

    reading = kit.lights["A"].incident
    assert reading is not None
    assert reading.av == pytest.approx(2 * math.log2(8 * (1 + 24 / 180)) - 1.3)
    assert reading.distance_mm == 900.0
    assert [each.reason for each in kit.chosen] == ["from_test_frame"]

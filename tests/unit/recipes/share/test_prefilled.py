"""Worksheets with a recipe's figures in them: each is answered as it is handed out."""

from __future__ import annotations

import pytest

from tests.unit.recipes.made import head, light, recipe
from webapp.recipes.document import Recipe, SettingsPart
from webapp.recipes.share.prefilled import prefilled
from webapp.web.pages.link_view import prefilled_lines, typed_figures
from webapp.web.typed import parameters_from
from webapp.worksheets import worksheet

FILL = light("B", role="fill", from_key_stops=-1.5, shape="rectangle", width_mm=400, height_mm=600)


def rich() -> Recipe:
    made = recipe(light(), FILL)
    return made.model_copy(update={"settings": made.settings.model_copy(update={"wanted_depth_mm": 12.0})})


@pytest.mark.parametrize("made", [rich(), recipe(), recipe(light(shape="ring", inner_diameter_mm=90, width_mm=130))])
def test_every_worksheet_that_is_filled_in_answers(made: Recipe) -> None:
    for each in prefilled(made):
        sheet = worksheet(each.name)

        assert sheet.answer(parameters_from(sheet, typed_figures(each))).results, each


def test_a_recipe_with_everything_fills_in_exposure_close_up_depth_format_lights_and_ratio() -> None:
    assert [(each.name, each.about) for each in prefilled(rich())] == [
        ("exposure-difference", ""),
        ("close-up", ""),
        ("depth-of-field", ""),
        ("sharpest-aperture", ""),
        ("focus-stack", ""),
        ("format-equivalence", ""),
        ("flash-energy", "key A"),
        ("source-illuminance", "key A"),
        ("flash-energy", "fill B"),
        ("source-illuminance", "fill B"),
        ("lighting-ratio", "B"),
    ]


def test_a_ratio_says_which_light_fills() -> None:
    assert [each.about for each in prefilled_lines(rich(), "/shared/x")][-1] == "key to fill B"


def test_what_is_unknown_fills_in_nothing() -> None:
    bare = light(head=head(500.0).model_copy(update={"full_energy_j": None}), distance_mm=None, shape="point")

    assert prefilled(recipe(bare, settings=SettingsPart(), camera=None)) == ()


def test_the_figures_are_those_of_the_recipe() -> None:
    close_up = next(each for each in prefilled(recipe()) if each.name == "close-up")

    assert typed_figures(close_up) == {"f_number": "11", "magnification": "0.183333", "pupil_ratio": "1"}

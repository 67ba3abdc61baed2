"""The recipe as a form, there and back."""

from __future__ import annotations

import pytest

from tests.unit.recipes.made import light, recipe
from webapp.errors import SeveralInvalid
from webapp.recipes.document import PostStep
from webapp.web.recipe_form import edited, form_of


def test_a_form_sent_back_unchanged_changes_nothing() -> None:
    before = recipe(light("A"), light("B", role="fill"))

    assert edited(before, form_of(before)) == before


def test_steps_after_the_camera_keep_order_rectangle_angle_and_reason() -> None:
    after = edited(recipe(), {"post": "rotation −0.2: the tile leans\ncrop 5 0 95 100 %: square\nspotting: dust"})

    assert after.post == (
        PostStep(kind="rotation", rotation_deg=-0.2, reason="the tile leans"),
        PostStep(kind="crop", left=0.05, top=0.0, right=0.95, bottom=1.0, reason="square"),
        PostStep(kind="spotting", reason="dust"),
    )


def test_every_field_that_cannot_be_kept_is_named() -> None:
    with pytest.raises(SeveralInvalid) as refused:
        edited(recipe(), {"title": "", "post": "crop 9 9 1 1", "tolerances": "soon", "direction_A": "the moon"})

    assert {problem.where[0] for problem in refused.value.problems} == {"title", "post", "tolerances", "direction_A"}


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", "a <img src=x>", "bell \x07"])
def test_markup_and_control_characters_are_no_text(text: str) -> None:
    with pytest.raises(SeveralInvalid):
        edited(recipe(), {"why": text})


def test_a_smaller_than_sign_before_a_figure_is_text() -> None:
    assert edited(recipe(), {"why": "depth < 3 mm, <5"}).why == "depth < 3 mm, <5"


def test_a_tolerance_that_is_no_text_is_refused_at_its_field() -> None:
    with pytest.raises(SeveralInvalid) as refused:
        edited(recipe(), {"tolerances": "<b>distances: 10 mm"})

    assert refused.value.where[0] == "tolerances"

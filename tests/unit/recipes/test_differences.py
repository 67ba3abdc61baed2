"""A next version says what differs: in stops, centimetres and words."""

from __future__ import annotations

from tests.unit.recipes.made import light, recipe, setting
from webapp.optics.scales import Quantity
from webapp.recipes.differences import differences
from webapp.recipes.document import Recipe
from webapp.web.words.say import say


def told(before: Recipe, after: Recipe) -> tuple[str, ...]:
    return tuple(say(each) for each in differences(before, after))


def test_two_that_say_the_same_differ_in_nothing() -> None:
    assert differences(recipe(), recipe()) == ()


def test_closing_two_stops_is_told_as_two_stops_less() -> None:
    before = recipe()
    settings = before.settings.model_copy(update={"f_number": setting(Quantity.F_NUMBER, "22")})

    assert told(before, before.model_copy(update={"settings": settings})) == ("f-number 11 to 22 (−2.0 stops)",)


def test_power_distance_and_words_are_told_each_in_its_measure() -> None:
    after = recipe(light(power_stops=-3.0, power_mark="62.5 J", distance_mm=1100.0), title="Bottle")

    said = told(recipe(), after)

    assert "A 125 J to 62.5 J (−1.0 stops)" in said
    assert "A distance 90 cm to 110 cm (+20.0 cm)" in said
    assert "title “Scent bottle in dark field” to “Bottle”" in said


def test_a_distance_that_becomes_unknown_is_not_zero() -> None:
    assert told(recipe(), recipe(light(distance_mm=None))) == ("A distance 90 cm to unknown",)

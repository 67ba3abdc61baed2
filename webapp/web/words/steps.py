"""The steps of a recipe as they are published, and as each reader likes lengths."""

from __future__ import annotations

from collections.abc import Sequence

from webapp.facts import Fact
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.recipes.building import BuildingStep, building_steps
from webapp.recipes.document import LONGEST_LINE, Recipe, StepPart
from webapp.recipes.plain_text import plain_text
from webapp.web.words.say import say


def drafted_steps(recipe: Recipe, lengths: Lengths = CENTIMETRES) -> tuple[StepPart, ...]:
    """The steps of a document as the program writes them."""
    return tuple(_step(each, lengths) for each in building_steps(recipe))


def steps_read(recipe: Recipe, lengths: Lengths) -> tuple[StepPart, ...]:
    """The steps of a document as its reader likes lengths. In centimetres they stand as they were published; what was
    written by hand stands so in every unit."""
    if not lengths.inches or not any(each.drafted for each in recipe.steps):
        return recipe.steps
    in_unit = {(each.about, each.whose): each for each in drafted_steps(recipe, lengths)}
    return tuple(in_unit.get((each.about, each.whose), each) if each.drafted else each for each in recipe.steps)


def _step(step: BuildingStep, lengths: Lengths) -> StepPart:
    words, check, otherwise = (_said(facts, lengths) for facts in (step.told, step.check, step.otherwise))
    return StepPart(about=step.about, whose=step.whose, words=words, check=check, otherwise=otherwise, drafted=True)


def _said(facts: Sequence[Fact], lengths: Lengths) -> str:
    return plain_text(" ".join(say(each, lengths) for each in facts))[:LONGEST_LINE]

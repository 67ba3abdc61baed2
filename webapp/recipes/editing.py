"""What of a recipe may be rewritten by hand: its texts, and where its lights come from. Pure.

Figures of the set-up come from the ledger and are not rewritten; another frame gives another version.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from webapp.quantities.refused import invalid_fields
from webapp.recipes.document import Direction, LightPart, Recipe, unknown_of, unknown_what


def rewritten(recipe: Recipe, texts: Mapping[str, Any], directions: Mapping[str, Direction | None]) -> Recipe:
    """The recipe with other texts, by the names of its fields, and other directions of its lights, by their letters.
    Raises SeveralInvalid with every field that cannot be kept."""
    lights = tuple(
        light.model_copy(update={"direction": directions.get(light.letter, light.direction)})
        for light in recipe.lights
    )
    turned = recipe.model_copy(update={"lights": lights, "not_measured": _still_missing(recipe, lights)})
    said = dict(texts)
    if "steps" in said:
        said["steps"] = [_step(recipe, each) for each in said["steps"]]
    try:
        return Recipe.model_validate(turned.model_dump() | said)
    except ValidationError as error:
        raise invalid_fields(error) from error


def _step(recipe: Recipe, said: str | Mapping[str, Any]) -> Mapping[str, Any]:
    """A step as it was sent; one that still says what the program drafted is drafted."""
    step: dict[str, Any] = {"words": said} if isinstance(said, str) else dict(said)
    told = ("about", "whose", "words", "check", "otherwise")
    texts = {name: step[name] for name in told if name in step}
    drafted = any(each.drafted and each.model_dump(include=set(told)) == texts for each in recipe.steps)
    return texts | {"drafted": drafted}


def _still_missing(recipe: Recipe, lights: Sequence[LightPart]) -> tuple[str, ...]:
    kept = [each for each in recipe.not_measured if unknown_what(each) != "direction"]
    missing = [unknown_of("direction", light.letter) for light in lights if light.lit and light.direction is None]
    return (*kept, *missing)

"""A recipe with what is open in it stated, so that it may be published."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.recipes.document import LONGEST_LINE, Recipe
from webapp.recipes.open_points import OpenPoint
from webapp.recipes.plain_text import plain_text
from webapp.recipes.reasons import Reason
from webapp.web.words.say import say


def with_open_stated(
    recipe: Recipe, points: Iterable[OpenPoint], stated: Collection[str], *, asked_of_all: bool = False
) -> Recipe:
    """The document with its open points in words, as they were `stated` by their keys. What is merely unknown is said to be
    that by the document anyhow; with `asked_of_all` it has to be stated, too, by whoever was shown it.

    Raises SeveralInvalid with every point that is neither settled nor stated.
    """
    points = tuple(points)
    missing = [each for each in points if each.key not in stated and (each.contradicts or asked_of_all)]
    if missing:
        raise SeveralInvalid(
            [
                InvalidValue(("open", each.key), f"{say(each.told)} Settle it, or state it as open.")
                for each in missing
            ]
        )
    # What was not measured is a list of its own.
    lines = (say(each.told) for each in points if each.told.reason != Reason.OPEN_UNKNOWN)
    return recipe.model_copy(update={"open": tuple(plain_text(line)[:LONGEST_LINE] for line in lines)})

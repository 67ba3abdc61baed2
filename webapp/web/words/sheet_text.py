"""A recipe as plain text, for a reader with nothing but a text editor; and what a bundle says."""

from __future__ import annotations

from typing import Final

from webapp.exports.bundle import BundleWords
from webapp.recipes.document import Recipe
from webapp.recipes.share.links import STUDENT
from webapp.web.words.say import say
from webapp.web.words.shared import shared_recipe


def sheet_text(recipe: Recipe) -> str:
    """The recipe on plain lines."""
    shared = shared_recipe(recipe, STUDENT, figures=True, kit_names=True)
    parts = [recipe.title, "=" * len(recipe.title), recipe.subject, recipe.why, ""]
    parts += [f"{name}: {value}" for name, value in shared.settings]
    parts += [
        f"{each.name}: {each.kit}; from {each.direction}, {each.distance}, apparent size {each.angular_size}; "
        f"metered {each.incident}; {each.power}"
        for each in shared.lights
    ]
    steps = [" ".join(filter(None, (each.words, each.check))) for each in shared.steps]
    for heading, lines in (("Steps", steps), ("Post-production", shared.post), ("Cautions", shared.cautions)):
        if lines:
            parts += ["", heading, *(f"{number}. {line}" for number, line in enumerate(lines, 1))]
    return "\n".join(parts) + "\n"


BUNDLE_WORDS: Final = BundleWords(line=say, sheet=sheet_text)

"""A recipe on the house's other kit: as written, on your kit, and the difference. Everything chosen is in the address."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.kit import inventory, units
from webapp.optics.equivalence import Measure
from webapp.recipes import publish
from webapp.recipes.adapt.adapting import adapt
from webapp.recipes.document import Recipe
from webapp.recipes.kit_match import BEST, own_kit
from webapp.services import InServices
from webapp.web.pages.render import render
from webapp.web.typed_kit import chosen_kit
from webapp.web.words.adapting import AdaptedWords, adapted_words

router = APIRouter()


@router.get("/recipes/{recipe_id}/adapt")
def adapt_page(request: Request, services: InServices, recipe_id: str) -> Response:
    """The form, and below it the table. Before anything is chosen, the kit that comes nearest is."""
    published = publish.read(services.records, recipe_id)
    choices = inventory.choices(services.records)
    said = dict(request.query_params) or _nearest(published.recipe, choices)
    lengths = units.lengths(services.records)
    adapted: AdaptedWords | None = None
    problems: list[InvalidValue] = []
    problem = ""
    if said.get("camera") and said.get("lens"):
        try:
            chosen = chosen_kit(published.recipe, said, lengths, problems)
            if problems:
                raise SeveralInvalid(problems)
            solved = adapt(published.recipe, own_kit(services.records, published.recipe, chosen))
            adapted = adapted_words(solved, lengths)
        except (InvalidValue, ValueError) as error:
            problem = str(error)
    return render(
        request,
        "adapt.html",
        "adapted.html",
        status=422 if problem else 200,
        published=published,
        adapted=adapted,
        problem=problem,
        said=said,
        unit="inches" if lengths.inches else lengths.unit,
        asks="Choose a camera and a lens.",
        chosen_title="Chosen for you",
        choices=choices,
        best=BEST,
        measures=[each.value for each in Measure],
    )


def _nearest(recipe: Recipe, choices: inventory.Choices) -> dict[str, str]:
    """The first camera, and the best of all else."""
    if not choices.cameras:
        return {}
    heads = {f"head_{light.letter}": BEST for light in recipe.lit}
    return {"camera": choices.cameras[0][0], "lens": BEST} | heads

"""A recipe on the house's other kit: as written, on your kit, and the difference. Everything chosen is in the address."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from webapp.errors import InvalidValue
from webapp.house import InHouse
from webapp.ledger import kit, tape
from webapp.optics.equivalence import Measure
from webapp.pages.render import render
from webapp.recipes import publishing
from webapp.recipes.adapt import Adapted, adapt
from webapp.recipes.own_kit import own_kit

router = APIRouter()


@router.get("/recipes/{recipe_id}/adapt")
def adapt_page(request: Request, house: InHouse, recipe_id: str) -> Response:
    """The form, and below it the table once a camera and a lens are chosen."""
    published = publishing.read(house.records, recipe_id)
    said = dict(request.query_params)
    lengths = tape.lengths(house.records)
    told = {name: lengths.typed(value) if name.startswith("distance_") else value for name, value in said.items()}
    adapted: Adapted | None = None
    problem = ""
    if said.get("camera") and said.get("lens"):
        try:
            adapted = adapt(published.recipe, own_kit(house.records, published.recipe, told), lengths)
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
        choices=kit.choices(house.records),
        measures=[each.value for each in Measure],
    )

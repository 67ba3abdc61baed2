"""What a student works out under the address of a link: the recipe on their own kit, and the worksheets.

Everything that is typed stands in the address and nothing is kept. The same pages stand under the preview of a link.
"""

from __future__ import annotations

from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from webapp.errors import InvalidValue
from webapp.quantities.lengths import UNITS, Lengths
from webapp.recipes.adapt.adapting import adapt
from webapp.recipes.share import links
from webapp.recipes.share.links import STUDENT, Choices, Opened
from webapp.security.identity import Right, asks_for
from webapp.services import InServices, Services
from webapp.web.pages.link_view import PRIVATE, prefilled_lines, reader_words, shared_answer
from webapp.web.pages.presets import preset_rows
from webapp.web.pages.visitor_view import in_unit, typed_light, visitor_form
from webapp.web.pages.worksheet_view import LENGTHS_FIELD, UNIT_FIELD, fill_in, step_on
from webapp.web.pages.worksheets import topics
from webapp.web.typed import Counted
from webapp.web.typed_kit import visitor_kit
from webapp.web.words.adapting import AdaptedWords, adapted_words
from webapp.web.words.worksheets import SHEETS
from webapp.worksheets import worksheet

router = APIRouter()
_PREVIEW = "/recipes/{recipe_id}/versions/{number}/as/student"
_PREVIEWED = "As a student sees it; not shared yet"


@router.get("/shared/{token}/kit")
@asks_for(Right.LINK)
def kit_page(request: Request, services: InServices, token: str) -> Response:
    """The recipe on the kit that the reader types in."""
    return _kit(request, links.for_student(services.records, token), f"/shared/{token}", "")


@router.get(_PREVIEW + "/kit")
def previewed_kit_page(request: Request, services: InServices, recipe_id: str, number: Counted) -> Response:
    return _kit(request, _seen(services, recipe_id, number), _here(recipe_id, number), _PREVIEWED)


@router.get("/shared/{token}/worksheets")
@asks_for(Right.LINK)
def worksheets_page(services: InServices, token: str) -> Response:
    return _worksheets(links.for_student(services.records, token), f"/shared/{token}", "")


@router.get(_PREVIEW + "/worksheets")
def previewed_worksheets_page(services: InServices, recipe_id: str, number: Counted) -> Response:
    return _worksheets(_seen(services, recipe_id, number), _here(recipe_id, number), _PREVIEWED)


@router.get("/shared/{token}/worksheets/{name}")
@asks_for(Right.LINK)
def worksheet_page(request: Request, services: InServices, token: str, name: str) -> Response:
    """One worksheet, which knows nothing but what stands in the address."""
    return _worksheet(request, links.for_student(services.records, token), f"/shared/{token}", name, "")


@router.get(_PREVIEW + "/worksheets/{name}")
def previewed_worksheet_page(
    request: Request, services: InServices, recipe_id: str, number: Counted, name: str
) -> Response:
    return _worksheet(request, _seen(services, recipe_id, number), _here(recipe_id, number), name, _PREVIEWED)


def _seen(services: Services, recipe_id: str, number: int) -> Opened:
    return links.as_seen(services.records, recipe_id, number, Choices(STUDENT))


def _here(recipe_id: str, number: int) -> str:
    return _PREVIEW.format(recipe_id=recipe_id, number=number)


def _kit(request: Request, opened: Opened, here: str, preview: str) -> Response:
    said, lengths = in_unit(request.query_params)
    adapted: AdaptedWords | None = None
    error: InvalidValue | None = None
    problem = ""
    if said:
        try:
            of_lights = {light.letter: typed_light(said, light.letter, lengths) for light in opened.recipe.lit}
            adapted = adapted_words(adapt(opened.recipe, visitor_kit(opened.recipe, said, of_lights)), lengths)
        except InvalidValue as refused:
            error = refused
        except ValueError as refused:
            problem = str(refused)
    form = visitor_form(opened.recipe, said, lengths, error)
    return shared_answer(
        "shared_kit.html",
        status=200 if adapted or not said else 422,
        title=opened.recipe.title,
        here=here,
        until=reader_words(opened),
        preview=preview,
        form=form,
        unit=lengths.unit,
        presets=preset_rows(opened.recipe, said, here),
        adapted=adapted,
        problem=problem or form.problem,
        asks="Type in your kit: a camera and a lens are enough to begin with.",
    )


def _worksheets(opened: Opened, here: str, preview: str) -> Response:
    return shared_answer(
        "shared_worksheets.html",
        title=opened.recipe.title,
        here=here,
        until=reader_words(opened),
        preview=preview,
        filled=prefilled_lines(opened.recipe, here),
        topics=topics(),
    )


def _worksheet(request: Request, opened: Opened, here: str, name: str, preview: str) -> Response:
    sheet = worksheet(name)
    said = dict(request.query_params)
    wish = said.pop("step", "")
    if wish:
        address = f"{here}/worksheets/{name}?{urlencode(step_on(sheet, said, wish))}"
        return RedirectResponse(address, 303, PRIVATE)
    # The form says the unit that it was filled in by; a key of it asks for the other.
    unit = said.pop(LENGTHS_FIELD, "") or said.get(UNIT_FIELD, "")
    filled_in = fill_in(sheet, said, Lengths(inches=unit == UNITS[1]))
    return shared_answer(
        "shared_worksheet.html",
        status=filled_in.status,
        title=opened.recipe.title,
        here=here,
        until=reader_words(opened),
        preview=preview,
        sheet=SHEETS[name],
        form=filled_in.form,
        result=filled_in.result,
    )

"""The worksheets: an index by topic, and a page each that answers as one types.

Nothing is kept in the house. What was worked out last stands in a cookie of that page, on the device alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from typing import Any, Final
from urllib.parse import parse_qsl, urlencode

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from webapp.kit import units
from webapp.services import InServices
from webapp.shoots.set_up_now import active_shot
from webapp.web.pages.render import fragment, render, wants_partial, whole_page
from webapp.web.pages.worksheet_beginning import Beginning, beginning
from webapp.web.pages.worksheet_view import FilledIn, fill_in, step_on
from webapp.web.words.worksheet_names import SheetWords
from webapp.web.words.worksheets import SHEETS
from webapp.worksheets import WORKSHEETS, worksheet
from webapp.worksheets.sheet import Worksheet

router = APIRouter(prefix="/worksheets", include_in_schema=False)
_LAST_TIME: Final = "last"
_A_YEAR_S: Final = 365 * 24 * 3600
_LONGEST_KEPT: Final = 2000
_STEP: Final = "step"
# Asked for in the address: begin anew with the values of the active shot, or with the examples.
_ANEW: Final = "from"


def topics() -> tuple[tuple[str, tuple[SheetWords, ...]], ...]:
    """The worksheets by their topics, in the order of both."""
    listed = groupby((SHEETS[name] for name in WORKSHEETS), key=lambda each: each.topic)
    return tuple((topic, tuple(sheets)) for topic, sheets in listed)


@router.get("")
def index(request: Request) -> Response:
    return whole_page(request, "worksheets.html", topics=topics())


@router.get("/{name}")
def sheet_page(request: Request, services: InServices, name: str) -> Response:
    """The form with its figures; what a key stepped stands in the address afterwards like what was typed."""
    sheet = worksheet(name)
    said = dict(request.query_params)
    wish = said.pop(_STEP, "")
    anew = said.pop(_ANEW, "")
    if wish:
        said = step_on(sheet, said, wish)
    here = f"/worksheets/{name}?{urlencode(said)}"
    if wish and not wants_partial(request):
        return RedirectResponse(here, 303)
    filled_in = _filled_in(request, services, sheet, said, anew)
    answer = render(
        request,
        "worksheet.html",
        "worksheet_result.html",
        status=filled_in.status,
        extra=_changed_beside(filled_in, wish.partition(":")[0]) if wants_partial(request) else "",
        sheet=SHEETS[name],
        form=filled_in.form,
        result=filled_in.result,
    )
    if wish:
        answer.headers["HX-Replace-Url"] = here
    if said and filled_in.status == 200 and len(urlencode(said)) <= _LONGEST_KEPT:
        answer.set_cookie(
            _LAST_TIME,
            urlencode(said),
            max_age=_A_YEAR_S,
            path=f"/worksheets/{name}",
            httponly=True,
            samesite="strict",
        )
    return answer


def _filled_in(
    request: Request, services: InServices, sheet: Worksheet[Any], said: Mapping[str, str], anew: str
) -> FilledIn:
    lengths = units.lengths(services.records)
    if said and wants_partial(request):
        return fill_in(sheet, said, lengths)
    shot = active_shot(services.records) if anew != "examples" else None
    last = {} if anew else dict(parse_qsl(request.cookies.get(_LAST_TIME, ""), keep_blank_values=True))
    offers = shot.title if shot and anew != "shot" else ""
    begun = Beginning(said) if said else beginning(sheet, last, shot, lengths)
    filled_in = fill_in(sheet, said, lengths, begun, offers)
    if last and not said and filled_in.status != 200:
        # What was kept by an earlier version, or by nobody.
        return fill_in(sheet, said, lengths, beginning(sheet, {}, shot, lengths), offers)
    return filled_in


def _changed_beside(filled_in: FilledIn, stepped: str) -> str:
    """The sentence under every field of the open page, new or taken back, and the field that a key stepped."""
    fields = filled_in.form.all
    problems = "".join(fragment("worksheet_problem.html", each=each, oob=True) for each in fields)
    return problems + "".join(
        fragment("worksheet_input.html", each=each, oob=True) for each in fields if each.name == stepped
    )

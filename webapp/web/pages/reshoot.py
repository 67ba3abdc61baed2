"""A recipe made again: the form that begins the reshoot, and the checklist of its set."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from webapp.errors import InvalidValue, NotFound, SeveralInvalid
from webapp.kit import inventory, units
from webapp.recipes import reshoot
from webapp.records import shots as shot_records
from webapp.records.tables import new_id
from webapp.services import InServices, Services
from webapp.web.pages.render import go_to, render, wants_partial, whole_page
from webapp.web.pages.reshoot_view import checklist_view, reshoot_form, said_of
from webapp.web.pages.sessions import said_in
from webapp.web.pages.shots import FormText
from webapp.web.typed import Counted
from webapp.web.typed_kit import typed_wishes

router = APIRouter()
_SESSIONS_LISTED = 50


@router.get("/recipes/{recipe_id}/reshoot")
def reshoot_page(request: Request, services: InServices, recipe_id: str, version: Counted | None = None) -> Response:
    """What stands for each piece of the recipe, and where the reshoot goes."""
    start = reshoot.prepared(services.records, recipe_id, version)
    return _form(request, services, start, said_of(start))


@router.post("/recipes/{recipe_id}/reshoot")
async def begin_reshoot(request: Request, services: InServices, recipe_id: str) -> Response:
    said = await said_in(request)
    return await run_in_threadpool(_begin, request, services, recipe_id, said)


def _begin(request: Request, services: Services, recipe_id: str, said: dict[str, str]) -> Response:
    version, save_key = said.pop("version", ""), said.pop("save_key", "")
    number = int(version) if version.isdecimal() and len(version) < 9 else None
    start = reshoot.prepared(services.records, recipe_id, number)
    whole = said_of(start) | said
    problems: list[InvalidValue] = []
    wishes = typed_wishes(start.recipe, whole, units.lengths(services.records), problems)
    try:
        if problems:
            raise SeveralInvalid([*problems, *reshoot.refused(services.records, start, wishes.kit)])
        begun = reshoot.begin_reshoot(services.records, start, wishes, save_key=save_key or None)
    except InvalidValue as error:
        return _form(request, services, start, whole, error)
    return go_to(request, f"/shots/{begun.shot_id}")


def _form(
    request: Request,
    services: Services,
    start: reshoot.Prepared,
    said: Mapping[str, str],
    error: InvalidValue | None = None,
) -> Response:
    with services.records.reading() as db:
        listed = shot_records.sessions(db, _SESSIONS_LISTED)
    sessions = tuple((row.id, f"{row.name}, {row.day.isoformat()}") for row in listed)
    form = reshoot_form(
        start,
        inventory.choices(services.records),
        sessions,
        said,
        units.lengths(services.records),
        save_key=new_id(),
        error=error,
    )
    return whole_page(request, "reshoot.html", status=422 if error else 200, form=form)


@router.get("/shots/{shot_id}/checklist")
def checklist_page(request: Request, services: InServices, shot_id: str) -> Response:
    """The checklist by itself."""
    seen = services.records.newest
    found = reshoot.checklist(services.records, shot_id)
    if found is None:
        raise NotFound("This shot is no reshoot, so it has no checklist.")
    return _checklist(request, services, found, seen)


@router.post("/shots/{shot_id}/checklist/{line_id}")
def tick(request: Request, services: InServices, shot_id: str, line_id: str, ticked: FormText = "yes") -> Response:
    """Tick a line, or take the tick off."""
    seen = services.records.newest
    found = reshoot.tick(services.records, shot_id, line_id, ticked=ticked == "yes")
    if not wants_partial(request):
        return go_to(request, f"/shots/{shot_id}/checklist#line-{line_id}")
    return _checklist(request, services, found, seen)


def _checklist(request: Request, services: Services, found: reshoot.Checklist, seen: int) -> Response:
    return render(
        request,
        "checklist.html",
        "checklist.html",
        checklist=checklist_view(found, units.lengths(services.records)),
        unfolded=True,
        checklist_oob=False,
        news_seen=seen,
    )

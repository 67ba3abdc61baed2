"""Before the set is struck: what only the standing set knows is asked for, and the shot is closed or opened again."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from webapp.errors import InvalidValue, StaleValue
from webapp.services import InServices, Services
from webapp.shoots import aside, set_photos, set_up_now
from webapp.shoots import strike as striking
from webapp.web.pages.plan_forms import version_in
from webapp.web.pages.render import go_to, render, wants_partial
from webapp.web.pages.sessions import said_in
from webapp.web.pages.set_photo_view import photos_view
from webapp.web.pages.shots import FormText
from webapp.web.pages.strike_view import evidence_view, strike_view
from webapp.web.typed import changes_of_answers

router = APIRouter()


@router.get("/shots/{shot_id}/strike")
def before_striking(request: Request, services: InServices, shot_id: str) -> Response:
    """The questions, costliest to lack first."""
    return _page(request, services, shot_id)


@router.get("/shots/{shot_id}/strike/evidence")
def evidence(request: Request, services: InServices, shot_id: str) -> Response:
    """What is on record of the set and what is missing, for a page that is open already."""
    return _evidence(request, services, shot_id)


@router.post("/shots/{shot_id}/strike/evidence")
def set_up_evidence(
    request: Request, services: InServices, shot_id: str, kind: FormText, about: FormText = ""
) -> Response:
    """Set up a frame that is missing: the lights come back once it is logged."""
    try:
        striking.set_up(services.records, shot_id, kind, about)
    except InvalidValue as problem:
        return _evidence(request, services, shot_id, problem)
    return _evidence(request, services, shot_id)


@router.post("/shots/{shot_id}/strike/put-back")
def put_back(request: Request, services: InServices, shot_id: str) -> Response:
    """Leave what was set up without a frame."""
    aside.leave(services.records, shot_id)
    return _evidence(request, services, shot_id)


@router.post("/shots/{shot_id}/strike/meter")
def keep_meter_reading(
    request: Request, services: InServices, shot_id: str, about: FormText, f_number: FormText
) -> Response:
    """Keep what a meter read of a light at the power, the distance and with the modifier that stand."""
    try:
        striking.keep_meter_reading(services.records, shot_id, about, f_number)
    except InvalidValue as problem:
        return _evidence(request, services, shot_id, problem)
    return _evidence(request, services, shot_id)


def _evidence(request: Request, services: Services, shot_id: str, problem: InvalidValue | None = None) -> Response:
    """The list for htmx, and the page without it."""
    if problem is None and not wants_partial(request):
        return go_to(request, f"/shots/{shot_id}/strike")
    if not wants_partial(request):
        return _page(request, services, shot_id, status=422, refused=str(problem))
    return _page(request, services, shot_id, status=422 if problem else 200, refused=str(problem or ""), part=True)


@router.post("/shots/{shot_id}/strike")
async def strike(request: Request, services: InServices, shot_id: str) -> Response:
    """Close the shot, with the answers that were given; all of them may be left out."""
    said = await said_in(request)
    return await run_in_threadpool(_strike, request, services, shot_id, said)


@router.post("/shots/{shot_id}/reopen")
def reopen(request: Request, services: InServices, shot_id: str) -> Response:
    """Open a closed shot again."""
    striking.reopen(services.records, shot_id)
    return go_to(request, f"/shots/{shot_id}")


def _strike(request: Request, services: Services, shot_id: str, said: dict[str, str]) -> Response:
    answers = {} if "skip" in said else said
    versions = {
        name.removeprefix("version."): version
        for name in said
        if name.startswith("version.") and (version := version_in(said, name)) is not None
    }
    frame = None if "skip" in said else said.get("as_in_frame") or None
    try:
        with set_up_now.reading(services.records, shot_id) as reader:
            changes = changes_of_answers(reader, answers, versions)
        striking.strike(services.records, shot_id, changes, as_in_frame=frame)
    except (InvalidValue, StaleValue) as problem:
        status = 409 if isinstance(problem, StaleValue) else 422
        return _page(request, services, shot_id, status=status, said=said, problem=problem)
    return go_to(request, f"/shots/{shot_id}")


def _page(
    request: Request,
    services: Services,
    shot_id: str,
    *,
    status: int = 200,
    said: Mapping[str, str] | None = None,
    problem: InvalidValue | StaleValue | None = None,
    refused: str = "",
    part: bool = False,
) -> Response:
    """`refused` is why something of what is on record was; `part`: that list alone is asked for."""
    seen = services.records.newest
    asked = striking.before_striking(services.records, shot_id)
    return render(
        request,
        "strike.html",
        "strike_evidence.html" if part else "strike.html",
        status=status,
        strike=strike_view(asked, said, problem),
        photos=photos_view(shot_id, set_photos.of_shot(services.records, shot_id)),
        evidence=evidence_view(asked, watches=services.watching.folder is not None, problem=refused),
        news_seen=seen,
    )

"""The in-tray: camera files that are no frames, each filed to a shot or dismissed by one press."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from webapp.errors import Conflict, InvalidValue, PictureRefused, StopledgerError
from webapp.live import IN_TRAY
from webapp.security.identity import Right, owner_only
from webapp.services import InServices, Services
from webapp.shoots import in_tray
from webapp.web.pages.live_parts import Drawing
from webapp.web.pages.news import STREAM, news_answer
from webapp.web.pages.render import go_to, whole_page
from webapp.web.pages.shots import FormText
from webapp.web.pages.watched_view import watched_view

router = APIRouter()
Chosen = Annotated[list[str], Form()]


@router.get("/in-tray")
def show(request: Request, services: InServices) -> Response:
    """What waits or was refused, and why."""
    return _page(request, services)


@router.get("/in-tray/news")
async def news(request: Request, services: InServices, page: str = "", since: int | None = None) -> Response:
    """What comes into the in-tray and leaves it, as it does so: as the news of a session are told."""
    seen = services.records.newest if since is None else since
    return news_answer(request, services.live, IN_TRAY, seen, STREAM, page=page)


@router.post("/in-tray/file")
def file(
    request: Request,
    services: InServices,
    shot: FormText = "",
    active: FormText = "",
    line: Chosen | None = None,
    only: FormText = "",
    question: FormText = "",
) -> Response:
    """File the line that was pressed, all that is asked about together, or those that are ticked, to a shot: the active
    one where its key was pressed. A card is filed while the page shows what is left of it."""
    try:
        files = _files_of(services, only, question, line)
        if question and not only:
            services.intake.file_soon(files, active or shot)
        else:
            services.intake.file(files, active or shot)
    except (PictureRefused, Conflict) as problem:
        return _page(request, services, problem)
    return go_to(request, "/in-tray")


@router.post("/in-tray/dismiss")
def dismiss(
    request: Request,
    services: InServices,
    line: Chosen | None = None,
    only: FormText = "",
    question: FormText = "",
) -> Response:
    """Leave the line that was pressed, all that is asked about together, or those that are ticked, out of the log."""
    try:
        in_tray.dismiss(services.records, _files_of(services, only, question, line))
    except Conflict as problem:
        return _page(request, services, problem)
    return go_to(request, "/in-tray")


@router.post("/in-tray/folder")
@owner_only
def choose_folder(request: Request, services: InServices, folder: FormText = "", stop: FormText = "") -> Response:
    """Watch another folder, or (with `stop`) none."""
    try:
        if stop:
            services.watching.stop()
        else:
            services.watching.choose(folder)
    except (InvalidValue, Conflict) as problem:
        return _page(request, services, folder=folder, refused=problem)
    return go_to(request, "/in-tray")


def _files_of(services: Services, only: str, question: str, ticked: Sequence[str] | None) -> list[str]:
    """The files of lines, in the order of the lines. Raises Conflict for a question that was answered."""
    if question and not only:
        return in_tray.files_in_question(services.records, question)
    return in_tray.files_of(services.records, [only] if only else ticked or [])


def _page(
    request: Request,
    services: Services,
    problem: Exception | None = None,
    *,
    folder: str | None = None,
    refused: StopledgerError | None = None,
) -> Response:
    seen = services.records.newest
    view = Drawing.of(services).in_tray(str(problem or ""))
    watched = watched_view(
        services.watching.now(),
        is_owner=request.scope["identity"].may(Right.OWN),
        typed=folder,
        problem=str(refused or ""),
    )
    trouble = problem or refused
    status = 200 if trouble is None else 409 if isinstance(trouble, Conflict) else 422
    return whole_page(request, "in_tray.html", status=status, tray=view, oob=False, news_seen=seen, watched=watched)

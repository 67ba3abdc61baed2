"""The in-tray: camera files that are no frames, each filed to a shot or dismissed by one press."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from webapp.errors import Conflict, InvalidValue, PictureRefused, StopledgerError
from webapp.records import shots as shot_records
from webapp.security.identity import Right, owner_only
from webapp.services import InServices, Services
from webapp.shoots import in_tray
from webapp.web.pages.in_tray_view import in_tray_view
from webapp.web.pages.render import go_to, whole_page
from webapp.web.pages.shots import FormText
from webapp.web.pages.watched_view import watched_view

router = APIRouter()
Chosen = Annotated[list[str], Form()]


@router.get("/in-tray")
def show(request: Request, services: InServices) -> Response:
    """What waits or was refused, and why."""
    return _page(request, services)


@router.post("/in-tray/file")
def file(
    request: Request, services: InServices, shot: FormText = "", line: Chosen | None = None, only: FormText = ""
) -> Response:
    """File the line that was pressed, or those that are ticked, to a shot."""
    try:
        services.intake.file(_files_of(services, only, line), shot)
    except (PictureRefused, Conflict) as problem:
        return _page(request, services, problem)
    return go_to(request, "/in-tray")


@router.post("/in-tray/dismiss")
def dismiss(request: Request, services: InServices, line: Chosen | None = None, only: FormText = "") -> Response:
    """Leave the line that was pressed, or those that are ticked, out of the log."""
    try:
        in_tray.dismiss(services.records, _files_of(services, only, line))
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


def _files_of(services: Services, only: str, ticked: Sequence[str] | None) -> list[str]:
    """The files of lines, in the order of the lines."""
    return in_tray.files_of(services.records, [only] if only else ticked or [])


def _page(
    request: Request,
    services: Services,
    problem: Exception | None = None,
    *,
    folder: str | None = None,
    refused: StopledgerError | None = None,
) -> Response:
    with services.records.reading() as db:
        sessions = shot_records.sessions(db)
        shots = shot_records.shots_by_session(db, [each.id for each in sessions])
    view = in_tray_view(in_tray.lines(services.records), sessions, shots)
    watched = watched_view(
        services.watching.now(),
        is_owner=request.scope["identity"].may(Right.OWN),
        typed=folder,
        problem=str(refused or ""),
    )
    trouble = problem or refused
    status = 200 if trouble is None else 409 if isinstance(trouble, Conflict) else 422
    return whole_page(request, "in_tray.html", status=status, tray=view, problem=str(problem or ""), watched=watched)

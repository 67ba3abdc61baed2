"""The in-tray: camera files that are no frames, each filed to a shot or dismissed by one press."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from webapp.errors import Conflict, PictureRefused
from webapp.records import shots as shot_records
from webapp.services import InServices, Services
from webapp.shoots import in_tray
from webapp.web.pages.in_tray_view import in_tray_view
from webapp.web.pages.render import go_to, whole_page
from webapp.web.pages.shots import FormText

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


def _files_of(services: Services, only: str, ticked: Sequence[str] | None) -> list[str]:
    """The files of lines, in the order of the lines."""
    return in_tray.files_of(services.records, [only] if only else ticked or [])


def _page(request: Request, services: Services, problem: Exception | None = None) -> Response:
    with services.records.reading() as db:
        sessions = shot_records.sessions(db)
        shots = shot_records.shots_by_session(db, [each.id for each in sessions])
    view = in_tray_view(in_tray.lines(services.records), sessions, shots)
    status = 200 if problem is None else 409 if isinstance(problem, Conflict) else 422
    return whole_page(request, "in_tray.html", status=status, tray=view, problem=str(problem or ""))

"""The demo: put into the house by one press, and taken out of it by another."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from webapp.recipes.demo_removal import leaving_demo, remove_demo
from webapp.security.identity import owner_only
from webapp.services import InServices
from webapp.web.pages.progress_view import demo_progress
from webapp.web.pages.render import go_to, render

router = APIRouter()


@router.get("/demo")
@owner_only
def demo_page(request: Request, services: InServices) -> Response:
    """How far it is; and once it is there, what goes when it is removed."""
    filled = services.filling.now()
    leaving = leaving_demo(services.records) if filled.step not in ("none", "logging", "failed") else None
    progress = demo_progress(filled)
    return render(request, "demo.html", "progress.html", progress=progress, leaving=leaving)


@router.post("/demo")
@owner_only
def put_in(request: Request, services: InServices) -> Response:
    """Put it into the house, while the house is used."""
    services.filling.begin()
    return go_to(request, "/demo")


@router.post("/demo/remove")
@owner_only
def remove(request: Request, services: InServices) -> Response:
    """Take it out for good, with its pictures."""
    remove_demo(services.records, services.settings, services.store)
    return go_to(request, "/")

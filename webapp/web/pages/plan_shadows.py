"""The shadows of a plan: asked for by the plan's page once it stands, since they are traced ray by ray; or a page of
their own."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from webapp.kit import units
from webapp.ledger.geometry import shadows_in
from webapp.ledger.set_up import SetUp
from webapp.quantities.lengths import UNITS, Lengths
from webapp.services import InServices, Services
from webapp.shoots import frames, set_up_now
from webapp.web.pages.render import render
from webapp.web.pages.shadows_view import shadows_view

router = APIRouter()


@router.get("/shots/{shot_id}/plan/shadows")
def shot_shadows(request: Request, services: InServices, shot_id: str, unit: str = "") -> Response:
    """The shadows of the standing set-up."""
    state = set_up_now.state(services.records, shot_id)
    return _page(request, services, shot_id, f"/shots/{shot_id}/plan", state.shot.title, state.set_up, unit)


@router.get("/frames/{frame_id}/plan/shadows")
def frame_shadows(request: Request, services: InServices, frame_id: str, unit: str = "") -> Response:
    """Those of a frame."""
    story = frames.story(services.records, frame_id)
    title = f"{story.shot.title}, frame {story.frame.row.number}"
    path = f"/frames/{frame_id}/plan"
    return _page(request, services, f"frame-{frame_id}", path, title, story.frame.set_up, unit)


def _page(
    request: Request, services: Services, id_: str, plan_path: str, title: str, set_up: SetUp, unit: str
) -> Response:
    lengths = Lengths(unit == "in") if unit in UNITS else units.lengths(services.records)
    view = shadows_view(id_, shadows_in(set_up), lengths)
    return render(request, "plan_shadows.html", "plan_shadows.html", shadows=view, plan_path=plan_path, title=title)

"""The shadows of a plan and its shadow cards: asked for by the plan's page once it stands, since they are traced ray by
ray; or a page of their own."""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.responses import Response

from webapp.kit import units
from webapp.ledger.geometry import plan_of, shadows_in, unknown_light
from webapp.ledger.set_up import SetUp
from webapp.plan.solids import SHAPES, Shape
from webapp.plan.view import LOOKS, Look
from webapp.quantities.lengths import UNITS, Lengths
from webapp.records.columns import document_bytes
from webapp.services import InServices, Services
from webapp.shoots import frames, set_up_now
from webapp.web.pages.render import render
from webapp.web.pages.shadows_view import Asked, shadows_view

router = APIRouter()


def mark_of(set_up: SetUp) -> str:
    """Another address for another set-up, so that an open page fetches its shadows and cards anew."""
    return f"{zlib.crc32(document_bytes(SetUp, set_up)):x}"


@dataclass(frozen=True, slots=True)
class _Of:
    """Whose shadows: the id that its part of the page goes by, the address of its plan, and its title."""

    id: str
    path: str
    title: str
    set_up: SetUp


@router.get("/shots/{shot_id}/plan/shadows")
def shot_shadows(request: Request, services: InServices, shot_id: str) -> Response:
    """The shadows and cards of the standing set-up."""
    state = set_up_now.state(services.records, shot_id)
    return _page(request, services, _Of(shot_id, f"/shots/{shot_id}/plan", state.shot.title, state.set_up))


@router.get("/frames/{frame_id}/plan/shadows")
def frame_shadows(request: Request, services: InServices, frame_id: str) -> Response:
    """Those of a frame; with another one `under` it, their cards side by side."""
    story = frames.story(services.records, frame_id)
    title = f"{story.shot.title}, frame {story.frame.row.number}"
    of = _Of(f"frame-{frame_id}", f"/frames/{frame_id}/plan", title, story.frame.set_up)
    return _page(request, services, of, beside=request.query_params.get("under", ""))


@router.get("/shots/{shot_id}/plan/card.png")
def shot_card(services: InServices, shot_id: str, look: str = "", shape: str = "") -> Response:
    """A shadow card of the standing set-up."""
    # Arrays and a picture library, for the cards alone.
    from webapp.plan.shadow_card import shadow_card_png

    plan = plan_of(set_up_now.state(services.records, shot_id).set_up)
    return _picture(shadow_card_png(plan, _look(look), _shape(shape)))


@router.get("/frames/{frame_id}/plan/card.png")
def frame_card(services: InServices, frame_id: str, beside: str = "", look: str = "", shape: str = "") -> Response:
    """A shadow card of a frame, or those of two side by side."""
    from webapp.plan.shadow_card import shadow_card_png, side_by_side_png

    plan = plan_of(frames.one(services.records, frame_id).set_up)
    if not beside:
        return _picture(shadow_card_png(plan, _look(look), _shape(shape)))
    return _picture(side_by_side_png(plan, plan_of(frames.one(services.records, beside).set_up), _shape(shape)))


def _look(said: str) -> Look:
    return next((each for each in LOOKS if each == said), "lens")


def _shape(said: str) -> Shape | None:
    return next((each for each in SHAPES if each == said), None)


def _picture(png: bytes) -> Response:
    return Response(png, media_type="image/png", headers={"Cache-Control": "no-cache"})


def _page(request: Request, services: Services, of: _Of, beside: str = "") -> Response:
    said = request.query_params
    unit, shape = said.get("unit", ""), _shape(said.get("shape", ""))
    lengths = Lengths(unit == "in") if unit in UNITS else units.lengths(services.records)
    kept = {name: said[name] for name in ("unit", "under") if said.get(name)} | {"v": mark_of(of.set_up)}
    asked = Asked(
        id=of.id,
        path=of.path,
        kept=urlencode(kept),
        shape=shape,
        beside=beside,
    )
    view = shadows_view(asked, plan_of(of.set_up), shadows_in(of.set_up), unknown_light(of.set_up), lengths)
    return render(request, "plan_shadows.html", "plan_shadows.html", shadows=view, plan_path=of.path, title=of.title)

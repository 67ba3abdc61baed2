"""The shadows of a plan and its shadow cards: asked for by the plan's page once it stands, since they are traced ray by
ray, by a process of its own; or a page of their own. What takes longer than a moment is asked for again by the part of
the page that says so."""

from __future__ import annotations

import zlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from webapp.errors import NotTraced
from webapp.kit import units
from webapp.ledger.geometry import plan_of, unknown_light
from webapp.ledger.set_up import SetUp
from webapp.plan import tracing
from webapp.plan.solids import SHAPES, Shape
from webapp.plan.view import LOOKS, Look
from webapp.quantities.lengths import UNITS, Lengths
from webapp.records.columns import document_bytes
from webapp.services import InServices, Services
from webapp.shoots import frames, set_up_now
from webapp.web.pages.render import render, wants_partial
from webapp.web.pages.shadows_view import Asked, later_view, shadows_view

router = APIRouter()
_A_MOMENT_S: Final = 0.5
"""So long a part of a page is waited for before it says that it is under way."""
_WITHOUT_SCRIPTS_S: Final = 10.0
CARD_WITHIN_S: Final = 40.0
"""A card stands on a page whose shadows are there, so that hardly anything comes before it."""


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
async def shot_shadows(request: Request, services: InServices, shot_id: str) -> Response:
    """The shadows and cards of the set-up now."""

    def standing() -> _Of:
        state = set_up_now.state(services.records, shot_id)
        return _Of(shot_id, f"/shots/{shot_id}/plan", state.shot.title, state.set_up)

    return await _page(request, services, standing)


@router.get("/frames/{frame_id}/plan/shadows")
async def frame_shadows(request: Request, services: InServices, frame_id: str) -> Response:
    """Those of a frame; with another one `under` it, their cards side by side."""

    def frozen() -> _Of:
        story = frames.story(services.records, frame_id)
        title = f"{story.shot.title}, frame {story.frame.row.number}"
        return _Of(f"frame-{frame_id}", f"/frames/{frame_id}/plan", title, story.frame.set_up)

    return await _page(request, services, frozen, beside=request.query_params.get("under", ""))


@router.get("/shots/{shot_id}/plan/card.png")
async def shot_card(services: InServices, shot_id: str, look: str = "", shape: str = "") -> Response:
    """A shadow card of the set-up now."""

    def asked() -> tracing.Asked:
        plan = plan_of(set_up_now.state(services.records, shot_id).set_up)
        return tracing.Asked("card", plan, _look(look), _shape(shape))

    return _picture(*await services.tracing.newest(shot_id, asked, CARD_WITHIN_S))


@router.get("/frames/{frame_id}/plan/card.png")
async def frame_card(
    services: InServices, frame_id: str, beside: str = "", look: str = "", shape: str = ""
) -> Response:
    """A shadow card of a frame, or those of two side by side."""

    def asked() -> tracing.Asked:
        plan = plan_of(frames.one(services.records, frame_id).set_up)
        other = plan_of(frames.one(services.records, beside).set_up) if beside else None
        return tracing.Asked("card", plan, _look(look), _shape(shape), other)

    return _picture(*await services.tracing.newest(f"{frame_id} {beside}", asked, CARD_WITHIN_S))


def _look(said: str) -> Look:
    return next((each for each in LOOKS if each == said), "lens")


def _shape(said: str) -> Shape | None:
    return next((each for each in SHAPES if each == said), None)


def _picture(_: tracing.Asked, png: bytes) -> Response:
    return Response(png, media_type="image/png", headers={"Cache-Control": "no-cache"})


async def _page(request: Request, services: Services, told: Callable[[], _Of], beside: str = "") -> Response:
    """The page of what `told` says by then."""
    of = await run_in_threadpool(told)

    def asked() -> tracing.Asked:
        nonlocal of
        of = told()
        return tracing.Asked("shadows", plan_of(of.set_up))

    patience_s = _A_MOMENT_S if wants_partial(request) else _WITHOUT_SCRIPTS_S
    try:
        _, answer = await services.tracing.newest(of.id, asked, patience_s)
    except NotTraced as trouble:
        return await run_in_threadpool(_not_there, request, services, of, trouble)
    return await run_in_threadpool(_there, request, services, of, answer, beside)


def _there(request: Request, services: Services, of: _Of, answer: bytes, beside: str) -> Response:
    said = request.query_params
    unit, shape = said.get("unit", ""), _shape(said.get("shape", ""))
    lengths = Lengths(unit == "in") if unit in UNITS else units.lengths(services.records)
    asked = Asked(id=of.id, path=of.path, kept=_kept(request, of), shape=shape, beside=beside)
    shadows = tracing.shadows_from(answer)
    view = shadows_view(asked, plan_of(of.set_up), shadows, unknown_light(of.set_up), lengths)
    return render(request, "plan_shadows.html", "plan_shadows.html", shadows=view, plan_path=of.path, title=of.title)


def _not_there(request: Request, services: Services, of: _Of, trouble: NotTraced) -> Response:
    said = request.query_params
    kept = _kept(request, of) + (f"&shape={shape}" if (shape := _shape(said.get("shape", ""))) else "")
    view = later_view(of.id, f"{of.path}/shadows?{kept}", trouble)
    return render(
        request, "plan_shadows.html", "plan_shadows_later.html", later=view, plan_path=of.path, title=of.title
    )


def _kept(request: Request, of: _Of) -> str:
    """What goes along with each address."""
    said = request.query_params
    kept = {name: said[name] for name in ("unit", "under") if said.get(name)}
    return urlencode(kept | {"v": mark_of(of.set_up)})

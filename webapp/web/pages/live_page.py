"""Live pages: made and withdrawn on the session's page, followed by a class outside of the house."""

from __future__ import annotations

import hashlib
from typing import Annotated, cast

from fastapi import APIRouter, Depends, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from webapp.errors import InvalidValue
from webapp.live import Followed
from webapp.recipes.share import live_page
from webapp.recipes.share.live_page import LetOut
from webapp.records import links as link_records
from webapp.records import shots as shot_records
from webapp.records.tables import LivePage
from webapp.security.identity import Right, asks_for, owner_only
from webapp.services import InServices, Services
from webapp.web.pages.link_view import PRIVATE, code_answer, picture_answer, shared_answer
from webapp.web.pages.live_page_parts import LivePages, PicturePlace
from webapp.web.pages.live_page_view import live_pages_view, live_view, shot_sheet
from webapp.web.pages.news import news_answer
from webapp.web.pages.render import go_to, whole_page
from webapp.web.pages.sessions import said_in
from webapp.web.typed import Counted

router = APIRouter()
# Digits; how many hours an address may last is the use-case's to say.
_LONGEST_HOURS = 9
THEMES = ("white", "dim")
_SMALL_LONGEST_PX = 960


async def _live_pages(request: Request) -> LivePages:
    return cast(LivePages, request.app.state.live_pages)


InLivePages = Annotated[LivePages, Depends(_live_pages)]


@router.get("/sessions/{session_id}/live-pages")
@owner_only
def live_pages(request: Request, services: InServices, session_id: str) -> Response:
    """The live pages of a session, and the form for another one."""
    return _list(request, services, session_id)


@router.api_route("/sessions/{session_id}/open-pages", methods=["GET", "POST"])
@owner_only
def older_address(session_id: str) -> Response:
    """Where they stood before."""
    return RedirectResponse(f"/sessions/{session_id}/live-pages", 308)


@router.get("/open-pages/{token}/code.svg")
@owner_only
def older_code(token: str) -> Response:
    """Where the code stood before."""
    return RedirectResponse(f"/live-pages/{token}/code.svg", 308)


@router.post("/open-pages/{token}/withdraw")
@owner_only
def older_withdrawal(token: str) -> Response:
    """Where one was withdrawn before."""
    return RedirectResponse(f"/live-pages/{token}/withdraw", 308)


@router.post("/sessions/{session_id}/live-pages")
@owner_only
async def open_up(request: Request, services: InServices, session_id: str) -> Response:
    """Make an address at which a class follows the session."""
    said = await said_in(request)
    return await run_in_threadpool(_open_up, request, services, session_id, said)


def _open_up(request: Request, services: Services, session_id: str, said: dict[str, str]) -> Response:
    let_out = LetOut(because=said.get("because") == "true", kit_names=said.get("kit_names") == "true")
    try:
        hours = _hours_in(said.get("hours", ""))
        live_page.open_up(services.records, session_id, title=said.get("title", ""), hours=hours, let_out=let_out)
    except InvalidValue as error:
        return _list(request, services, session_id, said, error)
    return go_to(request, f"/sessions/{session_id}#live-pages")


def _hours_in(text: str) -> int | None:
    typed = text.strip()
    if not typed:
        return None
    if not (typed.isascii() and typed.isdecimal() and len(typed) <= _LONGEST_HOURS):
        raise InvalidValue("hours", f"“{typed[:20]}” is no whole number of hours; leave it empty for no end.")
    return int(typed)


def _list(
    request: Request,
    services: Services,
    session_id: str,
    said: dict[str, str] | None = None,
    error: InvalidValue | None = None,
) -> Response:
    with services.records.reading() as db:
        session = shot_records.session_of(db, session_id)
        pages = link_records.live_pages_of(db, session_id)
    problems = {error.where[0]: str(error)} if error else {}
    return whole_page(
        request,
        "live_pages.html",
        status=422 if error else 200,
        session=session,
        live_pages=live_pages_view(session_id, pages, services.doors, str(request.base_url), said, problems),
    )


@router.post("/live-pages/{token}/withdraw")
@owner_only
def withdraw(request: Request, services: InServices, token: str) -> Response:
    """End an address, and the streams of those who follow it, at once."""
    session_id = live_page.withdraw(services.records, token)
    return go_to(request, f"/sessions/{session_id}#live-pages")


@router.get("/live-pages/{token}/code.svg")
@owner_only
def code(request: Request, services: InServices, token: str) -> Response:
    """The address as a QR code."""
    live_page.still_open(services.records, token)
    return code_answer(f"{services.doors.address_for_readers(str(request.base_url))}open/{token}")


@router.get("/sessions/{session_id}/as-followed")
@owner_only
def preview(
    services: InServices, session_id: str, because: bool = False, kit_names: bool = False, theme: str = ""
) -> Response:
    """As a class would see it, before there is an address."""
    seen = live_page.as_followed(services.records, session_id, "As a class sees it", LetOut(because, kit_names))
    view = live_view(seen, f"/sessions/{session_id}/as-followed", turns=False)
    return shared_answer(
        "live_page.html",
        title=view.title,
        shots=view.shots,
        until="",
        here="",
        seen=0,
        theme=_theme(theme),
        sheets="",
        preview="not shared yet",
    )


@router.get("/sessions/{session_id}/as-followed/pictures/{shot_number}/{frame_number}/{place}")
@owner_only
def previewed_picture(
    request: Request,
    services: InServices,
    session_id: str,
    shot_number: Counted,
    frame_number: Counted,
    place: Counted,
) -> Response:
    """A picture as a class would see it."""
    content = _small(services, session_id, (shot_number, frame_number, place), LetOut())
    return _picture(request, content)


def _small(services: Services, session_id: str, of: PicturePlace, let_out: LetOut) -> bytes:
    digest = live_page.picture_digest(services.records, session_id, *of, let_out)
    return services.intake.small(services.intake.preview_path(digest), _SMALL_LONGEST_PX)


def _picture(request: Request, content: bytes) -> Response:
    return picture_answer(request, hashlib.sha256(content).hexdigest(), lambda: content)


@router.get("/open/{token}")
@asks_for(Right.LIVE_PAGE)
async def followed_page(services: InServices, live_pages: InLivePages, token: str, theme: str = "") -> Response:
    """The page of a class."""
    return await live_pages.aside(lambda: _followed(services, live_pages, token, theme))


def _followed(services: Services, live_pages: LivePages, token: str, theme: str) -> Response:
    page = live_page.still_open(services.records, token)
    sheets, seen = live_pages.sheets(token)
    live_pages.viewed(token)
    view = live_view(live_page.LiveSession(page.title, (), page.expires_at), f"/open/{token}")
    return shared_answer(
        "live_page.html",
        title=view.title,
        shots=view.shots,
        until=view.until,
        here=f"/open/{token}",
        seen=seen,
        theme=_theme(theme),
        sheets=sheets,
    )


@router.get("/open/{token}/shots/{number}")
@asks_for(Right.LIVE_PAGE)
async def older_frames(
    services: InServices,
    live_pages: InLivePages,
    token: str,
    number: Counted,
    before: Annotated[int, Query(ge=1, le=10**9)],
    theme: str = "",
) -> Response:
    """The frames of a shot before a number."""
    return await live_pages.aside(lambda: _older(services, token, number, before, theme))


def _older(services: Services, token: str, number: int, before: int, theme: str) -> Response:
    page, shot = live_page.older_frames(services.records, token, number, before)
    here = f"/open/{token}"
    return shared_answer(
        "live_older.html",
        title=page.title,
        shot=shot_sheet(shot, here),
        until="",
        here=here,
        theme=_theme(theme),
    )


@router.get("/open/{token}/pictures/{shot_number}/{frame_number}/{place}")
@asks_for(Right.LIVE_PAGE)
async def picture(
    request: Request,
    services: InServices,
    live_pages: InLivePages,
    token: str,
    shot_number: Counted,
    frame_number: Counted,
    place: Counted,
) -> Response:
    """A frame's picture, made small and anew from its pixels."""

    of = (shot_number, frame_number, place)

    def make(page: LivePage) -> bytes:
        return _small(services, page.session_id, of, LetOut.by(page))

    content = await live_pages.aside(lambda: live_pages.picture(token, of, make))
    return _picture(request, content)


@router.get("/open/{token}/news")
@asks_for(Right.LIVE_PAGE)
async def news(
    request: Request, services: InServices, live_pages: InLivePages, token: str, since: int = 0
) -> Response:
    """What changes on the page, as it changes."""
    page = await live_pages.aside(lambda: live_page.still_open(services.records, token))
    followed = Followed("live page", token)
    return news_answer(request, services.live, followed, since, PRIVATE, until=page.expires_at)


def _theme(chosen: str) -> str:
    return chosen if chosen in THEMES else ""

"""What a page needs beside the ledger: pictures, news of the session, the theme, the unit of lengths."""

from __future__ import annotations

from pathlib import Path

from fastapi import APIRouter, Request
from starlette.responses import FileResponse, RedirectResponse, Response

from webapp.errors import InvalidValue, NotFound
from webapp.kit import units
from webapp.live import Followed
from webapp.records import shots as shot_records
from webapp.security.identity import owner_only
from webapp.services import InServices, Services
from webapp.web.pages.news import STREAM, news_answer
from webapp.web.pages.render import THEMES
from webapp.web.pages.shots import FormText

router = APIRouter()
_A_YEAR_S = 365 * 24 * 3600
# A picture never changes under its digest.
KEEP = {"Cache-Control": "private, max-age=31536000, immutable"}


@router.get("/pictures/{digest}/preview")
def preview(services: InServices, digest: str) -> Response:
    return FileResponse(services.intake.preview_path(digest), media_type="image/jpeg", headers=KEEP)


@router.get("/pictures/{digest}/thumbnail")
def thumbnail(services: InServices, digest: str) -> Response:
    return thumbnail_answer(services, digest, services.intake.preview_path(digest))


def thumbnail_answer(services: Services, digest: str, source: Path) -> Response:
    """The thumbnail of a picture. Where there is none yet, it is begun and `source` itself serves, to be asked for
    again by the next page."""
    there = services.intake.thumbnails.path_of(digest)
    if there is not None:
        return FileResponse(there, media_type="image/jpeg", headers=KEEP)
    services.intake.thumbnails.make_soon(digest, source)
    return FileResponse(source, media_type="image/jpeg", headers={"Cache-Control": "private, no-cache"})


@router.get("/pictures/{digest}/original")
def original(services: InServices, digest: str) -> Response:
    """The camera's own file, untouched, to be kept rather than shown."""
    with services.records.reading() as db:
        picture = shot_records.picture_with_digest(db, digest)
    if picture is None:
        raise NotFound("There is no such picture.")
    return FileResponse(
        services.store.path_of(digest), media_type="application/octet-stream", filename=picture.name, headers=KEEP
    )


@router.get("/sessions/{session_id}/news")
async def news(
    request: Request, services: InServices, session_id: str, page: str = "", since: int | None = None
) -> Response:
    """What changes in a session, as it changes: parts of the page to swap in. A page that was away says which it saw
    last, and a fresh one (`since`) which was the newest when it was drawn; where more was missed than is kept, it is
    told to draw itself anew."""
    seen = services.records.newest if since is None else since
    return news_answer(request, services.live, Followed("session", session_id), seen, STREAM, page=page)


@router.post("/theme")
def choose_theme(request: Request, theme: FormText, back: FormText = "/") -> Response:
    """Day or dim, remembered on this device."""
    if theme not in THEMES:
        raise InvalidValue("theme", "A theme is day or dim.")
    answer = RedirectResponse(_in_the_house(back), 303)
    answer.set_cookie("theme", theme, max_age=_A_YEAR_S, httponly=True, samesite="strict")
    return answer


@router.post("/lengths")
@owner_only
def choose_lengths(services: InServices, unit: FormText, back: FormText = "/") -> Response:
    """Centimetres or inches, for every page of the house on every device: those that are open draw themselves anew."""
    units.choose(services.records, unit)
    return RedirectResponse(_in_the_house(back), 303)


def _in_the_house(back: str) -> str:
    return back if back.startswith("/") and not back.startswith(("//", "/\\")) else "/"

"""How the server is: for whatever watches it, and as a page for its owner."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from fastapi import APIRouter, Request
from sqlalchemy import text
from starlette.responses import JSONResponse, Response

from webapp.log import LAST_ERRORS
from webapp.records import arrivals as arrival_records
from webapp.records.upgrade import newest_revision
from webapp.security.identity import Right, asks_for, owner_only
from webapp.services import InServices, Services
from webapp.shoots import readings
from webapp.web.pages.backups_view import backups_view
from webapp.web.pages.figures import plural, size
from webapp.web.pages.render import whole_page

router = APIRouter()
_NO_STORE = {"Cache-Control": "no-store"}


@dataclass(frozen=True, slots=True)
class StateLine:
    name: str
    words: str


@router.get("/healthz")
@asks_for(Right.SIGN_IN)
def health(services: InServices) -> Response:
    """Whether the records can be read. An error of theirs is answered as everywhere."""
    with services.records.reading() as db:
        db.execute(text("SELECT 1"))
    return JSONResponse({"status": "ok"}, headers=_NO_STORE)


@router.get("/state")
@owner_only
def state(request: Request, services: InServices) -> Response:
    """Version, disk, what waits, who follows, and the last errors by their numbers."""
    return whole_page(request, "state.html", lines=tuple(_lines(services)), errors=list(reversed(LAST_ERRORS)))


def _lines(services: Services) -> list[StateLine]:
    settings = services.settings
    with services.records.reading() as db:
        waiting = arrival_records.count_in_tray(db)
    unread = readings.still_to_examine(services.records)
    backups = backups_view(settings)
    disk = shutil.disk_usage(settings.data)
    followers = services.live.followers
    doors = [settings.host, services.doors.studio, services.doors.outside]
    return [
        StateLine("version", f"{_version()}, tables {newest_revision()}"),
        StateLine("data", str(settings.data)),
        StateLine("disk", f"{size(disk.free)} free of {size(disk.total)}"),
        StateLine("records", size(services.records.path.stat().st_size)),
        StateLine("pictures", size(_size_of(settings.pictures))),
        *(StateLine("backups", words) for words in (*backups.alarms, *backups.lines)),
        StateLine("in-tray", plural(waiting, "file")),
        StateLine("pictures to be read", plural(len(list(unread)), "picture")),
        StateLine("pages that follow", f"{plural(followers, 'page')} told as things change"),
        StateLine("signed in", plural(len(services.devices.all()), "browser")),
        StateLine("listens at", ", ".join(filter(None, doors))),
    ]


def _version() -> str:
    try:
        return version("stopledger")
    except PackageNotFoundError:
        return "not installed"


def _size_of(folder: Path) -> int:
    return sum(each.stat().st_size for each in folder.rglob("*") if each.is_file())

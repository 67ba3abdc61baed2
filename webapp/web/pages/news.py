"""The stream of what changes on an open page."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from fastapi import Request
from starlette.responses import PlainTextResponse, Response, StreamingResponse

from webapp.live import Followed, Live

STREAM = {"Cache-Control": "no-cache"}
_LONGEST_NUMBER = 20


def news_answer(
    request: Request,
    live: Live,
    followed: Followed,
    since: int,
    headers: Mapping[str, str],
    *,
    page: str = "",
    until: dt.datetime | None = None,
) -> Response:
    """What changes, as it changes. A page that lost its line says which event it saw last, and a fresh one (`since`)
    from which change on it was drawn. Called in the event loop."""
    seat = live.seat(followed, page)
    if seat is None:
        return PlainTextResponse(
            "Every place in the live line is taken; reload the page for the newest frames.",
            503,
            {**headers, "Retry-After": "60"},
        )
    last = request.headers.get("last-event-id", "")
    seen = int(last) if last.isascii() and last.isdecimal() and len(last) < _LONGEST_NUMBER else since
    return StreamingResponse(
        live.stream(seat, seen, until), 200, {**headers, "X-Accel-Buffering": "no"}, "text/event-stream"
    )

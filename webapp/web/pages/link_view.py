"""What is shared, as a template may print it: addresses with what is said of them, and pages outside of the house."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from webapp.doors import Doors
from webapp.quantities.numbers import number_text
from webapp.recipes.document import Recipe
from webapp.recipes.share.links import CLIENT, Opened, pictures_shown
from webapp.recipes.share.prefilled import RATIO, Prefilled, prefilled
from webapp.records.tables import Link, LivePage, now
from webapp.web.pages.figures import plural
from webapp.web.pages.render import environment
from webapp.web.words.worksheets import SHEETS

# A reader's address is nobody else's: not kept on the way, not passed on, not indexed.
PRIVATE = {"Cache-Control": "private, no-store", "Referrer-Policy": "no-referrer", "X-Robots-Tag": "noindex"}
UNTIL_WITHDRAWN = "until withdrawn"
LASTING = (
    ("7", "a week"),
    ("30", "30 days"),
    ("90", "90 days"),
    ("365", "a year"),
    (UNTIL_WITHDRAWN, "until it is withdrawn"),
)
"""How long an address lasts, to choose from: the usual is among them."""
# A reader may keep it, and has to ask each time whether it may still be shown.
_PICTURE = PRIVATE | {"Cache-Control": "private, no-cache"}


@dataclass(frozen=True, slots=True)
class LinkedPicture:
    """A picture of an address that was shared, and whether it is shown there."""

    digest: str
    name: str
    shown: bool


@dataclass(frozen=True, slots=True)
class LinkLine:
    """An address that was shared, with what is said of it."""

    token: str
    path: str
    about: str
    can_be_read: bool
    pictures: tuple[LinkedPicture, ...] = ()


@dataclass(frozen=True, slots=True)
class WorksheetLine:
    """A worksheet with the recipe's figures in it, or an empty one."""

    address: str
    title: str
    about: str
    purpose: str


def shared_answer(template: str, *, status: int = 200, **view: Any) -> Response:
    """A page for a reader outside of the house."""
    text = environment().get_template(f"pages/{template}").render(**({"preview": "", "theme": ""} | view))
    return Response(text, status, PRIVATE, "text/html")


def picture_answer(request: Request, tag: str, content: Callable[[], bytes]) -> Response:
    """A picture for a reader outside. `tag` is another for other content; whoever has it already is told so."""
    headers = _PICTURE | {"ETag": f'"{tag}"'}
    if headers["ETag"] in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    return Response(content(), media_type="image/jpeg", headers=headers)


def code_answer(address: str) -> Response:
    """An address as a QR code."""
    return Response(qr_code(address, xmldecl=True), media_type="image/svg+xml", headers=PRIVATE)


def qr_code(address: str, *, xmldecl: bool = False) -> str:
    """An address as a QR code: a drawing, to be set into a page or sent by itself."""
    import segno

    out = io.BytesIO()
    segno.make(address, error="m").save(out, kind="svg", scale=4, border=4, xmldecl=xmldecl, light="#fff")
    return out.getvalue().decode()


def until_words(expires_at: dt.datetime | None, at: dt.datetime) -> str:
    """How long an address can still be read, in its reader's words.

    >>> at = dt.datetime(2026, 11, 24, 9, 0, tzinfo=dt.UTC)
    >>> until_words(at + dt.timedelta(days=6, hours=1), at)
    'until 30 November 2026, 10:00 UTC: 6 more days'
    >>> until_words(at + dt.timedelta(minutes=50), at), until_words(None, at)
    ('until 24 November 2026, 09:50 UTC: less than an hour', 'until it is withdrawn')
    """
    if expires_at is None:
        return "until it is withdrawn"
    left = expires_at - at
    hours = int(left.total_seconds() // 3600)
    told = f"{plural(left.days, 'more day')}" if left.days else plural(hours, "more hour") if hours else ""
    day = f"{expires_at.day} {expires_at:%B %Y, %H:%M} UTC"
    return f"until {day}: {told or 'less than an hour'}"


def _state(withdrawn_at: dt.datetime | None, expires_at: dt.datetime | None, at: dt.datetime) -> tuple[str, bool]:
    if withdrawn_at is not None:
        return f"withdrawn on {withdrawn_at.day} {withdrawn_at:%B %Y}", False
    if expires_at is not None and expires_at <= at:
        return f"ended on {expires_at.day} {expires_at:%B %Y}", False
    return f"can be read {until_words(expires_at, at)}", True


def link_lines(links: Iterable[tuple[Link, int]], recipes: Mapping[int, Recipe]) -> tuple[LinkLine, ...]:
    """A recipe's links, each with its version. `recipes` are the versions by their numbers."""
    at = now()
    lines = []
    for link, number in links:
        state, can_be_read = _state(link.withdrawn_at, link.expires_at, at)
        parts = [
            f"version {number} for a {link.reader}",
            "with figures" if link.reader == CLIENT and link.figures else "",
            "kit names as written" if link.kit_names else "",
            "for another Stopledger too" if link.with_bundle else "",
            plural(link.views, "view"),
            state,
        ]
        pictures = _linked_pictures(link, recipes[number]) if can_be_read else ()
        about = " · ".join(filter(None, parts))
        lines.append(LinkLine(link.token, f"shared/{link.token}", about, can_be_read, pictures))
    return tuple(lines)


def _linked_pictures(link: Link, recipe: Recipe) -> tuple[LinkedPicture, ...]:
    withdrawn = set(link.withdrawn_pictures.split())
    shown = dict.fromkeys(each.digest for each in pictures_shown(recipe, link.reader))
    result = recipe.result.digest if recipe.result else ""
    others = iter(range(1, len(shown) + 1))
    return tuple(
        LinkedPicture(
            digest, "the result" if digest == result else f"comparison {next(others)}", digest not in withdrawn
        )
        for digest in shown
    )


def live_page_lines(pages: Iterable[LivePage]) -> tuple[LinkLine, ...]:
    """The open pages of a session."""
    at = now()
    lines = []
    for page in pages:
        state, can_be_read = _state(page.withdrawn_at, page.expires_at, at)
        parts = [
            page.title,
            "with the reasons of frames" if page.because else "",
            "kit names as written" if page.kit_names else "",
            plural(page.views, "view"),
            state,
        ]
        lines.append(LinkLine(page.token, f"open/{page.token}", " · ".join(filter(None, parts)), can_be_read))
    return tuple(lines)


def reach_words(doors: Doors, base: str) -> str:
    """From where an address that is shared can be opened."""
    if doors.outside:
        return f"Links begin with {base}: they open wherever that address leads to the door for links."
    if doors.studio:
        return f"Links begin with {base}: they open on the studio’s network, and nowhere else."
    return (
        "Only this computer can open links: it listens to nobody else. Let phones in under “Phones”, or start the server "
        "with a door for links (--public-port), and they open there."
    )


def reader_words(opened: Opened) -> str:
    """What the reader is told of the address itself."""
    return f"This page can be read {until_words(opened.expires_at, now())}."


def prefilled_lines(recipe: Recipe, here: str) -> tuple[WorksheetLine, ...]:
    """The worksheets that a recipe fills in, under the reader's own address."""
    return tuple(
        WorksheetLine(
            f"{here}/worksheets/{each.name}?{urlencode(typed_figures(each))}",
            sheet.title,
            _about(each),
            sheet.purpose,
        )
        for each in prefilled(recipe)
        for sheet in (SHEETS[each.name],)
    )


def typed_figures(filled: Prefilled) -> dict[str, str]:
    """The figures of a worksheet as a reader types them: what stands in its address."""
    return {
        name: figure if isinstance(figure, str) else number_text(figure) for name, figure in filled.figures.items()
    }


def _about(filled: Prefilled) -> str:
    return f"key to fill {filled.about}" if filled.name == RATIO else filled.about

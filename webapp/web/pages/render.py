"""One function draws: the page, or, for htmx, the partial inside it, from the same template."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import jinja2
from fastapi import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from webapp import static_files
from webapp.kit import units
from webapp.paths import TEMPLATES
from webapp.records.tables import new_id
from webapp.security.identity import Identity, Right
from webapp.web.pages.figures import FILTERS
from webapp.web.words.page_help import help_for


@lru_cache(maxsize=1)
def environment() -> jinja2.Environment:
    """The templates. Everything is escaped; an undefined name is a mistake, never an empty place."""
    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.filters.update(FILTERS)
    made.globals["static"] = static_files.address_of
    return made


def wants_partial(request: Request) -> bool:
    """Whether htmx asks for a part of the page that is open, and not for a whole one."""
    headers = request.headers
    return (
        headers.get("HX-Request") == "true"
        and headers.get("HX-Boosted") != "true"
        and headers.get("HX-History-Restore-Request") != "true"
    )


def fragment(template: str, **view: Any) -> str:
    """A partial as text, to be sent with an answer or pushed to open pages."""
    return environment().get_template(f"partials/{template}").render(**view)


def render(request: Request, page: str, partial: str, *, status: int = 200, extra: str = "", **view: Any) -> Response:
    """The partial for htmx, else the page that includes it. `extra` goes behind the partial: further parts of the
    open page that changed with it."""
    if wants_partial(request):
        return HTMLResponse(fragment(partial, **view) + extra, status, {"Vary": "HX-Request"})
    return whole_page(request, page, status=status, **view)


def whole_page(request: Request, template: str, *, status: int = 200, **view: Any) -> Response:
    """A whole page. `words` of trouble, the theme the reader chose, the unit that lengths are read in, and the page's
    own name go into its frame; with `lengths_in` empty the page offers no unit."""
    frame: dict[str, Any] = {"words": "", "theme": _theme(request), "here": request.url.path, "page_id": new_id()}
    asking: Identity = request.scope["identity"]
    frame["help"] = help_for(getattr(request.scope.get("route"), "path", ""))
    frame |= {"is_owner": asking.may(Right.OWN), "signed_in_as": asking.name}
    if "lengths_in" not in view:
        frame["lengths_in"] = units.lengths(request.app.state.services.records).unit
    text = environment().get_template(f"pages/{template}").render(**(frame | view))
    return HTMLResponse(text, status, {"Vary": "HX-Request", "Cache-Control": "no-store"})


def go_to(request: Request, address: str) -> Response:
    """After a change that another page shows: there, with or without htmx."""
    if wants_partial(request):
        return Response(status_code=204, headers={"HX-Redirect": address})
    return RedirectResponse(address, 303)


def refusal(request: Request, status: int, words: str) -> Response:
    """An error as a line on the open page, or as a page of its own with a way back."""
    if wants_partial(request):
        return HTMLResponse(
            fragment("trouble.html", words=words), status, {"HX-Retarget": "#trouble", "HX-Reswap": "outerHTML"}
        )
    if request.url.path.startswith(OUTSIDE):
        advice = _ENDED_WORDS if status == 404 else ""
        # How it stands with the disk of the house is for the house.
        words = _LATER_WORDS if status == 503 else words
        return whole_page(
            request,
            "outside_trouble.html",
            status=status,
            lengths_in="",
            title=words,
            advice=advice,
            preview="",
            until="",
        )
    # What is refused may be the records themselves: nothing is read from them for it.
    title, advice = _TITLES.get(status, ("Not done", ""))
    return whole_page(
        request,
        "trouble.html",
        status=status,
        lengths_in="",
        title=title,
        said=words,
        advice=advice,
        back=_back(request),
    )


_TITLES = {
    403: ("Not allowed", ""),
    404: (
        "Not found",
        "It may have been deleted, or the address is incomplete: look for it from the head of the page.",
    ),
    409: ("Not saved", ""),
}
# Where readers outside of the house are: none of its ways are shown to them.
OUTSIDE = ("/shared/", "/open/")
_ENDED_WORDS = "An address ends with its time, or when it is withdrawn. Whoever gave it to you can give you another."
_LATER_WORDS = "This cannot be shown just now. Try again later."
THEMES = ("day", "dim")


def _theme(request: Request) -> str:
    chosen = request.cookies.get("theme", "")
    return chosen if chosen in THEMES else ""


def _back(request: Request) -> str:
    came_from = request.headers.get("referer", "")
    here = str(request.base_url)
    return "/" + came_from.removeprefix(here) if came_from.startswith(here) else "/"

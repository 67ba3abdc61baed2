"""The printed pages: laid out for the paper that stands in the address."""

from __future__ import annotations

from typing import Annotated, Final, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from pydantic import Field
from starlette.responses import Response

from webapp.exports import pdf
from webapp.kit import units
from webapp.recipes.share import links
from webapp.recipes.share.links import Choices
from webapp.security.identity import owner_only
from webapp.services import InServices, Services
from webapp.web.pages.render import whole_page
from webapp.web.paper import making
from webapp.web.paper.contact_sheet import Reader, Which
from webapp.web.paper.giving_way import LAST, STEPS
from webapp.web.paper.making import KitTold
from webapp.web.paper.one_file import one_file
from webapp.web.paper.sizes import PAPERS, PaperName
from webapp.web.typed import Counted

router = APIRouter()
ChosenStep = Literal["one-page"] | Annotated[int, Field(ge=0, le=LAST)]
"""How far a sheet gives way; until it is one page, a script of the page sees to."""
_WHICH: Final[tuple[tuple[Which, str], ...]] = (("all", "all"), ("kept", "kept and hero"), ("hero", "hero"))
_READERS: Final[tuple[tuple[Reader, str], ...]] = (
    ("studio", "the studio: with settings"),
    ("client", "a client: pictures alone"),
)
_KEEP: Final = {"Cache-Control": "private, max-age=31536000, immutable"}


@router.get("/recipes/{recipe_id}/sheet")
def set_up_sheet(
    request: Request,
    services: InServices,
    recipe_id: str,
    paper: PaperName = "a4",
    link: str = "",
    step: ChosenStep = "one-page",
    kit: KitTold = "",
) -> Response:
    """The set-up sheet of the newest version."""
    return _set_up_sheet(request, services, recipe_id, None, paper, link, step, kit)


@router.get("/recipes/{recipe_id}/versions/{number}/sheet")
def set_up_sheet_of_version(
    request: Request,
    services: InServices,
    recipe_id: str,
    number: Counted,
    paper: PaperName = "a4",
    link: str = "",
    step: ChosenStep = "one-page",
    kit: KitTold = "",
) -> Response:
    """The set-up sheet of a version."""
    return _set_up_sheet(request, services, recipe_id, number, paper, link, step, kit)


def _set_up_sheet(
    request: Request,
    services: Services,
    recipe_id: str,
    number: int | None,
    paper: PaperName,
    link: str,
    step: ChosenStep,
    kit: KitTold,
) -> Response:
    made = making.of_recipe(
        services,
        recipe_id,
        number,
        paper=paper,
        link=link,
        kit=kit,
        base_url=services.doors.address_for_readers(str(request.base_url)),
    )
    return whole_page(
        request,
        "sheet.html",
        made=made,
        sheet=made.sheet_at(STEPS[0 if step == "one-page" else step]),
        said_kit=kit,
        papers=PAPERS.values(),
        giving_way=STEPS,
        step=step,
        has_pdf=pdf.is_there(),
    )


@router.get("/recipes/{recipe_id}/versions/{number}/file")
@owner_only
def handed_over(
    services: InServices,
    recipe_id: str,
    number: Counted,
    reader: str,
    figures: bool = False,
    kit_names: bool = False,
    words: str = "",
    keep: str = "",
    paper: PaperName = "a4",
) -> Response:
    """A version as a page in one file, for a reader without a way to this server."""
    opened = links.as_seen(services.records, recipe_id, number, Choices(reader, figures, kit_names, words, keep))
    made = one_file(services, opened, version=number, paper=paper, lengths=units.lengths(services.records))
    told = {"Content-Disposition": f'attachment; filename="{made.name}"', "Cache-Control": "no-store"}
    return Response(made.content, media_type="text/html", headers=told)


@router.get("/shots/{shot_id}/contact-sheet")
def contact_sheet(
    request: Request,
    services: InServices,
    shot_id: str,
    paper: PaperName = "a4",
    from_frame: Annotated[int, Query(ge=1, le=2**31)] = 1,
    which: Which = "all",
    reader: Reader = "studio",
) -> Response:
    """The frames of a shot, from a number on: all, kept or heroes; with their settings, or for a client."""
    made = making.of_shot(services, shot_id, paper=paper, from_frame=from_frame, which=which, reader=reader)
    return whole_page(
        request,
        "contact_sheet.html",
        made=made,
        sheet=made.sheet,
        papers=PAPERS.values(),
        whiches=_WHICH,
        readers=_READERS,
        chosen=urlencode({"paper": made.sheet.paper.name, "which": which, "reader": reader}),
        has_pdf=pdf.is_there(),
        pictures_at=making.FRAME_PICTURES,
    )


@router.get("/pictures/{digest}/small")
def small_picture(services: InServices, digest: str) -> Response:
    return Response(making.small_picture(services, digest), media_type="image/jpeg", headers=_KEEP)

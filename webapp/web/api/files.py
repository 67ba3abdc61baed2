"""What is carried away as a file: sheets as PDF, the ledger as CSV, settings as XMP beside a picture."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any, Final, Literal
from urllib.parse import quote

from fastapi import APIRouter, Path, Query, Request
from starlette.responses import Response, StreamingResponse

from webapp.exports import ledger_csv, session_zip, sidecars
from webapp.kit import units
from webapp.recipes.share import links
from webapp.recipes.share.links import LONGEST_WORDS
from webapp.security.identity import owner_only
from webapp.services import InServices, Services
from webapp.web.api.requests import ItemId
from webapp.web.paper import making
from webapp.web.paper.contact_sheet import Reader, Which
from webapp.web.paper.making import KitTold
from webapp.web.paper.one_file import one_file
from webapp.web.paper.sizes import PaperName
from webapp.web.words.entries import entry_words
from webapp.web.words.say import say

router = APIRouter(tags=["files"])

VersionNumber = Annotated[int, Path(ge=1, le=10_000)]
ChosenPaper = Annotated[PaperName, Query(description="the paper that the sheet is laid out for")]
ChosenLink = Annotated[
    str,
    Query(max_length=60, description="token of the link whose QR code is printed; empty for a student's, or none"),
]
ChosenKit = Annotated[
    KitTold, Query(description="kit by its names or its figures; empty as the link has it, and without one by names")
]
WhichFrames = Annotated[
    Which, Query(description="all frames, those that were kept with the heroes, or the heroes alone")
]
SheetReader = Annotated[
    Reader, Query(description="with settings, readings and notes for the studio; numbers and pictures for a client")
]
FromFrame = Annotated[int, Query(ge=1, le=2**31, description="the number of the first frame on the sheet")]


LEDGER_WORDS: Final = ledger_csv.LedgerWords(say, partial(entry_words, named=False))

_PDF_TYPE: Final = "application/pdf"
_HTML_TYPE: Final = "text/html; charset=utf-8"
_CSV_TYPE: Final = "text/csv; charset=utf-8"
_XMP_TYPE: Final = "application/rdf+xml"
_ZIP_TYPE: Final = "application/zip"


def _of_type(media_type: str, description: str) -> dict[int | str, dict[str, Any]]:
    """An answer that is a file, as the interface describes it; refusals stay JSON."""
    file = {"schema": {"type": "string", "format": "binary"}}
    return {200: {"description": description, "content": {media_type: file}}}


_PDF: Final = _of_type(_PDF_TYPE, "The sheet.")
_HTML: Final = _of_type(_HTML_TYPE, "The page.")
_CSV: Final = _of_type(_CSV_TYPE, "The ledger, in UTF-8 (RFC 4180).")
_XMP: Final = _of_type(_XMP_TYPE, "An XMP packet (ISO 16684-1).")
_ZIP: Final = _of_type(_ZIP_TYPE, "The sidecars.")


@router.get("/recipes/{recipe_id}/sheet.pdf", response_class=Response, responses=_PDF)
def set_up_sheet(
    request: Request,
    services: InServices,
    recipe_id: ItemId,
    paper: ChosenPaper = "a4",
    link: ChosenLink = "",
    kit: ChosenKit = "",
) -> Response:
    """The set-up sheet of a recipe's newest version, on one page."""
    return _set_up_sheet(request, services, recipe_id, None, paper, link, kit)


@router.get("/recipes/{recipe_id}/versions/{number}/sheet.pdf", response_class=Response, responses=_PDF)
def set_up_sheet_of_version(
    request: Request,
    services: InServices,
    recipe_id: ItemId,
    number: VersionNumber,
    paper: ChosenPaper = "a4",
    link: ChosenLink = "",
    kit: ChosenKit = "",
) -> Response:
    """The set-up sheet of a version, on one page."""
    return _set_up_sheet(request, services, recipe_id, number, paper, link, kit)


def _set_up_sheet(
    request: Request,
    services: Services,
    recipe_id: str,
    number: int | None,
    paper: PaperName,
    link: str,
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
    return Response(
        making.recipe_pdf(services, made),
        media_type=_PDF_TYPE,
        headers=_named(f"set-up-sheet-{made.published.number}.pdf"),
    )


@router.get("/recipes/{recipe_id}/versions/{number}/page.html", response_class=Response, responses=_HTML)
@owner_only
def handed_over(
    services: InServices,
    recipe_id: ItemId,
    number: VersionNumber,
    reader: Annotated[Literal["student", "client"], Query()],
    figures: Annotated[bool, Query(description="whether a client sees the settings")] = False,
    kit_names: Annotated[bool, Query(description="kit by the names it has here, rather than by its figures")] = False,
    words: Annotated[str, Query(max_length=LONGEST_WORDS, description="what was agreed, or what to expect")] = "",
    keep: Annotated[str, Query(max_length=LONGEST_WORDS, description="for a client: what to keep next time")] = "",
    paper: ChosenPaper = "a4",
) -> Response:
    """A version as a page in one file: pictures, figures, plan and workings, with no script and no address of another
    file in it. Printed, a student's is the set-up sheet."""
    opened = links.as_seen(
        services.records, recipe_id, number, links.Choices(reader, figures, kit_names, words, keep)
    )
    made = one_file(services, opened, version=number, paper=paper, lengths=units.lengths(services.records))
    return Response(made.content, media_type=_HTML_TYPE, headers=_named(made.name))


@router.get("/shots/{shot_id}/contact-sheet.pdf", response_class=Response, responses=_PDF)
def contact_sheet(
    services: InServices,
    shot_id: ItemId,
    paper: ChosenPaper = "a4",
    from_frame: FromFrame = 1,
    which: WhichFrames = "all",
    reader: SheetReader = "studio",
) -> Response:
    """The contact sheet of a shot: its frames from a number on, 240 at most."""
    made = making.of_shot(services, shot_id, paper=paper, from_frame=from_frame, which=which, reader=reader)
    return Response(making.shot_pdf(services, made), media_type=_PDF_TYPE, headers=_named("contact-sheet.pdf"))


@router.get("/shots/{shot_id}/ledger.csv", response_class=Response, responses=_CSV)
def ledger_of_shot(services: InServices, shot_id: ItemId) -> Response:
    """The ledger of a shot: a line for each light of each frame, one for its ambient light, one for each patch read.
    A text that a spreadsheet would run as a formula has an apostrophe in front, as has one that begins with an
    apostrophe: take one off, and it is as it was written."""
    return StreamingResponse(
        ledger_csv.of_shot(services.records, shot_id, LEDGER_WORDS),
        media_type=_CSV_TYPE,
        headers=_named("ledger.csv"),
    )


@router.get("/sessions/{session_id}/ledger.csv", response_class=Response, responses=_CSV)
def ledger_of_session(services: InServices, session_id: ItemId) -> Response:
    """The ledgers of all shots of a session, in the same form."""
    return StreamingResponse(
        ledger_csv.of_session(services.records, session_id, LEDGER_WORDS),
        media_type=_CSV_TYPE,
        headers=_named("ledger.csv"),
    )


@router.get("/sessions/{session_id}/everything.zip", response_class=Response, responses=_ZIP)
@owner_only
def everything_of_session(services: InServices, session_id: ItemId) -> Response:
    """A session with all that is said in it, its ledger, its pictures as they came from the camera and a sidecar for
    each."""
    return StreamingResponse(
        session_zip.of_session(services.records, services.store, session_id, LEDGER_WORDS, say),
        media_type=_ZIP_TYPE,
        headers=_named("session.zip"),
    )


@router.get("/frames/{frame_id}/sidecar.xmp", response_class=Response, responses=_XMP)
def sidecar(services: InServices, frame_id: ItemId) -> Response:
    """The frame's settings as an XMP packet, under the name of its picture file."""
    made = sidecars.of_frame(services.records, frame_id, say)
    return Response(made.content, media_type=_XMP_TYPE, headers=_named(made.name))


@router.get("/shots/{shot_id}/sidecars.zip", response_class=Response, responses=_ZIP)
def sidecars_of_shot(services: InServices, shot_id: ItemId) -> Response:
    """A sidecar for every picture file of a shot. Where two frames have files of one name, the later lies in a folder
    of its own."""
    return Response(
        sidecars.zipped(services.records, shot_id, say), media_type=_ZIP_TYPE, headers=_named("sidecars.zip")
    )


def _named(name: str) -> dict[str, str]:
    """The headers of a download. Its name goes out as UTF-8 (RFC 6266), with a plain one beside it."""
    plain = name.encode("ascii", "replace").decode().replace("?", "_").replace('"', "_")
    told = f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}"
    return {"Content-Disposition": told, "Cache-Control": "no-store"}

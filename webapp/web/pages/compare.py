"""Two frames compared: the page, its tiles, and what was gained and lost in sharpness."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import FileResponse, HTMLResponse, JSONResponse, RedirectResponse, Response

from webapp.errors import InvalidValue, NotFound
from webapp.kit import units
from webapp.quantities.numbers import read_number
from webapp.records import shots as shot_records
from webapp.services import InServices, Services
from webapp.shoots import frames
from webapp.shoots.compare import Compared, compared
from webapp.shoots.tiles import held_over, maps_of, nudged
from webapp.web.pages.compare_view import compare_view, laid_view, sharpness_view
from webapp.web.pages.desk_services import KEEP
from webapp.web.pages.form_view import Choice
from webapp.web.pages.progress_view import maps_progress, tiles_progress
from webapp.web.pages.render import fragment, render, wants_partial, whole_page
from webapp.web.typed import Counted

router = APIRouter()
_OTHERS = 200
_MOST_LIFT_STOPS = 10.0
Lift = Annotated[str, Query(max_length=20)]


@router.get("/frames/{frame_id}/compare")
def choose_other(services: InServices, frame_id: str, other: str = "") -> Response:
    """To the page that compares a frame with another: the one that was chosen, else the reference, else a neighbour."""
    other = other or _usual_other(services, frame_id)
    return RedirectResponse(f"/frames/{other}/compare/{frame_id}" if other else f"/frames/{frame_id}", 303)


def _usual_other(services: Services, frame_id: str) -> str:
    story = frames.story(services.records, frame_id)
    reference = story.shot.reference_frame_id
    if reference is not None and reference != frame_id:
        return reference
    with services.records.reading() as db:
        before = shot_records.frame_before(db, story.shot.id, story.frame.row.stands_at)
        after = shot_records.frame_before(db, story.shot.id)
    found = next((each for each in (before, after) if each is not None and each.id != frame_id), None)
    return found.id if found else ""


@router.get("/frames/{frame_id}/compare/{other_id}")
def compare_page(
    request: Request, services: InServices, frame_id: str, other_id: str, equalise: str = "", lift: Lift | None = None
) -> Response:
    """The page. Tiles and maps that are missing are begun; until they are there the previews serve. A form that sent its
    `lift` and no `equalise` was unticked; else exposure is equalised."""
    found = compared(services.records, frame_id, other_id)
    _begin_tiles(services, found)
    typed = _typed_lift(lift) if lift and lift.strip() else None
    laid = laid_view(found, None, lift_stops=typed, equalised=bool(equalise) or lift is None)
    view = compare_view(found, laid, others=_others(services, found), lengths=units.lengths(services.records))
    sharpness = sharpness_view(found, maps_of(services.light_table, found, make=True))
    return whole_page(
        request,
        "compare.html",
        view=view,
        laid=laid,
        tiles=tiles_progress(found, services.light_table),
        sharpness=sharpness,
        measuring=maps_progress(found, services.light_table),
        session=found.first.session,
    )


@router.get("/frames/{frame_id}/beside")
@router.get("/frames/{frame_id}/beside/{other_id}")
def older_address(request: Request, frame_id: str, other_id: str = "") -> Response:
    """Where the page stood before."""
    asked = f"?{request.url.query}" if request.url.query else ""
    return RedirectResponse(f"/frames/{frame_id}/compare" + (f"/{other_id}" if other_id else "") + asked, 308)


@router.get("/frames/{frame_id}/compare/{other_id}/laid")
def laid_part(request: Request, services: InServices, frame_id: str, other_id: str) -> Response:
    """How the two lie over each other and how much brighter one is, as their previews tell."""
    if not wants_partial(request):
        return RedirectResponse(f"/frames/{frame_id}/compare/{other_id}", 303)
    found = compared(services.records, frame_id, other_id)
    view = laid_view(found, held_over(services.intake, found), equalised=True)
    return HTMLResponse(fragment("laid.html", laid=view))


@router.get("/frames/{frame_id}/compare/{other_id}/tiles")
def tiles_part(request: Request, services: InServices, frame_id: str, other_id: str) -> Response:
    """How far the tiles are; those that are missing are begun."""
    found = compared(services.records, frame_id, other_id)
    _begin_tiles(services, found)
    view = tiles_progress(found, services.light_table)
    if view is None or not wants_partial(request):
        return RedirectResponse(f"/frames/{frame_id}/compare/{other_id}", 303)
    return HTMLResponse(fragment("progress.html", progress=view))


@router.get("/frames/{frame_id}/compare/{other_id}/sharpness")
def sharpness_part(request: Request, services: InServices, frame_id: str, other_id: str) -> Response:
    """What was gained and lost, once the maps are made."""
    found = compared(services.records, frame_id, other_id)
    maps = maps_of(services.light_table, found, make=True)
    if maps.both is not None:
        found = nudged(found, held_over(services.intake, found))
    view = sharpness_view(found, maps)
    return render(
        request,
        "sharpness.html",
        "sharpness.html",
        sharpness=view,
        measuring=maps_progress(found, services.light_table),
    )


@router.get("/pictures/{digest}/pyramid")
def pyramid(services: InServices, digest: str) -> Response:
    """What tiles there are; where they are not made yet, they are begun."""
    _refuse_unknown(services, digest)
    made = services.light_table.pyramid(digest)
    if made is None:
        services.light_table.pyramid_soon(digest)
        return JSONResponse({"made": False, "trouble": services.light_table.trouble("tiles", digest)})
    sizes = [made.level_size(level) for level in range(made.levels)]
    return JSONResponse({"made": True, "tile": made.tile_px, "levels": sizes})


@router.get("/pictures/{digest}/tiles/{level}/{x}_{y}")
def tile(services: InServices, digest: str, level: Counted, x: Counted, y: Counted) -> Response:
    path = services.light_table.tile_path(digest, level, x, y)
    return FileResponse(path, media_type="image/jpeg", headers=KEEP)


@router.get("/pictures/{digest}/preview/lifted")
def lifted_preview(services: InServices, digest: str, stops: Lift = "0") -> Response:
    """A preview brought up or down in linear light."""
    content = services.intake.lifted(digest, _typed_lift(stops))
    return Response(content, media_type="image/jpeg", headers=KEEP)


def _typed_lift(typed: str) -> float:
    try:
        return read_number(typed, low=-_MOST_LIFT_STOPS, high=_MOST_LIFT_STOPS)
    except ValueError as problem:
        raise InvalidValue("lift", "A picture is lifted by a number of stops between −10 and 10.") from problem


def _begin_tiles(services: Services, found: Compared) -> None:
    if found.laid is not None:
        for side in (found.first, found.second):
            if side.picture is not None:
                services.light_table.pyramid_soon(side.picture.digest)


def _refuse_unknown(services: Services, digest: str) -> None:
    with services.records.reading() as db:
        if shot_records.picture_with_digest(db, digest) is None:
            raise NotFound("There is no such picture.")


def _others(services: Services, found: Compared) -> list[Choice]:
    """The other frames of the second's shot, to put in the first's place."""
    second, first = found.second.frame.row, found.first.frame.row
    listed = frames.page_of(services.records, second.shot_id, limit=_OTHERS)
    return [
        Choice(each.row.id, f"frame {each.row.number}", each.row.id == first.id)
        for each in listed
        if each.row.id != second.id
    ]

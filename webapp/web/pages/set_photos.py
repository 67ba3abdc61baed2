"""Photos of the set: added from a phone, told what they show, placed on the plan, and deleted."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, File, Request, UploadFile
from starlette.concurrency import run_in_threadpool
from starlette.responses import FileResponse, Response

from webapp.errors import Conflict, InvalidValue, NotKept, PictureRefused, StaleRecord
from webapp.kit import units
from webapp.records.tables import SetPhoto
from webapp.security.identity import Identity, Right, owner_only
from webapp.services import InServices, Services
from webapp.shoots import set_photos, set_up_now
from webapp.web.pages.desk_services import thumbnail_answer
from webapp.web.pages.form_view import parted
from webapp.web.pages.render import go_to, render, wants_partial
from webapp.web.pages.sessions import said_in
from webapp.web.pages.set_photo_view import photo_view, photos_view
from webapp.web.pages.shots import chunks_of
from webapp.web.typed import typed_spot

router = APIRouter()
# Shown only as long as the house shows it: asked for again each time, and gone once the photo is deleted.
_ASK_AGAIN = {"Cache-Control": "private, no-cache"}


@router.get("/shots/{shot_id}/photos")
def photos_page(request: Request, services: InServices, shot_id: str) -> Response:
    return _photos(request, services, shot_id)


@router.post("/shots/{shot_id}/photos")
def add_photos(
    request: Request, services: InServices, shot_id: str, photo: Annotated[list[UploadFile] | None, File()] = None
) -> Response:
    """Add photos to the set. One that is none costs the others nothing, and it is said which."""
    refused = []
    for each in (each for each in photo or () if each.filename):
        try:
            set_photos.add(services.records, services.intake, shot_id, each.filename or "", chunks_of(each))
        except NotKept:
            raise
        except (PictureRefused, Conflict) as reason:
            refused.append(f"{each.filename}: {reason}")
    if refused:
        return _photos(request, services, shot_id, " ".join(refused))
    if not wants_partial(request):
        return go_to(request, f"/shots/{shot_id}/photos")
    return _photos(request, services, shot_id)


def _photos(request: Request, services: Services, shot_id: str, problem: str = "") -> Response:
    found = set_photos.of_shot(services.records, shot_id)
    shot = set_up_now.state(services.records, shot_id).shot
    view = photos_view(shot_id, found, problem)
    return render(
        request, "set_photos.html", "set_photos.html", status=422 if problem else 200, photos=view, shot=shot
    )


@router.get("/set-photos/{photo_id}")
def photo_page(request: Request, services: InServices, photo_id: str) -> Response:
    """One photo, what it shows, and where it was taken."""
    return _photo(request, services, set_photos.one(services.records, photo_id))


@router.post("/set-photos/{photo_id}")
async def tell(request: Request, services: InServices, photo_id: str) -> Response:
    """Say what a photo shows."""
    return await run_in_threadpool(_tell, request, services, photo_id, await said_in(request))


def _tell(request: Request, services: Services, photo_id: str, said: dict[str, str]) -> Response:
    try:
        fields, revision = parted(said)
        photo = set_photos.tell(services.records, photo_id, fields.get("caption", ""), revision)
    except (InvalidValue, StaleRecord) as problem:
        return _refused(request, services, photo_id, said, problem)
    return _kept(request, services, photo)


@router.post("/set-photos/{photo_id}/place")
async def place(request: Request, services: InServices, photo_id: str) -> Response:
    """Place a photo on the plan, by a tap or by numbers, or take it off it."""
    return await run_in_threadpool(_place, request, services, photo_id, await said_in(request))


def _place(request: Request, services: Services, photo_id: str, said: dict[str, str]) -> Response:
    try:
        fields, revision = parted(said)
        spot = None if "away" in fields else typed_spot(fields, units.lengths(services.records))
        photo = set_photos.place(services.records, photo_id, spot, revision)
    except (InvalidValue, StaleRecord) as problem:
        return _refused(request, services, photo_id, said, problem)
    return _kept(request, services, photo)


@router.post("/set-photos/{photo_id}/delete")
@owner_only
def delete(request: Request, services: InServices, photo_id: str) -> Response:
    """Delete a photo for good."""
    shot_id = set_photos.delete(services.records, services.settings, services.store, photo_id)
    return go_to(request, f"/shots/{shot_id}/photos")


@router.get("/set-photos/{photo_id}/picture")
def picture(services: InServices, photo_id: str) -> Response:
    """What a page shows of a photo, made of its pixels alone."""
    photo = set_photos.one(services.records, photo_id)
    path = services.intake.photo_preview(photo.digest)
    return FileResponse(path, media_type="image/jpeg", headers=_ASK_AGAIN)


@router.get("/set-photos/{photo_id}/thumbnail")
def thumbnail(services: InServices, photo_id: str) -> Response:
    photo = set_photos.one(services.records, photo_id)
    answer = thumbnail_answer(services, photo.digest, services.intake.photo_preview(photo.digest))
    answer.headers.update(_ASK_AGAIN)
    return answer


def _kept(request: Request, services: Services, photo: SetPhoto) -> Response:
    if not wants_partial(request):
        return go_to(request, f"/set-photos/{photo.id}")
    return _photo(request, services, photo)


def _refused(
    request: Request, services: Services, photo_id: str, said: dict[str, str], problem: InvalidValue | StaleRecord
) -> Response:
    return _photo(request, services, set_photos.one(services.records, photo_id), said, problem)


def _photo(
    request: Request,
    services: Services,
    photo: SetPhoto,
    said: dict[str, str] | None = None,
    problem: InvalidValue | StaleRecord | None = None,
) -> Response:
    status = 200 if problem is None else 409 if isinstance(problem, StaleRecord) else 422
    state = set_up_now.state(services.records, photo.shot_id)
    found = set_photos.of_shot(services.records, photo.shot_id)
    asking: Identity = request.scope["identity"]
    view = photo_view(
        photo,
        found,
        state.shot,
        state.set_up,
        units.lengths(services.records),
        may_delete=asking.may(Right.OWN),
        said=said,
        problem=problem,
    )
    return render(request, "set_photo.html", "set_photo.html", status=status, photo=view)

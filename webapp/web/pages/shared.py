"""Links: shared and withdrawn in the house, read outside of it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from webapp.errors import InvalidValue
from webapp.recipes.share import links, photos
from webapp.recipes.share.links import STUDENT, Choices, Opened, pictures_shown
from webapp.records import recipes as recipe_records
from webapp.security.identity import Right, asks_for, owner_only
from webapp.services import InServices
from webapp.web.pages.link_view import (
    PRIVATE,
    UNTIL_WITHDRAWN,
    code_answer,
    picture_answer,
    prefilled_lines,
    reader_words,
    shared_answer,
)
from webapp.web.pages.recipe_view import PictureShown, kept_address, levels_of, pictures_shown_at, steps_of
from webapp.web.pages.render import go_to
from webapp.web.pages.shots import FormText
from webapp.web.typed import Counted
from webapp.web.words.shared import shown_at

router = APIRouter()
# Digits; how many days an address may last is the use-case's to say.
_LONGEST_DAYS = 9


def days_in(text: str) -> int | None:
    """How many days an address lasts, as it was typed or left; None until it is withdrawn. Raises InvalidValue."""
    typed = text.strip()
    if typed == UNTIL_WITHDRAWN:
        return None
    if not typed:
        return links.USUAL_DAYS
    if not (typed.isascii() and typed.isdecimal() and len(typed) <= _LONGEST_DAYS):
        raise InvalidValue("days", "A link lasts a whole number of days, or until it is withdrawn.")
    return int(typed)


@router.post("/recipes/{recipe_id}/links")
@owner_only
def hand_out(
    request: Request,
    services: InServices,
    recipe_id: str,
    number: Annotated[Counted, Form(ge=1)],
    reader: FormText,
    figures: FormText = "",
    days: FormText = "",
    words: FormText = "",
    keep: FormText = "",
    kit_names: FormText = "",
    with_bundle: FormText = "",
) -> Response:
    """Make an address to one version."""
    choices = Choices(reader, figures == "true", kit_names == "true", words, keep, with_bundle == "true")
    links.hand_out(services.records, recipe_id, number, choices, days=days_in(days))
    return go_to(request, f"/recipes/{recipe_id}#links")


@router.post("/links/{token}/withdraw")
@owner_only
def withdraw(request: Request, services: InServices, token: str) -> Response:
    return go_to(request, f"/recipes/{links.withdraw(services.records, token)}#links")


@router.post("/links/{token}/pictures/{digest}")
@owner_only
def show_picture(request: Request, services: InServices, token: str, digest: str, shown: FormText = "") -> Response:
    """Withdraw one picture from an address, or show it there again."""
    recipe_id = links.show_picture(services.records, token, digest, shown=shown == "true")
    return go_to(request, f"/recipes/{recipe_id}#links")


@router.get("/links/{token}/code.svg")
@owner_only
def code(request: Request, services: InServices, token: str) -> Response:
    """The address as a QR code."""
    with services.records.reading() as db:
        recipe_records.link_with(db, token)
    return code_answer(f"{services.doors.address_for_readers(str(request.base_url))}shared/{token}")


@router.get("/recipes/{recipe_id}/versions/{number}/as/{reader}")
@owner_only
def preview(
    services: InServices, recipe_id: str, number: Counted, reader: str, figures: bool = False, kit_names: bool = False
) -> Response:
    """As they will see it, before there is an address."""
    seen = links.as_seen(services.records, recipe_id, number, Choices(reader, figures, kit_names))
    shown = pictures_shown(seen.recipe, reader)
    ticked = [each.photo for each in photos.tickable(services.records, recipe_id) if each.shared]
    of_set = [f"/set-photos/{each.id}/picture" for each in ticked] if reader == STUDENT else []
    pictures = pictures_shown_at(services.store, shown, kept_address)
    here = f"/recipes/{recipe_id}/versions/{number}/as/{reader}"
    return _page(seen, here, pictures, of_set, preview=f"As a {reader} sees it; not shared yet")


@router.get("/shared/{token}")
@asks_for(Right.LINK)
def shared_page(services: InServices, token: str) -> Response:
    opened = links.opened(services.records, token)
    here = f"/shared/{token}"
    of_set = [f"{here}/set/{place}" for place, _ in enumerate(photos.at_link(services.records, token))]
    shown = pictures_shown(opened.recipe, opened.reader)
    pictures = pictures_shown_at(services.store, shown, lambda place, _: f"{here}/pictures/{place}")
    return _page(opened, here, pictures, of_set)


@router.get("/shared/{token}/pictures/{place}")
@asks_for(Right.LINK)
def shared_picture(request: Request, services: InServices, token: str, place: Counted) -> Response:
    """A picture as long as the address shows it: a browser that has it asks each time, and is told no more than that it
    may show it still."""
    digest = links.picture_at(services.records, token, place)
    tag = f"{digest}-{links.SHARED_LONGEST_PX}"
    return picture_answer(request, tag, lambda: links.picture_of(services.intake, digest))


@router.get("/shared/{token}/set/{place}")
@asks_for(Right.LINK)
def shared_photo(services: InServices, token: str, place: Counted) -> Response:
    """A photo of the set that was ticked for the recipe, made anew from its pixels. No browser keeps it."""
    content = links.picture_of(services.intake, photos.digest_at(services.records, token, place))
    return Response(content, media_type="image/jpeg", headers=PRIVATE)


@router.post("/recipes/{recipe_id}/set-photos")
@owner_only
def tick_photos(
    request: Request, services: InServices, recipe_id: str, photo: Annotated[list[str] | None, Form()] = None
) -> Response:
    """Let the ticked photos of the set out with a recipe, and no others any more."""
    photos.tick(services.records, recipe_id, photo or [])
    return go_to(request, f"/recipes/{recipe_id}#set-photos")


@router.get("/shared/{token}/picture.jpg")
@asks_for(Right.LINK)
def downloaded_picture(services: InServices, token: str) -> Response:
    """The result, as large as it is kept here."""
    content = links.picture_of(services.intake, links.picture_at(services.records, token, 0), links.LARGEST_PX)
    told = PRIVATE | {"Content-Disposition": 'attachment; filename="picture.jpg"'}
    return Response(content, media_type="image/jpeg", headers=told)


def _page(
    opened: Opened, here: str, pictures: tuple[PictureShown, ...], of_set: list[str], *, preview: str = ""
) -> Response:
    """`of_set` are the addresses of the photos of the set that were ticked."""
    shared, is_student = shown_at(opened), opened.reader == STUDENT
    return shared_answer(
        "shared.html",
        title=shared.title,
        shared=shared,
        pictures=pictures,
        of_set=of_set,
        levels=levels_of(shared),
        steps=steps_of(shared.workings),
        here=here,
        worksheets=prefilled_lines(opened.recipe, here) if is_student else (),
        download="" if preview or not shared.pictures else f"{here}/picture.jpg",
        with_bundle=opened.with_bundle,
        until=reader_words(opened),
        preview=preview,
    )

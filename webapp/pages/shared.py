"""Links: handed out and withdrawn in the house, read outside of it."""

from __future__ import annotations

import io
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from webapp.errors import InvalidValue
from webapp.house import InHouse
from webapp.pages.recipe_view import steps_of
from webapp.pages.render import environment, go_to
from webapp.pages.shots import FormText
from webapp.recipes import publishing, sharing
from webapp.recipes.sharing import SharedRecipe
from webapp.records import recipes as recipe_records

router = APIRouter()
# A reader's address is nobody else's: not kept on the way, not passed on, not indexed.
_PRIVATE = {"Cache-Control": "private, no-store", "Referrer-Policy": "no-referrer", "X-Robots-Tag": "noindex"}
_PICTURE = _PRIVATE | {"Cache-Control": "private, max-age=3600"}


@router.post("/recipes/{recipe_id}/links")
def hand_out(
    request: Request,
    house: InHouse,
    recipe_id: str,
    number: Annotated[int, Form(ge=1)],
    reader: FormText,
    figures: FormText = "",
    days: FormText = "",
    words: FormText = "",
) -> Response:
    """Make an address to one version."""
    if days.strip() and not days.strip().isdecimal():
        raise InvalidValue("days", "A link lasts a whole number of days, or until it is withdrawn.")
    sharing.hand_out(
        house.records,
        recipe_id,
        number=number,
        reader=reader,
        figures=figures == "true",
        days=int(days) if days.strip() else None,
        words=words,
    )
    return go_to(request, f"/recipes/{recipe_id}#links")


@router.post("/links/{token}/withdraw")
def withdraw(request: Request, house: InHouse, token: str) -> Response:
    return go_to(request, f"/recipes/{sharing.withdraw(house.records, token)}#links")


@router.get("/links/{token}/code.svg")
def code(request: Request, house: InHouse, token: str) -> Response:
    """The address as a QR code."""
    import segno

    with house.records.reading() as db:
        recipe_records.link_with(db, token)
    out = io.BytesIO()
    segno.make(f"{request.base_url}shared/{token}", error="m").save(out, kind="svg", scale=4, border=4)
    return Response(out.getvalue(), media_type="image/svg+xml", headers=_PRIVATE)


@router.get("/recipes/{recipe_id}/versions/{number}/as/{reader}")
def preview(house: InHouse, recipe_id: str, number: int, reader: str, figures: bool = False) -> Response:
    """As they will see it, before there is an address."""
    if reader not in sharing.READERS:
        raise InvalidValue("reader", f"A link is for one of: {', '.join(sharing.READERS)}.")
    recipe = publishing.read(house.records, recipe_id, number).recipe
    shown = sharing.shared_recipe(recipe, reader, figures=figures)
    addresses = [f"/recipes/pictures/{each.digest}" for each in shown.pictures]
    return _page(shown, addresses, preview=True)


@router.get("/shared/{token}")
def shared_page(house: InHouse, token: str) -> Response:
    shown = sharing.opened(house.records, token)
    return _page(shown, [f"/shared/{token}/pictures/{place}" for place in range(len(shown.pictures))])


@router.get("/shared/{token}/pictures/{place}")
def shared_picture(house: InHouse, token: str, place: int) -> Response:
    content = sharing.picture_of(house.records, house.store, token, place)
    return Response(content, media_type="image/jpeg", headers=_PICTURE)


def _page(shown: SharedRecipe, pictures: list[str], *, preview: bool = False) -> Response:
    text = (
        environment()
        .get_template("pages/shared.html")
        .render(
            shared=shown,
            pictures=[(address, each.words) for address, each in zip(pictures, shown.pictures, strict=True)],
            steps=steps_of(shown.workings),
            preview=preview,
        )
    )
    return Response(text, media_type="text/html", headers=_PRIVATE)

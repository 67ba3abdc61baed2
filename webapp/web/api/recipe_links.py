"""Recipes shared and exported: links to one version, and bundles out and in."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from fastapi import APIRouter, Depends, Path, Request, Response
from pydantic import Field

from webapp.errors import InvalidValue
from webapp.exports import bundle
from webapp.exports.bundle_file import MOST_BYTES
from webapp.exports.fetching import fetch_bundle
from webapp.recipes import publish
from webapp.recipes.share import links as shared_links
from webapp.records import recipes as recipe_records
from webapp.security.identity import owner_only
from webapp.services import InServices, Services
from webapp.web.api.frames import SaveKey
from webapp.web.api.recipe_answers import LinkAnswer, RecipeAnswer
from webapp.web.api.requests import Body, ItemId, JsonRoute, Switch, Whole
from webapp.web.words.sheet_text import BUNDLE_WORDS

router = APIRouter(tags=["recipes"], route_class=JsonRoute)

Token = Annotated[str, Path(max_length=100, description="the token of a link")]


_LONGEST: Final = shared_links.LONGEST_WORDS
_ZIP: Final = "application/zip"
_AS_FILE: Final = {"Content-Disposition": 'attachment; filename="recipe.zip"', "Cache-Control": "no-store"}
_BYTES: Final = {"schema": {"type": "string", "format": "binary"}}
_A_BUNDLE: Final[dict[int | str, dict[str, Any]]] = {
    200: {"description": "A zip with all versions and their pictures.", "content": {_ZIP: _BYTES}}
}
_BUNDLE_BODY: Final = {"requestBody": {"required": True, "content": {_ZIP: _BYTES}}}


Digest = Annotated[str, Path(pattern="^[0-9a-f]{64}$", description="the SHA-256 of a picture of the recipe")]


class ShownPicture(Body):
    shown: Switch


class NewLink(Body):
    """An address to share, to one version (or to the newest). With `days` null it lasts until it is withdrawn."""

    reader: Literal["student", "client"]
    version: Annotated[Whole | None, Field(ge=1, le=10_000)] = None
    figures: Switch = Field(False, description="whether a client sees the settings")
    kit_names: Switch = Field(False, description="kit by the names it has here, rather than by its figures")
    with_bundle: Switch = Field(False, description="whether another Stopledger may take the recipe in from it")
    days: Annotated[Whole | None, Field(ge=1, le=shared_links.LONGEST_DAYS)] = shared_links.USUAL_DAYS
    words: Annotated[str, Field(max_length=_LONGEST, description="what was agreed, or what to expect")] = ""
    keep: Annotated[str, Field(max_length=_LONGEST, description="for a client: what to keep for the next time")] = ""


class LinkToTakeIn(Body):
    """The address of a link of another Stopledger, made there for other houses."""

    address: Annotated[str, Field(max_length=500)]
    own_network: Switch = Field(False, description="whether it is meant that the address is in this server's network")


@router.get("/recipes/{recipe_id}/links")
@owner_only
def links(services: InServices, recipe_id: ItemId) -> list[LinkAnswer]:
    """Every link to a recipe, the newest first; the withdrawn and expired too."""
    return _links(services, recipe_id)


@router.post("/recipes/{recipe_id}/links", status_code=201)
@owner_only
def hand_out(services: InServices, recipe_id: ItemId, said: NewLink, save_key: SaveKey = None) -> LinkAnswer:
    """Share an address that cannot be guessed."""
    number = publish.read(services.records, recipe_id, said.version).number
    token = shared_links.hand_out(
        services.records,
        recipe_id,
        number,
        shared_links.Choices(said.reader, said.figures, said.kit_names, said.words, said.keep, said.with_bundle),
        days=said.days,
        save_key=save_key,
    )
    return next(each for each in _links(services, recipe_id) if each.token == token)


@router.delete("/links/{token}", status_code=204)
@owner_only
def withdraw(services: InServices, token: Token) -> Response:
    """End an address at once. One that ended already, or never was, is not found."""
    shared_links.withdraw(services.records, token)
    return Response(status_code=204)


@router.put("/links/{token}/pictures/{digest}", status_code=204)
@owner_only
def show_picture(services: InServices, token: Token, digest: Digest, said: ShownPicture) -> Response:
    """Withdraw one picture from an address (`shown` false), or show it there again."""
    shared_links.show_picture(services.records, token, digest, shown=said.shown)
    return Response(status_code=204)


def _links(services: Services, recipe_id: str) -> list[LinkAnswer]:
    with services.records.reading() as db:
        recipe_records.recipe_of(db, recipe_id)
        return [LinkAnswer.of(link, number) for link, number in recipe_records.links_to(db, recipe_id)]


@router.get("/recipes/{recipe_id}/bundle", response_class=Response, responses=_A_BUNDLE)
def carry_out(services: InServices, recipe_id: ItemId) -> Response:
    """A recipe with all its versions and pictures in one zip."""
    content = bundle.bundle_of(services.records, services.store, recipe_id, BUNDLE_WORDS)
    return Response(content, media_type=_ZIP, headers=_AS_FILE)


async def _zip_of(request: Request) -> bytes:
    """The body, read no further than a bundle may reach."""
    if not request.headers.get("content-type", "").startswith(_ZIP):
        raise InvalidValue((), "Send the bundle as it is (application/zip).")
    content = bytearray()
    async for chunk in request.stream():
        content += chunk
        if len(content) > MOST_BYTES:
            break
    return bytes(content)


@router.post(
    "/recipes/bundles",
    status_code=201,
    openapi_extra=_BUNDLE_BODY,
    responses={200: {"model": RecipeAnswer, "description": "It is here already."}},
)
def carry_in(services: InServices, response: Response, content: Annotated[bytes, Depends(_zip_of)]) -> RecipeAnswer:
    """Take a bundle in as a recipe of this house: whole, or refused whole with the reason. Where it is here already,
    the answer is 200 with the recipe that it is."""
    return _taken(services, response, content)


@router.post(
    "/recipes/from-link",
    status_code=201,
    responses={200: {"model": RecipeAnswer, "description": "It is here already."}},
)
@owner_only
def take_from_link(services: InServices, response: Response, said: LinkToTakeIn) -> RecipeAnswer:
    """Import a recipe from the link of another house: fetched over http or https within a minute, 60 MB at most, by
    three redirects at most."""
    return _taken(services, response, fetch_bundle(said.address, own_network=said.own_network))


def _taken(services: Services, response: Response, content: bytes) -> RecipeAnswer:
    taken = bundle.take_in(services.records, services.store, content)
    if not taken.is_new:
        response.status_code = 200
    return RecipeAnswer.model_validate(publish.read(services.records, taken.recipe_id))

"""Recipes carried out and in: one zip with all versions and pictures."""

from __future__ import annotations

import hashlib
from typing import Annotated

from fastapi import APIRouter, File, Form, Request, UploadFile
from starlette.responses import Response

from webapp.exports import bundle
from webapp.exports.bundle_file import MOST_BYTES
from webapp.exports.fetching import fetch_bundle
from webapp.recipes.document import PicturePart
from webapp.recipes.share import links
from webapp.security.identity import Right, asks_for, owner_only
from webapp.services import InServices
from webapp.web.pages.link_view import PRIVATE
from webapp.web.pages.render import go_to
from webapp.web.words.outside import told_outside
from webapp.web.words.sheet_text import BUNDLE_WORDS

router = APIRouter()


@router.get("/recipes/{recipe_id}/bundle")
def carry_out(services: InServices, recipe_id: str) -> Response:
    content = bundle.bundle_of(services.records, services.store, recipe_id, BUNDLE_WORDS)
    headers = {"Content-Disposition": 'attachment; filename="recipe.zip"', "Cache-Control": "no-store"}
    return Response(content, media_type="application/zip", headers=headers)


@router.get("/shared/{token}/bundle")
@asks_for(Right.LINK)
def handed_out(services: InServices, token: str) -> Response:
    """The version that a link shows, as another house takes it in: kit as the link tells it, pictures made anew."""
    opened = links.for_house(services.records, token)
    recipe = told_outside(opened.recipe, kit_names=opened.kit_names, named=opened.named)
    pictures: dict[str, bytes] = {}

    def made_anew(part: PicturePart) -> PicturePart:
        content = services.intake.small(services.store.path_of(part.digest), links.LARGEST_PX)
        digest = hashlib.sha256(content).hexdigest()
        pictures[digest] = content
        return part.model_copy(update={"digest": digest})

    recipe = recipe.model_copy(
        update={
            "result": recipe.result and made_anew(recipe.result),
            "comparisons": tuple(map(made_anew, recipe.comparisons)),
        }
    )
    content = bundle.bundle_of_one(recipe, opened.published_at, opened.identity, pictures, BUNDLE_WORDS)
    return Response(content, media_type="application/zip", headers=PRIVATE)


@router.post("/recipes/from-link")
@owner_only
def take_from_link(
    request: Request,
    services: InServices,
    address: Annotated[str, Form()] = "",
    own_network: Annotated[str, Form()] = "",
) -> Response:
    """Import a recipe from a link of another Stopledger."""
    content = fetch_bundle(address, own_network=own_network == "true")
    return _taken(request, bundle.take_in(services.records, services.store, content))


@router.post("/recipes/bundles")
@owner_only
def carry_in(request: Request, services: InServices, file: Annotated[UploadFile, File()]) -> Response:
    content = file.file.read(MOST_BYTES + 1)
    taken = bundle.take_in(services.records, services.store, content)
    return _taken(request, taken)


def _taken(request: Request, taken: bundle.Taken) -> Response:
    told = "?taken=before" if not taken.is_new else "?taken=beside" if taken.beside else ""
    return go_to(request, f"/recipes/{taken.recipe_id}{told}")

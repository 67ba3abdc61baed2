"""Recipes carried out and in: one zip with all versions and pictures."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, File, Request, UploadFile
from starlette.responses import Response

from webapp.exports import bundle
from webapp.exports.bundle_file import MOST_BYTES
from webapp.security.identity import owner_only
from webapp.services import InServices
from webapp.web.pages.render import go_to
from webapp.web.words.sheet_text import BUNDLE_WORDS

router = APIRouter()


@router.get("/recipes/{recipe_id}/bundle")
def carry_out(services: InServices, recipe_id: str) -> Response:
    content = bundle.bundle_of(services.records, services.store, recipe_id, BUNDLE_WORDS)
    headers = {"Content-Disposition": 'attachment; filename="recipe.zip"', "Cache-Control": "no-store"}
    return Response(content, media_type="application/zip", headers=headers)


@router.post("/recipes/bundles")
@owner_only
def carry_in(request: Request, services: InServices, file: Annotated[UploadFile, File()]) -> Response:
    content = file.file.read(MOST_BYTES + 1)
    taken = bundle.take_in(services.records, services.store, content)
    told = "?taken=before" if not taken.is_new else "?taken=beside" if taken.beside else ""
    return go_to(request, f"/recipes/{taken.recipe_id}{told}")

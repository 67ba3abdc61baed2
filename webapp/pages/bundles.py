"""Recipes carried out and in: one zip with all versions and pictures."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, File, Request, UploadFile
from starlette.responses import Response

from webapp.house import InHouse
from webapp.pages.render import go_to
from webapp.recipes import bundle

router = APIRouter()


@router.get("/recipes/{recipe_id}/bundle")
def carry_out(house: InHouse, recipe_id: str) -> Response:
    content = bundle.bundle_of(house.records, house.store, recipe_id)
    headers = {"Content-Disposition": 'attachment; filename="recipe.zip"', "Cache-Control": "no-store"}
    return Response(content, media_type="application/zip", headers=headers)


@router.post("/recipes/bundles")
def carry_in(request: Request, house: InHouse, file: Annotated[UploadFile, File()]) -> Response:
    content = file.file.read(bundle.MOST_BYTES + 1)
    taken = bundle.take_in(house.records, house.store, content)
    told = "?taken=before" if not taken.is_new else "?taken=beside" if taken.beside else ""
    return go_to(request, f"/recipes/{taken.recipe_id}{told}")

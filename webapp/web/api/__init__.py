"""Thin routers that answer JSON under /api/v1: parse, call one use-case, translate."""

from __future__ import annotations

from fastapi import FastAPI

from webapp.web.api import (
    balance,
    compare,
    evidence,
    files,
    frames,
    in_tray,
    kit,
    learned,
    live_pages,
    plan,
    readings,
    recipe_kit,
    recipe_links,
    recipes,
    remix,
    sessions,
    set_photos,
    standing,
    striking,
    worksheets,
)
from webapp.web.api.requests import REFUSALS

PREFIX = "/api/v1"


def add_to(app: FastAPI) -> None:
    """Include the routers."""
    shoots = (
        balance,
        sessions,
        striking,
        set_photos,
        standing,
        plan,
        frames,
        in_tray,
        readings,
        evidence,
        compare,
        remix,
    )
    for part in (*shoots, live_pages, recipes, recipe_kit, recipe_links, files, kit, learned, worksheets):
        app.include_router(part.router, prefix=PREFIX, responses=REFUSALS)

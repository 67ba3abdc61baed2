"""Thin routers that answer HTML: a page, or the partial inside it."""

from __future__ import annotations

from fastapi import FastAPI

from webapp.pages import (
    adapting,
    beside,
    bundles,
    desk_services,
    frames,
    kit,
    mixture,
    plan,
    readings,
    recipes,
    sessions,
    shared,
    shots,
    worksheets,
)


def add_to(app: FastAPI) -> None:
    """Add every page."""
    for part in (
        sessions,
        shots,
        plan,
        frames,
        beside,
        mixture,
        readings,
        kit,
        worksheets,
        recipes,
        adapting,
        bundles,
        shared,
        desk_services,
    ):
        app.include_router(part.router, include_in_schema=False)

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
    open_page,
    plan,
    plan_suggestions,
    readings,
    recipes,
    reshoot,
    sessions,
    shared,
    shared_tools,
    shots,
    strike,
    worksheets,
)


def add_to(app: FastAPI) -> None:
    """Add every page."""
    for part in (
        sessions,
        shots,
        plan,
        plan_suggestions,
        strike,
        frames,
        beside,
        mixture,
        readings,
        kit,
        worksheets,
        recipes,
        reshoot,
        adapting,
        bundles,
        shared,
        shared_tools,
        open_page,
        desk_services,
    ):
        app.include_router(part.router, include_in_schema=False)

"""Thin routers that answer HTML: a page, or the partial inside it."""

from __future__ import annotations

from fastapi import FastAPI

from webapp.web.pages import (
    adapting,
    bundles,
    compare,
    desk_services,
    frames,
    kit,
    live_page,
    mix,
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
        compare,
        mix,
        readings,
        kit,
        worksheets,
        recipes,
        reshoot,
        adapting,
        bundles,
        shared,
        shared_tools,
        live_page,
        desk_services,
    ):
        app.include_router(part.router, include_in_schema=False)

"""Thin routers that answer HTML: a page, or the partial inside it."""

from __future__ import annotations

from fastapi import FastAPI

from webapp.pages import desk_services, frames, kit, readings, sessions, shots, worksheets


def add_to(app: FastAPI) -> None:
    """Add every page."""
    for part in (sessions, shots, frames, readings, kit, worksheets, desk_services):
        app.include_router(part.router, include_in_schema=False)

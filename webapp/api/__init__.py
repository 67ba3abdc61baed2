"""Thin routers that answer JSON under /api/v1: parse, call one use-case, translate."""

from __future__ import annotations

from fastapi import FastAPI

from webapp.api import balance, comparing, frames, kit, readings, sessions, standing, worksheets
from webapp.api.requests import REFUSALS

PREFIX = "/api/v1"


def add_to(app: FastAPI) -> None:
    """Include the routers."""
    for part in (balance, sessions, standing, frames, readings, comparing, kit, worksheets):
        app.include_router(part.router, prefix=PREFIX, responses=REFUSALS)

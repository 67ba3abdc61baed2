"""Thin routers that answer HTML: a page, or the partial inside it."""

from __future__ import annotations

from importlib import import_module
from typing import Final

from fastapi import FastAPI

_FRONT: Final = "sessions"
_OTHERS: Final = (
    "demo",
    "shots",
    "plan",
    "plan_suggestions",
    "plan_shadows",
    "strike",
    "set_photos",
    "frames",
    "in_tray",
    "compare",
    "remix",
    "readings",
    "kit",
    "worksheets",
    # Before the pages of one recipe, which would take its address for a recipe's.
    "keywords",
    "recipes",
    "reshoot",
    "adapting",
    "bundles",
    "shared",
    "shared_tools",
    "live_page",
    "desk_services",
    "guide",
    "devices",
    "state",
)


def add_front(app: FastAPI) -> None:
    """Add the front page and those of a session; nothing that the others want is imported for it."""
    _add(app, _FRONT)


def add_others(app: FastAPI) -> None:
    """Add every other page."""
    for name in _OTHERS:
        _add(app, name)


def _add(app: FastAPI, name: str) -> None:
    app.include_router(import_module(f"{__name__}.{name}").router, include_in_schema=False)

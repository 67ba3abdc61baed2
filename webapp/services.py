"""What the running server shares: its records, its picture store, and the hub of open pages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, cast

from fastapi import Depends, Request

from webapp.devices import Devices
from webapp.doors import Doors
from webapp.errors import NotAllowed
from webapp.filling import Filling
from webapp.live import Live
from webapp.pictures.store import PictureStore
from webapp.records.engine import Records
from webapp.security.identity import Identity, right_asked
from webapp.settings import Settings
from webapp.shoots.ingest import Intake
from webapp.shoots.tiles import LightTable
from webapp.shoots.tracing import Tracing
from webapp.shoots.watching import Watching


@dataclass(frozen=True, slots=True)
class Services:
    """Made once by `create_app` and handed to every route."""

    settings: Settings
    records: Records
    store: PictureStore
    live: Live
    intake: Intake
    watching: Watching
    light_table: LightTable
    tracing: Tracing
    devices: Devices
    doors: Doors
    filling: Filling


# Coroutines, since FastAPI runs a plain function in a thread of its own, which takes longer than a page's query.
async def _house(request: Request) -> Services:
    return cast(Services, request.app.state.services)


InServices = Annotated[Services, Depends(_house)]


async def _asking(request: Request) -> Identity:
    return cast(Identity, request.scope["identity"])


async def may_ask(request: Request) -> None:
    """Of every route: whether whoever asks has the right that it asks for. Raises NotAllowed."""
    right, identity = right_asked(request.scope["endpoint"], request.method), await _asking(request)
    if not identity.may(right):
        raise NotAllowed(
            "That is for the owner of the house alone. What you logged is kept."
            if identity.is_known
            else "Sign in first."
        )


Asking = Annotated[Identity, Depends(_asking)]
"""Who asks."""

"""What the running server shares: its records, its picture store, and the hub of open pages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, cast

from fastapi import Depends, Request

from webapp.live import Live
from webapp.pictures.store import PictureStore
from webapp.records.engine import Records
from webapp.settings import Settings
from webapp.shoots.ingest import Intake
from webapp.shoots.tiles import LightTable


@dataclass(frozen=True, slots=True)
class Services:
    """Made once by `create_app` and handed to every route."""

    settings: Settings
    records: Records
    store: PictureStore
    live: Live
    intake: Intake
    light_table: LightTable


def _house(request: Request) -> Services:
    return cast(Services, request.app.state.services)


InServices = Annotated[Services, Depends(_house)]

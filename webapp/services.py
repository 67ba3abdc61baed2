"""What the running server shares: its records, its picture store, and the news for open pages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Protocol, cast

from fastapi import Depends, Request

from webapp.followers import Followers
from webapp.news import News
from webapp.pictures.store import PictureStore
from webapp.records.engine import Records
from webapp.settings import Settings
from webapp.shoots.ingest import Intake
from webapp.shoots.tiles import LightTable


class Announce(Protocol):
    """Tells the open pages of a session what changed. `by` is the page that did it and knows already."""

    def standing(self, shot_id: str, by: str = "") -> None:
        """The standing set-up of a shot changed."""

    def frame(self, frame_id: str, by: str = "") -> None:
        """A frame was logged or changed."""

    def notices(self, shot_id: str, by: str = "") -> None:
        """The lines in a shot's log changed."""

    def checklist(self, shot_id: str, by: str = "") -> None:
        """A line of a reshoot's checklist was ticked."""

    def whole_shot(self, shot_id: str, by: str = "") -> None:
        """Many frames changed at once: the reference frame is another."""

    @property
    def telling(self) -> object:
        """What draws the parts of pages that are told; the pages know its type."""

    def close(self) -> None:
        """Nothing more is told: the server is going down."""


@dataclass(frozen=True, slots=True)
class Services:
    """Made once by `create_app` and handed to every route."""

    settings: Settings
    records: Records
    store: PictureStore
    news: News
    intake: Intake
    announce: Announce
    light_table: LightTable
    followers: Followers


def _house(request: Request) -> Services:
    return cast(Services, request.app.state.services)


InServices = Annotated[Services, Depends(_house)]

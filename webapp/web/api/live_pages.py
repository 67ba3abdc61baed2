"""Open pages: addresses at which a class follows a session; and what it reads there."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

from fastapi import APIRouter, Path, Response
from pydantic import BaseModel, ConfigDict, Field

from webapp.recipes.share import live_page
from webapp.recipes.share.live_page import LetOut, OpenSession
from webapp.records import links as link_records
from webapp.records import shots as shot_records
from webapp.records.tables import OpenPage
from webapp.services import InServices
from webapp.web.api.requests import Body, ItemId, JsonRoute, Switch, Whole

router = APIRouter(tags=["sessions"], route_class=JsonRoute)

Token = Annotated[str, Path(max_length=100, description="the token of an open page")]


class NewOpenPage(Body):
    """A page to open on a session. Without `hours` it lasts until it is withdrawn."""

    title: Annotated[str, Field(min_length=1, max_length=120, description="what stands at the head of the page")]
    hours: Annotated[Whole | None, Field(ge=1, le=live_page.LONGEST_HOURS)] = None
    because: Switch = Field(False, description="whether the reason of each frame goes out")
    kit_names: Switch = Field(False, description="kit by the names it has here, rather than by its figures")


class OpenPageAnswer(BaseModel):
    """An address at which a session is followed."""

    model_config = ConfigDict(from_attributes=True)

    token: str
    path: str
    session_id: str
    title: str
    because: bool
    kit_names: bool
    expires_at: dt.datetime | None
    withdrawn_at: dt.datetime | None
    views: int
    made_at: dt.datetime

    @classmethod
    def of(cls, page: OpenPage) -> OpenPageAnswer:
        return cls(**page.model_dump(), path=f"/open/{page.token}")


@router.get("/sessions/{session_id}/open-pages")
def open_pages(services: InServices, session_id: ItemId) -> list[OpenPageAnswer]:
    """Every open page of a session, the newest first; the withdrawn and expired too."""
    with services.records.reading() as db:
        shot_records.session_of(db, session_id)
        return [OpenPageAnswer.of(page) for page in link_records.open_pages_of(db, session_id)]


@router.post("/sessions/{session_id}/open-pages", status_code=201)
def open_up(services: InServices, session_id: ItemId, said: NewOpenPage) -> OpenPageAnswer:
    """Open a page on a session, at an address that cannot be guessed."""
    let_out = LetOut(because=said.because, kit_names=said.kit_names)
    token = live_page.open_up(services.records, session_id, title=said.title, hours=said.hours, let_out=let_out)
    return OpenPageAnswer.of(live_page.still_open(services.records, token))


@router.get("/open-pages/{token}")
def followed(services: InServices, token: Token) -> OpenSession:
    """What a class reads there: nothing but the fields that go out. It counts no view."""
    return live_page.opened(services.records, token)


@router.delete("/open-pages/{token}", status_code=204)
def withdraw(services: InServices, token: Token) -> Response:
    """End an address, and the streams of those who follow it, at once."""
    live_page.withdraw(services.records, token)
    return Response(status_code=204)

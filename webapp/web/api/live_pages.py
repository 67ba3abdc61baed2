"""Live pages: addresses at which a class follows a session; and what it reads there."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

from fastapi import APIRouter, Path, Response
from pydantic import BaseModel, BeforeValidator, Field
from starlette.responses import RedirectResponse

from webapp.quantities.lengths import CENTIMETRES
from webapp.recipes.share import live_page
from webapp.recipes.share.live_page import LetOut, LiveChange
from webapp.records import links as link_records
from webapp.records import shots as shot_records
from webapp.records.tables import LivePage
from webapp.security.identity import owner_only
from webapp.services import InServices
from webapp.web.api.answers import Said
from webapp.web.api.facts import Answer, FactAnswer
from webapp.web.api.requests import Body, ItemId, JsonRoute, Switch, Whole
from webapp.web.words.live_page import change_words, kit_words
from webapp.web.words.plain_kit import piece_words

router = APIRouter(tags=["sessions"], route_class=JsonRoute)

Token = Annotated[str, Path(max_length=100, description="the token of a live page")]


class NewLivePage(Body):
    """A page to open on a session. Without `hours` it lasts until it is withdrawn."""

    title: Annotated[str, Field(min_length=1, max_length=120, description="what stands at the head of the page")]
    hours: Annotated[Whole | None, Field(ge=1, le=live_page.LONGEST_HOURS)] = None
    because: Switch = Field(False, description="whether the reason of each frame goes out")
    kit_names: Switch = Field(False, description="kit by the names it has here, rather than by its figures")


class LivePageAnswer(BaseModel):
    """An address at which a session is followed."""

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
    def of(cls, page: LivePage) -> LivePageAnswer:
        return cls(**page.model_dump(), path=f"/open/{page.token}")


class FollowedLight(Answer):
    """A lit light of a frame: its balance against the reference frame, and how far that is from what is intended."""

    letter: str
    role: str
    kit: Annotated[str, BeforeValidator(kit_words)]
    kit_facts: list[FactAnswer] = Field(validation_alias="kit")
    power: str
    distance: Annotated[str, BeforeValidator(CENTIMETRES.text)] = Field(validation_alias="distance_mm")
    distance_mm: float | None
    stops: float | None
    off_by: float | None


class FollowedChange(BaseModel):
    """One cause of change since the frame before; `stops` null is unknown."""

    words: str
    fact: FactAnswer
    fitted_facts: list[FactAnswer] = Field(description="what is fitted now, where kit is told by its figures")
    stops: float | None

    @classmethod
    def of(cls, change: LiveChange) -> FollowedChange:
        return cls(
            words=change_words(change),
            fact=FactAnswer.model_validate(change.fact),
            fitted_facts=FactAnswer.all_of(change.fitted),
            stops=change.stops,
        )


class FollowedReading(Answer):
    """One patch, by its place among those of the shot; in stops, null unknown."""

    place: int
    predicted_stops: float | None
    measured_stops: float | None
    unexplained_stops: float | None
    level_stops: float | None
    is_told: bool
    estimated: bool
    by_eye: bool


class FollowedFrame(Answer):
    """A frame as a class reads it. `changes` and `switched` count from the frame `since`; null where there is none to
    compare with. `picture` is the place of its picture among its files."""

    shot_number: int
    number: int
    purpose: str
    is_reference: bool
    taken_back: bool
    verdict: str
    because: str
    f_number: str
    shutter: str
    iso: str
    magnification: float | None
    lens_filters: list[Annotated[str, BeforeValidator(piece_words)]]
    lights: list[FollowedLight]
    since: int | None
    changes: list[Annotated[FollowedChange, BeforeValidator(FollowedChange.of)]]
    switched: list[Said]
    ambient_stops: float | None
    readings: list[FollowedReading]
    picture: int | None


class FollowedShot(Answer):
    """A shot with its newest frames; `older_than` is the number before which there are more."""

    number: int
    title: str
    subject: str
    frames: list[FollowedFrame]
    older_than: int | None


class FollowedSession(Answer):
    """Everything that the address serves, the newest shot first."""

    title: str
    shots: list[FollowedShot]
    expires_at: dt.datetime | None


@router.get("/sessions/{session_id}/live-pages")
@owner_only
def live_pages(services: InServices, session_id: ItemId) -> list[LivePageAnswer]:
    """Every live page of a session, the newest first; the withdrawn and expired too."""
    with services.records.reading() as db:
        shot_records.session_of(db, session_id)
        return [LivePageAnswer.of(page) for page in link_records.live_pages_of(db, session_id)]


@router.api_route("/sessions/{session_id}/open-pages", methods=["GET", "POST"], include_in_schema=False)
@owner_only
def older_address(session_id: ItemId) -> Response:
    """Where they stood before."""
    return RedirectResponse(f"/api/v1/sessions/{session_id}/live-pages", 308)


@router.api_route("/open-pages/{token}", methods=["GET", "DELETE"], include_in_schema=False)
@owner_only
def older_page(token: Token) -> Response:
    """Where a live page stood before."""
    return RedirectResponse(f"/api/v1/live-pages/{token}", 308)


@router.post("/sessions/{session_id}/live-pages", status_code=201)
@owner_only
def open_up(services: InServices, session_id: ItemId, said: NewLivePage) -> LivePageAnswer:
    """Open a page on a session, at an address that cannot be guessed."""
    let_out = LetOut(because=said.because, kit_names=said.kit_names)
    token = live_page.open_up(services.records, session_id, title=said.title, hours=said.hours, let_out=let_out)
    return LivePageAnswer.of(live_page.still_open(services.records, token))


@router.get("/live-pages/{token}")
@owner_only
def followed(services: InServices, token: Token) -> FollowedSession:
    """What a class reads there: nothing but the fields that go out. It counts no view."""
    return FollowedSession.model_validate(live_page.opened(services.records, token))


@router.delete("/live-pages/{token}", status_code=204)
@owner_only
def withdraw(services: InServices, token: Token) -> Response:
    """End an address, and the streams of those who follow it, at once."""
    live_page.withdraw(services.records, token)
    return Response(status_code=204)

"""Sessions and their shots."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any

from fastapi import APIRouter, Response
from pydantic import Field, WithJsonSchema

from webapp.records import shots as shot_records
from webapp.security.identity import owner_only
from webapp.services import InServices, Services
from webapp.shoots import sessions
from webapp.shoots.sessions import SessionForm, ShotForm, StillThere
from webapp.web.api.facts import Answer
from webapp.web.api.forms import parted, some_of
from webapp.web.api.requests import ItemId, JsonRoute

router = APIRouter(tags=["sessions"], route_class=JsonRoute)

SessionChanges = Annotated[dict[str, Any], WithJsonSchema(some_of(SessionForm))]
ShotChanges = Annotated[dict[str, Any], WithJsonSchema(some_of(ShotForm))]


class ShotAnswer(Answer):
    """A shot: one picture that is worked toward."""

    id: str
    session_id: str
    number: int
    title: str
    subject: str
    subject_types: str
    surface: str
    look: str
    subject_is_static: bool
    wanted_depth_mm: float | None
    revision: int
    on_set: bool = Field(description="one shot of all is on the set; it holds the watched folder")
    reference_frame_id: str | None
    created_at: dt.datetime
    closed_at: dt.datetime | None = Field(description="when its set was struck; null while the shot is open")


class NewShot(ShotForm):
    """A shot to begin."""

    still_measured: list[Annotated[str, Field(max_length=60)]] | None = Field(
        None,
        max_length=100,
        description="the measured places of the shot before that still hold, such as lights.A; left out, all of them",
    )


class SessionAnswer(Answer):
    """A session: one working day or sitting."""

    id: str
    name: str
    day: dt.date
    zone: str
    place: str
    made_for: str
    brief: str
    used_for: str
    size: str
    crop: str
    deadline: dt.date | None
    must_match: str
    notes: str
    revision: int
    created_at: dt.datetime


@router.get("/sessions")
def list_sessions(services: InServices) -> list[SessionAnswer]:
    """The newest first."""
    with services.records.reading() as db:
        return [SessionAnswer.model_validate(sessions.as_seen(session)) for session in shot_records.sessions(db)]


@router.post("/sessions", status_code=201)
def begin_session(services: InServices, said: SessionForm) -> SessionAnswer:
    """Begin a session."""
    return _session(services, sessions.begin_session(services.records, said.model_dump()))


@router.get("/sessions/{session_id}")
def read_session(services: InServices, session_id: ItemId) -> SessionAnswer:
    """One session."""
    return _session(services, session_id)


@router.patch("/sessions/{session_id}")
def change_session(services: InServices, session_id: ItemId, changes: SessionChanges) -> SessionAnswer:
    """Change what is said of a session. What is left out stays."""
    sessions.describe_session(services.records, session_id, *parted(changes))
    return _session(services, session_id)


@router.delete("/sessions/{session_id}", status_code=204)
@owner_only
def delete_session(services: InServices, session_id: ItemId) -> Response:
    """Forget a session without shots."""
    sessions.delete_session(services.records, session_id)
    return Response(status_code=204)


@router.get("/sessions/{session_id}/shots", tags=["shots"])
def list_shots(services: InServices, session_id: ItemId) -> list[ShotAnswer]:
    """The shots of a session in their order."""
    with services.records.reading() as db:
        shot_records.session_of(db, session_id)
        return [ShotAnswer.model_validate(shot) for shot in shot_records.shots_in(db, session_id)]


@router.post("/sessions/{session_id}/shots", status_code=201, tags=["shots"])
def begin_shot(services: InServices, session_id: ItemId, said: NewShot) -> ShotAnswer:
    """Begin a shot and put it on the set, with the set-up of the one that was active."""
    before = sessions.places_to_ask_of(services.records, session_id)
    there = None
    if before is not None and said.still_measured is not None:
        there = StillThere(before[0].id, frozenset(said.still_measured))
    form = said.model_dump(exclude={"still_measured"})
    return _shot(services, sessions.begin_shot(services.records, session_id, form, there))


@router.get("/shots/{shot_id}", tags=["shots"])
def read_shot(services: InServices, shot_id: ItemId) -> ShotAnswer:
    """One shot."""
    return _shot(services, shot_id)


@router.patch("/shots/{shot_id}", tags=["shots"])
def change_shot(services: InServices, shot_id: ItemId, changes: ShotChanges) -> ShotAnswer:
    """Change what is said of a shot. What is left out stays."""
    sessions.describe_shot(services.records, shot_id, *parted(changes))
    return _shot(services, shot_id)


@router.delete("/shots/{shot_id}", status_code=204, tags=["shots"])
@owner_only
def delete_shot(services: InServices, shot_id: ItemId) -> Response:
    """Forget a shot without frames."""
    sessions.delete_shot(services.records, shot_id)
    return Response(status_code=204)


@router.post("/shots/{shot_id}/on-set", tags=["shots"])
def put_on_set(services: InServices, shot_id: ItemId) -> ShotAnswer:
    """Put a shot on the set: files in the watched folder become its frames from now on."""
    sessions.put_on_set(services.records, shot_id)
    return _shot(services, shot_id)


def _session(services: Services, session_id: str) -> SessionAnswer:
    with services.records.reading() as db:
        return SessionAnswer.model_validate(sessions.as_seen(shot_records.session_of(db, session_id)))


def _shot(services: Services, shot_id: str) -> ShotAnswer:
    with services.records.reading() as db:
        return ShotAnswer.model_validate(shot_records.shot_of(db, shot_id))

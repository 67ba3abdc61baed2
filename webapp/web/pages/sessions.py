"""Sessions and their shots: the list, the beginning, the description."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from webapp.errors import InvalidValue, StaleRecord
from webapp.kit import units
from webapp.records import links as link_records
from webapp.records import shots as shot_records
from webapp.records.tables import Origin, Session
from webapp.security.identity import owner_only
from webapp.services import InServices, Services
from webapp.shoots import deletion, sessions
from webapp.shoots.sessions import SessionForm, ShotForm, StillThere
from webapp.web.pages.backups_view import backups_view
from webapp.web.pages.form_view import fields_of, parted, revision_view, side_by_side, ticked
from webapp.web.pages.home_view import MOST_PICTURED, session_line, shot_line
from webapp.web.pages.progress_view import demo_progress
from webapp.web.pages.render import go_to, render, whole_page
from webapp.web.words.in_tray import watched_words

router = APIRouter()
_MOST_FIELDS = 100


async def said_in(request: Request) -> dict[str, str]:
    """The fields of a posted form."""
    form = await request.form(max_files=0, max_fields=_MOST_FIELDS)
    return {name: value for name, value in form.items() if isinstance(value, str)}


@router.get("/")
def list_sessions(request: Request, services: InServices) -> Response:
    return _list(request, services)


@router.post("/sessions")
async def begin_session(request: Request, services: InServices) -> Response:
    said = await said_in(request)
    try:
        session_id = await run_in_threadpool(sessions.begin_session, services.records, said)
    except InvalidValue as error:
        return await run_in_threadpool(_list, request, services, said, error)
    return go_to(request, f"/sessions/{session_id}")


@router.get("/sessions/{session_id}")
def session_page(request: Request, services: InServices, session_id: str) -> Response:
    return _session(request, services, session_id)


@router.post("/sessions/{session_id}")
async def describe_session(request: Request, services: InServices, session_id: str) -> Response:
    said = await said_in(request)
    fields, revision = parted(said)
    try:
        await run_in_threadpool(sessions.describe_session, services.records, session_id, fields, revision)
    except (InvalidValue, StaleRecord) as error:
        return await run_in_threadpool(_session, request, services, session_id, said, error)
    return go_to(request, f"/sessions/{session_id}")


@router.post("/sessions/{session_id}/shots")
async def begin_shot(request: Request, services: InServices, session_id: str) -> Response:
    posted = await said_in(request)
    there = _still_there(posted)
    said = ticked(ShotForm, posted)
    try:
        shot_id = await run_in_threadpool(sessions.begin_shot, services.records, session_id, said, there)
    except InvalidValue as error:
        return await run_in_threadpool(
            partial(_session, request, services, session_id, shot_said=said, shot_error=error, still_there=there)
        )
    return go_to(request, f"/shots/{shot_id}")


@router.get("/sessions/{session_id}/delete-for-good")
@owner_only
def ask_to_delete(request: Request, services: InServices, session_id: str) -> Response:
    """What goes with a session, and the field that its name is typed into."""
    return _ask_to_delete(request, services, session_id)


@router.post("/sessions/{session_id}/delete-for-good")
@owner_only
async def delete_for_good(request: Request, services: InServices, session_id: str) -> Response:
    """Delete a session with everything in it."""
    said = await said_in(request)
    try:
        await run_in_threadpool(
            deletion.delete_for_good,
            services.records,
            services.settings,
            services.store,
            session_id,
            said.get("name", ""),
        )
    except InvalidValue as error:
        return await run_in_threadpool(_ask_to_delete, request, services, session_id, str(error))
    return go_to(request, "/")


def _ask_to_delete(request: Request, services: Services, session_id: str, problem: str = "") -> Response:
    return whole_page(
        request,
        "delete_session.html",
        status=422 if problem else 200,
        leaving=deletion.leaving(services.records, session_id),
        problem=problem,
    )


@router.post("/sessions/{session_id}/delete")
@owner_only
def delete_session(request: Request, services: InServices, session_id: str) -> Response:
    sessions.delete_session(services.records, session_id)
    return go_to(request, "/")


@router.get("/shots/{shot_id}/brief")
def brief_panel(request: Request, services: InServices, shot_id: str) -> Response:
    """The brief of a shot's session, a press away from the set."""
    # The front page, which is served from here too, has none of it.
    from webapp.web.pages.session_view import brief_of

    with services.records.reading() as db:
        shot = shot_records.shot_of(db, shot_id)
        brief = brief_of(shot_records.session_of(db, shot.session_id))
    panel = "brief_panel.html"
    return render(request, "panel.html", panel, header=shot, panel_template=panel, brief=brief)


def _list(
    request: Request, services: Services, said: dict[str, str] | None = None, error: InvalidValue | None = None
) -> Response:
    with services.records.reading() as db:
        rows = shot_records.sessions(db)
        shots = shot_records.shots_by_session(db, [row.id for row in rows])
        of_all = [shot.id for each in shots.values() for shot in each]
        counts, shown = shot_records.frame_counts(db, of_all), shot_records.shown_of(db, of_all)
    on_set = next((shot for each in shots.values() for shot in each if shot.on_set), None)
    own, demo = ([row for row in rows if (row.origin == Origin.DEMO) is wanted] for wanted in (False, True))
    filled = services.filling.now()
    return whole_page(
        request,
        "sessions.html",
        status=422 if error else 200,
        sessions=[session_line(row, shots[row.id], counts, shown) for row in own],
        demo_sessions=[session_line(row, shots[row.id], counts, shown) for row in demo],
        demo=demo_progress(filled) if filled.step not in ("there", "unpublished") else None,
        on_set=shot_line(on_set, counts, shown) if on_set else None,
        most_pictured=MOST_PICTURED,
        backups=backups_view(services.settings),
        **_watched(services),
        fields=fields_of(SessionForm, said, error),
    )


def _watched(services: Services) -> dict[str, object]:
    """The line that tells which folder is watched."""
    found = services.watching.now()
    return {"watched": watched_words(found), "watching": found.folder is not None}


def _session(
    request: Request,
    services: Services,
    session_id: str,
    said: dict[str, str] | None = None,
    error: InvalidValue | StaleRecord | None = None,
    shot_said: dict[str, object] | None = None,
    shot_error: InvalidValue | None = None,
    still_there: StillThere | None = None,
) -> Response:
    with services.records.reading() as db:
        session = sessions.as_seen(shot_records.session_of(db, session_id))
        shots = shot_records.shots_in(db, session_id)
        pages = link_records.live_pages_of(db, session_id)
        of_all = [shot.id for shot in shots]
        counts, shown = shot_records.frame_counts(db, of_all), shot_records.shown_of(db, of_all)
    # The front page, which is served from here too, has none of these.
    from webapp.web.pages.live_page_view import live_pages_view
    from webapp.web.pages.session_view import FEW_SHOTS, brief_of, places_asked

    fields = fields_of(SessionForm, _standing(session))
    typed = fields_of(SessionForm, said, error) if said else fields
    return whole_page(
        request,
        "session.html",
        status=409 if isinstance(error, StaleRecord) else 422 if error or shot_error else 200,
        session=session,
        brief=brief_of(session),
        few_shots=FEW_SHOTS,
        most_pictured=MOST_PICTURED,
        **_watched(services),
        shots=[shot_line(shot, counts, shown) for shot in shots],
        session_open=error is not None,
        live_pages=live_pages_view(session_id, pages, services.doors, str(request.base_url)),
        session_fields=typed,
        revision=revision_view(session.revision, said, error, side_by_side(fields, typed)),
        shot_fields=fields_of(ShotForm, shot_said, shot_error),
        places=places_asked(
            sessions.places_to_ask_of(services.records, session_id), units.lengths(services.records), still_there
        ),
    )


def _still_there(posted: dict[str, str]) -> StillThere | None:
    """What was ticked of the places, taken out of what was posted. None where they were not asked about."""
    of_shot = posted.pop("places_of", "")
    fields = frozenset(name for name in posted if name.startswith(("lights.", "things.")))
    for name in fields:
        del posted[name]
    return StillThere(of_shot, fields) if of_shot else None


def _standing(session: Session) -> dict[str, object]:
    return {name: getattr(session, name) for name in SessionForm.model_fields}

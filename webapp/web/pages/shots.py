"""The shot's page: the desk above, the log below, and every tap on them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated

from fastapi import APIRouter, File, Form, Request, UploadFile
from starlette.background import BackgroundTask
from starlette.responses import Response

from webapp.errors import InvalidValue, PictureRefused, SeveralInvalid, StaleValue
from webapp.kit import inventory, units
from webapp.ledger.grammars import Steps
from webapp.recipes import reshoot
from webapp.records import shots as shot_records
from webapp.records.tables import new_id
from webapp.services import InServices, Services
from webapp.shoots import ambient_check, frames, sessions, set_up_now
from webapp.shoots.log_frame import FrameWords, IncomingPicture, Logged, log_frame, refuse_picture
from webapp.shoots.set_up_now import Change, StandingState
from webapp.web.pages.desk_view import Problem, desk_view, shot_header
from webapp.web.pages.live_parts import FRAMES_ON_A_PAGE, Drawing
from webapp.web.pages.render import go_to, render, wants_partial, whole_page
from webapp.web.pages.reshoot_view import checklist_view
from webapp.web.typed import typed_ratio

router = APIRouter()
FormText = Annotated[str, Form(max_length=10_000)]
_CHUNK = 1 << 20


@router.get("/shots/{shot_id}")
def shot_page(request: Request, services: InServices, shot_id: str) -> Response:
    """The whole page."""
    seen = services.records.newest
    return _page(request, services, set_up_now.state(services.records, shot_id), seen)


@router.get("/shots/{shot_id}/older")
def older_frames(request: Request, services: InServices, shot_id: str, before: int) -> Response:
    """The frames before a number."""
    state = set_up_now.state(services.records, shot_id)
    view = Drawing.of(services).frames(shot_id, FRAMES_ON_A_PAGE, before)
    header = shot_header(state, _session_name(services, state))
    return render(request, "older.html", "frames.html", header=header, frames=view, oob=False, fresh=False)


@router.post("/shots/{shot_id}/standing")
def change_field(
    request: Request,
    services: InServices,
    shot_id: str,
    field: FormText,
    value: FormText = "",
    version: Annotated[int | None, Form()] = None,
    steps: Annotated[int | None, Form(ge=-100, le=100)] = None,
) -> Response:
    """One tap: a field is set, or steps along its dial."""
    try:
        with set_up_now.reading(services.records, shot_id) as reader:
            told = reader.typed(field, value) if steps is None else Steps(steps)
        state = set_up_now.change(services.records, shot_id, [Change(field, told, version, reader.lengths)])
    except (InvalidValue, StaleValue) as problem:
        return _with_problem(request, services, shot_id, field, value, problem)
    return _answer(request, services, state)


@router.post("/shots/{shot_id}/lights")
def add_light(request: Request, services: InServices, shot_id: str, head: FormText) -> Response:
    return _answer(request, services, set_up_now.add_light(services.records, shot_id, head))


@router.post("/shots/{shot_id}/lights/{letter}/remove")
def remove_light(request: Request, services: InServices, shot_id: str, letter: str) -> Response:
    return _answer(request, services, set_up_now.remove_light(services.records, shot_id, letter))


@router.post("/shots/{shot_id}/corrections")
def write_correction(
    request: Request,
    services: InServices,
    shot_id: str,
    digest: FormText,
) -> Response:
    """A correction is a button: it writes its marks into the standing set-up."""
    return _answer(request, services, set_up_now.write_correction(services.records, shot_id, digest))


@router.post("/shots/{shot_id}/intended")
def mean_it(request: Request, services: InServices, shot_id: str, letter: FormText) -> Response:
    """The balance of a light as it stands is what the photographer means."""
    return _answer(request, services, set_up_now.mean_as_it_stands(services.records, shot_id, letter))


@router.post("/shots/{shot_id}/ratio")
def aim_at_ratio(
    request: Request, services: InServices, shot_id: str, ratio: FormText, convention: FormText
) -> Response:
    """Bring key and fill to a ratio by the energy of the fill alone."""
    try:
        state = set_up_now.aim_at_ratio(services.records, shot_id, typed_ratio(ratio), convention)
    except InvalidValue as problem:
        return _with_problem(request, services, shot_id, "ratio", ratio, problem)
    return _answer(request, services, state)


@router.post("/shots/{shot_id}/ambient-check")
def begin_ambient_check(request: Request, services: InServices, shot_id: str) -> Response:
    return _answer(request, services, ambient_check.begin_ambient_check(services.records, shot_id))


@router.post("/shots/{shot_id}/ambient-check/end")
def end_ambient_check(request: Request, services: InServices, shot_id: str) -> Response:
    return _answer(request, services, ambient_check.end_ambient_check(services.records, shot_id))


@router.post("/shots/{shot_id}/next")
def note_for_next(
    request: Request,
    services: InServices,
    shot_id: str,
    purpose: FormText = "test",
    because: FormText = "",
) -> Response:
    """What the next frame is for, said beforehand, so that a file that comes by itself is logged so."""
    try:
        words = FrameWords.model_validate({"purpose": purpose, "because": because})
    except ValueError as error:
        return _with_problem(request, services, shot_id, "because", because, InvalidValue("because", str(error)))
    state = set_up_now.note_for_next(services.records, shot_id, purpose=words.purpose, because=words.because)
    return _answer(request, services, state)


@router.post("/shots/{shot_id}/frames")
def log_a_frame(
    request: Request,
    services: InServices,
    shot_id: str,
    purpose: FormText = "test",
    because: FormText = "",
    save_key: FormText = "",
    picture: Annotated[UploadFile | None, File()] = None,
) -> Response:
    """Freeze the standing set-up into a frame, with a picture where one was dropped. A picture that is none costs
    the frame nothing: it is said, and what was typed stays."""
    try:
        words = FrameWords.model_validate({"purpose": purpose, "because": because})
    except ValueError as error:
        return _with_problem(request, services, shot_id, "because", because, InvalidValue("because", str(error)))
    incoming: IncomingPicture | None = None
    if picture is not None and picture.filename:
        try:
            incoming = services.intake.read(picture.filename, _chunks(picture))
        except PictureRefused as reason:
            refuse_picture(services.records, shot_id, picture.filename, reason)
            problem = InvalidValue("picture", f"{picture.filename}: {reason} No frame was logged.")
            return _with_problem(request, services, shot_id, "picture", "", problem)
    logged = log_frame(services.records, shot_id, words, save_key=save_key or None, picture=incoming)
    answer = _answer(request, services, logged.state, logged)
    # After the answer, so that the line with the preview never comes before the line without it.
    answer.background = BackgroundTask(services.intake.preview_soon, logged)
    return answer


@router.post("/shots/{shot_id}/on-set")
def put_on_set(request: Request, services: InServices, shot_id: str) -> Response:
    sessions.put_on_set(services.records, shot_id)
    return go_to(request, f"/shots/{shot_id}")


@router.post("/shots/{shot_id}/delete")
def delete_shot(request: Request, services: InServices, shot_id: str) -> Response:
    session_id = sessions.delete_shot(services.records, shot_id)
    return go_to(request, f"/sessions/{session_id}")


def _chunks(upload: UploadFile) -> Iterator[bytes]:
    return iter(lambda: upload.file.read(_CHUNK), b"")


def _session_name(services: Services, state: StandingState) -> str:
    with services.records.reading() as db:
        return shot_records.session_of(db, state.shot.session_id).name


def _page(
    request: Request,
    services: Services,
    state: StandingState,
    news_seen: int,
    *,
    status: int = 200,
    problems: Mapping[str, Problem] | None = None,
) -> Response:
    """The shot's page, or, for htmx, the desk in it. `news_seen` is the last change before the state was read, so that
    what is told while the page is drawn reaches it."""
    desk = desk_view(
        state,
        inventory.choices(services.records),
        save_key=new_id(),
        watches=services.settings.watch is not None,
        problems=problems,
    )
    if wants_partial(request):
        return render(request, "shot.html", "desk.html", status=status, desk=desk, oob=False)
    checklist = reshoot.checklist(services.records, state.shot.id)
    return whole_page(
        request,
        "shot.html",
        status=status,
        header=shot_header(state, _session_name(services, state)),
        checklist=checklist_view(checklist, units.lengths(services.records)) if checklist else None,
        unfolded=False,
        checklist_oob=False,
        desk=desk,
        frames=Drawing.of(services).frames(state.shot.id),
        oob=False,
        fresh=False,
        news_seen=news_seen,
    )


def _answer(request: Request, services: Services, state: StandingState, logged: Logged | None = None) -> Response:
    """After a change: the desk for htmx, with the line of a frame that was logged; the page itself without it."""
    if not wants_partial(request):
        return go_to(request, f"/shots/{state.shot.id}")
    drawing = Drawing.of(services)
    desk = drawing.desk(state)
    extra = drawing.line(state.shot.id, frames.one(services.records, logged.frame_id)) if logged else ""
    return render(request, "shot.html", "desk.html", extra=extra, desk=desk, oob=False)


def _with_problem(
    request: Request, services: Services, shot_id: str, field: str, typed: str, problem: InvalidValue | StaleValue
) -> Response:
    """The desk with the sentence at its field and what was typed in it; nothing was changed."""
    seen = services.records.newest
    state = set_up_now.state(services.records, shot_id)
    if isinstance(problem, StaleValue):
        return _page(
            request, services, state, seen, status=409, problems={field: Problem(problem.offered, str(problem))}
        )
    message = str(problem.problems[0]) if isinstance(problem, SeveralInvalid) else str(problem)
    return _page(request, services, state, seen, status=422, problems={field: Problem(typed, message)})

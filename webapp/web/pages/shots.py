"""The shot's page: the desk above, the log below, and every tap on them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Annotated, Any, Final, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, File, Form, Request, UploadFile
from starlette.background import BackgroundTask
from starlette.responses import Response

from webapp.errors import InvalidValue, StaleValue
from webapp.kit import inventory, units
from webapp.ledger.grammars import Steps
from webapp.ledger.wishes import PowerWish
from webapp.recipes import reshoot
from webapp.records import shots as shot_records
from webapp.records.tables import now
from webapp.security.identity import owner_only
from webapp.services import InServices, Services
from webapp.shoots import all_along, ambient_check, aside, corrections, frames, sessions, set_up_now, stack_offers
from webapp.shoots.ingest import Added
from webapp.shoots.log_frame import FrameWords, Logged, log_frame
from webapp.shoots.set_up_now import Change, StandingState
from webapp.web.pages.all_along_view import all_along_view
from webapp.web.pages.balance_view import balance_view, wished_view, with_evidence
from webapp.web.pages.desk_view import shot_header
from webapp.web.pages.dial_view import Problem
from webapp.web.pages.live_parts import FRAMES_ON_A_PAGE, Drawing, desk_fragment
from webapp.web.pages.render import go_to, render, wants_partial, whole_page
from webapp.web.pages.reshoot_view import checklist_view
from webapp.web.pages.set_up_view import set_up_view
from webapp.web.typed import Counted, typed_ratio, typed_taps
from webapp.web.words.say import say

router = APIRouter()
FormText = Annotated[str, Form(max_length=10_000)]
_CHUNK = 1 << 20
_LONGEST_WAIT_S: Final = 30 * 24 * 3600.0
_PANELS: Final = {"set-up": "set_up.html", "balance": "balance_panel.html"}


@router.get("/shots/{shot_id}")
def shot_page(request: Request, services: InServices, shot_id: str) -> Response:
    """The whole page."""
    seen = services.records.newest
    return _page(request, services, set_up_now.state(services.records, shot_id), seen)


@router.get("/shots/{shot_id}/older")
def older_frames(request: Request, services: InServices, shot_id: str, before: Counted) -> Response:
    """The frames before a number."""
    state = set_up_now.state(services.records, shot_id)
    view = Drawing.of(services).frames(shot_id, FRAMES_ON_A_PAGE, before)
    header = shot_header(state, _session_name(services, state))
    return render(request, "older.html", "frames.html", header=header, frames=view, oob=False, fresh=False)


@router.get("/shots/{shot_id}/set-up")
def set_up_panel(request: Request, services: InServices, shot_id: str, light: str = "") -> Response:
    """The rest of the set-up: kit, distances, filters, another light."""
    return _panel(request, services, set_up_now.state(services.records, shot_id), "set-up", light=light)


@router.get("/shots/{shot_id}/balance")
def balance_panel(request: Request, services: InServices, shot_id: str, light: str = "", power: str = "") -> Response:
    """The balance in full: its entries, every way to put it right, the ratio, the working; before them the ways to a
    `power` that the head of a `light` does not have."""
    state = set_up_now.state(services.records, shot_id)
    return _panel(request, services, state, "balance", light=light, power=power)


@router.post("/shots/{shot_id}/standing")
def change_field(
    request: Request,
    services: InServices,
    shot_id: str,
    field: FormText,
    value: FormText = "",
    version: Annotated[int | None, Form()] = None,
    steps: Annotated[int | None, Form(ge=-100, le=100)] = None,
    panel: FormText = "",
    save_key: FormText = "",
) -> Response:
    """One tap: a field is set, or steps along its dial."""
    try:
        with set_up_now.reading(services.records, shot_id) as reader:
            told = reader.typed(field, value) if steps is None else Steps(steps)
        state = set_up_now.change(
            services.records, shot_id, [Change(field, told, version, reader.lengths)], save_key=save_key or None
        )
    except (InvalidValue, StaleValue) as problem:
        return _with_problem(request, services, shot_id, field, value, problem, panel)
    return _answer(request, services, state, panel=panel)


@router.post("/shots/{shot_id}/lights")
def add_light(
    request: Request,
    services: InServices,
    shot_id: str,
    head: FormText,
    panel: FormText = "",
    save_key: FormText = "",
) -> Response:
    state = set_up_now.add_light(services.records, shot_id, head, save_key=save_key or None)
    return _answer(request, services, state, panel=panel)


@router.post("/shots/{shot_id}/lights/{letter}/remove")
def remove_light(
    request: Request, services: InServices, shot_id: str, letter: str, panel: FormText = "", save_key: FormText = ""
) -> Response:
    state = set_up_now.remove_light(services.records, shot_id, letter, save_key=save_key or None)
    return _answer(request, services, state, panel=panel)


@router.post("/shots/{shot_id}/all-along/{way}")
def held_all_along(
    request: Request,
    services: InServices,
    shot_id: str,
    way: Literal["write", "take-out"],
    field: FormText,
    panel: FormText = "",
) -> Response:
    """What was entered late is written into the earlier frames that do not know it, or taken out of them again."""
    act = all_along.write if way == "write" else all_along.take_out
    act(services.records, shot_id, field)
    if panel == "plan":
        return go_to(request, f"/shots/{shot_id}/plan")
    return _answer(request, services, set_up_now.state(services.records, shot_id), panel=panel)


@router.post("/shots/{shot_id}/corrections")
def write_correction(
    request: Request,
    services: InServices,
    shot_id: str,
    digest: FormText,
    panel: FormText = "",
    light: FormText = "",
    power: FormText = "",
    save_key: FormText = "",
) -> Response:
    """A correction is a button: it writes its marks into the set-up. `light` and `power` are the wish that it was offered
    for, where it was one."""
    wish = PowerWish(light, power) if light else None
    state = corrections.write_correction(services.records, shot_id, digest, wish, save_key=save_key or None)
    return _answer(request, services, state, panel=panel)


@router.post("/shots/{shot_id}/intended")
def intend(
    request: Request,
    services: InServices,
    shot_id: str,
    letter: Annotated[list[str], Form()],
    save_key: FormText = "",
) -> Response:
    """The balances of lights as they stand are what the photographer intends."""
    state = corrections.mean_as_it_stands(services.records, shot_id, letter, save_key=save_key or None)
    return _answer(request, services, state)


@router.post("/shots/{shot_id}/ratio")
def aim_at_ratio(
    request: Request,
    services: InServices,
    shot_id: str,
    ratio: FormText,
    convention: FormText,
    panel: FormText = "",
    save_key: FormText = "",
) -> Response:
    """Bring key and fill to a ratio by the energy of the fill alone."""
    try:
        state = corrections.aim_at_ratio(
            services.records, shot_id, typed_ratio(ratio), convention, save_key=save_key or None
        )
    except InvalidValue as problem:
        return _with_problem(request, services, shot_id, "ratio", ratio, problem, panel)
    return _answer(request, services, state, panel=panel)


@router.post("/shots/{shot_id}/ambient-check")
def begin_ambient_check(request: Request, services: InServices, shot_id: str, save_key: FormText = "") -> Response:
    state = ambient_check.begin_ambient_check(services.records, shot_id, save_key=save_key or None)
    return _answer(request, services, state)


@router.post("/shots/{shot_id}/put-back")
def put_back(request: Request, services: InServices, shot_id: str, save_key: FormText = "") -> Response:
    """Leave an ambient check, or another frame that is made to be read, without logging it."""
    state = aside.leave(services.records, shot_id, save_key=save_key or None)
    return _answer(request, services, state)


@router.post("/shots/{shot_id}/next")
def note_for_next(
    request: Request,
    services: InServices,
    shot_id: str,
    purpose: FormText = "test",
    because: FormText = "",
    save_key: FormText = "",
) -> Response:
    """What the next frame is for, said beforehand, so that a file that comes by itself is logged so."""
    try:
        words = FrameWords.model_validate({"purpose": purpose, "because": because})
    except ValueError as error:
        return _with_problem(request, services, shot_id, "because", because, InvalidValue("because", str(error)))
    said = {"purpose": words.purpose, "because": words.because}
    state = set_up_now.note_for_next(services.records, shot_id, **said, save_key=save_key or None)
    return _answer(request, services, state)


@router.post("/shots/{shot_id}/frames")
def log_a_frame(
    request: Request,
    services: InServices,
    shot_id: str,
    purpose: FormText = "test",
    because: FormText = "",
    save_key: FormText = "",
    waited_s: Annotated[float, Form(ge=0.0, le=_LONGEST_WAIT_S)] = 0.0,
    not_written: FormText = "",
    picture: Annotated[list[UploadFile] | None, File()] = None,
) -> Response:
    """Freeze the set-up now into a frame; where pictures were added, into one for each exposure of them. A picture
    that is none costs the others nothing: it is said, and where it was the only one, what was typed stays. `waited_s` is
    how long ago the key was pressed, where the server was out of reach meanwhile, `not_written` what was tapped before it
    then and refused. The answer names the (newest) frame, for what was said of it before it had a name."""
    try:
        words = FrameWords.model_validate({"purpose": purpose, "because": because})
    except ValueError as error:
        return _with_problem(request, services, shot_id, "because", because, InvalidValue("because", str(error)))
    at = now() - dt.timedelta(seconds=waited_s)
    files = [(each.filename, chunks_of(each)) for each in picture or () if each.filename]
    if files:
        added = services.intake.add(shot_id, files, words, save_key=save_key or None, at=at)
    else:
        taps = _taps(services, shot_id, not_written) if not_written else {}
        logged = log_frame(services.records, shot_id, words, save_key=save_key or None, at=at, not_written=taps)
        added = Added((logged,), {})
    told = [f"{name}: {reason} No frame was logged." for name, reason in added.refused.items()]
    if len(files) > 1:
        told += [say(each.known) for each in added.logged if each.known is not None]
    answer = _logged(request, services, shot_id, added.logged, " ".join(told))
    if added.logged:
        answer.headers["X-Frame"] = added.logged[-1].frame_id
    # After the answer, so that the line with the preview never comes before the line without it.
    answer.background = BackgroundTask(services.intake.preview_soon, *added.logged)
    return answer


def _taps(services: Services, shot_id: str, not_written: str) -> dict[str, str]:
    """What was tapped and refused, by field, as the dials of the set-up have it."""
    with set_up_now.reading(services.records, shot_id) as reader:
        return typed_taps(not_written, reader)


@router.post("/shots/{shot_id}/stacks")
def answer_for_stack(
    request: Request,
    services: InServices,
    shot_id: str,
    first: FormText,
    answer: Annotated[Literal["stack", "none"], Form()],
) -> Response:
    """Frames that look like a stack are one, or are none and not asked about again."""
    act = stack_offers.mark if answer == "stack" else stack_offers.decline
    act(services.records, shot_id, first)
    if not wants_partial(request):
        return go_to(request, f"/shots/{shot_id}")
    return Response(Drawing.of(services).stacks(shot_id), media_type="text/html")


@router.post("/shots/{shot_id}/on-set")
def put_on_set(request: Request, services: InServices, shot_id: str) -> Response:
    sessions.put_on_set(services.records, shot_id)
    return go_to(request, f"/shots/{shot_id}")


@router.post("/shots/{shot_id}/delete")
@owner_only
def delete_shot(request: Request, services: InServices, shot_id: str) -> Response:
    session_id = sessions.delete_shot(services.records, shot_id)
    return go_to(request, f"/sessions/{session_id}")


def chunks_of(upload: UploadFile) -> Iterator[bytes]:
    """A file as it was sent, piece by piece."""
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
    """The page for shooting, or, for htmx, the desk on it. `news_seen` is the last change before the state was read, so
    that what is told while the page is drawn reaches it."""
    drawing = Drawing.of(services)
    desk = drawing.desk(state, problems)
    if wants_partial(request):
        return render(request, "shot.html", "desk.html", status=status, desk=desk, oob=False)
    shot_id = state.shot.id
    checklist = reshoot.checklist(services.records, shot_id)
    return whole_page(
        request,
        "shot.html",
        status=status,
        header=shot_header(state, _session_name(services, state)),
        checklist=checklist_view(checklist, units.lengths(services.records)) if checklist else None,
        unfolded=False,
        checklist_oob=False,
        desk=desk,
        shown=drawing.shown(shot_id),
        frames=drawing.frames(shot_id),
        oob=False,
        fresh=False,
        news_seen=news_seen,
    )


def _panel(
    request: Request,
    services: Services,
    state: StandingState,
    panel: str,
    *,
    status: int = 200,
    extra: str = "",
    light: str = "",
    power: str = "",
    problems: Mapping[str, Problem] | None = None,
) -> Response:
    """What lies a press away from the set: laid over the picture by htmx, else a page of its own. `extra` goes behind
    it."""
    view: dict[str, Any]
    if panel == "balance":
        sheet = balance_view(state.assessment, state.set_up, state.lengths)
        refused = next((each.message for each in (problems or {}).values()), "")
        wish = PowerWish(light, power)
        wished = wished_view(wish, corrections.ways_to_power(services.records, state.shot.id, wish), state.lengths)
        query = f"?{urlencode({'light': light, 'power': power})}" if wished else ""
        view = {
            "balance": replace(with_evidence(sheet, state.evidence), problem=refused, wished=wished),
            "shot_id": state.shot.id,
            "as_of": state.as_of,
            "address": f"/shots/{state.shot.id}/balance{query}",
        }
    else:
        late = all_along_view(state.shot.id, all_along.offers(services.records, state.shot.id))
        view = {"set_up": set_up_view(state, inventory.choices(services.records), light, problems), "all_along": late}
    header = shot_header(state, "")
    template = _PANELS[panel]
    return render(
        request,
        "panel.html",
        template,
        status=status,
        extra=extra,
        header=header,
        panel_template=template,
        oob=False,
        **view,
    )


def _answer(request: Request, services: Services, state: StandingState, *, panel: str = "") -> Response:
    """After a change: for htmx the desk, behind the panel where the change was made in one; without it the page
    itself."""
    panel = panel if panel in _PANELS else ""
    if not wants_partial(request):
        return go_to(request, f"/shots/{state.shot.id}" + (f"/{panel}" if panel else ""))
    desk = Drawing.of(services).desk(state)
    if panel:
        return _panel(request, services, state, panel, extra=desk_fragment(desk))
    return render(request, "shot.html", "desk.html", desk=desk, oob=False)


def _logged(
    request: Request, services: Services, shot_id: str, logged: Sequence[Logged], problem: str = ""
) -> Response:
    """After frames were logged: for htmx the desk with what else they bring, without it the page itself. `problem` is
    what is to be said of files that are none, or were in the log already."""
    problems = {"picture": Problem("", problem)} if problem else {}
    if not logged or (problem and not wants_partial(request)):
        seen = services.records.newest
        state = set_up_now.state(services.records, shot_id)
        return _page(request, services, state, seen, status=200 if logged else 422, problems=problems)
    if not wants_partial(request):
        return go_to(request, f"/shots/{shot_id}")
    drawing, state = Drawing.of(services), logged[-1].state
    extra = drawing.logged(state, [frames.one(services.records, each.frame_id) for each in logged])
    return render(request, "shot.html", "desk.html", extra=extra, desk=drawing.desk(state, problems), oob=False)


def _with_problem(
    request: Request,
    services: Services,
    shot_id: str,
    field: str,
    typed: str,
    problem: InvalidValue | StaleValue,
    panel: str = "",
) -> Response:
    """What stands, with the sentence that says what was refused; nothing was changed."""
    seen = services.records.newest
    state = set_up_now.state(services.records, shot_id)
    status = 409 if isinstance(problem, StaleValue) else 422
    if isinstance(problem, StaleValue):
        told = Problem(problem.offered, str(problem))
    else:
        first = problem.problems[0]
        told = Problem(typed, str(first), first.nearest)
    problems = {field: told}
    if panel in _PANELS:
        return _panel(request, services, state, panel, status=status, problems=problems)
    return _page(request, services, state, seen, status=status, problems=problems)

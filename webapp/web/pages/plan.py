"""The plan's page: drawn from the set-up now or a frame, moved by hand, keys or numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from webapp.errors import InvalidValue, StaleValue
from webapp.kit.units import lengths as lengths_of_house
from webapp.ledger import placing
from webapp.ledger.geometry import plan_of
from webapp.ledger.moves import taken_back
from webapp.ledger.set_up import SetUp
from webapp.plan.positions import KINDS, KnownPoint, triangulate
from webapp.quantities.lengths import UNITS, Lengths
from webapp.services import InServices, Services
from webapp.shoots import all_along, frames, sessions, set_photos, set_up_now
from webapp.shoots.measured_light import choose_surface, read_on, shares_at, shares_of_frame
from webapp.shoots.set_up_now import Change, StandingState
from webapp.web.pages.all_along_view import all_along_view
from webapp.web.pages.place_view import Problem
from webapp.web.pages.plan_forms import changes_of
from webapp.web.pages.plan_shadows import mark_of
from webapp.web.pages.plan_view import TAPES, Mirror, Shown, plan_view
from webapp.web.pages.render import go_to, render, wants_partial
from webapp.web.pages.sessions import said_in
from webapp.web.pages.shots import FormText
from webapp.web.words.places import where_words

router = APIRouter()


@dataclass(frozen=True, slots=True)
class _Asked:
    """How the plan is to be shown: its lengths, those of the house where none are asked for, and the frame whose plan
    is laid under it."""

    unit: str
    usual_unit: str
    under: str = ""

    @classmethod
    def of(cls, services: Services, said: Mapping[str, str]) -> _Asked:
        usual, asked = lengths_of_house(services.records).unit, said.get("unit", "")
        return cls(asked if asked in UNITS else usual, usual, said.get("under", ""))

    @property
    def lengths(self) -> Lengths:
        """How the page that asked writes lengths."""
        return Lengths(inches=self.unit == "in")

    def address(self, path: str, **more: str) -> str:
        words = more | ({} if self.unit == self.usual_unit else {"unit": self.unit})
        if self.under:
            words["under"] = self.under
        return f"{path}?{urlencode(words)}" if words else path

    def laid_under(self, services: Services) -> tuple[str, SetUp] | None:
        if not self.under:
            return None
        frame = frames.one(services.records, self.under)
        return f"frame {frame.row.number}", frame.set_up


@router.get("/shots/{shot_id}/plan")
def shot_plan(request: Request, services: InServices, shot_id: str, unit: str = "", under: str = "") -> Response:
    """The plan of the set-up now; `under` is a frame whose plan is overlaid."""
    seen = services.records.newest
    state = set_up_now.state(services.records, shot_id)
    return _page(request, services, state, _Asked.of(services, {"unit": unit, "under": under}), news_seen=seen)


@router.get("/frames/{frame_id}/plan")
def frame_plan(request: Request, services: InServices, frame_id: str, unit: str = "", under: str = "") -> Response:
    """The plan that a frame froze."""
    seen = services.records.newest
    asked = _Asked.of(services, {"unit": unit, "under": under})
    story = frames.story(services.records, frame_id)
    path = f"/frames/{frame_id}/plan"
    view = plan_view(
        story.frame.set_up,
        Shown(
            id=f"frame-{frame_id}",
            shot_id=story.shot.id,
            title=f"{story.shot.title}, frame {story.frame.row.number}",
            here=asked.address(path),
            action="",
            shadows=asked.address(f"{path}/shadows", v=mark_of(story.frame.set_up)),
            inches=asked.unit == "in",
            under=asked.under,
        ),
        measured=shares_of_frame(services.records, story.frame),
        read=read_on(services.records, story.shot.id),
        before=asked.laid_under(services),
    )
    return render(
        request,
        "plan.html",
        "plan.html",
        plan=view,
        shot=story.shot,
        frames=_frame_choices(services, story.shot.id, under),
        here_path=path,
        news_seen=seen,
    )


@router.post("/shots/{shot_id}/plan")
async def move(request: Request, services: InServices, shot_id: str) -> Response:
    """Put a light or a thing elsewhere, by numbers or by a drag; or take a thing away."""
    said = await said_in(request)
    return await run_in_threadpool(_move, request, services, shot_id, said)


@router.post("/shots/{shot_id}/plan/preview")
async def preview(request: Request, services: InServices, shot_id: str) -> Response:
    """What would follow from a place, while something is dragged there. Nothing is kept."""
    said = await said_in(request)
    return await run_in_threadpool(_preview, request, services, shot_id, said)


@router.post("/shots/{shot_id}/plan/undo")
def take_back(
    request: Request,
    services: InServices,
    shot_id: str,
    move: FormText,
    unit: FormText = "",
    under: FormText = "",
) -> Response:
    """Take the last move back."""
    state = set_up_now.take_move_back(services.records, shot_id, move)
    return _moved(request, services, state, _Asked.of(services, {"unit": unit, "under": under}))


@router.post("/shots/{shot_id}/plan/figures-for")
def figures_for(
    request: Request,
    services: InServices,
    shot_id: str,
    surface: Annotated[str, Form(max_length=60)],
    unit: FormText = "",
    under: FormText = "",
) -> Response:
    """Say which surface shares, ratio and key to fill are for."""
    choose_surface(services.records, shot_id, surface)
    state = set_up_now.state(services.records, shot_id)
    return _moved(request, services, state, _Asked.of(services, {"unit": unit, "under": under}))


def _move(request: Request, services: Services, shot_id: str, said: dict[str, str]) -> Response:
    field, asked = said.get("field", ""), _Asked.of(services, said)
    state = set_up_now.state(services.records, shot_id)
    try:
        with set_up_now.reading(services.records, shot_id, asked.lengths) as reader:
            changes = changes_of(reader, field, said)
        changed = set_up_now.change(services.records, shot_id, changes)
    except (InvalidValue, StaleValue) as error:
        message = str(error.problems[0] if isinstance(error, InvalidValue) else error)
        status = 409 if isinstance(error, StaleValue) else 422
        # Read again: what somebody else wrote meanwhile is what stands, with its versions.
        state = set_up_now.state(services.records, shot_id)
        return _page(request, services, state, asked, status=status, problem=Problem(field, message, said))
    return _moved(request, services, changed, asked)


def _moved(request: Request, services: Services, state: StandingState, asked: _Asked) -> Response:
    """After a change: the plan for htmx, the page without it."""
    if not wants_partial(request):
        return go_to(request, asked.address(f"/shots/{state.shot.id}/plan"))
    return _page(request, services, state, asked)


def _preview(request: Request, services: Services, shot_id: str, said: dict[str, str]) -> Response:
    state = set_up_now.state(services.records, shot_id)
    field, asked = said.get("field", ""), _Asked.of(services, said)
    try:
        with set_up_now.reading(services.records, shot_id, asked.lengths) as reader:
            changes_of(reader, field, said)
    except InvalidValue as error:
        return _page(request, services, state, asked, status=422, problem=Problem(field, str(error), said))
    return _page(request, services, state, asked, shown=reader.set_up)


@router.post("/shots/{shot_id}/plan/tape")
async def tape(request: Request, services: InServices, shot_id: str) -> Response:
    """Two floor distances, from the subject and from the camera, give a place; the side is asked where it is open."""
    said = await said_in(request)
    return await run_in_threadpool(_tape, request, services, shot_id, said)


def _tape(request: Request, services: Services, shot_id: str, said: dict[str, str]) -> Response:
    state, asked, field = (
        set_up_now.state(services.records, shot_id),
        _Asked.of(services, said),
        said.get("field", ""),
    )
    camera = plan_of(state.set_up).camera
    subject_point, camera_point = (
        KnownPoint("the subject", 0.0, 0.0),
        KnownPoint("the camera", camera.x_mm, camera.y_mm),
    )
    try:
        told = {"height": "0"} | said
        taped = [asked.lengths.read_offset(told.get(name, "")) for name in TAPES]
        found = triangulate(subject_point, camera_point, *taped)
    except ValueError as error:
        return _page(request, services, state, asked, status=422, problem=Problem("tape", str(error), said))
    if len(found) > 1 and said.get("side") not in ("left", "right"):
        places = [where_words(each, Lengths(asked.unit == "in")) for each in (found[0], found[-1])]
        sides = (("left", places[0]), ("right", places[1]))
        return _page(request, services, state, asked, mirror=Mirror(field, sides, said))
    at = found[-1] if said.get("side") == "right" else found[0]
    placed = {"x": f"{at.x_mm} mm", "y": f"{at.y_mm} mm", "z": f"{at.z_mm} mm"}
    # No better known than the camera's own place, which it is worked out from.
    placed["known"] = "taped" if placing.camera_is_taped(state.set_up) else "estimated"
    kept = {"field": field, "version": said.get(f"version.{field}", ""), "unit": asked.unit, "under": asked.under}
    return _move(request, services, shot_id, placed | kept)


@router.post("/shots/{shot_id}/plan/things")
def add_thing(
    request: Request,
    services: InServices,
    shot_id: str,
    kind: Annotated[str, Form(max_length=20)],
    unit: FormText = "",
    under: FormText = "",
) -> Response:
    """Add a camera, a flag, a card, a background, a table or the subject's outline."""
    state = set_up_now.state(services.records, shot_id)
    chosen = next((each for each in KINDS if each == kind), None)
    if chosen is None:
        raise InvalidValue("kind", f"“{kind}” is nothing that stands on a set; those are {', '.join(KINDS)}.")
    field = f"things.{placing.next_thing_id(state.set_up, chosen)}.there"
    changed = set_up_now.change(services.records, shot_id, [Change(field, True)])
    return _moved(request, services, changed, _Asked.of(services, {"unit": unit, "under": under}))


def _frame_choices(services: Services, shot_id: str, under: str) -> list[tuple[str, str, bool]]:
    return [
        (each.row.id, f"frame {each.row.number}", each.row.id == under)
        for each in frames.page_of(services.records, shot_id, limit=60)
    ]


def _before_the_move(state: StandingState, shown: SetUp | None) -> SetUp | None:
    """What stood before the last move; while something is dragged, what stands."""
    if shown is not None:
        return state.set_up
    return None if state.last_move is None else taken_back(state.last_move, state.set_up)


def _page(
    request: Request,
    services: Services,
    state: StandingState,
    asked: _Asked,
    *,
    status: int = 200,
    news_seen: int | None = None,
    shown: SetUp | None = None,
    problem: Problem | None = None,
    mirror: Mirror | None = None,
) -> Response:
    path = f"/shots/{state.shot.id}/plan"
    view = plan_view(
        state.set_up if shown is None else shown,
        Shown(
            id=state.shot.id,
            shot_id=state.shot.id,
            title=f"{state.shot.title}, set-up now",
            here=asked.address(path),
            action=path,
            shadows=asked.address(f"{path}/shadows", v=mark_of(state.set_up if shown is None else shown)),
            inches=asked.unit == "in",
            under=asked.under,
            is_drawn=shown is None,
        ),
        versions=state.versions,
        measured=shares_at(state.evidence.totals, state.assessment),
        read=read_on(services.records, state.shot.id),
        before=asked.laid_under(services),
        moved_from=_before_the_move(state, shown),
        last_move=state.last_move if shown is None else None,
        problem=problem,
        mirror=mirror,
        sets=sessions.names_of_sets(services.records, state.set_up),
        photos=set_photos.of_shot(services.records, state.shot.id),
    )
    return render(
        request,
        "plan.html",
        "plan.html",
        status=status,
        plan=view,
        shot=state.shot,
        all_along=all_along_view(state.shot.id, all_along.offers(services.records, state.shot.id)),
        frames=[] if wants_partial(request) else _frame_choices(services, state.shot.id, asked.under),
        here_path=path,
        news_seen=services.records.newest if news_seen is None else news_seen,
    )

"""Suggestions from geometry: asked of the standing set-up, and written into it by a key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Final

from fastapi import APIRouter, Form, Request
from pydantic import BaseModel, Field
from starlette.responses import Response

from webapp.errors import Conflict, InvalidValue
from webapp.kit import units
from webapp.ledger.wishes import answer
from webapp.plan.suggestions import Answer
from webapp.quantities.lengths import UNITS
from webapp.services import InServices, Services
from webapp.shoots import set_up_now
from webapp.shoots.set_up_now import Change
from webapp.web.pages.plan_forms import with_unit
from webapp.web.pages.render import go_to, render
from webapp.web.pages.shots import PageId
from webapp.web.pages.suggestions_view import SuggestionsView, suggestions_view

router = APIRouter()
_LENGTHS: Final = ("x", "y", "z", "aim_x", "aim_y", "aim_z")
_ASKED: Final = ("light", "want", "amount", "unit")
_Text = Annotated[str, Field(max_length=60)]


class Written(BaseModel):
    """A suggestion's key: of which light, its place or mark or both with the versions read, and what was asked."""

    of: Annotated[str, Field(max_length=10)]
    x: _Text = ""
    y: _Text = ""
    z: _Text = ""
    aim_x: _Text = ""
    aim_y: _Text = ""
    aim_z: _Text = ""
    position_version: int | None = None
    power: _Text = ""
    power_version: int | None = None
    light: _Text = ""
    want: _Text = ""
    amount: _Text = ""
    unit: _Text = ""

    def sent(self) -> dict[str, str]:
        """What of it was offered: the light with its place, its mark or both."""
        return {name: text for name in ("of", *_LENGTHS, "power") if (text := getattr(self, name))}

    def changes(self) -> list[Change]:
        """The fields that it writes."""
        place = {name: text for name in _LENGTHS if (text := getattr(self, name))}
        changes = []
        if place:
            changes.append(Change(f"lights.{self.of}.position", place, version=self.position_version))
        if self.power:
            changes.append(Change(f"lights.{self.of}.power", self.power, version=self.power_version))
        return changes


@router.get("/shots/{shot_id}/plan/suggestions")
def suggestions(request: Request, services: InServices, shot_id: str) -> Response:
    """The form, and below it, once something is asked, each way to it."""
    view = _view(services, shot_id, dict(request.query_params))
    return _page(request, view, 422 if view.problem else 200)


@router.post("/shots/{shot_id}/plan/suggestions")
def write(
    request: Request,
    services: InServices,
    shot_id: str,
    form: Annotated[Written, Form()],
    page: PageId = "",
) -> Response:
    """Write a suggestion's place, its mark, or both into the standing set-up; nothing where the set has changed so
    that it is no longer offered."""
    asked = {name: getattr(form, name) for name in _ASKED}
    stands, usual = _view(services, shot_id, asked), units.lengths(services.records).unit
    try:
        if not stands.offers(form.sent()):
            raise Conflict("The set has changed since this was worked out; look at it again.")
        set_up_now.change(services.records, shot_id, form.changes())
    except (InvalidValue, Conflict) as error:
        status = 409 if isinstance(error, Conflict) else 422
        return _page(request, replace(_view(services, shot_id, asked), trouble=str(error)), status)
    services.announce.standing(shot_id, by=page)
    return go_to(request, f"/shots/{shot_id}/plan" + ("" if stands.unit == usual else f"?unit={stands.unit}"))


def _view(services: Services, shot_id: str, said: Mapping[str, str]) -> SuggestionsView:
    state = set_up_now.state(services.records, shot_id)
    answered: Answer | None = None
    problem = ""
    if said.get("unit") not in UNITS:
        said = {**said, "unit": state.lengths.unit}
    if "amount" in said:
        typed = with_unit(said["amount"], said["unit"]) if said.get("want") == "edge" else said["amount"]
        try:
            answered = answer(state.set_up, said.get("want", ""), said.get("light", ""), typed)
        except InvalidValue as error:
            problem = str(error)
    return suggestions_view(
        state.shot.id, state.shot.title, state.set_up, state.versions, said, answered, problem=problem
    )


def _page(request: Request, view: SuggestionsView, status: int = 200) -> Response:
    return render(request, "plan_suggestions.html", "plan_suggestions.html", status=status, suggest=view)

"""Suggestions from geometry: asked of the set-up now, and written into it by a key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Final

from fastapi import APIRouter, Form, Request
from pydantic import BaseModel, Field
from starlette.responses import Response

from webapp.errors import Conflict, InvalidValue
from webapp.kit import units
from webapp.ledger.field_values import Reader
from webapp.ledger.geometry import plan_read
from webapp.ledger.wishes import WANTS, Wish, answer
from webapp.plan.sides import TO_LENS
from webapp.plan.suggestions import Answer
from webapp.quantities.angles import read_degrees
from webapp.quantities.lengths import CENTIMETRES, UNITS, Lengths
from webapp.quantities.places import read_place
from webapp.quantities.ratios import read_ratio
from webapp.quantities.stops import read_stops
from webapp.services import InServices, Services
from webapp.shoots import set_up_now
from webapp.shoots.measured_light import read_on, shares_at
from webapp.shoots.set_up_now import Change
from webapp.web.pages.render import go_to, render
from webapp.web.pages.suggestions_view import SuggestionsView, suggestions_view

router = APIRouter()
_LENGTHS: Final = ("x", "y", "z", "aim_x", "aim_y", "aim_z")
_MOST_STOPS: Final = 12.0
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

    def changes(self, reader: Reader) -> list[Change]:
        """The fields that it writes. Raises InvalidValue for what cannot be read."""
        place = {name: text for name in _LENGTHS if (text := getattr(self, name))}
        position, power, changes = f"lights.{self.of}.position", f"lights.{self.of}.power", []
        if place:
            try:
                told = read_place(place, CENTIMETRES)
            except ValueError as problem:
                raise InvalidValue(("lights", self.of, "position"), str(problem)) from problem
            changes.append(Change(position, reader.take(position, told), self.position_version))
        if self.power:
            changes.append(Change(power, reader.typed(power, self.power), self.power_version))
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
) -> Response:
    """Write a suggestion's place, its mark, or both into the set-up now; nothing where the set has changed so
    that it is no longer offered."""
    asked = {name: getattr(form, name) for name in _ASKED}
    stands, usual = _view(services, shot_id, asked), units.lengths(services.records).unit
    try:
        if not stands.offers(form.sent()):
            raise Conflict("The set has changed since this was worked out; look at it again.")
        with set_up_now.reading(services.records, shot_id) as reader:
            changes = form.changes(reader)
        set_up_now.change(services.records, shot_id, changes)
    except (InvalidValue, Conflict) as error:
        status = 409 if isinstance(error, Conflict) else 422
        return _page(request, replace(_view(services, shot_id, asked), trouble=str(error)), status)
    return go_to(request, f"/shots/{shot_id}/plan" + ("" if stands.unit == usual else f"?unit={stands.unit}"))


def _view(services: Services, shot_id: str, said: Mapping[str, str]) -> SuggestionsView:
    state = set_up_now.state(services.records, shot_id)
    answered: Answer | None = None
    problem, surface = "", TO_LENS
    if said.get("unit") not in UNITS:
        said = {**said, "unit": state.lengths.unit}
    if "amount" in said:
        try:
            read, seen = read_on(services.records, shot_id), shares_at(state.evidence.totals, state.assessment)
            wish = _wish(said, Lengths(said["unit"] == "in"))
            # Of the same surface as the figures beside them.
            at = seen.at if seen.by_light else ""
            surface = plan_read(state.set_up, read.own, read.chosen, at).surface.key
            answered = answer(state.set_up, wish, read.own, surface)
        except InvalidValue as error:
            problem = str(error)
    return suggestions_view(
        state.shot.id,
        state.shot.title,
        state.set_up,
        state.versions,
        said,
        answered,
        surface=surface,
        problem=problem,
    )


def _wish(said: Mapping[str, str], lengths: Lengths) -> Wish:
    """What was asked. Raises InvalidValue at "want" or "amount" for what cannot be read."""
    typed, letter = said["amount"], said.get("light", "")
    want = next((each for each in WANTS if each == said.get("want", "")), None)
    if want is None:
        raise InvalidValue("want", f"“{said.get('want', '')[:30]}” is nothing that a set is asked for.")
    try:
        match want:
            case "light" | "evenness":
                return Wish(want, letter, read_stops(typed, most=_MOST_STOPS))
            case "ratio" | "sum-ratio":
                return Wish(want, letter, read_ratio(typed))
            case "edge":
                return Wish(want, letter, lengths.read_offset(typed, "a width"))
        if len(typed.strip()) == 1 and typed.strip().isalpha():
            return Wish(want, letter, like=typed.strip().upper())
        return Wish(want, letter, read_degrees(typed))
    except ValueError as problem:
        raise InvalidValue("amount", str(problem)) from problem


def _page(request: Request, view: SuggestionsView, status: int = 200) -> Response:
    return render(request, "plan_suggestions.html", "plan_suggestions.html", status=status, suggest=view)

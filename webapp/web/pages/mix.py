"""The sum of lights: weights in stops, the mixture at once, ratios and totals, and the marks to dial."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from webapp.errors import Conflict, InvalidValue, PictureRefused
from webapp.ledger.mix_settings import marks_to_dial
from webapp.ledger.ratio import KEY_TO_FILL, key_minus_fill_stops
from webapp.ledger.remix import MOST_STOPS, Mixed, Weights, mix, weights_for_ratio
from webapp.quantities.ratios import read_ratio
from webapp.quantities.stops import read_level
from webapp.services import InServices, Services
from webapp.shoots import mixes, set_up_now
from webapp.shoots.mixes import Mixing, mixing
from webapp.shoots.set_up_now import Change
from webapp.web.pages.mix_view import WEIGHT, Wanted, mixture_view
from webapp.web.pages.render import go_to, render
from webapp.web.words.say import say

router = APIRouter()
_NOT_KEPT = {"Cache-Control": "no-store"}


@router.get("/shots/{shot_id}/sum")
def sum_page(request: Request, services: InServices, shot_id: str) -> Response:
    """The page, or, for htmx, the mixture on it."""
    return _page(request, services, shot_id, dict(request.query_params))


@router.get("/shots/{shot_id}/sum.jpg")
def sum_picture(request: Request, services: InServices, shot_id: str) -> Response:
    """The mixture as a picture."""
    # Arrays and a picture library, for this address alone.
    from webapp.pictures.mixture import jpeg_of

    said = dict(request.query_params)
    found = mixing(services.records, shot_id, said.get("mixture", ""))
    _refuse_without_sum(found)
    mixed = mix(found.found, _weights(found, said), services.light_table.pictures_of(found.found))
    content = jpeg_of(mixed.rgb, None if said.get("plain") else mixed.marked)
    return Response(content, media_type="image/jpeg", headers=_NOT_KEPT)


@router.post("/shots/{shot_id}/mixtures")
async def keep(request: Request, services: InServices, shot_id: str) -> Response:
    """Keep the mixture as the target of a reshoot, or a lesson."""
    return await run_in_threadpool(_keep, request, services, shot_id, await _form_of(request))


@router.post("/shots/{shot_id}/mixtures/{mixture_id}/forget")
def forget(request: Request, services: InServices, shot_id: str, mixture_id: str) -> Response:
    mixes.forget_mixture(services.records, shot_id, mixture_id)
    return go_to(request, f"/shots/{shot_id}/sum")


@router.post("/shots/{shot_id}/sum/dial")
async def write_marks(request: Request, services: InServices, shot_id: str) -> Response:
    """Write the marks of the mixture into the standing set-up; the dials are then turned to match."""
    return await run_in_threadpool(_write_marks, request, services, shot_id, await _form_of(request))


async def _form_of(request: Request) -> dict[str, str]:
    form = await request.form(max_files=0, max_fields=100)
    return {name: value for name, value in form.items() if isinstance(value, str)}


def _keep(request: Request, services: Services, shot_id: str, said: dict[str, str]) -> Response:
    found = mixing(services.records, shot_id, said.get("mixture", ""))
    words: dict[str, Any] = {name: said[name] for name in ("name", "kept_for") if name in said}
    try:
        kept = mixes.keep_mixture(services.records, found, words, _weights(found, said))
    except InvalidValue as problem:
        return _page(request, services, shot_id, said, status=422, keep_problem=str(problem))
    return go_to(request, f"/shots/{shot_id}/sum?mixture={kept}")


def _write_marks(request: Request, services: Services, shot_id: str, said: dict[str, str]) -> Response:
    found = mixing(services.records, shot_id, said.get("mixture", ""))
    _refuse_without_sum(found)
    changes: list[Change] = []
    for each in marks_to_dial(found.found, _weights(found, said), found.standing):
        if found.standing.light(each.letter) is None:
            if not each.out:
                raise Conflict(f"{each.name} does not stand in the set: put it up first.")
            continue
        if each.power_stops is not None:
            changes.append(Change(f"lights.{each.letter}.power", each.power_stops))
        changes.append(Change(f"lights.{each.letter}.lit", not each.out))
    set_up_now.change(services.records, shot_id, changes)
    return go_to(request, f"/shots/{shot_id}")


def _page(
    request: Request,
    services: Services,
    shot_id: str,
    said: dict[str, str],
    *,
    status: int = 200,
    keep_problem: str = "",
) -> Response:
    seen = services.records.newest
    found = mixing(services.records, shot_id, said.get("mixture", ""))
    problem, mixed = "", None
    weights: Weights = _kept_weights(found, said)
    wanted = Wanted.of(found, said)
    try:
        weights = _weights(found, said)
        if found.found.parts:
            weights, mixed = _mixed(services, found, weights, said, wanted)
    except (InvalidValue, PictureRefused) as reason:
        problem, status = str(reason), 422
    view = mixture_view(
        found,
        weights,
        mixed,
        wanted,
        typed=said if problem else {},
        problem=problem,
        keep_problem=keep_problem,
        query=_query(found, weights, said),
    )
    return render(request, "mixture.html", "mixture.html", status=status, view=view, news_seen=seen, oob=False)


def _mixed(
    services: Services, found: Mixing, weights: Weights, said: Mapping[str, str], wanted: Wanted
) -> tuple[Weights, Mixed]:
    """The mixture; where a ratio was asked for, with the fill moved to it."""
    pictures = services.light_table.pictures_of(found.found)
    mixed = mix(found.found, weights, pictures, found.patches)
    if not said.get("set-ratio"):
        return weights, mixed
    patch = next((each for each in mixed.patches if each.name == wanted.at), mixed.patches[0])
    try:
        stops = key_minus_fill_stops(read_ratio(said.get("ratio", "")), said.get("convention", KEY_TO_FILL))
        weights = weights_for_ratio(patch, weights, wanted.key, wanted.fill, stops)
    except ValueError as problem:
        raise InvalidValue("ratio", str(problem)) from problem
    return weights, mix(found.found, weights, pictures, found.patches)


def _kept_weights(found: Mixing, said: Mapping[str, str]) -> dict[str, float | None]:
    """The weights of a kept mixture where one is asked for; else every light as it was."""
    kept = next((each for each in found.kept if each.id == said.get("mixture")), None)
    return {letter: kept.weights.get(letter) if kept else 0.0 for letter in found.found.letters}


def _weights(found: Mixing, said: Mapping[str, str]) -> dict[str, float | None]:
    """As typed; what is left out is as it was kept."""
    weights = _kept_weights(found, said)
    for letter in found.found.letters:
        if (typed := said.get(WEIGHT + letter)) is not None:
            try:
                weights[letter] = read_level(typed, most=MOST_STOPS)
            except ValueError as problem:
                raise InvalidValue(WEIGHT + letter, f"{letter}: {problem}") from problem
    return weights


def _query(found: Mixing, weights: Weights, said: Mapping[str, str]) -> str:
    asked: dict[str, Any] = {WEIGHT + each: "off" if weights[each] is None else weights[each] for each in weights}
    asked |= {name: said[name] for name in ("mixture", "plain") if said.get(name)}
    return urlencode(asked)


def _refuse_without_sum(found: Mixing) -> None:
    if not found.found.parts:
        raise Conflict(" ".join(map(say, found.found.refused)))

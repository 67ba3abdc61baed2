"""The sum of lights: weights in stops, the mixture at once, ratios and totals, and the marks to dial."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from webapp.errors import Conflict, InvalidValue, PictureRefused
from webapp.house import House, InHouse
from webapp.ledger import mixtures, standing
from webapp.ledger.mixture_marks import marks_to_dial
from webapp.ledger.mixtures import Mixing, mixing
from webapp.ledger.ratio import KEY_TO_FILL, read_ratio
from webapp.ledger.standing import Change
from webapp.ledger.sum_of_lights import Mixed, Weights, mix, read_weight, weights_for_ratio
from webapp.pages.mixture_view import WEIGHT, Wanted, mixture_view
from webapp.pages.render import go_to, render
from webapp.pictures.mixture import jpeg_of

router = APIRouter()
_NOT_KEPT = {"Cache-Control": "no-store"}


@router.get("/shots/{shot_id}/sum")
def sum_page(request: Request, house: InHouse, shot_id: str) -> Response:
    """The page, or, for htmx, the mixture on it."""
    return _page(request, house, shot_id, dict(request.query_params))


@router.get("/shots/{shot_id}/sum.jpg")
def sum_picture(request: Request, house: InHouse, shot_id: str) -> Response:
    """The mixture as a picture."""
    said = dict(request.query_params)
    found = mixing(house.records, shot_id, said.get("mixture", ""))
    _refuse_without_sum(found)
    mixed = mix(found.found, _weights(found, said), house.light_table.pictures_of(found.found))
    content = jpeg_of(mixed.rgb, None if said.get("plain") else mixed.marked)
    return Response(content, media_type="image/jpeg", headers=_NOT_KEPT)


@router.post("/shots/{shot_id}/mixtures")
async def keep(request: Request, house: InHouse, shot_id: str) -> Response:
    """Keep the mixture as the target of a reshoot, or a lesson."""
    return await run_in_threadpool(_keep, request, house, shot_id, await _form_of(request))


@router.post("/shots/{shot_id}/mixtures/{mixture_id}/forget")
def forget(request: Request, house: InHouse, shot_id: str, mixture_id: str) -> Response:
    mixtures.forget_mixture(house.records, shot_id, mixture_id)
    return go_to(request, f"/shots/{shot_id}/sum")


@router.post("/shots/{shot_id}/sum/dial")
async def write_marks(request: Request, house: InHouse, shot_id: str) -> Response:
    """Write the marks of the mixture into the standing set-up; the dials are then turned to match."""
    return await run_in_threadpool(_write_marks, request, house, shot_id, await _form_of(request))


async def _form_of(request: Request) -> dict[str, str]:
    form = await request.form(max_files=0, max_fields=100)
    return {name: value for name, value in form.items() if isinstance(value, str)}


def _keep(request: Request, house: House, shot_id: str, said: dict[str, str]) -> Response:
    found = mixing(house.records, shot_id, said.get("mixture", ""))
    words: dict[str, Any] = {name: said[name] for name in ("name", "kept_for") if name in said}
    try:
        kept = mixtures.keep_mixture(house.records, found, words, _weights(found, said))
    except InvalidValue as problem:
        return _page(request, house, shot_id, said, status=422, keep_problem=str(problem))
    return go_to(request, f"/shots/{shot_id}/sum?mixture={kept}")


def _write_marks(request: Request, house: House, shot_id: str, said: dict[str, str]) -> Response:
    found = mixing(house.records, shot_id, said.get("mixture", ""))
    _refuse_without_sum(found)
    changes: list[Change] = []
    for each in marks_to_dial(found.found, _weights(found, said), found.standing):
        if found.standing.light(each.letter) is None:
            if not each.out:
                raise Conflict(f"{each.name} does not stand in the set: put it up first.")
            continue
        if each.mark:
            changes.append(Change(f"lights.{each.letter}.power", each.mark))
        changes.append(Change(f"lights.{each.letter}.lit", "off" if each.out else "on"))
    standing.change(house.records, shot_id, changes)
    house.announce.standing(shot_id)
    return go_to(request, f"/shots/{shot_id}")


def _page(
    request: Request,
    house: House,
    shot_id: str,
    said: dict[str, str],
    *,
    status: int = 200,
    keep_problem: str = "",
) -> Response:
    found = mixing(house.records, shot_id, said.get("mixture", ""))
    problem, mixed = "", None
    weights: Weights = _kept_weights(found, said)
    wanted = Wanted.of(found, said)
    try:
        weights = _weights(found, said)
        if found.found.parts:
            weights, mixed = _mixed(house, found, weights, said, wanted)
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
    return render(request, "mixture.html", "mixture.html", status=status, view=view)


def _mixed(
    house: House, found: Mixing, weights: Weights, said: Mapping[str, str], wanted: Wanted
) -> tuple[Weights, Mixed]:
    """The mixture; where a ratio was asked for, with the fill moved to it."""
    pictures = house.light_table.pictures_of(found.found)
    mixed = mix(found.found, weights, pictures, found.patches)
    if not said.get("set-ratio"):
        return weights, mixed
    patch = next((each for each in mixed.patches if each.name == wanted.at), mixed.patches[0])
    try:
        stops = read_ratio(said.get("ratio", ""), said.get("convention", KEY_TO_FILL))
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
                weights[letter] = read_weight(typed)
            except ValueError as problem:
                raise InvalidValue(WEIGHT + letter, f"{letter}: {problem}") from problem
    return weights


def _query(found: Mixing, weights: Weights, said: Mapping[str, str]) -> str:
    asked: dict[str, Any] = {WEIGHT + each: "off" if weights[each] is None else weights[each] for each in weights}
    asked |= {name: said[name] for name in ("mixture", "plain") if said.get(name)}
    return urlencode(asked)


def _refuse_without_sum(found: Mixing) -> None:
    if not found.found.parts:
        raise Conflict(" ".join(found.found.refused))

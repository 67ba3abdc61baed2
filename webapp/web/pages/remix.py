"""The lights of a shot re-mixed: levels in stops, the mix at once, ratios and totals, and the powers that make it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from webapp.errors import Conflict, InvalidValue, PictureRefused
from webapp.ledger.mix_settings import power_settings
from webapp.ledger.ratio import KEY_TO_FILL, key_minus_fill_stops
from webapp.ledger.remix import MOST_STOPS, Levels, Mixed, levels_for_ratio, mix
from webapp.quantities.ratios import read_ratio
from webapp.quantities.stops import read_level
from webapp.services import InServices, Services
from webapp.shoots import mixes, set_up_now
from webapp.shoots.mixes import Mixing, mixing
from webapp.shoots.set_up_now import Change
from webapp.web.pages.remix_view import LEVEL, Wanted, remix_view
from webapp.web.pages.render import go_to, render
from webapp.web.words.say import say

router = APIRouter()
_NOT_KEPT = {"Cache-Control": "no-store"}
# As the addresses of the page were before it was called a re-mix.
_OLDER_NAMES = (("weight-", LEVEL), ("mixture", "mix"))


@router.get("/shots/{shot_id}/remix")
def remix_page(request: Request, services: InServices, shot_id: str) -> Response:
    """The page, or, for htmx, the mix on it."""
    return _page(request, services, shot_id, dict(request.query_params))


@router.get("/shots/{shot_id}/sum")
def older_address(request: Request, shot_id: str) -> Response:
    """Where the page stood before."""
    asked = [
        (_renamed(name), value) for name, value in request.query_params.multi_items() if name not in ("set-ratio",)
    ]
    return RedirectResponse(f"/shots/{shot_id}/remix" + (f"?{urlencode(asked)}" if asked else ""), 308)


def _renamed(name: str) -> str:
    for older, newer in _OLDER_NAMES:
        if name.startswith(older):
            return newer + name.removeprefix(older)
    return name


@router.get("/shots/{shot_id}/remix.jpg")
def remix_picture(request: Request, services: InServices, shot_id: str) -> Response:
    """The mix as a picture."""
    # Arrays and a picture library, for this address alone.
    from webapp.pictures.mixing import jpeg_of

    said = dict(request.query_params)
    found = mixing(services.records, shot_id, said.get("mix", ""))
    _refuse_without_parts(found)
    mixed = mix(found.found, _levels(found, said), services.light_table.pictures_of(found.found))
    content = jpeg_of(mixed.rgb, None if said.get("plain") else mixed.marked)
    return Response(content, media_type="image/jpeg", headers=_NOT_KEPT)


@router.post("/shots/{shot_id}/mixes")
async def save_mix(request: Request, services: InServices, shot_id: str) -> Response:
    """Save the mix as the target of a reshoot, or a lesson."""
    return await run_in_threadpool(_save, request, services, shot_id, await _form_of(request))


@router.post("/shots/{shot_id}/mixes/{mix_id}/forget")
def forget_mix(request: Request, services: InServices, shot_id: str, mix_id: str) -> Response:
    mixes.forget_mix(services.records, shot_id, mix_id)
    return go_to(request, f"/shots/{shot_id}/remix")


@router.post("/shots/{shot_id}/remix/powers")
async def set_powers(request: Request, services: InServices, shot_id: str) -> Response:
    """Set the powers of the mix in the set-up now; the dials are then turned to match."""
    return await run_in_threadpool(_set_powers, request, services, shot_id, await _form_of(request))


async def _form_of(request: Request) -> dict[str, str]:
    form = await request.form(max_files=0, max_fields=100)
    return {name: value for name, value in form.items() if isinstance(value, str)}


def _save(request: Request, services: Services, shot_id: str, said: dict[str, str]) -> Response:
    found = mixing(services.records, shot_id, said.get("mix", ""))
    words: dict[str, Any] = {name: said[name] for name in ("name", "saved_for") if name in said}
    try:
        kept = mixes.save_mix(services.records, found, words, _levels(found, said))
    except InvalidValue as problem:
        return _page(request, services, shot_id, said, status=422, save_problem=str(problem))
    return go_to(request, f"/shots/{shot_id}/remix?mix={kept}")


def _set_powers(request: Request, services: Services, shot_id: str, said: dict[str, str]) -> Response:
    found = mixing(services.records, shot_id, said.get("mix", ""))
    _refuse_without_parts(found)
    changes: list[Change] = []
    for each in power_settings(found.found, _levels(found, said), found.standing):
        if found.standing.light(each.letter) is None:
            if not each.out:
                raise Conflict(f"{each.name} does not stand in the set: add it first.")
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
    save_problem: str = "",
) -> Response:
    seen = services.records.newest
    found = mixing(services.records, shot_id, said.get("mix", ""))
    problem, mixed = "", None
    levels: Levels = _saved_levels(found, said)
    wanted = Wanted.of(found, said)
    try:
        levels = _levels(found, said)
        if found.found.parts:
            levels, mixed = _mixed(services, found, levels, said, wanted)
    except (InvalidValue, PictureRefused) as reason:
        problem, status = str(reason), 422
    view = remix_view(
        found,
        levels,
        mixed,
        wanted,
        typed=said if problem else {},
        problem=problem,
        save_problem=save_problem,
        query=_query(levels, said),
    )
    return render(request, "remix.html", "remix.html", status=status, view=view, news_seen=seen, oob=False)


def _mixed(
    services: Services, found: Mixing, levels: Levels, said: Mapping[str, str], wanted: Wanted
) -> tuple[Levels, Mixed]:
    """The mix; where a ratio was asked for, with the fill moved to it."""
    pictures = services.light_table.pictures_of(found.found)
    mixed = mix(found.found, levels, pictures, found.patches)
    if not said.get("set-ratio"):
        return levels, mixed
    patch = next((each for each in mixed.patches if each.name == wanted.at), mixed.patches[0])
    try:
        stops = key_minus_fill_stops(read_ratio(said.get("ratio", "")), said.get("convention", KEY_TO_FILL))
        levels = levels_for_ratio(patch, levels, wanted.key, wanted.fill, stops)
    except ValueError as problem:
        raise InvalidValue("ratio", str(problem)) from problem
    return levels, mix(found.found, levels, pictures, found.patches)


def _saved_levels(found: Mixing, said: Mapping[str, str]) -> dict[str, float | None]:
    """The levels of a saved mix where one is asked for; else every light as it was."""
    saved = next((each for each in found.saved if each.id == said.get("mix")), None)
    return {letter: saved.levels.get(letter) if saved else 0.0 for letter in found.found.letters}


def _levels(found: Mixing, said: Mapping[str, str]) -> dict[str, float | None]:
    """As chosen on the ladders; one that was typed, or a click to the next mark, goes before the rung. What is left out
    is as it was saved."""
    levels = _saved_levels(found, said)
    typed = {f"{LEVEL}{said.get('of', '')}": said.get("to", "")} if said.get("set-level") else {}
    for letter in found.found.letters:
        name = LEVEL + letter
        told = said.get(f"click-{letter}") or typed.get(name) or said.get(name)
        if told is not None:
            try:
                levels[letter] = read_level(told, most=MOST_STOPS)
            except ValueError as problem:
                raise InvalidValue(name, f"{letter}: {problem}") from problem
    return levels


def _query(levels: Levels, said: Mapping[str, str]) -> str:
    asked: dict[str, Any] = {LEVEL + each: "off" if levels[each] is None else levels[each] for each in levels}
    asked |= {name: said[name] for name in ("mix", "plain") if said.get(name)}
    return urlencode(asked)


def _refuse_without_parts(found: Mixing) -> None:
    if not found.found.parts:
        raise Conflict(" ".join(map(say, found.found.refused)))

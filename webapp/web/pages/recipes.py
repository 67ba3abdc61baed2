"""Recipes: found, read, published from a frame, rewritten as a next version, deleted."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.responses import FileResponse, Response

from webapp.errors import InUse, InvalidValue, SeveralInvalid
from webapp.kit import units
from webapp.recipes import deletion, publish
from webapp.recipes.document import DIRECTIONS, Recipe
from webapp.recipes.open_points import open_points
from webapp.recipes.search.among_frames import find_frames
from webapp.recipes.search.finding import COUNTED_UP_TO, FACETS_OVER, PAGE, Filters, finder_of
from webapp.recipes.search.lines import FACETS
from webapp.recipes.search.of_frames import asks_for_frames
from webapp.recipes.share.links import USUAL_DAYS
from webapp.recipes.share.photos import tickable
from webapp.records import recipes as recipe_records
from webapp.records.recipe_search import Order
from webapp.security.identity import ASKING, Right, owner_only
from webapp.services import InServices, Services
from webapp.shoots.log_frame import REJECTED
from webapp.web.pages.desk_services import KEEP, thumbnail_answer
from webapp.web.pages.frame_results import between_views, frame_lines
from webapp.web.pages.keys import Key, KeyRow, key_row
from webapp.web.pages.link_view import LASTING, link_lines, reach_words
from webapp.web.pages.recipe_view import (
    TAKEN_WORDS,
    Chosen,
    FacetGroup,
    chips,
    facet_groups,
    page_choices,
    point_views,
    recipe_view,
    result_lines,
    version_views,
)
from webapp.web.pages.render import go_to, render, whole_page
from webapp.web.pages.shots import FormText
from webapp.web.recipe_form import UNITS, edited, filled_in, keyed, parts_of, with_blank_rows
from webapp.web.typed import Counted
from webapp.web.words.say import say
from webapp.web.words.shared import frames_words
from webapp.web.words.stating import with_open_stated
from webapp.web.words.written import written

router = APIRouter()
_LONGEST_QUESTION = 10_000
_MOST_CHOSEN = 20
_MOST_FIELDS = 3000
"""Of the form of a recipe, whose steps have a field for everything they say."""
_MOST_PAGES = 50_000
RECIPES, FRAMES = _AMONG = ("recipes", "frames")


@dataclass(frozen=True, slots=True)
class PictureChoice:
    """A frame of the shot whose picture may go with the recipe."""

    frame_id: str
    number: int
    digest: str
    chosen: bool
    caption: str


@dataclass(frozen=True, slots=True)
class RejectedFrame:
    """A rejected frame that the history may tell of."""

    frame_id: str
    number: int
    because: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Ticked:
    """What was ticked on the form: frames whose pictures go with the recipe, rejected ones that its history tells of, open
    points that are stated as open."""

    comparisons: tuple[str, ...] = ()
    picked: tuple[str, ...] = ()
    stated: tuple[str, ...] = ()


@router.get("/recipes")
def find_recipes(
    request: Request,
    services: InServices,
    q: str = "",
    facet: Annotated[list[str] | None, Query()] = None,
    f_from: str = "",
    f_to: str = "",
    m_from: str = "",
    m_to: str = "",
    since: str = "",
    until: str = "",
    measured: str = "",
    order: str = Order.BEST,
    page: Counted = 1,
    among: str = "",
) -> Response:
    """The search: everything that was chosen stands in the address. A question about frames is asked of frames, unless
    `among` says of what."""
    typed = {"f_from": f_from, "f_to": f_to, "m_from": m_from, "m_to": m_to, "since": since, "until": until}
    typed |= {"measured": measured}
    by = Order(order) if order in set(Order) else Order.BEST
    chosen = Chosen(
        q[:_LONGEST_QUESTION], tuple(facet or ())[:_MOST_CHOSEN], typed, by, among if among in _AMONG else ""
    )
    page = min(max(page, 1), _MOST_PAGES)
    if chosen.among == FRAMES or (not chosen.among and asks_for_frames(q)):
        return _frames_found(request, services, chosen, page)
    problem, filters = "", Filters()
    try:
        filters = _filters(chosen)
    except InvalidValue as error:
        problem = str(error)
    found = finder_of(services.records).find(chosen.question, filters, PAGE, PAGE * (page - 1), by)
    pages = math.ceil(found.count / PAGE)
    more_than = found.count >= COUNTED_UP_TO
    if more_than and by is not Order.BEST and len(found.lines) == PAGE:
        # What is put in order by a figure goes on past what is counted.
        pages = max(pages, page + 1)
    return render(
        request,
        "recipes.html",
        "recipe_results.html",
        chosen=chosen,
        problem=problem,
        lines=result_lines(found.lines),
        count=found.count,
        more_than=more_than,
        facets_over=FACETS_OVER if found.count > FACETS_OVER else None,
        says=" ".join(map(say, found.says)),
        chips=chips(found.stated, chosen, units.lengths(services.records)),
        as_words=found.as_words,
        groups=_groups(chosen, found.facets),
        orders=[(each, replace(chosen, order=each).address(), each is by) for each in Order],
        address=chosen.address(),
        asked=bool(chosen.question.strip() or chosen.facets or any(chosen.typed.values())),
        pages=page_choices(page, pages, chosen),
        frames=None,
        other_address=replace(chosen, among=FRAMES).address() if chosen.question.strip() else "",
    )


def _frames_found(request: Request, services: Services, chosen: Chosen, page: int) -> Response:
    found = find_frames(services.records, chosen.question, PAGE, PAGE * (page - 1))
    lengths = units.lengths(services.records)
    return render(
        request,
        "recipes.html",
        "recipe_results.html",
        chosen=chosen,
        problem="",
        frames=frame_lines(found.frames),
        shots=[(shot.title, f"/shots/{shot.id}", count) for shot, count in found.shots],
        between=between_views(found.between, lengths),
        count=found.count,
        more_than=found.count >= COUNTED_UP_TO,
        says=" ".join(map(say, found.says)),
        chips=chips(found.stated, chosen, lengths),
        as_words=found.as_words,
        pages=page_choices(page, math.ceil(found.count / PAGE), chosen),
        other_address=replace(chosen, among=RECIPES).address(),
    )


def _groups(chosen: Chosen, counts: tuple[tuple[str, str, int], ...]) -> tuple[FacetGroup, ...]:
    return facet_groups(FACETS, counts, chosen)


def _filters(chosen: Chosen) -> Filters:
    facets = []
    for each in chosen.facets:
        name, _, value = each.partition("=")
        if name not in FACETS or not value:
            raise InvalidValue("facet", f"“{each[:60]}” is no filter.")
        facets.append((name, value))
    typed = chosen.typed
    measured = _number("measured", typed["measured"])
    return Filters(
        facets=tuple(facets),
        f_number=(_number("f_from", typed["f_from"]), _number("f_to", typed["f_to"])),
        magnification=(_number("m_from", typed["m_from"]), _number("m_to", typed["m_to"])),
        made_on=(_day("since", typed["since"]), _day("until", typed["until"])),
        measured_from=None if measured is None else round(measured),
    )


def _number(name: str, text: str) -> float | None:
    if not text.strip():
        return None
    try:
        value = float(text.strip().lower().removeprefix("f/").replace(",", "."))
    except ValueError:
        value = -1.0
    if not 0.0 <= value < 1e6:
        raise InvalidValue(name, f"“{text.strip()[:20]}” is no figure to filter by: write it as 11 or 0.5.")
    return value


def _day(name: str, text: str) -> dt.date | None:
    if not text.strip():
        return None
    try:
        return dt.date.fromisoformat(text.strip())
    except ValueError as error:
        raise InvalidValue(name, f"“{text.strip()[:20]}” is no day: write it as 2026-11-24.") from error


@router.get("/recipes/pictures/{digest}")
def recipe_picture(services: InServices, digest: str) -> Response:
    return FileResponse(services.store.path_of(digest), media_type="image/jpeg", headers=KEEP)


@router.get("/recipes/pictures/{digest}/thumbnail")
def recipe_thumbnail(services: InServices, digest: str) -> Response:
    return thumbnail_answer(services, digest, services.store.path_of(digest))


@router.get("/recipes/{recipe_id}")
def recipe_page(request: Request, services: InServices, recipe_id: str, taken: str = "") -> Response:
    return _recipe(request, services, recipe_id, None, TAKEN_WORDS.get(taken, ""))


@router.get("/recipes/{recipe_id}/versions/{number}")
def version_page(request: Request, services: InServices, recipe_id: str, number: Counted) -> Response:
    return _recipe(request, services, recipe_id, number)


def _recipe(request: Request, services: Services, recipe_id: str, number: int | None, taken: str = "") -> Response:
    published = publish.read(services.records, recipe_id, number)
    versions = publish.all_versions(services.records, recipe_id)
    with services.records.reading() as db:
        links = recipe_records.links_to(db, recipe_id)
    like = finder_of(services.records).more_like(recipe_id)
    base = services.doors.address_for_readers(str(request.base_url))
    lengths = units.lengths(services.records)
    return whole_page(
        request,
        "recipe.html",
        published=published,
        taken=taken,
        view=recipe_view(published.recipe, services.store, lengths),
        keys=_keys(published, is_owner=ASKING.get().may(Right.OWN)),
        versions=version_views(versions, lengths),
        links=link_lines(links, {each.number: each.recipe for each in versions}),
        set_photos=tickable(services.records, recipe_id),
        lasting=LASTING,
        usual_days=str(USUAL_DAYS),
        base=base,
        reach=reach_words(services.doors, base),
        alike=result_lines([line for line, _ in like]),
    )


def _keys(published: publish.Published, *, is_owner: bool) -> KeyRow:
    """What is done with a recipe: made again, first of all."""
    at = f"/recipes/{published.recipe_id}"
    return key_row(
        Key("Reshoot", f"{at}/reshoot?version={published.number}"),
        Key("On other kit", f"{at}/adapt"),
        Key("Set-up sheet", f"{at}/versions/{published.number}/sheet"),
        Key("Write the next version", f"{at}/rewrite") if is_owner else None,
        Key("Open its frame", f"/frames/{published.frame_id}") if published.frame_id else None,
        Key("Export (zip)", f"{at}/bundle"),
        Key("Delete for good", f"{at}/delete-for-good") if is_owner else None,
    )


@router.get("/recipes/{recipe_id}/delete-for-good")
@owner_only
def ask_to_delete(request: Request, services: InServices, recipe_id: str) -> Response:
    """What goes with a recipe, and the field that its title is typed into."""
    return _ask_to_delete(request, services, recipe_id)


@router.post("/recipes/{recipe_id}/delete-for-good")
@owner_only
def delete_for_good(request: Request, services: InServices, recipe_id: str, title: FormText = "") -> Response:
    """Delete a recipe with all its versions, pictures and links."""
    try:
        deletion.delete_recipe(services.records, services.settings, services.store, recipe_id, title)
    except InvalidValue as error:
        return _ask_to_delete(request, services, recipe_id, str(error), status=422)
    except InUse as error:
        return _ask_to_delete(request, services, recipe_id, str(error), status=409)
    return go_to(request, "/recipes")


def _ask_to_delete(
    request: Request, services: Services, recipe_id: str, problem: str = "", status: int = 200
) -> Response:
    leaving = deletion.leaving_recipe(services.records, recipe_id)
    return whole_page(request, "delete_recipe.html", status=status, leaving=leaving, problem=problem)


@router.get("/frames/{frame_id}/recipe")
def publish_form(request: Request, services: InServices, frame_id: str) -> Response:
    """A frame's recipe, drafted from the ledger and open to be edited."""
    return _form(request, services, frame_id, None)


@router.post("/frames/{frame_id}/recipe")
@owner_only
async def publish_frame(request: Request, services: InServices, frame_id: str) -> Response:
    form = await request.form(max_files=0, max_fields=_MOST_FIELDS)
    said = {name: value for name, value in form.items() if isinstance(value, str)}
    ticked = Ticked(*(_several(form, name) for name in ("comparison", "picked", "open")))
    return await run_in_threadpool(_publish, request, services, frame_id, said, ticked)


def _several(form: FormData, name: str) -> tuple[str, ...]:
    return tuple(value for value in form.getlist(name) if isinstance(value, str))


def _publish(
    request: Request, services: Services, frame_id: str, said: Mapping[str, str], ticked: Ticked
) -> Response:
    draft, _ = publish.draft_from(services.records, frame_id, ticked.picked)
    try:
        whole = edited(written(draft), said)
        points = open_points(whole, draft.doubts)
        whole = with_open_stated(whole, points, ticked.stated, asked_of_all="points-listed" in said)
    except SeveralInvalid as error:
        return _form(request, services, frame_id, said, error, ticked)
    captions = {
        name.removeprefix("caption-"): text.strip() for name, text in said.items() if name.startswith("caption-")
    }
    whole = publish.with_pictures(
        services.records, services.store, services.intake.preview_path, whole, frame_id, ticked.comparisons, captions
    )
    published = publish.publish(services.records, whole, frame_id=frame_id, recipe_id=said.get("recipe_id") or None)
    return go_to(request, f"/recipes/{published.recipe_id}")


def _form(
    request: Request,
    services: Services,
    frame_id: str,
    said: Mapping[str, str] | None,
    error: SeveralInvalid | None = None,
    ticked: Ticked | None = None,
) -> Response:
    ticked = ticked or Ticked()
    draft, shot = publish.draft_from(services.records, frame_id, ticked.picked)
    frames = publish.frames_upto(services.records, frame_id)
    with services.records.reading() as db:
        earlier = recipe_records.lines_of(db, [row.id for row in recipe_records.recipes_from_shot(db, shot.id)])
    pictured = {
        frame.row.id: (frame, picture)
        for frame in frames
        if (picture := next((each for each in frame.pictures if each.preview), None))
    }
    choices = [
        PictureChoice(
            each,
            frame.row.number,
            picture.digest,
            each in ticked.comparisons,
            (said or {}).get(f"caption-{each}", ""),
        )
        for each, (frame, picture) in pictured.items()
    ]
    rejected = [
        RejectedFrame(frame.row.id, frame.row.number, frame.row.because, frame.row.id in ticked.picked)
        for frame in frames
        if frame.row.verdict == REJECTED
    ]
    recipe = written(draft)
    points = open_points(_as_told(recipe, said), draft.doubts)
    return _form_page(
        request,
        recipe,
        f"/frames/{frame_id}/recipe",
        said,
        error,
        title=shot.title,
        back=f"/frames/{frame_id}",
        frame_id=frame_id,
        points=point_views(points, draft.set_up, frame_id, shot.id, ticked.stated, units.lengths(services.records)),
        crop_picture=f"/pictures/{pictured[frame_id][1].digest}/preview" if frame_id in pictured else "",
        choices=choices,
        rejected=rejected,
        earlier=earlier,
        chosen_recipe=(said or {}).get("recipe_id", earlier[0].recipe_id if earlier else ""),
    )


@router.get("/recipes/{recipe_id}/rewrite")
@owner_only
def rewrite_form(request: Request, services: InServices, recipe_id: str) -> Response:
    """The newest version as a form; what is kept is the next one."""
    return _rewrite_page(request, services, recipe_id)


@router.post("/recipes/{recipe_id}/rewrite")
@owner_only
async def rewrite(request: Request, services: InServices, recipe_id: str) -> Response:
    form = await request.form(max_files=0, max_fields=_MOST_FIELDS)
    said = {name: value for name, value in form.items() if isinstance(value, str)}
    return await run_in_threadpool(_rewrite, request, services, recipe_id, said)


def _rewrite(request: Request, services: Services, recipe_id: str, said: Mapping[str, str]) -> Response:
    stands = publish.read(services.records, recipe_id)
    try:
        whole = edited(stands.recipe, said)
    except SeveralInvalid as error:
        return _rewrite_page(request, services, recipe_id, said, error)
    publish.publish(services.records, whole, frame_id=stands.frame_id, recipe_id=recipe_id)
    return go_to(request, f"/recipes/{recipe_id}")


def _rewrite_page(
    request: Request,
    services: Services,
    recipe_id: str,
    said: Mapping[str, str] | None = None,
    error: SeveralInvalid | None = None,
) -> Response:
    stands = publish.read(services.records, recipe_id)
    return _form_page(
        request,
        stands.recipe,
        f"/recipes/{recipe_id}/rewrite",
        said,
        error,
        title=stands.recipe.title,
        back=f"/recipes/{recipe_id}",
        frame_id="",
        points=(),
        crop_picture=f"/recipes/pictures/{stands.recipe.result.digest}" if stands.recipe.result else "",
        choices=[],
        rejected=[],
        earlier=[],
        chosen_recipe="",
    )


def _as_told(recipe: Recipe, said: Mapping[str, str] | None) -> Recipe:
    """The recipe as it was typed so far; as it was drafted where that cannot be kept."""
    try:
        return edited(recipe, said or {})
    except SeveralInvalid:
        return recipe


def _form_page(
    request: Request,
    recipe: Recipe,
    action: str,
    said: Mapping[str, str] | None,
    error: SeveralInvalid | None,
    **view: Any,
) -> Response:
    problems = {":".join(each.where): str(each) for each in error.problems} if error else {}
    values = filled_in(recipe, said)
    return whole_page(
        request,
        "recipe_form.html",
        status=422 if error else 200,
        action=action,
        values=values,
        rows=with_blank_rows(values),
        parts=parts_of(values, problems),
        changes=[(key, each, frames_words(each)) for key, each in keyed(recipe.changes)],
        units=UNITS,
        problems=problems,
        recipe=recipe,
        directions=DIRECTIONS,
        **view,
    )

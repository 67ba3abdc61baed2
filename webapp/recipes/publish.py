"""Publish recipes: draft from a frame, keep a version that never changes, read it again."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import takewhile
from pathlib import Path
from types import MappingProxyType
from zoneinfo import ZoneInfo

from sqlmodel import Session as Database

from webapp.errors import Conflict
from webapp.facts import Fact, facts_json, read_facts
from webapp.ledger.ambient_proof import prove
from webapp.ledger.evidence import LEAST_TOLERANCE_STOPS
from webapp.ledger.set_up import Light
from webapp.pictures.store import PictureStore
from webapp.quantities.reading import words_in
from webapp.recipes.differences import differences
from webapp.recipes.document import PicturePart, Recipe, read_recipe, recipe_json
from webapp.recipes.drafting import Draft, ShotWords, ambient_part, draft
from webapp.recipes.open_points import Doubts
from webapp.recipes.patches import patch_parts
from webapp.recipes.search.lines import line_of
from webapp.records import kit as kit_records
from webapp.records import recipe_search
from webapp.records import recipes as recipe_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.idempotency import answer_before, body_digest, keep_answer
from webapp.records.tables import RecipeRow, RecipeVersion, Session, Shot
from webapp.shoots import frames as ledger_frames
from webapp.shoots.evidence import Witnesses, witnesses
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.readings import readings_of_frame
from webapp.shoots.series import SERIES_PURPOSE

_MOST_FRAMES = 1000
_SUM_WITHIN = 2.0
"""A sum of frames is off by more than one of them: so many of a reading's tolerances are no contradiction."""


@dataclass(frozen=True, slots=True)
class Published:
    """One version of a recipe. `newest` is the number of the newest one."""

    recipe_id: str
    version_id: str
    number: int
    newest: int
    recipe: Recipe
    differs: tuple[Fact, ...]
    frame_id: str | None
    published_at: dt.datetime


def draft_from(records: Records, frame_id: str, picked: Collection[str] = ()) -> tuple[Draft, Shot]:
    """What a frame's recipe is to say, from the ledger alone and without pictures. `picked` are the ids of the rejected
    frames that its history is to tell of."""
    chosen = ledger_frames.one(records, frame_id)
    with records.reading() as db:
        shot = shot_records.shot_of(db, chosen.row.shot_id)
        session = shot_records.session_of(db, shot.session_id)
        found = witnesses(db, shot)
        metered_here = [each.letter for each in chosen.set_up.lights if _is_metered_on(db, each, session)]
    proof = prove(found.check, chosen.set_up, shot.surface) if found.check else None
    frames = frames_upto(records, frame_id)
    patches = patch_parts(chosen, readings_of_frame(records, frame_id), lambda patch: found.shares_of(patch).by_light)
    drafted = draft(
        _shot_words(shot),
        frames,
        chosen,
        session.day,
        ambient=ambient_part(proof),
        patches=patches,
        picked=picked,
        metered_here=metered_here,
        doubts=_doubts(chosen, found),
    )
    return drafted, shot


def _is_metered_on(db: Database, light: Light, session: Session) -> bool:
    """Whether the reading that a light has was taken on the day of the session: any other is carried over."""
    if light.incident is None:
        return False
    row = kit_records.newest_reading(db, light.head.id, light.modifier.id if light.modifier else None)
    if row is None or (row.av, row.power_stops, row.distance_mm) != (
        light.incident.av,
        light.incident.power_stops,
        light.incident.distance_mm,
    ):
        return False
    return row.read_at.astimezone(ZoneInfo(session.zone)).date() == session.day


def _doubts(chosen: LoggedFrame, found: Witnesses) -> Doubts:
    """What the ledger cannot explain of a frame, and where the lights by themselves do not add up."""
    sums = {
        patch.name: off
        for patch in chosen.evidence.patches
        if (off := found.shares_of(patch.patch_id).sum_off_stops) is not None
        and abs(off) > _SUM_WITHIN * max(LEAST_TOLERANCE_STOPS, patch.tolerance_stops or 0.0)
    }
    return Doubts(tuple(each for each in chosen.evidence.patches if each.is_told), sums)


def frames_upto(records: Records, frame_id: str) -> list[LoggedFrame]:
    """The frames of the shot up to the chosen one, oldest first, without those taken back; of a stack that the chosen
    one is in, all."""
    chosen = ledger_frames.one(records, frame_id)
    newest_first = ledger_frames.page_of(
        records, chosen.row.shot_id, limit=_MOST_FRAMES, before_number=chosen.row.number + 1
    )
    frames = newest_first[::-1]
    if chosen.row.purpose == SERIES_PURPOSE:
        later = ledger_frames.in_order(records, chosen.row.shot_id, chosen.row.number + 1)
        frames += takewhile(lambda frame: frame.row.purpose == SERIES_PURPOSE, later)
    return [frame for frame in frames if not frame.row.taken_back]


def keep_picture(store: PictureStore, preview: bytes, words: str = "") -> PicturePart:
    """Keep a picture of a recipe by itself, so that nothing of the shoot has to stay for it. `preview` was made
    without metadata (webapp.pictures.previews)."""
    return PicturePart(digest=store.keep([preview], ending=".jpg").digest, words=words)


def with_pictures(
    records: Records,
    store: PictureStore,
    preview_of: Callable[[str], Path],
    recipe: Recipe,
    frame_id: str,
    comparisons: Sequence[str] = (),
    captions: Mapping[str, str] = MappingProxyType({}),
) -> Recipe:
    """The recipe with the picture of its frame and those of the comparison frames, as far as they have one. `captions`
    are written for the reader, by the ids of frames: what a frame's note says stays in the log. `preview_of` finds a
    preview by the digest of its picture."""
    frames = {frame.row.id: frame for frame in frames_upto(records, frame_id)}

    def kept(frame_id: str) -> PicturePart | None:
        frame = frames.get(frame_id)
        picture = next((each for each in frame.pictures if each.preview), None) if frame else None
        if picture is None:
            return None
        return keep_picture(store, preview_of(picture.digest).read_bytes(), captions.get(frame_id, ""))

    beside = (kept(each) for each in comparisons if each != frame_id)
    pictures = {"result": kept(frame_id), "comparisons": tuple(each for each in beside if each)}
    return recipe.model_copy(update=pictures)


def publish(
    records: Records,
    recipe: Recipe,
    *,
    frame_id: str | None = None,
    recipe_id: str | None = None,
    save_key: str | None = None,
) -> Published:
    """Keep a version: of a new recipe, or the next one of `recipe_id`. Raises Conflict where the next version would
    say the same as the newest. The same `save_key` with the same document gives the version that it gave before."""
    body = body_digest("recipe", recipe_json(recipe), frame_id, recipe_id)
    with records.writing() as db:
        if (answered := answer_before(db, save_key, body)) is not None:
            return _published(db, recipe_records.version_with_id(db, answered))
        published = publish_in(db, recipe, frame_id=frame_id, recipe_id=recipe_id)
        keep_answer(db, save_key, body, published.version_id)
        return published


def publish_in(
    db: Database, recipe: Recipe, *, frame_id: str | None = None, recipe_id: str | None = None
) -> Published:
    """The same inside a transaction."""
    frame = shot_records.frame_of(db, frame_id) if frame_id else None
    number = 1
    differs: tuple[Fact, ...] = ()
    if recipe_id is None:
        row = RecipeRow(shot_id=frame.shot_id if frame else None)
        row.identity = row.id
        db.add(row)
        db.flush()
        recipe_id = row.id
    else:
        recipe_records.recipe_of(db, recipe_id)
        before = recipe_records.version_of(db, recipe_id)
        if read_recipe(before.document) == recipe:
            raise Conflict(f"Version {before.number} says exactly this; nothing was published.")
        number, differs = before.number + 1, differences(read_recipe(before.document), recipe)
    version = RecipeVersion(
        recipe_id=recipe_id,
        number=number,
        document=recipe_json(recipe),
        differs=facts_json(differs),
        frame_id=frame.id if frame else None,
    )
    db.add(version)
    db.flush()
    recipe_search.write_line(db, recipe_id, line_of(recipe))
    return _published(db, version)


def renew_lines(db: Database) -> None:
    """Write what the search reads of every recipe anew: after an upgrade that changed what it reads."""
    for recipe_id in recipe_search.recipes_with_lines(db):
        newest = read_recipe(recipe_records.version_of(db, recipe_id).document)
        recipe_search.write_line(db, recipe_id, line_of(newest))


def read(records: Records, recipe_id: str, number: int | None = None) -> Published:
    """A version of a recipe, or its newest."""
    with records.reading() as db:
        return _published(db, recipe_records.version_of(db, recipe_id, number))


def all_versions(records: Records, recipe_id: str) -> list[Published]:
    """Every version, the newest first."""
    with records.reading() as db:
        recipe_records.recipe_of(db, recipe_id)
        return [_published(db, row) for row in recipe_records.versions_of(db, recipe_id)]


def _published(db: Database, row: RecipeVersion) -> Published:
    newest = recipe_records.version_of(db, row.recipe_id).number
    return Published(
        row.recipe_id,
        row.id,
        row.number,
        newest,
        read_recipe(row.document),
        read_facts(row.differs),
        row.frame_id,
        row.published_at,
    )


def _shot_words(shot: Shot) -> ShotWords:
    return ShotWords(
        title=shot.title,
        subject=shot.subject,
        subject_types=split_terms(shot.subject_types),
        surfaces=split_terms(shot.surface),
        looks=split_terms(shot.look),
        wanted_depth_mm=shot.wanted_depth_mm,
    )


def split_terms(text: str) -> tuple[str, ...]:
    """Terms as they are typed, with semicolons between."""
    return tuple(dict.fromkeys(each[:60] for each in words_in(text)))

"""Fill an empty data directory with the demo shoots and their recipes, through the same use-cases as the pages.

The shoots are logged before the first page is served: in a database of their own, which takes its place in the data
directory when it is whole, so that a log that was broken off is begun again. Previews and readings then come as for
any file that waits for them, and the recipes, which hold what their pictures read, are published when those are
there; what a stop of the server left undone is done after the next start.

Into a house that runs the demo comes in the same way: logged aside, then copied over in one transaction.
"""

from __future__ import annotations

import datetime as dt
import json
import shutil
from collections.abc import Callable, Mapping
from concurrent.futures import CancelledError
from pathlib import Path
from typing import Final

from webapp.demo.bottle_shoots import bottle_again, bottle_first
from webapp.demo.cock_shoot import balance_cock_shoot
from webapp.demo.published import BOTTLE, BOTTLE_AGAIN, COCK, TILE, publish_recipe
from webapp.demo.set_kit import keep_set_kit
from webapp.demo.shoot import Camera, Exposed, Shoot, log_shoot
from webapp.demo.tile_shoot import tile_shoot
from webapp.errors import NotFound
from webapp.kit.inventory import changing_kit
from webapp.kit.starter import lay_out_starter_kit
from webapp.ledger.set_up import SetUp
from webapp.pictures.store import PictureStore
from webapp.records import demo as demo_records
from webapp.records import recipes as recipe_records
from webapp.records import shots as shot_records
from webapp.records.engine import DATABASE_NAME, Records
from webapp.records.upgrade import upgrade
from webapp.settings import Settings
from webapp.shoots.ingest import Intake

PICTURES: Final = Path(__file__).parent / "pictures"
"""The camera's files; tests/demo_bake renders them."""
UNFINISHED: Final = "demo.part"
_LOGGED_AFTER: Final = dt.timedelta(seconds=2)

FramesByShoot = dict[str, list[str]]
"""The ids of the frames by the stem of the shoot's files."""


def can_begin(settings: Settings) -> bool:
    """Whether the data directory is empty, or has nothing but a demo whose log was broken off."""
    data = settings.data
    if (data / DATABASE_NAME).exists():
        return False
    begun = (data / UNFINISHED).exists() or settings.demo_to_publish.exists()
    return begun or not any(path.is_file() for path in data.rglob("*"))


def begin(settings: Settings, store: PictureStore) -> None:
    """Log the shoots. The database is in the data directory when this returns, and not before."""
    aside = settings.data / UNFINISHED
    shutil.rmtree(aside, ignore_errors=True)
    aside.mkdir()
    records = Records(aside)
    try:
        upgrade(records)
        frames = log_shoots(records, store, kept_file)
    finally:
        records.close()
    settings.demo_to_publish.write_text(json.dumps(frames))
    (aside / DATABASE_NAME).replace(settings.data / DATABASE_NAME)
    shutil.rmtree(aside)


def put_in(settings: Settings, records: Records, intake: Intake, *, on_set: bool, logged: Callable[[], None]) -> None:
    """Log the shoots aside and put them into records that are in use, with what they need and nothing of one's own
    changed; then read their pictures and publish. `logged` is called for each frame, and may end it by raising."""
    aside = settings.data / UNFINISHED
    shutil.rmtree(aside, ignore_errors=True)
    aside.mkdir()
    demo = Records(aside)

    def camera(shoot: Shoot, number: int, set_up: SetUp, taken_at: dt.datetime) -> Path:
        logged()
        return kept_file(shoot, number, set_up, taken_at)

    try:
        upgrade(demo)
        settings.demo_to_publish.write_text(json.dumps(log_shoots(demo, intake.store, camera)))
        with demo.reading() as source, changing_kit(records) as db:
            demo_records.put_in(db, source, on_set=on_set)
    finally:
        demo.close()
        shutil.rmtree(aside, ignore_errors=True)
    intake.catch_up()
    finish(settings, records, intake)


def finish(settings: Settings, records: Records, intake: Intake) -> None:
    """Publish what is not published yet, once the readings are there. Returns early where the server is closed."""
    # Where a kill came between the two, the database has left its own directory and that one is still there.
    shutil.rmtree(settings.data / UNFINISHED, ignore_errors=True)
    frames: FramesByShoot = json.loads(settings.demo_to_publish.read_text())
    with records.reading() as db:
        is_there = demo_records.is_there(db)
    if not is_there:
        # A kill came before the shoots were copied over, or the demo was removed.
        settings.demo_to_publish.unlink(missing_ok=True)
        return
    try:
        intake.finish()
    except CancelledError:
        return
    try:
        publish_recipes(records, intake, frames)
    except NotFound:
        # The demo may be removed at any moment, and its frames are gone then.
        with records.reading() as db:
            if demo_records.is_there(db):
                raise
    settings.demo_to_publish.unlink(missing_ok=True)


def log_shoots(records: Records, store: PictureStore, camera: Camera) -> FramesByShoot:
    """Lay out the starter kit and the kit of the sets, and log the shoots in the order of their days. The records
    must be empty."""
    lay_out_starter_kit(records)
    shoots = shoots_with(keep_set_kit(records))
    logged = {shoot.file_stem: list(log_shoot(records, store, shoot, camera)) for shoot in shoots}
    _date_back(records, [each for shoot in logged.values() for each in shoot])
    return {stem: [each.frame_id for each in shoot] for stem, shoot in logged.items()}


def publish_recipes(records: Records, intake: Intake, frames: FramesByShoot) -> None:
    """The final frame of each shoot with the frames that taught something; the bottle's second day is the next version
    of its recipe. What is published already is left as it is."""
    bottle, again, tile, cock = (frames[stem] for stem in ("bottle", "bottle-again", "tile", "cock"))
    recipe_id = _publish(records, intake, bottle[5], BOTTLE, (bottle[1],))
    _publish(records, intake, again[1], BOTTLE_AGAIN, (again[0],), recipe_id)
    _publish(records, intake, tile[5], TILE, (tile[2], tile[4]))
    _publish(records, intake, cock[-1], COCK, (cock[3], cock[5]))


def _publish(
    records: Records,
    intake: Intake,
    frame_id: str,
    said: Mapping[str, str],
    comparisons: tuple[str, ...],
    recipe_id: str | None = None,
) -> str:
    with records.reading() as db:
        before = recipe_records.version_of_frame(db, frame_id)
    if before is not None:
        return before.recipe_id
    return publish_recipe(
        records, intake.store, intake.preview_path, frame_id, said, comparisons=comparisons, recipe_id=recipe_id
    )


def shoots_with(ids: Mapping[str, str]) -> list[Shoot]:
    """The shoots by day, given the ids of the kit."""
    return [bottle_first(ids), bottle_again(ids), tile_shoot(ids), balance_cock_shoot(ids)]


def kept_file(shoot: Shoot, number: int, _set_up: SetUp, _taken_at: dt.datetime) -> Path:
    """The camera's file that comes with the program."""
    return PICTURES / f"{shoot.file_stem}-{number:04d}.jpg"


def _date_back(records: Records, exposed: list[Exposed]) -> None:
    """The frames were logged just now; in the log they stand at the time of their day. And what was set up for them is
    no move to be taken back."""
    moments = {each.frame_id: each.taken_at.astimezone(dt.UTC) + _LOGGED_AFTER for each in exposed}
    with records.writing() as db:
        for standing in shot_records.every_standing(db):
            standing.moves = ()
            db.add(standing)
        for frame_id, pictures in shot_records.pictures_of(db, list(moments)).items():
            frame = shot_records.frame_of(db, frame_id)
            frame.logged_at = moments[frame_id]
            db.add(frame)
            for picture in pictures:
                picture.arrived_at = moments[frame_id]
                db.add(picture)

"""Fill an empty data directory with the demo shoots and their recipes, through the same use-cases as the pages."""

from __future__ import annotations

import datetime as dt
import tempfile
from collections import deque
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from itertools import zip_longest
from pathlib import Path
from typing import Final

from webapp.demo.bottle_shoots import bottle_again, bottle_first
from webapp.demo.cock_shoot import balance_cock_shoot
from webapp.demo.published import BOTTLE, BOTTLE_AGAIN, COCK, TILE, publish_recipe
from webapp.demo.set_kit import keep_set_kit
from webapp.demo.shoot import Exposed, Shoot, expose_soon, log_shoot
from webapp.demo.tile_shoot import tile_shoot
from webapp.kit.starter import lay_out_starter_kit
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.shoots.ingest import Intake

_WORKERS: Final = 2
_LOGGED_AFTER: Final = dt.timedelta(seconds=2)


def fill(records: Records, intake: Intake) -> None:
    """Lay out the starter kit and the kit of the sets, log the shoots in the order of their days, and publish what
    came of them. The records must be empty."""
    lay_out_starter_kit(records)
    ids = keep_set_kit(records)
    shoots = shoots_with(ids)
    workers = ThreadPoolExecutor(_WORKERS, thread_name_prefix="demo")
    logged: list[list[Exposed]] = []
    try:
        with tempfile.TemporaryDirectory(prefix="stopledger-demo-") as folder:
            pictures = expose_soon(shoots[0], workers)
            for shoot, after in zip_longest(shoots, shoots[1:]):
                # one shoot ahead: its scenes are rendered while this one's last frames are logged
                ahead = expose_soon(after, workers) if after else deque()
                logged.append(list(log_shoot(records, intake, shoot, pictures, Path(folder))))
                pictures = ahead
    finally:
        workers.shutdown(cancel_futures=True)
    _date_back(records, [each for shoot in logged for each in shoot])
    # A recipe holds what its picture reads.
    intake.finish()
    _publish(records, intake, *([each.frame_id for each in shoot] for shoot in logged))


def _publish(
    records: Records, intake: Intake, bottle: list[str], again: list[str], tile: list[str], cock: list[str]
) -> None:
    """The final frame of each shoot with the frames that taught something; the bottle's second day is the next version
    of its recipe."""
    keep = partial(publish_recipe, records, intake.store, intake.preview_path)
    recipe_id = keep(bottle[5], BOTTLE, comparisons=(bottle[1],))
    keep(again[1], BOTTLE_AGAIN, comparisons=(again[0],), recipe_id=recipe_id)
    keep(tile[5], TILE, comparisons=(tile[2], tile[4]))
    keep(cock[-1], COCK, comparisons=(cock[3], cock[5]))


def shoots_with(ids: Mapping[str, str]) -> list[Shoot]:
    """The shoots by day, given the ids of the kit."""
    return [bottle_first(ids), bottle_again(ids), tile_shoot(ids), balance_cock_shoot(ids)]


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

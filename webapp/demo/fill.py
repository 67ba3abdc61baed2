"""Fill an empty data directory with the demo shoots, through the same use-cases as the pages."""

from __future__ import annotations

import datetime as dt
import tempfile
from collections import deque
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from itertools import zip_longest
from pathlib import Path
from typing import Final

from webapp.demo.bottle_shoots import bottle_again, bottle_first
from webapp.demo.cock_shoot import balance_cock_shoot
from webapp.demo.set_kit import keep_set_kit
from webapp.demo.shoot import Exposed, Shoot, expose_soon, log_shoot
from webapp.demo.tile_shoot import tile_shoot
from webapp.ledger.starter_kit import lay_out_starter_kit
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.taking_in import Intake

_WORKERS: Final = 2
_LOGGED_AFTER: Final = dt.timedelta(seconds=2)


def fill(records: Records, intake: Intake) -> None:
    """Lay out the starter kit and the kit of the sets, and log the shoots in the order of their days.

    The records must be empty. Previews are made in the background, and finish after this has returned.
    """
    lay_out_starter_kit(records)
    ids = keep_set_kit(records)
    shoots = shoots_with(ids)
    workers = ThreadPoolExecutor(_WORKERS, thread_name_prefix="demo")
    exposed: list[Exposed] = []
    try:
        with tempfile.TemporaryDirectory(prefix="stopledger-demo-") as folder:
            pictures = expose_soon(shoots[0], workers)
            for shoot, after in zip_longest(shoots, shoots[1:]):
                # one shoot ahead: its scenes are rendered while this one's last frames are logged
                ahead = expose_soon(after, workers) if after else deque()
                exposed.extend(log_shoot(records, intake, shoot, pictures, Path(folder)))
                pictures = ahead
    finally:
        workers.shutdown(cancel_futures=True)
    _date_back(records, exposed)


def shoots_with(ids: Mapping[str, str]) -> list[Shoot]:
    """The shoots by day, given the ids of the kit."""
    return [bottle_first(ids), bottle_again(ids), tile_shoot(ids), balance_cock_shoot(ids)]


def _date_back(records: Records, exposed: list[Exposed]) -> None:
    """The frames were logged just now; in the log they stand at the time of their day."""
    moments = {each.frame_id: each.taken_at.astimezone(dt.UTC) + _LOGGED_AFTER for each in exposed}
    with records.writing() as db:
        for frame_id, pictures in shot_records.pictures_of(db, list(moments)).items():
            frame = shot_records.frame_of(db, frame_id)
            frame.logged_at = moments[frame_id]
            db.add(frame)
            for picture in pictures:
                picture.arrived_at = moments[frame_id]
                db.add(picture)

"""Watched folders and the camera files that came in them: every query on them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import func
from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.errors import NotFound
from webapp.records.tables import IN_TRAY, Arrival, ArrivalState, WatchChoice, WatchedFolder

_THE_ONE = 1


def begin_folder(db: Database, folder: str) -> bool:
    """Note that a folder is looked into; whether this is the first time."""
    if db.get(WatchedFolder, folder) is not None:
        return False
    db.add(WatchedFolder(path=folder))
    db.flush()
    return True


def folders(db: Database) -> Sequence[str]:
    """The folders that were ever looked into."""
    return db.exec(select(WatchedFolder.path).order_by(col(WatchedFolder.path))).all()


def chosen_folder(db: Database) -> str:
    """The folder that was chosen on the page; empty where none is."""
    found = db.get(WatchChoice, _THE_ONE)
    return found.folder if found else ""


def choose_folder(db: Database, folder: str) -> None:
    choice = db.get(WatchChoice, _THE_ONE) or WatchChoice(id=_THE_ONE)
    choice.folder = folder
    db.add(choice)


def count_taken_since(db: Database, folder: str, since: dt.datetime) -> int:
    """How many files of a folder that were first seen since then have become pictures."""
    return db.exec(
        select(func.count())
        .select_from(Arrival)
        .where(Arrival.folder == folder, Arrival.state == ArrivalState.TAKEN, Arrival.seen_at >= since)
    ).one()


def arrival_of(db: Database, arrival_id: str) -> Arrival:
    found = db.get(Arrival, arrival_id)
    if found is None:
        raise NotFound("There is no such file in the in-tray.")
    return found


def newest_in(db: Database, folder: str) -> dict[str, Arrival]:
    """The newest arrival of every file of a folder, by its path in it."""
    rows = db.exec(select(Arrival).where(Arrival.folder == folder).order_by(col(Arrival.id))).all()
    return {row.path: row for row in rows}


def newest_at(db: Database, folder: str, path: str) -> Arrival | None:
    query = select(Arrival).where(Arrival.folder == folder, Arrival.path == path)
    return db.exec(query.order_by(col(Arrival.id).desc()).limit(1)).first()


def of_frame(db: Database, frame_id: str) -> Sequence[Arrival]:
    """The files that were filed to a frame."""
    return db.exec(select(Arrival).where(Arrival.frame_id == frame_id)).all()


def forget_shot(db: Database, shot_id: str) -> None:
    """What was to be filed to a shot without frames waits again."""
    for row in db.exec(select(Arrival).where(Arrival.shot_id == shot_id)):
        row.shot_id = None


def in_tray(db: Database, limit: int | None) -> Sequence[Arrival]:
    """What waits or was refused, oldest first; all of it where no limit is given."""
    return db.exec(
        select(Arrival).where(col(Arrival.state).in_(IN_TRAY)).order_by(col(Arrival.id)).limit(limit)
    ).all()


def being_written(db: Database, limit: int) -> Sequence[Arrival]:
    """What has come and is not whole, oldest first."""
    query = select(Arrival).where(Arrival.state == ArrivalState.BEING_WRITTEN)
    return db.exec(query.order_by(col(Arrival.id)).limit(limit)).all()


def count_in_tray(db: Database) -> int:
    return db.exec(select(func.count()).select_from(Arrival).where(col(Arrival.state).in_(IN_TRAY))).one()

"""Frames lit by one light alone, and the mixes made of them: every query on them."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import func
from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.errors import NotFound
from webapp.records.shots import AMBIENT_CHECK
from webapp.records.tables import Frame, Picture, SavedMix


def frames_to_mix(db: Database, shot_id: str) -> Sequence[Frame]:
    """The newest frame with a picture lit by each light alone, and the newest ambient check with one; in their order.
    None that was taken back."""
    pictured = select(Picture.id).where(Picture.frame_id == Frame.id, Picture.trouble == "").exists()
    there = (col(Frame.shot_id) == shot_id) & col(Frame.taken_back).is_(False) & pictured
    check = col(Frame.purpose) == AMBIENT_CHECK
    alone = select(func.max(Frame.number)).where(there, ~check, func.length(Frame.lit) == 1).group_by(col(Frame.lit))
    newest_check = select(func.max(Frame.number)).where(there, check)
    numbers = alone.union_all(newest_check).subquery()
    return db.exec(
        select(Frame)
        .where(Frame.shot_id == shot_id, col(Frame.number).in_(select(numbers.c[0])))
        .order_by(col(Frame.number))
    ).all()


def saved_mix_of(db: Database, mix_id: str) -> SavedMix:
    found = db.get(SavedMix, mix_id)
    if found is None:
        raise NotFound("There is no such mix.")
    return found


def saved_mixes_in(db: Database, shot_id: str) -> Sequence[SavedMix]:
    """The mixes of a shot, oldest first."""
    return db.exec(select(SavedMix).where(SavedMix.shot_id == shot_id).order_by(col(SavedMix.id))).all()

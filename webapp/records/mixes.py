"""Frames lit by one light alone, and the mixtures made of them: every query on them."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import func
from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.errors import NotFound
from webapp.records.shots import AMBIENT_CHECK
from webapp.records.tables import Frame, Mixture, Picture


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


def mixture_of(db: Database, mixture_id: str) -> Mixture:
    found = db.get(Mixture, mixture_id)
    if found is None:
        raise NotFound("There is no such mixture.")
    return found


def mixtures_in(db: Database, shot_id: str) -> Sequence[Mixture]:
    """The mixtures of a shot, oldest first."""
    return db.exec(select(Mixture).where(Mixture.shot_id == shot_id).order_by(col(Mixture.id))).all()

"""Kit: every query on it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TypeVar

from sqlalchemy import ColumnElement, Text, func, type_coerce
from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.errors import NotFound
from webapp.records.tables import KIT_TABLES, Frame, KeptSetUp, Kit, MeterReading, Origin, Shot, Standing

Item = TypeVar("Item", bound=Kit)


def item_of(db: Database, table: type[Item], item_id: str) -> Item:
    found = db.get(table, item_id)
    if found is None:
        raise NotFound("The kit has no such item any more.")
    return found


def items_in(db: Database, table: type[Item], *, retired: bool | None = False) -> Sequence[Item]:
    """The items of one kind, one's own first and then in the order of their making; `retired` None gives both."""
    query = select(table)
    if retired is not None:
        query = query.where(col(table.retired).is_(retired))
    order = (col(table.retired), col(table.origin) != Origin.OWN, col(table.created_at), col(table.id))
    return db.exec(query.order_by(*order)).all()


def kit_is_empty(db: Database) -> bool:
    return all(db.exec(select(func.count()).select_from(table)).one() == 0 for table in KIT_TABLES.values())


def references_to(db: Database, item_id: str) -> tuple[int, int]:
    """How many frames and how many shots' set-ups now hold the item."""
    frames = db.exec(
        select(func.count(col(Frame.id))).join(KeptSetUp).where(col(KeptSetUp.kit).contains(item_id))
    ).one()
    standing = db.exec(select(func.count()).select_from(Standing).where(_holds(item_id))).one()
    return frames, standing


def frames_by_item(db: Database) -> Mapping[str, int]:
    """How many frames hold each piece of kit, by its id; what none holds is left out."""
    held: Counter[str] = Counter()
    frames = select(KeptSetUp.kit, func.count(col(Frame.id))).join(Frame).group_by(col(KeptSetUp.digest))
    for ids, count in db.exec(frames):
        for item_id in set(ids.split()):
            held[item_id] += count
    return held


def shots_with(db: Database, item_id: str) -> Sequence[tuple[Shot, int]]:
    """The shots whose frames hold the item, with how many of them do; the newest shot first."""
    found = select(Shot, func.count(col(Frame.id))).join(Frame, col(Frame.shot_id) == Shot.id).join(KeptSetUp)
    held = found.where(col(KeptSetUp.kit).contains(item_id)).group_by(col(Shot.id)).order_by(col(Shot.id).desc())
    return [(shot, count) for shot, count in db.exec(held)]


def _holds(item_id: str) -> ColumnElement[bool]:
    return type_coerce(col(Standing.set_up), Text).contains(item_id, autoescape=True)


def standing_with(db: Database, item_id: str) -> Sequence[Standing]:
    return db.exec(select(Standing).where(_holds(item_id))).all()


def newest_reading(db: Database, light_id: str, modifier_id: str | None) -> MeterReading | None:
    """The last incident reading of a light with a modifier (None: bare)."""
    return db.exec(
        select(MeterReading)
        .where(
            MeterReading.light_id == light_id,
            col(MeterReading.modifier_id).is_(None)
            if modifier_id is None
            else MeterReading.modifier_id == modifier_id,
        )
        .order_by(col(MeterReading.id).desc())
        .limit(1)
    ).first()


def readings_with_modifier(db: Database, modifier_id: str) -> int:
    """How many meter readings were taken with a modifier."""
    return db.exec(
        select(func.count()).select_from(MeterReading).where(MeterReading.modifier_id == modifier_id)
    ).one()


def readings_of(db: Database, light_id: str) -> Sequence[MeterReading]:
    return db.exec(
        select(MeterReading).where(MeterReading.light_id == light_id).order_by(col(MeterReading.id).desc())
    ).all()

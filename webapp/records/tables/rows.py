"""What all rows have: an id, a time, who wrote them, and a count of what was said of them."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

import uuid_utils
from sqlmodel import Field, SQLModel

from webapp.security.identity import ASKING, Role


def new_id() -> str:
    """A UUIDv7: unique, and in the order of making."""
    return str(uuid_utils.uuid7())


def now() -> dt.datetime:
    return dt.datetime.now(dt.UTC)


def whoever() -> str:
    """The name of whoever asks, as the record keeps it beside what they did; empty for the owner."""
    asking = ASKING.get()
    return "" if asking.role is Role.OWNER else asking.name


class Row(SQLModel):
    """A row of a table."""

    # What goes into a row is checked before: what would check it is made where it is asked for, and not at the start.
    model_config = {"defer_build": True}


class Revised(Row):
    """A row that is edited: `revision` counts what was said of it, so that no save wipes another (`records.revisions`)."""

    revision: int = Field(default=1, sa_column_kwargs={"server_default": "1"})


class Origin(StrEnum):
    """Whose a session or a piece of kit is: the photographer's own (so is kit that was changed), the starter's, which is
    laid out for a newcomer, or the demo's."""

    OWN = "own"
    STARTER = "starter"
    DEMO = "demo"

"""The house itself: how it reads lengths, who comes in, and which saves were answered."""

from __future__ import annotations

import datetime as dt

from sqlmodel import Field

from webapp.records.tables.rows import Row, new_id, now


class SaveKey(Row, table=True):
    """A save that was answered: the same key with the same body gets the same answer again."""

    __tablename__ = "save_keys"

    key: str = Field(primary_key=True)
    body: str
    answer: str
    at: dt.datetime = Field(default_factory=now)


class Tape(Row, table=True):
    """The tape of the house, in one row: whether it is marked in inches. Without the row it is in centimetres."""

    __tablename__ = "tape"

    id: int = Field(default=1, primary_key=True)
    inches: bool = False


class Device(Row, table=True):
    """A browser that was let in. `role` is whom it stands for, `token_digest` the SHA-256 of what its cookie holds;
    `live_page` is the one that a viewer was let in for. It ends when it is signed out, or was not used for long."""

    __tablename__ = "devices"

    id: str = Field(default_factory=new_id, primary_key=True)
    name: str
    role: str
    sees_private: bool = True
    live_page: str = ""
    token_digest: str = Field(unique=True)
    let_in_at: dt.datetime = Field(default_factory=now)
    last_seen_at: dt.datetime = Field(default_factory=now)
    signed_out_at: dt.datetime | None = None


class Passphrase(Row, table=True):
    """The owner's passphrase, in one row, as its hash."""

    __tablename__ = "passphrase"

    id: int = Field(default=1, primary_key=True)
    hash: str
    set_at: dt.datetime = Field(default_factory=now)

"""Bring the database to the tables of this version, with a copy put aside first."""

from __future__ import annotations

import datetime as dt
import sqlite3
from collections.abc import Callable
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlmodel import Session as Database

from webapp.errors import CannotStart
from webapp.paths import MIGRATIONS
from webapp.records.engine import Records

_COMPUTED_AS_FACTS = "0100"
"""From this step on the ledgers and the evidence of frames have their present shape."""


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    return config


def upgrade(records: Records, renew: Callable[[Database], None] | None = None) -> Path | None:
    """Apply the migrations that are missing. Where there was something to migrate, a copy of the database is put
    aside first; its path is the answer. `renew` works out anew, in the same transaction, what is computed and was
    kept in another shape. Raises CannotStart for a database of a newer version."""
    config = _config()
    script = ScriptDirectory.from_config(config)
    with records.engine.connect() as connection:
        standing = MigrationContext.configure(connection).get_current_revision()
    newest = script.get_current_head()
    if standing == newest:
        return None
    known = {revision.revision for revision in script.walk_revisions()}
    if standing is not None and standing not in known:
        raise CannotStart(
            f"The database {records.path} was written by a newer version of Stopledger ({standing}). "
            "Start that version, or point --data at another directory."
        )
    put_aside = _copy(records.path, standing) if standing is not None else None
    with records.writing() as session:
        config.attributes["connection"] = session.connection()
        command.upgrade(config, "head")
        if renew is not None and standing is not None and standing < _COMPUTED_AS_FACTS:
            renew(session)
    return put_aside


def _copy(database: Path, revision: str) -> Path:
    stamp = dt.datetime.now(dt.UTC).strftime("%Y%m%dT%H%M%SZ")
    copy = database.with_name(f"{database.stem}.before-upgrade-from-{revision}.{stamp}.sqlite3")
    source, target = sqlite3.connect(database), sqlite3.connect(copy)
    try:
        source.backup(target)
    finally:
        source.close()
        target.close()
    return copy

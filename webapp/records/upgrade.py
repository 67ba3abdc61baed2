"""Bring the database to the tables of this version, with a copy put aside first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from sqlmodel import Session as Database

from webapp.errors import CannotStart
from webapp.paths import MIGRATIONS
from webapp.pictures.store import flush_directory
from webapp.records.database_file import copy_whole, revision_of
from webapp.records.engine import Records

if TYPE_CHECKING:
    from alembic.config import Config

_COMPUTED_ANEW = "0109"
"""From this step on the ledgers, the evidence of frames and the lines of the search have their present shape."""


def newest_revision() -> str:
    """The revision of the last migration: their files begin with it and follow each other by it."""
    return max(path.name for path in (MIGRATIONS / "versions").glob("[0-9]*.py")).partition("_")[0]


def _config() -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    return config


def upgrade(records: Records, renew: Callable[[Database], None] | None = None) -> Path | None:
    """Apply the migrations that are missing. Where there was something to migrate, a copy of the database is put
    aside first; its path is the answer. `renew` works out anew, in the same transaction, what is computed and was
    kept in another shape. Raises CannotStart for a database of a newer version, or of one too old."""
    standing = revision_of(records.path)
    if standing == newest_revision():
        return None
    # A third of a second of imports, which most starts have no use for.
    from alembic import command
    from alembic.script import ScriptDirectory

    config = _config()
    script = ScriptDirectory.from_config(config)
    known = {revision.revision for revision in script.walk_revisions()}
    if standing is not None and standing < min(known):
        raise CannotStart(
            f"The database {records.path} was written by a version of Stopledger too old to be brought along "
            f"({standing}). Bring it to step {min(known)} with the last version before 0.1.0, or point --data at "
            "another directory."
        )
    if standing is not None and standing not in known:
        raise CannotStart(
            f"The database {records.path} was written by a newer version of Stopledger ({standing}). "
            "Start that version, or point --data at another directory."
        )
    put_aside = _copy(records.path, standing) if standing is not None else None
    with records.writing() as session:
        config.attributes["connection"] = session.connection()
        command.upgrade(config, "head")
        if renew is not None and standing is not None and standing < _COMPUTED_ANEW:
            renew(session)
    return put_aside


def _copy(database: Path, revision: str) -> Path:
    stamp = dt.datetime.now(dt.UTC).strftime("%Y%m%dT%H%M%SZ")
    copy = database.with_name(f"{database.stem}.before-upgrade-from-{revision}.{stamp}.sqlite3")
    unfinished = database.with_name(f"{database.stem}.before-upgrade.part")
    # What a stop of the server left of one.
    unfinished.unlink(missing_ok=True)
    copy_whole(database, unfinished)
    unfinished.replace(copy)
    flush_directory(copy.parent)
    return copy

"""The one SQLite file: opened safely, written by one writer at a time.

WAL with synchronous=FULL: a save that was answered is on disk. SQLite lets several writers queue by sleeping,
which costs up to a second under load; so writers of this process queue on a lock instead, and transactions are
short.
"""

from __future__ import annotations

import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, ExceptionContext, event
from sqlalchemy.orm import ORMExecuteState
from sqlmodel import Session, create_engine

from webapp import disk
from webapp.records.changes import Noted, note_changes, noted
from webapp.records.kept import EVERYTHING, Kept, reach_of

DATABASE_NAME = "stopledger.sqlite3"
_WAITS_S = 10.0
_AS_OF = "as_of"
_TOUCHED = "touched"
_KEPT = "kept"


class Records:
    """The database of one data directory. `reading()` and `writing()` are the only ways in. `kept` has what was read of
    a shot and still holds; `on_noted` is handed what changed after every commit, in the thread that made it."""

    def __init__(self, data: Path) -> None:
        self.path = data / DATABASE_NAME
        self.engine = _engine(self.path)
        self.kept = Kept()
        self._one_writer = threading.Lock()
        # Goes on rising over a restart, so that a page of an earlier run is known to be older.
        self._changes = time.time_ns() // 1_000_000
        self.on_noted: Callable[[Noted], None] = lambda _noted: None

    @property
    def newest(self) -> int:
        """The number of the last change. What is read from now on is sure to have it in it."""
        return self._changes

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A consistent view of the records; nothing that is changed in it is kept."""
        as_of = self._changes
        with self.engine.connect() as connection, Session(connection, expire_on_commit=False) as session:
            session.info.update({_AS_OF: as_of, _KEPT: self.kept})
            yield session
        self.on_noted(noted(session, as_of))

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """One transaction: kept whole when the block ends, forgotten whole when it raises."""
        with self._one_writer, self.engine.connect() as connection:
            writing = connection.execution_options(writes=True)
            with Session(writing, expire_on_commit=False) as session:
                number = self._changes + 1
                session.info.update({_AS_OF: number, _KEPT: self.kept, _TOUCHED: set()})
                yield session
                session.flush()
                # Before the change can be read, so that nothing older is taken for what stands.
                self.kept.forget(session.info[_TOUCHED], number)
                session.commit()
            self._changes = number
        self.on_noted(noted(session, number))

    def empty_the_log(self) -> None:
        """Write the log of the database into it and leave nothing in the log: what was deleted stands in neither."""
        with self._one_writer, self.engine.connect() as connection:
            connection.exec_driver_sql("COMMIT")
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")

    def close(self) -> None:
        self.engine.dispose()


def as_of(db: Session) -> int:
    """The number of the last change that what is read here is sure to have in it; it may have later ones too."""
    number: int = db.info[_AS_OF]
    return number


def recall(db: Session, name: str) -> Any:
    """What is kept under a name (a shot's id), or None: also where this very transaction has changed what it rests
    on."""
    kept: Kept = db.info[_KEPT]
    return None if _reached(db, name) else kept.get(name)


def remember(db: Session, name: str, value: Any) -> None:
    """Keep what this transaction has read, until something that it rests on changes."""
    kept: Kept = db.info[_KEPT]
    if not _reached(db, name):
        kept.put(name, value, as_of(db))


def _reached(db: Session, name: str) -> bool:
    touched: set[str] = db.info.get(_TOUCHED, set())
    return bool(touched) and (name in touched or EVERYTHING in touched)


@event.listens_for(Session, "after_flush")
def _note_rows(db: Session, _context: Any) -> None:
    touched: set[str] | None = db.info.get(_TOUCHED)
    if touched is not None:
        for row in (*db.new, *db.dirty, *db.deleted):
            touched.update(reach_of(row))
        note_changes(db)


@event.listens_for(Session, "do_orm_execute")
def _note_statements(state: ORMExecuteState) -> None:
    """A statement that changes rows without loading them may reach anything."""
    touched: set[str] | None = state.session.info.get(_TOUCHED)
    if touched is not None and not state.is_select:
        touched.add(EVERYTHING)


def _engine(path: Path) -> Engine:
    # What a statement is given is private: it stands in no message of an error.
    engine = create_engine(
        f"sqlite:///{path}", connect_args={"check_same_thread": False, "timeout": _WAITS_S}, hide_parameters=True
    )
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", partial(_begin, path))
    event.listen(engine, "handle_error", partial(_say_trouble, path))
    return engine


def _prepare(connection: sqlite3.Connection, _record: Any) -> None:
    # The driver's own transaction control would begin too late; see _begin.
    connection.isolation_level = None
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
        connection.execute(f"PRAGMA {pragma}")


def _begin(path: Path, connection: Connection) -> None:
    # SQLite goes on with a file that was deleted under it, and what it is given then is lost.
    with disk.saying(path.parent):
        path.stat()
    # A writer takes its place before it reads, or its reads could be stale by the time it writes.
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _say_trouble(path: Path, context: ExceptionContext) -> None:
    """What the disk refuses is raised in words, whoever asked."""
    trouble = disk.trouble_of(context.original_exception, path.parent)
    if trouble is not None:
        raise trouble from context.original_exception

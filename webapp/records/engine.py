"""The one SQLite file: opened safely, written by one writer at a time.

WAL with synchronous=FULL: a save that was answered is on disk. SQLite lets several writers queue by sleeping,
which costs up to a second under load; so writers of this process queue on a lock instead, and transactions are
short.
"""

from __future__ import annotations

import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, event
from sqlmodel import Session, create_engine

DATABASE_NAME = "stopledger.sqlite3"
_WAITS_S = 10.0
_AS_OF = "as_of"


class Records:
    """The database of one data directory. `reading()` and `writing()` are the only ways in."""

    def __init__(self, data: Path) -> None:
        self.path = data / DATABASE_NAME
        self.engine = _engine(self.path)
        self._one_writer = threading.Lock()
        # Goes on rising over a restart, so that a page of an earlier run is known to be older.
        self._changes = time.time_ns() // 1_000_000

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A consistent view of the records; nothing that is changed in it is kept."""
        as_of = self._changes
        with self.engine.connect() as connection, Session(connection, expire_on_commit=False) as session:
            session.info[_AS_OF] = as_of
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """One transaction: kept whole when the block ends, forgotten whole when it raises."""
        with self._one_writer, self.engine.connect() as connection:
            writing = connection.execution_options(writes=True)
            with Session(writing, expire_on_commit=False) as session:
                session.info[_AS_OF] = self._changes + 1
                yield session
                session.commit()
            self._changes += 1

    def close(self) -> None:
        self.engine.dispose()


def as_of(db: Session) -> int:
    """The number of the last change that what is read here is sure to have in it; it may have later ones too."""
    number: int = db.info[_AS_OF]
    return number


def _engine(path: Path) -> Engine:
    engine = create_engine(f"sqlite:///{path}", connect_args={"check_same_thread": False, "timeout": _WAITS_S})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _prepare(connection: sqlite3.Connection, _record: Any) -> None:
    # The driver's own transaction control would begin too late; see _begin.
    connection.isolation_level = None
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    # A writer takes its place before it reads, or its reads could be stale by the time it writes.
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

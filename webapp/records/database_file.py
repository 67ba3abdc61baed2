"""The file of the database as a file: copied while it is written, checked, and read without the program around it."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final
from urllib.parse import quote

# How many of each are told of a copy, by the table that has them.
_COUNTED: Final = ("sessions", "shots", "frames", "pictures", "recipes")
_OF_SETS: Final = "SELECT digest FROM set_photos UNION "
NAMED_PICTURES: Final = (
    f"SELECT digest FROM pictures UNION {_OF_SETS}"
    "SELECT part.value FROM recipe_versions, json_tree(recipe_versions.document) AS part WHERE part.key = 'digest'"
)
"""Asks for the digests of all the pictures that frames, sets and recipes name."""
# Of an index whose words stand in a table, 1 has both compared (https://www.sqlite.org/fts5.html, 6.2).
_SEARCH_CHECK: Final = "INSERT INTO recipe_words(recipe_words, rank) VALUES ('integrity-check', 1)"
_SEARCH_ANEW: Final = "INSERT INTO recipe_words(recipe_words) VALUES ('rebuild')"


def copy_whole(database: Path, copy: Path) -> None:
    """Copy a database by SQLite's own backup, as it is at one moment, while others write to it. The copy is one file,
    and on the disk. Raises sqlite3.Error."""
    # Nobody else knows the copy yet, and a share need not have locks.
    with _opened(database) as source, _opened(copy, "nolock=1") as target:
        target.execute("PRAGMA journal_mode=OFF")
        target.execute("PRAGMA synchronous=OFF")
        source.backup(target)
    with copy.open("rb+") as file:
        os.fsync(file.fileno())


def damage_in(database: Path, *, quick: bool = False, at_rest: bool = False) -> str:
    """What is damaged in a database, in SQLite's words; "" where it is whole. Nothing is written. `quick` leaves out
    whether every index has what its table has; `at_rest` is for a copy that nobody writes to. Raises sqlite3.Error for a
    file that cannot be read at all."""
    # Without the log of a writer beside it, it is opened so that none is made.
    at_rest = at_rest or not database.with_name(f"{database.name}-wal").exists()
    try:
        with _opened(database, "immutable=1" if at_rest else "mode=ro") as db:
            said = [row[0] for row in db.execute(f"PRAGMA {'quick_check' if quick else 'integrity_check'}(5)")]
    except sqlite3.DatabaseError as error:
        if getattr(error, "sqlite_errorcode", 0) & 0xFF not in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
            raise
        return str(error)
    return "" if said == ["ok"] else "; ".join(said)


def broken_references(database: Path) -> Mapping[str, int]:
    """How many rows of each table refer to one that is not there."""
    with _opened(database) as db:
        tables = [row[0] for row in db.execute("PRAGMA foreign_key_check")]
    return {table: tables.count(table) for table in sorted(set(tables))}


def revision_of(database: Path) -> str | None:
    """The revision that a database stands at; None for one without tables, or none yet."""
    if not database.exists():
        return None
    with _opened(database) as db:
        if db.execute("SELECT 1 FROM sqlite_master WHERE name = 'alembic_version'").fetchone() is None:
            return None
        row = db.execute("SELECT version_num FROM alembic_version").fetchone()
    return None if row is None else str(row[0])


def counts_in(copy: Path) -> Mapping[str, int]:
    """How many sessions, shots, frames, pictures and recipes a copy has."""
    with _opened(copy, "immutable=1") as db:
        return {table: db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in _COUNTED}


def pictures_named_in(copy: Path) -> frozenset[str]:
    """The digests of all the pictures that the frames, sets and recipes of a copy name."""
    with _opened(copy, "immutable=1") as db:
        # A copy of an older version has no photos of sets yet.
        older = not db.execute("SELECT 1 FROM sqlite_master WHERE name = 'set_photos'").fetchone()
        return frozenset(
            row[0] for row in db.execute(NAMED_PICTURES.replace(_OF_SETS, "") if older else NAMED_PICTURES)
        )


def names_of_pictures_in(copy: Path) -> Mapping[str, str]:
    """The names that the files of frames and the photos of sets came with, by digest."""
    with _opened(copy, "immutable=1") as db:
        return dict(db.execute("SELECT digest, name FROM set_photos UNION ALL SELECT digest, name FROM pictures"))


def search_fits(database: Path) -> bool:
    """Whether the index of the search has what the lines of the recipes say. A copy is asked: it is a statement that
    writes."""
    with _opened(database) as db:
        try:
            db.execute(_SEARCH_CHECK)
        except sqlite3.DatabaseError:
            return False
    return True


def index_search_anew(database: Path) -> None:
    """Write the index of the search from the lines of the recipes."""
    with _opened(database) as db:
        db.execute(_SEARCH_ANEW)


def is_in_use(database: Path) -> bool:
    """Whether a program has the database open."""
    with _opened(database) as db:
        try:
            db.execute("PRAGMA locking_mode=EXCLUSIVE")
            db.execute("BEGIN EXCLUSIVE")
            db.execute("ROLLBACK")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY:
                raise
            return True
    return False


@contextlib.contextmanager
def _opened(database: Path, how: str = "mode=rw") -> Iterator[sqlite3.Connection]:
    address = f"file:{quote(str(database.absolute()))}?{how}"
    with contextlib.closing(sqlite3.connect(address, uri=True, isolation_level=None, timeout=1.0)) as db:
        yield db

"""What the disk refuses is said in words, whatever number it is refused by."""

from __future__ import annotations

import errno
import logging
import os
import sqlite3
from pathlib import Path

import pytest

from webapp import disk
from webapp.errors import DiskTrouble


def sqlite_error(code: int) -> sqlite3.Error:
    error = sqlite3.OperationalError("as SQLite says it")
    error.sqlite_errorcode, error.sqlite_errorname = code, "SQLITE_…"
    return error


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (OSError(errno.ENOSPC, ""), "is full"),
        (OSError(errno.EDQUOT, ""), "is full"),
        (OSError(errno.EROFS, ""), "can only be read"),
        (OSError(errno.EACCES, ""), "may not be read or written by the user"),
        (OSError(errno.ENOENT, ""), "is not there any more"),
        (OSError(errno.EIO, ""), "could not be read or written"),
        (sqlite_error(sqlite3.SQLITE_FULL), "is full"),
        (sqlite_error(sqlite3.SQLITE_READONLY), "may not be read or written by the user"),
        (sqlite_error(sqlite3.SQLITE_IOERR_FSYNC), "could not be read or written"),
        (sqlite_error(sqlite3.SQLITE_CORRUPT_INDEX), "is damaged"),
        (sqlite_error(sqlite3.SQLITE_NOTADB), "is damaged"),
    ],
)
def test_a_trouble_is_said_in_words(tmp_path: Path, error: Exception, words: str) -> None:
    trouble = disk.trouble_of(error, tmp_path)

    assert trouble is not None
    assert words in str(trouble)


@pytest.mark.parametrize(
    "error", [sqlite_error(sqlite3.SQLITE_BUSY), ConnectionResetError(errno.ECONNRESET, ""), ValueError(), OSError()]
)
def test_what_says_nothing_of_the_disk_is_left_alone(tmp_path: Path, error: Exception) -> None:
    assert disk.trouble_of(error, tmp_path) is None


def test_what_sqlite_leaves_open_is_asked_of_the_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cannot_open = sqlite_error(sqlite3.SQLITE_CANTOPEN)

    assert "is not there any more" in str(disk.trouble_of(cannot_open, tmp_path / "gone"))
    monkeypatch.setattr(disk, "free_bytes", lambda _: 0)
    assert "is full" in str(disk.trouble_of(cannot_open, tmp_path))
    monkeypatch.setattr(os, "access", lambda *_, **__: False)
    assert "may not be read or written" in str(disk.trouble_of(cannot_open, tmp_path))


def test_the_place_is_named_as_it_is_called(tmp_path: Path) -> None:
    full = OSError(errno.ENOSPC, "")

    with pytest.raises(DiskTrouble, match="The disk of /mnt/share is full"), disk.saying(tmp_path, "/mnt/share"):
        raise full


def test_the_room_of_a_place_that_is_to_be_made_is_that_of_its_disk(tmp_path: Path) -> None:
    assert disk.free_bytes(tmp_path / "not" / "there") is not None


def test_the_log_has_one_line_for_it_and_no_traceback(caplog: pytest.LogCaptureFixture) -> None:
    caplog.handler.addFilter(disk.in_one_line)
    try:
        try:
            raise DiskTrouble("The disk is full.", "SQLITE_FULL")
        except DiskTrouble:
            logging.getLogger("any").exception("A picture could not be measured.")
    finally:
        caplog.handler.removeFilter(disk.in_one_line)

    assert [record.getMessage() for record in caplog.records] == [
        "A picture could not be measured. The disk is full. (SQLITE_FULL)"
    ]
    assert "Traceback" not in caplog.text

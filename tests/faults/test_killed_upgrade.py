"""An upgrade that is killed leaves the database as it was or as it is to be, and a copy put aside that is whole."""

from __future__ import annotations

import random
import re
import shutil
import sqlite3
import subprocess
import time
from collections import Counter
from contextlib import closing
from pathlib import Path

from tests.faults.kills import FEWER_KILLS
from tests.faults.served import PROGRAM, address_of, begun, killed, served
from tests.migrations.filled import fill
from webapp.records import database_file
from webapp.records.engine import DATABASE_NAME
from webapp.records.upgrade import newest_revision

_PUT_ASIDE, _COPIES = "*.before-upgrade*", "*.before-upgrade-from-*.sqlite3"


def _said_in(database: Path) -> list[str]:
    """All that a database holds, but for the names that every start draws anew for the terms of the vocabulary."""
    with closing(sqlite3.connect(database)) as db:
        return [re.sub(r"""^(INSERT INTO "vocabulary" VALUES\()'[^']*'""", r"\1", line) for line in db.iterdump()]


def _upgrading(data: Path) -> subprocess.Popen[str]:
    """A server that has begun to put the database aside."""
    before = set(data.glob(_PUT_ASIDE))
    process = begun(*PROGRAM, "serve", "--port", "0", "--data", data)
    while process.poll() is None and set(data.glob(_PUT_ASIDE)) == before:
        time.sleep(0.0005)
    return process


def test_an_upgrade_under_kills_comes_out_as_an_undisturbed_one(tmp_path: Path) -> None:
    chance, at = random.Random(13), Counter[str]()
    before, whole, data = (tmp_path / name for name in ("before", "whole", "data"))
    before.mkdir()
    as_it_was = _said_in(fill(before))
    shutil.copytree(before, whole)
    process, began_s = _upgrading(whole), time.monotonic()
    address_of(process)
    takes_s = time.monotonic() - began_s
    killed(process)
    to_be = _said_in(whole / DATABASE_NAME)

    for _ in range(FEWER_KILLS):
        if not data.exists():
            shutil.copytree(before, data)
        process = _upgrading(data)
        # While it is put aside, in the upgrade, or after it.
        time.sleep(chance.uniform(0.0, chance.choice([0.02, takes_s])))
        killed(process)

        assert database_file.damage_in(data / DATABASE_NAME) == ""
        for copy in data.glob(_COPIES):
            assert _said_in(copy) == as_it_was
        is_done = database_file.revision_of(data / DATABASE_NAME) == newest_revision()
        at["after" if is_done else "before"] += 1
        if is_done:
            with served(data):
                pass
            assert _said_in(data / DATABASE_NAME) == to_be
            shutil.rmtree(data)
        else:
            assert _said_in(data / DATABASE_NAME) == as_it_was
    if data.exists():
        with served(data):
            pass
        assert _said_in(data / DATABASE_NAME) == to_be
    print(f"kills in upgrade {FEWER_KILLS}: {at['before']} before it was done, {at['after']} after")

"""An upgrade that is killed leaves the database as it was or as it is to be, and a copy put aside that is whole."""

from __future__ import annotations

import random
import re
import shutil
import sqlite3
import time
from contextlib import closing
from pathlib import Path

from tests.faults.kills import KILLS
from tests.faults.served import PROGRAM, begun, killed, served
from tests.migrations.filled import fill
from webapp.records import database_file
from webapp.records.upgrade import newest_revision

_LONGEST_S = 0.8
_PUT_ASIDE, _COPIES = "*.before-upgrade*", "*.before-upgrade-from-*.sqlite3"


def _said_in(database: Path) -> list[str]:
    """All that a database holds, but for the names that every start draws anew for the terms of the vocabulary."""
    with closing(sqlite3.connect(database)) as db:
        return [re.sub(r"""^(INSERT INTO "vocabulary" VALUES\()'[^']*'""", r"\1", line) for line in db.iterdump()]


def test_an_upgrade_under_kills_comes_out_as_an_undisturbed_one(tmp_path: Path) -> None:
    chance = random.Random(13)
    before, whole = tmp_path / "before", tmp_path / "whole"
    before.mkdir()
    as_it_was = _said_in(fill(before))
    shutil.copytree(before, whole)
    with served(whole):
        pass
    to_be = _said_in(whole / "stopledger.sqlite3")

    data, at = tmp_path / "data", {"before": 0, "after": 0}
    for _ in range(KILLS):
        if not data.exists():
            shutil.copytree(before, data)
        database = data / "stopledger.sqlite3"
        put_aside = set(data.glob(_PUT_ASIDE))
        process = begun(*PROGRAM, "serve", "--port", "0", "--data", data)
        while process.poll() is None and set(data.glob(_PUT_ASIDE)) == put_aside:
            time.sleep(0.0005)
        # While it is put aside, or in the upgrade itself.
        time.sleep(chance.uniform(0.0, chance.choice([0.02, _LONGEST_S])))
        killed(process)

        assert database_file.damage_in(database) == ""
        for copy in data.glob(_COPIES):
            assert _said_in(copy) == as_it_was
        is_done = database_file.revision_of(database) == newest_revision()
        at["after" if is_done else "before"] += 1
        if is_done:
            with served(data):
                pass
            assert _said_in(database) == to_be
            shutil.rmtree(data)
        else:
            assert _said_in(database) == as_it_was
    if data.exists():
        with served(data):
            pass
        assert _said_in(data / "stopledger.sqlite3") == to_be
    print(f"kills in upgrade {KILLS}: {at['before']} before it was done, {at['after']} after")

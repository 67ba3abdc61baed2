"""A demo whose filling is killed, at any moment and more than once, is whole after the next start that is let finish."""

from __future__ import annotations

import os
import random
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from tests.faults.served import ROOT
from webapp.demo.fill import UNFINISHED
from webapp.settings import Settings

pytestmark = pytest.mark.xdist_group("demo")
_GENEROUS_S = 240.0


def filled_until(data: Path, moment: Callable[[], bool]) -> None:
    """Serve a demo until a moment has come, and kill the server without warning."""
    command = [sys.executable, "-m", "webapp", "serve", "--demo", "--port", "0", "--data", str(data)]
    process = subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env={**os.environ, "PYTHONPATH": str(ROOT)}
    )
    deadline = time.monotonic() + _GENEROUS_S
    try:
        while not moment():
            assert process.poll() is None, "the server ended by itself"
            assert time.monotonic() < deadline, "the moment never came"
            time.sleep(0.01)
    finally:
        process.kill()
        process.wait()


def counted(data: Path, table: str) -> int:
    database = data / "stopledger.sqlite3"
    if not database.exists():
        return 0
    with closing(sqlite3.connect(f"file:{database}?mode=ro", uri=True)) as records:
        return int(records.execute(f"select count(*) from {table}").fetchone()[0])


def files_in(directory: Path) -> int:
    return sum(path.is_file() for path in directory.rglob("*")) if directory.exists() else 0


def test_a_demo_that_is_killed_again_and_again_is_whole_in_the_end(tmp_path: Path) -> None:
    """`STOPLEDGER_KILLS=ANY` chooses other moments."""
    settings, moments = Settings(data=tmp_path / "data"), random.Random(os.environ.get("STOPLEDGER_KILLS", "1"))
    data = settings.data

    # While the shoots are logged, while their pictures are read, while the recipes are published.
    logged, previewed = moments.randint(0, 30), moments.randint(0, 25)
    filled_until(data, lambda: files_in(settings.pictures) >= logged and (data / UNFINISHED).exists())
    assert not (data / "stopledger.sqlite3").exists()
    filled_until(data, lambda: counted(data, "frames") > 0 and files_in(settings.previews) >= previewed)
    filled_until(data, lambda: counted(data, "recipe_versions") >= 1)
    filled_until(data, lambda: counted(data, "recipe_versions") == 4 and not settings.demo_to_publish.exists())

    assert (counted(data, "frames"), counted(data, "sessions"), counted(data, "recipes")) == (33, 4, 3)
    assert not (data / UNFINISHED).exists()
    with closing(sqlite3.connect(data / "stopledger.sqlite3")) as records:
        assert records.execute("pragma integrity_check").fetchone() == ("ok",)
        assert records.execute("select count(*) from pictures where preview = ''").fetchone() == (0,)

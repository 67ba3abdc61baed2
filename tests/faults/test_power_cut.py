"""A save that was answered is on disk: the process is killed without warning, and what it did not flush is dropped.

The run of its own, with its counts: STOPLEDGER_KILLS=200 pytest -n 0 -s tests/faults/test_power_cut.py"""

from __future__ import annotations

import random
import shutil
import signal
import sqlite3
import time
from contextlib import closing
from pathlib import Path

import httpx
import pytest
from PIL import Image

from tests.faults.kills import KILLS
from tests.faults.saves import EVERY_KIND, Client, Counts
from tests.faults.served import begun, served
from tests.faults.unsynced import Notes, cut_power
from webapp.backups.directory import BackupDirectory
from webapp.backups.restore import restore


def test_a_frame_that_was_answered_for_survives_a_kill(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with served(data) as server, httpx.Client(base_url=server.url, timeout=60) as client:
        session = client.post("/sessions", data={"name": "cut"}).headers["location"]
        shot = client.post(f"{session}/shots", data={"title": "cut"}).headers["location"]
        for number in range(1, 6):
            client.post(f"{shot}/standing", data={"field": "f_number", "value": "11" if number % 2 else "16"})
            assert client.post(f"{shot}/frames", data={"because": f"frame {number}"}).status_code == 303
        server.process.send_signal(signal.SIGKILL)
        server.process.wait()

    with served(data) as server, httpx.Client(base_url=server.url, timeout=60) as client:
        page = client.get(shot).text
        assert page.count('<tr id="frame-') == 5
        assert "frame 5" in page
        assert 'value="f/11"' in page
    with sqlite3.connect(data / "stopledger.sqlite3") as database:
        assert database.execute("pragma integrity_check").fetchone() == ("ok",)
    database.close()


_LONGEST_S = 1.2
_PROGRAM = """
import os, sqlite3, sys
from pathlib import Path
from tests.faults.unsynced import Notes, watch
watch(Notes(Path(sys.argv[1])))
db = sqlite3.connect(Path(sys.argv[2]) / "a.sqlite3", isolation_level=None)
db.execute("PRAGMA journal_mode=WAL")
db.execute(f"PRAGMA synchronous={sys.argv[3]}")
db.execute("CREATE TABLE saves(number)")
for number in range(9):
    db.execute("INSERT INTO saves VALUES (?)", (number,))
Path(sys.argv[2], "never-flushed").write_bytes(b"a" * 9000)
os.kill(os.getpid(), 9)
"""


@pytest.mark.parametrize(("synchronous", "kept"), [("FULL", 9), ("NORMAL", None)])
def test_the_layer_drops_what_was_not_flushed_and_nothing_else(
    tmp_path: Path, synchronous: str, kept: int | None
) -> None:
    data, notes = tmp_path / "data", tmp_path / "notes"
    data.mkdir()
    with begun("-c", _PROGRAM, notes, data, synchronous) as process:
        assert process.wait() == -signal.SIGKILL

    cut_power(data, Notes(notes), None)

    assert not (data / "never-flushed").exists()
    with closing(sqlite3.connect(data / "a.sqlite3")) as database:
        has_table = database.execute("SELECT count(*) FROM sqlite_master").fetchone() == (1,)
        assert kept == (database.execute("SELECT count(*) FROM saves").fetchone()[0] if has_table else None)


def test_what_was_answered_is_there_after_every_power_cut(tmp_path: Path) -> None:
    counts, chance, backed_up = Counts(), random.Random(11), None
    client = Client(tmp_path, seed=11, counts=counts)
    backups = BackupDirectory(tmp_path / "backups")
    for directory in (client.data, backups.root):
        directory.mkdir()
    for number in range(KILLS // 3):
        notes_at = tmp_path / f"notes-{number}"
        notes = Notes(notes_at)
        for directory in (client.data, backups.root):
            notes.all_flushed(directory)
        program = ("-m", "tests.faults.unsynced", notes_at)
        with served(client.data, "--watch", str(client.folder), program=program) as server:
            client.hold_against(server.url)
            with (
                client.saving(server.url, EVERY_KIND),
                begun(*program, "backup", backups.root, "--data", client.data) as backup,
            ):
                time.sleep(chance.uniform(0.0, _LONGEST_S))
                if number % 2:
                    assert backup.wait() == 0
                    backed_up = backups.backups()[0].manifest.made_at
                server.process.kill()
                backup.kill()
        # Nothing of what was not flushed is on the disk, or any part of it.
        for directory in (client.data, backups.root):
            cut_power(directory, notes, chance if number % 3 else None)
        shutil.rmtree(notes_at)
        counts.kills["power cut"] += 1
        for preview in (client.data / "previews").glob("*.jpg"):
            with Image.open(preview) as picture:
                picture.load()
        assert backed_up is None or backups.backups()[0].manifest.made_at >= backed_up
        assert all(each.is_sound for each in backups.backups())

    with served(client.data, "--watch", str(client.folder)) as server:
        client.hold_against(server.url)
        client.files_come_into_the_record()
    restore(backups.root, tmp_path / "restored")
    client.end()
    print(counts)
    assert counts.is_clean, [*counts.lost, *counts.doubled, *counts.unsound]


def test_a_server_asked_to_stop_stops_with_an_open_page(tmp_path: Path) -> None:
    with served(tmp_path / "data") as server, httpx.Client(base_url=server.url, timeout=120) as client:
        session = client.post("/sessions", data={"name": "open"}).headers["location"]
        with client.stream("GET", f"{session}/news?page=one") as stream:
            next(stream.iter_lines())
            server.process.send_signal(signal.SIGTERM)
            server.process.wait(timeout=120)

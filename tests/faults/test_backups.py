"""Backups made while frames are logged: each copy opens and is sound. A kill, or a full disk, leaves the earlier ones."""

from __future__ import annotations

import datetime as dt
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from tests.faults.disks import small_disk
from tests.faults.served import ROOT, served
from tests.made_pictures import jpeg_bytes, scene, srgb_codes
from tests.unit.backups.house import AT, kept_house
from webapp.backups.check import check
from webapp.backups.directory import BackupDirectory
from webapp.backups.restore import restore
from webapp.pictures.store import PictureStore
from webapp.settings import Settings

# The whole of it: BACKUP_COPIES=36 pytest tests/faults/test_backups.py
DAY = dt.timedelta(days=1)
COPIES = int(os.environ.get("BACKUP_COPIES", "10"))


def stopledger(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "webapp", *map(str, arguments)]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run(command, capture_output=True, text=True, env=environment, check=False)


@contextmanager
def frames_logged(url: str) -> Iterator[list[int]]:
    """Frames with a picture each, one after the other, until the block ends; the answers so far."""
    answers: list[int] = []
    done = threading.Event()

    def log() -> None:
        with httpx.Client(base_url=url, timeout=60) as client:
            session = client.post("/sessions", data={"name": "busy"}).headers["location"]
            shot = client.post(f"{session}/shots", data={"title": "busy"}).headers["location"]
            while not done.is_set():
                content = jpeg_bytes(srgb_codes(scene(16 + len(answers), 24)))
                picture = {"picture": (f"IMG_{len(answers)}.jpg", content, "image/jpeg")}
                client.post(
                    f"{shot}/standing", data={"field": "f_number", "value": "11" if len(answers) % 2 else "16"}
                )
                answers.append(client.post(f"{shot}/frames", files=picture).status_code)

    thread = threading.Thread(target=log)
    thread.start()
    try:
        yield answers
    finally:
        done.set()
        thread.join()


def test_every_copy_made_while_frames_are_logged_opens_and_is_sound(tmp_path: Path) -> None:
    data, directory = tmp_path / "data", BackupDirectory(tmp_path / "second-disk")
    settings = Settings(data=data)
    with served(data) as server, frames_logged(server.url) as answers:
        while len(answers) < 3:
            time.sleep(0.05)
        for number in range(COPIES):
            made = directory.add(settings, AT + number * DAY)
            to = Settings(data=tmp_path / f"copy-{number}")
            restore(made.directory, to.data)
            found = check(to)
            assert found.is_sound, found.findings
            assert found.frames >= 3
        with served(to.data) as copy:
            assert "busy" in httpx.get(f"{copy.url}/", timeout=60).text

    assert set(answers) == {303}


def test_a_copy_is_made_by_the_command_while_the_server_runs(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with served(data) as server, frames_logged(server.url) as answers:
        while len(answers) < 3:
            time.sleep(0.05)
        done = stopledger("backup", tmp_path / "second-disk", "--data", data)
        page = httpx.get(f"{server.url}/", timeout=60).text

    assert (done.returncode, done.stderr) == (0, "")
    assert "Backed up today" in page
    assert stopledger("restore", tmp_path / "second-disk", "--data", tmp_path / "new").returncode == 0
    assert stopledger("check", "--data", tmp_path / "new").returncode == 0


def test_the_server_backs_up_by_itself(tmp_path: Path) -> None:
    (tmp_path / "second-disk").mkdir()
    deadline = time.monotonic() + 120
    with served(tmp_path / "data", "--backup-to", str(tmp_path / "second-disk")) as server:
        while not BackupDirectory(tmp_path / "second-disk").backups() and time.monotonic() < deadline:
            time.sleep(0.2)
        server.process.send_signal(signal.SIGTERM)
        server.process.wait(timeout=120)

    assert BackupDirectory(tmp_path / "second-disk").newest_sound() is not None


@pytest.mark.parametrize("after_s", [0.0, 0.05, 0.1, 0.2, 0.4])
def test_a_kill_leaves_the_earlier_backup_and_the_next_is_made(tmp_path: Path, after_s: float) -> None:
    settings, directory = kept_house(tmp_path / "data"), BackupDirectory(tmp_path / "second-disk")
    first = directory.add(settings, AT)
    store = PictureStore(settings.pictures)
    for number in range(200):
        store.keep([os.urandom(200_000), bytes([number])], ending=".jpg")
    # As on another disk: it is copying that takes its time.
    program = (
        "import datetime as dt; from pathlib import Path; from webapp import disk; disk.on_one_disk = lambda *_: False;"
        "from webapp.backups.directory import BackupDirectory; from webapp.settings import Settings; print('begun', flush=True);"
        f"BackupDirectory(Path({str(directory.root)!r})).add(Settings(data=Path({str(settings.data)!r})), dt.datetime.fromisoformat({(AT + DAY).isoformat()!r}))"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", program], stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(ROOT)}
    )
    with process:
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(after_s)
        process.kill()

    assert first.is_sound
    assert directory.newest_sound() is not None
    made = directory.add(settings, AT + 2 * DAY)
    assert made.is_sound
    assert {path.name for path in (directory.root / "backups").iterdir()} == {
        each.directory.name for each in directory.backups()
    }
    restore(made.directory, tmp_path / "new")


def test_a_full_disk_leaves_the_earlier_backup_and_is_said(tmp_path: Path) -> None:
    settings = kept_house(tmp_path / "data")
    with small_disk(tmp_path / "disk", megabytes=4) as disk:
        directory = BackupDirectory(disk / "backups-of-it")
        first = directory.add(settings, AT)
        for _ in range(5):
            PictureStore(settings.pictures).keep([os.urandom(1_000_000)], ending=".jpg")

        done = stopledger("backup", directory.root, "--data", settings.data)

        assert done.returncode == 1
        assert "Free some room on it" in done.stderr
        assert "Traceback" not in done.stderr
        assert directory.newest_sound() == first


def test_a_full_disk_brings_nothing_half_back(tmp_path: Path) -> None:
    settings = kept_house(tmp_path / "data")
    PictureStore(settings.pictures).keep([os.urandom(5_000_000)], ending=".jpg")
    made = BackupDirectory(tmp_path / "second-disk").add(settings, AT)
    with small_disk(tmp_path / "disk", megabytes=4) as disk:
        done = stopledger("restore", made.directory, "--data", disk / "new")

        assert (done.returncode, list(disk.iterdir())) == (1, [])
        assert "Free some room on it" in done.stderr

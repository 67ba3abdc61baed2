"""A disk that is full, read-only, forbidden or damaged, under a real server: a sentence at once, never a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import httpx
import pytest

from tests.faults.disks import fill, make_read_only, small_disk
from tests.faults.served import ROOT, served
from tests.houses import new_house
from tests.unit.backups.house import AT, kept_house
from webapp.backups.restore import restore
from webapp.backups.state import back_up


def start(data: Path) -> subprocess.CompletedProcess[str]:
    """A server that ends by itself, as it cannot start."""
    command = [sys.executable, "-m", "webapp", "serve", "--port", "0", "--data", str(data)]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run(command, capture_output=True, text=True, env=environment, timeout=60, check=False)


def refused(done: subprocess.CompletedProcess[str], words: str) -> None:
    """One sentence, or two, on one line."""
    assert done.returncode == 2
    assert words in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_full_disk_is_said_on_the_page_and_work_goes_on_when_there_is_room(tmp_path: Path) -> None:
    with (
        small_disk(tmp_path / "disk", megabytes=4) as disk,
        served(disk / "data") as server,
        httpx.Client(base_url=server.url, timeout=60) as client,
    ):
        session = client.post("/sessions", data={"name": "x"}).headers["location"]
        shot = client.post(f"{session}/shots", data={"title": "y"}).headers["location"]
        assert client.post(f"{shot}/frames", data={"because": "kept"}).status_code == 303
        filler = fill(disk)

        answers = [client.post(f"{shot}/frames", data={"because": "lost" * 20}) for _ in range(20)]
        refusals = [each for each in answers if each.status_code != 303]

        assert refusals
        assert all(each.status_code == 503 and "is full" in each.text for each in refusals)
        assert "0 MB left on the disk" in client.get("/").text
        filler.unlink()
        assert client.post(f"{shot}/frames", data={"because": "again"}).status_code == 303
        frames = client.get(shot).text.count('<tr id="frame-')
        assert frames == 2 + len(answers) - len(refusals)
        server.process.kill()
        assert server.process.stdout is not None
        said = server.process.stdout.read()

    assert said.count("is full") == len(refusals)
    assert "Traceback" not in said


def test_no_start_on_a_disk_that_is_read_only_or_full(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk", megabytes=4) as disk:
        new_house(disk / "data")
        make_read_only(disk)
        refused(start(disk / "data"), "can only be read")

    with small_disk(tmp_path / "another", megabytes=1) as disk:
        fill(disk)
        refused(start(disk / "data"), "is full")


@pytest.mark.skipif(os.name != "posix" or os.geteuid() != 0, reason="only root can be another user")
def test_no_start_in_a_directory_of_somebody_else(tmp_path: Path) -> None:
    data = new_house(tmp_path / "data")
    data.chmod(0o700)
    # All is imported before: the other user may not read the program either.
    program = (
        "import os, sys, uvicorn, webapp.app, webapp.__main__ as main; os.seteuid(65534);"
        f"sys.exit(main.main(['serve', '--data', {str(data)!r}]))"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}

    refused(
        subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, env=environment, check=False),
        "may not be read or written by the user",
    )


@pytest.mark.parametrize("damage", [b"\xff" * (4096 * 36), b""])
def test_a_damaged_database_is_said_at_the_start_with_the_way_back(tmp_path: Path, damage: bytes) -> None:
    settings = kept_house(tmp_path / "data")
    (tmp_path / "second-disk").mkdir()
    made = back_up(settings, tmp_path / "second-disk", AT)
    database = settings.data / "stopledger.sqlite3"
    content = bytearray(database.read_bytes())
    content[4096 * 4 : 4096 * 4 + len(damage)] = damage
    database.write_bytes(content if damage else b"a letter, and no database" * 200)
    before = {path: path.read_bytes() for path in settings.data.rglob("*") if path.is_file()}

    done = start(settings.data)

    refused(done, "is damaged")
    assert f"stopledger restore {made.directory} --data {settings.data}-restored" in done.stderr
    assert {path: path.read_bytes() for path in settings.data.rglob("*") if path.is_file()} == before
    restore(made.directory, tmp_path / "data-restored")
    with served(tmp_path / "data-restored") as server:
        assert "bench day" in httpx.get(f"{server.url}/", timeout=60).text

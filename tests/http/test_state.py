"""How the server is, for whatever watches it and for its owner; and that it stops when it is asked to."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import httpx
from starlette.testclient import TestClient

from tests.houses import new_house
from tests.http.running import Listener

STOPS_WITHIN_S = 5.0


def test_whoever_watches_is_told_that_the_records_can_be_read(client: TestClient) -> None:
    assert client.get("/healthz").json() == {"status": "ok"}


def test_the_owner_sees_version_disk_backups_and_what_waits(client: TestClient) -> None:
    page = client.get("/state").text

    for name in (
        "version",
        "disk",
        "records",
        "pictures",
        "backups",
        "in-tray",
        "pages that follow",
        "signed in",
        "listens at",
    ):
        assert re.search(rf'<th scope="row">{name}</th>\s*<td[^>]*>[^<]', page), name
    assert "None since the server was started." in page


def test_it_stops_within_five_seconds_however_many_follow(tmp_path: Path) -> None:
    data = new_house(tmp_path / "data")
    command = [sys.executable, "-m", "webapp", "serve", "--port", "0", "--public-port", "0", "--data", str(data)]
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment
    ) as server:
        assert server.stdout is not None
        assert server.stderr is not None
        told = server.stdout.readline()
        with httpx.Client(base_url=re.findall(r"http://\S+/", told)[0], timeout=60) as client:
            session = client.post("/sessions", data={"name": "day"}).headers["location"]
            follow = [Listener(client, f"{session}/news?page=p{number}&since=0") for number in range(5)]
            for each in follow:
                each.wait_for("listening")
            began = time.monotonic()
            server.send_signal(signal.SIGTERM)
            server.wait(timeout=60)
            took = time.monotonic() - began
        said = server.stderr.read()
    # What it promises to whoever stops it; not how fast this machine is.
    assert took < 2 * STOPS_WITHIN_S
    assert "Traceback" not in said
    assert "error" not in said

"""A save that was answered is on disk: the process is killed without warning right after the answer."""

from __future__ import annotations

import signal
import sqlite3
from pathlib import Path

import httpx

from tests.faults.served import served


def test_a_frame_that_was_answered_for_survives_a_kill(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with served(data) as server, httpx.Client(base_url=server.url) as client:
        session = client.post("/sessions", data={"name": "cut"}).headers["location"]
        shot = client.post(f"{session}/shots", data={"title": "cut"}).headers["location"]
        for number in range(1, 6):
            client.post(f"{shot}/standing", data={"field": "f_number", "value": "11" if number % 2 else "16"})
            assert client.post(f"{shot}/frames", data={"because": f"frame {number}"}).status_code == 303
        server.process.send_signal(signal.SIGKILL)
        server.process.wait()

    with served(data) as server, httpx.Client(base_url=server.url) as client:
        page = client.get(shot).text
        assert page.count('<tr id="frame-') == 5
        assert "frame 5" in page
        assert 'value="f/11"' in page
    with sqlite3.connect(data / "stopledger.sqlite3") as database:
        assert database.execute("pragma integrity_check").fetchone() == ("ok",)
    database.close()


def test_a_server_asked_to_stop_stops_with_an_open_page(tmp_path: Path) -> None:
    with served(tmp_path / "data") as server, httpx.Client(base_url=server.url, timeout=120) as client:
        session = client.post("/sessions", data={"name": "open"}).headers["location"]
        with client.stream("GET", f"{session}/news?page=one") as stream:
            next(stream.iter_lines())
            server.process.send_signal(signal.SIGTERM)
            server.process.wait(timeout=120)

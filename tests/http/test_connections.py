"""Half a request holds no place for ever, and a full door outside leaves the house open."""

from __future__ import annotations

import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import httpx
import pytest

from tests.http.running import running
from webapp import connections, live


@contextmanager
def _half(client: httpx.Client, *parts: bytes, pause_s: float = 0.0) -> Iterator[socket.socket]:
    with socket.create_connection((client.base_url.host, client.base_url.port or 80), timeout=120) as half:
        for part in parts:
            half.sendall(part)
            time.sleep(pause_s)
        yield half


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[tuple[httpx.Client, Any]]:
    monkeypatch.setattr(connections, "HEAD_WITHIN_S", 0.5)
    monkeypatch.setattr(connections, "BODY_WITHIN_S", 0.5)
    with running(tmp_path / "data") as house:
        yield house


@pytest.mark.parametrize(
    "parts",
    [
        (),
        (b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n",),
        (
            b"POST /sessions HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/x-www-form-urlencoded\r\n"
            b"Content-Length: 1000\r\n\r\nname=",
        ),
    ],
    ids=["nothing", "half a head", "half a body"],
)
def test_a_request_that_never_becomes_whole_is_ended(
    impatient: tuple[httpx.Client, Any], parts: tuple[bytes, ...]
) -> None:
    client, _ = impatient
    with _half(client, *parts) as half, suppress(ConnectionResetError):
        assert half.recv(4096) == b""
    assert client.get("/healthz").json() == {"status": "ok"}


def test_a_head_that_drips_in_is_ended_too(impatient: tuple[httpx.Client, Any]) -> None:
    client, _ = impatient
    drips = (b"GET / HTTP/1.1\r\n", *([b"X: y\r\n"] * 20))

    with pytest.raises((ConnectionResetError, BrokenPipeError)), _half(client, *drips, pause_s=0.1):
        pass


def test_a_body_that_comes_slowly_and_steadily_is_taken(
    impatient: tuple[httpx.Client, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    client, _ = impatient
    # All of it takes longer than the wait for a piece, and each piece much less.
    monkeypatch.setattr(connections, "BODY_WITHIN_S", 2.0)

    def slowly() -> Iterator[bytes]:
        for piece in (b"name=", b"slow", b"ly", b" but", b" whole"):
            yield piece
            time.sleep(0.45)

    answer = client.post("/sessions", content=slowly(), headers={"Content-Type": "application/x-www-form-urlencoded"})

    assert answer.status_code == 303
    assert "slowly but whole" in client.get("/").text


async def _seats(hub: live.Live, kind: Any, lines: int, each: int) -> list[live.Follower | None]:
    return [hub.seat(live.Followed(kind, f"{kind} {line}")) for line in range(lines) for _ in range(each)]


def test_however_many_follow_from_outside_the_house_has_its_own_seats() -> None:
    import asyncio

    async def fill() -> None:
        hub = live.Live(lambda: 0)
        outside = await _seats(hub, "live page", 4, live.MOST_FOLLOWERS)
        inside = await _seats(hub, "session", 1, 50)

        assert sum(each is not None for each in outside) == live.MOST_OUTSIDE
        assert all(inside)

    asyncio.run(fill())

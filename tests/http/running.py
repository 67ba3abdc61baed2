"""The program on a real port in a thread: what a stream says cannot be read through the test client, which waits for its
end."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import uvicorn

from tests.houses import new_house
from webapp.app import create_app
from webapp.doors import server_config
from webapp.settings import Settings

GENEROUS_S = 120.0


@contextmanager
def running(data: Path, **settings: Any) -> Iterator[tuple[httpx.Client, Any]]:
    """A client of a running program, and the program, with further `settings`."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    set_up = Settings(data=new_house(data), port=port, **settings)
    app = create_app(set_up)
    server = uvicorn.Server(server_config(app, set_up, host="127.0.0.1", port=port))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    deadline = time.monotonic() + GENEROUS_S
    while not server.started and time.monotonic() < deadline:
        time.sleep(0.01)
    assert server.started, "the server did not start"
    with httpx.Client(base_url=f"http://127.0.0.1:{port}", timeout=GENEROUS_S) as client:
        yield client, app
    server.should_exit = True
    thread.join(timeout=GENEROUS_S)


class Listener:
    """Reads a stream of events in a thread of its own."""

    def __init__(self, client: httpx.Client, address: str, headers: dict[str, str] | None = None) -> None:
        self.text = ""
        self.status: int | None = None
        self.headers: httpx.Headers = httpx.Headers()
        self.over = False
        self._changed = threading.Condition()
        self._url, self._asked = f"{str(client.base_url).rstrip('/')}{address}", headers or {}
        threading.Thread(target=self._listen, daemon=True).start()

    def wait_for(self, words: str) -> str:
        """Everything heard up to some words."""
        self._wait(lambda: words in self.text, words)
        return self.text

    def wait_for_the_end(self) -> str:
        """Everything heard on a stream that ends."""
        self._wait(lambda: self.over, "the end")
        return self.text

    def _wait(self, condition: Any, what: str) -> None:
        with self._changed:
            assert self._changed.wait_for(condition, timeout=GENEROUS_S), f"never heard {what!r} in {self.text!r}"

    def _listen(self) -> None:
        try:
            with httpx.stream("GET", self._url, headers=self._asked, timeout=GENEROUS_S) as stream:
                self._hear("", stream)
                for chunk in stream.iter_text():
                    self._hear(chunk, stream)
        except httpx.HTTPError:
            pass
        with self._changed:
            self.over = True
            self._changed.notify_all()

    def _hear(self, chunk: str, stream: httpx.Response) -> None:
        with self._changed:
            self.status, self.headers = stream.status_code, stream.headers
            self.text += chunk
            self._changed.notify_all()


def wait_until(condition: Any, within_s: float = GENEROUS_S) -> None:
    """Until something is so, or for a generous time."""
    deadline = time.monotonic() + within_s
    while time.monotonic() < deadline:
        if condition():
            return
        time.sleep(0.02)
    raise AssertionError("it never came about")

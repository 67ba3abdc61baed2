"""A real server on a loopback port and a real browser on it. Page errors fail the test; a picture of the page is kept
when one does. Page loads are counted, so that a test can prove that an update was partial."""

from __future__ import annotations

import asyncio
import os
import shutil
import socket
import threading
import time
from collections.abc import Callable, Coroutine, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from fastapi import FastAPI
from playwright.sync_api import Browser, ConsoleMessage, Page, expect, sync_playwright

from tests.houses import new_house
from webapp.app import create_app
from webapp.settings import Settings

CHROMIUM = next(
    filter(None, map(shutil.which, ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome"))),
    None,
)
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
# A loaded machine is slow, not wrong.
expect.set_options(timeout=60_000)
KEPT = Path(__file__).parent / "kept"
PHONE = {"width": 390, "height": 844}
LAPTOP = {"width": 1280, "height": 900}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if "browser" in Path(item.path).parts:
            # Modules in a row share a browser, so that of each all tests run on one worker, and these come first.
            item.add_marker(pytest.mark.xdist_group(item.path.stem))
            item.add_marker(pytest.mark.browser)
            if CHROMIUM is None and not os.environ.get("CI"):
                item.add_marker(
                    pytest.mark.skip(reason="no Chromium on this machine; tests/run installs it where it may")
                )


@dataclass
class Server:
    """The whole program, served."""

    url: str
    data: Path
    watch: Path
    app: FastAPI
    running: uvicorn.Server

    def do(self, work: Coroutine[Any, Any, object]) -> None:
        """Something in the server's own loop."""
        asyncio.run_coroutine_threadsafe(work, self.running.servers[0].get_loop()).result(timeout=60)


@dataclass
class Desk:
    """A browser page on the server, with what went wrong on it."""

    page: Page
    url: str
    scripts: bool = True
    errors: list[str] = field(default_factory=list)
    _loaded: int = 0

    def __post_init__(self) -> None:
        self.page.on("load", self._count)

    def _count(self, _page: Page) -> None:
        self._loaded += 1

    @property
    def loads(self) -> int:
        """How often a page was loaded; one that still waits for a picture is waited for, and counts."""
        self.page.wait_for_load_state()
        return self._loaded

    def open(self, path: str) -> None:
        self.page.goto(self.url + path)

    def hears_the_news(self) -> None:
        """Wait until the page is told what changes elsewhere; without scripts it never is."""
        if self.scripts:
            self.page.locator("html[data-news=listening]").wait_for()

    @property
    def ready(self) -> Page:
        """The page once its scripts are there."""
        self.page.wait_for_function("window.htmx !== undefined")
        return self.page


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    watch = tmp_path / "tethered"
    watch.mkdir()
    with serving(tmp_path / "data", watch) as running:
        yield running


@pytest.fixture(scope="module")
def demo_house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A house with the demo in it, its pictures read and its recipes published: for tests that change nothing."""
    root = tmp_path_factory.mktemp("demo")
    for each in ("data", "tethered"):
        (root / each).mkdir()
    with serving(root / "data", root / "tethered", demo=True) as running:
        deadline = time.monotonic() + 300
        while running.app.state.services.filling.now().step != "there":
            assert time.monotonic() < deadline, "the demo is not ready"
            time.sleep(0.1)
        yield running


@contextmanager
def serving(data: Path, watch: Path, port: int = 0, **settings: Any) -> Iterator[Server]:
    """The program over a data directory, until the block ends; at a free port where none is named."""
    if not port:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
    app = create_app(Settings(data=new_house(data), port=port, watch=watch, **settings))
    running = uvicorn.Server(
        uvicorn.Config(app, host="127.0.0.1", port=port, log_level="warning", timeout_graceful_shutdown=1)
    )
    thread = threading.Thread(target=running.run, daemon=True)
    thread.start()
    deadline = time.monotonic() + 120
    while not running.started and time.monotonic() < deadline:
        time.sleep(0.02)
    assert running.started, "the server did not start"
    yield Server(f"http://127.0.0.1:{port}", data, watch, app, running)
    running.should_exit = True
    thread.join(timeout=60)


# Not for the whole run: the driver's event loop would be in the way of asyncio in tests that run after these.
@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    assert CHROMIUM is not None, "CI is set, and there is no Chromium: nothing may be skipped"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def open_desk(browser: Browser, server: Server, request: pytest.FixtureRequest) -> Iterator[Callable[..., Desk]]:
    """Makes browser pages: open_desk(viewport=PHONE, scripts=False, theme="dark")."""
    made: list[Desk] = []

    def make(
        viewport: dict[str, int] = LAPTOP, *, scripts: bool = True, theme: str = "light", touch: bool = False
    ) -> Desk:
        context = browser.new_context(
            viewport=viewport,  # type: ignore[arg-type]
            java_script_enabled=scripts,
            has_touch=touch,
            color_scheme=theme,  # type: ignore[arg-type]
            reduced_motion="reduce",
        )
        desk = Desk(context.new_page(), server.url, scripts)

        def heard(message: ConsoleMessage) -> None:
            # A refused field answers 422 or 409 on purpose; the browser logs that as an error of its own.
            if message.type in ("error", "warning") and "the server responded with a status of 4" not in message.text:
                desk.errors.append(message.text)

        desk.page.on("pageerror", lambda error: desk.errors.append(str(error)))
        desk.page.on("console", heard)
        desk.page.set_default_timeout(60_000)
        made.append(desk)
        return desk

    yield make
    for index, desk in enumerate(made):
        if request.node.stash.get(FAILED, False):
            KEPT.mkdir(exist_ok=True)
            desk.page.screenshot(path=KEPT / f"{request.node.name}-{index}.png", full_page=True)
        desk.page.context.close()
    errors = [error for desk in made for error in desk.errors]
    assert not errors, f"the page complained: {errors}"


FAILED = pytest.StashKey[bool]()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Iterator[None]:
    report = yield
    if report.when == "call":  # type: ignore[attr-defined]
        item.stash[FAILED] = report.failed  # type: ignore[attr-defined]
    return report


@pytest.fixture
def desk(open_desk: Callable[..., Desk]) -> Desk:
    return open_desk()

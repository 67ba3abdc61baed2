"""Fill a demo, serve it, and take the pictures. Run it after a change of a page that is pictured."""

from __future__ import annotations

import io
import re
import shutil
import socket
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn
from PIL import Image
from playwright.sync_api import Page, expect, sync_playwright

from tests.guide_pictures import PICTURED, PLACE
from webapp.app import create_app
from webapp.settings import Settings

VIEW = {"width": 1280, "height": 800}
SIZE = (960, 600)
QUALITY = 78
SETTLES_MS = 3000
PATIENCE_S = 300.0


@contextmanager
def demo(data: Path) -> Iterator[str]:
    """The address of a served demo whose pictures are read and whose recipes are published."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    app = create_app(Settings(data=data, port=port, demo=True))
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=port, log_level="warning"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    deadline = time.monotonic() + PATIENCE_S
    while not server.started or app.state.services.filling.now().step != "there":
        assert time.monotonic() < deadline, "the demo is not ready"
        time.sleep(0.2)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(timeout=30)


def linked(page: Page, title: str) -> str:
    """Where the link with these words leads."""
    address = page.get_by_role("link", name=title, exact=True).first.get_attribute("href")
    assert address is not None
    return address


def frames_of(page: Page, url: str, shot: str) -> list[str]:
    """The frames of a shot, the newest first."""
    page.goto(url + shot)
    return list(dict.fromkeys(re.findall(r'href="(/frames/[\w-]{36})"', page.content())))


def take(page: Page, name: str) -> None:
    # Pages that hear the news are never idle.
    page.wait_for_timeout(SETTLES_MS)
    shot = Image.open(io.BytesIO(page.screenshot()))
    shot.convert("RGB").resize(SIZE, Image.Resampling.LANCZOS).save(
        PLACE / f"{name}.webp", "WEBP", quality=QUALITY, method=6
    )


def take_all(page: Page, url: str) -> None:
    """All of PICTURED."""
    page.goto(url)
    cock, tile, bottle = (
        linked(page, each) for each in ("Balance cock at 1.2", "Crackle-glazed tile", "Scent bottle")
    )
    take(page, "home")
    tiles = frames_of(page, url, tile)
    bottles = frames_of(page, url, bottle)
    page.goto(url + cock)
    take(page, "set")
    mark = page.get_by_label("f-number", exact=True).first
    mark.fill("11")
    mark.press("Enter")
    expect(page.locator(".one-sentence .key")).to_be_visible()
    take(page, "change")
    for name, address in (
        ("frame", bottles[0]),
        ("compare", f"{tiles[1]}/compare/{tiles[4].rpartition('/')[2]}"),
        ("plan", f"{bottle}/plan"),
    ):
        page.goto(url + address)
        take(page, name)
    page.goto(f"{url}/recipes")
    page.goto(url + linked(page, "Scent bottle on a dark field"))
    take(page, "recipe")


def main() -> None:
    PLACE.mkdir(exist_ok=True)
    chromium = next(filter(None, map(shutil.which, ("chromium-headless-shell", "chromium"))))
    with (
        tempfile.TemporaryDirectory() as data,
        demo(Path(data)) as url,
        sync_playwright() as playwright,
        playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"]) as browser,
    ):
        page = browser.new_page(viewport=VIEW, color_scheme="light", reduced_motion="reduce")  # type: ignore[arg-type]
        take_all(page, url)
    for each in PICTURED:
        print(f"{each}.webp {(PLACE / f'{each}.webp').stat().st_size / 1000:.0f} kB")


main()

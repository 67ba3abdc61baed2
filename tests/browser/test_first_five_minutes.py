"""From an empty directory: one's own first frame in few taps, the demo there and gone again, the guide without the
server."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.conftest import LAPTOP, PHONE, Server, serving
from tests.browser.story import kept_on_the_device

MOST_TAPS = 12


@pytest.fixture
def empty_house(tmp_path: Path) -> Iterator[Server]:
    """A first start over a directory with nothing in it."""
    (tmp_path / "data").mkdir()
    (tmp_path / "tethered").mkdir()
    with serving(tmp_path / "data", tmp_path / "tethered") as running:
        yield running


def opened(browser: Browser, size: dict[str, int], url: str) -> Page:
    page = browser.new_context(viewport=size, reduced_motion="reduce").new_page()  # type: ignore[arg-type]
    page.set_default_timeout(60_000)
    page.goto(url)
    return page


def test_the_first_frame_of_ones_own_then_the_demo_and_the_guide(browser: Browser, empty_house: Server) -> None:
    page = opened(browser, PHONE, empty_house.url)
    taps = 0

    def tap(there: Locator) -> None:
        nonlocal taps
        taps += 1
        there.click()

    tap(page.get_by_label("name", exact=True))
    page.keyboard.type("Tuesday")
    tap(page.get_by_role("button", name="Begin the session"))
    tap(page.get_by_label("title", exact=True))
    page.keyboard.type("Watch dial")
    tap(page.get_by_role("button", name="Begin the shot"))
    tap(page.get_by_role("button", name="Log frame 1").locator("visible=true"))
    expect(page.locator('tr[data-number="1"]')).to_be_attached()
    assert taps <= MOST_TAPS

    kept_on_the_device(page)
    kept_on_the_device(page, "/guide")
    page.context.set_offline(True)
    page.goto(f"{empty_house.url}/guide")
    expect(page.get_by_role("heading", name="Why four stops are not five")).to_be_visible()
    expect(page.locator("#begin img")).to_have_js_property("naturalWidth", 960)
    page.context.set_offline(False)


def test_the_demo_is_one_press_away_and_another_removes_it(browser: Browser, empty_house: Server) -> None:
    page = opened(browser, LAPTOP, empty_house.url)

    page.get_by_role("button", name="Look at the demo").click()
    expect(page.locator(".progress progress")).to_be_visible()
    expect(page.get_by_text("The demo is ready.")).to_be_visible(timeout=240_000)
    page.get_by_role("link", name="Open the demo").click()
    expect(page.get_by_role("heading", name="The demo")).to_be_visible()
    expect(page.locator(".known-by img").first).to_have_js_property("complete", True)

    page.get_by_role("link", name="Remove the demo").click()
    page.get_by_role("button", name="Remove all of it").click()
    expect(page.get_by_role("button", name="Look at the demo")).to_be_visible()
    expect(page.locator(".known-by li")).to_have_count(0)

"""A recipe in one file, opened from the disk of a phone that has no network."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Browser, Page

from tests.browser.conftest import PHONE, Desk
from tests.browser.test_access import needs_axe, violations


def downloaded(desk: Desk, into: Path) -> Path:
    """A shot with a picture, published and taken away by the key on its page."""
    ask, url = desk.page.context.request, desk.url
    session = ask.post(f"{url}/sessions", form={"name": "bench day"}, max_redirects=0).headers["location"]
    shot = ask.post(f"{url}{session}/shots", form={"title": "Enamel dial"}, max_redirects=0).headers["location"]
    place = {"field": "lights.A.position", "value": "90 cm; 45° left; 40 cm above; taped"}
    ask.post(f"{url}{shot}/standing", form=place)
    picture = {"name": "dial.jpg", "mimeType": "image/jpeg", "buffer": a_picture()}
    ask.post(f"{url}{shot}/frames", multipart={"purpose": "test", "picture": picture})
    desk.open(shot)
    frame = re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', ask.get(f"{url}{shot}").text())[0]
    desk.page.wait_for_function(f"fetch('{frame}').then(r => r.text()).then(t => t.includes('/preview'))")
    said = {"title": "Enamel dial", "steps": "prove black\nkey first", "why": "soft from above"}
    recipe = ask.post(f"{url}{frame}/recipe", form=said, max_redirects=0).headers["location"]
    desk.open(recipe)
    desk.page.locator("#one-file summary").click()
    with desk.page.expect_download() as coming:
        desk.page.get_by_role("button", name="Download the page").click()
    file = into / coming.value.suggested_filename
    coming.value.save_as(file)
    return file


def a_picture() -> bytes:
    return (Path(__file__).parents[2] / "webapp/demo/pictures/tile-0001.jpg").read_bytes()


def offline(browser: Browser, file: Path, trouble: list[str]) -> Page:
    context = browser.new_context(viewport=PHONE, offline=True)  # type: ignore[arg-type]
    page = context.new_page()
    page.on("console", lambda message: trouble.append(message.text))
    page.on(
        "request", lambda asked: trouble.append(asked.url) if not asked.url.startswith(("file:", "data:")) else None
    )
    page.on("requestfailed", lambda asked: trouble.append(f"failed: {asked.url[:60]}"))
    page.goto(file.as_uri())
    return page


@needs_axe
def test_the_file_opens_on_a_phone_without_a_network(
    open_desk: Callable[..., Desk], browser: Browser, tmp_path: Path
) -> None:
    file = downloaded(open_desk(), tmp_path)
    trouble: list[str] = []

    page = offline(browser, file, trouble)

    assert file.name == "enamel-dial.html"
    assert page.locator("h1").first.inner_text() == "Enamel dial"
    assert page.evaluate("[...document.images].every(each => each.complete && each.naturalWidth > 0)")
    assert page.evaluate("document.images[0].naturalWidth") > 1000
    assert page.get_by_role("heading", name="Plan").is_visible()
    # Its own style is in force, and the page is no wider than the phone.
    assert page.evaluate("getComputedStyle(document.querySelector('.masthead')).display") == "flex"
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert not page.locator("article.paper").is_visible()
    assert trouble == []
    assert violations(Desk(page, "")) == []
    page.context.close()


def test_printed_the_file_is_the_set_up_sheet_on_one_page(
    open_desk: Callable[..., Desk], browser: Browser, tmp_path: Path
) -> None:
    file = downloaded(open_desk(), tmp_path)
    page = offline(browser, file, [])

    page.emulate_media(media="print")
    printed = page.pdf(prefer_css_page_size=True)

    assert page.locator("article.paper").is_visible()
    assert not page.locator(".one-file").is_visible()
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1
    page.context.close()

"""Before the set is struck, in a browser: asked, answered, closed on every open page, and opened again."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import expect

from tests.browser.conftest import Desk
from tests.browser.story import begin, log, set_dial


def test_a_shot_is_asked_for_closed_everywhere_and_opened_again(open_desk: Callable[..., Desk]) -> None:
    desk, other = open_desk(), open_desk()
    page = begin(desk)
    set_dial(page, "f-number", "11")
    log(page, 1)
    other.page.goto(page.url)
    other.hears_the_news()
    loads = other.loads

    page.locator(".menu > summary").click()
    page.get_by_role("link", name="Strike the set").click()
    page.get_by_label("distance of A").fill("near")
    page.get_by_label("bearing of A").fill("45 left")
    page.get_by_role("button", name="Close the shot").click()
    expect(page.get_by_role("alert")).to_contain_text("is not a distance")
    expect(page.get_by_label("bearing of A")).to_have_value("45 left")
    page.get_by_label("distance of A").fill("80 cm")
    page.get_by_role("button", name="Close the shot").click()

    for each in (page, other.page):
        expect(each.get_by_text("Closed on")).to_be_visible()
        expect(each.get_by_role("button", name="Log frame")).to_have_count(0)
    assert other.loads == loads, "the other page was told"
    page.locator("tr.frame .no a").first.click()
    expect(page.get_by_text("before the set was struck: place of A")).to_be_attached()
    page.go_back()
    page.get_by_role("button", name="Open it again").click()
    expect(page.get_by_role("button", name="Log frame 2").first).to_be_visible()
    expect(other.page.get_by_role("button", name="Log frame 2").first).to_be_visible()


def test_without_scripts_a_shot_is_closed_and_opened_too(open_desk: Callable[..., Desk]) -> None:
    first = begin(open_desk())
    desk = open_desk(scripts=False)
    page = desk.page
    page.goto(first.url)

    page.locator(".menu > summary").click()
    page.get_by_role("link", name="Strike the set").click()
    page.get_by_role("button", name="Close without answers").click()
    expect(page.get_by_text("Closed on")).to_be_visible()
    page.get_by_role("button", name="Open it again").click()

    expect(page.get_by_role("button", name="Log frame 1").first).to_be_visible()

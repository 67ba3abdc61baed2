"""Lengths in centimetres or inches, in a browser: the switch on a phone, and other devices that follow it."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import PHONE, Desk
from tests.browser.story import begin, from_the_menu, press_away


def test_on_a_phone_the_switch_sits_in_one_line_under_the_thumb(open_desk: Callable[..., Desk]) -> None:
    page = begin(open_desk(PHONE))

    page.locator(".menu > summary").click()
    boxes = [
        page.locator(".masthead").get_by_role("button", name=name, exact=True).bounding_box()
        for name in ("Day", "Dim", "cm", "inches")
    ]

    assert all(box is not None and box["width"] >= 44 and box["height"] >= 44 for box in boxes), boxes
    assert len({box["y"] for box in boxes if box}) == 1, boxes
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def distance_of_a(page: Page) -> Locator:
    """Its dial, a press on the light away."""
    dial = page.get_by_label("distance of A", exact=True)
    if not dial.count():
        page.locator(".light .who").first.click()
    return dial


def test_inches_chosen_on_one_device_are_read_on_another(open_desk: Callable[..., Desk]) -> None:
    page, other = begin(open_desk(PHONE)), open_desk()
    other.page.goto(page.url)
    other.hears_the_news()

    from_the_menu(page, "inches")

    for each in (page, other.page):
        expect(each.locator('button[name="unit"][value="in"]')).to_have_attribute("aria-pressed", "true")
    distance_of_a(other.page).fill("24")
    distance_of_a(other.page).press("Enter")
    expect(other.page.get_by_label("distance of A", exact=True)).to_have_value("24 in")


def test_without_scripts_inches_are_chosen_and_typed_too(open_desk: Callable[..., Desk]) -> None:
    first = begin(open_desk())
    page = open_desk(PHONE, scripts=False).page
    page.goto(first.url)

    page.locator(".menu > summary").click()
    page.get_by_role("button", name="inches").click()
    press_away(page, "Kit and positions")
    page.locator("summary", has_text="key A").click()
    page.get_by_label("distance of A", exact=True).fill("24")
    page.get_by_label("distance of A", exact=True).press("Enter")

    page.locator("summary", has_text="key A").click()
    expect(page.get_by_label("distance of A", exact=True)).to_have_value("24 in")

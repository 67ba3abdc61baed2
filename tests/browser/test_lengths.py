"""Lengths in centimetres or inches, in a browser: the switch on a phone, and other devices that follow it."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import expect

from tests.browser.conftest import PHONE, Desk
from tests.browser.story import begin


def test_on_a_phone_the_switch_sits_in_one_line_under_the_thumb(open_desk: Callable[..., Desk]) -> None:
    page = begin(open_desk(PHONE))

    boxes = [
        page.locator(".masthead").get_by_role("button", name=name, exact=True).bounding_box()
        for name in ("Day", "Dim", "cm", "inches")
    ]

    assert all(box is not None and box["width"] >= 44 and box["height"] >= 44 for box in boxes), boxes
    assert len({box["y"] for box in boxes if box}) == 1, boxes
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_inches_chosen_on_one_device_are_read_on_another(open_desk: Callable[..., Desk]) -> None:
    page, other = begin(open_desk(PHONE)), open_desk()
    other.page.goto(page.url)
    other.hears_the_news()

    page.get_by_role("button", name="inches").click()

    expect(page.get_by_role("button", name="inches")).to_have_attribute("aria-pressed", "true")
    expect(other.page.get_by_role("button", name="inches")).to_have_attribute("aria-pressed", "true")
    other.page.get_by_text("distance, modifier, filters of A").click()
    dial = other.page.get_by_label("distance", exact=True)
    dial.fill("24")
    dial.press("Enter")
    expect(dial).to_have_value("24 in")


def test_without_scripts_inches_are_chosen_and_typed_too(open_desk: Callable[..., Desk]) -> None:
    first = begin(open_desk())
    page = open_desk(PHONE, scripts=False).page
    page.goto(first.url)

    page.get_by_role("button", name="inches").click()
    page.get_by_text("distance, modifier, filters of A").click()
    dial = page.get_by_label("distance", exact=True)
    dial.fill("24")
    dial.press("Enter")

    page.get_by_text("distance, modifier, filters of A").click()
    expect(page.get_by_label("distance", exact=True)).to_have_value("24 in")

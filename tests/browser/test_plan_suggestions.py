"""Suggestions in a browser: asked below the plan without leaving it, written in by a key, and taken back there."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from tests.browser.conftest import Desk
from tests.browser.story import begin


def test_a_stop_less_is_asked_written_in_and_taken_back(desk: Desk) -> None:
    page = begin(desk)
    page.get_by_role("link", name="Plan", exact=True).click()
    sheet = page.locator('details[id$="lights-A"]')
    sheet.locator("summary").first.click()
    sheet.get_by_label("distance").fill("100 cm")
    sheet.get_by_label("bearing").fill("45 left")
    sheet.get_by_label("height above").fill("20")
    sheet.get_by_role("button", name="Place key A", exact=True).click()
    expect(page.locator(".places")).to_contain_text("100 cm from the subject, 45° left")
    suggestions = page.locator(".suggestions")
    loads = desk.loads

    suggestions.locator("summary").first.click()
    suggestions.get_by_label("how much").fill("-1")
    suggestions.get_by_role("button", name="Work it out").click()

    expect(suggestions.locator(".way", has_text="Move")).to_contain_text("141.4 cm")
    assert desk.loads == loads, "the answer is partial"
    suggestions.get_by_role("button", name="Put A at 141.4 cm").click()
    expect(page.locator(".places")).to_contain_text("141.4 cm from the subject, 45° left")
    page.get_by_role("button", name=re.compile("Put A back")).click()
    expect(page.locator(".places")).to_contain_text("100 cm from the subject, 45° left")

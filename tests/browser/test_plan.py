"""The plan in a browser: a light dragged, undone, and moved by keys alone; and the drawing on A4."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.browser.conftest import Desk
from tests.browser.story import begin


def _two_lights(desk: Desk) -> Page:
    page = begin(desk)
    page.get_by_role("button", name="Add light").click()
    expect(page.locator(".light")).to_have_count(2)
    page.get_by_role("link", name="plan", exact=True).click()
    for letter, bearing in (("key A", "45 left"), ("fill B", "50 right")):
        sheet = page.locator(f'details[id$="lights-{letter[-1]}"]')
        sheet.locator("summary").first.click()
        sheet.get_by_label("distance").fill("100 cm")
        sheet.get_by_label("bearing").fill(bearing)
        sheet.get_by_label("height above").fill("20")
        sheet.get_by_role("button", name=f"Place {letter}").click()
        side = "left" if "left" in bearing else "right"
        expect(page.locator(".words-of-plan")).to_contain_text(re.compile(rf"100 cm from the subject, \d+° {side}"))
    page.get_by_role("button", name="Put up").click()
    expect(page.locator('details[id$="things-subject"]')).to_be_visible()
    page.get_by_label("put up").select_option("background")
    page.get_by_role("button", name="Put up").click()
    expect(page.locator('details[id$="things-background"]')).to_be_visible()
    return page


def _distance_of(page: Page, letter: str) -> float:
    words = page.locator(".words-of-plan li", has_text=f"{letter}: ").inner_text()
    found = re.search(r"([\d.]+) cm from the subject", words)
    assert found is not None
    return float(found.group(1))


def test_dragging_b_nearer_changes_its_distance_entry_and_shadow_and_undo_puts_it_back(desk: Desk) -> None:
    page = _two_lights(desk)
    loads = desk.loads
    shadow = page.locator("tr", has_text="shadow of B on the background")
    before = shadow.inner_text()
    stand = page.locator("#stand-lights-B")
    stand.scroll_into_view_if_needed()
    box = stand.locator("circle").bounding_box()
    assert box is not None
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)

    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] - 40, middle[1] - 30, steps=6)
    page.mouse.up()

    expect(page.get_by_role("button", name="Put B back")).to_be_visible()
    assert _distance_of(page, "B") < 95.0
    assert shadow.inner_text() != before
    page.get_by_role("button", name="Put B back").click()
    expect(page.locator(".words-of-plan")).to_contain_text("100 cm from the subject, 50° right")
    assert desk.loads == loads, "every move is partial"
    page.get_by_role("link", name="back to the desk").click()
    expect(page.get_by_label("distance", exact=True).nth(1)).to_have_value("100 cm")


def test_the_same_by_the_keyboard_alone(desk: Desk) -> None:
    page = _two_lights(desk)

    page.locator("#stand-lights-B").focus()
    for _ in range(2):
        page.keyboard.press("Shift+ArrowLeft")

    expect(page.get_by_role("button", name="Put B back")).to_be_visible()
    assert _distance_of(page, "B") < 90.0
    expect(page.locator("#stand-lights-B")).to_be_focused()
    page.get_by_role("button", name="Put B back").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".words-of-plan")).to_contain_text("100 cm from the subject, 50° right")


def test_the_plan_prints_on_one_side_of_a4_and_its_figures_on_the_next(
    open_desk: Callable[..., Desk], tmp_path: Path
) -> None:
    page = _two_lights(open_desk())

    pdf = page.pdf(path=tmp_path / "plan.pdf", format="A4")

    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) in (2, 3)

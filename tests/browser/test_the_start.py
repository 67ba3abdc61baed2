"""The start of a shoot: what is offered while it goes on, answered without a load of the page."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import expect

from tests.browser.conftest import Desk
from tests.browser.story import begin, log, press_away


def test_a_stack_and_what_stood_there_all_along_are_offered_and_marked_where_the_page_stands(
    open_desk: Callable[..., Desk],
) -> None:
    desk = open_desk()
    page = begin(desk)
    for number in range(1, 5):
        log(page, number)
    loads = desk.loads
    expect(page.get_by_text("Frames 1 to 4: a stack?")).to_be_visible()

    page.get_by_role("button", name="Mark as a stack").click()
    expect(page.get_by_text("Frames 1 to 4 · stack of 4")).to_be_visible()
    expect(page.get_by_text("a stack?")).to_have_count(0)
    expect(page.get_by_label("next frame")).to_have_value("stack")

    press_away(page, "Kit and positions")
    page.locator("summary", has_text="key A").click()
    distance = page.get_by_label("distance of A", exact=True)
    distance.fill("120 cm")
    distance.press("Enter")
    page.get_by_role("button", name="Stood there all along").click()
    expect(page.get_by_text("The place of A was entered later in frames 1 to 4.")).to_be_visible()
    page.keyboard.press("Escape")
    page.get_by_text("Frames 1 to 4 · stack of 4").click()
    expect(page.locator('tr[data-number="2"]').get_by_text("edited")).to_be_visible()
    assert desk.loads == loads

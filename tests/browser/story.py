"""Moves of the photographer, in the words of the page."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from tests.browser.conftest import Desk


def begin(desk: Desk, shot: str = "Enamel dial") -> Page:
    """From the front page to the desk of a new shot."""
    desk.open("/")
    page = desk.page
    page.get_by_label("name", exact=True).fill("Tuesday bench day")
    page.get_by_role("button", name="Begin the session").click()
    page.get_by_label("title", exact=True).fill(shot)
    page.get_by_role("button", name="Begin the shot").click()
    expect(page.get_by_role("heading", name="Standing set-up")).to_be_visible()
    page.wait_for_load_state()
    desk.hears_the_news()
    return page


def set_dial(page: Page, label: str, value: str) -> None:
    """Type a value over a dial's mark and press Enter."""
    field = page.get_by_label(label, exact=True).first
    field.fill(value)
    # The dial shows what was typed at once; what counts is that the server has answered for it.
    with page.expect_response(lambda answer: answer.url.endswith("/standing")):
        field.press("Enter")


def log(page: Page, number: int) -> None:
    page.get_by_role("button", name=f"Log frame {number}").locator("visible=true").click()
    expect(page.locator(f'tr[data-number="{number}"]')).to_be_visible()


def balance(page: Page, column: str) -> str:
    """The closed balance of a column of the ruled sheet."""
    heads = page.locator(".entries thead th").all_inner_texts()
    cells = page.locator(".entries tfoot td").all_inner_texts()
    return cells[heads.index(column) - 1].strip()


def expect_balance(page: Page, column: str, figure: str) -> None:
    heads = page.locator(".entries thead th").all_inner_texts()
    expect(page.locator(".entries tfoot td").nth(heads.index(column) - 1)).to_have_text(figure)

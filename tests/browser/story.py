"""Moves of the photographer, in the words of the page."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from tests.browser.conftest import Desk

KEPT = """async () => {
  const names = await caches.keys();
  const lists = await Promise.all(names.map(async (name) => (await (await caches.open(name)).keys()).map((each) => each.url)));
  return lists.flat().map((url) => new URL(url).pathname);
}"""


def begin(desk: Desk, shot: str = "Enamel dial") -> Page:
    """From the front page to the desk of a new shot."""
    desk.open("/")
    page = desk.page
    page.get_by_label("name", exact=True).fill("Tuesday bench day")
    page.get_by_role("button", name="Begin the session").click()
    page.get_by_label("title", exact=True).fill(shot)
    page.get_by_role("button", name="Begin the shot").click()
    expect(page.get_by_role("region", name="Set-up now")).to_be_attached()
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


def add_light(page: Page, count: int, head: str = "") -> None:
    """Another light comes into the set, which then has `count`."""
    press_away(page, "Kit and positions")
    if head:
        page.get_by_label("another light").select_option(head)
    page.get_by_role("button", name="Add light").click()
    expect(page.locator(".light")).to_have_count(count)
    page.keyboard.press("Escape")
    expect(page.locator("section.panel")).to_have_count(0)


def press_away(page: Page, name: str) -> None:
    """Open what lies a press away from the set."""
    page.locator(".menu > summary").click()
    page.locator(".menu").get_by_role("link", name=name).click()
    expect(page.locator("section.panel")).to_be_visible()


def from_the_menu(page: Page, name: str) -> None:
    """Press a key of the menu."""
    page.locator(".menu > summary").click()
    page.locator(".menu").get_by_role("button", name=name).click()
    page.locator(".menu > summary").click()


def balance(page: Page, column: str) -> str:
    """The closed balance of a light, or of the ambient light."""
    return page.locator(f'[data-balance="{column}"]').inner_text().strip()


def expect_balance(page: Page, column: str, figure: str) -> None:
    expect(page.locator(f'[data-balance="{column}"]')).to_have_text(figure)


def kept_on_the_device(page: Page, address: str = "") -> None:
    """Wait until the page for shooting is kept, or another; what it is made with is kept before it."""
    page.evaluate(
        f"""async (path) => {{
          for (;;) {{
            if ((await ({KEPT})()).includes(path)) return;
            await new Promise((go) => setTimeout(go, 100));
          }}
        }}""",
        address or "/shots/" + page.url.split("/shots/")[1],
    )

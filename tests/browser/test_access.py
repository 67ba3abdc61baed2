"""WCAG 2.2 AA by axe-core on every page, both themes, laptop and phone; touch targets; nothing asked of another host."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.cards import card
from tests.browser.conftest import LAPTOP, PHONE, Desk
from tests.browser.story import begin, from_the_menu, kept_on_the_device, log, press_away, set_dial

AXE = Path(__file__).parents[2] / ".cache/axe/package/axe.min.js"
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}

needs_axe = pytest.mark.skipif(
    not AXE.is_file() and not os.environ.get("CI"), reason="axe-core is not here; tests/run fetches it where it may"
)


def violations(desk: Desk) -> list[str]:
    # Evaluated rather than added as a script, so that the content security policy stays on under test.
    desk.page.evaluate(AXE.read_text())
    found = desk.page.evaluate("rules => axe.run(document, rules).then(result => result.violations)", RULES)
    return [f"{each['id']}: {node['target']} {node['failureSummary']}" for each in found for node in each["nodes"]]


def published_and_begun_again(desk: Desk, frame: str) -> tuple[str, str]:
    """The addresses of a frame's recipe and of its reshoot."""
    ask = desk.page.context.request
    recipe = ask.post(f"{desk.url}{frame}/recipe", form={"title": "dial"}, max_redirects=0).headers["location"]
    begun = ask.post(f"{desk.url}{recipe}/reshoot", form={"title": "dial, again"}, max_redirects=0)
    return recipe, begun.headers["location"]


@needs_axe
@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_every_page_passes_axe(open_desk: Callable[..., Desk], theme: str, viewport: dict[str, int]) -> None:
    desk = open_desk(viewport, theme=theme)
    page = begin(desk)
    log(page, 1)
    set_dial(page, "f-number", "22")
    page.locator(".one-sentence .key").wait_for()
    assert violations(desk) == []
    press_away(page, "Kit and positions")
    for summary in page.locator("section.panel summary:visible").all():
        summary.click()
    assert violations(desk) == []
    press_away(page, "Balance and working")
    assert violations(desk) == []
    page.keyboard.press("Escape")
    frame = page.locator("tr.frame .no a").first.get_attribute("href")
    shot = page.url.removeprefix(desk.url)
    recipe, again = published_and_begun_again(desk, frame or "")
    for address in (
        "/",
        frame,
        page.locator(".left .headline a").first.get_attribute("href"),
        "/kit",
        "/kit/lights/new",
        "/in-tray",
        "/guide",
        "/guide?q=polariser",
        "/demo",
        "/devices",
        "/worksheets",
        "/worksheets/source-illuminance",
        f"{shot}/plan",
        f"{shot}/strike",
        f"{frame}/plan",
        f"{shot}/plan/suggestions?light=A&want=light&amount=1",
        f"{shot}/remix",
        "/recipes",
        f"{frame}/recipe",
        recipe,
        f"{recipe}/adapt",
        f"{recipe}/sheet",
        f"{shot}/contact-sheet",
        f"{recipe}/reshoot",
        f"{again}/checklist",
    ):
        assert address is not None
        desk.open(address)
        assert violations(desk) == [], address


@needs_axe
@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_the_page_for_shooting_passes_axe_in_each_state(
    open_desk: Callable[..., Desk], theme: str, viewport: dict[str, int], tmp_path: Path
) -> None:
    desk = open_desk(viewport, theme=theme)
    page = begin(desk)
    page.locator('input[type="file"]').set_input_files(card(tmp_path / "a1.jpg", 0.0, 8, minute=1))
    expect(page.locator(".stage img")).to_be_visible()
    log(page, 2)
    kept_on_the_device(page)
    states: dict[str, list[str]] = {"with a picture": violations(desk)}
    set_dial(page, "f-number", "45")
    expect(page.locator(".one-sentence .problem")).to_be_visible()
    states["refused"] = violations(desk)
    page.locator(".menu > summary").click()
    states["menu"] = violations(desk)
    page.keyboard.press("Escape")
    page.keyboard.press("?")
    states["keys"] = violations(desk)
    page.keyboard.press("Escape")
    page.keyboard.press("p")
    states["hidden"] = violations(desk)
    page.keyboard.press("p")
    from_the_menu(page, "Ambient check")
    states["ambient check"] = violations(desk)
    page.context.set_offline(True)
    page.locator(".log .key").click()
    page.get_by_role("button", name="f-number: smaller").click()
    page.get_by_role("button", name="Hero").click()
    expect(page.locator("[data-saved]")).to_contain_text("1 frame and 2 changes not saved yet")
    states["out of reach"] = violations(desk)
    page.reload()
    expect(page.locator("[data-saved]")).to_contain_text("from this device")
    states["from the device"] = violations(desk)
    page.context.set_offline(False)

    assert {state: found for state, found in states.items() if found} == {}
    expect(page.locator("[data-saved]")).to_contain_text("saved ")
    desk.errors.clear()


def test_controls_of_the_desk_are_large_enough_for_a_thumb(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk(PHONE)
    page = begin(desk)

    small = page.evaluate(
        """() => [...document.querySelectorAll("main button, main select, main input:not([type=hidden]):not([type=file]), main summary, .bar a")]
            .filter(each => each.checkVisibility() && !each.classList.contains("unseen"))
            .map(each => [each.outerHTML.slice(0, 80), each.getBoundingClientRect()])
            .filter(([, box]) => box.width && (box.height < 44 || box.width < 44))
            .map(([html]) => html)"""
    )
    assert small == []


def test_no_page_asks_another_host_for_anything(desk: Desk) -> None:
    asked: list[str] = []
    desk.page.on("request", lambda request: asked.append(request.url))

    page = begin(desk)
    log(page, 1)
    desk.open("/kit")

    assert [url for url in asked if not url.startswith((desk.url, "data:"))] == []


def test_the_desk_is_worked_by_keyboard_alone(desk: Desk) -> None:
    page = begin(desk)

    page.get_by_label("f-number", exact=True).focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("16")
    page.keyboard.press("Enter")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/16")
    stepper = page.get_by_role("button", name="f-number: smaller")
    stepper.focus()
    page.keyboard.press("Space")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/18")
    key = page.locator(".log .key")
    key.focus()
    page.keyboard.press("Enter")
    page.locator('tr[data-number="1"]').wait_for()

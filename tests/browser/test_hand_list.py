"""What axe cannot see, on the pages for finding, entering and reading: focus, faults, names, targets, zoom, colours."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import PHONE, Desk, Server
from tests.browser.story import begin

PAGES = ("/", "/kit", "/kit/lights/new", "/recipes", "/recipes/vocabulary", "/guide", "/in-tray", "/devices", "/demo")
# On a machine that is slow enough the browser paints half a page, and the next line of a text moves the last word:
# what counts is what moves after the page has been read to its end (pictures, fonts, scripts, the news).
SHIFTS = """
window.shifts = [];
const watched = new PerformanceObserver(list => {
  for (const each of list.getEntries()) window.shifts.push(each.sources.map(source => source.node?.outerHTML?.slice(0, 90)).join());
});
addEventListener("DOMContentLoaded", () => requestAnimationFrame(() => setTimeout(() => watched.observe({type: "layout-shift"}))));
"""
ZOOMED = {"width": 320, "height": 256}
"""1280 × 1024 at 400 %."""
LEAST_TARGET_PX = 44
MOST_TABS = 12
MOST_BYTES = 100_000

SMALL = """least => [...document.querySelectorAll("main :is(button, select, summary, input:not([type=hidden])), header :is(a, summary, button)")]
  .filter(each => each.checkVisibility() && !each.classList.contains("unseen") && !each.closest(".unseen"))
  .map(each => [each.matches("[type=checkbox], [type=radio]") ? each.closest("label") : each])
  .filter(([each]) => { const box = each.getBoundingClientRect(); return box.width && box.height < least; })
  .map(([each]) => each.outerHTML.slice(0, 90))"""

# Two that are called alike have to lead to the same.
ALIKE = """() => {
  const seen = {}, alike = [];
  for (const each of document.querySelectorAll("main a[href], main button")) {
    if (!each.checkVisibility() || each.closest("[aria-hidden=true]")) continue;
    const name = each.getAttribute("aria-label") || each.querySelector("img")?.alt || each.textContent.trim().replace(/\\s+/g, " ");
    const form = each.form ? each.form.getAttribute("action") + "|" + (each.value ?? "") : "";
    const leads = each.getAttribute("href") ?? form;
    if (name in seen && seen[name] !== leads) alike.push(`${name}: ${seen[name]} and ${leads}`);
    seen[name] = leads;
  }
  return alike;
}"""

BARE = """() => [...document.querySelectorAll("main :is(.key, .outline, input:not([type=hidden]):not([type=checkbox]):not([type=radio]), select)")]
  .filter(each => each.checkVisibility())
  .filter(each => { const style = getComputedStyle(each); return parseFloat(style.borderTopWidth) < 1 || style.borderTopStyle === "none"; })
  .map(each => each.outerHTML.slice(0, 90))"""

# What is wider than the window, and where the first content stands that is below it.
CUT_OFF = """() => {
  const wide = [...document.querySelectorAll("body *")].filter(each => each.checkVisibility() && each.getBoundingClientRect().right > innerWidth + 1
    && !each.closest(".scroll, .unseen, svg")).slice(0, 3).map(each => "too wide: " + each.outerHTML.slice(0, 90));
  const first = [...document.querySelectorAll("main :is(h1, h2, p, form), header h1")].find(each => each.checkVisibility() && !each.classList.contains("unseen"));
  const low = first.getBoundingClientRect().top + 24 >= innerHeight ? ["too low: " + first.outerHTML.slice(0, 90)] : [];
  return document.documentElement.scrollWidth > innerWidth ? [...wide, ...low] : low;
}"""

FOCUS = "() => document.activeElement === document.body ? '' : document.activeElement.id || document.activeElement.tagName"


def focused(page: Page) -> str:
    found: str = page.evaluate(FOCUS)
    return found


def test_targets_are_large_names_differ_and_nothing_shifts(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk(PHONE)
    page = desk.page
    page.add_init_script(SHIFTS)
    begin(desk)
    found = {}
    for address in PAGES:
        desk.open(address)
        page.wait_for_timeout(200)
        found[address] = (
            page.evaluate(SMALL, LEAST_TARGET_PX),
            page.evaluate(ALIKE),
            page.evaluate("() => window.shifts"),
        )

    assert {address: each for address, each in found.items() if each != ([], [], [])} == {}

    page.evaluate(
        "document.querySelector('main').prepend(Object.assign(document.createElement('p'), {textContent: 'late'}))"
    )
    page.wait_for_function("window.shifts.length > 0")


def test_at_four_hundred_per_cent_the_first_screen_has_content_and_nothing_is_cut_off(
    open_desk: Callable[..., Desk],
) -> None:
    desk = open_desk(ZOOMED)
    for address in PAGES:
        desk.open(address)
        first = (
            desk.page.locator("main :is(h1, h2, p, form):not(.unseen)").locator("visible=true").first.bounding_box()
        )
        wide = desk.page.evaluate("() => document.documentElement.scrollWidth")

        assert first is not None, address
        assert first["y"] + 24 < ZOOMED["height"], address
        assert wide <= ZOOMED["width"], address


def pages_with_content(page: Page, url: str) -> list[str]:
    """Pages of the demo that have something on them, under a link too, by their addresses."""
    ask = page.context.request
    recipe = "/recipes/" + ask.get(f"{url}/api/v1/recipes?q=bottle").json()["recipes"][0]["id"]
    made = ask.post(f"{url}/api/v1{recipe}/links", data={"reader": "student"}).json()
    camera = ask.get(f"{url}/api/v1/kit/cameras").json()[0]["id"]
    return [
        recipe,
        f"{recipe}/versions/1",
        f"{recipe}/rewrite",
        f"{recipe}/reshoot",
        f"{recipe}/adapt?camera={camera}&lens=best&head_C=best&head_D=best",
        f"{recipe}/sheet",
        f"{recipe}/delete-for-good",
        "/recipes?q=bottle",
        "/recipes?q=bottle+without+glass+more+than+nine+lights",
        "/recipes/no-such-recipe",
        "/kit",
        f"/kit/cameras/{camera}",
        "/worksheets",
        "/worksheets/close-up?from=examples",
        "/worksheets/shadow?from=examples",
        made["path"],
        f"{made['path']}/kit",
        f"{made['path']}/worksheets",
        f"{made['path']}/worksheets/close-up?f_number=f%2F11&magnification=1",
    ]


def pages_of_a_shoot(page: Page, url: str) -> list[str]:
    """The pages of the demo's shoots, by their addresses."""

    def asked(address: str) -> Any:
        return page.context.request.get(f"{url}/api/v1{address}").json()

    found = []
    for session in asked("/sessions"):
        for shot in asked(f"/sessions/{session['id']}/shots"):
            if shot["title"] not in ("Scent bottle", "Balance cock at 1.2"):
                continue
            frames = sorted(asked(f"/shots/{shot['id']}/frames")["frames"], key=lambda each: int(each["number"]))
            (first, second), newest = frames[:2], frames[-1]
            of_session, of_shot, frame = (
                f"/sessions/{session['id']}",
                f"/shots/{shot['id']}",
                f"/frames/{newest['id']}",
            )
            found += [of_session, f"{of_session}/as-followed", of_shot, frame, f"/frames/{first['id']}"]
            found += [f"{frame}/compare/{second['id']}", f"{frame}/compare/{second['id']}/sharpness"]
            found += [
                f"{of_shot}/{each}" for each in ("set-up", "balance", "brief", "strike", "photos", "contact-sheet")
            ]
            found += [f"{of_shot}/remix"]
    return ["/", *found]


def test_pages_with_content_keep_to_the_list_too(browser: Browser, demo_house: Server) -> None:
    """Targets, names and shifts on a phone; then at 400 per cent, in forced colours: nothing is cut off or bare."""
    phone = browser.new_context(viewport=PHONE, reduced_motion="reduce")  # type: ignore[arg-type]
    page = phone.new_page()
    page.add_init_script(SHIFTS)
    found: dict[str, list[object]] = {}
    addresses = pages_with_content(page, demo_house.url) + pages_of_a_shoot(page, demo_house.url)
    for address in addresses:
        page.goto(demo_house.url + address)
        page.wait_for_timeout(150)
        found[address] = [
            *page.evaluate(SMALL, LEAST_TARGET_PX),
            *page.evaluate(ALIKE),
            *page.evaluate("() => window.shifts"),
        ]
    phone.close()
    zoomed = browser.new_context(viewport=ZOOMED, forced_colors="active", reduced_motion="reduce")  # type: ignore[arg-type]
    page = zoomed.new_page()
    for address in addresses:
        page.goto(demo_house.url + address)
        found[address] += page.evaluate(BARE)
        found[address] += page.evaluate(CUT_OFF)
    zoomed.close()
    page = browser.new_page()
    page.goto(f"{demo_house.url}/recipes?q=relief")
    page.goto(demo_house.url + (page.locator(".found a").first.get_attribute("href") or ""))
    tabs_to(page, "Reshoot")
    page.close()

    assert {address: each for address, each in found.items() if each} == {}


def test_the_main_key_is_a_few_tabs_away(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk()
    begin(desk)
    for address, key in (("/", "Go on with"), ("/recipes", "Find"), ("/demo", "Look at the demo")):
        desk.open(address)
        tabs_to(desk.page, key)


def tabs_to(page: Page, key: str) -> None:
    """Press Tab until the key has the focus."""
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        if page.evaluate("() => document.activeElement.textContent").strip().startswith(key):
            return
    pytest.fail(f"{page.url}: {key} is more than {MOST_TABS} tabs away")


def test_a_field_at_fault_has_the_focus_and_tells_what_is_wrong(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk()
    desk.open("/kit/lights/new")
    page = desk.page
    page.get_by_label("name", exact=True).fill("my head")
    page.get_by_label("full energy").fill("much")
    page.get_by_role("button", name="Save").click()

    field = page.get_by_label("full energy")
    expect(field).to_be_focused()
    expect(field).to_have_attribute("aria-invalid", "true")
    told = page.evaluate(
        "() => document.activeElement.getAttribute('aria-describedby').split(' ').map(each => document.getElementById(each).textContent)"
    )
    assert told[0] == "J"
    assert len(told) == 3
    assert all(told)

    # What a ring has is asked for of a ring, and of a dial by numbers what that has.
    expect(page.get_by_label("outer diameter")).to_be_hidden()
    page.get_by_label("form", exact=True).select_option("ring")
    expect(page.get_by_label("outer diameter")).to_be_visible()
    expect(page.get_by_label("full-power number")).to_be_hidden()
    page.get_by_label("power marks").select_option("numbered")
    expect(page.get_by_label("full-power number")).to_be_visible()


def test_the_focus_stays_where_a_part_of_the_page_was_exchanged_and_what_came_is_announced(
    open_desk: Callable[..., Desk],
) -> None:
    desk = open_desk()
    desk.open("/recipes/vocabulary")
    page = desk.ready
    page.locator("a.chip").first.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_label("keyword", exact=True)).to_be_focused()
    page.get_by_role("link", name="Close", exact=True).focus()
    page.keyboard.press("Enter")
    expect(page.locator(".edit")).to_have_count(0)
    assert focused(page).startswith("keyword-")

    desk.open("/recipes")
    box = desk.ready.get_by_label("What are you looking for?")
    with page.expect_response("**/recipes?q=glass*"):
        box.fill("glass")
    expect(page.locator("#recipe-results [role=status]")).to_have_text("0 recipes found")
    expect(page.get_by_text("No recipe answers that.")).to_be_visible()
    expect(box).to_be_focused()

    for address, field, region in (
        ("/guide", "Search the guide", "#guide [role=status]"),
        ("/recipes/vocabulary", "Filter the keywords", "#keywords [role=status]"),
    ):
        desk.open(address)
        box = desk.ready.get_by_label(field)
        before = page.locator(region).text_content()
        box.fill("glass")
        expect(page.locator(region)).not_to_have_text(before or "nothing yet")
        expect(box).to_be_focused()


def test_an_arrow_key_steps_a_value_as_the_keys_beside_it_do(desk: Desk) -> None:
    desk.open("/worksheets/close-up?f_number=f/11&magnification=1")
    page = desk.ready
    value = page.get_by_label("f-number", exact=True)
    value.focus()

    for key in ("ArrowUp", "ArrowUp", "ArrowUp", "ArrowDown"):
        page.keyboard.press(key)

    expect(value).to_have_value("f/9")
    expect(page.locator("[data-announcer]")).to_have_text("f-number f/9")
    expect(value).to_be_focused()
    expect(page).to_have_url(re.compile("f_number=f%2F9"))


def test_keys_and_fields_keep_their_borders_in_forced_colours_and_nothing_moves(desk: Desk) -> None:
    page = desk.page
    page.emulate_media(forced_colors="active", reduced_motion="reduce")
    for address in PAGES:
        desk.open(address)
        bare = page.evaluate(BARE)
        assert bare == [], address
        assert page.evaluate("() => document.getAnimations().length") == 0, address
    desk.open("/kit")
    here = page.locator(".ways > [aria-current]")
    assert here.first.evaluate("each => getComputedStyle(each).borderBottomStyle") == "solid"


def test_the_first_page_is_light(desk: Desk) -> None:
    sent: list[int] = []
    desk.page.on("requestfinished", lambda request: sent.append(request.sizes()["responseBodySize"]))

    desk.open("/")
    desk.page.wait_for_load_state("networkidle")

    assert 0 < sum(sent) < MOST_BYTES

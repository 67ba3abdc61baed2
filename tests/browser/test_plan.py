"""The plan in a browser: a light dragged, taken back, moved by keys alone; news from another page; and A4."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import Desk
from tests.browser.story import add_light, balance, begin, log
from tests.pdfs import bars_mm

A4_WITHIN_MARGINS_PX = (703, 1031)
"""186 × 273 mm at 96 to the inch."""


def _two_lights(desk: Desk) -> Page:
    """A key and a fill of one metered head, each 100 cm away, before a background; frame 1 is logged."""
    page = begin(desk)
    head = page.request.get(f"{desk.url}/api/v1/kit/lights").json()[0]["id"]
    reading = {"f_number": "22", "power": "full", "distance_mm": 1000}
    page.request.post(f"{desk.url}/api/v1/kit/lights/{head}/meter-readings", data=reading)
    add_light(page, 2, head)
    page.get_by_role("link", name="Plan", exact=True).click()
    for letter, bearing in (("key A", "45 left"), ("fill B", "50 right")):
        sheet = page.locator(f'details[id$="lights-{letter[-1]}"]')
        sheet.locator("summary").first.click()
        sheet.get_by_label("distance").fill("100 cm")
        sheet.get_by_label("bearing").fill(bearing)
        sheet.get_by_label("height above").fill("20")
        sheet.get_by_role("button", name=f"Place {letter}", exact=True).click()
        side = "left" if "left" in bearing else "right"
        expect(page.locator(".places")).to_contain_text(re.compile(rf"100 cm from the subject, \d+° {side}"))
    page.get_by_role("button", name=re.compile("B: the tape says 100 cm")).click()
    expect(page.locator('details[id$="lights-B"] > summary')).to_contain_text("taped")
    # A set without a thing on it has the list of things open.
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator('details[id$="things-subject"]')).to_be_visible()
    page.locator("select[name=kind]").select_option("background")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator('details[id$="things-background"]')).to_be_visible()
    page.get_by_role("link", name="Back to the set").click()
    log(page, 1)
    page.get_by_role("link", name="Plan", exact=True).click()
    expect(page.get_by_role("heading", name="The light on the subject")).to_be_visible()
    return page


def _words_of(page: Page, letter: str) -> str:
    return page.locator(f'details[id$="lights-{letter}"] > summary').inner_text()


def _distance_of(page: Page, letter: str) -> float:
    found = re.search(r"([\d.]+) cm, ", _words_of(page, letter))
    assert found is not None
    return float(found.group(1))


def _follows(page: Page) -> dict[str, str]:
    """Ratio and shadow of B as they are told."""
    ratio = page.locator(".follows tr", has_text="key A less fill B").inner_text()
    shadows = page.locator('details[id^="fold-shadows"]')
    if shadows.get_attribute("open") is None:
        shadows.locator("summary").first.click()
    # The shadows follow the rest.
    expect(page.locator(".shadows table")).to_be_visible()
    return {"ratio": ratio, "shadow": "\n".join(page.locator(".shadows tr", has_text="of B").all_inner_texts())}


def _middle(page: Page, letter: str) -> tuple[float, float]:
    stand = page.locator(f"#plan-stand-lights-{letter}")
    stand.scroll_into_view_if_needed()
    box = stand.locator("circle").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def _drag(page: Page, letter: str, x: float, y: float) -> None:
    at = _middle(page, letter)
    page.mouse.move(*at)
    page.mouse.down()
    page.mouse.move(at[0] + x, at[1] + y, steps=6)
    page.mouse.up()


def _way_back(page: Page) -> Locator:
    return page.get_by_role("button", name="Put B back")


def _everything_of_b_changed_and_comes_back(desk: Desk, before: dict[str, str]) -> None:
    """Distance, ratio, shadow and the ledger's entry; then the way back, after the page was loaded anew."""
    page = desk.page
    expect(_way_back(page)).to_be_visible()
    assert "planned" in _words_of(page, "B")
    nearer = _distance_of(page, "B")
    assert nearer < 95.0
    after = _follows(page)
    assert after["ratio"] != before["ratio"]
    assert after["shadow"] != before["shadow"]
    page.get_by_role("link", name="Back to the set").click()
    expect(page.locator(".light").nth(1)).to_contain_text(f"{nearer:g} cm")
    assert float(balance(page, "B").replace("−", "-")) > 0.0
    assert balance(page, "A") == "0.0"
    page.get_by_role("link", name="Plan", exact=True).click()
    page.reload()
    _way_back(page).focus()
    page.keyboard.press("Enter")
    expect(page.locator(".places")).to_contain_text(re.compile("100 cm from the subject, 50° right, .* taped"))
    assert _follows(page) == before
    page.get_by_role("link", name="Back to the set").click()
    assert balance(page, "B") == "0.0"


def test_dragging_b_nearer_changes_distance_entry_ratio_and_shadow_and_is_taken_back(desk: Desk) -> None:
    page = _two_lights(desk)
    loads, before = desk.loads, _follows(page)

    _drag(page, "B", -40, -30)

    expect(_way_back(page)).to_be_visible()
    assert desk.loads == loads, "the move is partial"
    _everything_of_b_changed_and_comes_back(desk, before)


def test_the_same_by_the_keyboard_alone(desk: Desk) -> None:
    page = _two_lights(desk)
    before = _follows(page)

    page.locator("#plan-stand-lights-B").focus()
    for _ in range(2):
        page.keyboard.press("Shift+ArrowLeft")

    expect(_way_back(page)).to_be_visible()
    expect(page.locator("#plan-stand-lights-B")).to_be_focused()
    _everything_of_b_changed_and_comes_back(desk, before)


def test_drags_in_quick_succession_are_all_kept_and_the_workings_stay_open(desk: Desk) -> None:
    page = _two_lights(desk)
    opened, every = (page.locator(f'.follows details[id*="workings"]{state}') for state in ("[open]", ""))
    page.get_by_text("All workings").click()
    expect(opened).to_have_count(every.count())

    _drag(page, "B", -20, 0)
    _drag(page, "A", 20, 0)
    _drag(page, "B", -20, 0)

    expect(_way_back(page)).to_be_visible()
    expect(page.get_by_role("alert")).to_have_count(0)
    expect(opened).to_have_count(every.count())
    page.reload()
    assert _distance_of(page, "B") < 97.0
    assert _distance_of(page, "A") < 99.0


def test_what_is_moved_elsewhere_shows_without_a_reload(open_desk: Callable[..., Desk]) -> None:
    desk, other = open_desk(), open_desk()
    page = _two_lights(desk)
    desk.hears_the_news()
    loads = desk.loads
    other.page.goto(page.url)

    _drag(other.page, "B", -40, -30)

    expect(page.locator(".places")).not_to_contain_text("100 cm from the subject, 50° right")
    expect(_way_back(page)).to_be_visible()
    assert _distance_of(page, "B") == _distance_of(other.page, "B")
    assert desk.loads == loads


def test_news_waits_while_something_is_dragged_and_a_late_drag_overwrites_nothing(
    open_desk: Callable[..., Desk],
) -> None:
    desk, other = open_desk(), open_desk()
    page = _two_lights(desk)
    desk.hears_the_news()
    at = _middle(page, "B")
    page.mouse.move(*at)
    page.mouse.down()
    page.mouse.move(at[0] - 10, at[1], steps=3)

    other.page.goto(page.url)
    _drag(other.page, "B", -40, -30)
    expect(_way_back(other.page)).to_be_visible()
    moved = _words_of(other.page, "B")
    page.mouse.move(at[0] - 60, at[1] - 10, steps=3)
    assert page.locator("#plan-stand-lights-B.held").count() == 1, "the hand still holds it"
    page.mouse.up()

    expect(page.get_by_role("alert")).to_contain_text("Another page of yours changed position of B")
    assert _words_of(page, "B") == moved
    page.get_by_role("button", name="Put B there all the same").click()
    expect(page.get_by_role("alert")).to_have_count(0)
    assert _words_of(page, "B") != moved


def test_a_form_that_is_being_filled_in_keeps_what_was_typed(open_desk: Callable[..., Desk]) -> None:
    desk, other = open_desk(), open_desk()
    page = _two_lights(desk)
    desk.hears_the_news()
    sheet = page.locator('details[id$="lights-B"]')
    sheet.locator("summary").first.click()
    sheet.get_by_label("distance").fill("77 cm")
    other.page.goto(page.url)

    _drag(other.page, "B", -40, -30)

    expect(page.get_by_text("Something was changed elsewhere.")).to_be_visible()
    expect(sheet.get_by_label("distance")).to_have_value("77 cm")
    sheet.get_by_role("button", name="Place fill B", exact=True).click()
    expect(page.get_by_role("alert").first).to_contain_text("Another page of yours changed position of B")
    expect(sheet.get_by_label("distance")).to_have_value("77 cm")


@pytest.mark.parametrize("lights", [2, 6])
def test_the_plan_prints_on_a4_with_nothing_cut_off(
    open_desk: Callable[..., Desk], tmp_path: Path, lights: int
) -> None:
    page = _two_lights(open_desk())
    shot = page.url.partition("/shots/")[2].partition("/")[0]
    api = f"{page.url.partition('/shots/')[0]}/api/v1"
    head = page.request.get(f"{api}/kit/lights").json()[0]["id"]
    for _ in range(lights - 2):
        page.request.post(f"{api}/shots/{shot}/lights", data={"head_id": head})
    for at, letter in enumerate("CDEF"[: lights - 2]):
        place = {"distance_mm": 1500, "bearing_deg": 150 - 40 * at, "height_mm": 900}
        page.request.put(f"{api}/shots/{shot}/plan/lights/{letter}", data=place)
    page.reload()
    width, height = A4_WITHIN_MARGINS_PX

    pdf = page.pdf(path=tmp_path / "plan.pdf", format="A4")
    page.set_viewport_size({"width": width, "height": height})
    page.emulate_media(media="print")
    drawing = page.locator(".on-paper .plan-drawing").bounding_box()

    assert drawing is not None
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert drawing["height"] + drawing["y"] <= height, "the drawing with its title stands on the first page"
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) in (2, 3, 4)
    # A scale rule fits: the bar, measured in the PDF, against the scale that the strip states.
    strip = page.locator(".on-paper .plan-drawing").text_content() or ""
    stated, bar_cm = re.search(r"scale 1 : (\d+)", strip), re.search(r"(\d+) cm$", strip)
    assert stated is not None
    assert bar_cm is not None
    (bar,) = bars_mm(pdf)
    assert bar * float(stated[1]) == pytest.approx(10.0 * float(bar_cm[1]), rel=0.005)

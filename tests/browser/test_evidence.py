"""The picture testifies: the log says what was set, the file says what happened."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.cards import card
from tests.browser.conftest import PHONE, Desk
from tests.browser.story import add_light, begin, from_the_menu, press_away, set_dial


def drop(page: Page, file: Path, number: int) -> None:
    """Drop a picture on the page, and wait until it is read."""
    page.locator('input[type="file"]').set_input_files(file)
    row = page.locator(f'tr[data-number="{number}"]')
    expect(row.locator(".read")).not_to_have_text("–")


def reference_at_5_6(page: Page, folder: Path) -> None:
    set_dial(page, "f-number", "f/5.6")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/5.6")
    set_dial(page, "power of A", "6.25 J")
    expect(page.get_by_label("power of A", exact=True)).to_have_value("6.25 J")
    drop(page, card(folder / "a1.jpg", 0.0, 5.6, minute=1), 1)


def test_an_answer_that_comes_after_the_news_does_not_put_the_line_back(desk: Desk, tmp_path: Path) -> None:
    # A file goes out by XMLHttpRequest, which tells how far it is.
    desk.page.add_init_script(
        """const heard = XMLHttpRequest.prototype.addEventListener;
        XMLHttpRequest.prototype.addEventListener = function (name, what) {
          const late = async (event) => { await new Promise((go) => { window.letGo = go; }); what.call(this, event); };
          heard.call(this, name, name === "load" ? late : what);
        };"""
    )
    page = begin(desk)

    drop(page, card(tmp_path / "a1.jpg", 0.0, 8, minute=1), 1)
    row = page.locator('tr[data-number="1"]')
    was_read = row.locator(".read").inner_text()
    page.wait_for_function("window.letGo !== undefined")
    page.evaluate("document.addEventListener('htmx:finally:request', () => { window.answered = true; })")
    page.evaluate("window.letGo()")
    page.wait_for_function("window.answered")

    expect(row.locator(".read")).to_have_text(was_read)


def open_frame(page: Page, number: int) -> None:
    page.locator(f'tr[data-number="{number}"]').get_by_role("link", name=f"Frame {number}", exact=True).click()
    expect(page.get_by_role("heading", name="Levels")).to_be_visible()


def press_open(page: Page, name: str) -> None:
    """What lies one press away on the page of a frame."""
    page.locator("main summary", has_text=name).click()


def test_a_head_one_stop_off_its_log_is_named_by_its_mark_and_put_right_by_one_press(
    desk: Desk, tmp_path: Path
) -> None:
    page = begin(desk)
    reference_at_5_6(page, tmp_path)
    set_dial(page, "f-number", "11")
    set_dial(page, "power of A", "25 J")
    expect(page.get_by_label("power of A", exact=True)).to_have_value("25 J")

    # Two stops closed, two stops given by the log; the head stood at 50 J.
    drop(page, card(tmp_path / "a2.jpg", 1.0, 11, minute=2), 2)

    row = page.locator('tr[data-number="2"]')
    expect(row.locator(".read")).to_have_text("+1.0")
    expect(row.locator(".unexplained")).to_have_text("+1.0")
    open_frame(page, 2)
    expect(page.locator(".verdict")).to_contain_text("+1.0 at middle is unexplained")
    first = page.locator(".explanations li").first
    expect(first).to_contain_text("A stood at 50 J")
    expect(first).to_contain_text("Ten marks up on the dial of key A, 50 J for 25 J, makes +1.0.")
    page.get_by_role("button", name="Take into the frame: A stood at 50 J").click()
    expect(page.locator(".verdict")).to_contain_text("reads as the ledger says")
    expect(page.get_by_label("A power")).to_have_value("50 J")
    expect(page.locator("main")).to_contain_text("explained by the picture (A stood at 50 J)")


def test_within_the_tolerance_nothing_is_said(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    reference_at_5_6(page, tmp_path)
    set_dial(page, "f-number", "8")

    drop(page, card(tmp_path / "a2.jpg", -0.9, 8, minute=2), 2)

    expect(page.locator('tr[data-number="2"] .unexplained')).to_have_text("+0.1")
    open_frame(page, 2)
    expect(page.locator(".verdict")).to_contain_text("within the tolerance")
    expect(page.locator(".explanations")).to_have_count(0)


def draw_patch(page: Page, name: str, left: str, top: str, width: str, height: str) -> None:
    press_open(page, "Patches")
    form = page.locator("[data-patch-form]")
    for field, value in (("name", name), ("x", left), ("y", top), ("width", width), ("height", height)):
        form.locator(f'[name="{field}"]').fill(value)
    # The news may bring the line before the answer draws the page anew, which empties the form.
    with page.expect_event("load"):
        form.get_by_role("button", name="Save the patch").click()
    expect(page.locator(".readings tbody th", has_text=name)).to_have_count(1)


def two_lights_with_measured_shares(page: Page, folder: Path) -> str:
    """Key A on the left half, fill B on the right; a patch on each, and a frame lit by each alone."""
    add_light(page, 2)
    for letter in "AB":
        dial = page.get_by_label(f"power of {letter}", exact=True)
        dial.fill("25 J")
        dial.press("Enter")
        expect(dial).to_have_value("25 J")
    # A gives the left half 0.75 of its light and the right half 0.25, B the other way round.
    three_quarters, quarter = math.log2(0.75), math.log2(0.25)
    drop(page, card(folder / "b1.jpg", 0.0, 8, minute=1, right_stops=0.0), 1)
    shot = page.url
    open_frame(page, 1)
    draw_patch(page, "left card", "10", "30", "20", "40")
    draw_patch(page, "right card", "70", "30", "20", "40")
    expect(page.locator(".readings tbody tr").nth(1).locator("td").nth(1)).not_to_have_text("–")
    page.goto(shot)
    page.get_by_role("button", name="fill B is lit, switch it off").click()
    drop(page, card(folder / "b2.jpg", three_quarters, 8, minute=2, right_stops=quarter), 2)
    page.get_by_role("button", name="fill B is off, switch it on").click()
    page.get_by_role("button", name="key A is lit, switch it off").click()
    drop(page, card(folder / "b3.jpg", quarter, 8, minute=3, right_stops=three_quarters), 3)
    page.get_by_role("button", name="key A is off, switch it on").click()
    expect(page.locator(".light.off")).to_have_count(0)
    return shot


def test_two_causes_at_once_are_told_apart_by_two_patches(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    two_lights_with_measured_shares(page, tmp_path)

    # Written down: nothing changed. Really A stood one stop higher and B two stops lower.
    left = math.log2(0.75 * 2 + 0.25 * 0.25)
    right = math.log2(0.25 * 2 + 0.75 * 0.25)
    drop(page, card(tmp_path / "b4.jpg", left, 8, minute=4, right_stops=right), 4)

    open_frame(page, 4)
    first = page.locator(".explanations li").first
    expect(first).to_contain_text("A stood at 50 J, and B stood at 6.25 J")


def test_measured_shares_give_a_total_and_a_ratio_that_can_be_aimed_at(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    two_lights_with_measured_shares(page, tmp_path)
    loads = desk.loads

    set_dial(page, "power of A", "50 J")

    press_away(page, "Balance and working")
    # Key up by one: 0.75 × 2 + 0.25 is 1.75, which is +0.8; key to fill at the left card 6:1.
    expect(page.locator(".balance")).to_contain_text("Total at left card +0.8")
    expect(page.locator(".balance")).to_contain_text("6 : 1 as key : fill, 7 : 1 as (key + fill) : fill")
    page.get_by_label("aim at").fill("3:1")
    page.get_by_role("button", name="Set the fill").click()
    expect(page.locator(".one-sentence")).to_contain_text("for 3:1 at left card")
    expect(page.locator(".balance")).to_contain_text("3 : 1 as key : fill")
    expect(page.get_by_label("power of A", exact=True)).to_have_value("50 J")
    page.get_by_label("aim at").fill("1000:1")
    page.get_by_role("button", name="Set the fill").click()
    expect(page.locator(".balance .problem")).to_contain_text("lowest mark")
    assert desk.loads == loads


def check_ambient(page: Page, file: Path, number: int) -> None:
    from_the_menu(page, "Ambient check")
    expect(page.get_by_label("shutter", exact=True)).to_have_value("1 s")
    drop(page, file, number)


def test_a_leak_at_one_second_gives_a_margin_that_falls_when_the_aperture_is_opened(
    desk: Desk, tmp_path: Path
) -> None:
    page = begin(desk)
    set_dial(page, "f-number", "11")
    drop(page, card(tmp_path / "a1.jpg", 0.0, 11, minute=1), 1)
    expect(page.locator(".proof")).to_contain_text("Ambient not proven yet")

    # At 1 s one stop under mid-tone: seven stops of time and one more.
    check_ambient(page, card(tmp_path / "a2.jpg", -1.0, 11, time=Fraction(1), minute=2), 2)

    expect(page.locator(".proof > a")).to_have_text("Ambient proven 8.0 stops below · still holds")
    loads = desk.loads
    set_dial(page, "f-number", "22")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/22")
    expect(page.locator(".proof > a")).to_have_text("Ambient proven 8.0 stops below · still holds")
    set_dial(page, "f-number", "5.6")
    expect(page.locator(".proof > a")).to_have_text("Ambient proven 8.0 stops below · falls to 6.0: prove it again")
    page.locator(".light .who").click()
    page.get_by_role("button", name="modelling lamp off").click()
    expect(page.locator(".proof > a")).to_have_text(
        "Ambient proven 8.0 stops below · void: modelling lamp of A is on now"
    )
    assert desk.loads == loads
    page.locator(".proof a").click()
    expect(page.locator(".proof-lines")).to_contain_text(re.compile(r"a shadow five stops down by \+0\.(5[89]|60)"))


def test_a_dark_frame_proves_a_bound(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    drop(page, card(tmp_path / "a1.jpg", 0.0, 8, minute=1), 1)

    check_ambient(page, card(tmp_path / "a2.jpg", -30.0, 8, time=Fraction(1), minute=2), 2)

    expect(page.locator(".proof")).to_contain_text("Ambient proven at least")
    expect(page.locator('tr[data-number="2"] .read')).to_contain_text("<")


def test_a_second_page_hears_of_the_reading_and_of_the_proof(open_desk: Callable[..., Desk], tmp_path: Path) -> None:
    first = open_desk()
    page = begin(first)
    second = open_desk()
    second.page.goto(page.url)
    expect(second.page.get_by_label("f-number", exact=True)).to_have_value("f/8")
    second.hears_the_news()
    loads = second.loads

    drop(page, card(tmp_path / "a1.jpg", 0.5, 8, minute=1), 1)
    check_ambient(page, card(tmp_path / "a2.jpg", -1.0, 8, time=Fraction(1), minute=2), 2)

    expect(second.page.locator('tr[data-number="1"] .read')).to_have_text("+0.5")
    expect(second.page.locator(".proof")).to_contain_text("8.0 stops below · still holds")
    assert second.loads == loads


def test_a_patch_is_drawn_with_the_mouse_and_read_in_every_frame(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    drop(page, card(tmp_path / "a1.jpg", 0.0, 8, minute=1, right_stops=1.0), 1)
    drop(page, card(tmp_path / "a2.jpg", 0.0, 8, minute=2, right_stops=2.0), 2)
    shot = page.url
    open_frame(page, 2)
    page.get_by_role("button", name="Draw a patch").click()
    box = page.locator("[data-easel]").bounding_box()
    assert box is not None

    page.mouse.move(box["x"] + 0.6 * box["width"], box["y"] + 0.3 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.9 * box["width"], box["y"] + 0.7 * box["height"], steps=4)
    page.mouse.up()
    form = page.locator("[data-patch-form]")
    expect(form.locator('[name="x"]')).to_have_value("60")
    form.locator('[name="name"]').fill("rim")
    form.locator('[name="wanted_stops"]').fill("+2")
    form.get_by_role("button", name="Save the patch").click()

    expect(page.locator(".easel text")).to_have_text("rim")
    expect(page.locator(".readings tbody td").nth(1)).to_have_text("+2.0")
    page.goto(shot)
    expect(page.locator('tr[data-number="1"] .read')).to_have_text("+1.0")


def test_a_patch_is_drawn_with_the_keyboard(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    drop(page, card(tmp_path / "a1.jpg", 0.0, 8, minute=1), 1)
    open_frame(page, 1)

    page.get_by_role("button", name="Draw a patch").press("Enter")
    for key in ("ArrowRight", "ArrowRight", "ArrowDown", "Shift+ArrowRight"):
        page.keyboard.press(key)
    page.keyboard.press("Enter")
    page.keyboard.type("card")

    form = page.locator("[data-patch-form]")
    values = [form.locator(f'[name="{name}"]').input_value() for name in ("name", "x", "y", "width", "height")]
    assert values == ["card", "42", "41", "21", "20"]


def test_a_nonsense_patch_keeps_what_was_typed_and_says_why(open_desk: Callable[..., Desk], tmp_path: Path) -> None:
    desk = open_desk(scripts=False)
    page = begin(desk)
    page.locator('input[type="file"]').set_input_files(card(tmp_path / "a1.jpg", 0.0, 8, minute=1))
    page.get_by_role("button", name="Log frame 1").locator("visible=true").click()
    for _ in range(100):
        page.reload()
        if page.locator('tr[data-number="1"] .read').inner_text() != "–":
            break
    open_frame(page, 1)
    press_open(page, "Patches")
    form = page.locator("[data-patch-form]")
    for field, value in (("name", "card"), ("x", "10"), ("y", "many"), ("width", "20"), ("height", "20")):
        form.locator(f'[name="{field}"]').fill(value)

    form.get_by_role("button", name="Save the patch").click()

    expect(page.locator("#patches .problem")).to_be_visible()
    expect(page.locator('[data-patch-form] [name="y"]')).to_have_value("many")
    page.locator('[data-patch-form] [name="y"]').fill("10")
    page.get_by_role("button", name="Save the patch").click()
    expect(page.locator(".easel text")).to_have_text("card")


def test_two_taps_on_a_rule_give_the_magnification_to_the_standing_set_up(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    drop(page, card(tmp_path / "a1.jpg", 0.0, 8, minute=1), 1)
    open_frame(page, 1)
    page.get_by_role("button", name="Tap a rule").click()
    box = page.locator("[data-easel]").bounding_box()
    assert box is not None

    for across in (0.25, 0.75):
        page.mouse.click(box["x"] + across * box["width"], box["y"] + 0.5 * box["height"])
    page.get_by_label("length between them").fill("36 mm")
    page.get_by_role("button", name="Work out the scale").click()

    # Half of the field is 36 mm, so the field is 72 mm wide on a sensor of 36 mm: half life size.
    expect(page.locator("#rule .sentence")).to_contain_text("the magnification 0.5")
    page.get_by_role("button", name="Set magnification 0.5").click()
    expect(page.get_by_label("magnification", exact=True)).to_have_value("0.5")


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_reading_and_difference_stand_on_one_line_of_the_phone(
    open_desk: Callable[..., Desk], tmp_path: Path, theme: str
) -> None:
    desk = open_desk(PHONE, theme=theme)
    page = begin(desk)

    drop(page, card(tmp_path / "a1.jpg", 0.4, 8, minute=1), 1)

    expect(page.locator('tr[data-number="1"] .on-phone')).to_have_text("read +0.4 · unexplained 0.0")
    open_frame(page, 1)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_a_flash_that_fires_into_the_ambient_check_is_not_taken_for_it(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    drop(page, card(tmp_path / "a1.jpg", 0.0, 8, minute=1), 1)

    check_ambient(page, card(tmp_path / "shot_0007.jpg", 0.0, 8, minute=2), 2)

    expect(page.locator(".one-sentence .sentence")).to_have_text(
        "shot_0007.jpg shows 1/125: logged as a test, not as the ambient check. The check goes on."
    )
    expect(page.locator('tr[data-number="2"] .for')).to_contain_text("test")
    expect(page.locator(".proof")).to_contain_text("Ambient not proven yet")
    drop(page, card(tmp_path / "a3.jpg", -1.0, 8, time=Fraction(1), minute=3), 3)
    expect(page.locator(".proof > a")).to_have_text("Ambient proven 8.0 stops below · still holds")

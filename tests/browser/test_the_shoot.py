"""The story of a shoot, as the photographer lives it."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import PHONE, Desk
from tests.browser.story import begin, expect_balance, from_the_menu, log, set_dial


def reference_at_5_6(desk: Desk) -> None:
    page = begin(desk)
    set_dial(page, "f-number", "f/5.6")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/5.6")
    set_dial(page, "power of A", "6.25 J")
    expect(page.get_by_label("power of A", exact=True)).to_have_value("6.25 J")
    log(page, 1)
    expect(page.locator('tr[data-number="1"]')).to_contain_text("reference")


def test_closing_four_stops_and_letting_the_ledger_say_what_to_turn(desk: Desk) -> None:
    reference_at_5_6(desk)
    page = desk.page
    loads = desk.loads

    set_dial(page, "f-number", "22")
    expect(page.locator(".dials .changed").first).to_have_text("was f/5.6 · −4.0")
    expect_balance(page, "A", "−4.0")
    expect_balance(page, "ambient", "−4.0")
    expect(page.locator(".sentence").first).to_contain_text("Key A is 4.0 under. A: 6.25 J to 100 J.")

    page.get_by_role("button", name="Set A 100 J").click()
    expect_balance(page, "A", "0.0")
    expect_balance(page, "ambient", "−4.0")
    log(page, 2)
    expect(page.locator('tr[data-number="2"] td.num')).to_contain_text("0.0")
    expect(page.locator('tr[data-number="2"] .since')).to_contain_text("aperture f/5.6 to f/22")
    assert desk.loads == loads, "every change after the page was drawn is partial"


def test_five_stops_added_against_four_are_one_over_and_one_is_taken_back(desk: Desk) -> None:
    reference_at_5_6(desk)
    page = desk.page

    set_dial(page, "f-number", "22")
    expect_balance(page, "A", "−4.0")
    set_dial(page, "power of A", "200 J")
    expect_balance(page, "A", "+1.0")
    expect(page.locator(".f_number .under")).to_contain_text("f/5.6, 8, 11, 16, 22: four gaps, five marks")
    log(page, 2)
    expect(page.locator('tr[data-number="2"] td.num')).to_contain_text("+1.0")

    page.get_by_role("button", name="Set A 100 J").click()
    expect_balance(page, "A", "0.0")
    log(page, 3)
    expect(page.locator('tr[data-number="3"] td.num')).to_contain_text("0.0")


def test_a_stepper_moves_one_mark_of_the_dial(desk: Desk) -> None:
    page = begin(desk)

    page.get_by_role("button", name="f-number: smaller").click()
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/9")
    page.get_by_role("button", name="shutter: longer").click()
    expect(page.get_by_label("shutter", exact=True)).to_have_value("1/100")


@pytest.fixture
def slow_desk(desk: Desk) -> Desk:
    """A desk whose taps take their time on the way to the server."""
    desk.page.add_init_script(
        """const at_once = window.fetch;
        window.fetch = async (address, ...rest) => {
          if (String(address).endsWith("/standing")) await new Promise((go) => setTimeout(go, 400));
          return at_once.call(window, address, ...rest);
        };"""
    )
    return desk


def test_a_frame_logged_right_after_typing_has_the_value_that_was_typed(slow_desk: Desk) -> None:
    page = begin(slow_desk)
    log(page, 1)

    page.get_by_label("f-number", exact=True).first.fill("16")
    log(page, 2)

    expect(page.locator('tr[data-number="2"]')).to_contain_text("f/16")
    expect(page.locator(".one-sentence .problem")).to_have_count(0)


def test_quick_taps_on_a_stepper_all_count(slow_desk: Desk) -> None:
    page = begin(slow_desk)
    set_dial(page, "f-number", "5.6")

    smaller = page.get_by_role("button", name="f-number: smaller")
    for _ in range(3):
        smaller.click()

    # Three third stops: 5.6, 6.3, 7.1, 8 (common practice).
    expect(page.get_by_label("f-number", exact=True).first).to_have_value("f/8")
    expect(page.locator(".one-sentence .problem")).to_have_count(0)


def test_a_nonsense_value_is_told_at_its_field_and_changes_nothing(desk: Desk) -> None:
    page = begin(desk)

    set_dial(page, "f-number", "f/0")

    expect(page.locator(".one-sentence .problem")).to_contain_text("0 is no f-number")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/8")
    expect(page.get_by_label("f-number", exact=True)).to_be_focused()
    set_dial(page, "f-number", "11")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/11")
    expect(page.locator(".one-sentence .problem")).to_have_count(0)


def test_the_main_job_on_a_phone_in_one_hand(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk(PHONE, theme="dark")
    reference_at_5_6(desk)
    page = desk.page

    set_dial(page, "f-number", "22")
    expect(page.locator(".bar .sums")).to_contain_text("−4.0")
    log_key = page.locator(".bar .key")
    box = log_key.bounding_box()
    assert box is not None
    assert box["height"] >= 44
    assert box["y"] + box["height"] <= PHONE["height"]
    log(page, 2)
    width = page.evaluate("document.documentElement.scrollWidth")
    assert width <= PHONE["width"], "nothing sticks out to the side"


def test_the_main_job_with_scripts_off(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk(scripts=False)
    reference_at_5_6(desk)
    page = desk.page

    set_dial(page, "f-number", "22")
    expect_balance(page, "A", "−4.0")
    page.get_by_role("button", name="Set A 100 J").click()
    expect_balance(page, "A", "0.0")
    log(page, 2)
    set_dial(page, "f-number", "f/0")
    expect(page.locator(".one-sentence .problem")).to_contain_text("0 is no f-number")


def test_the_ambient_check_switches_off_and_puts_back(desk: Desk) -> None:
    reference_at_5_6(desk)
    page = desk.page

    from_the_menu(page, "Ambient check")
    expect(page.get_by_label("shutter", exact=True)).to_have_value("1 s")
    expect(page.locator(".light.off")).to_have_count(1)
    log(page, 2)

    expect(page.locator('tr[data-number="2"] .for')).to_contain_text("ambient check")
    expect(page.get_by_label("shutter", exact=True)).to_have_value("1/125")
    expect(page.locator(".light.off")).to_have_count(0)
    expect_balance(page, "A", "0.0")


def test_dim_is_remembered_without_a_flash_of_light(desk: Desk) -> None:
    desk.open("/")
    from_the_menu(desk.page, "Dim")
    desk.open("/kit")

    assert desk.page.evaluate("document.documentElement.dataset.theme") == "dim"
    background = desk.page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert background == "rgb(10, 10, 10)"

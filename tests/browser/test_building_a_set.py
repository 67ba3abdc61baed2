"""The same set built on the plan by mouse, by touch and by the keys, in centimetres and in inches, to the same numbers;
and a move that the network cut, shown as not saved until it is."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import PHONE, Desk
from tests.browser.story import begin

MM_PER_INCH = 25.4


def _unit_mm(unit: str) -> float:
    return MM_PER_INCH if unit == "in" else 10.0


def _begun(desk: Desk, unit: str) -> Page:
    """A light 90° to the left of the subject, level with it: 100 cm away, or 40 in."""
    page = begin(desk)
    api = f"{desk.url}/api/v1/shots/{page.url.rsplit('/', 1)[-1]}"
    away = 40.0 * MM_PER_INCH if unit == "in" else 1000.0
    place = {"distance_mm": away, "bearing_deg": -90, "height_mm": 0}
    assert page.request.put(f"{api}/plan/lights/A", data=place).ok
    page.goto(f"{page.url}/plan?unit={unit}")
    page.wait_for_function("window.htmx !== undefined")
    return page


def _stand(page: Page, *, upright: bool = False) -> str:
    key = "hand" if page.locator(".in-the-hand").is_visible() else "plan"
    return f"#{key}-{'upright' if upright else 'stand'}-lights-A"


def _drag(page: Page, stand: str, right_mm: float, up_mm: float, *, touch: bool) -> None:
    """A drag by so much of the set, with the mouse or a finger."""
    here = page.locator(stand)
    here.scroll_into_view_if_needed()
    on_screen = here.evaluate(
        "g => { const svg = g.ownerSVGElement; return svg.dataset.scale * svg.getScreenCTM().a; }"
    )
    box = here.locator("circle").first.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0
    path = [(x + right_mm * on_screen * part / 8.0, y - up_mm * on_screen * part / 8.0) for part in range(9)]
    with page.expect_response(lambda answer: answer.request.method == "POST" and answer.url.endswith("/plan")):
        if touch:
            phone = page.context.new_cdp_session(page)
            for at, (to_x, to_y) in enumerate(path):
                kind = "touchStart" if at == 0 else "touchMove"
                phone.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": to_x, "y": to_y}]})
            phone.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        else:
            page.mouse.move(x, y)
            page.mouse.down()
            for to_x, to_y in path:
                page.mouse.move(to_x, to_y)
            page.mouse.up()


def _by_keys(page: Page, unit: str) -> None:
    """16 in to the right and 10 in up, or 40 cm and 25 cm, by steps of half an inch or 1 cm, tenfold with shift."""
    keys = {"Shift+ArrowRight": 4, "Shift+PageUp": 2, "PageUp": 5}
    if unit == "in":
        keys = {"Shift+ArrowRight": 3, "ArrowRight": 2, "Shift+PageUp": 2}
    page.locator(_stand(page)).focus()
    with page.expect_response(lambda answer: answer.request.method == "POST" and answer.url.endswith("/plan")):
        for key, times in keys.items():
            for _ in range(times):
                page.keyboard.press(key)


@pytest.mark.parametrize("unit", ["cm", "in"])
@pytest.mark.parametrize("way", ["mouse", "touch", "keys"])
def test_the_same_set_is_built_by_mouse_by_touch_and_by_keys(
    open_desk: Callable[..., Desk], way: str, unit: str
) -> None:
    page = _begun(open_desk(viewport=PHONE, touch=True) if way == "touch" else open_desk(), unit)
    mm = _unit_mm(unit)

    if way == "keys":
        _by_keys(page, unit)
    else:
        _drag(page, _stand(page), (16.0 if unit == "in" else 40.0) * mm, 0.0, touch=way == "touch")
        expect(page.locator(".places")).to_contain_text("24 in" if unit == "in" else "60 cm")
        _drag(page, _stand(page, upright=True), 0.0, (10.0 if unit == "in" else 25.0) * mm, touch=way == "touch")

    told = (
        "26 in from the subject, 90° left, 10 in above"
        if unit == "in"
        else "65 cm from the subject, 90° left, 25 cm above"
    )
    expect(page.locator(".places")).to_contain_text(told)
    expect(page.locator(".where")).to_contain_text(told)
    expect(page.locator(_stand(page))).to_be_focused()
    # What the last move did stands first, and can be taped there.
    expect(page.locator(".moved")).to_contain_text("A moved" if way == "keys" else "A ")
    expect(page.locator(".moved").get_by_role("button", name="Taped there")).to_be_visible()

    chosen = page.get_by_label("shares and ratio for")
    if way == "keys":
        chosen.focus()
        page.keyboard.type("left")
    else:
        chosen.select_option("left")

    expect(page.locator(".light-there")).to_contain_text("share of A on the left side")
    expect(page.get_by_label("shares and ratio for")).to_have_value("left")


def test_a_key_moves_a_far_light_by_a_centimetre_and_says_each_step(desk: Desk) -> None:
    page = _begun(desk, "cm")
    page.locator(_stand(page)).focus()
    for _ in range(3):
        page.keyboard.press("ArrowLeft")
        expect(page.locator(".where")).to_contain_text("from the subject, 90° left")
    expect(page.locator(".where")).to_contain_text("A: 103")
    expect(page.locator(".places")).to_contain_text("103 cm from the subject, 90° left")


def test_a_move_that_the_network_cut_is_shown_as_not_saved_until_it_is(desk: Desk) -> None:
    page = _begun(desk, "cm")
    page.context.set_offline(True)
    page.locator(_stand(page)).focus()
    page.keyboard.press("Shift+ArrowRight")

    expect(page.locator(".where")).to_contain_text("not saved yet")
    expect(page.locator(f"{_stand(page)}.unsaved")).to_be_visible()
    desk.errors.clear()
    page.context.set_offline(False)

    expect(page.locator(".places")).to_contain_text("90 cm from the subject, 90° left")
    expect(page.locator(".unsaved")).to_have_count(0)
    expect(page.locator(_stand(page))).to_be_focused()
    desk.errors.clear()

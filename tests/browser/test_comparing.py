"""Two frames on equal terms, and light added up after the set is gone."""

from __future__ import annotations

import io
import re
import time
from collections.abc import Callable
from datetime import datetime
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page, expect
from scipy.ndimage import gaussian_filter

from tests.browser.cards import card
from tests.browser.conftest import PHONE, Desk
from tests.browser.story import add_light, begin, press_away, set_dial
from tests.browser.test_evidence import drop
from tests.demo_bake.camera import CameraSettings, write_jpeg

SIZE = (480, 720)


def board(
    path: Path, stops: float, f_number: float, minute: int, *, focus_blur_px: float, end_blur_px: float
) -> Path:
    """A textured board that leans through the field: in focus in the middle, out of it at both ends."""
    grain = gaussian_filter(np.random.default_rng(5).standard_normal(SIZE), 1.5)
    grain /= grain.std()
    light = np.empty(SIZE)
    for left in range(0, SIZE[1], 20):
        depth = abs((left + 10) / SIZE[1] - 0.5) * 2
        blurred = gaussian_filter(grain, np.hypot(focus_blur_px, depth * end_blur_px))
        light[:, left : left + 20] = 1 + 0.2 * blurred[:, left : left + 20]
    picture = np.repeat((0.18 * 2.0**stops * light)[:, :, np.newaxis], 3, axis=2).astype(np.float32)
    settings = CameraSettings(f_number, Fraction(1, 125), 100, 100.0, datetime(2026, 11, 24, 10, minute))
    write_jpeg(path, picture, settings)
    return path


def beside_the_reference(page: Page, number: int) -> None:
    page.locator(f'tr[data-number="{number}"]').get_by_role("link", name=f"Frame {number}", exact=True).click()
    page.get_by_role("link", name="Compare", exact=True).click()
    expect(page.locator("[data-light-table]")).to_have_attribute("data-ready", "true")


def brightness(page: Page) -> tuple[float, float]:
    """The mean code of the left and the right half of the light table, of what is not black."""
    codes = np.asarray(
        Image.open(io.BytesIO(page.locator("[data-panes]").screenshot())).convert("L"), dtype=np.float64
    )
    halves = codes[codes.shape[0] // 2 - 20 : codes.shape[0] // 2 + 20]
    left, right = halves[:, 20 : codes.shape[1] // 2 - 10], halves[:, codes.shape[1] // 2 + 10 : -20]
    return float(left[left > 12].mean()), float(right[right > 12].mean())


def shown(page: Page, holds: Callable[[float, float], bool]) -> None:
    """Wait until both halves are painted as they ought to be, which is a moment after the page says that they are."""
    until = time.monotonic() + 60
    while not holds(*(halves := brightness(page))):
        assert time.monotonic() < until, halves
        page.wait_for_timeout(50)


def test_two_lights_are_compared_with_nothing_else_moved_and_exposure_equalised(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    drop(page, card(tmp_path / "a1.jpg", -0.5, 8, minute=1), 1)
    add_light(page, 2)
    page.get_by_role("button", name="key A is lit, switch it off").click()
    drop(page, card(tmp_path / "a2.jpg", 0.7, 8, minute=2), 2)

    beside_the_reference(page, 2)

    expect(page.get_by_role("heading", name="Frames 1 and 2")).to_be_visible()
    expect(page.locator("main")).to_contain_text("+1.2")
    expect(page.get_by_label("frame 2 lifted by")).to_have_value("-1.20")
    page.wait_for_function("document.querySelector('[data-light-table]').dataset.lifted === 'true'")
    shown(page, lambda left, right: right == pytest.approx(left, abs=2.0))
    page.get_by_label("exposure equalised").uncheck()
    page.wait_for_function("document.querySelector('[data-light-table]').dataset.lifted === 'false'")
    shown(page, lambda dark, bright: bright > dark + 25)


def test_the_previews_are_seen_while_the_tiles_are_made(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    drop(page, card(tmp_path / "a1.jpg", -0.5, 8, minute=1), 1)
    drop(page, card(tmp_path / "a2.jpg", 0.7, 8, minute=2), 2)
    page.route("**/pyramid", lambda route: route.fulfill(json={"made": False, "trouble": ""}))
    page.locator('tr[data-number="2"]').get_by_role("link", name="Frame 2", exact=True).click()
    page.get_by_role("link", name="Compare", exact=True).click()

    table = page.locator("[data-light-table]")
    expect(table).to_have_attribute("data-seen", "true")
    expect(table).to_have_attribute("data-ready", "false")
    shown(page, lambda left, right: right == pytest.approx(left, abs=2.0) and left > 60)
    page.unroute("**/pyramid")
    expect(table).to_have_attribute("data-ready", "true")


@pytest.mark.parametrize("viewport", [None, PHONE], ids=["laptop", "phone"])
def test_a_camera_that_was_nudged_is_laid_back_by_itself_and_by_hand(
    open_desk: Callable[..., Desk], tmp_path: Path, viewport: dict[str, int] | None
) -> None:
    desk = open_desk(viewport) if viewport else open_desk()
    page = begin(desk)
    first = board(tmp_path / "a1.jpg", 0.0, 8, 1, focus_blur_px=0.5, end_blur_px=3)
    drop(page, first, 1)
    with Image.open(first) as image:
        exif = image.getexif()
        exif.get_ifd(0x8769)[0x9003] = "2026:11:24 10:02:00"
        moved = image.transform(image.size, Image.Transform.AFFINE, (1, 0, -9, 0, 1, 6))
    moved.save(tmp_path / "a2.jpg", quality=92, exif=exif)
    drop(page, tmp_path / "a2.jpg", 2)
    beside_the_reference(page, 2)
    nudged = page.locator("[data-nudged]")

    expect(nudged).to_have_text("Frame 2 is moved 9 px left and 6 px down, by itself.")
    page.get_by_role("button", name="Move frame 2 alone").click()
    table = page.locator("[data-panes]")
    table.focus()
    table.press("1")
    spot = page.locator("[data-looking-at]").inner_text()
    for _ in range(3):
        table.press("ArrowRight")
    expect(nudged).to_have_text("Frame 2 is moved 6 px left and 6 px down, by hand.")
    expect(page.locator("[data-looking-at]")).to_have_text(spot)
    page.get_by_role("button", name="One over the other").click()
    table.scroll_into_view_if_needed()
    box = table.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 0.75 * box["width"], box["y"] + 100)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.75 * box["width"] + 40, box["y"] + 100, steps=4)
    page.mouse.up()
    expect(nudged).to_contain_text("right and 6 px down, by hand.")
    expect(page.locator("[data-looking-at]")).to_have_text(spot)
    page.get_by_role("button", name="Put it back").click()
    expect(nudged).to_have_text("")
    page.get_by_label("divider").fill("100")
    assert page.evaluate("document.documentElement.scrollWidth") <= page.evaluate("innerWidth")


def test_f_5_6_against_f_22_at_the_same_spot_with_gains_and_losses_read_off(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    press_away(page, "Kit and positions")
    set_dial(page, "magnification", "1")
    expect(page.get_by_label("magnification", exact=True)).to_have_value("1")
    page.keyboard.press("Escape")
    set_dial(page, "f-number", "5.6")
    drop(page, board(tmp_path / "a1.jpg", 0.0, 5.6, 1, focus_blur_px=0.3, end_blur_px=8), 1)
    set_dial(page, "f-number", "22")
    drop(page, board(tmp_path / "a2.jpg", -1.0, 22, 2, focus_blur_px=2.2, end_blur_px=2), 2)

    beside_the_reference(page, 2)

    verdict = page.locator(".sharpness .sentence")
    expect(verdict).to_contain_text("Frame 2 against frame 1")
    expect(verdict).to_contain_text("of the subject gained sharpness")
    expect(page.locator(".sharpness")).to_contain_text("f/11.3 effective")
    expect(page.locator(".sharpness")).to_contain_text("f/45.3 effective")
    expect(page.locator(".sharpness")).to_contain_text("lost for it lies in the focus")
    classes = page.locator(".maps figure").nth(2).locator("path")
    assert {"gained", "lost"} <= {
        name.split("-")[0] for name in classes.evaluate_all("all => all.map((p) => p.className.baseVal)")
    }

    table = page.locator("[data-panes]")
    table.focus()
    table.press("1")
    for _ in range(4):
        table.press("ArrowRight")
    expect(page.locator("[data-looking-at]")).to_contain_text("100 % at")
    spot = page.locator("[data-looking-at]").inner_text()
    page.get_by_role("button", name="One over the other").click()
    expect(page.locator("[data-looking-at]")).to_have_text(spot)
    divider = page.get_by_label("divider")
    divider.focus()
    divider.press("ArrowRight")
    expect(divider).to_have_value("51")
    table.press("0")
    page.mouse.move(*(sum(pair) for pair in zip(_corner(page), (300, 200), strict=True)))
    page.mouse.wheel(0, -480)
    expect(page.locator("[data-looking-at]")).not_to_contain_text("50 % across, 50 % down")


def test_what_is_done_to_one_picture_is_done_to_both_and_the_divider_is_dragged(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    drop(page, card(tmp_path / "a1.jpg", -0.5, 8, minute=1), 1)
    drop(page, card(tmp_path / "a2.jpg", 0.7, 8, minute=2), 2)
    beside_the_reference(page, 2)
    spot = page.locator("[data-looking-at]")
    table = page.locator("[data-panes]")
    box = table.bounding_box()
    assert box is not None

    table.press("1")
    for part in (0.25, 0.75):
        before = spot.inner_text()
        page.mouse.move(box["x"] + part * box["width"], box["y"] + 150)
        page.mouse.down()
        page.mouse.move(box["x"] + part * box["width"] - 40, box["y"] + 130, steps=4)
        page.mouse.up()
        expect(spot).not_to_have_text(before)
    expect(table).to_be_focused()
    # None of the controls or button pictures that the viewer brings along.
    expect(table.locator("button, img, input")).to_have_count(0)

    page.get_by_role("button", name="One over the other").click()
    table.scroll_into_view_if_needed()
    box = table.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 4, box["y"] + box["height"] / 2, steps=4)
    page.mouse.up()
    expect(page.get_by_label("divider")).to_have_value("25")
    table.press("]")
    expect(page.get_by_label("divider")).to_have_value("30")


def _corner(page: Page) -> tuple[float, float]:
    box = page.locator("[data-panes]").bounding_box()
    assert box is not None
    return box["x"], box["y"]


def two_solo_frames(page: Page, folder: Path) -> str:
    add_light(page, 2)
    shot = page.url
    power = page.get_by_label("power of B", exact=True)
    power.fill("50 J")
    power.press("Enter")
    expect(page.get_by_label("power of B", exact=True)).to_have_value("50 J")
    page.get_by_role("button", name="fill B is lit, switch it off").click()
    expect(page.locator(".light.off")).to_have_count(1)
    drop(page, card(folder / "b1.jpg", 0.0, 8, minute=1, right_stops=-2.0), 1)
    page.get_by_role("button", name="fill B is off, switch it on").click()
    page.get_by_role("button", name="key A is lit, switch it off").click()
    expect(page.locator("#log-of-" + shot.rsplit("/", 1)[1])).to_be_visible()
    drop(page, card(folder / "b2.jpg", -1.0, 8, minute=2, right_stops=-1.0), 2)
    return shot


@pytest.mark.parametrize("viewport", [None, PHONE], ids=["laptop", "phone"])
def test_a_ratio_of_3_to_1_is_set_after_the_fact_and_asks_for_its_marks(
    open_desk: Callable[..., Desk], tmp_path: Path, viewport: dict[str, int] | None
) -> None:
    desk = open_desk(viewport) if viewport else open_desk()
    page = begin(desk)
    two_solo_frames(page, tmp_path)
    page.locator(".menu > summary").click()
    page.get_by_role("link", name="Re-mix the lights").click()
    expect(page.locator(".mixed")).to_contain_text("Preview,")
    page.wait_for_load_state("load")
    loads = desk.loads

    ladder = page.get_by_role("group", name="fill B")
    ladder.get_by_role("radio", checked=True).press("ArrowDown")
    # By the ladder the mix changes in its place, and the keyboard stays on the mark.
    expect(page.locator(".mixed img")).to_have_attribute("src", re.compile("level-B=-1.0"))
    expect(ladder.get_by_role("radio", checked=True)).to_be_focused()
    ladder.get_by_role("button", name="darker").click()
    expect(page.locator(".mixed img")).to_have_attribute("src", re.compile("level-B=-1.1"))
    assert desk.loads == loads
    page.get_by_text("By ratio or in stops").click()
    page.locator('[name="ratio"]').fill("3:1")
    page.get_by_role("button", name="Set the ratio").click()
    page.get_by_text("Contributions, ratios and working").click()
    expect(page.locator("#remix")).to_contain_text("3 : 1 as key : fill, 4 : 1 as (key + fill) : fill")
    expect(ladder).to_contain_text("now ")
    page.locator('[name="name"]').fill("three to one")
    page.get_by_role("button", name="Save this mix").click()
    expect(page.get_by_role("link", name="three to one")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= page.evaluate("innerWidth")
    page.get_by_role("button", name="Set these powers").click()
    expect(page.get_by_role("button", name="key A is lit, switch it off")).to_be_visible()

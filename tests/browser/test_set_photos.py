"""Before the set is struck, on a phone: what is missing is set up with a press and comes in by the folder; photos of the
set are sent through a cut network, placed on the plan by a tap and by keys, and seen there."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import PHONE, Desk, Server
from tests.browser.story import add_light, begin
from tests.browser.test_files_and_news import arrive, jpeg
from tests.made_pictures import jpeg_bytes


def photo(path: Path, level: int = 90) -> Path:
    path.write_bytes(jpeg_bytes(np.full((90, 120, 3), level, dtype=np.uint8)))
    return path


def to_strike(page: Page) -> None:
    page.goto(page.url.split("#")[0] + "/strike")
    page.locator("html[data-news=listening]").wait_for()


def test_one_light_is_set_up_with_a_press_and_stands_on_the_list_when_its_file_has_come(
    open_desk: Callable[..., Desk], server: Server, tmp_path: Path
) -> None:
    desk = open_desk(PHONE, theme="dark")
    page = begin(desk)
    add_light(page, 2)
    arrive(server, jpeg(tmp_path / "both.jpg", 8, Fraction(1, 125), 100))
    expect(page.locator('tr[data-number="1"]')).to_be_visible()
    shot = page.url
    to_strike(page)
    missing = page.locator(".on-record .tells").first
    expect(missing).to_contain_text("B alone")
    loads = desk.loads

    page.get_by_role("button", name="Set up: B alone").click()
    expect(page.get_by_text("Lit by B alone for one frame.")).to_be_visible()
    expect(page.get_by_text("Fire: the next file becomes frame 2.")).to_be_visible()
    arrive(server, jpeg(tmp_path / "alone.jpg", 8, Fraction(1, 125), 100, shade=60))

    there = page.locator(".tells.there")
    expect(there).to_contain_text("B alone")
    expect(there.get_by_role("link", name="frame 2")).to_be_visible()
    expect(page.get_by_text("Lit by B alone")).to_have_count(0)
    assert desk.loads == loads
    page.goto(shot)
    expect(page.locator(".light.off")).to_have_count(0)


def test_a_photo_is_added_placed_by_a_tap_and_by_keys_and_seen_on_the_plan(
    open_desk: Callable[..., Desk], tmp_path: Path
) -> None:
    desk, other = open_desk(PHONE), open_desk()
    page = begin(desk)
    shot = page.url
    to_strike(page)
    other.page.goto(page.url)
    other.hears_the_news()

    page.locator('input[type="file"][multiple]').set_input_files(
        [photo(tmp_path / "door.jpg", 90), photo(tmp_path / "side.jpg", 150)]
    )

    for each in (page, other.page):
        expect(each.locator(".photo-row li")).to_have_count(2)
        expect(each.locator(".tells.there")).to_contain_text("2 photos")
    expect(page.locator(".uploads li")).to_have_count(0)
    page.locator(".photo-row a").first.click()
    page.get_by_label("what it shows").fill("from the door")
    page.get_by_role("button", name="Save").click()

    floor = page.locator(".in-the-hand .floor")
    floor.scroll_into_view_if_needed()
    box = floor.bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + 0.25 * box["width"], box["y"] + 0.6 * box["height"])
    spot = page.locator(".in-the-hand .viewpoint.here")
    expect(spot).to_be_visible()
    expect(page.locator(".where")).to_contain_text("left, looks")
    before = float(spot.get_attribute("data-x") or 0)
    spot.focus()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    expect(spot).to_have_attribute("data-x", f"{before - 200:.1f}")
    expect(spot).to_be_focused()

    page.goto(f"{shot}/plan")
    there = page.locator(".in-the-hand a.viewpoint")
    expect(there).to_have_attribute("aria-label", "Photo 1: from the door")
    there.click()
    expect(page.get_by_label("what it shows")).to_have_value("from the door")


def test_a_drag_from_the_spot_is_the_way_that_the_photo_looks(open_desk: Callable[..., Desk], tmp_path: Path) -> None:
    page = begin(open_desk())
    page.goto(page.url + "/photos")
    page.locator('input[type="file"][multiple]').set_input_files(photo(tmp_path / "side.jpg"))
    page.locator(".photo-row a").click()

    box = page.locator(".on-screen .floor").bounding_box()
    assert box is not None
    x, y = box["x"] + 0.5 * box["width"], box["y"] + 0.7 * box["height"]
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 80, y, steps=4)
    page.mouse.up()

    expect(page.locator(".where")).to_contain_text("looks 90° right")


def test_a_photo_that_the_network_cut_off_is_sent_when_it_is_back_and_once(
    open_desk: Callable[..., Desk], tmp_path: Path
) -> None:
    desk = open_desk(PHONE)
    page = begin(desk)
    shot = page.url.rsplit("/", 1)[1]
    page.goto(page.url + "/photos")
    page.context.set_offline(True)

    page.locator('input[type="file"][multiple]').set_input_files(
        [photo(tmp_path / "door.jpg", 90), photo(tmp_path / "side.jpg", 150)]
    )
    expect(page.locator(".uploads li").first).to_contain_text("Not sent yet")
    expect(page.locator(".uploads li")).to_have_count(2)
    expect(page.get_by_role("button", name="Send again now")).to_be_visible()
    page.context.set_offline(False)

    expect(page.locator(".photo-row li")).to_have_count(2)
    expect(page.locator(".uploads li")).to_have_count(0)
    assert len(page.request.get(f"{desk.url}/api/v1/shots/{shot}/set-photos").json()) == 2
    desk.errors.clear()


def test_what_is_no_picture_is_said_beside_its_name(open_desk: Callable[..., Desk], tmp_path: Path) -> None:
    page = begin(open_desk(PHONE))
    page.goto(page.url + "/photos")
    (tmp_path / "notes.jpg").write_bytes(b"no picture")

    page.locator('input[type="file"][multiple]').set_input_files(
        [tmp_path / "notes.jpg", photo(tmp_path / "side.jpg")]
    )

    expect(page.locator(".photo-row li")).to_have_count(1)
    expect(page.locator(".uploads li")).to_have_count(1)
    expect(page.locator(".uploads .problem")).to_contain_text("notes.jpg")


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_without_scripts_a_photo_is_added_and_placed_by_numbers(
    open_desk: Callable[..., Desk], tmp_path: Path, theme: str
) -> None:
    first = begin(open_desk())
    page = open_desk(PHONE, scripts=False, theme=theme).page
    page.goto(first.url + "/photos")

    page.locator('input[type="file"][multiple]').set_input_files(photo(tmp_path / "side.jpg"))
    page.get_by_role("button", name="Send them").click()
    page.locator(".photo-row a").click()
    page.get_by_label("distance, along the floor").fill("2 m")
    page.get_by_label("bearing, from the camera").fill("45 left")
    page.get_by_role("button", name="Place the photo").click()

    expect(page.locator(".where")).to_contain_text("45° left, looks 45° right")

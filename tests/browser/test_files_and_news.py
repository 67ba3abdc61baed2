"""Camera files become frames, and every open page of the session is told."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational
from playwright.sync_api import Route, expect

from tests.browser.conftest import Desk, Server
from tests.browser.story import begin, expect_balance, log, set_dial
from webapp.shoots import log_frame


def jpeg(path: Path, f_number: float, time: Fraction, iso: int, *, shade: int = 120, body: str = "") -> Path:
    """A small picture with the Exif of a camera."""
    exif = Image.Exif()
    if body:
        exif[0x0110] = body
    details = exif.get_ifd(0x8769)
    details[0x829D] = IFDRational(Fraction(str(f_number)).numerator, Fraction(str(f_number)).denominator)
    details[0x829A] = IFDRational(time.numerator, time.denominator)
    details[0x8827] = iso
    Image.new("RGB", (300, 200), (shade, shade, shade)).save(path, exif=exif)
    return path


def arrive(server: Server, made: Path) -> None:
    """As tethering software does it: written under another name, then put in place."""
    unfinished = server.watch / (made.name + ".part")
    shutil.copy(made, unfinished)
    unfinished.rename(server.watch / made.name)


def test_a_file_in_the_watched_folder_becomes_a_row_with_its_preview(
    desk: Desk, server: Server, tmp_path: Path
) -> None:
    page = begin(desk)
    loads = desk.loads

    arrive(server, jpeg(tmp_path / "shot_0001.jpg", 8, Fraction(1, 125), 100))

    row = page.locator('tr[data-number="1"]')
    expect(row).to_be_visible()
    expect(row).to_contain_text("f/8 · 1/125 · ISO 100")
    expect(row.locator("img")).to_be_visible()
    expect(row.locator("img")).to_have_js_property("naturalWidth", 300)
    assert desk.loads == loads


def test_where_file_and_set_up_differ_the_file_is_used_and_one_press_settles_it(
    desk: Desk, server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(log_frame, "FILLS_WITHIN_S", 600.0)
    page = begin(desk)
    log(page, 1)

    arrive(server, jpeg(tmp_path / "shot_0002.jpg", 11, Fraction(1, 125), 100))

    # A file that comes soon after a frame was logged by hand is that frame's picture.
    row = page.locator('tr[data-number="1"]')
    expect(row).to_contain_text("file f/11, set f/8: the file's is used")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/11")
    row.get_by_role("button", name="Use f/8").click()
    expect(row).to_contain_text("the set-up's is used")
    expect(row).to_contain_text("f/8 · 1/125")


@pytest.mark.parametrize("late", ["**/htmx-sse-*.js", "**/desk.js"])
def test_a_page_whose_scripts_come_slowly_hears_the_news_all_the_same(
    open_desk: Callable[..., Desk], late: str
) -> None:
    def slowly(route: Route) -> None:
        time.sleep(0.5)
        route.continue_()

    page = begin(open_desk())
    other = open_desk()
    other.page.route(late, slowly)
    other.page.goto(page.url)
    other.hears_the_news()

    set_dial(page, "f-number", "16")

    expect(other.page.get_by_label("f-number", exact=True)).to_have_value("f/16")


def test_a_second_open_page_sees_every_tap_and_every_frame(open_desk: Callable[..., Desk]) -> None:
    first = open_desk()
    page = begin(first)
    second = open_desk()
    second.page.goto(page.url)
    expect(second.page.get_by_label("f-number", exact=True)).to_have_value("f/8")
    second.hears_the_news()

    set_dial(page, "f-number", "16")
    expect(second.page.get_by_label("f-number", exact=True)).to_have_value("f/16")
    log(page, 1)
    expect(second.page.locator('tr[data-number="1"]')).to_have_count(1)
    expect(page.locator('tr[data-number="1"]')).to_have_count(1)

    set_dial(second.page, "f-number", "22")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/22")
    expect_balance(second.page, "A", "−1.0")
    log(second.page, 2)
    expect(page.locator("tr.frame")).to_have_count(2)


def test_a_stale_page_is_told_both_values(open_desk: Callable[..., Desk], server: Server) -> None:
    desk = open_desk()
    page = begin(desk)
    old = open_desk(scripts=False)
    old.page.goto(page.url)
    set_dial(page, "f-number", "16")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/16")

    set_dial(old.page, "f-number", "11")

    expect(old.page.locator(".one-sentence .problem")).to_contain_text(
        "Another page of yours changed the f-number to 16"
    )
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/16")


@pytest.mark.parametrize("content", [b"", b"not a picture at all", b"\xff\xd8\xff\xe0broken"])
def test_a_broken_file_is_a_line_in_the_log_and_costs_no_frame(
    desk: Desk, server: Server, tmp_path: Path, content: bytes
) -> None:
    page = begin(desk)
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(content)

    page.locator('input[type="file"]').set_input_files(broken)

    expect(page.locator(".one-sentence .problem")).to_contain_text("broken.jpg")
    expect(page.locator("tr.frame")).to_have_count(0)
    log(page, 1)


def test_a_dropped_picture_is_logged_with_its_settings(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)

    page.locator('input[type="file"]').set_input_files(jpeg(tmp_path / "dropped.jpg", 5.6, Fraction(1, 60), 200))

    row = page.locator('tr[data-number="1"]')
    expect(row).to_contain_text("f/5.6 · 1/60 · ISO 200")
    expect(row.locator("img")).to_be_visible()
    expect(page.locator(".one-sentence")).to_contain_text("The set-up follows the file")


def test_several_pictures_are_logged_at_once_and_what_is_none_is_said(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    files = [jpeg(tmp_path / f"a_{number}.jpg", 8, Fraction(1, 125), 100 * number) for number in (1, 2)]
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(b"not a picture at all")

    page.locator('input[type="file"]').set_input_files([*files, broken])

    expect(page.locator(".one-sentence .problem")).to_contain_text("broken.jpg")
    expect(page.locator("tr.frame")).to_have_count(2)
    expect(page.locator("tr.frame img")).to_have_count(2)
    expect(page.get_by_role("button", name="Log frame 3")).to_be_visible()


def test_what_the_next_frame_is_for_goes_with_a_file_that_comes_by_itself(
    desk: Desk, server: Server, tmp_path: Path
) -> None:
    page = begin(desk)
    purpose, because = page.locator("select[name=purpose]"), page.locator(".next-words input[name=because]")
    with page.expect_response("**/next"):
        purpose.select_option("final")
    because.fill("the picture")
    with page.expect_response("**/next"):
        because.press("Tab")
    expect(purpose).to_have_value("final")

    arrive(server, jpeg(tmp_path / "shot_0003.jpg", 8, Fraction(1, 125), 100))

    row = page.locator('tr[data-number="1"]')
    expect(row.locator(".for")).to_contain_text("final")
    expect(row.locator(".for")).to_contain_text("the picture")


def test_the_in_tray_is_told_what_comes_and_keeps_what_was_unticked(
    desk: Desk, server: Server, tmp_path: Path
) -> None:
    page = begin(desk)
    arrive(server, jpeg(tmp_path / "first_0001.jpg", 8, Fraction(1, 125), 100, body="First body"))
    expect(page.locator('tr[data-number="1"]')).to_be_visible()
    page.goto(f"{server.url}/in-tray")
    page.wait_for_function("document.documentElement.dataset.news === 'listening'")
    arrive(server, jpeg(tmp_path / "second_0001.jpg", 22, Fraction(1, 125), 100, body="Second body"))
    ticks = page.get_by_role("checkbox")
    expect(ticks).to_have_count(1)
    ticks.first.uncheck()

    arrive(server, jpeg(tmp_path / "second_0002.jpg", 16, Fraction(1, 125), 100, body="Second body"))

    expect(ticks).to_have_count(2)
    expect(ticks.first).not_to_be_checked()
    expect(ticks.last).to_be_checked()


def test_another_cameras_file_waits_in_the_in_tray_and_moves_nothing(
    desk: Desk, server: Server, tmp_path: Path
) -> None:
    page = begin(desk)
    arrive(server, jpeg(tmp_path / "first_0001.jpg", 8, Fraction(1, 125), 100, body="First body"))
    expect(page.locator('tr[data-number="1"]')).to_be_visible()
    bar = page.locator(".bar").bounding_box()
    key = page.get_by_role("button", name="Log frame 2").bounding_box()

    arrive(server, jpeg(tmp_path / "second_0001.jpg", 22, Fraction(1, 125), 100, body="Second body"))

    link = page.locator(".fires").get_by_role("link", name="1 file waits in the in-tray")
    expect(link).to_be_visible()
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/8")
    assert page.locator(".bar").bounding_box() == bar
    assert page.get_by_role("button", name="Log frame 2").bounding_box() == key
    assert page.evaluate("document.documentElement.scrollWidth") <= page.evaluate("innerWidth")
    with page.expect_navigation():
        link.click()
    expect(page.locator("tbody")).to_contain_text("It is from Second body")
    with page.expect_navigation():
        page.get_by_role("button", name="File second_0001.jpg").click()
    expect(page.locator("main")).to_contain_text("Nothing waits")

"""A finished shot becomes a recipe: published, found while typing, solved for other kit, read by a student, made again
and ticked off."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import PHONE, Desk, Server, serving
from webapp.demo.bottle_shoots import bottle_first
from webapp.demo.fill import kept_file
from webapp.demo.set_kit import keep_set_kit
from webapp.demo.shoot import log_shoot
from webapp.kit.starter import lay_out_starter_kit
from webapp.pictures.store import PictureStore
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade
from webapp.settings import Settings
from webapp.shoots.ingest import Intake


@pytest.fixture(scope="module")
def bottle(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data directory with the demo's scent bottle in it, from the ambient check to the final frame."""
    data = tmp_path_factory.mktemp("bottle")
    settings = Settings(data=data)
    records = Records(data)
    upgrade(records)
    lay_out_starter_kit(records)
    store = PictureStore(settings.pictures, most_bytes=1 << 28)
    for _ in log_shoot(records, store, bottle_first(keep_set_kit(records)), kept_file):
        pass
    intake = Intake(settings, records, store)
    intake.catch_up()
    intake.finish()
    intake.close()
    records.close()
    return data


@pytest.fixture
def server(tmp_path: Path, bottle: Path) -> Iterator[Server]:
    watch = tmp_path / "tethered"
    watch.mkdir()
    shutil.copytree(bottle, tmp_path / "data")
    with serving(tmp_path / "data", watch) as running:
        yield running


def publish(desk: Desk) -> Page:
    """From the front page over the final frame to its recipe."""
    page = desk.page
    desk.open("/")
    page.get_by_role("link", name="Scent bottle", exact=True).click()
    page.locator("tr.frame .no a").first.click()
    page.get_by_role("link", name="Publish as a recipe").click()
    page.get_by_label("title", exact=True).fill("Bottle in dark field")
    page.get_by_label("subject", exact=True).fill("hand-blown scent bottle, 18 cm")
    page.get_by_role("button", name="Publish").click()
    expect(page.get_by_role("heading", name="Bottle in dark field")).to_be_visible()
    page.wait_for_load_state()
    return page


def begin_again(page: Page) -> None:
    page.get_by_role("link", name="Reshoot", exact=True).click()
    page.get_by_role("button", name="Begin the reshoot").click()
    expect(page.locator(".account")).to_be_visible()


def test_a_finished_shot_is_published_found_and_solved_for_other_kit(desk: Desk) -> None:
    publish(desk)
    page = desk.page
    page.get_by_role("link", name="Recipes", exact=True).first.click()
    page.wait_for_load_state()
    loads = desk.loads
    found = page.locator("#recipe-results").get_by_role("link", name="Bottle in dark field")
    box = desk.ready.get_by_role("searchbox")
    box.fill("porcelain")
    expect(found).to_be_hidden()
    box.fill("")
    box.press_sequentially("hand-bl")
    expect(found).to_be_visible()
    expect(page).to_have_url(re.compile("q=hand-bl"))
    assert desk.loads == loads

    found.click()
    page.get_by_role("link", name="On other kit").click()
    page.wait_for_load_state()
    loads = desk.loads
    desk.ready.get_by_label("camera", exact=True).select_option("Camera 36 × 24")
    page.get_by_label("lens", exact=True).select_option("100 mm macro")

    # The same field on 36 instead of 44 mm: 0.183 × 36 / 44.
    expect(page.get_by_role("row", name="magnification")).to_contain_text("0.15")
    expect(page.locator("#adapted")).to_contain_text("What could not be kept")
    assert desk.loads == loads


def test_a_student_reads_the_link_without_scripts_and_without_the_house(
    desk: Desk, open_desk: Callable[..., Desk]
) -> None:
    page = publish(desk)
    page.get_by_text("Share", exact=True).click()
    page.get_by_role("button", name="Make a link").click()
    address = page.locator("#links .address a").first.get_attribute("href")

    student = open_desk(PHONE, scripts=False)
    student.open(address or "")

    expect(student.page.get_by_role("heading", name="Bottle in dark field")).to_be_visible()
    expect(student.page.get_by_role("heading", name="Lights")).to_be_visible()
    expect(student.page.locator("main")).to_contain_text("f/11")
    expect(student.page.locator("body")).not_to_contain_text("Vienna")


def test_a_reshoot_stands_level_and_its_ticks_reach_the_other_page(
    desk: Desk, open_desk: Callable[..., Desk]
) -> None:
    page = publish(desk)
    begin_again(page)
    page.wait_for_load_state()
    expect(page.locator(".account")).to_contain_text("against the recipe")
    expect(page.locator("[data-balance]").first).to_have_text("0.0")
    assistant = open_desk(PHONE)
    assistant.open(page.url.removeprefix(desk.url) + "/checklist")
    loads = desk.loads + assistant.loads

    page.locator(".checklist summary").click()
    for number in range(3):
        page.locator(".tick-line").nth(number).click()
        expect(page.locator(".checklist summary")).to_contain_text(f"{number + 1} of")

    expect(assistant.page.locator(".checklist summary")).to_contain_text("3 of")
    expect(assistant.page.locator(".tick-line[aria-pressed=true]")).to_have_count(3)
    expect(page.locator(".checklist details")).to_have_attribute("open", "")
    assert desk.loads + assistant.loads == loads


def test_a_reshoot_is_begun_and_ticked_without_scripts(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk(PHONE, scripts=False)
    page = publish(desk)

    begin_again(page)
    page.locator(".checklist summary").click()
    page.get_by_role("link", name="The list on a page of its own").click()
    page.locator(".tick-line").nth(1).click()

    expect(page.locator(".checklist summary")).to_contain_text("1 of")
    expect(page.locator(".tick-line").nth(1)).to_have_attribute("aria-pressed", "true")

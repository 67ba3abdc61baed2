"""Pages that are read outside of the house: a class follows frames on its phones, a student works on their own kit."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import pytest
from playwright.sync_api import APIRequestContext, Page, expect

from tests.browser.conftest import LAPTOP, PHONE, Desk
from tests.browser.test_access import needs_axe, violations


@dataclass(frozen=True)
class Lesson:
    """A shot with a first frame, its open page, and the press of the photographer."""

    ask: APIRequestContext
    url: str
    session: str
    shot: str
    page: str

    def post(self, address: str, **form: str) -> str:
        return self.ask.post(f"{self.url}{address}", form=form, max_redirects=0).headers.get("location", "")

    def log(self, **words: str) -> None:
        self.post(f"{self.shot}/frames", purpose="test", **words)

    def frames(self) -> list[str]:
        return re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', self.ask.get(f"{self.url}{self.shot}").text())


def lesson(desk: Desk) -> Lesson:
    ask = desk.page.context.request
    made = Lesson(ask, desk.url, "", "", "")
    session = made.post("/sessions", name="bench day")
    shot = made.post(f"{session}/shots", title="Enamel dial")
    made.post(f"{session}/live-pages", title="Table A", hours="8")
    page = re.findall(r'href="(/open/[\w-]+)"', ask.get(f"{desk.url}{session}").text())[0]
    begun = Lesson(ask, desk.url, session, shot, page)
    begun.log()
    return begun


def follow(desk: Desk, begun: Lesson) -> Page:
    desk.open(begun.page)
    expect(desk.page.locator("html")).to_have_attribute("data-news", "listening")
    return desk.page


def test_a_class_sees_frames_come_and_change_without_loading_the_page_again(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk(PHONE)
    begun = lesson(desk)
    page = follow(desk, begun)
    loads = desk.loads

    begun.post(f"{begun.shot}/standing", field="f_number", value="16")
    begun.log()

    expect(page.locator("article h3").first).to_contain_text("Frame 2")
    expect(page.locator("article").first).to_contain_text("aperture f/8 to f/16")
    expect(page.get_by_role("status")).to_contain_text("Frame 2")
    begun.post(begun.frames()[0], revision="1", f_number="11")
    expect(page.locator("article").first).to_contain_text("aperture f/8 to f/11")
    begun.post(f"{begun.frames()[0]}/take-back")
    expect(page.locator("article").first).to_contain_text("excluded")
    begun.post(f"{begun.session}/shots", title="The back of it")
    expect(page.locator("article")).to_have_count(2)
    assert desk.loads == loads


def test_a_new_shot_comes_to_the_head_of_the_page(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk(PHONE)
    begun = lesson(desk)
    page = follow(desk, begun)

    second = begun.post(f"{begun.session}/shots", title="The back of it")
    begun.post(f"{second}/frames", purpose="test")

    expect(page.locator("section h2").first).to_have_text("The back of it")
    expect(page.locator("section").first.locator("article")).to_have_count(1)


def test_a_page_that_is_withdrawn_says_so_and_keeps_what_is_on_it(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk(PHONE)
    begun = lesson(desk)
    page = follow(desk, begun)

    begun.post(f"/live-pages/{begun.page.rsplit('/', 1)[1]}/withdraw")

    expect(page.get_by_role("status")).to_contain_text("This page has ended")
    expect(page.locator("article")).to_have_count(1)


def test_a_reader_without_scripts_reloads(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk(PHONE, scripts=False)
    begun = lesson(desk)
    desk.open(begun.page)
    begun.log()

    desk.page.get_by_role("link", name="Reload").click()

    expect(desk.page.locator("article")).to_have_count(2)


def test_a_student_works_the_recipe_out_on_their_own_kit_without_scripts(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk(PHONE, scripts=False)
    begun = lesson(desk)
    begun.post(f"{begun.shot}/standing", field="magnification", value="0.2")
    begun.log()
    page = desk.page
    desk.open(student_link(begun))

    page.get_by_role("link", name="Work it out on your kit").click()
    page.get_by_label("sensor width").fill("23.5")
    page.get_by_label("sensor height").fill("15.6")
    page.get_by_role("button", name="Work it out").click()

    expect(page.get_by_role("row", name="magnification").first).to_contain_text("0.131")
    expect(page.get_by_label("sensor width")).to_have_value("23.5")
    page.get_by_role("link", name="The recipe").click()
    page.get_by_role("link", name="Close-up with the recipe’s figures").click()
    expect(page.get_by_label("magnification", exact=True)).to_have_value("0.2")
    expect(page.locator("#worksheet-result")).to_contain_text("effective f-number")


def student_link(begun: Lesson) -> str:
    recipe = begun.post(f"{begun.frames()[0]}/recipe", title="Dial", why="soft from above")
    begun.post(f"{recipe}/links", number="1", reader="student")
    return re.findall(r'href="(/shared/[\w-]+)"', begun.ask.get(f"{begun.url}{recipe}").text())[0]


@needs_axe
@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_every_page_outside_of_the_house_passes_axe(
    open_desk: Callable[..., Desk], theme: str, viewport: dict[str, int]
) -> None:
    desk = open_desk(viewport, theme=theme)
    begun = lesson(desk)
    begun.post(f"{begun.shot}/standing", field="magnification", value="0.2")
    begun.log()
    student = student_link(begun)
    for address in (
        begun.session,
        f"{begun.session}/live-pages",
        f"{begun.page}?theme=white",
        f"{begun.page}?theme=dim",
        begun.page,
        student,
        f"{student}/kit?sensor_width_mm=23.5",
        f"{student}/worksheets",
        f"{student}/worksheets/close-up?f_number=11&magnification=1",
    ):
        desk.open(address)
        desk.page.evaluate("document.querySelectorAll('main details').forEach((each) => { each.open = true; })")
        assert violations(desk) == [], address

"""Sheets as the browser prints them: on the paper that was chosen, one page where one is promised, in black on white."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.conftest import PHONE, Desk
from tests.browser.story import begin, log
from tests.pdfs import PAPER_MM, page_count, page_size_mm
from webapp.web.paper.sizes import PAPERS, PaperName

LONG = "Put the octagonal box up on its boom, level it with the table's edge, tape it to the subject, read it alone."


def published(desk: Desk) -> tuple[str, str]:
    """The addresses of a shot and of a recipe with more steps than its sheet can hold."""
    page = begin(desk)
    log(page, 1)
    shot = page.url.removeprefix(desk.url)
    frame = page.locator("tr.frame .no a").first.get_attribute("href")
    form = {"title": "Enamel dial"} | {f"step-{number}-words": LONG for number in range(60)}
    ask = desk.page.context.request
    recipe = ask.post(f"{desk.url}{frame}/recipe", form=form, max_redirects=0).headers["location"]
    ask.post(f"{desk.url}{recipe}/links", form={"number": "1", "reader": "student"}, max_redirects=0)
    return shot, recipe


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_a_set_up_sheet_prints_on_one_page(open_desk: Callable[..., Desk], paper: PaperName, theme: str) -> None:
    desk = open_desk(theme=theme)
    _, recipe = published(desk)
    desk.open(f"{recipe}/sheet?paper={paper}")
    desk.page.locator("[data-laid-out]").wait_for()

    printed = desk.page.pdf(prefer_css_page_size=True, print_background=True)

    assert page_count(printed) == 1
    assert page_size_mm(printed) == pytest.approx(PAPER_MM[paper], abs=0.5)
    assert "more in the recipe" in desk.page.locator(".paper").inner_text()
    # Dim on a dim screen, and white on paper.
    white = "rgb(255, 255, 255)"
    behind = "each => getComputedStyle(each).backgroundColor"
    assert (desk.page.locator(".paper").evaluate(behind) == white) is (theme == "light")
    desk.page.emulate_media(media="print")
    assert desk.page.locator(".paper").evaluate(behind) == white


def test_nothing_on_the_page_is_wider_than_its_paper(desk: Desk) -> None:
    _, recipe = published(desk)
    desk.open(f"{recipe}/sheet?paper=letter")
    desk.page.locator("[data-laid-out]").wait_for()

    over = desk.page.locator(".paper").evaluate(
        """paper => [...paper.querySelectorAll("td, th, p, li, svg, img")]
            .filter(each => each.getBoundingClientRect().right > paper.getBoundingClientRect().right + 0.5)
            .map(each => each.outerHTML.slice(0, 80))"""
    )

    assert over == []


def test_the_sheet_is_read_on_a_phone_without_moving_the_page_sideways(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk(PHONE)
    shot, recipe = published(desk)

    for address in (f"{recipe}/sheet", f"{shot}/contact-sheet"):
        desk.open(address)
        if "/sheet" in address:
            desk.page.locator("[data-laid-out]").wait_for()
        assert desk.page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], address


def test_a_sheet_gives_way_on_a_phone_as_on_any_screen(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk()
    _, recipe = published(desk)
    steps = []
    for each in (desk, open_desk(PHONE)):
        each.open(f"{recipe}/sheet")
        each.page.locator("[data-laid-out]").wait_for()
        steps.append(each.page.locator("[data-laid-out]").get_attribute("data-laid-out"))

        assert page_count(each.page.pdf(prefer_css_page_size=True, print_background=True)) == 1

    assert steps[0] == steps[1] != "0"


def test_how_far_it_gives_way_is_chosen_without_scripts(open_desk: Callable[..., Desk]) -> None:
    _, recipe = published(open_desk())
    desk = open_desk(scripts=False)
    desk.open(f"{recipe}/sheet")
    assert "Without scripts the page is not counted" in desk.page.locator("main").inner_text()

    desk.page.get_by_label("shortened").select_option(label="6 steps, 4 cautions, 6 lights")
    desk.page.get_by_role("button", name="Lay out").click()

    assert desk.page.locator(".paper ol li").count() == 6
    assert "Shortened here, and whole in the recipe: steps" in desk.page.locator(".paper-foot").inner_text()
    assert page_count(desk.page.pdf(prefer_css_page_size=True, print_background=True)) == 1


def test_the_typeface_comes_along(desk: Desk) -> None:
    _, recipe = published(desk)
    desk.open(f"{recipe}/sheet")
    desk.page.locator("[data-laid-out]").wait_for()

    loaded = desk.page.evaluate(
        "[...document.fonts].filter(each => each.status === 'loaded').map(each => each.weight)"
    )

    assert sorted(loaded) == ["400", "700"]


def test_the_button_prints(desk: Desk) -> None:
    shot, _ = published(desk)
    desk.open(f"{shot}/contact-sheet")
    desk.page.evaluate("window.print = () => { window.printed = true; }")

    desk.page.get_by_role("button", name="Print").click()

    assert desk.page.evaluate("window.printed")


def test_paper_and_code_are_chosen_without_scripts(open_desk: Callable[..., Desk]) -> None:
    _, recipe = published(open_desk())
    desk = open_desk(scripts=False)
    desk.open(f"{recipe}/sheet")
    assert desk.page.locator(".paper-code svg").count() == 1

    desk.page.get_by_label("paper").select_option("letter")
    desk.page.get_by_label("QR code of").select_option("none")
    desk.page.get_by_role("button", name="Lay out").click()

    assert desk.page.locator(".paper.on-letter").count() == 1
    assert desk.page.locator(".paper-code").count() == 0

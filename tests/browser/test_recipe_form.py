"""The recipe's form in a browser: a crop is drawn on the picture, and what contradicts itself stands first."""

from __future__ import annotations

import io
import re
from collections.abc import Callable

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.browser.conftest import LAPTOP, PHONE, Desk
from tests.browser.story import begin
from tests.browser.test_access import needs_axe, violations


def frame_with_picture(desk: Desk) -> str:
    """The address of a frame whose field its lens does not give at its distance."""
    page, ask = begin(desk), desk.page.context.request
    shot = page.url.removeprefix(desk.url)
    told = (("focal_length", "100"), ("magnification", "0.5"), ("subject_distance", "2 m"))
    for field, value in told:
        assert ask.post(f"{desk.url}{shot}/standing", form={"field": field, "value": value}).ok
    out = io.BytesIO()
    Image.effect_noise((600, 400), 40).convert("RGB").save(out, "JPEG")
    picture = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}
    assert ask.post(f"{desk.url}{shot}/frames", multipart={"purpose": "final", "picture": picture}).ok
    page.goto(f"{desk.url}{shot}")
    frame = page.locator("tr.frame .no a").first.get_attribute("href") or ""
    expect(page.locator("tr.frame img").first).to_be_visible()
    return frame


def test_a_crop_is_drawn_on_the_picture_and_typed(desk: Desk) -> None:
    frame = frame_with_picture(desk)
    desk.open(f"{frame}/recipe")
    page = desk.page
    page.locator("summary", has_text="Post-production").click()
    picture = page.locator("[data-crop] img")
    picture.scroll_into_view_if_needed()
    picture.evaluate("image => image.decode()")
    box = picture.bounding_box()
    assert box is not None

    page.mouse.move(box["x"] + 0.9 * box["width"], box["y"] + 0.2 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.1 * box["width"], box["y"] + 0.8 * box["height"], steps=4)
    page.mouse.up()

    drawn = [float(page.get_by_label(f"{edge} edge, %").input_value()) for edge in ("left", "top", "right", "bottom")]
    assert drawn == pytest.approx([10, 20, 90, 80], abs=0.6)
    page.get_by_label("left edge, %").fill("25")
    expect(page.locator(".crop-frame")).to_have_attribute("style", re.compile("left: 25%"))


def test_what_contradicts_itself_stands_first_and_is_published_once_it_is_ticked(desk: Desk) -> None:
    frame = frame_with_picture(desk)
    desk.open(f"{frame}/recipe")
    page = desk.page

    expect(page.locator("main h2").first).to_have_text("Before it is published")
    page.get_by_role("button", name="Publish").click()
    expect(page.get_by_role("alert")).to_contain_text("Settle it, or state it as open.")
    for each in page.locator('input[name="open"]').all():
        each.check()
    page.get_by_role("button", name="Publish").click()

    expect(page.get_by_role("heading", name="How well it is known")).to_be_visible()
    expect(page.locator("main")).to_contain_text("contradict each other")


@needs_axe
@pytest.mark.parametrize("viewport", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_the_form_with_open_points_passes_axe(open_desk: Callable[..., Desk], viewport: dict[str, int]) -> None:
    desk = open_desk(viewport)
    desk.open(f"{frame_with_picture(desk)}/recipe")

    assert violations(desk) == []
    wide = desk.page.evaluate("() => document.documentElement.scrollWidth - window.innerWidth")
    assert wide <= 0

"""What takes longer than a moment says how far it is, on the key that began it."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
from PIL import Image
from playwright.sync_api import Route, expect

from tests.browser.conftest import Desk
from tests.browser.story import begin

SLOW = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": 200_000}
FAST = SLOW | {"uploadThroughput": -1}


def test_a_picture_on_its_way_is_told_in_per_cent_and_moves_nothing(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    noise = np.random.default_rng(1).integers(0, 255, (500, 700, 3), dtype=np.uint8)
    Image.fromarray(noise).save(tmp_path / "a.png")
    network = page.context.new_cdp_session(page)
    key = page.locator(".log .drop")
    place = key.bounding_box()

    network.send("Network.emulateNetworkConditions", SLOW)
    page.locator('input[type="file"]').set_input_files(tmp_path / "a.png")
    told = key.locator(".sending")
    expect(told.locator("span")).to_have_text(re.compile(r"[1-9]\d? %"))
    assert key.bounding_box() == place
    network.send("Network.emulateNetworkConditions", FAST)

    expect(page.locator('tr[data-number="1"]')).to_be_visible()
    expect(told).to_have_count(0)
    assert key.bounding_box() == place


def test_a_bundle_that_is_none_is_refused_on_the_page_that_stays(desk: Desk, tmp_path: Path) -> None:
    desk.open("/recipes")
    page = desk.ready
    loads = desk.loads
    (tmp_path / "no.zip").write_bytes(b"no bundle" * 1000)

    page.get_by_label("bundle from another Stopledger").set_input_files(tmp_path / "no.zip")
    page.get_by_role("button", name="Import").click()

    expect(page.get_by_role("alert").locator("visible=true")).to_contain_text("bundle")
    expect(page.locator(".sending")).to_have_count(0)
    assert desk.loads == loads


def test_a_pdf_that_is_being_made_says_so_until_it_is_there(desk: Desk) -> None:
    page = begin(desk)
    desk.open(f"{page.url.removeprefix(desk.url)}/contact-sheet")
    key = page.get_by_role("link", name="PDF")
    held: list[Route] = []
    page.route("**/contact-sheet.pdf*", lambda route: held.append(route))

    with page.expect_download() as download:
        key.click()
        expect(page.locator(".sending")).to_contain_text("making the PDF")
        while not held:
            page.wait_for_timeout(20)
        held[0].continue_()

    assert download.value.suggested_filename.endswith(".pdf")
    expect(page.locator(".sending")).to_have_count(0)

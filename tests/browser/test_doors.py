"""A phone is let in by the code on the computer, shoots along, and is signed out at once; a link opens at the door
outside, where the house does not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, expect

from tests.browser.conftest import LAPTOP, PHONE, Server, serving
from webapp import doors


@pytest.fixture
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Server]:
    """On a machine whose address on the network is another of loopback's."""
    monkeypatch.setattr(doors, "own_address", lambda: "127.0.0.2")
    watch = tmp_path / "tethered"
    watch.mkdir()
    with serving(tmp_path / "data", watch, public_port=0) as running:
        running.do(running.app.state.services.doors.open_at_start())
        yield running


def _context(browser: Browser, viewport: dict[str, int]) -> BrowserContext:
    context = browser.new_context(viewport=viewport, reduced_motion="reduce")  # type: ignore[arg-type]
    context.set_default_timeout(60_000)
    return context


def test_a_phone_comes_in_shoots_along_and_is_shown_out(browser: Browser, house: Server) -> None:
    laptop, phone = _context(browser, LAPTOP).new_page(), _context(browser, PHONE).new_page()
    laptop.goto(house.url)
    laptop.get_by_label("name").fill("bench day")
    laptop.get_by_label("name").press("Enter")
    laptop.get_by_label("title", exact=True).fill("enamel dial")
    laptop.get_by_label("title", exact=True).press("Enter")
    shot = laptop.url.removeprefix(house.url)

    # The phone is let in: two presses on the computer, one on the phone.
    laptop.goto(f"{house.url}/devices")
    laptop.get_by_role("button", name="Open access on the studio’s network").click()
    laptop.get_by_role("button", name="Show the code").click()
    address = laptop.locator("#pairing .address").inner_text()
    assert address.startswith("http://127.0.0.2:")
    phone.goto(address)
    phone.get_by_role("button", name="Sign in").click()
    expect(laptop.locator("#pairing")).to_contain_text("The code was used")

    # Both work on the shot.
    at_studio = re.match(r"http://[^/]+", address)
    assert at_studio
    phone.goto(at_studio.group(0) + shot)
    laptop.goto(house.url + shot)
    laptop.locator("html[data-news=listening]").wait_for()
    phone.locator("html[data-news=listening]").wait_for()
    phone.get_by_role("button", name="Log frame").click()
    expect(laptop.get_by_text("balance against frame 1")).to_be_visible()

    # And the phone is out, at once.
    laptop.goto(f"{house.url}/devices")
    laptop.get_by_role("button", name=re.compile("^Sign out")).click()
    expect(laptop.get_by_text("None but this computer.")).to_be_visible()
    phone.get_by_role("button", name=re.compile("^Log frame")).click()
    expect(phone.locator("[data-saved]")).to_contain_text("signed out · 1 frame not saved yet")
    phone.get_by_role("link", name="sign in").click()
    expect(phone).to_have_url(re.compile("/sign-in"))

    # What was tapped meanwhile goes out when it is back.
    house.app.state.services.devices.set_passphrase("four plain words here")
    phone.reload()
    phone.get_by_label("passphrase").fill("four plain words here")
    phone.get_by_role("button", name="Sign in").click()
    expect(phone.locator("[data-saved]")).to_contain_text("saved")
    expect(phone.get_by_role("button", name="Log frame 3")).to_be_visible()


def test_a_link_opens_at_the_door_outside_and_the_house_does_not(browser: Browser, house: Server) -> None:
    laptop, pupil = _context(browser, LAPTOP).new_page(), _context(browser, PHONE).new_page()
    laptop.goto(house.url)
    laptop.get_by_label("name").fill("bench day")
    laptop.get_by_label("name").press("Enter")
    laptop.locator("summary", has_text="Live pages").click()
    laptop.get_by_label("title of the page").fill("Class of Tuesday")
    laptop.get_by_label("title of the page").press("Enter")
    address = laptop.locator("#live-pages .address a").inner_text()

    assert not address.startswith(house.url)
    pupil.goto(address)
    expect(pupil.get_by_role("heading", name="Class of Tuesday")).to_be_visible()
    outside = re.match(r"http://[^/]+", address)
    assert outside
    for path in ("/", "/sign-in", "/devices", "/api/v1/sessions"):
        answer = pupil.goto(outside.group(0) + path)
        assert answer is not None
        assert answer.status == 404

"""Taps on the set over a network that fails: kept on the device, sent in order and once; what is shown is the record."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.cards import card
from tests.browser.conftest import Desk, serving
from tests.browser.story import KEPT, add_light, begin, from_the_menu, kept_on_the_device, log, set_dial

SCHEDULES = 200
TAPS_IN_ONE = 3

# A network that loses what goes out (the server never hears of it) or what comes back (it has done as it was told). It
# is told beforehand what becomes of each try; a try for which nothing is told goes through.
UNSTEADY = """
window.fates = [];
const steady = window.fetch;
window.fetch = async (address, request) => {
  if (request?.method !== "POST") return steady(address, request);
  const fate = window.fates.shift();
  if (fate === "lost on the way out") throw new TypeError("lost");
  const answer = await steady(address, request);
  if (fate === "lost on the way back") throw new TypeError("lost");
  return answer;
};
window.waits = window.setTimeout;
window.setTimeout = (what, after, ...rest) => window.waits(what, after >= 500 && after <= 4000 ? 5 : after, ...rest);
"""


def record(page: Page) -> dict[str, Any]:
    """The set-up as the server has it, and its frames, the oldest first."""
    shot = page.url.split("/shots/")[1].split("?")[0]
    base = page.url.split("/shots/")[0]
    fields = page.request.get(f"{base}/api/v1/shots/{shot}/standing").json()["fields"]
    listed = page.request.get(f"{base}/api/v1/shots/{shot}/frames").json()["frames"]
    newest_last = sorted(listed, key=lambda each: each["number"])
    return {
        "fields": {name: each["value"] for name, each in fields.items()},
        "frames": [each["set_up"]["f_number"] for each in newest_last],
        "newest": newest_last[-1]["number"] if newest_last else 0,
    }


def settled(page: Page) -> None:
    expect(page.locator("[data-saved]")).not_to_contain_text("not saved yet")


def cut(page: Page) -> None:
    page.context.set_offline(True)


def mended(page: Page) -> None:
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")


def test_what_is_tapped_while_the_network_is_away_waits_in_sight_and_goes_out_in_order(desk: Desk) -> None:
    page = begin(desk)
    log(page, 1)
    cut(page)

    darker = page.get_by_role("button", name="f-number: smaller, darker")
    for _ in range(3):
        darker.click()
    page.locator(".log .key").click()
    darker.click()

    expect(page.locator("[data-saved]")).to_contain_text("out of reach · 1 frame and 4 changes not saved yet")
    expect(page.locator(".f_number .not-saved")).to_have_text("+4 not saved yet")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/8")
    desk.errors.clear()
    mended(page)

    settled(page)
    expect(page.locator("[data-saved]")).to_contain_text("saved ")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/13")
    expect(page.locator('tr[data-number="2"]')).to_contain_text("f/11")
    expect(page.locator(".not-saved")).to_have_count(0)
    assert record(page)["frames"] == ["8", "11"]
    desk.errors.clear()


def test_taps_on_a_dial_that_a_file_contradicted_wait_and_go_out_like_any(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    log(page, 1)
    page.locator('.log input[type="file"]').set_input_files(card(tmp_path / "a1.jpg", 0.0, 11))
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/11")
    expect(page.get_by_text("the file's is used")).to_be_visible()
    cut(page)

    darker = page.get_by_role("button", name="f-number: smaller, darker")
    for _ in range(3):
        darker.click()
    expect(page.locator("[data-saved]")).to_contain_text("out of reach · 3 changes not saved yet")
    desk.errors.clear()
    mended(page)

    settled(page)
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/16")
    assert not [error for error in desk.errors if "undefined" in error]
    desk.errors.clear()


def test_a_refusal_from_before_the_cut_is_not_said_of_what_is_tapped_in_it(desk: Desk) -> None:
    page = begin(desk)
    set_dial(page, "f-number", "45")
    refusal = page.locator(".one-sentence .problem")
    expect(refusal).to_have_text("100 mm macro goes from f/2.8 to f/32.")
    cut(page)

    page.get_by_role("button", name="f-number: smaller, darker").click()
    expect(page.locator("[data-saved]")).to_contain_text("out of reach · 1 change not saved yet")
    expect(refusal).to_have_text("")

    desk.errors.clear()
    mended(page)
    settled(page)
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/9")
    desk.errors.clear()


def test_a_frame_that_waited_is_logged_at_the_time_of_the_tap(desk: Desk) -> None:
    page = begin(desk)
    cut(page)

    page.locator(".log .key").click()
    page.wait_for_timeout(2500)
    mended(page)
    expect(page.locator('tr[data-number="1"]')).to_be_visible()
    settled(page)

    shot = page.url.split("/shots/")[1]
    frame = page.request.get(f"{desk.url}/api/v1/shots/{shot}/frames").json()["frames"][0]
    now = page.evaluate("Date.now()") / 1000
    logged = page.evaluate("at => Date.parse(at)", frame["logged_at"]) / 1000
    assert now - logged > 2.0
    desk.errors.clear()


def test_thirty_taps_and_three_frames_outlive_a_server_that_is_killed_and_a_tab_that_is_closed(
    open_desk: Callable[..., Desk], tmp_path: Path
) -> None:
    desk = open_desk()
    page = begin(desk)
    add_light(page, 2)
    shot = page.url
    cut(page)
    lighter = page.get_by_role("button", name="power of A: higher, lighter")
    for tap in range(30):
        lighter.click()
        if tap % 10 == 9:
            page.locator(".log .key").click()
            page.wait_for_timeout(450)
    expect(page.locator("[data-saved]")).to_contain_text("3 frames and 30 changes not saved yet")
    context = page.context
    page.close()

    context.set_offline(False)
    again = context.new_page()
    again.goto(shot)
    expect(again.locator("[data-saved]")).to_contain_text("saved ")
    settled(again)

    assert len(record(again)["frames"]) == 3
    # Thirty clicks of a tenth are three stops: 6.25 J is 50 J (arithmetic).
    expect(again.get_by_label("power of A", exact=True)).to_have_value("50 J")
    assert record(again)["fields"]["lights.A.power"] == "50 J"
    desk.errors.clear()


def test_what_waits_is_sent_to_the_server_that_comes_up_again(open_desk: Callable[..., Desk], tmp_path: Path) -> None:
    data, watch = tmp_path / "another", tmp_path / "watched"
    watch.mkdir()
    desk = open_desk()
    with serving(data, watch) as first:
        desk.url = first.url
        page = begin(desk)
        set_dial(page, "f-number", "11")
    page.get_by_role("button", name="f-number: smaller, darker").click()
    expect(page.locator("[data-saved]")).to_contain_text("out of reach · 1 change not saved yet")
    port = int(first.url.rsplit(":", 1)[1])

    with serving(data, watch, port):
        expect(page.get_by_label("f-number", exact=True)).to_have_value("f/13")
        settled(page)
        page.goto("about:blank")
    desk.errors.clear()


def test_a_change_that_waited_clashes_with_what_somebody_else_changed_and_both_are_shown(
    open_desk: Callable[..., Desk],
) -> None:
    mine, other = open_desk(), open_desk()
    page = begin(mine)
    other.page.goto(page.url)
    cut(page)
    field = page.get_by_label("f-number", exact=True)
    field.fill("16")
    field.press("Enter")
    expect(page.locator(".f_number .not-saved")).to_have_text("16 not saved yet")
    set_dial(other.page, "f-number", "22")

    mended(page)

    expect(page.locator(".one-sentence .problem")).to_contain_text("Another page of yours changed the f-number to 22")
    expect(page.locator(".one-sentence .problem")).to_contain_text("16 was not written in")
    expect(field).to_have_value("f/22")

    cut(page)
    field.fill("11")
    field.press("Enter")
    expect(field).to_have_value("f/22")
    set_dial(other.page, "f-number", "32")
    page.locator(".log .key").click()
    mended(page)
    expect(page.locator('tr[data-number="1"]')).to_contain_text("f/32")
    expect(page.locator("#trouble")).to_contain_text("11 was not written in")
    page.get_by_role("button", name="ISO: higher").click()
    expect(page.locator("#trouble")).to_be_hidden()
    mine.errors.clear()


def test_steps_upon_a_step_that_clashed_clash_with_it(open_desk: Callable[..., Desk]) -> None:
    mine, other = open_desk(), open_desk()
    page = begin(mine)
    other.page.goto(page.url)
    cut(page)
    darker = page.get_by_role("button", name="f-number: smaller, darker")
    for _ in range(3):
        darker.click()
    expect(page.locator("[data-saved]")).to_contain_text("3 changes not saved yet")
    set_dial(other.page, "f-number", "22")

    mended(page)

    settled(page)
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/22")
    assert record(page)["fields"]["f_number"] == "22"
    expect(page.locator(".one-sentence .problem")).to_contain_text("Another page of yours changed the f-number to 22")
    mine.errors.clear()


def test_a_frame_logged_in_the_same_cut_says_what_was_tapped_and_not_written(
    open_desk: Callable[..., Desk],
) -> None:
    mine, other = open_desk(), open_desk()
    page = begin(mine)
    other.page.goto(page.url)
    cut(page)
    darker = page.get_by_role("button", name="f-number: smaller, darker")
    for _ in range(2):
        darker.click()
    page.locator(".log .key").click()
    expect(page.locator("[data-saved]")).to_contain_text("1 frame and 2 changes not saved yet")
    set_dial(other.page, "f-number", "22")

    mended(page)

    settled(page)
    assert record(page)["frames"] == ["22"]
    expect(page.locator('tr[data-number="1"]')).to_contain_text(
        "Tapped before it and not written: the f-number f/10 (the frame has f/22)."
    )
    page.locator('tr[data-number="1"] .no a').click()
    expect(page.get_by_text("not written: the f-number f/10")).to_be_visible()
    mine.errors.clear()


# One schedule: taps in quick succession over a network of which each try's fate is told, until all are saved. The answer
# is the power that the record then holds, and the one that the dial shows.
SCHEDULE = """async ({ fates, taps, standing }) => {
  window.fates = fates;
  for (const tap of taps) {
    if (tap === "frame") document.querySelector("form.log").requestSubmit();
    else document.querySelectorAll(".light .stepper")[tap === "darker" ? 0 : 1].click();
  }
  while (/not saved yet/.test(document.querySelector("[data-saved]").textContent)) {
    await new Promise((go) => window.waits(go, 5));
  }
  const { fields } = await (await fetch(standing)).json();
  return [fields["lights.A.power"].value, document.querySelector(".light .mark").value];
}"""


@pytest.mark.parametrize("seed", range(4))
def test_whatever_the_network_loses_the_record_holds_each_tap_once_and_the_page_shows_it(
    open_desk: Callable[..., Desk], seed: int
) -> None:
    desk = open_desk()
    desk.page.add_init_script(UNSTEADY)
    page = begin(desk)
    drawn = random.Random(seed)
    standing = "/api/v1/shots/" + page.url.split("/shots/")[1] + "/standing"
    set_dial(page, "power of A", "1/4")
    start = record(page)["fields"]["lights.A.power"]

    def run(taps: list[str], fates: list[str]) -> str:
        held, shown = page.evaluate(SCHEDULE, {"fates": fates, "taps": taps, "standing": standing})
        assert held == shown
        return str(held)

    frames = place = 0
    for _ in range(SCHEDULES // 4):
        taps = []
        for drawn_tap in drawn.choices(["lighter", "darker", "frame"], k=TAPS_IN_ONE):
            # Within fifteen clicks of the start, so that no end of the dial refuses one.
            tap = {15: "darker", -15: "lighter"}.get(place, drawn_tap) if drawn_tap != "frame" else drawn_tap
            place += {"lighter": 1, "darker": -1, "frame": 0}[tap]
            frames += tap == "frame"
            taps.append(tap)
        run(taps, drawn.choices(["lost on the way out", "lost on the way back", ""], k=2 * TAPS_IN_ONE))

    assert record(page)["newest"] == frames
    back = ["darker" if place > 0 else "lighter"] * abs(place)
    assert run(back, []) == start
    desk.errors.clear()


def test_every_way_to_log_or_to_change_the_set_up_is_kept_while_the_server_is_out_of_reach(desk: Desk) -> None:
    page = begin(desk)
    log(page, 1)
    page.get_by_role("button", name="Hero").click()
    expect(page.locator('tr[data-number="1"] .for')).to_contain_text("hero")
    settled(page)
    cut(page)
    waits = page.locator("[data-saved]")

    from_the_menu(page, "Ambient check")
    page.get_by_role("button", name="shutter: longer").click()
    page.locator(".log .key").click()
    expect(waits).to_contain_text("out of reach · 1 frame and 2 changes not saved yet")
    expect(page.locator(".newest .which")).to_have_text("frame 2, not saved yet")
    page.get_by_role("button", name="Hero").click()
    expect(page.locator('[data-verdict="hero"]')).to_have_attribute("aria-pressed", "true")
    page.locator(".note-of input").fill("of the room")
    page.locator(".note-of input").press("Enter")
    page.locator(".newest .by-eye input:visible").fill("black")
    page.keyboard.press("Enter")
    expect(waits).to_contain_text("1 frame and 5 changes")
    page.get_by_label("next frame").select_option("final")
    page.get_by_label("note", exact=True).fill("for the cover")
    page.get_by_label("note", exact=True).press("Enter")
    expect(waits).to_contain_text("2 frames and 7 changes")
    page.locator(".light .letter").click()
    page.locator(".log .key").click()
    expect(waits).to_contain_text("3 frames and 8 changes")
    desk.errors.clear()
    mended(page)

    settled(page)
    shot = page.url.split("/shots/")[1]
    listed = page.request.get(f"{desk.url}/api/v1/shots/{shot}/frames").json()["frames"]
    first, room, cover, last = sorted(listed, key=lambda each: each["number"])
    assert (room["purpose"], room["because"], room["verdict"]) == ("ambient check", "of the room", "hero")
    assert first["verdict"] != "hero"
    assert room["set_up"]["shutter"] == "1.3"
    assert room["set_up"]["lights"]["A"]["lit"] is False
    assert (cover["purpose"], cover["because"], cover["set_up"]["shutter"]) == ("final", "for the cover", "1/125")
    assert cover["set_up"]["lights"]["A"]["lit"] is True
    assert last["because"] == ""
    assert last["set_up"]["lights"]["A"]["lit"] is False
    expect(page.locator(".bar .proof")).to_contain_text("Ambient proven by eye")
    desk.errors.clear()


def test_another_light_whose_answer_was_lost_comes_into_the_set_once(desk: Desk) -> None:
    desk.page.add_init_script(UNSTEADY)
    page = begin(desk)
    page.evaluate("window.fates = ['lost on the way back']")

    add_light(page, 2)

    settled(page)
    assert "lights.B.power" in record(page)["fields"]
    assert "lights.C.power" not in record(page)["fields"]
    desk.errors.clear()


def test_what_cannot_be_kept_says_so(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)
    cut(page)

    page.locator(".menu > summary").click()
    page.get_by_role("link", name="Kit and positions").click()
    expect(page.get_by_role("alert").first).to_contain_text("Out of reach: this comes from the server.")
    page.locator('.log input[type="file"]').set_input_files(card(tmp_path / "a1.jpg", 0.0, 8, minute=1))
    expect(page.get_by_role("alert").first).to_contain_text("the picture was not sent and no frame was logged")

    mended(page)
    log(page, 1)
    expect(page.locator("#trouble")).to_be_hidden()
    desk.errors.clear()


def test_the_page_for_shooting_opens_from_a_closed_tab_without_the_server_and_takes_taps(desk: Desk) -> None:
    page = begin(desk)
    log(page, 1)
    kept_on_the_device(page)
    shot, context = page.url, page.context
    desk.open("/kit")
    page.close()
    context.set_offline(True)
    again = context.new_page()

    again.goto(desk.url + "/")
    expect(again).to_have_url(shot)
    expect(again.locator("[data-saved]")).to_contain_text("from this device, as seen ")
    expect(again.locator('tr[data-number="1"]')).to_be_visible()
    again.get_by_role("button", name="f-number: smaller, darker").click()
    again.locator(".log .key").click()
    expect(again.locator("[data-saved]")).to_contain_text("1 frame and 1 change not saved yet")
    again.close()
    last = context.new_page()
    last.goto(shot)
    expect(last.locator("[data-saved]")).to_contain_text("1 frame and 1 change not saved yet")

    context.set_offline(False)
    expect(last.locator('tr[data-number="2"]')).to_be_visible()
    expect(last.locator("html[data-seen]")).to_have_count(0)
    settled(last)
    assert record(last)["frames"] == ["8", "9"]
    desk.errors.clear()


def test_of_pages_only_the_last_one_for_shooting_is_kept_and_none_that_the_server_refuses(desk: Desk) -> None:
    page = begin(desk)
    kept_on_the_device(page)
    first = page.url
    desk.open("/kit")
    desk.open("/recipes")
    page = begin(desk, "Second dial")
    kept_on_the_device(page)
    pages = [each for each in page.evaluate(KEPT) if not each.startswith(("/static/", "/guide"))]
    assert pages == ["/shots/" + page.url.split("/shots/")[1]]

    page.request.post(f"{page.url}/delete", headers={"Origin": desk.url})
    page.reload()
    assert page.evaluate(KEPT) == []
    page.goto(first)
    expect(page.locator("h1")).to_have_text("Enamel dial")
    expect(page.locator("html[data-seen]")).to_have_count(0)
    desk.errors.clear()

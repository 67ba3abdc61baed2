"""The page for shooting: nothing on it moves, everything lies within the view, and few presses do the common things."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.cards import card
from tests.browser.conftest import PHONE, Desk
from tests.browser.story import add_light, begin, expect_balance, from_the_menu, log, press_away, set_dial

SMALL_LAPTOP = {"width": 1280, "height": 800}
MOST_CONTROLS = 60

PLACES = """() => Object.fromEntries([...document.querySelectorAll(
    ".line.f_number, .line.light, .line .stepper, .line .mark, .closed-line, .one-sentence, .ways-row, .all-ways," +
    "[data-balance], .sums, .sums dd, .log .key, .log .drop, .stage, .verdicts button, .bar"
  )].filter(each => each.checkVisibility()).map((each, index) => {
    const box = each.getBoundingClientRect();
    const name = each.dataset.verdict || each.id || each.name + (each.value ?? "") || each.className.split(" ").slice(0, 2).join(" ");
    return [`${index} ${each.matches(".mark") ? each.id : each.matches(".light") ? each.id : name.slice(0, 30)}`,
            [box.x, box.y, box.width, box.height].map(side => Math.round(10 * side) / 10)];
  }))"""
IN_VIEW = """() => [...document.querySelectorAll(
    ".line.f_number .mark, .line.light .mark, .one-sentence, .log .key, .stage, [data-balance], .sums dd"
  )].filter(each => each.checkVisibility()).filter(each => {
    const box = each.getBoundingClientRect();
    return box.top < 0 || box.left < 0 || box.bottom > innerHeight || box.right > innerWidth;
  }).map(each => each.outerHTML.slice(0, 80))"""


def places(page: Page) -> dict[str, Any]:
    """Where dials, keys and balances are, by what they are."""
    page.wait_for_timeout(150)
    found: dict[str, Any] = page.evaluate(PLACES)
    return {name.partition(" ")[0] + " " + name.partition(" ")[2].split(" ")[0]: box for name, box in found.items()}


@pytest.mark.parametrize("lights", [1, 2, 4])
@pytest.mark.parametrize("viewport", [SMALL_LAPTOP, PHONE], ids=["laptop", "phone"])
def test_nothing_moves_under_the_finger_and_all_of_it_is_in_sight(
    open_desk: Callable[..., Desk], viewport: dict[str, int], lights: int
) -> None:
    desk = open_desk(viewport)
    page = begin(desk)
    for count in range(2, lights + 1):
        add_light(page, count)
    log(page, 1)
    before = places(page)
    assert page.evaluate(IN_VIEW) == []

    set_dial(page, "f-number", "22")
    expect(page.locator(".one-sentence .key")).to_be_visible()
    assert places(page) == before
    set_dial(page, "f-number", "no number")
    expect(page.locator(".one-sentence .problem")).to_be_visible()
    assert places(page) == before
    page.locator(".one-sentence .key").click()
    expect(page.locator(".one-sentence .problem")).to_have_count(0)
    assert places(page) == before
    page.get_by_role("button", name="power of A: higher, lighter").click()
    expect(page.locator(".light .changed").first).to_be_visible()
    assert places(page) == before
    log(page, 2)
    assert places(page) == before
    page.locator('[data-verdict="stands"]').click()
    expect(page.locator('[data-verdict="stands"]')).to_have_attribute("aria-pressed", "true")
    assert places(page) == before
    assert page.evaluate(IN_VIEW) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]


@pytest.mark.parametrize("lights", [1, 2, 4])
@pytest.mark.parametrize("viewport", [SMALL_LAPTOP, PHONE], ids=["laptop", "phone"])
def test_with_a_picture_and_its_patch_nothing_moves_over_a_shoot_by_keys(
    open_desk: Callable[..., Desk], viewport: dict[str, int], lights: int, tmp_path: Path
) -> None:
    desk = open_desk(viewport)
    page = begin(desk)
    for count in range(2, lights + 1):
        add_light(page, count)
    page.locator('input[type="file"]').set_input_files(card(tmp_path / "a1.jpg", 0.0, 8, minute=1))
    expect(page.locator(".stage img")).to_be_visible()
    frame = page.locator('tr[data-number="1"] .no a').get_attribute("href")
    sides = {"x": "40", "y": "40", "width": "20", "height": "20"}
    page.request.post(f"{desk.url}{frame}/patches", form={"name": "card", "wanted_stops": "0", **sides})
    page.reload()
    desk.hears_the_news()
    expect(page.locator(".stage .patch")).to_have_count(1)
    before = places(page)
    assert page.evaluate(IN_VIEW) == []

    for keys, shown in (
        (("1", "ArrowDown"), ".one-sentence .key"),
        (("s",), ".light .changed"),
        ((" ",), 'tr[data-number="2"]'),
        (("h",), '[data-verdict="hero"][aria-pressed="true"]'),
        (("n", "2", "ArrowUp"), ".light .changed"),
        ((" ",), 'tr[data-number="3"]'),
    ):
        for key in keys:
            page.keyboard.press(key)
        expect(page.locator(shown).first).to_be_attached()
        assert places(page) == before, keys
    page.locator('input[type="file"]').set_input_files(card(tmp_path / "a2.jpg", 1.0, 8, minute=3))
    expect(page.locator('tr[data-number="4"]')).to_be_attached()
    expect(page.locator(".stage img")).to_have_attribute("alt", "picture of frame 4")
    assert places(page) == before
    assert page.evaluate(IN_VIEW) == []


@pytest.mark.parametrize("viewport", [SMALL_LAPTOP, PHONE], ids=["laptop", "phone"])
def test_what_the_kit_cannot_do_is_refused_beside_a_key_to_the_nearest_and_nothing_moves(
    open_desk: Callable[..., Desk], viewport: dict[str, int]
) -> None:
    page = begin(open_desk(viewport))
    set_dial(page, "power of A", "12.5 J")
    log(page, 1)
    before, key = places(page), page.locator(".ways-row .key")

    set_dial(page, "f-number", "45")
    expect(page.locator(".one-sentence .problem")).to_have_text("100 mm macro goes from f/2.8 to f/32.")
    expect(key).to_have_text("Set f/32")
    row, placed = page.locator(".ways-row").bounding_box(), key.bounding_box()
    assert row is not None
    assert placed is not None
    assert (placed["x"], placed["y"]) == (row["x"], row["y"])
    assert places(page) == before
    key.click()
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/32")
    assert places(page) == before

    set_dial(page, "power of A", "3 J")
    expect(key).to_have_text("Set A 6.25 J")
    expect(page.get_by_label("power of A", exact=True)).to_have_value("12.5 J")
    assert places(page) == before
    page.get_by_role("link", name="Other ways").click()
    panel = page.locator("section.panel")
    expect(panel.get_by_role("heading", name="Other ways to 3 J of A")).to_be_visible()
    panel.get_by_role("button", name="Set A 6.25 J, put ND 0.3 sheet on A").click()
    expect(page.get_by_label("power of A", exact=True)).to_have_value("6.25 J")
    expect(panel.get_by_role("heading", name="Other ways to 3 J of A")).to_have_count(0)
    page.keyboard.press("Escape")
    assert places(page) == before


def test_the_first_view_has_few_controls_and_the_page_is_small(open_desk: Callable[..., Desk]) -> None:
    desk = open_desk(SMALL_LAPTOP)
    page = begin(desk)
    add_light(page, 2)
    log(page, 1)
    page.reload()

    controls = page.evaluate(
        """() => [...document.querySelectorAll("a, button, input:not([type=hidden]), select, summary")]
            .filter(each => each.checkVisibility() && !each.classList.contains("unseen"))
            .filter(each => each.getBoundingClientRect().top < innerHeight).length"""
    )
    assert controls <= MOST_CONTROLS
    assert len(page.content().encode()) < 150_000


def test_an_unchanged_frame_a_correction_and_a_hero_are_one_press_each(desk: Desk) -> None:
    page = begin(desk)

    page.locator(".log .key").click()
    expect(page.locator('tr[data-number="1"]')).to_be_visible()
    page.locator('[data-verdict="hero"]').click()
    expect(page.locator('tr[data-number="1"] .for')).to_contain_text("hero")
    set_dial(page, "f-number", "11")
    expect_balance(page, "A", "−1.0")
    expect(page.locator(".light .figure")).to_be_visible()
    page.locator(".one-sentence .key").click()
    expect_balance(page, "A", "0.0")


def test_four_stops_of_aperture_and_five_of_a_light_take_six_moves(desk: Desk) -> None:
    page = begin(desk)
    set_dial(page, "f-number", "5.6")
    set_dial(page, "power of A", "6.25 J")
    log(page, 1)

    # A click selects the value, so that what is typed replaces it; Enter sets it: three moves a dial.
    for label, typed in (("f-number", "22"), ("power of A", "+5")):
        page.get_by_label(label, exact=True).click()
        page.keyboard.type(typed)
        with page.expect_response(lambda answer: answer.url.endswith("/standing")):
            page.keyboard.press("Enter")

    expect_balance(page, "A", "+1.0")
    expect(page.locator(".f_number .under")).to_contain_text("four gaps, five marks")


def test_the_room_is_read_in_three_presses(desk: Desk) -> None:
    page = begin(desk)
    log(page, 1)

    page.locator(".menu > summary").click()
    page.get_by_role("button", name="Ambient check").click()
    expect(page.get_by_label("shutter", exact=True)).to_have_value("1 s")
    page.keyboard.press("Escape")
    page.locator(".log .key").click()

    expect(page.locator('tr[data-number="2"] .for')).to_contain_text("ambient check")


def test_one_key_hides_from_the_client_what_is_private_and_shows_it_again(desk: Desk) -> None:
    page = begin(desk)
    log(page, 1)
    page.get_by_label("note on frame 1").fill("too hot, for the retoucher")
    page.get_by_label("note on frame 1").press("Enter")
    expect(page.locator('tr[data-number="1"] .for')).to_contain_text("too hot")
    page.locator("h1").click()

    page.keyboard.press("p")
    for hidden in (
        ".verdicts",
        ".note-of",
        ".because",
        '.left .headline a:has-text("Tuesday")',
        ".frame .for .private",
    ):
        expect(page.locator(hidden).first).to_be_hidden()
    page.reload()
    expect(page.locator(".note-of")).to_be_hidden()
    page.locator("h1").click()
    page.keyboard.press("p")

    expect(page.locator(".note-of")).to_be_visible()


def test_a_long_press_and_a_press_with_shift_are_a_whole_stop(desk: Desk) -> None:
    page = begin(desk)
    set_dial(page, "f-number", "8")
    darker = page.get_by_role("button", name="f-number: smaller, darker")

    darker.click(modifiers=["Shift"])
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/11")
    darker.click(delay=700)
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/16")
    darker.click()
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/18")


def test_the_darker_key_is_at_the_left_of_every_dial(desk: Desk) -> None:
    page = begin(desk)

    for line in page.locator(".dials .line:has(.stepper)").all():
        assert [each.split("\n")[-1] for each in line.locator(".stepper").all_inner_texts()] == ["darker", "lighter"]


def test_everything_is_done_by_keys_while_nothing_is_typed(desk: Desk) -> None:
    page = begin(desk)
    page.keyboard.press(" ")
    expect(page.locator('tr[data-number="1"]')).to_be_visible()

    page.keyboard.press("Shift+ArrowDown")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/11")
    page.keyboard.press("s")
    expect_balance(page, "A", "0.0")
    page.keyboard.press("n")
    page.keyboard.press("ArrowUp")
    expect_balance(page, "A", "+0.1")
    for key, verdict in (("k", "stands"), ("x", "fails"), ("h", "hero")):
        page.keyboard.press(key)
        expect(page.locator(f'[data-verdict="{verdict}"]')).to_have_attribute("aria-pressed", "true")
    page.keyboard.press("?")
    expect(page.get_by_role("dialog", name="Keys")).to_be_visible()
    page.keyboard.press("Escape")
    page.get_by_label("note on frame 1").click()
    page.keyboard.type("k x h ? n")
    expect(page.get_by_label("note on frame 1")).to_have_value("k x h ? n")
    expect(page.get_by_role("dialog", name="Keys")).to_be_hidden()


def test_a_presenters_remote_reaches_everything_with_three_keys(desk: Desk) -> None:
    page = begin(desk)
    from_the_menu(page, "Presenter’s remote")

    page.keyboard.press(".")
    expect(page.locator('tr[data-number="1"]')).to_be_visible()
    page.keyboard.press("PageDown")
    expect(page.locator(".remote")).to_have_text("lighter")
    page.keyboard.press(".")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/7.1")
    for _ in range(2):
        page.keyboard.press("PageUp")
    expect(page.locator(".remote")).to_have_text("black")
    page.keyboard.press(".")
    expect(page.locator(".blackout")).to_be_visible()


def test_what_is_off_is_said_once_when_it_has_settled(desk: Desk) -> None:
    page = begin(desk)
    log(page, 1)
    expect(page.locator("[data-announcer]")).to_have_text("Frame 1 logged. A on target.")

    set_dial(page, "f-number", "11")

    expect(page.locator("[data-announcer]")).to_have_text("A 1.0 under. Set A 12.5 J.")


def test_the_newest_picture_is_large_with_its_patches_and_what_they_read(desk: Desk, tmp_path: Path) -> None:
    page = begin(desk)

    page.locator('input[type="file"]').set_input_files(card(tmp_path / "a1.jpg", 0.0, 8, minute=1))

    picture = page.locator(".stage img")
    expect(picture).to_be_visible()
    box = picture.bounding_box()
    assert box is not None
    assert box["width"] > 600
    log(page, 2)
    expect(page.locator(".stage .other")).to_have_text("frame 1; frame 2 has no picture")


def test_without_a_picture_a_reading_is_typed_and_the_account_follows(desk: Desk) -> None:
    page = begin(desk)
    log(page, 1)
    page.get_by_label("by eye, frame 1").fill("0.0")
    page.keyboard.press("Enter")
    expect(page.locator('tr[data-number="1"] .read')).to_have_text("0.0 by eye")
    set_dial(page, "f-number", "11")
    log(page, 2)

    page.get_by_label("by eye, frame 2").fill("rather bright")
    page.keyboard.press("Enter")
    expect(page.locator(".stage .problem")).to_contain_text("“rather bright” says no level")
    expect(page.get_by_label("by eye, frame 2")).to_have_value("rather bright")
    page.get_by_label("by eye, frame 2").fill("half a stop under")
    page.keyboard.press("Enter")

    expect(page.locator('tr[data-number="2"] .read')).to_have_text("−0.5 by eye")
    expect(page.locator(".stage")).to_contain_text("frame 2 · read −0.5 by eye")
    expect(page.locator(".unexplained-of strong")).to_have_text("+0.5")
    log(page, 3)
    expect(page.get_by_label("by eye, frame 3")).to_have_value("")


def test_on_a_phone_the_reading_by_eye_leaves_the_older_picture_in_sight(
    open_desk: Callable[..., Desk], tmp_path: Path
) -> None:
    page = begin(open_desk(PHONE))
    page.locator('input[type="file"]').set_input_files(card(tmp_path / "a1.jpg", 0.0, 8, minute=1))
    expect(page.locator(".stage img")).to_be_visible()
    log(page, 2)

    stage, field, words = (
        page.locator(selector).bounding_box() for selector in (".stage", ".newest .by-eye", ".stage .other")
    )
    assert stage is not None
    assert field is not None
    assert words is not None
    assert field["width"] <= stage["width"] / 2
    assert field["y"] + field["height"] == pytest.approx(stage["y"] + stage["height"], abs=1.0)
    assert words["x"] + words["width"] <= field["x"]


def test_an_ambient_check_is_proven_by_eye(desk: Desk) -> None:
    page = begin(desk)
    log(page, 1)
    from_the_menu(page, "Ambient check")
    expect(page.get_by_label("shutter", exact=True)).to_have_value("1 s")
    log(page, 2)

    page.get_by_label("by eye, frame 2").fill("black")
    page.keyboard.press("Enter")

    expect(page.locator(".bar .proof")).to_contain_text(
        "Ambient proven by eye, at least 12.0 stops below · still holds"
    )


def test_on_a_phone_the_proof_its_age_and_the_key_to_repeat_it_are_in_the_desk(
    open_desk: Callable[..., Desk],
) -> None:
    page = begin(open_desk(PHONE))
    room = page.locator(".desk .room-line")
    room.scroll_into_view_if_needed()
    expect(room).to_contain_text("Ambient not proven yet")
    room.get_by_role("button", name="Ambient check").click()
    expect(page.get_by_label("shutter", exact=True)).to_have_value("1 s")
    log(page, 1)
    page.get_by_label("by eye, frame 1").fill("black")
    page.keyboard.press("Enter")

    expect(room).to_contain_text(
        re.compile(r"at least 12\.0 stops below · still holds checked \d\d:\d\d, again by \d\d:\d\d")
    )
    again = room.get_by_role("button", name="Check again")
    again.scroll_into_view_if_needed()
    box = again.bounding_box()
    assert box is not None
    assert box["height"] >= 48
    again.click()
    expect(page.get_by_role("button", name="Leave the ambient check")).to_be_visible()


def test_a_panel_follows_what_the_desk_is_told(desk: Desk) -> None:
    page = begin(desk)
    log(page, 1)
    press_away(page, "Balance and working")

    set_dial(page, "f-number", "11")

    expect(page.locator("section.panel .entries")).to_contain_text("aperture f/8 to f/11")
    page.keyboard.press("Escape")
    expect(page.locator("section.panel")).to_have_count(0)


def test_a_double_click_and_a_key_held_down_log_one_frame_each(desk: Desk) -> None:
    page = begin(desk)

    page.locator(".log .key").dblclick()
    expect(page.locator('tr[data-number="1"]')).to_be_visible()
    page.locator("h1").click()
    for _ in range(3):
        # Pressed again without being let go of, a key repeats itself.
        page.keyboard.down(" ")
    page.keyboard.up(" ")
    expect(page.locator('tr[data-number="2"]')).to_be_visible()

    expect(page.locator("[data-saved]")).to_contain_text("saved ")
    expect(page.locator(".log .key")).to_have_text("Log frame 3")
    expect(page.locator("tr.frame")).to_have_count(2)


def test_a_filter_put_in_twice_in_quick_succession_is_there_twice(desk: Desk) -> None:
    page = begin(desk)
    press_away(page, "Kit and positions")
    page.locator("summary", has_text="key A").click()
    page.evaluate(
        """() => {
          const form = [...document.querySelectorAll("section.panel details form.chooser")]
            .find(each => each.elements.value?.value?.startsWith("+"));
          form.requestSubmit(); form.requestSubmit();
        }"""
    )

    expect(page.locator(".light .who")).to_contain_text("2 ×")


def test_a_telephone_brings_up_digits_and_has_keys_for_the_signs_that_they_lack(desk: Desk) -> None:
    shot = begin(desk).url
    browser = desk.page.context.browser
    assert browser is not None
    phone = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)  # type: ignore[arg-type]
    page = phone.new_page()
    page.goto(shot)
    keypads = {
        label: page.get_by_label(label, exact=True).get_attribute("inputmode")
        for label in ("f-number", "shutter", "ISO", "power of A")
    }
    assert keypads == {"f-number": "decimal", "shutter": "decimal", "ISO": "numeric", "power of A": "decimal"}

    shutter = page.get_by_label("shutter", exact=True)
    shutter.tap()
    page.get_by_role("button", name="1/", exact=True).tap()
    page.keyboard.type("60")
    expect(shutter).to_have_value("1/60")
    expect(shutter).to_be_focused()
    page.keyboard.press("Enter")

    expect(page.locator("[data-saved]")).to_contain_text("saved ")
    expect(shutter).to_have_value("1/60")
    expect(page.locator(".sign")).to_have_count(0)
    phone.close()


class Hands:
    """A keyboard that counts its presses. Where the focus is once, it is never lost again, and it is always seen."""

    def __init__(self, page: Page) -> None:
        self._page = page
        self.presses = 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self._page.keyboard.press(key)
            self.presses += 1
            self.on_something()

    def on_something(self) -> None:
        self._page.wait_for_timeout(60)
        lost, unseen = self._page.evaluate(
            """() => {
              const on = document.activeElement;
              const lost = on === document.body && Boolean(window.wasOn);
              window.wasOn ||= on !== document.body;
              return [lost && document.activeElement.outerHTML.slice(0, 80), on !== document.body && getComputedStyle(on).outlineStyle === "none" && on.outerHTML.slice(0, 80)];
            }"""
        )
        assert not lost
        assert not unseen

    def since(self, before: int) -> int:
        self.on_something()
        return self.presses - before


def test_a_shoot_by_keys_alone_in_few_presses_and_the_focus_is_never_lost(desk: Desk) -> None:
    page = begin(desk)
    hands = Hands(page)

    hands.press(" ")
    expect(page.locator('tr[data-number="1"]')).to_be_visible()
    assert hands.since(0) == 1
    hands.press("4", "ArrowDown", "n", "5", "ArrowUp")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/32")
    expect(page.get_by_label("power of A", exact=True)).to_have_value("200 J")
    expect_balance(page, "A", "+1.0")
    assert hands.since(1) <= 6
    before = hands.presses
    hands.press("s")
    expect_balance(page, "A", "0.0")
    assert hands.since(before) == 1
    hands.press("h")
    expect(page.locator('tr[data-number="1"] .for')).to_contain_text("hero")
    hands.press("t", *"keep", "Enter")
    expect(page.locator('tr[data-number="1"] .for')).to_contain_text("keep")
    hands.press("r", *"odd", "Enter")
    expect(page.locator(".stage .problem")).to_be_visible()
    expect(page.get_by_label("by eye, frame 1")).to_be_focused()
    hands.press("Control+a", *"0.0", "Enter")
    expect(page.locator('tr[data-number="1"] .read')).to_have_text("0.0 by eye")

    hands.press("p")
    expect(page.locator(".note-of")).to_be_hidden()
    hands.press("p")
    before = hands.presses
    page.locator(".account").focus()
    hands.press("a")
    expect(page.get_by_label("shutter", exact=True)).to_have_value("1 s")
    hands.press(" ")
    expect(page.locator('tr[data-number="2"] .for')).to_contain_text("ambient check")
    assert hands.since(before) <= 3
    page.get_by_label("f-number", exact=True).focus()
    hands.press(*"11", "Enter")
    expect(page.locator("[data-saved]")).to_contain_text("saved ")
    expect(page.get_by_label("f-number", exact=True)).to_have_value("f/11")
    page.locator(".one-sentence .key").focus()
    hands.press("Enter")
    expect(page.locator(".one-sentence .key")).to_have_count(0)
    hands.on_something()
    page.locator(".all-ways").focus()
    hands.press("Enter")
    expect(page.locator("section.panel")).to_be_visible()
    hands.press("Escape")
    expect(page.locator(".all-ways")).to_be_focused()
    hands.press("?")
    expect(page.get_by_role("dialog", name="Keys")).to_be_visible()
    page.keyboard.press("Escape")
    page.keyboard.press("c")
    expect(page.locator("h1, h2").first).to_be_visible()
    assert "/compare" in page.url


def test_what_changed_is_said_whichever_way_it_was_changed(desk: Desk) -> None:
    page = begin(desk)
    add_light(page, 2)
    said = page.locator("[data-announcer]")
    log(page, 1)
    expect(said).to_have_text("Frame 1 logged. A and B on target.")

    set_dial(page, "f-number", "11")
    expect(said).to_have_text("A and B 1.0 under. Set A 12.5 J, B 12.5 J.")
    log(page, 2)
    expect(said).to_have_text("Frame 2 logged. A and B 1.0 under. Set A 12.5 J, B 12.5 J.")
    page.get_by_role("button", name="key A, power of A: higher, lighter, one tenth").click()
    expect(said).to_contain_text("A 0.9 under, B 1.0 under.")
    page.get_by_role("button", name="shutter: shorter, darker, one third").click()
    expect(said).to_have_text("shutter 1/160")


def test_a_page_that_is_open_all_day_holds_no_more_lines_than_one_that_is_drawn_now(desk: Desk) -> None:
    page = begin(desk)
    for _ in range(40):
        page.request.post(f"{page.url}/frames", headers={"HX-Request": "true"})
    page.reload()
    desk.hears_the_news()
    lines = page.locator(".lines tr.frame")
    expect(lines).to_have_count(40)
    expect(page.get_by_role("link", name="Older frames")).to_have_count(0)

    log(page, 41)
    log(page, 42)

    expect(lines).to_have_count(40)
    page.get_by_role("link", name="Older frames").click()
    expect(page.locator("tr.frame")).to_have_count(2)
    expect(page.locator('tr[data-number="2"]')).to_be_visible()

"""What a class reads of a frame: the allowed fields, with and without what the photographer lets out."""

from __future__ import annotations

import dataclasses

import pytest

from tests import typed
from tests.conftest import Studio
from webapp.errors import InvalidValue, NotFound
from webapp.kit import inventory
from webapp.recipes.share import live_page
from webapp.recipes.share.live_page import LetOut, LiveFrame, as_followed
from webapp.records import kit as kit_records
from webapp.records.tables import Modifier
from webapp.shoots import frames
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.web.words.live_page import change_words, kit_words

KEPT_IN = LetOut()
LET_OUT = LetOut(because=True, kit_names=True)


def logged(studio: Studio, **words: str) -> str:
    return log_frame(studio.records, studio.shot_id, FrameWords.model_validate({"purpose": "test"} | words)).frame_id


def set_to(studio: Studio, field: str, value: str) -> None:
    typed.change(studio.records, studio.shot_id, {field: value})


def followed(studio: Studio, let_out: LetOut = KEPT_IN) -> tuple[LiveFrame, ...]:
    return as_followed(studio.records, studio.session_id, "class", let_out).shots[0].frames


def modifier_named(studio: Studio, name: str) -> str:
    with studio.records.reading() as db:
        return next(each.id for each in kit_records.items_in(db, Modifier) if each.name == name)


def test_a_frame_tells_its_settings_and_what_changed_in_stops(studio: Studio) -> None:
    set_to(studio, "f_number", "8")
    logged(studio)
    set_to(studio, "f_number", "11")
    logged(studio)

    newest, first = followed(studio)

    assert (newest.number, newest.f_number) == (2, "11")
    assert [(change_words(each), each.stops) for each in newest.changes] == [
        ("aperture f/8 to f/11", pytest.approx(-1.0))
    ]
    assert newest.lights[0].stops == pytest.approx(-1.0)
    assert first.is_reference


def test_reasons_and_names_stay_in_the_house_unless_they_are_let_out(studio: Studio) -> None:
    inventory.keep(studio.records, "modifiers", {"name": "Nadja's box 4711", "shape": "disc", "width_mm": 900})
    logged(studio)
    set_to(studio, "lights.A.modifier", modifier_named(studio, "Nadja's box 4711"))
    logged(studio, because="softer", notes="the client is late")

    kept_in, let_out = followed(studio)[0], followed(studio, LET_OUT)[0]

    assert "4711" not in repr(kept_in)
    assert "softer" not in repr(kept_in)
    assert any(change_words(each) == "A modifier now disc 90 cm" for each in kept_in.changes)
    assert "Nadja's box 4711" in kit_words(let_out.lights[0].kit)
    assert let_out.because == "softer"
    assert "late" not in repr(let_out)


def test_a_frame_taken_back_says_so_and_keeps_its_number(studio: Studio) -> None:
    logged(studio)
    wrong = logged(studio)
    frames.take_back(studio.records, wrong)

    assert [each.taken_back for each in followed(studio)] == [True, False]


def test_a_page_shows_the_newest_frames_and_turns_to_older_ones(studio: Studio) -> None:
    for _ in range(live_page.FRAMES_SHOWN + 2):
        logged(studio)
    token = live_page.open_up(studio.records, studio.session_id, title="class", hours=8, let_out=KEPT_IN)

    shot = live_page.opened(studio.records, token).shots[0]
    _, older = live_page.older_frames(studio.records, token, 1, shot.older_than or 0)

    assert [each.number for each in shot.frames] == list(range(live_page.FRAMES_SHOWN + 2, 2, -1))
    assert [each.number for each in older.frames] == [2, 1]
    assert older.older_than is None


@pytest.mark.parametrize(("title", "hours"), [("", 8), ("x" * 121, 8), ("class", 0), ("class", 9000)])
def test_a_page_that_cannot_be_opened_is_refused(studio: Studio, title: str, hours: int) -> None:
    with pytest.raises(InvalidValue):
        live_page.open_up(studio.records, studio.session_id, title=title, hours=hours, let_out=KEPT_IN)


def test_a_page_that_was_withdrawn_shows_nothing(studio: Studio) -> None:
    token = live_page.open_up(studio.records, studio.session_id, title="class", hours=None, let_out=KEPT_IN)
    live_page.withdraw(studio.records, token)

    with pytest.raises(NotFound):
        live_page.opened(studio.records, token)


def test_nothing_but_the_listed_fields_goes_out() -> None:
    """A field that is added here goes to everybody who follows a session: think, then add it to this list."""
    assert {each.name for each in dataclasses.fields(LiveFrame)} == {
        "shot_number",
        "number",
        "purpose",
        "is_reference",
        "taken_back",
        "verdict",
        "because",
        "f_number",
        "shutter",
        "iso",
        "magnification",
        "lens_filters",
        "lights",
        "changes",
        "switched",
        "since",
        "ambient_stops",
        "readings",
        "picture",
        "picture_px",
    }

"""Frames and files: one exposure is one frame, however its files come in."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from tests import typed
from tests.conftest import Studio
from webapp.errors import StaleValue
from webapp.ledger.file_values import FileValue
from webapp.pictures.metadata import PictureFacts
from webapp.pictures.store import KeptPicture
from webapp.records.tables import Frame
from webapp.security.identity import ASKING, Identity, Role
from webapp.shoots import frames, set_up_now
from webapp.shoots.ambient_check import begin_ambient_check
from webapp.shoots.log_frame import FrameWords, IncomingPicture, log_frame, take_picture
from webapp.web.words.frames import value_text
from webapp.web.words.set_up import says_words

TEST = FrameWords.model_validate({})


def in_texts(conflicts: dict[str, tuple[FileValue, FileValue]]) -> dict[str, tuple[str, ...]]:
    """What was set and what the file says, as a field is typed."""
    return {name: tuple(value_text(name, each) for each in pair) for name, pair in conflicts.items()}


def picture(name: str, digest: str, **told: object) -> IncomingPicture:
    values: dict[str, object] = {
        "kind": "jpeg",
        "f_number": 8.0,
        "exposure_time_s": 1 / 125,
        "iso": 100,
        "camera": "studio body",
        "taken_at": "2026:11:24 10:31:07",
        "subsecond": "41",
    }
    facts = PictureFacts(**(values | told))  # type: ignore[arg-type]
    return IncomingPicture(name, facts, KeptPicture(digest * 64, Path(name), 1000, True))


def count(studio: Studio) -> int:
    return len(frames.page_of(studio.records, studio.shot_id, limit=100))


def test_a_file_that_comes_by_itself_is_a_frame(studio: Studio) -> None:
    logged = take_picture(studio.records, studio.shot_id, picture("a.jpg", "a"))

    assert logged.is_new
    assert count(studio) == 1


def test_the_same_file_twice_is_one_frame(studio: Studio) -> None:
    first = take_picture(studio.records, studio.shot_id, picture("a.jpg", "a"))
    again = take_picture(studio.records, studio.shot_id, picture("copy of a.jpg", "a"))

    assert again.frame_id == first.frame_id
    assert count(studio) == 1


def test_a_raw_file_and_a_jpeg_of_one_exposure_are_one_frame(studio: Studio) -> None:
    first = take_picture(studio.records, studio.shot_id, picture("shot_1.dng", "a", kind="raw"))
    second = take_picture(studio.records, studio.shot_id, picture("shot_1.jpg", "b"))

    assert second.frame_id == first.frame_id
    assert len(frames.one(studio.records, first.frame_id).pictures) == 2


@pytest.mark.parametrize(
    "other", [{"subsecond": "42"}, {"camera": "second body"}, {"taken_at": "2026:11:24 10:31:08"}]
)
def test_two_exposures_are_two_frames(studio: Studio, other: dict[str, object]) -> None:
    take_picture(studio.records, studio.shot_id, picture("shot_1.dng", "a", kind="raw"))
    take_picture(studio.records, studio.shot_id, picture("shot_1.jpg", "b", **other))

    assert count(studio) == 2


def test_a_file_fills_the_frame_that_was_logged_by_hand_just_before(studio: Studio) -> None:
    by_hand = log_frame(studio.records, studio.shot_id, TEST)

    filled = take_picture(studio.records, studio.shot_id, picture("a.jpg", "a", f_number=11.0))

    frame = frames.one(studio.records, by_hand.frame_id)
    assert filled.frame_id == by_hand.frame_id
    assert frame.set_up.f_number.text == "11"  # type: ignore[union-attr]
    assert in_texts(frame.conflicts) == {"f_number": ("8", "11")}
    assert frame.row.revision == 2


def test_a_tap_made_before_a_file_filled_the_frame_clashes_with_that_file(studio: Studio) -> None:
    log_frame(studio.records, studio.shot_id, TEST)
    version = set_up_now.state(studio.records, studio.shot_id).versions.get("f_number", 0)
    take_picture(studio.records, studio.shot_id, picture("a.jpg", "a", f_number=11.0))

    with pytest.raises(StaleValue, match=r"The file of frame 1, a\.jpg, changed the f-number to 11 at "):
        typed.change(studio.records, studio.shot_id, {"f_number": "16"}, version=version)


def test_a_tap_clashes_with_whoever_changed_the_field_by_name(studio: Studio) -> None:
    def change(value: str, by: Identity | None = None) -> None:
        token = ASKING.set(by or ASKING.get())
        try:
            typed.change(studio.records, studio.shot_id, {"f_number": value}, version=0)
        finally:
            ASKING.reset(token)

    change("11", Identity(Role.ASSISTANT, "Ada’s phone"))

    with pytest.raises(StaleValue, match=r"^Ada’s phone changed the f-number to 11 at "):
        change("16")
    with pytest.raises(StaleValue, match=r"^Another page of yours changed"):
        change("16", Identity(Role.ASSISTANT, "Ada’s phone"))


def test_a_file_that_comes_later_is_a_frame_of_its_own(studio: Studio) -> None:
    by_hand = log_frame(studio.records, studio.shot_id, TEST)
    with studio.records.writing() as db:
        row = db.get(Frame, by_hand.frame_id)
        assert row is not None
        row.logged_at -= dt.timedelta(seconds=11)
        db.add(row)

    later = take_picture(studio.records, studio.shot_id, picture("a.jpg", "a"))

    assert later.frame_id != by_hand.frame_id


def test_the_purpose_that_was_told_beforehand_goes_with_the_file(studio: Studio) -> None:
    set_up_now.note_for_next(studio.records, studio.shot_id, purpose="final", because="the picture")

    logged = take_picture(studio.records, studio.shot_id, picture("a.jpg", "a"))

    row = frames.one(studio.records, logged.frame_id).row
    assert (row.purpose, row.because) == ("final", "the picture")
    assert logged.state.purpose == "test"


def test_the_standing_set_up_follows_the_file_and_says_so(studio: Studio) -> None:
    logged = take_picture(studio.records, studio.shot_id, picture("a.jpg", "a", f_number=16.0, iso=200))

    assert logged.state.set_up.f_number.text == "16"  # type: ignore[union-attr]
    assert says_words(logged.state.says) == (
        "File f/16, set f/8; file ISO 200, set ISO 100. The set-up follows the file."
    )


def test_holding_the_set_value_keeps_the_files_own_on_record(studio: Studio) -> None:
    logged = take_picture(studio.records, studio.shot_id, picture("a.jpg", "a", f_number=16.0))

    held = frames.hold(studio.records, logged.frame_id, "f_number", "set")

    assert held.set_up.f_number.text == "8"  # type: ignore[union-attr]
    assert in_texts(held.conflicts) == {"f_number": ("8", "16")}


def test_editing_kit_never_changes_an_old_frame(studio: Studio) -> None:
    from webapp.kit import inventory
    from webapp.records.tables import LightHead

    logged = log_frame(studio.records, studio.shot_id, TEST)
    head = frames.one(studio.records, logged.frame_id).set_up.lights[0].head
    with studio.records.reading() as db:
        row = db.get(LightHead, head.id)
        assert row is not None
        said = inventory.said_of(row) | {"full_energy_j": 800, "name": "bigger"}

    inventory.keep(studio.records, "lights", said, head.id)

    assert frames.one(studio.records, logged.frame_id).set_up.lights[0].head == head
    now = set_up_now.state(studio.records, studio.shot_id).set_up.lights[0].head
    assert (now.name, now.full_energy_j) == ("bigger", 800)


def test_several_changes_are_kept_all_or_none(studio: Studio) -> None:
    from webapp.errors import SeveralInvalid

    before = set_up_now.state(studio.records, studio.shot_id).set_up
    with pytest.raises(SeveralInvalid) as refused:
        typed.change(studio.records, studio.shot_id, {"f_number": "11", "iso": "-1", "shutter": "1/0"})

    assert [problem.where for problem in refused.value.problems] == [("iso",), ("shutter",)]
    assert set_up_now.state(studio.records, studio.shot_id).set_up == before


def test_a_magnification_worked_out_from_a_distance_is_marked_estimated(studio: Studio) -> None:
    state = typed.change(studio.records, studio.shot_id, {"magnification": "?", "subject_distance": "30 cm"})

    # A thin 100 mm lens with its subject at 300 mm: m = f / (u - f) = 1/2.
    assert state.set_up.magnification == pytest.approx(0.5)
    assert state.set_up.magnification_estimated
    measured = typed.change(studio.records, studio.shot_id, {"magnification": "0.48"}).set_up
    assert not measured.magnification_estimated
    again = typed.change(studio.records, studio.shot_id, {"subject_distance": "40 cm"}).set_up
    assert again.magnification == pytest.approx(0.48)


def test_a_frame_keeps_its_own_copy_of_a_changed_light(studio: Studio) -> None:
    first = log_frame(studio.records, studio.shot_id, TEST)
    typed.change(studio.records, studio.shot_id, {"lights.A.power": "+2"})
    second = log_frame(studio.records, studio.shot_id, replace_words(TEST, because="two stops up"))

    powers = [frames.one(studio.records, each.frame_id).set_up.lights[0].power_stops for each in (first, second)]
    assert powers == [-6.0, -4.0]


def replace_words(words: FrameWords, **said: str) -> FrameWords:
    return FrameWords.model_validate(words.model_dump() | said)


# --- a file during an ambient check --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("told", "shown"),
    [
        ({}, "1/125"),
        ({"flash_fired": True}, "1/125 and a fired flash"),
        ({"exposure_time_s": 1.0, "flash_fired": True}, "a fired flash"),
    ],
)
def test_a_file_that_contradicts_the_ambient_check_is_a_test_and_the_check_goes_on(
    studio: Studio, told: dict[str, object], shown: str
) -> None:
    begin_ambient_check(studio.records, studio.shot_id)

    logged = take_picture(studio.records, studio.shot_id, picture("shot_0007.jpg", "a", **told))

    frame = frames.one(studio.records, logged.frame_id)
    assert (frame.row.purpose, frame.row.lit) == ("test", "A")
    assert frame.set_up.shutter is not None
    assert frame.set_up.shutter.text == ("1" if "exposure_time_s" in told else "1/125")
    assert logged.state.checking_ambient
    assert logged.state.set_up.shutter is not None
    assert (logged.state.set_up.shutter.text, logged.state.set_up.lights[0].lit) == ("1", False)
    assert says_words(logged.state.says) == (
        f"shot_0007.jpg shows {shown}: logged as a test, not as the ambient check. The check goes on."
    )


@pytest.mark.parametrize("told", [{}, {"flash_fired": False}, {"exposure_time_s": None}])
def test_after_it_the_file_of_the_check_is_the_check(studio: Studio, told: dict[str, object]) -> None:
    begin_ambient_check(studio.records, studio.shot_id)
    take_picture(studio.records, studio.shot_id, picture("a.jpg", "a", flash_fired=True))

    one_second: dict[str, object] = {"exposure_time_s": 1.0, "subsecond": "43"}
    logged = take_picture(studio.records, studio.shot_id, picture("b.jpg", "b", **(one_second | told)))

    frame = frames.one(studio.records, logged.frame_id)
    assert (frame.row.purpose, frame.row.lit) == ("ambient check", "")
    assert not logged.state.checking_ambient
    assert logged.state.set_up.lights[0].lit


def test_a_picture_that_is_added_by_hand_is_held_against_the_check_too(studio: Studio) -> None:
    begin_ambient_check(studio.records, studio.shot_id)
    check = FrameWords.model_validate({"purpose": "ambient check"})

    logged = log_frame(studio.records, studio.shot_id, check, picture=picture("a.jpg", "a", flash_fired=True))

    assert frames.one(studio.records, logged.frame_id).row.purpose == "test"
    assert logged.state.checking_ambient


def test_a_file_with_a_fired_flash_does_not_fill_the_check_that_was_logged_before_it(studio: Studio) -> None:
    begin_ambient_check(studio.records, studio.shot_id)
    check = log_frame(studio.records, studio.shot_id, FrameWords.model_validate({"purpose": "ambient check"}))

    logged = take_picture(studio.records, studio.shot_id, picture("a.jpg", "a", flash_fired=True))

    assert logged.is_new
    assert frames.one(studio.records, check.frame_id).pictures == ()
    assert frames.one(studio.records, logged.frame_id).row.lit == "A"
    assert says_words(logged.state.says).startswith(
        "a.jpg shows 1/125 and a fired flash: logged as a test, not as the ambient check."
    )

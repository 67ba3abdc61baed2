"""A database that the version before 0.1.0 filled, brought along: every row, and what is computed from it anew."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.migrations.filled import fill
from webapp.facts import Fact, fact, read_facts
from webapp.optics.scales import Dial, Marked, Quantity
from webapp.pictures.reasons import Reason as Noted
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade
from webapp.shoots import frames, readings, set_up_now
from webapp.shoots.log_frame import renew_all
from webapp.shoots.reasons import Reason


@pytest.fixture
def brought(tmp_path: Path) -> Iterator[Records]:
    fill(tmp_path)
    records = Records(tmp_path)
    assert upgrade(records, renew_all) is not None
    yield records
    records.close()


def _only(records: Records, query: str) -> list[tuple[object, ...]]:
    with records.engine.connect() as connection:
        return [tuple(row) for row in connection.exec_driver_sql(query).all()]


def test_the_balances_are_those_that_stood_before(brought: Records) -> None:
    shot_id = str(_only(brought, "SELECT id FROM shots")[0][0])

    told = [
        ([(line.acts_on, line.stops) for line in frame.ledger.lights], frame.ledger.ambient.stops)
        for frame in frames.in_order(brought, shot_id)
    ]

    assert told == [([("A", 0.0)], 0.0), ([("A", -1.0)], -1.0), ([("A", None)], -2.0)]


def test_set_up_words_and_revisions_come_through(brought: Records) -> None:
    shot_id = str(_only(brought, "SELECT id FROM shots")[0][0])
    state = set_up_now.state(brought, shot_id)
    edited = list(frames.in_order(brought, shot_id))[1]

    story = frames.story(brought, edited.row.id)

    assert (state.set_up.f_number and state.set_up.f_number.text) == "16"
    assert state.set_up.lights[0].distance_mm == 900.0
    assert (edited.row.notes, edited.row.revision, len(story.revisions)) == ("a note", 2, 1)
    assert all(each.reason == Reason.REVISION_NOTED and each["text"] for each in story.revisions[0].what)
    assert story.revisions[0].what
    back = frames.restore_revision(brought, edited.row.id, 1)
    assert back.row.notes == ""


def test_marks_that_were_kept_as_text_are_read_on_the_dials_in_use(brought: Records) -> None:
    shot_id = str(_only(brought, "SELECT id FROM shots")[0][0])
    frame = list(frames.in_order(brought, shot_id))[1]

    # On a third-stop dial f/1.2 names 2^(1/3), two thirds of a stop above f/1 (iso-517).
    assert frame.row.set_values == {
        "f_number": Marked(Quantity.F_NUMBER, "1.2", 2 / 3, Dial.THIRD),
        "focal_length": 105.5,
    }
    assert frame.row.file_values == {"f_number": Marked(Quantity.F_NUMBER, "8", 6.0, Dial.THIRD)}
    with brought.reading() as db:
        kept = shot_records.standing_of(db, shot_id).kept
    assert kept is not None
    assert kept.shutter == Marked(Quantity.SHUTTER, "1/125", 7.0, Dial.THIRD)


def test_a_picture_without_a_reading_keeps_its_reason(brought: Records) -> None:
    assert _only(brought, "SELECT document, trouble FROM readings WHERE id = 'r'") == [(None, "cut short")]


def test_what_was_noted_on_a_reading_stays_readable(brought: Records) -> None:
    shot_id = str(_only(brought, "SELECT id FROM shots")[0][0])
    frame = list(frames.in_order(brought, shot_id))[1]

    (found,) = readings.readings_of_frame(brought, frame.row.id)

    assert found.reading is not None
    assert found.reading.notes == (
        fact(Noted.NO_PATCH_DRAWN),
        fact("as_written", text="Transparency was left out."),
    )


def test_references_hold_and_the_same_set_up_is_kept_once(brought: Records) -> None:
    with brought.engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA foreign_key_check").all() == []
    assert _only(brought, "SELECT count(*) FROM set_ups WHERE digest NOT IN (SELECT set_up_digest FROM frames)") == [
        (0,)
    ]
    assert _only(
        brought, "SELECT shots.reference_frame_id = frames.id FROM shots JOIN frames ON frames.number = 1"
    ) == [(1,)]


def test_what_the_upgrade_makes_is_what_an_empty_file_gets(brought: Records, tmp_path: Path) -> None:
    (tmp_path / "fresh").mkdir()
    fresh = Records(tmp_path / "fresh")
    upgrade(fresh)
    query = "SELECT type, name, tbl_name FROM sqlite_master WHERE name NOT LIKE 'sqlite_%' ORDER BY 1, 2"

    assert _only(brought, query) == _only(fresh, query)
    fresh.close()


def test_sentences_that_were_kept_stay_readable_as_the_texts_of_facts(brought: Records) -> None:
    def as_written(text: str) -> tuple[Fact, ...]:
        return (fact("as_written", text=text),)

    assert read_facts(str(_only(brought, "SELECT differs FROM recipe_versions")[0][0])) == as_written(
        "f/8 where it was f/11"
    )
    assert read_facts(str(_only(brought, "SELECT left_open FROM reshoots")[0][0])) == as_written("No lens is known.")
    heading, words = _only(brought, "SELECT heading, words FROM checklist_lines")[0]
    assert (heading, read_facts(str(words))) == ("checks", as_written("Prove black."))


def test_kit_that_a_first_start_laid_out_is_told_from_ones_own(brought: Records) -> None:
    assert _only(brought, "SELECT DISTINCT origin FROM cameras") == [("starter",)]
    assert ("own",) not in _only(brought, "SELECT DISTINCT origin FROM lights")
    assert _only(brought, "SELECT DISTINCT no_stacks FROM shots") == [("[]",)]

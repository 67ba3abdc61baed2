"""What was read says how new it is, so that an older answer never takes the place of a newer one."""

from __future__ import annotations

import pytest

from tests import typed
from tests.conftest import Studio
from webapp.errors import InvalidValue
from webapp.records.engine import as_of
from webapp.shoots import frames, set_up_now
from webapp.shoots.log_frame import FrameWords, log_frame


def test_what_is_read_after_a_change_is_newer_than_what_was_read_before(studio: Studio) -> None:
    before = set_up_now.state(studio.records, studio.shot_id)
    changed = typed.change(studio.records, studio.shot_id, {"f_number": "16"})
    after = set_up_now.state(studio.records, studio.shot_id)

    assert before.as_of < changed.as_of <= after.as_of


def test_a_frame_that_was_just_logged_is_as_new_as_its_save(studio: Studio) -> None:
    logged = log_frame(studio.records, studio.shot_id, FrameWords.model_validate({}))

    assert frames.one(studio.records, logged.frame_id).as_of >= logged.state.as_of


def test_what_was_begun_to_be_read_before_a_change_stays_older_than_it(studio: Studio) -> None:
    with studio.records.reading() as db:
        changed = typed.change(studio.records, studio.shot_id, {"f_number": "16"})

        assert as_of(db) < changed.as_of


def test_a_change_that_was_not_kept_does_not_count(studio: Studio) -> None:
    before = set_up_now.state(studio.records, studio.shot_id).as_of
    with pytest.raises(InvalidValue):
        typed.change(studio.records, studio.shot_id, {"f_number": "0"})

    assert set_up_now.state(studio.records, studio.shot_id).as_of == before

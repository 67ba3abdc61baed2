"""Words that a document cannot hold stand in nobody's way: they are drafted as plain text."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from tests.conftest import Studio
from webapp.ledger.set_up import SetUp
from webapp.recipes import publish
from webapp.recipes.document import Words
from webapp.recipes.plain_text import plain, plain_text
from webapp.shoots import sessions, set_up_now
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.web.words.written import written


@given(st.text(max_size=200) | st.text("<>/!?ab \n\x00\x1f", max_size=60))
def test_a_document_holds_whatever_was_made_plain(text: str) -> None:
    assert TypeAdapter(Words).validate_python(plain_text(text)) == plain_text(text)


@given(st.text(st.characters(blacklist_categories=("Cs", "Cc"), blacklist_characters="<")))
def test_plain_words_stay_as_they_are(text: str) -> None:
    assert plain_text(text) == text


def test_figures_and_marks_of_a_set_up_are_not_touched(studio: Studio) -> None:
    set_up: SetUp = set_up_now.state(studio.records, studio.shot_id).set_up

    assert plain(set_up) == set_up


def test_a_shot_with_markup_in_its_title_can_be_published(studio: Studio) -> None:
    sessions.describe_shot(studio.records, studio.shot_id, {"title": "<b>dial</b>", "subject": "a <script> of gold"})
    frame = log_frame(studio.records, studio.shot_id, FrameWords()).frame_id

    drafted = written(publish.draft_from(studio.records, frame)[0])

    assert drafted.title == "‹b>dial‹/b>"
    assert "<script" not in drafted.subject
    assert any("a ‹script> of gold" in step.words for step in drafted.steps)

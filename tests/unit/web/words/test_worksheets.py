"""Every worksheet, parameter and result has words, none are left over, and none repeat what a name says itself."""

from __future__ import annotations

import pytest

from webapp.web.words.worksheet_names import EVERYWHERE, SheetWords
from webapp.web.words.worksheets import SHEETS
from webapp.worksheets import WORKSHEETS
from webapp.worksheets.parameters import words_of


def test_every_worksheet_has_words_and_no_words_are_left_over() -> None:
    assert set(SHEETS) == set(WORKSHEETS)
    assert set(EVERYWHERE) <= {each.name for sheet in WORKSHEETS.values() for each in sheet.parameters}


@pytest.mark.parametrize("words", SHEETS.values(), ids=list(SHEETS))
def test_what_is_said_is_of_a_parameter_or_a_result(words: SheetWords) -> None:
    sheet = WORKSHEETS[words.name]

    assert set(words.asks) <= {each.name for each in sheet.parameters}
    assert set(words.gives) <= {each.name for each in sheet.gives}
    assert words.topic
    assert words.title
    assert words.purpose.endswith(".")


@pytest.mark.parametrize("words", SHEETS.values(), ids=list(SHEETS))
def test_every_parameter_and_result_has_a_title_of_its_own(words: SheetWords) -> None:
    sheet = WORKSHEETS[words.name]
    asked = [words.asked(each.name).title for each in sheet.parameters]

    assert all(asked)
    assert len(set(asked)) == len(asked)
    assert all(words.given(each.name).title for each in sheet.gives)
    said = [*words.asks.items(), *words.gives.items(), *EVERYWHERE.items()]
    assert [name for name, each in said if each.title == words_of(name)] == []


@pytest.mark.parametrize("words", SHEETS.values(), ids=list(SHEETS))
def test_it_is_said_of_just_those_results_that_may_be_none_what_that_means(words: SheetWords) -> None:
    may_be_none = {each.name for each in WORKSHEETS[words.name].gives if each.may_be_none}

    assert {each.name for each in WORKSHEETS[words.name].gives if words.given(each.name).none} == may_be_none
    assert not any(words.asked(each.name).none for each in WORKSHEETS[words.name].parameters)

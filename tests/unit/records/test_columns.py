"""What goes into a typed column comes out as the same value, and what is kept holds until it is reached."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy.dialects import sqlite

from tests.unit.ledger.builders import set_up
from webapp.ledger.entries import Cause, Entry, Head, Power, Setting
from webapp.ledger.exposures import Filters
from webapp.ledger.set_up import IncidentReading, SetUp
from webapp.optics.scales import Dial, Marked, Quantity
from webapp.pictures.metadata import PictureFacts
from webapp.quantities.powers import Marking, PowerDial
from webapp.records.columns import Document, Packed
from webapp.records.kept import EVERYTHING, Kept

DIALECT = sqlite.dialect()


@given(st.dictionaries(st.text(max_size=20), st.integers(0, 10_000)))
def test_a_document_comes_out_as_it_went_in(versions: dict[str, int]) -> None:
    column: Document[dict[str, int]] = Document(dict[str, int])

    stored = column.process_bind_param(versions, DIALECT)

    assert column.process_result_value(stored, DIALECT) == versions


def test_what_a_file_says_comes_out_as_it_went_in_a_distance_without_end_too() -> None:
    column = Document[PictureFacts](PictureFacts)
    facts = PictureFacts(kind="raw", f_number=8.0, subject_distance_mm=math.inf, width_px=6000, refused=("iso",))

    assert column.process_result_value(column.process_bind_param(facts, DIALECT), DIALECT) == facts
    assert column.process_result_value('{"kind": "raw", "subject_distance_mm": "infinity"}', DIALECT) == PictureFacts(
        kind="raw", subject_distance_mm=math.inf
    )


def test_a_packed_set_up_is_smaller_than_its_text_and_read_once() -> None:
    column, text = Packed[SetUp](SetUp), Document[SetUp](SetUp)
    packed = column.process_bind_param(set_up(), DIALECT)

    first, second = (column.process_result_value(packed, DIALECT) for _ in range(2))

    assert first == set_up()
    assert first is second
    assert len(packed) < len(text.process_bind_param(set_up(), DIALECT))


DIAL = PowerDial(-6.0, 0.1, Marking.JOULES, 400.0)
MARK = Marked(Quantity.F_NUMBER, "8", 6.0, Dial.FULL)


@pytest.mark.parametrize(
    "setting",
    [
        MARK,
        replace(MARK, dial=None),
        IncidentReading(8.0, "16", -1.0, 600.0),
        Power(-1.0, DIAL),
        Power(-1.0, None),
        Filters(),
        Filters(("a", "b"), None, ("ND 0.6", "blue")),
        Head(),
        Head("key A"),
        600.0,
        3,
        None,
    ],
)
def test_each_kind_of_setting_of_an_entry_comes_out_as_it_went_in(setting: Setting) -> None:
    column: Document[Entry] = Document(Entry)
    entry = Entry(Cause.ENERGY, "A", 1.0, setting, setting)

    read = column.process_result_value(column.process_bind_param(entry, DIALECT), DIALECT)

    assert read == entry
    assert type(read.was) is type(setting)


def test_what_a_change_reached_is_not_kept_and_cannot_be_put_back_by_a_slow_reader() -> None:
    kept = Kept()
    kept.put("shot", "old", 5)

    kept.forget({"shot"}, 6)
    kept.put("shot", "old", 5)

    assert kept.get("shot") is None
    kept.put("shot", "new", 6)
    assert kept.get("shot") == "new"


def test_a_change_that_may_reach_anything_leaves_nothing() -> None:
    kept = Kept()
    kept.put("one", 1, 5)
    kept.put("two", 2, 5)

    kept.forget({EVERYTHING}, 6)

    assert (kept.get("one"), kept.get("two")) == (None, None)

"""What goes into a typed column comes out as the same value, and what is kept holds until it is reached."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy.dialects import sqlite

from tests.unit.ledger.builders import set_up
from webapp.ledger.set_up import SetUp
from webapp.records.columns import Document, Packed
from webapp.records.kept import EVERYTHING, Kept

DIALECT = sqlite.dialect()


@given(st.dictionaries(st.text(max_size=20), st.integers(0, 10_000)))
def test_a_document_comes_out_as_it_went_in(versions: dict[str, int]) -> None:
    column: Document[dict[str, int]] = Document(dict[str, int])

    stored = column.process_bind_param(versions, DIALECT)

    assert column.process_result_value(stored, DIALECT) == versions


def test_a_packed_set_up_is_smaller_than_its_text_and_read_once() -> None:
    column, text = Packed[SetUp](SetUp), Document[SetUp](SetUp)
    packed = column.process_bind_param(set_up(), DIALECT)

    first, second = (column.process_result_value(packed, DIALECT) for _ in range(2))

    assert first == set_up()
    assert first is second
    assert len(packed) < len(text.process_bind_param(set_up(), DIALECT))


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

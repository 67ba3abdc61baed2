"""Changes as a page or the API has them: what is typed, read into typed values and written into the set-up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from webapp.ledger.field_values import Reader
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.places import read_place
from webapp.records.engine import Records
from webapp.shoots import set_up_now, strike
from webapp.shoots.set_up_now import Change, StandingState
from webapp.shoots.strike import Struck
from webapp.web.typed import changes_from, changes_of_answers


def change(
    records: Records,
    shot_id: str,
    said: Mapping[str, Any],
    *,
    version: int | None = None,
    lengths: Lengths = CENTIMETRES,
) -> StandingState:
    """Set fields by their paths, as they are typed; a place may be told by the blanks of its form."""
    with set_up_now.reading(records, shot_id, lengths) as reader:
        changes = changes_from(said, lambda path: Change(path, _read(reader, path, said[path]), version, lengths))
    return set_up_now.change(records, shot_id, changes)


def _read(reader: Reader, path: str, value: Any) -> Any:
    if isinstance(value, Mapping):
        return reader.take(path, read_place(value, reader.lengths))
    return reader.sent(path, value)


def strike_with(
    records: Records,
    shot_id: str,
    answers: Mapping[str, str],
    *,
    versions: Mapping[str, int] | None = None,
    as_in_frame: str | None = None,
) -> Struck:
    """Close a shot with answers as they are typed."""
    with set_up_now.reading(records, shot_id, CENTIMETRES) as reader:
        changes = changes_of_answers(reader, answers, versions or {})
    return strike.strike(records, shot_id, changes, as_in_frame=as_in_frame)

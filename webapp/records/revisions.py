"""No save wipes another: an editable record counts its revisions, and a save names the one that it was made from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from webapp.errors import StaleRecord
from webapp.records.tables import Revised


def revise(row: Revised, values: Mapping[str, Any], revision: int | None) -> None:
    """Write `values` into a row that was read in this transaction; where one of them is new, that is the row's next
    revision. `revision` is the one that they were made from, None where nothing but what was meant is in `values`.

    Raises StaleRecord where the row has another revision by now, and says something else than `values` do.
    """
    changed = {name: value for name, value in values.items() if getattr(row, name) != value}
    refuse_stale(row, revision, {name: (getattr(row, name), value) for name, value in changed.items()})
    for name, value in changed.items():
        setattr(row, name, value)
    row.revision += bool(changed)


def refuse_stale(row: Revised, revision: int | None, differing: Mapping[str, tuple[Any, Any]]) -> None:
    """Raise StaleRecord where a save made from `revision` would change what was written since; `differing` has what
    stands and what was sent, by field. What stands already was not lost, and is not refused when it is sent again."""
    if differing and revision not in (None, row.revision):
        raise StaleRecord(row.revision, differing)

"""What was read of a shot, kept until something that it rests on changes, so that a tap reads the dials alone.

Every change goes through `Records.writing()`, which tells what it reached before it is committed. What was read before
that change is not kept any more, and cannot be put in afterwards by a reader who was slow.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterable
from typing import Any, Final

from sqlalchemy import inspect

EVERYTHING: Final = "*"
"""Reached by a change of which no shot can be told: of the kit, of the readings of a picture, of the house."""
_MOST_KEPT: Final = 64
# A frame for this is told to the other shots of its session, too.
_CARRIED: Final = "ambient check"
# A change of these rows moves nothing that is kept: the dials themselves, and what is only written down.
_QUIET: Final = frozenset(
    {
        "standing",
        "set_ups",
        "save_keys",
        "notices",
        "frame_revisions",
        "checklist_lines",
        "picture_light",
        "arrivals",
        "watched_folders",
        "watch_choice",
        "set_photos",
        "shared_photos",
    }
)


def reach_of(row: object) -> tuple[str, ...]:
    """What a changed row reaches: a shot, everything, or nothing that is kept."""
    table = getattr(row, "__tablename__", "")
    if table in _QUIET:
        return ()
    if table == "frames" and _CARRIED in _purposes_of(row):
        return (EVERYTHING,)
    if table == "shots":
        return (row.id,)  # type: ignore[attr-defined]
    shot_id = getattr(row, "shot_id", None)
    return (shot_id, *shots_left_by(row)) if isinstance(shot_id, str) else (EVERYTHING,)


def _purposes_of(row: object) -> tuple[str, ...]:
    """What a changed frame is for, and was for before this flush."""
    purpose = inspect(row).attrs.purpose
    return (purpose.value, *(purpose.history.deleted or ()))


def shots_left_by(row: object) -> tuple[str, ...]:
    """The shot that a changed row was of before this flush, where it was of another."""
    return tuple(inspect(row).attrs.shot_id.history.deleted or ())


class Kept:
    """Values by name, each with the change that it was read after. Thread-safe; the least used are dropped."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._values: OrderedDict[str, Any] = OrderedDict()
        self._forgotten: dict[str, int] = {}

    def get(self, name: str) -> Any:
        """What is kept under a name (a shot's id), or None."""
        with self._lock:
            if name in self._values:
                self._values.move_to_end(name)
            return self._values.get(name)

    def put(self, name: str, value: Any, as_of: int) -> None:
        """Keep what was read when change `as_of` was the last, unless something that it rests on changed since."""
        with self._lock:
            if as_of < max(self._forgotten.get(name, 0), self._forgotten.get(EVERYTHING, 0)):
                return
            self._values[name] = value
            self._values.move_to_end(name)
            while len(self._values) > _MOST_KEPT:
                self._values.popitem(last=False)

    def forget(self, reached: Iterable[str], number: int) -> None:
        """Change `number` reaches these; what was read before it holds no longer."""
        with self._lock:
            for name in reached:
                if name == EVERYTHING:
                    self._values.clear()
                    self._forgotten.clear()
                else:
                    self._values.pop(name, None)
                self._forgotten[name] = number

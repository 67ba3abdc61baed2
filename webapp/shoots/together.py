"""Files that come together: frames as they are exposed, or a card that is copied into the folder.

A frame comes as soon as it was exposed. By how much the clock of its camera goes wrong does not matter: what counts is
whether a file comes as long after its exposure as those of its camera before it. What does not was exposed earlier; it is
held back until it is known with how many others it came. More than a few of them are a card.
"""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from webapp.pictures.metadata import PictureFacts

MOST_AT_ONCE: Final = 20
"""More new files than these, found at once, are a card that was copied, and no frames."""
APART_S = 10.0
"""Without another new file for so long, those that came together are all there."""
_BEHIND_S: Final = 60.0
_TAKEN_AT: Final = "%Y:%m:%d %H:%M:%S"
_NS: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Exposure:
    """When a file was exposed, in seconds of a clock that may go wrong: that of its camera, or, where the file names none
    or does not say, that of the folder (`camera` is empty then)."""

    camera: str
    at_s: float

    @classmethod
    def of(cls, facts: PictureFacts | None, changed_ns: int) -> Exposure:
        at = moment(facts) if facts is not None else None
        if facts is None or facts.camera is None or at is None:
            return cls("", changed_ns * _NS)
        return cls(facts.camera, at.timestamp())


def moment(facts: PictureFacts) -> dt.datetime | None:
    """When a file was exposed by its camera's clock, taken for UTC; None where it does not say."""
    try:
        return dt.datetime.strptime((facts.taken_at or "")[:19], _TAKEN_AT).replace(tzinfo=dt.UTC)
    except ValueError:
        return None


class Together:
    """The new files of a folder that come with less than `APART_S` from one to the next, those of them that are held
    back (with their arrivals), and how long after its exposure a file of each camera comes."""

    def __init__(self) -> None:
        self._came: dict[Path, float] = {}
        self._last_s = 0.0
        self._held: dict[Path, str] = {}
        self._exposed: dict[Path, Exposure] = {}
        self._comes_after_s: dict[str, float] = {}

    def came(self, path: Path) -> None:
        """A file has come, or was written to again."""
        self._came[path] = self._last_s = time.time()

    def __contains__(self, path: Path) -> bool:
        return path in self._came

    @property
    def held(self) -> Mapping[Path, str]:
        return self._held

    @property
    def is_card(self) -> bool:
        return len(self._held) > MOST_AT_ONCE

    def is_behind(self, path: Path, exposure: Exposure, changed_ns: int, lag_s: float) -> bool:
        """Whether a file was exposed earlier than it would have been if it came as those of its camera before it.
        `changed_ns` is when it was written last, `lag_s` how long before the newest frame of that camera it was
        exposed."""
        after_s = self._came[path] - exposure.at_s
        usual_s = self._comes_after_s.get(exposure.camera)
        if usual_s is None:
            # Nothing is known of its clock yet: a copy has the time of the file that it was made of.
            is_behind = time.time() - changed_ns * _NS > _BEHIND_S
        else:
            is_behind = abs(after_s - usual_s) > _BEHIND_S
        if is_behind or lag_s > _BEHIND_S or (not exposure.camera and len(self._came) > MOST_AT_ONCE):
            self._exposed[path] = exposure
            return True
        self._comes_after_s.setdefault(exposure.camera, after_s)
        return False

    def hold(self, path: Path, arrival_id: str) -> None:
        """Hold a file back until the last has come."""
        self._held[path] = arrival_id

    @property
    def are_all_there(self) -> bool:
        return bool(self._came) and time.time() - self._last_s > APART_S

    def end(self) -> None:
        """They were all there. A few that came otherwise than those before them may do so because a clock was set: what
        was usual of it is not known any more, or now, where nothing was."""
        if not self.is_card:
            for path, exposure in self._exposed.items():
                if self._comes_after_s.pop(exposure.camera, None) is None:
                    self._comes_after_s[exposure.camera] = self._came[path] - exposure.at_s
        self._came.clear()
        self._held.clear()
        self._exposed.clear()

"""A set of frames as one: the frames of a focus stack, or a run of pops to be laid over each other, stand in the log
as one line.

A series is what the log says anyway: frames for a stack, one after the other, with nothing changed between them. So
it is worked out and never stored, and an edit of a frame takes it out of its series or puts it back.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import Final

from webapp.shoots.frames import LoggedFrame

SERIES_PURPOSE: Final = "stack"
_POSITION: Final = re.compile(r"(?:focus|position)\D{0,12}?([+\-−]?\s?\d+(?:[.,]\d+)?)\s*mm", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Series:
    """Frames that belong together, newest first. `positions_mm` are those that the words of each frame name, oldest
    first; empty where not all name one."""

    frames: tuple[LoggedFrame, ...]
    positions_mm: tuple[float, ...] = ()

    @property
    def count(self) -> int:
        return len(self.frames)

    @property
    def first_number(self) -> int:
        return self.frames[-1].row.number

    @property
    def last_number(self) -> int:
        return self.frames[0].row.number

    @property
    def step_mm(self) -> float | None:
        """From one position to the next, as most of them are; None where no positions are named."""
        if len(self.positions_mm) < 2:
            return None
        whole = abs(self.positions_mm[-1] - self.positions_mm[0])
        steps = [abs(b - a) for a, b in pairwise(self.positions_mm)]
        # Positions are written to a tenth or so: over the whole run that hides less of the step than between two.
        even = max(steps) - min(steps) <= 0.15 * whole
        return whole / len(steps) if even else median(steps)


def in_series(frames: Sequence[LoggedFrame]) -> list[LoggedFrame | Series]:
    """The frames of a log, newest first, with those that belong together as one."""
    found: list[LoggedFrame | Series] = []
    run: list[LoggedFrame] = []
    for frame in frames:
        if run and not _belong_together(run[-1], frame):
            found.extend(_closed(run))
            run = []
        run.append(frame)
    return [*found, *_closed(run)]


def _belong_together(later: LoggedFrame, earlier: LoggedFrame) -> bool:
    return (
        later.row.purpose == earlier.row.purpose == SERIES_PURPOSE
        and not (later.row.taken_back or earlier.row.taken_back)
        and later.ledger.previous_number == earlier.row.number
        and later.ledger.is_unchanged
    )


def _closed(run: list[LoggedFrame]) -> list[LoggedFrame | Series]:
    if len(run) < 2:
        return list(run)
    named = [_POSITION.search(frame.row.because) for frame in reversed(run)]
    positions = [
        float(match.group(1).replace("−", "-").replace(",", ".").replace(" ", "")) for match in named if match
    ]
    return [Series(tuple(run), tuple(positions) if len(positions) == len(run) else ())]

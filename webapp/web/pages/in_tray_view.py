"""The in-tray as a template may print it: a line an exposure, and the shots that it may be filed to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.records.tables import ArrivalState, Session, Shot
from webapp.shoots.in_tray import TrayLine
from webapp.web.pages.form_view import Choice
from webapp.web.words.say import say


@dataclass(frozen=True, slots=True)
class LineView:
    """One exposure: the names of its files, what keeps it from being a frame, and since when. What waits is ticked, what
    was refused is not."""

    id: str
    names: str
    why: str
    came: str
    folder: str
    ticked: bool


@dataclass(frozen=True, slots=True)
class InTrayView:
    """The page. `shots` has the active one first."""

    lines: tuple[LineView, ...]
    shots: tuple[Choice, ...]


def in_tray_view(
    lines: Sequence[TrayLine], sessions: Sequence[Session], shots: Mapping[str, Sequence[Shot]]
) -> InTrayView:
    """What the page shows."""
    open_shots = [(shot, session) for session in sessions for shot in shots[session.id] if shot.closed_at is None]
    open_shots.sort(key=lambda each: not each[0].on_set)
    choices = tuple(
        Choice(shot.id, f"{shot.title}, {session.name}{', active' if shot.on_set else ''}", shot.on_set)
        for shot, session in open_shots
    )
    return InTrayView(tuple(map(_line, lines)), choices)


def _line(line: TrayLine) -> LineView:
    return LineView(
        id=line.id,
        names=" and ".join(each.path for each in line.arrivals),
        why=" ".join(say(each) for each in line.why),
        came=f"{line.arrivals[0].seen_at:%d %B %Y, %H:%M} UTC",
        folder=line.arrivals[0].folder,
        ticked=line.arrivals[0].state == ArrivalState.WAITING,
    )

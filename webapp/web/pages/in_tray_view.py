"""The in-tray as a template may print it: what is asked about together, a line for each other exposure, and the shots that
they may be filed to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from webapp.records.tables import ArrivalState, Session, Shot
from webapp.shoots.in_tray import Question, Tray, TrayLine
from webapp.web.pages.form_view import Choice
from webapp.web.words.in_tray import arriving_words, question_words
from webapp.web.words.say import say

_SHOWN_OF_QUESTION: Final = 200


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
class QuestionView:
    """What came together: how it is asked about, the first of its lines, and how many `more` there are."""

    id: str
    words: str
    came: str
    folder: str
    lines: tuple[LineView, ...]
    more: int


@dataclass(frozen=True, slots=True)
class ArrivingView:
    """A file that has not come whole, and what is said of it."""

    name: str
    words: str


@dataclass(frozen=True, slots=True)
class InTrayView:
    """The page. `shots` has the active one first; `active` is that one, where there is one; `watches` whether a
    folder is watched."""

    questions: tuple[QuestionView, ...]
    lines: tuple[LineView, ...]
    more: int
    shots: tuple[Choice, ...]
    active: Shot | None
    problem: str
    watches: bool
    arriving: tuple[ArrivingView, ...]


def in_tray_view(
    tray: Tray,
    sessions: Sequence[Session],
    shots: Mapping[str, Sequence[Shot]],
    problem: str = "",
    *,
    watches: bool,
) -> InTrayView:
    """What the page shows."""
    open_shots = [(shot, session) for session in sessions for shot in shots[session.id] if shot.closed_at is None]
    open_shots.sort(key=lambda each: not each[0].on_set)
    choices = tuple(
        Choice(shot.id, f"{shot.title}, {session.name}{', active' if shot.on_set else ''}", shot.on_set)
        for shot, session in open_shots
    )
    active = next((shot for shot, _ in open_shots if shot.on_set), None)
    questions = tuple(map(_question, tray.questions))
    arriving = tuple(ArrivingView(each.path, arriving_words(each.size_bytes)) for each in tray.arriving)
    return InTrayView(
        questions, tuple(map(_line, tray.lines)), tray.more, choices, active, problem, watches, arriving
    )


def _question(question: Question) -> QuestionView:
    shown = question.lines[:_SHOWN_OF_QUESTION]
    return QuestionView(
        id=question.id,
        words=question_words(question.reason, len(question.arrivals)),
        came=_came(question.lines[0]),
        folder=question.folder,
        lines=tuple(map(_line, shown)),
        more=len(question.lines) - len(shown),
    )


def _line(line: TrayLine) -> LineView:
    return LineView(
        id=line.id,
        names=" and ".join(each.path for each in line.arrivals),
        why=" ".join(say(each) for each in line.why),
        came=_came(line),
        folder=line.arrivals[0].folder,
        ticked=line.arrivals[0].state == ArrivalState.WAITING,
    )


def _came(line: TrayLine) -> str:
    return f"{line.arrivals[0].seen_at:%d %B %Y, %H:%M} UTC"

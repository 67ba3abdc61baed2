"""The first page: the shot that goes on, and the sessions, each with the picture that it is known by."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from webapp.records.shots import Shown
from webapp.records.tables import Session, Shot

_SHOTS_NAMED: Final = 4
"""A session that has more shots names its newest, and says how many more there are."""


MOST_PICTURED: Final = 12
"""So many sessions stand there with their pictures; those before them one line each."""


@dataclass(frozen=True, slots=True)
class ShotLine:
    """A shot in a list, with what its picture shows; `picture` is a digest, empty where there is none."""

    id: str
    number: int
    title: str
    subject: str
    frames: int
    on_set: bool
    closed: bool
    picture: str
    picture_shows: str


@dataclass(frozen=True, slots=True)
class SessionLine:
    """A session in the list, its newest shots first; `more` counts those that are not named."""

    id: str
    name: str
    day: str
    shots: tuple[ShotLine, ...]
    more: int
    picture: str


def shot_line(shot: Shot, frames: Mapping[str, int], shown: Mapping[str, Shown]) -> ShotLine:
    known_by = shown.get(shot.id)
    return ShotLine(
        shot.id,
        shot.number,
        shot.title,
        shot.subject,
        frames.get(shot.id, 0),
        shot.on_set,
        shot.closed_at is not None,
        known_by.digest if known_by else "",
        f"{'the hero, ' if known_by.is_hero else ''}frame {known_by.frame} of {shot.title}" if known_by else "",
    )


def session_line(
    session: Session, shots: Sequence[Shot], frames: Mapping[str, int], shown: Mapping[str, Shown]
) -> SessionLine:
    lines = tuple(shot_line(shot, frames, shown) for shot in reversed(shots))
    picture = next((each.picture for each in lines if each.picture), "")
    named = lines[:_SHOTS_NAMED]
    return SessionLine(session.id, session.name, session.day.isoformat(), named, len(lines) - len(named), picture)

"""A session as its page shows it: its brief, and what it asks as its next shot begins, which of the places that were
measured in the one before still hold."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.ledger import placing
from webapp.ledger.set_up import SetUp
from webapp.quantities.lengths import Lengths
from webapp.records.tables import Session, Shot
from webapp.shoots.sessions import StillThere
from webapp.web.words.listing import begun
from webapp.web.words.places import where_words

FEW_SHOTS = 4
"""So many stand on the page by pictures that are large; more in a list, the newest first."""


@dataclass(frozen=True, slots=True)
class Brief:
    """What the pictures of a session are for: as it was written, and line by line, name and value."""

    written: str
    lines: tuple[tuple[str, str], ...]

    @property
    def is_there(self) -> bool:
        return bool(self.written or self.lines)


def brief_of(session: Session) -> Brief:
    """The brief of a session; what nobody said is left out."""
    deadline = session.deadline
    lines = (
        ("use", session.used_for),
        ("size", session.size),
        ("crop", session.crop),
        ("deadline", f"{deadline.day} {deadline:%B %Y}" if deadline else ""),
        ("must match", session.must_match),
    )
    return Brief(session.brief, tuple(line for line in lines if line[1]))


@dataclass(frozen=True, slots=True)
class PlaceLine:
    """A place that was measured in the shot before, to be ticked where it still holds."""

    field: str
    name: str
    where: str
    ticked: bool


@dataclass(frozen=True, slots=True)
class PlacesAsked:
    """The places that the next shot would carry on as measured in `of_shot`."""

    of_shot: str
    title: str
    lines: tuple[PlaceLine, ...]


def places_asked(
    before: tuple[Shot, SetUp] | None, lengths: Lengths, still_there: StillThere | None = None
) -> PlacesAsked | None:
    """The places to tick, all of them ticked at first; where the form comes back, those that are `still_there`. None where
    nothing was measured."""
    fields = placing.measured_places(before[1]) if before else ()
    if before is None or not fields:
        return None
    shot, set_up = before
    lines = tuple(
        PlaceLine(field, *_told(set_up, field, lengths), still_there is None or field in still_there.fields)
        for field in fields
    )
    return PlacesAsked(shot.id, shot.title, lines)


def _told(set_up: SetUp, field: str, lengths: Lengths) -> tuple[str, str]:
    """The name of what stands there, and where that is."""
    name, position = placing.name_of_place(field), placing.position_of(set_up, field)
    light = set_up.light(name)
    if position is not None:
        return light.name if light else begun(name), where_words(position.at, lengths)
    assert light is not None
    return light.name, f"{lengths.text(light.distance_mm)} from the subject"

"""Places on the set, and how things moved between two plans."""

from __future__ import annotations

from collections.abc import Mapping

from webapp.facts import Fact
from webapp.plan.positions import SAME_MM, Place, Position
from webapp.quantities.angles import bearing_text
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.web.words.figures import maybe_number
from webapp.web.words.listing import joined


def where_words(at: Place, lengths: Lengths = CENTIMETRES) -> str:
    """A place as it is spoken of.

    >>> from webapp.plan.positions import place_at
    >>> where_words(place_at(800.0, -45.0, 400.0))
    '80 cm from the subject, 45° left, 40 cm above'
    """
    if at.distance_mm < SAME_MM:
        return "in the middle of the subject"
    parts = [f"{lengths.text(at.distance_mm)} from the subject"]
    if at.floor_mm >= SAME_MM:
        parts.append(bearing_text(at.bearing_deg))
    parts.append("level with it" if abs(at.z_mm) < SAME_MM else lengths.offset_text(at.z_mm))
    return ", ".join(parts)


def short_where(at: Place, lengths: Lengths = CENTIMETRES) -> str:
    """The same in as few words as a row has room for.

    >>> from webapp.plan.positions import place_at
    >>> short_where(place_at(800.0, -45.0, 400.0)), short_where(place_at(800.0, 45.0))
    ('80 cm, 45° left, 40 cm above', '80 cm, 45° right, level')
    """
    if at.distance_mm < SAME_MM:
        return "in the middle of the subject"
    height = "level" if abs(at.z_mm) < SAME_MM else lengths.offset_text(at.z_mm)
    bearing = [bearing_text(at.bearing_deg)] if at.floor_mm >= SAME_MM else []
    return ", ".join((lengths.text(at.distance_mm), *bearing, height))


def known_words(position: Position, sets: Mapping[str, str] | None = None) -> str:
    """How well a place is known, and of which set where it was carried over; `sets` are their names by id.

    >>> known_words(Position(Place(), known="carried over", carried_from="a1"), {"a1": "Clock, from above"})
    'carried over from Clock, from above'
    """
    if position.known == "carried over" and (name := (sets or {}).get(position.carried_from)):
        return f"carried over from {name}"
    return "not known" if position.known == "unknown" else position.known


def held_words(held_by: str) -> str:
    """What holds something; empty where nobody said it.

    >>> held_words("boom"), held_words("hung"), held_words("not said")
    ('on a boom', 'hung', '')
    """
    return {"stand": "on a stand", "boom": "on a boom", "not said": ""}.get(held_by, held_by)


def carried_distance_words(distance_mm: float, lengths: Lengths = CENTIMETRES) -> str:
    """A distance that stands for a place, and that came over from another set.

    >>> carried_distance_words(1200.0)
    '120 cm from the subject, carried over; its direction is unknown'
    """
    return f"{lengths.text(distance_mm)} from the subject, carried over; its direction is unknown"


def came_in_words(told: Fact, lengths: Lengths) -> str:
    """ "C came in, 80 cm from the subject, 30° right, level with it."; a thing without a place only came in."""
    if told["x_mm"] is None:
        return f"{told.about} came in."
    at = Place(told.number("x_mm"), told.number("y_mm"), told.number("z_mm"))
    return f"{told.about} came in, {where_words(at, lengths)}."


def moved_words(told: Fact, lengths: Lengths) -> str:
    """ "B moved 20 cm nearer, 15° forward and 10 cm higher."; forward is towards the camera."""
    parts = []
    if nearer_mm := maybe_number(told, "nearer_mm"):
        parts.append(f"{lengths.text(abs(nearer_mm))} {'nearer' if nearer_mm > 0 else 'further away'}")
    if told["was_deg"] is not None:
        parts.append(_turned(told.number("was_deg"), told.number("now_deg")))
    if higher_mm := maybe_number(told, "higher_mm"):
        parts.append(f"{lengths.text(abs(higher_mm))} {'higher' if higher_mm > 0 else 'lower'}")
    return f"{told.about} moved {joined(parts)}."


def _turned(was: float, now: float) -> str:
    # Only where both lie on one side of the lens axis does forward say all of it.
    if was * now < 0.0 and abs(was) < 179.5 and abs(now) < 179.5:
        return f"from {bearing_text(was)} to {bearing_text(now)}"
    turned = abs((now - was + 180.0) % 360.0 - 180.0)
    return f"{turned:.0f}° {'forward' if abs(now) < abs(was) else 'back'}"

"""What a new version of a recipe says otherwise than the one before. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from webapp.facts import Fact, fact
from webapp.ledger.geometry import named_places
from webapp.plan import positions
from webapp.recipes.document import LightPart, Recipe, Setting
from webapp.recipes.reasons import Reason
from webapp.recipes.written_frame import light_of, thing_of

_SAME = 1e-6
_WORDING = ("title", "subject", "background", "subject_types", "surfaces", "looks", "tags")
_REWRITTEN = ("why", "steps", "changes", "tolerances", "patches", "post", "result", "comparisons", "cautions", "open")


def differences(before: Recipe, after: Recipe) -> tuple[Fact, ...]:
    """Every difference; empty where the two say the same."""
    return (
        *_settings(before, after),
        *_lights(before, after),
        *_places(before, after),
        *_ambient(before, after),
        *_wording(before, after),
    )


def _settings(before: Recipe, after: Recipe) -> Iterator[Fact]:
    was, now = before.settings, after.settings
    yield from _mark("f_number", was.f_number, now.f_number, -1)
    yield from _mark("iso", was.iso, now.iso, 1)
    yield from _mark("shutter", was.shutter, now.shutter, -1)
    if was.magnification != now.magnification:
        yield fact(Reason.MAGNIFICATION_CHANGED, was=was.magnification, now=now.magnification)
    yield from _length(Reason.CAMERA_MOVED, "", was.subject_distance_mm, now.subject_distance_mm)
    for name in ("camera", "lens"):
        old, new = (getattr(each, name) for each in (before, after))
        names = [each.name if each else None for each in (old, new)]
        if names[0] != names[1]:
            yield fact(Reason.PIECE_CHANGED, name, was=names[0], now=names[1])


def _mark(name: str, was: Setting | None, now: Setting | None, sign: int) -> Iterator[Fact]:
    if was is None or now is None:
        if was is not now:
            old, new = (each.text if each else None for each in (was, now))
            yield fact(Reason.MARK_CHANGED, name, was=old, now=new, stops=None)
    elif abs(was.stops - now.stops) > _SAME:
        yield fact(Reason.MARK_CHANGED, name, was=was.text, now=now.text, stops=sign * (now.stops - was.stops))


def _lights(before: Recipe, after: Recipe) -> Iterator[Fact]:
    old, new = ({light.letter: light for light in each.lights} for each in (before, after))
    for letter in sorted(old.keys() | new.keys()):
        was, now = old.get(letter), new.get(letter)
        if was is None or now is None:
            yield fact(Reason.LIGHT_ADDED if was is None else Reason.LIGHT_GONE, letter)
            continue
        yield from _light(was, now)


def _light(was: LightPart, now: LightPart) -> Iterator[Fact]:
    letter = now.letter
    if was.lit != now.lit:
        yield fact(Reason.LIGHT_SWITCHED, letter, lit=now.lit)
    if was.head != now.head:
        yield fact(Reason.HEAD_CHANGED, letter, was=was.head.name, now=now.head.name)
    elif was.power_stops != now.power_stops:
        gained = None if was.power_stops is None or now.power_stops is None else now.power_stops - was.power_stops
        yield fact(Reason.POWER_CHANGED, letter, was=was.power_mark, now=now.power_mark, stops=gained)
    yield from _length(Reason.LIGHT_MOVED, letter, was.distance_mm, now.distance_mm)
    if was.incident_av is not None and now.incident_av is not None and abs(was.incident_av - now.incident_av) > _SAME:
        yield fact(Reason.LEVEL_CHANGED, letter, stops=now.incident_av - was.incident_av)
    for name in ("role", "modifier", "shines_on", "held_by", "direction"):
        old, new = getattr(was, name), getattr(now, name)
        if old != new:
            yield fact(Reason.LIGHT_FIELD_CHANGED, letter, field=name, was=old or None, now=new or None)
    if was.filters != now.filters:
        yield fact(Reason.FILTERS_CHANGED, letter, was=_names(was), now=_names(now))


def _places(before: Recipe, after: Recipe) -> Iterator[Fact]:
    was, now = (named_places(map(light_of, each.lights), map(thing_of, each.things)) for each in (before, after))
    yield from positions.differences(was, now)


def _ambient(before: Recipe, after: Recipe) -> Iterator[Fact]:
    was, now = (None if each.ambient is None else each.ambient.margin_stops for each in (before, after))
    if was is None or now is None:
        if was is not now:
            yield fact(Reason.AMBIENT_MARGIN_CHANGED, was_stops=was, now_stops=now)
    elif round(was, 1) != round(now, 1):
        # The margin is told to a tenth of a stop.
        yield fact(Reason.AMBIENT_MARGIN_CHANGED, was_stops=was, now_stops=now)


def _wording(before: Recipe, after: Recipe) -> Iterator[Fact]:
    for name in _WORDING:
        old, new = getattr(before, name), getattr(after, name)
        if old != new:
            yield fact(Reason.WORDING_CHANGED, name, was=old, now=new)
    for name in _REWRITTEN:
        if getattr(before, name) != getattr(after, name):
            yield fact(Reason.REWRITTEN, name)


def _length(reason: Reason, letter: str, was_mm: float | None, now_mm: float | None) -> Iterator[Fact]:
    if was_mm is None or now_mm is None:
        if was_mm is not now_mm:
            yield fact(reason, letter, was_mm=was_mm, now_mm=now_mm)
    elif abs(was_mm - now_mm) > _SAME:
        yield fact(reason, letter, was_mm=was_mm, now_mm=now_mm)


def _names(light: LightPart) -> tuple[str, ...]:
    return tuple(each.name for each in light.filters)

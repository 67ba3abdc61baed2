"""The usual slips on a set, each with the light that it would have made: a change that was written down and not made,
a light left off, a filter forgotten, a neighbouring mark, a close-up loss counted twice, the room, the flash itself.

How unusual each is, is common practice: whole stops are misread more often than odd numbers of marks, and two slips
at once are rarer than one.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from webapp.facts import Fact, fact
from webapp.ledger.entries import Cause, Entry, compare
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.explanations import Case, Effect
from webapp.ledger.exposures import AMBIENT, exposure_of
from webapp.ledger.set_up import SetUp
from webapp.optics import macro
from webapp.optics.scales import Dial, Marked, Quantity, marks

_FURTHEST_STOPS: Final = 4.0
_SAME: Final = 1e-6
_WHOLE: Final = 1e-3
# How unusual a slip is, in the same coin as squared tolerances.
_USUAL: Final = 1.0
_NEIGHBOURING: Final = 1.2
_WHOLE_STOPS: Final = 1.3
_ODD_MARKS: Final = 2.5
_ANOTHER_DIAL: Final = 0.5
_BOTH: Final = 0.8
_BY_CHANCE: Final = 1.5
_CLOSE_UP: Final = 1.6


@dataclass(frozen=True, slots=True)
class Slip:
    """Something that may have gone wrong, or two at once: what it would have done, how unusual it is, and the fields
    that would put it right, by path. `warmth_mired` is the colour that a missing filter took with it."""

    key: str
    causes: tuple[Fact, ...]
    effect: Effect
    unusual: float
    changes: tuple[tuple[str, Any], ...] = ()
    warmth_mired: float = 0.0


def single_slips(case: Case) -> Iterator[Slip]:
    """Each slip by itself."""
    yield from _fixed_slips(case)
    yield from _other_marks(case, fixed=False)
    yield from _camera_marks(case)
    yield from _close_up(case)
    yield from _ambient(case)
    yield from _chance(case)


def _fixed_slips(case: Case) -> Iterator[Slip]:
    """The slips whose size is given by the log itself."""
    yield from _never_made(case)
    yield from _left_off_or_on(case)
    yield from _filters_missing(case)


def _never_made(case: Case) -> Iterator[Slip]:
    """A change that was written down and not made: the dial still stands as in the frame before."""
    before = case.previous
    if before is None:
        return
    seen: set[str] = set()
    for entry in compare(exposure_of(before), exposure_of(case.set_up)).entries:
        change = _undone(entry, before)
        if change is None or entry.stops is None or change[0] in seen or change[0] in case.told_by_file:
            continue
        seen.add(change[0])
        on_one = change[0].startswith("lights.")
        about = entry.acts_on if on_one else ""
        yield Slip(
            key=f"never-made {change[0]}",
            causes=(fact(Reason.CHANGE_NOT_MADE, about, cause=str(entry.cause), **entry.told),),
            effect=Effect(by_light={entry.acts_on: -entry.stops}) if on_one else Effect(everywhere=-entry.stops),
            unusual=_USUAL,
            changes=(change,),
        )


def _undone(entry: Entry, before: SetUp) -> tuple[str, Any] | None:
    """The field and value that would undo an entry; None for what does not move flash."""
    light = before.light(entry.acts_on)
    if light is not None:
        own: dict[Cause, tuple[str, Any]] = {
            Cause.ENERGY: ("power", light.power_stops),
            Cause.DISTANCE: ("distance", light.distance_mm),
            Cause.FILTERS: ("filters", tuple(each.id for each in light.filters)),
            Cause.MODIFIER: ("modifier", light.modifier.id if light.modifier else None),
        }
        if entry.cause in own:
            name, value = own[entry.cause]
            return f"lights.{entry.acts_on}.{name}", value
    shared: dict[Cause, tuple[str, Any]] = {
        Cause.APERTURE: ("f_number", before.f_number),
        Cause.ISO: ("iso", before.iso),
        Cause.CLOSE_UP: ("magnification", before.magnification),
        Cause.LENS_FILTERS: ("lens_filters", tuple(each.id for each in before.lens_filters)),
        Cause.POPS: ("pops", before.pops),
    }
    return None if entry.acts_on == AMBIENT else shared.get(entry.cause)


def _left_off_or_on(case: Case) -> Iterator[Slip]:
    lit = [light for light in case.set_up.lights if light.lit]
    for light in lit:
        if len(lit) > 1:
            yield Slip(
                f"off {light.letter}",
                (fact(Reason.DID_NOT_FIRE, light.letter, light=light.name),),
                Effect(off=frozenset(light.letter)),
                _USUAL,
                ((f"lights.{light.letter}.lit", False),),
            )
    for light in case.set_up.lights:
        if not light.lit and light.letter in case.balances_if_lit:
            yield Slip(
                f"on {light.letter}",
                (fact(Reason.FIRED_AS_WELL, light.letter, light=light.name, mark=light.power_mark()),),
                Effect(lit={light.letter: case.balances_if_lit[light.letter]}),
                _USUAL,
                ((f"lights.{light.letter}.lit", True),),
            )


def _filters_missing(case: Case) -> Iterator[Slip]:
    for light in (each for each in case.set_up.lights if each.lit):
        for item in {each.id: each for each in light.filters}.values():
            if item.loss_stops:
                kept = _without_one([each.id for each in light.filters], item.id)
                yield Slip(
                    f"filter {light.letter} {item.id}",
                    (fact(Reason.FILTER_NOT_ON, light.letter, filter=item.name, loss_stops=item.loss_stops),),
                    Effect(by_light={light.letter: item.loss_stops}),
                    _USUAL,
                    ((f"lights.{light.letter}.filters", kept),),
                    item.shift_mired,
                )
    for item in {each.id: each for each in case.set_up.lens_filters}.values():
        if item.loss_stops:
            kept = _without_one([each.id for each in case.set_up.lens_filters], item.id)
            yield Slip(
                f"lens filter {item.id}",
                (fact(Reason.FILTER_NOT_ON, filter=item.name, loss_stops=item.loss_stops),),
                Effect(everywhere=item.loss_stops),
                _USUAL,
                (("lens_filters", kept),),
                item.shift_mired,
            )


def _without_one(ids: list[str], item_id: str) -> tuple[str, ...]:
    ids.remove(item_id)
    return tuple(ids)


def _other_marks(case: Case, *, fixed: bool) -> Iterator[Slip]:
    """The dial of a light stood on another mark. `fixed` leaves the neighbouring marks and whole stops: what may be
    one of two slips at once."""
    for light in (each for each in case.set_up.lights if each.lit and each.power_stops is not None):
        dial, logged = light.head.dial, light.power_stops or 0.0
        furthest = int(_FURTHEST_STOPS / dial.step_stops)
        seen = {logged}
        for clicks in sorted(range(-furthest, furthest + 1), key=abs):
            stood = dial.step(logged, clicks)
            if stood in seen:
                continue
            seen.add(stood)
            moved = stood - logged
            whole = abs(moved - round(moved)) < _WHOLE
            if fixed and not (abs(clicks) == 1 or (whole and abs(moved) <= 2.0 + _WHOLE)):
                continue
            neighbouring = abs(clicks) == 1
            size = light.head.learned_slope * moved
            told = fact(
                Reason.LIGHT_AT_ANOTHER_MARK,
                light.letter,
                light=light.name,
                stood=dial.mark(stood),
                logged=dial.mark(logged),
                marks=clicks,
                makes_stops=size,
            )
            yield Slip(
                f"mark {light.letter} {clicks:+d}",
                (told,),
                Effect(by_light={light.letter: size}),
                _NEIGHBOURING if neighbouring else _WHOLE_STOPS if whole else _ODD_MARKS,
                ((f"lights.{light.letter}.power", stood),),
            )


def _camera_marks(case: Case) -> Iterator[Slip]:
    """Aperture or ISO stood elsewhere, where the file does not say."""
    dials: tuple[tuple[str, Cause, Quantity, Marked | None, Dial, float], ...] = (
        ("f_number", Cause.APERTURE, Quantity.F_NUMBER, case.set_up.f_number, case.set_up.lens.f_number_dial, -1.0),
        ("iso", Cause.ISO, Quantity.ISO, case.set_up.iso, case.set_up.camera.iso_dial, 1.0),
    )
    for name, cause, quantity, logged, dial, sign in dials:
        if logged is None or name in case.told_by_file:
            continue
        for mark in marks(quantity, dial):
            moved = mark.stops - logged.stops
            clicks = round(moved * dial.steps_per_stop)
            if not clicks or abs(moved) > _FURTHEST_STOPS:
                continue
            whole = abs(moved - round(moved)) < _WHOLE
            there = Marked(quantity, mark.text, mark.stops, dial)
            one = abs(clicks) == 1
            told = fact(
                Reason.CAMERA_AT_ANOTHER_MARK,
                cause=str(cause),
                stood=mark.text,
                logged=logged.text,
                marks=clicks,
                makes_stops=sign * moved,
            )
            yield Slip(
                f"camera {name} {clicks:+d}",
                (told,),
                Effect(everywhere=sign * moved),
                (_NEIGHBOURING if one else _WHOLE_STOPS if whole else _ODD_MARKS) + _ANOTHER_DIAL,
                ((name, there),),
            )


def _close_up(case: Case) -> Iterator[Slip]:
    """The close-up loss not written down, or counted twice."""
    now, then = case.set_up.magnification, case.reference.magnification
    if now is None or then is None:
        return
    pupil = case.set_up.lens.pupil_ratio
    grown = macro.exposure_increase_stops(now, pupil) - macro.exposure_increase_stops(then, pupil)
    if abs(grown) > _SAME:
        yield Slip(
            "close-up twice",
            (fact(Reason.CLOSE_UP_COUNTED_TWICE, was=then, now=now, loss_stops=grown),),
            Effect(everywhere=grown),
            _CLOSE_UP,
        )
    lost = -sum(each.unexplained_stops for each in case.patches) / len(case.patches)
    factor = 2.0 ** ((macro.exposure_increase_stops(now, pupil) + lost) / 2.0) - 1.0
    really = round(factor * pupil, 2)
    most = case.set_up.lens.greatest_magnification or 1.0
    if lost > 0 and now < really <= most + 0.05:
        loss = macro.exposure_increase_stops(really, pupil) - macro.exposure_increase_stops(now, pupil)
        yield Slip(
            "close-up missing",
            (fact(Reason.CLOSE_UP_NOT_COUNTED, really=really, logged=now, loss_stops=loss),),
            Effect(everywhere=-loss),
            _CLOSE_UP,
            (("magnification", really),),
        )


def _ambient(case: Case) -> Iterator[Slip]:
    if case.ambient_margin_stops is None:
        return
    yield Slip(
        "ambient",
        (fact(Reason.AMBIENT_ADDS, margin_stops=case.ambient_margin_stops),),
        Effect(added_ambient=True),
        _USUAL,
    )


def _chance(case: Case) -> Iterator[Slip]:
    """The flash itself, as its spread is known. It explains what lies within three deviations and moves nothing."""
    lit = [light.letter for light in case.set_up.lights if light.lit and light.letter in case.spreads]
    if not lit:
        return
    widest = max(case.spreads[letter] for letter in lit)
    off = max((each.unexplained_stops for each in case.patches), key=abs)
    if abs(off) <= 3.0 * widest:
        yield Slip(
            "variation",
            (fact(Reason.FLASH_VARIES, lights=tuple(lit), deviation_stops=widest, off_stops=abs(off)),),
            Effect(everywhere=off),
            _BY_CHANCE,
        )


def pairs_of_slips(case: Case) -> Iterator[Slip]:
    """Two slips at once, of those whose size the log or a dial gives."""
    slips = [*_fixed_slips(case), *_other_marks(case, fixed=True)]
    for one, other in itertools.combinations(slips, 2):
        if {path for path, _ in one.changes} & {path for path, _ in other.changes}:
            continue
        if one.effect.off & set(other.effect.by_light) or other.effect.off & set(one.effect.by_light):
            continue
        yield Slip(
            f"{one.key} & {other.key}",
            (*one.causes, *other.causes),
            _together(one.effect, other.effect),
            one.unusual + other.unusual + _BOTH,
            (*one.changes, *other.changes),
            one.warmth_mired + other.warmth_mired,
        )


def _together(one: Effect, other: Effect) -> Effect:
    letters = one.by_light.keys() | other.by_light.keys()
    return Effect(
        by_light={letter: one.by_light.get(letter, 0.0) + other.by_light.get(letter, 0.0) for letter in letters},
        everywhere=one.everywhere + other.everywhere,
        off=one.off | other.off,
        lit={**one.lit, **other.lit},
    )

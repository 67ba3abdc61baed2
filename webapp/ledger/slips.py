"""The usual slips on a set, each with the light that it would have made: a change that was written down and not made,
a light left off, a filter forgotten, a neighbouring mark, a close-up loss counted twice, the room, the flash itself.

How unusual each is, is common practice: whole stops are misread more often than odd numbers of marks, and two slips
at once are rarer than one.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from webapp.facts import Fact, fact
from webapp.ledger.entries import Cause, Entry, compare
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.explanations import Case, Effect
from webapp.ledger.exposures import AMBIENT, counted, exposure_of
from webapp.ledger.set_up import FilterFigures, Light, ModifierFigures, SetUp
from webapp.optics import distance_law, flash, macro
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
_IN_THE_BEAM: Final = 1.6
_ANOTHER_SHEET: Final = 0.4
_MOVED: Final = 1.8
_MOST_SHEETS: Final = 3
_TIME_IS_READ_TO_S: Final = 1.0
"""A file says when it was exposed to the second."""


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
    yield from _beside_the_dials(case)
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
            warmth_mired=_missing_mired(entry, before, case.set_up),
        )


def _missing_mired(entry: Entry, before: SetUp, now: SetUp) -> float:
    """The colour of the filters that a change put in and that were not on."""
    if entry.cause not in (Cause.FILTERS, Cause.LENS_FILTERS):
        return 0.0
    mired = []
    for set_up in (now, before):
        light = set_up.light(entry.acts_on)
        fitted = set_up.lens_filters if entry.cause is Cause.LENS_FILTERS or light is None else light.filters
        mired.append(sum(each.shift_mired for each in fitted))
    return mired[0] - mired[1]


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
    """A filter that is written down and was not on; of several of one kind any number."""
    for light in (each for each in case.set_up.lights if each.lit):
        yield from _off(light.letter, light.filters, f"filter {light.letter}", f"lights.{light.letter}.filters")
    yield from _off("", case.set_up.lens_filters, "lens filter", "lens_filters")


def _off(letter: str, fitted: Sequence[FilterFigures], key: str, path: str) -> Iterator[Slip]:
    for item in {each.id: each for each in fitted}.values():
        ids = [each.id for each in fitted]
        for count in range(1, ids.count(item.id) + 1):
            if item.loss_stops:
                kept = [each for each in ids if each != item.id] + [item.id] * (ids.count(item.id) - count)
                (named,) = counted([item.name] * count)
                loss = item.loss_stops * count
                yield Slip(
                    f"{key} {item.id}" if count == 1 else f"{key} {count} {item.id}",
                    (fact(Reason.FILTER_NOT_ON, letter, filter=named, loss_stops=loss),),
                    _more(letter, loss),
                    _USUAL,
                    ((path, tuple(kept)),),
                    item.shift_mired * count,
                )


def _more(letter: str, stops: float) -> Effect:
    """So much more of a light, or of everything."""
    return Effect(by_light={letter: stops}) if letter else Effect(everywhere=stops)


# --- beside the dials ---------------------------------------------------------------------------------------------


def _beside_the_dials(case: Case) -> Iterator[Slip]:
    """What else has the size of what a light gave more or less: where it stood, what stood in its beam, its recycling,
    the powers of two lights exchanged, the pops."""
    flashes = [light for light in case.set_up.lights if light.lit and light.head.kind == "flash"]
    for light in (each for each in case.set_up.lights if each.lit):
        off = case.off_by(light.letter)
        if off is not None:
            yield from _another_distance(light, off)
            yield from _not_recycled(case, light, off)
        fitted = [each.id for each in light.filters]
        path = f"lights.{light.letter}.filters"
        yield from _also_on(light.letter, case.at_hand.light_filters, fitted, f"filter on {light.letter}", path)
        yield from _another_modifier(light, case.at_hand.modifiers)
    fitted = [each.id for each in case.set_up.lens_filters]
    yield from _also_on("", case.at_hand.lens_filters, fitted, "lens filter on", "lens_filters")
    for one, other in itertools.combinations(flashes, 2):
        yield from _powers_swapped(one, other)
    yield from _other_pops(case, [light.letter for light in flashes])


def _another_distance(light: Light, off: float) -> Iterator[Slip]:
    if light.distance_mm is None:
        return
    source = light.face.source()
    try:
        really = distance_law.distance_for_change_mm(source, light.distance_mm, off)
    except ValueError:
        return
    really = round(really, -1)
    if really in (0.0, light.distance_mm):
        return
    makes = distance_law.change_with_distance_stops(source, light.distance_mm, really)
    told = fact(
        Reason.LIGHT_AT_ANOTHER_DISTANCE,
        light.letter,
        light=light.name,
        really_mm=really,
        logged_mm=light.distance_mm,
        makes_stops=makes,
    )
    changes = ((f"lights.{light.letter}.distance", really),)
    yield Slip(f"distance {light.letter}", (told,), _more(light.letter, makes), _MOVED, changes)


def _not_recycled(case: Case, light: Light, off: float) -> Iterator[Slip]:
    """A flash that fired before it was full: only where the file times leave it no time, or say nothing."""
    since, recycle = case.since_previous_s, light.head.recycle_s
    too_soon = since is not None and recycle is not None and since < recycle + _TIME_IS_READ_TO_S
    if light.head.kind != "flash" or off > 0.0 or (since is not None and not too_soon):
        return
    told = fact(Reason.NOT_RECYCLED, light.letter, light=light.name, off_stops=-off, since_s=since, recycle_s=recycle)
    yield Slip(f"recycling {light.letter}", (told,), _more(light.letter, off), _USUAL if too_soon else _BY_CHANCE)


def _also_on(letter: str, ready: Sequence[FilterFigures], fitted: list[str], key: str, path: str) -> Iterator[Slip]:
    """A filter of the kit that was on and is not written down; of one kind up to three."""
    for item in (each for each in ready if each.loss_stops):
        for count in range(1, _MOST_SHEETS + 1):
            loss = (item.loss_stops or 0.0) * count
            (named,) = counted([item.name] * count)
            yield Slip(
                f"{key} {count} {item.id}",
                (fact(Reason.FILTER_ALSO_ON, letter, filter=named, loss_stops=loss),),
                _more(letter, -loss),
                _IN_THE_BEAM + _ANOTHER_SHEET * (count - 1),
                ((path, (*fitted, *[item.id] * count)),),
                -item.shift_mired * count,
            )


def _another_modifier(light: Light, ready: Sequence[ModifierFigures]) -> Iterator[Slip]:
    now = light.modifier
    loss = 0.0 if now is None else now.loss_stops
    if loss is None:
        return
    for other in (None, *ready):
        other_loss = 0.0 if other is None else other.loss_stops
        if other_loss is None or other_loss == loss or (other and now and other.id == now.id):
            continue
        told = fact(
            Reason.ANOTHER_MODIFIER,
            light.letter,
            light=light.name,
            fitted=other.name if other else "",
            logged=now.name if now else "",
            makes_stops=loss - other_loss,
        )
        item_id = other.id if other else None
        changes = ((f"lights.{light.letter}.modifier", item_id),)
        yield Slip(
            f"modifier {light.letter} {item_id}",
            (told,),
            _more(light.letter, loss - other_loss),
            _IN_THE_BEAM,
            changes,
        )


def _powers_swapped(one: Light, other: Light) -> Iterator[Slip]:
    if one.power_stops is None or other.power_stops is None or one.power_stops == other.power_stops:
        return
    if one.head.dial != other.head.dial:
        return
    moved = other.power_stops - one.power_stops
    told = fact(
        Reason.POWERS_SWAPPED, one.letter, other=other.letter, stood=other.power_mark(), logged=one.power_mark()
    )
    yield Slip(
        f"swapped {one.letter} {other.letter}",
        (told,),
        Effect(
            by_light={one.letter: moved * one.head.learned_slope, other.letter: -moved * other.head.learned_slope}
        ),
        _USUAL,
        ((f"lights.{one.letter}.power", other.power_stops), (f"lights.{other.letter}.power", one.power_stops)),
    )


def _other_pops(case: Case, letters: Sequence[str]) -> Iterator[Slip]:
    logged = case.set_up.pops
    for pops in range(1, 2 * logged + 1):
        if pops != logged and letters:
            stops = flash.pops_stops(pops) - flash.pops_stops(logged)
            yield Slip(
                f"pops {pops}",
                (fact(Reason.OTHER_POPS, pops=pops, logged=logged),),
                Effect(by_light=dict.fromkeys(letters, stops)),
                _USUAL if logged > 1 else _IN_THE_BEAM,
                (("pops", pops),),
            )


# --- the dials ----------------------------------------------------------------------------------------------------


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
    lost = -case.off_everywhere
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
    checked = [
        (each.wanted_stops - each.room_stops, each.name) for each in case.patches if each.room_stops is not None
    ]
    if not checked:
        return
    margin, patch = min(checked)
    yield Slip(
        "ambient",
        (fact(Reason.AMBIENT_ADDS, patch=patch, margin_stops=margin),),
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
        yield _pair(one, other)


def _pair(one: Slip, other: Slip) -> Slip:
    return Slip(
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


def slips_of_each(case: Case) -> Iterator[Slip]:
    """One slip for each of two lights or more that gave otherwise: by its dial as it comes nearest, or that it did not
    fire, or fired."""
    assert case.sources is not None
    letters = [each.source for each in case.sources.differing if each.source != AMBIENT]
    if len(letters) < 2:
        return
    chosen = [_nearest_of_one(case, letter) for letter in letters]
    if all(each is not None for each in chosen):
        known = [each for each in chosen if each is not None]
        together = known[0]
        for each in known[1:]:
            together = _pair(together, each)
        yield together


def _nearest_of_one(case: Case, letter: str) -> Slip | None:
    off = case.off_by(letter)
    if off is None:
        return next((slip for slip in _left_off_or_on(case) if slip.key in (f"off {letter}", f"on {letter}")), None)
    marks = [slip for slip in _other_marks(case, fixed=False) if letter in slip.effect.by_light]
    return min(marks, key=lambda slip: abs(slip.effect.by_light[letter] - off), default=None)

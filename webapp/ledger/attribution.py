"""What may lie behind an unexplained difference, in order, each checked by arithmetic.

Log and reading are held apart: nothing here says what was. Each explanation is a slip of a usual kind; the light it
would have made is added up through the shares of each patch, and what it then leaves unexplained is its test. An
explanation has to fit every patch at once, which is what tells two lights, and two causes at once, apart.

The order is common practice: what it leaves, in tolerances, squared, and on top how unusual the slip is. A change
that was written down and not made, a light left off and a filter forgotten are the usual slips; whole stops are
misread more often than odd numbers of marks; two slips at once are rarer than one.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from webapp.ledger.entries import CAUSE_WORDS, Cause, Entry, compare, magnification_text, mark_text
from webapp.ledger.exposures import AMBIENT, exposure_of
from webapp.ledger.set_up import Light, SetUp
from webapp.ledger.totals import summed_stops
from webapp.optics import exposure, macro
from webapp.optics.scales import Dial, Marked, Quantity, marks

_FURTHEST_STOPS: Final = 4.0
_MOST_TOLD: Final = 6
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
_CLEARLY_BETTER: Final = 0.5
# A gel that is missing shows in the colour; less than this is no colour to go by.
_TOLD_WARMTH_STOPS: Final = 0.08


@dataclass(frozen=True, slots=True)
class PatchCase:
    """A patch with a measured difference. `balances` are those of the lit lights; `shares` None: unknown, and all
    lit lights moved alike by `predicted_stops`. `level_stops` is the reading about mid-tone."""

    name: str
    measured_stops: float
    predicted_stops: float
    tolerance_stops: float
    level_stops: float
    wanted_stops: float = 0.0
    balances: Mapping[str, float] = field(default_factory=dict)
    shares: Mapping[str, float] | None = None
    warmth_stops: float | None = None

    @property
    def unexplained_stops(self) -> float:
        return self.measured_stops - self.predicted_stops


@dataclass(frozen=True, slots=True)
class Case:
    """Everything that an explanation may rest on.

    `told_by_file` names the camera's dials that the file itself vouches for. `spreads` has the known standard
    deviation of a head by letter. `balances_if_lit` are those that lights which are logged as off would have.
    The two ambient margins are those at the frame and at the reference frame, where an ambient check tells them.
    """

    set_up: SetUp
    reference: SetUp
    patches: tuple[PatchCase, ...]
    previous: SetUp | None = None
    previous_number: int | None = None
    told_by_file: frozenset[str] = frozenset()
    spreads: Mapping[str, float] = field(default_factory=dict)
    balances_if_lit: Mapping[str, float] = field(default_factory=dict)
    ambient_margin_stops: float | None = None
    reference_margin_stops: float | None = None


@dataclass(frozen=True, slots=True)
class Effect:
    """What a slip would have done: stops more on single lights and on everything, lights that were off or on."""

    by_light: Mapping[str, float] = field(default_factory=dict)
    everywhere: float = 0.0
    off: frozenset[str] = frozenset()
    lit: Mapping[str, float] = field(default_factory=dict)
    added_ambient: bool = False


@dataclass(frozen=True, slots=True)
class Explanation:
    """A likely cause. `changes` are the fields that would put the frame right, by path, none where there is nothing
    to take in; `leaves` is what each patch would be left with, `worst` the largest of it in
    tolerances, `unusual` its place in the order."""

    key: str
    title: str
    sentence: str
    effect: Effect
    leaves: Mapping[str, float]
    worst: float
    unusual: float
    changes: tuple[tuple[str, Any], ...] = ()

    @property
    def fits(self) -> bool:
        """Whether it leaves every patch within its tolerance."""
        return self.worst <= 1.0

    @property
    def leaves_most_stops(self) -> float:
        return max(self.leaves.values(), key=abs, default=0.0)


@dataclass(frozen=True, slots=True)
class Attribution:
    """The likely causes, first the likeliest, and the frame that would tell the first two apart. Both are empty
    within the tolerance."""

    explanations: tuple[Explanation, ...] = ()
    test_frame: str = ""


def attribute(case: Case) -> Attribution:
    """The explanations that fit all patches; where none does, the two that come nearest.

    Silent where every patch lies within its tolerance.
    """
    if not any(abs(each.unexplained_stops) > each.tolerance_stops for each in case.patches):
        return Attribution()
    singles = [checked for slip in _single_slips(case) if (checked := _checked(case, slip)) is not None]
    pairs = [checked for slip in _pairs(case) if (checked := _checked(case, slip)) is not None]
    ordered = sorted([*singles, *pairs], key=lambda each: (not each.fits, each.unusual, each.key))
    fitting = _one_a_place([each for each in ordered if each.fits])
    told = fitting[:_MOST_TOLD] or _nearest(case, ordered)
    return Attribution(tuple(told), discriminating_frame(case, told[0], told[1]) if len(told) > 1 else "")


def _one_a_place(ordered: list[Explanation]) -> list[Explanation]:
    """Of the marks of one dial only the likeliest; and a pair that has such a dial in it only where both together fit
    clearly better than it does alone."""
    kept: dict[tuple[str, ...], Explanation] = {}
    alone: dict[str, float] = {}
    for each in ordered:
        if len(each.changes) == 1:
            path = each.changes[0][0]
            alone[path] = min(alone.get(path, each.worst), each.worst)
    for each in ordered:
        paths = tuple(sorted(path for path, _ in each.changes)) or (each.key,)
        if len(paths) > 1 and any(each.worst > alone[path] - _CLEARLY_BETTER for path in paths if path in alone):
            continue
        kept.setdefault(paths, each)
    return list(kept.values())


def _nearest(case: Case, ordered: list[Explanation]) -> list[Explanation]:
    worst = max(abs(each.unexplained_stops) for each in case.patches)
    helping = [each for each in ordered if abs(each.leaves_most_stops) < worst / 2]
    return sorted(helping, key=lambda each: (abs(each.leaves_most_stops), each.unusual))[:2]


# --- slips --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Slip:
    key: str
    title: str
    sentence: str
    effect: Effect
    unusual: float
    changes: tuple[tuple[str, Any], ...] = ()
    warmth_mired: float = 0.0


def _single_slips(case: Case) -> Iterator[_Slip]:
    yield from _fixed_slips(case)
    yield from _other_marks(case, fixed=False)
    yield from _camera_marks(case)
    yield from _close_up(case)
    yield from _ambient(case)
    yield from _chance(case)


def _fixed_slips(case: Case) -> Iterator[_Slip]:
    """The slips whose size is given by the log itself."""
    yield from _never_made(case)
    yield from _left_off_or_on(case)
    yield from _filters_missing(case)


def _never_made(case: Case) -> Iterator[_Slip]:
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
        whose = f"{entry.acts_on}: " if change[0].startswith("lights.") else ""
        on_one = change[0].startswith("lights.")
        yield _Slip(
            key=f"never-made {change[0]}",
            title=f"{whose}{CAUSE_WORDS[entry.cause]} still at {entry.was}",
            sentence=f"The change from {entry.was} to {entry.now} was written down and not made.",
            effect=Effect(by_light={entry.acts_on: -entry.stops}) if on_one else Effect(everywhere=-entry.stops),
            unusual=_USUAL,
            changes=(change,),
        )


def _undone(entry: Entry, before: SetUp) -> tuple[str, Any] | None:
    """The field and value that would undo an entry; None for what does not move flash."""
    light = before.light(entry.acts_on)
    if light is not None:
        own: dict[Cause, tuple[str, Any]] = {
            Cause.ENERGY: ("power", light.power_mark()),
            Cause.DISTANCE: ("distance", f"{light.distance_mm:g} mm" if light.distance_mm else "unknown"),
            Cause.FILTERS: ("filters", [each.id for each in light.filters]),
            Cause.MODIFIER: ("modifier", light.modifier.id if light.modifier else "bare"),
        }
        if entry.cause in own:
            name, value = own[entry.cause]
            return f"lights.{entry.acts_on}.{name}", value
    shared: dict[Cause, tuple[str, Any]] = {
        Cause.APERTURE: ("f_number", before.f_number.text if before.f_number else "unknown"),
        Cause.ISO: ("iso", before.iso.text if before.iso else "unknown"),
        Cause.CLOSE_UP: ("magnification", "unknown" if before.magnification is None else f"{before.magnification:g}"),
        Cause.LENS_FILTERS: ("lens_filters", [each.id for each in before.lens_filters]),
        Cause.POPS: ("pops", str(before.pops)),
    }
    return None if entry.acts_on == AMBIENT else shared.get(entry.cause)


def _left_off_or_on(case: Case) -> Iterator[_Slip]:
    lit = [light for light in case.set_up.lights if light.lit]
    for light in lit:
        if len(lit) > 1:
            yield _Slip(
                f"off {light.letter}",
                f"{light.letter} did not fire",
                f"{_named(light)} is written down as lit; the picture reads as it would without it.",
                Effect(off=frozenset(light.letter)),
                _USUAL,
                ((f"lights.{light.letter}.lit", "off"),),
            )
    for light in case.set_up.lights:
        if not light.lit and light.letter in case.balances_if_lit:
            yield _Slip(
                f"on {light.letter}",
                f"{light.letter} fired as well",
                f"{_named(light)} is written down as off; the picture reads as it would with it at {light.power_mark()}.",
                Effect(lit={light.letter: case.balances_if_lit[light.letter]}),
                _USUAL,
                ((f"lights.{light.letter}.lit", "on"),),
            )


def _filters_missing(case: Case) -> Iterator[_Slip]:
    for light in (each for each in case.set_up.lights if each.lit):
        for item in {each.id: each for each in light.filters}.values():
            if item.loss_stops:
                kept = _without_one([each.id for each in light.filters], item.id)
                yield _Slip(
                    f"filter {light.letter} {item.id}",
                    f"{item.name} not on {light.letter}",
                    f"{item.name} takes {item.loss_stops:.1f}, and is written down as standing on {light.letter}.",
                    Effect(by_light={light.letter: item.loss_stops}),
                    _USUAL,
                    ((f"lights.{light.letter}.filters", kept),),
                    item.shift_mired,
                )
    for item in {each.id: each for each in case.set_up.lens_filters}.values():
        if item.loss_stops:
            kept = _without_one([each.id for each in case.set_up.lens_filters], item.id)
            yield _Slip(
                f"lens filter {item.id}",
                f"{item.name} not on the lens",
                f"{item.name} takes {item.loss_stops:.1f}, and is written down as standing on the lens.",
                Effect(everywhere=item.loss_stops),
                _USUAL,
                (("lens_filters", kept),),
                item.shift_mired,
            )


def _without_one(ids: list[str], item_id: str) -> list[str]:
    ids.remove(item_id)
    return ids


def _other_marks(case: Case, *, fixed: bool) -> Iterator[_Slip]:
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
            words = "The neighbouring mark" if neighbouring else f"{_counted(abs(clicks))} marks"
            size = light.head.learned_slope * moved
            yield _Slip(
                f"mark {light.letter} {clicks:+d}",
                f"{light.letter} stood at {dial.mark(stood)}",
                f"{words} {'up' if clicks > 0 else 'down'} on the dial of {_named(light, small=True)}, "
                f"{dial.mark(stood)} for {dial.mark(logged)}, {_makes(size)}.",
                Effect(by_light={light.letter: size}),
                _NEIGHBOURING if neighbouring else _WHOLE_STOPS if whole else _ODD_MARKS,
                ((f"lights.{light.letter}.power", dial.mark(stood)),),
            )


def _camera_marks(case: Case) -> Iterator[_Slip]:
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
            words = "The neighbouring mark" if one else f"{_counted(abs(clicks))} marks off"
            yield _Slip(
                f"camera {name} {clicks:+d}",
                f"{CAUSE_WORDS[cause]} stood at {mark_text(cause, there)}",
                f"{words}, {mark_text(cause, there)} for {mark_text(cause, logged)}, {_makes(sign * moved)}.",
                Effect(everywhere=sign * moved),
                (_NEIGHBOURING if one else _WHOLE_STOPS if whole else _ODD_MARKS) + _ANOTHER_DIAL,
                ((name, mark.text),),
            )


def _close_up(case: Case) -> Iterator[_Slip]:
    """The close-up loss not written down, or counted twice."""
    now, then = case.set_up.magnification, case.reference.magnification
    if now is None or then is None:
        return
    pupil = case.set_up.lens.pupil_ratio
    grown = macro.exposure_increase_stops(now, pupil) - macro.exposure_increase_stops(then, pupil)
    if abs(grown) > _SAME:
        yield _Slip(
            "close-up twice",
            "the close-up loss is counted twice",
            f"From {magnification_text(then)} to {magnification_text(now)} it is {grown:.1f}; a camera that records the "
            "effective f-number has it in the aperture already. The kit says of each lens which of the two is recorded.",
            Effect(everywhere=grown),
            _CLOSE_UP,
        )
    lost = -sum(each.unexplained_stops for each in case.patches) / len(case.patches)
    factor = 2.0 ** ((macro.exposure_increase_stops(now, pupil) + lost) / 2.0) - 1.0
    really = round(factor * pupil, 2)
    most = case.set_up.lens.greatest_magnification or 1.0
    if lost > 0 and now < really <= most + 0.05:
        loss = macro.exposure_increase_stops(really, pupil) - macro.exposure_increase_stops(now, pupil)
        yield _Slip(
            "close-up missing",
            f"magnification {magnification_text(really)} for {magnification_text(now)}",
            f"A close-up loss of {loss:.1f} is not written down; a magnification of {magnification_text(really)} would "
            "have it.",
            Effect(everywhere=-loss),
            _CLOSE_UP,
            (("magnification", f"{really:g}"),),
        )


def _ambient(case: Case) -> Iterator[_Slip]:
    if case.ambient_margin_stops is None:
        return
    yield _Slip(
        "ambient",
        "ambient light",
        f"By the ambient check the room lies {case.ambient_margin_stops:.1f} stops below at these settings, and adds to "
        "what the flash gives.",
        Effect(added_ambient=True),
        _USUAL,
    )


def _chance(case: Case) -> Iterator[_Slip]:
    """The flash itself, as its spread is known. It explains what lies within three deviations and moves nothing."""
    lit = [light.letter for light in case.set_up.lights if light.lit and light.letter in case.spreads]
    if not lit:
        return
    widest = max(case.spreads[letter] for letter in lit)
    off = max((each.unexplained_stops for each in case.patches), key=abs)
    if abs(off) <= 3.0 * widest:
        yield _Slip(
            "variation",
            "flash variation",
            f"Runs of {' and '.join(lit)} at one power scatter by {widest:.2f} (standard deviation): {abs(off):.2f} is "
            f"{abs(off) / widest:.1f} of it.",
            Effect(everywhere=off),
            _BY_CHANCE,
        )


def _pairs(case: Case) -> Iterator[_Slip]:
    """Two slips at once, of those whose size the log or a dial gives."""
    slips = [*_fixed_slips(case), *_other_marks(case, fixed=True)]
    for one, other in itertools.combinations(slips, 2):
        if {path for path, _ in one.changes} & {path for path, _ in other.changes}:
            continue
        if one.effect.off & set(other.effect.by_light) or other.effect.off & set(one.effect.by_light):
            continue
        yield _Slip(
            f"{one.key} & {other.key}",
            f"{one.title}, and {other.title}",
            f"{one.sentence} {other.sentence}",
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


# --- the arithmetic -----------------------------------------------------------------------------------------------


def _checked(case: Case, slip: _Slip) -> Explanation | None:
    """A slip with what it leaves; None where it cannot be checked, or makes things worse."""
    leaves: dict[str, float] = {}
    worst = 0.0
    for patch in case.patches:
        would_read = predicted_with(case, patch, slip.effect)
        if would_read is None or not math.isfinite(would_read):
            return None
        leaves[patch.name] = patch.measured_stops - would_read
        worst = max(worst, abs(leaves[patch.name]) / patch.tolerance_stops)
    if max(map(abs, leaves.values())) >= max(abs(each.unexplained_stops) for each in case.patches):
        return None
    unusual, seen = _by_colour(case, slip)
    return Explanation(
        key=slip.key,
        title=slip.title,
        sentence=f"{slip.sentence} {seen}".strip(),
        effect=slip.effect,
        leaves=leaves,
        worst=worst,
        unusual=unusual + worst**2,
        changes=slip.changes,
    )


def predicted_with(case: Case, patch: PatchCase, effect: Effect) -> float | None:
    """What a patch should have read with a slip in it, against the reference frame; None where a share that it needs
    is unknown.

    log2 of the sum of share × 2^(balance + slip), and the ambient light added where the slip is that.
    """
    if effect.added_ambient:
        return _with_ambient(case, patch)
    if patch.shares is None:
        only = len(patch.balances) == 1
        if effect.off or effect.lit or (effect.by_light and not only):
            return None
        return patch.predicted_stops + effect.everywhere + sum(effect.by_light.values())
    lit = {letter: stops for letter, stops in {**patch.balances, **effect.lit}.items() if letter not in effect.off}
    if any(letter not in patch.shares for letter in lit):
        return None
    moved = {letter: stops + effect.by_light.get(letter, 0.0) for letter, stops in lit.items()}
    return summed_stops(moved, patch.shares) + effect.everywhere


def _with_ambient(case: Case, patch: PatchCase) -> float | None:
    """The lift of the patch by the room here, less the lift that the reference frame has in it already."""
    if case.ambient_margin_stops is None:
        return None
    flash_alone = patch.level_stops - patch.unexplained_stops
    lift = exposure.added_stops(patch.wanted_stops - case.ambient_margin_stops - flash_alone)
    already = 0.0
    if case.reference_margin_stops is not None:
        reference_level = patch.level_stops - patch.measured_stops
        already = exposure.added_stops(patch.wanted_stops - case.reference_margin_stops - reference_level)
    return patch.predicted_stops + lift - already


def _by_colour(case: Case, slip: _Slip) -> tuple[float, str]:
    """A missing gel takes its colour with it: where the patch says so, it comes first."""
    known = [each.warmth_stops for each in case.patches if each.warmth_stops is not None]
    if not slip.warmth_mired or not known:
        return slip.unusual, ""
    furthest = max(known, key=abs)
    if abs(furthest) < _TOLD_WARMTH_STOPS:
        return slip.unusual, ""
    bluer = furthest < 0
    if bluer == (slip.warmth_mired > 0):
        return slip.unusual - 0.5, f"The patch is {'bluer' if bluer else 'redder'} as well, as without it."
    return slip.unusual + 0.5, f"But the patch is {'bluer' if bluer else 'redder'}, as it would not be without it."


# --- the test frame -----------------------------------------------------------------------------------------------


def discriminating_frame(case: Case, one: Explanation, other: Explanation) -> str:
    """The cheapest frame that would tell two explanations apart, and what each of them says of it."""
    keys = {one.key, other.key}
    if "ambient" in keys:
        return "The same frame with every flash off, at 1 s: it shows what the room gives, and nothing else."
    if "variation" in keys:
        return "The same frame once more with nothing touched: a scatter moves, a wrong setting stays."
    lights_of = [frozenset({*each.effect.by_light, *each.effect.off, *each.effect.lit}) for each in (one, other)]
    lit = [light.letter for light in case.set_up.lights if light.lit]
    for letter in sorted(lights_of[0] ^ lights_of[1]):
        if len(lit) > 1 or letter not in lit:
            says = [_alone(each, letter) for each in (one, other)]
            return (
                f"A frame lit by {letter} alone, nothing else touched: “{one.title}” says {says[0]} there against the "
                f"prediction, “{other.title}” {says[1]}."
            )
    dial = next((path for path, _ in (*one.changes, *other.changes)), "")
    what = f"{dial.split('.')[2]} of {dial.split('.')[1]}" if dial.startswith("lights.") else dial.replace("_", "-")
    if not what:
        return "The same frame once more with nothing touched."
    return (
        f"Set the {what} to its logged mark anew and make the frame once more: if the difference goes, it was that; if "
        "it stays, it was the other."
    )


def _alone(explanation: Explanation, letter: str) -> str:
    effect = explanation.effect
    if letter in effect.off:
        return "nothing"
    stops = effect.by_light.get(letter, 0.0) + effect.everywhere
    return f"{stops:+.1f}".replace("-", "−") if abs(stops) >= 0.05 else "0.0"


def _named(light: Light, *, small: bool = False) -> str:
    return light.name if small else light.name[:1].upper() + light.name[1:]


def _makes(stops: float) -> str:
    return f"makes {stops:+.1f}".replace("-", "−")


_NUMBERS: Final = (
    "No",
    "One",
    "Two",
    "Three",
    "Four",
    "Five",
    "Six",
    "Seven",
    "Eight",
    "Nine",
    "Ten",
    "Eleven",
    "Twelve",
)


def _counted(count: int) -> str:
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)

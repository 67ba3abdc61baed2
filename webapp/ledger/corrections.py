"""A balance off its target in, the ways to bring it there out, in the order a working photographer tries them.

Each way is checked against what the kit in the room can really set: it is given in marks of that dial, with what
the rounding leaves over, what else it changes and what it leaves alone. A way the kit cannot make becomes a note
that names the number it would have needed. The order is common practice: the energy of that light, then filters
on it, filters on the lens, aperture, ISO, distance, several pops. One light off: only that light is touched. All
off alike: aperture, ISO, or every energy by the same step, so that ratios hold. The shutter is never a way: it
does not move flash.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from webapp.ledger.entries import Cause, Note, slope_words
from webapp.ledger.exposures import ALL_LIGHTS, Exposure, LightState, energy_text
from webapp.optics import distance_law, flash, macro
from webapp.optics.scales import Dial, Mark, Marked, Quantity, nearest_mark, value_at
from webapp.quantities.lengths import CENTIMETRES, Lengths

# Below this a balance is even: half of the smallest step that any dial here shows.
EVEN_WITHIN_STOPS = 0.05
# Balances this close to each other are "all alike".
ALIKE_WITHIN_STOPS = 0.05
# More flashes than this into one frame is another way of working, not a correction.
MOST_POPS = 64


@dataclass(frozen=True, slots=True)
class Sheet:
    """A filter that lies ready in the kit: what it takes away, in stops (positive)."""

    id: str
    name: str
    loss_stops: float


@dataclass(frozen=True, slots=True)
class Means:
    """What the kit in the room can do beyond the lights' own dials."""

    f_number_dial: Dial = Dial.THIRD
    iso_dial: Dial = Dial.THIRD
    widest_f_number: float = 0.5
    smallest_f_number: float = 128.0
    lowest_iso: float = 25.0
    highest_iso: float = 409_600.0
    light_sheets: tuple[Sheet, ...] = ()
    lens_sheets: tuple[Sheet, ...] = ()
    subject_is_static: bool = True
    circle_of_confusion_mm: float | None = None
    tape: Lengths = CENTIMETRES


@dataclass(frozen=True, slots=True)
class Correction:
    """One way. `to` holds the fields to set and their new values; `leaves_stops` what the balance is off by after
    (where the way acts on all lights: the balance of the one that is then furthest off).

    `sheets` are the ids of the filters to put in, where the way is by filters; none means that all come out; `mark` is the one
    to set, where it is by a dial of the camera.
    """

    acts_on: str
    cause: Cause
    to: dict[str, object]
    leaves_stops: float
    sentence: str
    action: str
    changes: tuple[str, ...] = ()
    keeps: tuple[str, ...] = ()
    sheets: tuple[str, ...] = ()
    mark: Marked | None = None


@dataclass(frozen=True, slots=True)
class Target:
    """Where a balance ought to stand: 0, or a shift that the photographer means."""

    stops: float = 0.0
    by_light: dict[str, float] = field(default_factory=dict)

    def of(self, letter: str) -> float:
        return self.by_light.get(letter, self.stops)


def suggest(
    exposure: Exposure, balances: dict[str, float | None], target: Target, means: Means
) -> tuple[tuple[Correction, ...], tuple[Note, ...]]:
    """The ways to bring every lit flash to its target, and the notes on what cannot be done.

    `balances` are those of the lights of `exposure`, by letter; a light whose balance is unknown is left alone and
    keeps the others from being treated as "all alike".
    """
    lit = exposure.lit_flashes
    off_by = {
        light.letter: balance - target.of(light.letter)
        for light in lit
        if (balance := balances.get(light.letter)) is not None
    }
    to_move = [light for light in lit if abs(off_by.get(light.letter, 0.0)) >= EVEN_WITHIN_STOPS]
    if not to_move:
        return (), ()
    all_alike = len(off_by) == len(lit) and max(off_by.values()) - min(off_by.values()) <= ALIKE_WITHIN_STOPS
    corrections: list[Correction] = []
    notes: list[Note] = []
    if all_alike and len(lit) > 1:
        _collect(_ways_for_all(exposure, lit, off_by, means), corrections, notes)
    else:
        for light in sorted(to_move, key=lambda each: -abs(off_by[each.letter])):
            _collect(
                _ways_for_one(exposure, light, off_by[light.letter], target, means, alone=len(lit) == 1),
                corrections,
                notes,
            )
    return tuple(corrections), tuple(notes)


def _collect(ways: Iterator[Correction | Note], corrections: list[Correction], notes: list[Note]) -> None:
    for way in ways:
        if isinstance(way, Note):
            notes.append(way)
        else:
            corrections.append(way)


def _ways_for_one(
    exposure: Exposure, light: LightState, off: float, target: Target, means: Means, *, alone: bool
) -> Iterator[Correction | Note]:
    fact = _fact(light.name, off, target.of(light.letter))
    yield from _energy(light, off, fact)
    yield from _sheets_on_light(light, off, fact, means)
    if alone:
        yield from _camera_ways(exposure, light.letter, off, fact, means)
    yield from _distance(light, off, fact, means.tape)
    if alone:
        yield from _pops(exposure, light.letter, off, fact, means)


def _ways_for_all(
    exposure: Exposure, lit: tuple[LightState, ...], off_by: dict[str, float], means: Means
) -> Iterator[Correction | Note]:
    off = sum(off_by.values()) / len(off_by)
    letters = " and ".join(light.letter for light in lit)
    fact = f"{letters} are all {abs(off):.1f} {_over_or_under(off)}."
    yield from _told_for_the_furthest(_aperture(exposure, ALL_LIGHTS, off, fact, means), off, off_by)
    yield from _told_for_the_furthest(_iso(exposure, ALL_LIGHTS, off, fact, means), off, off_by)
    yield from _energies_together(lit, off, off_by, fact)
    yield from _told_for_the_furthest(_sheets_on_lens(exposure, ALL_LIGHTS, off, fact, means), off, off_by)
    yield from _told_for_the_furthest(_pops(exposure, ALL_LIGHTS, off, fact, means), off, off_by)


def _told_for_the_furthest(
    ways: Iterator[Correction | Note], off: float, off_by: dict[str, float]
) -> Iterator[Correction | Note]:
    """Balances that count as alike may still differ by a hair, and each keeps its own."""
    for way in ways:
        if isinstance(way, Note):
            yield way
        else:
            change = way.leaves_stops - off
            yield replace(way, leaves_stops=max((each + change for each in off_by.values()), key=abs))


def _camera_ways(
    exposure: Exposure, acts_on: str, off: float, fact: str, means: Means
) -> Iterator[Correction | Note]:
    yield from _sheets_on_lens(exposure, acts_on, off, fact, means)
    yield from _aperture(exposure, acts_on, off, fact, means)
    yield from _iso(exposure, acts_on, off, fact, means)


def _energy(light: LightState, off: float, fact: str) -> Iterator[Correction | Note]:
    dial, standing = light.dial, light.power_stops
    if dial is None or standing is None:
        return
    wanted = standing - off / light.slope
    reached = dial.nearest(wanted)
    if shortfall := _out_of_reach(wanted, dial.lowest_stops, dial.step_stops):
        needed = energy_text(light, wanted) if wanted <= 0 else f"{shortfall:.1f} stops more than full"
        end = energy_text(light, reached)
        end_name = "lowest mark is" if off > 0 else "highest mark is"
        short = f": {shortfall:.1f} stops short" if wanted <= 0 else ""
        yield Note(light.letter, f"{fact} By energy {light.letter} needs {needed}, the {end_name} {end}{short}.")
        return
    if not _helps(off, leaves := light.slope * (reached - standing) + off):
        return
    action = f"{light.letter}: {energy_text(light, standing)} to {energy_text(light, reached)}"
    learned = f" {slope_words(light)}" if light.slope_from else ""
    yield Correction(
        acts_on=light.letter,
        cause=Cause.ENERGY,
        to={"power_stops": reached},
        leaves_stops=leaves,
        sentence=f"{fact} {action}.{_rest(leaves)} Depth and ambient unchanged.{learned}",
        action=action,
        changes=("energy", "recycle time"),
        keeps=("depth of field", "ambient", "softness"),
    )


def _out_of_reach(wanted: float, lowest: float, step: float) -> float | None:
    """How many stops past the end of a dial `wanted` lies; None where a mark is within half a step."""
    beyond = max(wanted, lowest - wanted)
    return beyond if beyond > step / 2 + 1e-9 else None


def _sheets_on_light(light: LightState, off: float, fact: str, means: Means) -> Iterator[Correction | Note]:
    if off > 0:
        chosen = _best_sheets(off, means.light_sheets)
        if chosen is None or light.filters.loss_stops is None:
            return
        loss = sum(sheet.loss_stops for sheet in chosen)
        names = " + ".join(sheet.name for sheet in chosen)
        action = f"{names} on {light.letter}"
        yield Correction(
            acts_on=light.letter,
            cause=Cause.FILTERS,
            to={"filter_stops": light.filters.loss_stops + loss},
            sheets=tuple(sheet.id for sheet in chosen),
            leaves_stops=off - loss,
            sentence=f"{fact} Put {action} (takes {loss:.1f}).{_rest(off - loss)} Depth and ambient unchanged.",
            action=action,
            changes=("modelling light", "perhaps colour"),
            keeps=("depth of field", "ambient", "energy"),
        )
    elif light.filters.loss_stops and _helps(off, leaves := off + light.filters.loss_stops):
        action = f"{light.filters.text} off {light.letter}"
        yield Correction(
            acts_on=light.letter,
            cause=Cause.FILTERS,
            to={"filter_stops": 0.0},
            leaves_stops=leaves,
            sentence=f"{fact} Take {action} (gives {light.filters.loss_stops:.1f}).{_rest(leaves)} "
            "Depth and ambient unchanged.",
            action=action,
            changes=("softness or colour, if the filter made it",),
            keeps=("depth of field", "ambient", "energy"),
        )


def _sheets_on_lens(
    exposure: Exposure, acts_on: str, off: float, fact: str, means: Means
) -> Iterator[Correction | Note]:
    standing = exposure.lens_filters.loss_stops
    if standing is None:
        return
    if off > 0 and (chosen := _best_sheets(off, means.lens_sheets)) is not None:
        loss = sum(sheet.loss_stops for sheet in chosen)
        action = f"{' + '.join(sheet.name for sheet in chosen)} on the lens"
        yield Correction(
            acts_on=acts_on,
            cause=Cause.LENS_FILTERS,
            to={"lens_filter_stops": standing + loss},
            sheets=tuple(sheet.id for sheet in chosen),
            leaves_stops=off - loss,
            sentence=f"{fact} Put {action} (takes {loss:.1f} from everything).{_rest(off - loss)} Depth unchanged; "
            "ambient and the finder darken with it.",
            action=action,
            changes=("ambient", "finder brightness"),
            keeps=("depth of field", "energy"),
        )
    elif off < 0 and standing and _helps(off, leaves := off + standing):
        action = f"{exposure.lens_filters.text} off the lens"
        yield Correction(
            acts_on=acts_on,
            cause=Cause.LENS_FILTERS,
            to={"lens_filter_stops": 0.0},
            leaves_stops=leaves,
            sentence=f"{fact} Take {action} (gives {standing:.1f} to everything).{_rest(leaves)} Depth unchanged; "
            "ambient and the finder brighten with it.",
            action=action,
            changes=("ambient", "finder brightness", "reflections or colour, if the filter made them"),
            keeps=("depth of field", "energy"),
        )


def _best_sheets(wanted: float, sheets: tuple[Sheet, ...]) -> tuple[Sheet, ...] | None:
    """One sheet, or two, whose loss comes nearest to `wanted`; one rather than two where they come as near."""
    candidates = [*((sheet,) for sheet in sheets), *itertools.combinations_with_replacement(sheets, 2)]
    helping = [each for each in candidates if abs(wanted - sum(sheet.loss_stops for sheet in each)) <= wanted / 2]
    if not helping:
        return None
    return min(helping, key=lambda each: (round(abs(wanted - sum(sheet.loss_stops for sheet in each)), 2), len(each)))


def _aperture(exposure: Exposure, acts_on: str, off: float, fact: str, means: Means) -> Iterator[Correction | Note]:
    standing = exposure.f_number
    if standing is None:
        return
    wanted = standing.stops + off
    mark = nearest_mark(Quantity.F_NUMBER, wanted, means.f_number_dial)
    half_a_step = 0.5 / means.f_number_dial.steps_per_stop
    widest, smallest = 2 * math.log2(means.widest_f_number), 2 * math.log2(means.smallest_f_number)
    # A lens's engraved widest aperture need not be a mark of the dial: a sixth of a stop past it is still that mark.
    if min(mark.stops, wanted) < widest - half_a_step or max(mark.stops, wanted) > smallest + half_a_step:
        end = means.widest_f_number if off < 0 else means.smallest_f_number
        beyond = max(widest - wanted, wanted - smallest)
        yield Note(
            acts_on,
            f"{fact} By aperture it needs f/{_needed(mark, wanted, half_a_step)}; the lens ends at f/{end:g}: "
            f"{beyond:.1f} stops short.",
        )
        return
    if not _helps(off, leaves := off - (mark.stops - standing.stops)):
        return
    action = f"f/{standing.text} to f/{mark.text}"
    depth = "more" if off > 0 else "less"
    yield Correction(
        acts_on=acts_on,
        cause=Cause.APERTURE,
        to={"f_number": mark.text},
        mark=Marked(Quantity.F_NUMBER, mark.text, mark.stops, means.f_number_dial),
        leaves_stops=leaves,
        sentence=f"{fact} {action}.{_rest(leaves)} {_depth_words(exposure, mark.exact, depth, means)} "
        f"Ambient moves along; {_energies_stay(exposure)}",
        action=action,
        changes=("depth of field", "ambient"),
        keeps=("energy", "ratios"),
    )


def _depth_words(exposure: Exposure, f_number: float, depth: str, means: Means) -> str:
    magnification, circle = exposure.magnification, means.circle_of_confusion_mm
    if not magnification or circle is None or exposure.f_number is None or magnification < 0.05:
        return f"{'More' if depth == 'more' else 'Less'} depth of field."
    was, now = (
        2 * circle * macro.effective_f_number(number, magnification, exposure.pupil_ratio) / magnification**2
        for number in (exposure.f_number.exact, f_number)
    )
    return f"Depth of field {was:.2g} mm to {now:.2g} mm."


def _energies_stay(exposure: Exposure) -> str:
    return "ratios stay." if len(exposure.lit_flashes) > 1 else "energy stays."


def _iso(exposure: Exposure, acts_on: str, off: float, fact: str, means: Means) -> Iterator[Correction | Note]:
    standing = exposure.iso
    if standing is None:
        return
    wanted = standing.stops - off
    mark = nearest_mark(Quantity.ISO, wanted, means.iso_dial)
    half_a_step = 0.5 / means.iso_dial.steps_per_stop
    lowest, highest = (math.log2(iso / 100.0) for iso in (means.lowest_iso, means.highest_iso))
    if not lowest - 0.02 <= mark.stops <= highest + 0.02 or abs(mark.stops - wanted) > half_a_step + 1e-9:
        end = means.lowest_iso if off > 0 else means.highest_iso
        yield Note(
            acts_on, f"{fact} By ISO it needs {_needed(mark, wanted, half_a_step)}; the camera ends at {end:.7g}."
        )
        return
    if not _helps(off, leaves := off + (mark.stops - standing.stops)):
        return
    action = f"ISO {standing.text} to {mark.text}"
    noise = " Noise grows." if off < 0 else " Noise falls."
    yield Correction(
        acts_on=acts_on,
        cause=Cause.ISO,
        to={"iso": int(mark.text) if mark.text.isdigit() else mark.text},
        mark=Marked(Quantity.ISO, mark.text, mark.stops, means.iso_dial),
        leaves_stops=leaves,
        sentence=f"{fact} {action}.{_rest(leaves)} Depth unchanged; ambient moves along.{noise}",
        action=action,
        changes=("noise", "ambient"),
        keeps=("depth of field", "energy", "ratios"),
    )


def _needed(mark: Mark, wanted: float, half_a_step: float) -> str:
    """The mark that would do it; past the last name of a dial, the number itself."""
    if abs(mark.stops - wanted) <= half_a_step + 1e-9:
        return mark.text
    value = value_at(mark.quantity, wanted)
    return f"{value:.0f}" if 1000 <= value < 1e9 else f"{value:.3g}"


def _energies_together(
    lit: tuple[LightState, ...], off: float, off_by: dict[str, float], fact: str
) -> Iterator[Correction | Note]:
    moved: dict[str, float] = {}
    for light in lit:
        if light.dial is None or light.power_stops is None:
            return
        wanted = light.power_stops - off / light.slope
        if shortfall := _out_of_reach(wanted, light.dial.lowest_stops, light.dial.step_stops):
            end = (
                "above full"
                if wanted > 0
                else f"below its lowest mark, {energy_text(light, light.dial.lowest_stops)}"
            )
            yield Note(
                light.letter,
                f"{fact} All energies together cannot be moved: {light.letter} would be {shortfall:.1f} stops {end}.",
            )
            return
        moved[light.letter] = light.dial.nearest(wanted)
    changes = {light.letter: light.slope * (moved[light.letter] - (light.power_stops or 0.0)) for light in lit}
    leaves = max((off_by[letter] + change for letter, change in changes.items()), key=abs)
    if not _helps(off, leaves):
        return
    action = ", ".join(
        f"{light.letter}: {energy_text(light, light.power_stops or 0.0)} to {energy_text(light, moved[light.letter])}"
        for light in lit
    )
    uneven = max(changes.values()) - min(changes.values())
    ratio = (
        "Ratios, depth and ambient unchanged."
        if uneven < EVEN_WITHIN_STOPS
        else f"Ratios shift by {uneven:.1f}; depth and ambient unchanged."
    )
    yield Correction(
        acts_on=ALL_LIGHTS,
        cause=Cause.ENERGY,
        to={"lights": {letter: {"power_stops": stops} for letter, stops in moved.items()}},
        leaves_stops=leaves,
        sentence=f"{fact} {action}.{_rest(leaves)} {ratio}",
        action=action,
        changes=("energy of every light", "recycle time"),
        keeps=("ratios", "depth of field", "ambient"),
    )


# Distances are set with a tape: to its finer marks near the subject, to its whole ones further off.
_NEAR_MM = 500.0
_FURTHEST_MM = 100_000.0


def _distance(light: LightState, off: float, fact: str, tape: Lengths) -> Iterator[Correction | Note]:
    standing = light.distance_mm
    if standing is None:
        return
    try:
        wanted = distance_law.distance_for_change_mm(light.source, standing, -off)
    except ValueError as reason:
        yield Note(light.letter, f"{fact} Distance does not do it: {reason}")
        return
    fine = wanted < _NEAR_MM
    reached = tape.nearest_mark_mm(wanted, fine=fine)
    if not tape.mark_mm(fine=fine) <= reached <= _FURTHEST_MM:
        yield Note(
            light.letter, f"{fact} By distance {light.letter} needs {_far_text(wanted)}: out of reach of a tape."
        )
        return
    leaves = off + distance_law.change_with_distance_stops(light.source, standing, reached)
    if not _helps(off, leaves):
        return
    action = f"{light.letter}: {tape.text(standing)} to {tape.text(reached)}"
    words = "Shadows harden, fall-off evens out." if reached > standing else "Shadows soften, fall-off steepens."
    yield Correction(
        acts_on=light.letter,
        cause=Cause.DISTANCE,
        to={"distance_mm": reached},
        leaves_stops=leaves,
        sentence=f"{fact} {action}.{_rest(leaves)} {words} Depth and ambient unchanged.",
        action=action,
        changes=("softness", "fall-off"),
        keeps=("depth of field", "ambient", "energy"),
    )


def _far_text(length_mm: float) -> str:
    return f"{length_mm:.1f} mm" if length_mm < _NEAR_MM else f"{length_mm / 1000:.0f} m"


def _pops(exposure: Exposure, acts_on: str, off: float, fact: str, means: Means) -> Iterator[Correction | Note]:
    if off > 0 and exposure.pops == 1:
        return
    wanted = exposure.pops * 2.0**-off
    pops = max(round(wanted), 1)
    if pops > MOST_POPS:
        many = f"{wanted:.0f}" if wanted < 1e6 else "millions"
        yield Note(
            acts_on, f"{fact} By several pops it needs {many} of them; past {MOST_POPS} that is no correction."
        )
        return
    leaves = off + flash.pops_stops(pops) - flash.pops_stops(exposure.pops)
    if pops == exposure.pops or not _helps(off, leaves):
        return
    if not means.subject_is_static:
        yield Note(acts_on, f"{fact} Several pops ({pops}) would need a subject that does not move.")
        return
    action = f"{exposure.pops} to {pops} pops"
    gained = flash.pops_stops(pops) - flash.pops_stops(exposure.pops)
    ambient = (
        f"the ambient share grows by up to {gained:.1f}: prove it again."
        if gained > 0
        else "the ambient share falls."
    )
    yield Correction(
        acts_on=acts_on,
        cause=Cause.POPS,
        to={"pops": pops},
        leaves_stops=leaves,
        sentence=f"{fact} {action}.{_rest(leaves)} Static subject only; {ambient}",
        action=action,
        changes=("ambient", "time for the frame"),
        keeps=("depth of field", "softness"),
    )


def _helps(off: float, leaves: float) -> bool:
    return abs(leaves) < abs(off) - 1e-9


def _fact(name: str, off: float, target: float) -> str:
    name = name[:1].upper() + name[1:]
    goal = f" its {target:+.1f}".replace("-", "−") if abs(target) >= EVEN_WITHIN_STOPS else ""
    return f"{name} is {abs(off):.1f} {_over_or_under(off)}{goal}."


def _over_or_under(off: float) -> str:
    return "over" if off > 0 else "under"


def _rest(leaves: float) -> str:
    if abs(leaves) < EVEN_WITHIN_STOPS:
        return ""
    return f" Leaves {leaves:+.1f}.".replace("-", "−")

"""What is said about a set-up: its balances against the reference frame, what changed since the frame before,
the ways to put it right, and the words of caution. Pure: set-ups in, an assessment out.

A light is compared with the reference frame; where it was off there, with the first frame in which it was lit;
and before there is either, with its incident reading, which gives an absolute balance.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from webapp.ledger.corrections import ALIKE_WITHIN_STOPS, Correction, Means, Target, suggest
from webapp.ledger.entries import CAUSE_WORDS, Cause, Comparison, Entry, Note, balance, compare
from webapp.ledger.exposures import ALL_LIGHTS, AMBIENT, Exposure, exposure_of
from webapp.ledger.metered import metered_balance
from webapp.ledger.reshoot_target import ReshootTarget, by_meter
from webapp.ledger.set_up import SetUp
from webapp.optics.mixed_light import total_stops


@dataclass(frozen=True, slots=True)
class NumberedSetUp:
    """A frame's set-up with the frame's number, so that the page can say what was compared with what."""

    number: int
    set_up: SetUp

    @property
    def name(self) -> str:
        return f"frame {self.number}"


@dataclass(frozen=True, slots=True)
class Baselines:
    """The frames that a set-up is held against. `first_lit` has, by letter, the first frame in which a light that
    is off in the reference frame was lit. `target` stands in for the reference frame of a reshoot while it has none.
    """

    reference: NumberedSetUp | None = None
    previous: NumberedSetUp | None = None
    first_lit: dict[str, NumberedSetUp] = field(default_factory=dict)
    target: ReshootTarget | None = None

    @property
    def standard(self) -> NumberedSetUp | ReshootTarget | None:
        """What balances are taken against."""
        return self.reference or self.target


@dataclass(frozen=True, slots=True)
class LightBalance:
    """The balance of one light (or of the ambient light). `against` says what it was taken against: "frame 3",
    "its meter reading", or "" where it was taken against nothing."""

    acts_on: str
    name: str
    lit: bool
    stops: float | None
    against: str
    target_stops: float
    entries: tuple[Entry, ...]
    metered: bool = False

    @property
    def off_by(self) -> float | None:
        return None if self.stops is None else self.stops - self.target_stops


@dataclass(frozen=True, slots=True)
class Assessment:
    """Everything the ledger says about one set-up. `total_stops` with its basis in `total_words`, or None with the reason there; `switched`
    names the lights that went on or off since the frame before ("B off"). `stand_in` names what stands in for a
    reference frame that there is not; "" where nothing does."""

    lights: tuple[LightBalance, ...]
    ambient: LightBalance
    since_previous: Comparison | None
    previous_number: int | None
    switched: tuple[str, ...]
    reference_number: int | None
    total_stops: float | None
    total_words: str
    corrections: tuple[Correction, ...]
    notes: tuple[Note, ...]
    stand_in: str = ""

    def of(self, acts_on: str) -> LightBalance | None:
        return next((line for line in (*self.lights, self.ambient) if line.acts_on == acts_on), None)

    @property
    def lit(self) -> tuple[LightBalance, ...]:
        return tuple(line for line in self.lights if line.lit)


def assess(set_up: SetUp, baselines: Baselines, means: Means | None = None) -> Assessment:
    """Assess a set-up. Without `means` no corrections are worked out (a frame that is past needs none)."""
    now = exposure_of(set_up)
    reference, standard = baselines.reference, baselines.standard
    against = exposure_of(standard.set_up) if standard else now
    compared = compare(against, now, baselines={k: exposure_of(v.set_up) for k, v in baselines.first_lit.items()})
    lights, notes = _light_balances(set_up, now, compared, baselines)
    ambient_entries = compared.of(AMBIENT) if reference else ()
    ambient = LightBalance(
        acts_on=AMBIENT,
        name="ambient",
        lit=True,
        stops=compared.balances[AMBIENT] if reference else None,
        against=reference.name if reference else "",
        target_stops=0.0,
        entries=ambient_entries,
    )
    since = compare(exposure_of(baselines.previous.set_up), now) if baselines.previous else None
    switched = _switched(baselines.previous.set_up, set_up) if baselines.previous else ()
    total, words = _total(lights)
    target = _target(set_up, lights, total)
    lights = [replace(line, target_stops=target.of(line.acts_on)) for line in lights]
    corrections: tuple[Correction, ...] = ()
    if means is not None:
        stops_by_light = {line.acts_on: line.stops for line in lights}
        corrections, impossible = suggest(now, stops_by_light, target, means)
        notes = [*notes, *impossible]
    return Assessment(
        lights=tuple(lights),
        ambient=ambient,
        since_previous=since,
        previous_number=baselines.previous.number if baselines.previous else None,
        switched=switched,
        reference_number=reference.number if reference else None,
        total_stops=total,
        total_words=words,
        corrections=corrections,
        notes=(*notes, *_two_changes(baselines.previous, since, switched), *_sync_note(set_up)),
        stand_in="" if reference or standard is None else standard.name,
    )


def _light_balances(
    set_up: SetUp, now: Exposure, compared: Comparison, baselines: Baselines
) -> tuple[list[LightBalance], list[Note]]:
    lines: list[LightBalance] = []
    general = (ALL_LIGHTS, AMBIENT) if baselines.reference else (ALL_LIGHTS,)
    notes = [note for note in compared.notes if note.about in general] if baselines.standard else []
    for light in set_up.lights:
        base = baselines.first_lit.get(light.letter, baselines.standard)
        was = base.set_up.light(light.letter) if base else None
        stops: float | None = None
        entries: tuple[Entry, ...] = ()
        against, metered = "", False
        if not light.lit:
            pass
        elif base is not None and was is not None and was.lit:
            stops, entries = compared.balances[light.letter], compared.of(light.letter)
            against = base.name
            said = [note for note in compared.notes if note.about == light.letter]
            if stops is None and isinstance(base, ReshootTarget):
                held = by_meter(base, set_up, light, entries)
                stops, entries = held.stops, held.entries
                said = list(held.notes) if stops is not None else [*said, *held.notes]
            notes.extend(said)
        elif light.incident is not None:
            found = metered_balance(set_up, light)
            stops, entries, metered = balance(found), found, True
            against = "its meter reading"
        else:
            notes.append(
                Note(light.letter, f"{light.name} has neither a frame nor a meter reading to be held against.")
            )
        lines.append(
            LightBalance(
                light.letter, light.name, light.lit, stops, against, light.intended_stops, tuple(entries), metered
            )
        )
    return lines, notes


def _total(lights: list[LightBalance]) -> tuple[float | None, str]:
    """A total needs no shares where every lit light moved alike, and a meter reading of each gives the shares;
    otherwise it has to wait for them."""
    lit = [line for line in lights if line.lit]
    if not lit:
        return None, "No total: every light is off."
    unknown = [line for line in lit if line.stops is None]
    if unknown:
        return None, f"No total: the balance of {unknown[0].name} is unknown."
    stops = [line.stops for line in lit if line.stops is not None]
    if all(line.metered for line in lit):
        return total_stops(stops), "by the meter readings, which add up in light"
    if max(stops) - min(stops) <= ALIKE_WITHIN_STOPS:
        return stops[0], "all lit lights moved alike"
    names = " and ".join(line.acts_on for line in lit)
    return None, (
        f"No total: {names} moved apart, and their shares are unknown. "
        f"A frame lit by {lit[0].acts_on} alone, with the same camera settings, would give them."
    )


def _target(set_up: SetUp, lights: list[LightBalance], total: float | None) -> Target:
    """Each light at its own shift; but several metered lights are aimed at together: each alone is meant to stay
    below the wanted level, so that their sum meets it and their ratio holds."""
    meant = {light.letter: light.intended_stops for light in set_up.lights}
    lit = [line for line in lights if line.lit]
    if len(lit) > 1 and total is not None and all(line.metered for line in lit) and not any(meant.values()):
        return Target(by_light={line.acts_on: (line.stops or 0.0) - total for line in lit})
    return Target(by_light=meant)


_LIGHTING_CAUSES = (Cause.ENERGY, Cause.DISTANCE, Cause.MODIFIER, Cause.FILTERS)


def _switched(before: SetUp, now: SetUp) -> tuple[str, ...]:
    was_lit = {light.letter: light.lit for light in before.lights}
    now_lit = {light.letter: light.lit for light in now.lights}
    return tuple(
        f"{letter} {'on' if now_lit.get(letter, False) else 'off'}"
        for letter in sorted(was_lit.keys() | now_lit.keys())
        if was_lit.get(letter, False) != now_lit.get(letter, False)
    )


def _two_changes(previous: NumberedSetUp | None, since: Comparison | None, switched: tuple[str, ...]) -> list[Note]:
    """Where two lighting causes change between two frames, nobody will know afterwards which of them did it."""
    if previous is None or since is None:
        return []
    changed = [
        f"the {CAUSE_WORDS[entry.cause]} of {entry.acts_on}"
        for entry in since.entries
        if entry.cause in _LIGHTING_CAUSES
    ]
    changed.extend(switched)
    if len(changed) < 2:
        return []
    listed = ", ".join(changed[:-1]) + " and " + changed[-1]
    return [Note(ALL_LIGHTS, f"{len(changed)} changes to the light since frame {previous.number}: {listed}.")]


def _sync_note(set_up: SetUp) -> list[Note]:
    sync = set_up.camera.sync_tv
    if sync is None or set_up.shutter is None or set_up.is_dark or set_up.shutter.stops <= sync + 1e-6:
        return []
    return [
        Note(
            ALL_LIGHTS,
            f"{set_up.shutter.text} is faster than the sync speed {set_up.camera.sync_mark}: the shutter is never "
            "fully open, and part of the picture gets no flash (a dark band along one side). The balance holds only "
            "for the part that does.",
        )
    ]

"""What is said about a set-up: its balances against the reference frame, what changed since the frame before,
the ways to put it right, and the words of caution. Pure: set-ups in, an assessment out.

A light is compared with the reference frame; where it was off there, with the first frame in which it was lit;
and before there is either, with its incident reading, which gives an absolute balance.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from webapp.facts import Fact, fact
from webapp.ledger.corrections import ALIKE_WITHIN_STOPS, suggest
from webapp.ledger.entries import Cause, Comparison, Entry, balance, compare
from webapp.ledger.exposures import ALL_LIGHTS, AMBIENT, Exposure, exposure_of
from webapp.ledger.metered import metered_balance
from webapp.ledger.reasons import Reason
from webapp.ledger.reshoot_target import ReshootTarget, by_meter
from webapp.ledger.set_up import SetUp
from webapp.ledger.ways import Correction, Means, Target
from webapp.optics.mixed_light import total_stops


@dataclass(frozen=True, slots=True)
class NumberedSetUp:
    """A frame's set-up with the frame's number, so that it can be said what was compared with what."""

    number: int
    set_up: SetUp

    @property
    def against(self) -> Fact:
        return fact(Reason.AGAINST_FRAME, frame=self.number)


@dataclass(frozen=True, slots=True)
class Baselines:
    """The frames that a set-up is compared with. `first_lit` has, by letter, the first frame in which a light that
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
    """The balance of one light (or of the ambient light). `against` is what it was taken against; None where it was
    taken against nothing."""

    acts_on: str
    name: str
    lit: bool
    stops: float | None
    against: Fact | None
    target_stops: float
    entries: tuple[Entry, ...]
    metered: bool = False

    @property
    def off_by(self) -> float | None:
        return None if self.stops is None else self.stops - self.target_stops


@dataclass(frozen=True, slots=True)
class Assessment:
    """Everything the ledger says about one set-up. `total_stops` has its basis in `total_reason`, or is None with the
    reason there; `switched` are the lights that went on or off since the frame before. `stand_in` is what stands in
    for a reference frame that there is not; None where nothing does."""

    lights: tuple[LightBalance, ...]
    ambient: LightBalance
    since_previous: Comparison | None
    previous_number: int | None
    switched: tuple[Fact, ...]
    reference_number: int | None
    total_stops: float | None
    total_reason: Fact
    corrections: tuple[Correction, ...]
    notes: tuple[Fact, ...]
    stand_in: Fact | None = None

    def of(self, acts_on: str) -> LightBalance | None:
        return next((line for line in (*self.lights, self.ambient) if line.acts_on == acts_on), None)

    @property
    def is_unchanged(self) -> bool:
        """Whether nothing was changed since the frame before."""
        return self.since_previous is not None and not self.since_previous.entries and not self.switched

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
        against=reference.against if reference else None,
        target_stops=0.0,
        entries=ambient_entries,
    )
    since = compare(exposure_of(baselines.previous.set_up), now) if baselines.previous else None
    lit_or_off = switched(baselines.previous.set_up, set_up) if baselines.previous else ()
    total, total_reason = _total(lights)
    target = _target(set_up, lights, total)
    lights = [replace(line, target_stops=target.of(line.acts_on)) for line in lights]
    corrections: tuple[Correction, ...] = ()
    if means is not None:
        stops_by_light = {line.acts_on: line.stops for line in lights}
        corrections, impossible = suggest(now, stops_by_light, target, means, since.entries if since else ())
        notes = [*notes, *impossible]
    return Assessment(
        lights=tuple(lights),
        ambient=ambient,
        since_previous=since,
        previous_number=baselines.previous.number if baselines.previous else None,
        switched=lit_or_off,
        reference_number=reference.number if reference else None,
        total_stops=total,
        total_reason=total_reason,
        corrections=corrections,
        notes=(*notes, *_two_changes(baselines.previous, since, lit_or_off), *_sync_note(set_up)),
        stand_in=None if reference or standard is None else standard.against,
    )


def _light_balances(
    set_up: SetUp, now: Exposure, compared: Comparison, baselines: Baselines
) -> tuple[list[LightBalance], list[Fact]]:
    lines: list[LightBalance] = []
    general = (ALL_LIGHTS, AMBIENT) if baselines.reference else (ALL_LIGHTS,)
    notes = [note for note in compared.notes if note.about in general] if baselines.standard else []
    for light in set_up.lights:
        base = baselines.first_lit.get(light.letter, baselines.standard)
        was = base.set_up.light(light.letter) if base else None
        stops: float | None = None
        entries: tuple[Entry, ...] = ()
        against: Fact | None = None
        metered = False
        if not light.lit:
            pass
        elif base is not None and was is not None and was.lit:
            stops, entries = compared.balances[light.letter], compared.of(light.letter)
            against = base.against
            said = [note for note in compared.notes if note.about == light.letter]
            if stops is None and isinstance(base, ReshootTarget):
                held = by_meter(base, set_up, light, entries)
                stops, entries = held.stops, held.entries
                said = list(held.notes) if stops is not None else [*said, *held.notes]
            notes.extend(said)
        elif light.incident is not None and light.is_direct:
            found = metered_balance(set_up, light)
            stops, entries, metered = balance(found), found, True
            against = fact(Reason.AGAINST_METER)
        else:
            notes.append(fact(Reason.NOTHING_TO_COMPARE, light.letter, light=light.name))
        lines.append(
            LightBalance(
                light.letter, light.name, light.lit, stops, against, light.intended_stops, tuple(entries), metered
            )
        )
    return lines, notes


def _total(lights: list[LightBalance]) -> tuple[float | None, Fact]:
    """A total needs no shares where every lit light moved alike, and a meter reading of each gives the shares;
    otherwise it has to wait for them."""
    lit = [line for line in lights if line.lit]
    if not lit:
        return None, fact(Reason.NO_TOTAL_ALL_OFF)
    unknown = [line for line in lit if line.stops is None]
    if unknown:
        return None, fact(Reason.NO_TOTAL_BALANCE, unknown[0].acts_on, light=unknown[0].name)
    stops = [line.stops for line in lit if line.stops is not None]
    if all(line.metered for line in lit):
        return total_stops(stops), fact(Reason.TOTAL_BY_METER)
    if max(stops) - min(stops) <= ALIKE_WITHIN_STOPS:
        return stops[0], fact(Reason.TOTAL_ALIKE)
    return None, fact(Reason.NO_TOTAL_SHARES, lights=tuple(line.acts_on for line in lit))


def _target(set_up: SetUp, lights: list[LightBalance], total: float | None) -> Target:
    """Each light at its own shift; but several metered lights are aimed at together: each alone is meant to stay
    below the wanted level, so that their sum meets it and their ratio holds."""
    meant = {light.letter: light.intended_stops for light in set_up.lights}
    lit = [line for line in lights if line.lit]
    if len(lit) > 1 and total is not None and all(line.metered for line in lit) and not any(meant.values()):
        return Target(by_light={line.acts_on: (line.stops or 0.0) - total for line in lit})
    return Target(by_light=meant)


_LIGHTING_CAUSES = (Cause.ENERGY, Cause.DISTANCE, Cause.MODIFIER, Cause.FILTERS)


def switched(before: SetUp, now: SetUp) -> tuple[Fact, ...]:
    """The lights that went on or off from one set-up to another."""
    was_lit = {light.letter: light.lit for light in before.lights}
    now_lit = {light.letter: light.lit for light in now.lights}
    return tuple(
        fact(Reason.SWITCHED, letter, lit=now_lit.get(letter, False))
        for letter in sorted(was_lit.keys() | now_lit.keys())
        if was_lit.get(letter, False) != now_lit.get(letter, False)
    )


def _two_changes(previous: NumberedSetUp | None, since: Comparison | None, switched: tuple[Fact, ...]) -> list[Fact]:
    """Where two lighting causes change between two frames, nobody will know afterwards which of them did it."""
    if previous is None or since is None:
        return []
    changed = [entry for entry in since.entries if entry.cause in _LIGHTING_CAUSES]
    if len(changed) + len(switched) < 2:
        return []
    return [
        fact(
            Reason.SEVERAL_CHANGES,
            ALL_LIGHTS,
            frame=previous.number,
            causes=tuple(entry.cause.value for entry in changed),
            lights=tuple(entry.acts_on for entry in changed),
            switched=tuple(each.about for each in switched),
            switched_on=tuple(each.about for each in switched if each["lit"]),
        )
    ]


def _sync_note(set_up: SetUp) -> list[Fact]:
    sync = set_up.camera.sync_tv
    if sync is None or set_up.shutter is None or set_up.is_dark or set_up.shutter.stops <= sync + 1e-6:
        return []
    return [fact(Reason.BEYOND_SYNC, ALL_LIGHTS, shutter=set_up.shutter.text, sync=set_up.camera.sync_mark)]

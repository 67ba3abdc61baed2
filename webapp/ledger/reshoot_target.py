"""What a reshoot is balanced against until it has a reference frame of its own: the frame of the recipe it is made from.

The arithmetic is that against a reference frame. Where a light's head is another than the recipe's, the dials tell
nothing about each other; there the meter readings are compared, since an incident reading travels between kits. Where
one of the two is missing, nothing is said but what to meter. The room is another, so the ambient light is never
balanced against it. Frozen values in and out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from webapp.facts import Fact, fact
from webapp.ledger.entries import Cause, Entry, balance
from webapp.ledger.evidence import HeldAgainst, PatchEvidence
from webapp.ledger.metered import incident_av
from webapp.ledger.reasons import Reason
from webapp.ledger.set_up import Light, SetUp
from webapp.optics.tone_curve import ToneCurve

OTHER_CAMERA_STOPS: Final = 0.3
"""How far two cameras of one ISO setting may lie apart in a file: how a camera comes to its ISO number is left to its
maker. Common practice."""
_OF_THE_CAMERA: Final = (Cause.APERTURE, Cause.CLOSE_UP, Cause.SHUTTER, Cause.ISO, Cause.LENS_FILTERS, Cause.POPS)


@dataclass(frozen=True, slots=True)
class TargetPatch:
    """A patch as it read in the recipe's frame: levels in stops about mid-tone, `shares` of the lights that were lit
    there. `red_over_blue_stops` is its colour."""

    name: str
    wanted_stops: float
    kind: str
    read_stops: float | None
    at_most_stops: float
    tolerance_stops: float | None
    estimated: bool = False
    red_over_blue_stops: float | None = None
    shares: Mapping[str, float] = field(default_factory=dict)

    def evidence(self, patch_id: str | None) -> PatchEvidence:
        """As the evidence of a reference frame has it, under the patch's id in the new shot."""
        return PatchEvidence(
            patch_id,
            self.name,
            self.wanted_stops,
            self.kind,
            self.read_stops,
            self.at_most_stops,
            self.estimated,
            0.0,
            0.0,
            shares=self.shares,
        )

    def held_against(self, *, other_camera: bool, curve: ToneCurve | None = None) -> HeldAgainst:
        """As a reading is compared with it, through the curve of the camera if it is the same. The colours of two cameras
        are not compared."""
        tolerance, colour = self.tolerance_stops, self.red_over_blue_stops
        if other_camera:
            tolerance, colour = None if tolerance is None else max(tolerance, OTHER_CAMERA_STOPS), None
            curve = None
        return HeldAgainst.of_recipe(self.read_stops, tolerance, colour, curve)


@dataclass(frozen=True, slots=True)
class ReshootTarget:
    """The recipe's frame. Kit that is in this studio has its id here, other kit has none of the studio's; `levels` has
    by letter what a meter read with that light alone, 2 log2 of the f-number at ISO 100."""

    set_up: SetUp
    levels: Mapping[str, float] = field(default_factory=dict)
    patches: tuple[TargetPatch, ...] = ()

    @property
    def against(self) -> Fact:
        return fact(Reason.AGAINST_RECIPE)

    @property
    def lit(self) -> tuple[str, ...]:
        return tuple(light.letter for light in self.set_up.lights if light.lit)

    def patch(self, name: str) -> TargetPatch | None:
        return next((each for each in self.patches if each.name.casefold() == name.casefold()), None)


def camera_entries(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Those of a light's entries that the camera makes: they move the level that is needed, not the level there is."""
    return tuple(entry for entry in entries if entry.cause in _OF_THE_CAMERA)


@dataclass(frozen=True, slots=True)
class ByMeter:
    """A light compared with the recipe's by the meter readings of both; `stops` None where that cannot be, with the
    reason in `notes`."""

    stops: float | None
    entries: tuple[Entry, ...]
    notes: tuple[Fact, ...]


def by_meter(target: ReshootTarget, set_up: SetUp, light: Light, entries: tuple[Entry, ...]) -> ByMeter:
    """A light against the recipe's light of its letter, by what a meter reads with each alone. `entries` are those of
    the comparison by settings; the camera's part of them holds here too."""
    camera = camera_entries(entries)
    was = target.set_up.light(light.letter)
    if balance(camera) is None or was is None or was.head.kind != light.head.kind:
        return ByMeter(None, entries, ())
    wanted, now = target.levels.get(light.letter), incident_av(set_up, light)
    if wanted is None:
        return ByMeter(None, entries, (fact(Reason.RECIPE_NOT_METERED, light.letter),))
    if now is None:
        level_av = wanted - (balance(camera) or 0.0)
        told = fact(Reason.METER_FOR_RECIPE, light.letter, light=light.name, level_av=level_av)
        return ByMeter(None, entries, (told,))
    level = Entry(Cause.METERED, light.letter, now - wanted, wanted, now)
    held = (*camera, level)
    return ByMeter(balance(held), held, (fact(Reason.COMPARED_BY_METER, light.letter, light=light.name),))

"""The ambient check as a proof with a lifetime.

A black screen proves only "below what this screen shows". A frame with every flash off is measured instead: its
reading, carried by the ledger's own ambient entries from the settings of the check to the working ones, is where the
ambient light lies there, and the margin is how many stops that is below the wanted level:

    margin = wanted level − (reading + ambient change from check to working settings)

With only the shutter changed this is log2(t_test / t_work) less the reading. Where the patch cannot be told from
black, what the file (or an eye that saw nothing) proves at most gives a bound. The proof then stays or falls with the standing set-up.
A check that reads brighter than the reference frame, which the flash lit, proves nothing: a flash fired, or the room is lit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from webapp.facts import Fact, fact
from webapp.ledger.entries import compare
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.exposures import AMBIENT, exposure_of
from webapp.ledger.set_up import SetUp
from webapp.optics import flash, mixed_light

WANTED_MARGIN_STOPS: Final = 7.0
"""Below this a shadow five stops down is lifted by a third of a stop and more (common practice)."""
DEEP_SHADOW_STOPS: Final = -5.0
_SAME_STOPS: Final = 0.05
_TOLD_BRIGHTER_STOPS: Final = 1 / 3
"""Less may be how a rendered file or an eye reads (common practice)."""
_SHINY: Final = ("gloss", "mirror", "glass", "metal", "polish", "glaze", "chrome", "lacquer")


@dataclass(frozen=True, slots=True)
class CheckedPatch:
    """A patch of an ambient check, in stops about mid-tone; `read_stops` None: at most `at_most_stops`.

    `warmth_stops` is how much redder (against blue) the room is than the flash of the reference frame; `by_eye`: no
    file was read. `over_reference_stops` is how far it reads above that frame, None where the two cannot be compared.
    """

    name: str
    wanted_stops: float
    read_stops: float | None
    at_most_stops: float
    estimated: bool = False
    warmth_stops: float | None = None
    by_eye: bool = False
    over_reference_stops: float | None = None


@dataclass(frozen=True, slots=True)
class AmbientCheck:
    """A frame with every flash off that was measured. `working` is the set-up around it: what the check was made
    for; None where no frame tells."""

    frame_id: str
    number: int
    set_up: SetUp
    patches: tuple[CheckedPatch, ...]
    working: SetUp | None = None

    @property
    def brighter_stops(self) -> float | None:
        """How far it reads above the reference frame, which the flash lit: then more was seen than the room. None where
        it does not."""
        over = [each.over_reference_stops for each in self.patches if each.over_reference_stops is not None]
        most = max(over, default=0.0)
        return most if most > _TOLD_BRIGHTER_STOPS else None


class Standing(StrEnum):
    """Whether a proof still stands."""

    HOLDS = "holds"
    FALLS = "falls"
    VOID = "void"
    UNTOLD = "untold"


@dataclass(frozen=True, slots=True)
class AmbientProof:
    """A check held against a set-up. `proven_stops` is its margin at the settings it was made for, `now_stops` at the
    set-up; `is_bound`: at least so much. `reason` is why it stands or falls; the lifts are what the margin now does to
    mid-tones and to a shadow five stops down, in stops."""

    frame_id: str
    number: int
    patch: str
    proven_stops: float
    now_stops: float | None
    is_bound: bool
    standing: Standing
    reason: Fact
    mid_tone_lift_stops: float | None
    shadow_lift_stops: float | None
    colour: Fact | None
    advice: tuple[Fact, ...]
    by_eye: bool = False

    @property
    def is_wide(self) -> bool:
        return self.now_stops is not None and self.now_stops >= WANTED_MARGIN_STOPS - _SAME_STOPS


def margin_stops(check: AmbientCheck, patch: CheckedPatch, set_up: SetUp) -> float | None:
    """The margin of a patch at a set-up; None where the ambient change to it is unknown."""
    change = ambient_change_stops(check.set_up, set_up)
    if change is None:
        return None
    reading = patch.at_most_stops if patch.read_stops is None else patch.read_stops
    return patch.wanted_stops - reading - change


def ambient_change_stops(check: SetUp, set_up: SetUp) -> float | None:
    """How the ambient light in the picture changes from a check to a set-up. Every pop opens the shutter, or holds
    it open for longer, so that the pops add to it."""
    change = compare(exposure_of(check), exposure_of(set_up)).balances[AMBIENT]
    if change is None:
        return None
    return change + flash.pops_stops(set_up.pops) - flash.pops_stops(check.pops)


def prove(check: AmbientCheck, standing: SetUp, surface: str = "") -> AmbientProof | None:
    """What a check still proves for the standing set-up; None where it has no reading to prove anything with.

    The patch with the smallest margin speaks. `surface` is that of the subject: a mirror shows the room however
    dark a patch beside it is.
    """
    if not check.patches:
        return None
    working = replace(check.set_up, shutter=(check.working or standing).shutter)
    margins = [(margin_stops(check, patch, working), patch) for patch in check.patches]
    known = [(margin, patch) for margin, patch in margins if margin is not None]
    if not known:
        return None
    proven, patch = min(known, key=lambda each: each[0])
    now = margin_stops(check, patch, standing) if check.brighter_stops is None else None
    verdict, reason = _verdict(check, standing, proven, now)
    return AmbientProof(
        frame_id=check.frame_id,
        number=check.number,
        patch=patch.name,
        proven_stops=proven,
        now_stops=now,
        is_bound=patch.read_stops is None,
        standing=verdict,
        reason=reason,
        mid_tone_lift_stops=None if now is None else mixed_light.added_stops(-now),
        shadow_lift_stops=None if now is None else mixed_light.shadow_lift_stops(DEEP_SHADOW_STOPS, -now),
        colour=_colour(patch),
        advice=tuple(_advice(standing, now, surface)),
        by_eye=patch.by_eye,
    )


def _verdict(check: AmbientCheck, standing: SetUp, proven: float, now: float | None) -> tuple[Standing, Fact]:
    if check.brighter_stops is not None:
        return Standing.VOID, fact(Reason.CHECK_TOO_BRIGHT, frame=check.number, brighter_stops=check.brighter_stops)
    lamps_then = {light.letter for light in check.set_up.lights if light.modelling_lamp}
    lamps = [light.letter for light in standing.lights if light.modelling_lamp and light.letter not in lamps_then]
    if lamps:
        return Standing.VOID, fact(Reason.PROOF_IS_VOID, lamps=tuple(lamps))
    if now is None:
        unknown = next(
            entry
            for entry in compare(exposure_of(check.set_up), exposure_of(standing)).of(AMBIENT)
            if entry.stops is None
        )
        return Standing.UNTOLD, fact(Reason.PROOF_UNTOLD, cause=str(unknown.cause))
    if now < proven - _SAME_STOPS:
        return Standing.FALLS, fact(Reason.PROOF_FALLS, now_stops=now)
    return Standing.HOLDS, fact(Reason.PROOF_HOLDS)


LEAST_TOLD_WARMTH_STOPS: Final = 0.2


def _colour(patch: CheckedPatch) -> Fact | None:
    """The colour of the room against that of the flash; None where the patch does not tell."""
    warmth = patch.warmth_stops
    if warmth is None:
        return None
    if abs(warmth) < LEAST_TOLD_WARMTH_STOPS:
        return fact(Reason.ROOM_LIKE_FLASH)
    return fact(Reason.ROOM_UNLIKE_FLASH, warmth_stops=warmth)


def _advice(standing: SetUp, now: float | None, surface: str) -> list[Fact]:
    said: list[Fact] = []
    if now is not None and now < WANTED_MARGIN_STOPS - _SAME_STOPS:
        said.append(_ways_to_widen(standing, WANTED_MARGIN_STOPS - now))
    if any(word in surface.lower() for word in _SHINY):
        said.append(fact(Reason.LOOK_WITH_THE_EYE))
    return said


def _ways_to_widen(standing: SetUp, short: float) -> Fact:
    """What would bring the margin to seven stops, first what costs nothing."""
    sync, shutter = standing.camera.sync_tv, standing.shutter
    spare = 0.0 if sync is None or shutter is None else max(0.0, sync - shutter.stops)
    helps = spare >= 1 / 3 - 1e-6
    return fact(
        Reason.WIDEN_MARGIN,
        short_stops=short,
        wanted_stops=WANTED_MARGIN_STOPS,
        sync=standing.camera.sync_mark if helps else None,
        gives_stops=min(spare, math.ceil(short * 3 - 1e-6) / 3) if helps else None,
        close_stops=short - spare if short > spare + _SAME_STOPS else None,
    )

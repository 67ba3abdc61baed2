"""The ambient check as a proof with a lifetime.

A black screen proves only "below what this screen shows". A frame with every flash off is measured instead: its
reading, carried by the ledger's own ambient entries from the settings of the check to the working ones, is where the
ambient light lies there, and the margin is how many stops that is below the wanted level:

    margin = wanted level − (reading + ambient change from check to working settings)

With only the shutter changed this is log2(t_test / t_work) less the reading. The place that speaks is the one of the
whole picture where that is least (`room_map`), or the patch, where no picture was measured. Where nothing can be told
from black, what the file (or an eye that saw nothing) proves at most gives a bound. The proof then stays or falls with
the set-up now. A check that reads brighter than the reference frame, which the flash lit, proves nothing: a flash
fired, or the room is lit; nor does one that is clipped, as the room gave at least so much.

The next shot of a session has its proof from the check of one before, where camera, lights and things stand as they did.
Rooms do not stay dark by themselves: behind a blind the day changes by a stop in an hour (common practice), so that a
margin is good until that would have eaten it down to the seven wanted.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from webapp.facts import Fact, fact
from webapp.ledger.entries import compare
from webapp.ledger.evidence import RoomPlace
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.exposures import AMBIENT, exposure_of
from webapp.ledger.set_up import Light, SetUp
from webapp.optics import flash, mixed_light
from webapp.pictures.light_map import Place

WANTED_MARGIN_STOPS: Final = 7.0
"""Below this a shadow five stops down is lifted by a third of a stop and more (common practice)."""
DEEP_SHADOW_STOPS: Final = -5.0
_SAME_STOPS: Final = 0.05
_SAME_MAGNIFICATION: Final = 0.005
DAYLIGHT_STOPS_AN_HOUR: Final = 1.0
"""What a room may brighten by (common practice: morning and evening behind a blind)."""
_LEAST_GOOD_H: Final = 1.0
_MOST_GOOD_H: Final = 8.0
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
    is_clipped: bool = False

    @property
    def seen_stops(self) -> float:
        """What the room gave here, or may have given at most."""
        return self.at_most_stops if self.read_stops is None else self.read_stops


@dataclass(frozen=True, slots=True)
class AmbientCheck:
    """A frame with every flash off that was measured. `working` is the set-up around it: what the check was made
    for; None where no frame tells. `nearest` is the place of its whole picture where the room comes nearest, None where
    no picture was measured; `made_at` when it was logged, by the session's clock. `shot` is the title of the shot that it
    was made for, where that is another."""

    frame_id: str
    number: int
    set_up: SetUp
    patches: tuple[CheckedPatch, ...]
    working: SetUp | None = None
    nearest: RoomPlace | None = None
    made_at: dt.datetime | None = None
    shot: str = ""

    def patch(self, name: str) -> CheckedPatch | None:
        return next((each for each in self.patches if each.name == name), None)

    @property
    def clipped(self) -> Fact | None:
        """Where it is clipped; None where it is not."""
        if self.nearest is not None and self.nearest.clips:
            x, y = self.nearest.place.middle
            return fact(Reason.CHECK_IS_CLIPPED, frame=self.number, patch=self.nearest.patch, x=x, y=y)
        patch = next((each.name for each in self.patches if each.is_clipped), None)
        if patch is None:
            return None
        return fact(Reason.CHECK_IS_CLIPPED, frame=self.number, patch=patch, x=None, y=None)

    @property
    def proves(self) -> bool:
        """Whether it tells how dark the room is."""
        return self.brighter_stops is None and self.clipped is None

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
    """A check compared with a set-up. `proven_stops` is its margin at the settings it was made for, `now_stops` at the
    set-up; `is_bound`: at least so much. `reason` is why it stands or falls; the lifts are what the margin now does to
    mid-tones and to a shadow five stops down, in stops. `patch` is where it was least ("" outside all), `nearest` where
    in the picture (None: no picture was measured). `shot` is the other shot that it was carried from, and `repeat_at`
    when it is to be made again; `is_old`: that is past."""

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
    nearest: Place | None = None
    where: Fact | None = None
    shot: str = ""
    made_at: dt.datetime | None = None
    repeat_at: dt.datetime | None = None
    is_old: bool = False

    @property
    def is_wide(self) -> bool:
        return self.now_stops is not None and self.now_stops >= WANTED_MARGIN_STOPS - _SAME_STOPS


def margin_stops(check: AmbientCheck, patch: CheckedPatch, set_up: SetUp) -> float | None:
    """The margin of a patch at a set-up; None where the ambient change to it is unknown."""
    change = ambient_change_stops(check.set_up, set_up)
    if change is None:
        return None
    return patch.wanted_stops - patch.seen_stops - change


def room_stops(check: AmbientCheck, name: str, set_up: SetUp) -> float | None:
    """Where the room lies at a patch of the check at a set-up, about mid-tone; None where the check does not tell."""
    patch = check.patch(name)
    change = ambient_change_stops(check.set_up, set_up)
    if patch is None or patch.is_clipped or change is None or check.brighter_stops is not None:
        return None
    return patch.seen_stops + change


def ambient_change_stops(check: SetUp, set_up: SetUp) -> float | None:
    """How the ambient light in the picture changes from a check to a set-up. Every pop opens the shutter, or holds
    it open for longer, so that the pops add to it."""
    change = compare(exposure_of(check), exposure_of(set_up)).balances[AMBIENT]
    if change is None:
        return None
    return change + flash.pops_stops(set_up.pops) - flash.pops_stops(check.pops)


def prove(
    check: AmbientCheck, standing: SetUp, surface: str = "", at: dt.datetime | None = None
) -> AmbientProof | None:
    """What a check still proves for the set-up now; None where it has no reading to prove anything with.

    The place with the smallest margin speaks. `surface` is that of the subject: a mirror shows the room however
    dark a patch beside it is. `at` is the time that it is old or not at.
    """
    if not check.patches:
        return None
    working = replace(check.set_up, shutter=(check.working or standing).shutter)
    margins = [(margin_stops(check, place, working), place) for place in _places(check)]
    known = [(margin, place) for margin, place in margins if margin is not None]
    if not known:
        return None
    proven, patch = min(known, key=lambda each: each[0])
    moved = moved_since(check.set_up, standing) if check.shot else ()
    now = margin_stops(check, patch, standing) if check.proves and not moved else None
    verdict, reason = _verdict(check, standing, proven, now, moved)
    stands = verdict in (Standing.HOLDS, Standing.FALLS)
    repeat_at = check.made_at + _good_for(now) if stands and check.made_at is not None and now is not None else None
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
        colour=_colour(min(check.patches, key=lambda each: each.wanted_stops - each.seen_stops)),
        advice=tuple(_advice(standing, now, surface)),
        by_eye=patch.by_eye,
        nearest=check.nearest.place if check.nearest else None,
        where=_where(check.nearest) if check.nearest and check.clipped is None else None,
        shot=check.shot,
        made_at=check.made_at,
        repeat_at=repeat_at,
        is_old=at is not None and repeat_at is not None and at >= repeat_at,
    )


def _where(nearest: RoomPlace) -> Fact:
    x, y = nearest.place.middle
    return fact(Reason.ROOM_COMES_NEAREST, patch=nearest.patch, x=x, y=y)


def _places(check: AmbientCheck) -> tuple[CheckedPatch, ...]:
    """What the margin goes by: of a measured picture the one place that is nearest, else the patches."""
    at = check.nearest
    if at is None:
        return check.patches
    return (CheckedPatch(at.patch, at.wanted_stops, at.read_stops, at.at_most_stops, is_clipped=at.clips),)


def _good_for(margin: float) -> dt.timedelta:
    """How long a margin holds, at what a room may brighten by."""
    hours = (margin - WANTED_MARGIN_STOPS) / DAYLIGHT_STOPS_AN_HOUR
    return dt.timedelta(hours=min(max(hours, _LEAST_GOOD_H), _MOST_GOOD_H))


def moved_since(check: SetUp, standing: SetUp) -> tuple[str, ...]:
    """What does not stand as it stood in a check of another shot, by the log: "camera", "lens", "view" (focal length,
    magnification, distance), "things", and the letters of lights."""
    pieces = (("camera", check.camera, standing.camera), ("lens", check.lens, standing.lens))
    moved = [name for name, stood, stands in pieces if stood.id != stands.id]
    view = (check.focal_length_mm, check.subject_distance_mm) == (
        standing.focal_length_mm,
        standing.subject_distance_mm,
    )
    if not view or not same_magnification(check.magnification, standing.magnification):
        moved.append("view")
    then, now = ({each.letter: _place_of(each) for each in one.lights} for one in (check, standing))
    moved += sorted(letter for letter in then.keys() | now.keys() if then.get(letter) != now.get(letter))
    if check.things != standing.things:
        moved.append("things")
    return tuple(moved)


def same_magnification(one: float | None, other: float | None) -> bool:
    """Whether two magnifications show the same view; an unknown one is like another."""
    if one is None or other is None or not one or not other:
        return one == other
    return abs(one / other - 1.0) <= _SAME_MAGNIFICATION


def _place_of(light: Light) -> tuple[object, ...]:
    """What a light is in the room, whatever it gives."""
    return light.head.id, light.modifier.id if light.modifier else None, light.distance_mm, light.position


def _verdict(
    check: AmbientCheck, standing: SetUp, proven: float, now: float | None, moved: tuple[str, ...]
) -> tuple[Standing, Fact]:
    if moved:
        return Standing.VOID, fact(Reason.PROOF_NOT_CARRIED, what=moved)
    if (clipped := check.clipped) is not None:
        return Standing.VOID, clipped
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

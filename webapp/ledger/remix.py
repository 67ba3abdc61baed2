"""The lights of a shot re-mixed: from one frame lit by each light alone to any mix of them, and back to the dials.

Light adds, so that a level of s stops on a light brings 2^s times its own picture. What was set differently between
the frames is corrected by the ledger's own entries (aperture, close-up loss, ISO, filters on the lens, pops; the
shutter for continuous light); where one of those is unknown, or the pictures do not show the same view, there is no
sum. Every frame holds the ambient light too: with an ambient check it is taken out of each and put in once:

    mix = sum of 2^(s_i + c_i) I_i + k A,   k = 2^a − sum of 2^(s_i + c_i + a_i)

with c_i the correction of frame i to the settings of the sum, and a and a_i the change of the ambient light from its
check A to the sum's settings and to those of frame i.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from webapp.errors import InvalidValue
from webapp.facts import Fact, Value, fact
from webapp.ledger.ambient_proof import ambient_change_stops, same_magnification
from webapp.ledger.entries import compare, told
from webapp.ledger.evidence import MID_TONE_STOPS
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.exposures import exposure_of
from webapp.ledger.set_up import Light, SetUp
from webapp.ledger.totals import LightingRatio
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Step, Symbol
from webapp.pictures.readings import MIDDLE, Patch

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from webapp.pictures.decode import LinearPicture

MOST_STOPS: Final = 8.0
"""The largest level either way: past it a preview shows nothing but noise or white."""
_LEAST_SAID_STOPS: Final = 0.005

MIX_OF_LIGHTS: Final = Relation(
    result="total of the patch about mid-tone",
    unit="stops",
    formula="T = log2(sum / 0.18)",
    latex=r"T = \log_2 \frac{\Sigma}{0.18}",
    symbols=(Symbol("Σ", "sum over the lights of 2^level times the light of each alone, clipping being 1"),),
    source="definition",
    assumptions=(Assumption.OF_REDUCED_PICTURES,),
)

Levels = Mapping[str, float | None]
"""Stops by letter; None leaves the light out."""


@dataclass(frozen=True, slots=True)
class Alone:
    """A frame lit by one light alone, or by the room, with the picture that is used of it. `is_clipped` is of an ambient
    check: less would be taken out than the room gave."""

    letter: str
    frame_id: str
    number: int
    set_up: SetUp
    digest: str
    kind: str
    is_clipped: bool = False

    @property
    def light(self) -> Light:
        found = self.set_up.light(self.letter)
        assert found is not None
        return found


@dataclass(frozen=True, slots=True)
class Part:
    """A light of the mix: its frame, what brings it to the settings of the mix, and the change of the ambient light
    from its check to this frame (None where there is no check, or it cannot be carried over)."""

    alone: Alone
    correction_stops: float
    ambient_stops: float | None = None

    @property
    def letter(self) -> str:
        return self.alone.letter


@dataclass(frozen=True, slots=True)
class LightsToMix:
    """The lights of a shot that can be mixed. Without `parts` nothing can, for the reasons in `refused`. `settings_of` is
    the number of the frame whose settings the mix stands at; `ambient` the check that is taken out of each frame."""

    parts: tuple[Part, ...] = ()
    settings: SetUp | None = None
    settings_of: int = 0
    ambient: Alone | None = None
    ambient_stops: float = 0.0
    refused: tuple[Fact, ...] = ()
    notes: tuple[Fact, ...] = ()

    @property
    def letters(self) -> tuple[str, ...]:
        return tuple(part.letter for part in self.parts)

    @property
    def digests(self) -> tuple[str, ...]:
        """The pictures in the order of `gains`."""
        ambient = () if self.ambient is None else (self.ambient.digest,)
        return (*(part.alone.digest for part in self.parts), *ambient)

    def gains(self, levels: Levels) -> tuple[float, ...]:
        """What each picture is multiplied by."""
        own = [_gain(levels.get(part.letter), part.correction_stops) for part in self.parts]
        if self.ambient is None:
            return tuple(own)
        counted = sum(
            gain * 2.0**part.ambient_stops
            for gain, part in zip(own, self.parts, strict=True)
            if part.ambient_stops is not None
        )
        return (*own, 2.0**self.ambient_stops - counted)


def _gain(level: float | None, correction: float) -> float:
    return 0.0 if level is None else 2.0 ** (level + correction)


def lights_to_mix(
    alone: Sequence[Alone], settings: SetUp | None, settings_of: int, check: Alone | None
) -> LightsToMix:
    """What the frames lit by one light each add up to, at the settings of one set-up (of the first frame, where none
    is given)."""
    if not alone:
        return LightsToMix(refused=(fact(Reason.NO_SOLO_FRAME),))
    if settings is None:
        settings, settings_of = alone[0].set_up, alone[0].number
    refused = _different_views(alone)
    parts: list[Part] = []
    notes: list[Fact] = []
    for each in alone:
        correction, said = _correction(each, settings, settings_of)
        if said is not None:
            (refused if correction is None else notes).append(said)
        if correction is None:
            continue
        parts.append(Part(each, correction))
    if refused:
        return LightsToMix(refused=tuple(refused))
    return _with_ambient(LightsToMix(tuple(parts), settings, settings_of, notes=tuple(notes)), check)


def _different_views(alone: Sequence[Alone]) -> list[Fact]:
    """Why the pictures do not lie over each other, or are not of one kind."""
    first, said = alone[0], []
    for each in alone[1:]:
        reason = _difference(first, each)
        if reason is not None:
            said.append(fact(reason, first=first.number, second=each.number))
    return said


def _difference(first: Alone, second: Alone) -> Reason | None:
    was, now = first.set_up, second.set_up
    if was.camera.id != now.camera.id:
        return Reason.CAMERAS_DIFFER
    if was.lens.id != now.lens.id or was.focal_length_mm != now.focal_length_mm:
        return Reason.LENSES_DIFFER
    if not same_magnification(was.magnification, now.magnification):
        return Reason.MAGNIFICATIONS_DIFFER
    if (first.kind == "raw") != (second.kind == "raw"):
        return Reason.KINDS_OF_FILE_DIFFER
    return None


def _correction(alone: Alone, settings: SetUp, settings_of: int) -> tuple[float | None, Fact | None]:
    """What brings a light from the settings of its own frame to those of the sum, and what is to be said of it."""
    there = _at_settings_of(alone.set_up, settings)
    compared = compare(exposure_of(alone.set_up), exposure_of(there))
    stops, entries = compared.balances[alone.letter], compared.of(alone.letter)
    if stops is not None and abs(stops) < _LEAST_SAID_STOPS:
        return 0.0, None
    values: dict[str, Value] = {
        "light": alone.light.name,
        "frame": alone.number,
        "settings_frame": settings_of,
        "causes": tuple(str(entry.cause) for entry in entries),
        "was": tuple(told(entry.was) for entry in entries),
        "now": tuple(told(entry.now) for entry in entries),
    }
    if stops is None:
        return None, fact(Reason.SETTINGS_NOT_BRIDGED, alone.letter, **values)
    return stops, fact(Reason.SETTINGS_CORRECTED, alone.letter, **values, stops=stops)


def _at_settings_of(set_up: SetUp, settings: SetUp) -> SetUp:
    """The lights of one set-up with the camera settings of another."""
    return replace(
        set_up,
        f_number=settings.f_number,
        shutter=settings.shutter,
        iso=settings.iso,
        magnification=settings.magnification,
        lens_filters=settings.lens_filters,
        pops=settings.pops,
    )


def _with_ambient(found: LightsToMix, check: Alone | None) -> LightsToMix:
    assert found.settings is not None
    if check is None:
        return replace(found, notes=(*found.notes, fact(Reason.AMBIENT_NOT_PROVEN)))
    first = found.parts[0].alone
    change = ambient_change_stops(check.set_up, found.settings)
    changes = [ambient_change_stops(check.set_up, part.alone.set_up) for part in found.parts]
    why = ""
    if change is None or None in changes:
        why = "settings"
    elif (check.kind == "raw") != (first.kind == "raw"):
        why = "kind"
    elif _different_views([first, replace(check, kind=first.kind)]):
        why = "view"
    elif check.is_clipped:
        why = "clipped"
    if why or change is None:
        note = fact(Reason.AMBIENT_LEFT_IN, frame=check.number, why=why)
        return replace(found, notes=(*found.notes, note))
    parts = tuple(replace(part, ambient_stops=stops) for part, stops in zip(found.parts, changes, strict=True))
    note = fact(Reason.AMBIENT_TAKEN_OUT, frame=check.number)
    return replace(found, parts=parts, ambient=check, ambient_stops=change, notes=(*found.notes, note))


# --- what a mix shows ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PatchOfMix:
    """A patch of the mix. `total_stops` is about mid-tone, None where it is black; `light` is what each light
    gives at its level, by letter, as a share of clipping. `clipped_alone` names lights clipped there in their own
    frame: then the figure is a lower bound. `blown_share` is how much of it would clip."""

    name: str
    total_stops: float | None
    light: Mapping[str, float]
    clipped_alone: tuple[str, ...]
    blown_share: float
    working: Step

    def ratio(self, key: str, fill: str) -> LightingRatio | None:
        """Key against fill here; None where one of them gives nothing."""
        gives = self.light.get(key, 0.0), self.light.get(fill, 0.0)
        if key == fill or min(gives) <= 0.0:
            return None
        return LightingRatio(key, fill, math.log2(gives[0] / gives[1]))


@dataclass(frozen=True, slots=True)
class Mixed:
    """A mix as a picture and in figures."""

    rgb: NDArray[Any]
    clipped_alone: NDArray[Any]
    blown: NDArray[Any]
    patches: tuple[PatchOfMix, ...]

    @property
    def marked(self) -> NDArray[Any]:
        """Where the preview says less than the light: clipped in a frame, or in the sum."""
        either: NDArray[Any] = self.clipped_alone | self.blown
        return either


def mix(
    found: LightsToMix, levels: Levels, pictures: Sequence[LinearPicture], patches: Sequence[Patch] = ()
) -> Mixed:
    """Add the lights up. `pictures` are those of `found.digests`. Raises InvalidValue where they have different sizes
    after all."""
    import numpy as np

    from webapp.pictures import mixing

    planes = [picture.rgb for picture in pictures]
    gains = found.gains(levels)
    try:
        total = mixing.added(planes, gains)
    except ValueError as problem:
        raise InvalidValue("frames", str(problem)) from problem
    lit = [index for index in range(len(found.parts)) if gains[index]]
    clips = {index: mixing.clipped(planes[index]) for index in range(len(found.parts))}
    blown = mixing.clipped(total)
    own_clips = np.zeros_like(blown)
    for index in lit:
        own_clips |= clips[index]
    told = []
    for patch in patches or (MIDDLE,):
        level = mixing.level_at(total, patch)
        light = {}
        for index, part in enumerate(found.parts):
            alone = mixing.level_at(planes[index], patch)
            if found.ambient is not None and part.ambient_stops is not None:
                alone -= 2.0**part.ambient_stops * mixing.level_at(planes[-1], patch)
            light[part.letter] = max(0.0, gains[index] * alone)
        stops = math.log2(level) - MID_TONE_STOPS if level > 0.0 else None
        told.append(
            PatchOfMix(
                patch.name,
                stops,
                light,
                tuple(found.parts[i].letter for i in lit if mixing.clipped_share_at(clips[i], patch) > 0.01),
                mixing.clipped_share_at(blown, patch),
                MIX_OF_LIGHTS.worked(stops, Σ=level),
            )
        )
    return Mixed(total, own_clips, blown, tuple(told))


def levels_for_ratio(patch: PatchOfMix, levels: Levels, key: str, fill: str, wanted_stops: float) -> Levels:
    """The levels with the fill moved so that key less fill is `wanted_stops` at a patch.

    Raises ValueError where one of the two gives no light there, and where the fill would leave the range.
    """
    stands = patch.ratio(key, fill)
    level = levels.get(fill)
    if stands is None or level is None:
        raise ValueError(f"{key} or {fill} gives no light at {patch.name}, so there is no ratio to bring about.")
    moved = level + stands.key_minus_fill_stops - wanted_stops
    if abs(moved) > MOST_STOPS:
        raise ValueError(f"{fill} would have to be moved by {moved:+.1f} stops; at most {MOST_STOPS:.0f} are shown.")
    return {**levels, fill: round(moved, 3)}

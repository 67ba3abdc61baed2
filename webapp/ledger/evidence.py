"""Prediction against evidence: what each patch of a frame should read, what it reads, and what is left over.

Readings are in stops about mid-tone, which lies at 18 % of clipping (the grey card of common practice; code 118 of
sRGB). The unexplained difference is the measured difference to the reference frame less the predicted one. Within
the tolerance it says nothing. The log and the reading stay apart: neither is changed here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import ClassVar, Final

from webapp.facts import Fact, fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.totals import Total
from webapp.optics.tone_curve import MID_TONE, ToneCurve, step_error_stops, unknown
from webapp.pictures.light_map import Place
from webapp.pictures.readings import LUMINANCE_WEIGHTS, MIDDLE, ChannelReading, PatchReading

MID_TONE_STOPS: Final = math.log2(MID_TONE)
"""Where mid-tone lies about clipping."""
LEAST_TOLERANCE_STOPS: Final = 0.1
_DARKEST: Final = 1e-6
# Two standard deviations of a head hold nineteen of twenty flashes, if they scatter normally.
_DEVIATIONS: Final = 2.0

BY_EYE: Final = "eye"
"""The kind of a reading that no file gave."""
EYE_TOLERANCE_STOPS: Final = 0.35
"""How far an eye may be off: about a third of a stop, the click of most dials, is the least change of a picture that is
told with certainty when it is not seen beside the other (common practice). A third itself lies within."""
BLACK_TO_THE_EYE_STOPS: Final = -5.0
"""Where nothing is to be seen: Zone 0 of the Zone System, black without any detail, lies five stops below mid-tone, Zone
V; there a screen shows code 18 of 255 (sRGB), which its own reflections cover on a set (common practice)."""


@dataclass(frozen=True, slots=True)
class EyeReading:
    """A patch as it was judged by eye, without a file; in stops about mid-tone, None where nothing was to be seen. It is
    weighed as a file's reading is, and has what that one has. Raises ValueError for a level that no eye can tell."""

    read_stops: float | None

    kind: ClassVar[str] = BY_EYE
    channels: ClassVar[tuple[ChannelReading, ...]] = ()
    estimated: ClassVar[bool] = False
    clipped_high_share: ClassVar[float] = 0.0
    clipped_low_share: ClassVar[float] = 0.0

    def __post_init__(self) -> None:
        if self.read_stops is not None and not BLACK_TO_THE_EYE_STOPS < self.read_stops < -MID_TONE_STOPS:
            raise ValueError(
                f"An eye tells levels from {-BLACK_TO_THE_EYE_STOPS:g} stops below mid-tone, which is black, to "
                f"{-MID_TONE_STOPS:.1f} above it, which is white."
            )

    @property
    def level_stops(self) -> float | None:
        return None if self.read_stops is None else self.read_stops + MID_TONE_STOPS

    @property
    def at_most_stops(self) -> float:
        return MID_TONE_STOPS + (BLACK_TO_THE_EYE_STOPS if self.read_stops is None else self.read_stops)

    @property
    def tolerance_stops(self) -> float | None:
        return None if self.read_stops is None else EYE_TOLERANCE_STOPS


Read = PatchReading | EyeReading
"""How a patch was read."""


@dataclass(frozen=True, slots=True)
class SceneLevels:
    """What the camera's curve makes of the levels of a patch in a rendered file: its light, in stops about mid-tone.
    `error_stops` is what the light read may be off by against mid-tone (a standard deviation)."""

    read_stops: float | None
    at_most_stops: float
    wanted_stops: float
    error_stops: float | None


@dataclass(frozen=True, slots=True)
class PatchEvidence:
    """One patch of one frame. Levels are in stops about mid-tone, differences against the reference frame.

    `read_stops` None: not to be told from black, and at most `at_most_stops`. `predicted_stops` and
    `unexplained_stops` are None with the reason in `why_not`. `shares` are those the prediction used, `warmth_stops`
    how much redder (against blue) the patch is than in the reference frame. Levels are those of the file; where the curve
    of its camera is known, `scene` has the light they stand for, and the differences are of light.
    """

    patch_id: str | None
    name: str
    wanted_stops: float
    kind: str
    read_stops: float | None
    at_most_stops: float
    estimated: bool
    clipped_high_share: float
    clipped_low_share: float
    predicted_stops: float | None = None
    measured_stops: float | None = None
    unexplained_stops: float | None = None
    tolerance_stops: float | None = None
    shares: Mapping[str, float] = field(default_factory=dict)
    warmth_stops: float | None = None
    why_not: Fact | None = None
    scene: SceneLevels | None = None

    @property
    def light_stops(self) -> float | None:
        """The light read, about mid-tone: by the camera's curve where one is known, else as the file has it."""
        return self.read_stops if self.scene is None else self.scene.read_stops

    @property
    def light_at_most_stops(self) -> float:
        return self.at_most_stops if self.scene is None else self.scene.at_most_stops

    @property
    def light_wanted_stops(self) -> float:
        return self.wanted_stops if self.scene is None else self.scene.wanted_stops

    @property
    def by_eye(self) -> bool:
        """Whether no file was read but the eye judged."""
        return self.kind == BY_EYE

    @property
    def is_told(self) -> bool:
        """Whether the difference is past the tolerance, and so something to be said."""
        return (
            self.unexplained_stops is not None
            and self.tolerance_stops is not None
            and abs(self.unexplained_stops) > self.tolerance_stops
        )


@dataclass(frozen=True, slots=True)
class RoomPlace:
    """Where in the whole picture of an ambient check the room comes nearest to what is wanted there, in stops about
    mid-tone. `patch` is the one that it lies in, "" outside all; `read_stops` None: not to be told from black anywhere,
    and at most `at_most_stops`. `clipped_share` is how much of it clips: then it is at least so bright."""

    CLIPS_FROM: ClassVar[float] = 0.01

    place: Place
    patch: str
    wanted_stops: float
    read_stops: float | None
    at_most_stops: float
    clipped_share: float

    @property
    def clips(self) -> bool:
        return self.clipped_share > self.CLIPS_FROM


@dataclass(frozen=True, slots=True)
class FrameEvidence:
    """What the picture of a frame says, patch by patch, in their order; of an ambient check also where in all of it the
    room comes nearest (None where no file was read, or not yet)."""

    patches: tuple[PatchEvidence, ...] = ()
    room: RoomPlace | None = None

    @property
    def clips_at(self) -> str | None:
        """The patch where an ambient check is clipped, "" for a place outside all; None where it is not."""
        if self.room is not None and self.room.clips:
            return self.room.patch
        clipped = (each.name for each in self.patches if each.clipped_high_share > RoomPlace.CLIPS_FROM)
        return next(clipped, None)

    @property
    def first(self) -> PatchEvidence | None:
        return self.patches[0] if self.patches else None

    @property
    def furthest(self) -> PatchEvidence | None:
        """The patch whose unexplained difference is the largest for its tolerance."""
        known = [each for each in self.patches if each.unexplained_stops is not None and each.tolerance_stops]
        return max(
            known, key=lambda each: abs(each.unexplained_stops or 0) / (each.tolerance_stops or 1), default=None
        )


@dataclass(frozen=True, slots=True)
class HeldAgainst:
    """What a reading is compared with: its level about clipping, how far it may be off, and its colour. None: it cannot
    be told from black, too much of it is clipped, its colour cannot be told. `in_recipe`: read in a recipe's picture,
    not in the reference frame. `scene_stops` is its light about clipping, by the `curve` of its file; None where none is
    known."""

    level_stops: float | None
    tolerance_stops: float | None
    red_over_blue_stops: float | None = None
    in_recipe: bool = False
    scene_stops: float | None = None
    curve: ToneCurve | None = None

    @property
    def light_stops(self) -> float | None:
        """Its light about clipping, as far as that is known."""
        return self.level_stops if self.scene_stops is None else self.scene_stops

    @classmethod
    def of(cls, reading: Read, curve: ToneCurve | None = None) -> HeldAgainst:
        """A reading of the reference frame."""
        light = None if curve is None else _light_stops(reading, curve)
        return cls(reading.level_stops, own_tolerance_stops(reading), warmth_of(reading), False, light, curve)

    @classmethod
    def of_recipe(
        cls,
        read_stops: float | None,
        tolerance_stops: float | None,
        red_over_blue_stops: float | None,
        curve: ToneCurve | None = None,
    ) -> HeldAgainst:
        """A reading of a recipe's picture, which is told in stops about mid-tone."""
        if read_stops is None:
            return cls(None, tolerance_stops, red_over_blue_stops, in_recipe=True)
        light = None if curve is None else curve.light_stops(read_stops) + MID_TONE_STOPS
        return cls(read_stops + MID_TONE_STOPS, tolerance_stops, red_over_blue_stops, True, light, curve)


def weigh(
    patch_id: str | None,
    wanted_stops: float,
    reading: Read,
    reference: HeldAgainst | None,
    predicted: Total,
    *,
    name: str = MIDDLE.name,
    shares: Mapping[str, float] | None = None,
    spread_stops: float = 0.0,
    curve: ToneCurve | None = None,
) -> PatchEvidence:
    """Hold a reading against that of the reference frame. `reference` None: that frame has no reading to compare
    with, of this patch and from the same kind of file (what the eye judges goes with a rendered one, which is what a
    screen shows). `spread_stops` is the known standard deviation of the heads, `curve` that of a rendered file's camera,
    where it is known.
    """
    light = _light_stops(reading, curve)
    against = None if reference is None else reference.level_stops
    seen = PatchEvidence(
        patch_id=patch_id,
        name=name,
        wanted_stops=wanted_stops,
        kind=reading.kind,
        read_stops=None if reading.level_stops is None else reading.level_stops - MID_TONE_STOPS,
        at_most_stops=reading.at_most_stops - MID_TONE_STOPS,
        estimated=reading.estimated and not _is_known(reading, curve, against),
        clipped_high_share=reading.clipped_high_share,
        clipped_low_share=reading.clipped_low_share,
        predicted_stops=predicted.stops,
        shares=dict(shares or {}),
        scene=None if curve is None else _scene(reading, light, wanted_stops, curve),
    )
    why_not = _why_not(reading, reference, predicted)
    if why_not is not None or reference is None:
        return replace(seen, why_not=why_not)
    assert light is not None
    assert reference.light_stops is not None
    measured = light - reference.light_stops
    tolerance = max(
        LEAST_TOLERANCE_STOPS,
        own_tolerance_stops(reading) or 0.0,
        reference.tolerance_stops or 0.0,
        _DEVIATIONS * _curve_error_stops(reading, curve, reference),
        _DEVIATIONS * spread_stops,
    )
    return replace(
        seen,
        measured_stops=measured,
        unexplained_stops=None if predicted.stops is None else measured - predicted.stops,
        tolerance_stops=tolerance,
        warmth_stops=_warmth(reading, reference),
        why_not=predicted.reason if predicted.stops is None else None,
    )


# --- through the curve of a rendered file -------------------------------------------------------------------------


def own_tolerance_stops(reading: Read) -> float | None:
    """How far a reading may be off, the curve of a rendered file apart: that matters by what it is compared with."""
    if not isinstance(reading, PatchReading) or not reading.estimated or reading.tolerance_stops is None:
        return reading.tolerance_stops
    step = step_error_stops((reading.level_stops or 0.0) - MID_TONE_STOPS)
    return _DEVIATIONS * math.hypot(step, reading.standard_error / (reading.level * math.log(2.0)))


def _light_stops(reading: Read, curve: ToneCurve | None) -> float | None:
    """The light of a reading about clipping. Every colour went through the curve by itself."""
    if curve is None or reading.level_stops is None:
        return reading.level_stops
    levels = [max(each.level, _DARKEST) for each in reading.channels]
    if len(levels) != len(LUMINANCE_WEIGHTS):
        return curve.light_stops(reading.level_stops - MID_TONE_STOPS) + MID_TONE_STOPS
    lights = [MID_TONE * 2.0 ** curve.light_stops(math.log2(level / MID_TONE)) for level in levels]
    return math.log2(sum(weight * light for weight, light in zip(LUMINANCE_WEIGHTS, lights, strict=True)))


def _scene(reading: Read, light: float | None, wanted_stops: float, curve: ToneCurve) -> SceneLevels:
    level = None if reading.level_stops is None else reading.level_stops - MID_TONE_STOPS
    return SceneLevels(
        None if light is None else light - MID_TONE_STOPS,
        curve.light_stops(reading.at_most_stops - MID_TONE_STOPS),
        curve.light_stops(wanted_stops),
        None if level is None else curve.error_stops(level),
    )


def _is_known(reading: Read, curve: ToneCurve | None, against_stops: float | None) -> bool:
    """Whether the curve is known at a reading, against the level that it is compared with, or mid-tone."""
    if curve is None or reading.level_stops is None:
        return False
    against = 0.0 if against_stops is None else against_stops - MID_TONE_STOPS
    return curve.is_known(reading.level_stops - MID_TONE_STOPS, against)


def _curve_error_stops(reading: Read, curve: ToneCurve | None, reference: HeldAgainst) -> float:
    """What the difference of two readings may be off by for the curve that they went through (a standard deviation): what
    an eye judges went through that of a screen's picture. Nothing for raw files."""
    assert reading.level_stops is not None
    assert reference.level_stops is not None
    if reading.kind == "raw":
        return 0.0
    level, against = reading.level_stops - MID_TONE_STOPS, reference.level_stops - MID_TONE_STOPS
    if curve is reference.curve:
        return (curve or unknown()).error_stops(level, against)
    return math.hypot((curve or unknown()).error_stops(level), (reference.curve or unknown()).error_stops(against))


def _why_not(reading: Read, reference: HeldAgainst | None, predicted: Total) -> Fact | None:
    if reference is None:
        return predicted.reason or fact(Reason.NO_REFERENCE_READING)
    if reading.level_stops is None:
        return fact(Reason.PATCH_IS_BLACK)
    if reference.level_stops is None:
        return fact(Reason.BLACK_IN_REFERENCE, in_recipe=reference.in_recipe)
    if reading.tolerance_stops is None:
        return fact(Reason.PATCH_IS_CLIPPED)
    if reference.tolerance_stops is None:
        return fact(Reason.CLIPPED_IN_REFERENCE, in_recipe=reference.in_recipe)
    return None


def warmth_of(reading: Read) -> float | None:
    """log2 of red over blue; None where either cannot be told from black or is clipped."""
    levels = {each.channel: each for each in reading.channels}
    red, blue = levels.get("red"), levels.get("blue")
    if red is None or blue is None or reading.tolerance_stops is None or min(red.level, blue.level) <= 0.0:
        return None
    return math.log2(red.level / blue.level)


def _warmth(reading: Read, reference: HeldAgainst) -> float | None:
    now, then = warmth_of(reading), reference.red_over_blue_stops
    return None if now is None or then is None else now - then

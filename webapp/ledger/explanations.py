"""What is known of a frame that reads otherwise than predicted, and what an explanation of it would have done.

The arithmetic of every explanation is here: the light that a slip would have made, added up through the shares of
each patch.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from webapp.facts import Fact
from webapp.ledger.gains import Solved
from webapp.ledger.set_up import FilterFigures, ModifierFigures, SetUp
from webapp.ledger.totals import summed_stops
from webapp.optics import mixed_light


@dataclass(frozen=True, slots=True)
class PatchCase:
    """A patch with a measured difference. `balances` are those of the lit lights; `shares` None: unknown, and all
    lit lights moved alike by `predicted_stops`. `level_stops` is the reading about mid-tone, `room_stops` where an ambient
    check puts the room at this patch, at the frame's settings and at those of the reference frame."""

    name: str
    measured_stops: float
    predicted_stops: float
    tolerance_stops: float
    level_stops: float
    wanted_stops: float = 0.0
    balances: Mapping[str, float] = field(default_factory=dict)
    shares: Mapping[str, float] | None = None
    warmth_stops: float | None = None
    room_stops: float | None = None
    room_in_reference_stops: float | None = None

    @property
    def unexplained_stops(self) -> float:
        return self.measured_stops - self.predicted_stops


@dataclass(frozen=True, slots=True)
class AtHand:
    """What the kit holds that may have stood in a beam."""

    light_filters: tuple[FilterFigures, ...] = ()
    lens_filters: tuple[FilterFigures, ...] = ()
    modifiers: tuple[ModifierFigures, ...] = ()


@dataclass(frozen=True, slots=True)
class Case:
    """Everything that an explanation may rest on.

    `told_by_file` names the camera's dials that the file itself vouches for. `spreads` has the known standard
    deviation of a head by letter. `balances_if_lit` are those that lights which are logged as off would have.
    `gave` is what each light gave, where that is solved; `since_previous_s` how long before it the exposure before was made.
    """

    set_up: SetUp
    reference: SetUp
    patches: tuple[PatchCase, ...]
    previous: SetUp | None = None
    previous_number: int | None = None
    told_by_file: frozenset[str] = frozenset()
    spreads: Mapping[str, float] = field(default_factory=dict)
    balances_if_lit: Mapping[str, float] = field(default_factory=dict)
    gave: Solved | None = None
    at_hand: AtHand = AtHand()
    since_previous_s: float | None = None

    def off_by(self, letter: str) -> float | None:
        """By how much a light gave more than logged, in stops; None where that is not known, or it gave nothing."""
        if self.gave is not None and self.gave.apart:
            gain = self.gave.of(letter)
            return gain.stops if gain is not None and gain.told and gain.lit else None
        only = [light.letter for light in self.set_up.lights if light.lit] == [letter]
        return self.off_everywhere if only else None

    @property
    def off_everywhere(self) -> float:
        """The unexplained difference of the patches, in the mean."""
        return sum(each.unexplained_stops for each in self.patches) / len(self.patches)

    @property
    def sources(self) -> Solved | None:
        """What each light gave, where the patches tell the lights apart."""
        return self.gave if self.gave is not None and self.gave.apart else None


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
    """A likely cause, or two at once in `causes`; `colour` is what the colour of the patches says of it. `changes` are
    the fields that would put the frame right, by path, none where there is nothing to take in; `leaves` is what each
    patch would be left with, `worst` the largest of it in tolerances, `unusual` its place in the order. `contradicted`: the colour speaks against it;
    `set_apart`: the evidence has room for no other."""

    key: str
    causes: tuple[Fact, ...]
    effect: Effect
    leaves: Mapping[str, float]
    worst: float
    unusual: float
    changes: tuple[tuple[str, Any], ...] = ()
    colour: Fact | None = None
    contradicted: bool = False
    set_apart: bool = False

    @property
    def can_take(self) -> bool:
        """Whether there is something to put right, and nothing contradicts it."""
        return bool(self.changes) and not self.contradicted

    @property
    def fits(self) -> bool:
        """Whether it leaves every patch within its tolerance."""
        return self.worst <= 1.0

    @property
    def leaves_most_stops(self) -> float:
        return max(self.leaves.values(), key=abs, default=0.0)


@dataclass(frozen=True, slots=True)
class Attribution:
    """The likely causes, first the likeliest, and the frame that would tell the first two apart. There is neither
    within the tolerance."""

    explanations: tuple[Explanation, ...] = ()
    test_frame: Fact | None = None


def predicted_with(case: Case, patch: PatchCase, effect: Effect) -> float | None:
    """What a patch should have read with a slip in it, against the reference frame; None where a share that it needs
    is unknown.

    log2 of the sum of share × 2^(balance + slip), and the ambient light added where the slip is that.
    """
    if effect.added_ambient:
        return _with_ambient(patch)
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


def _with_ambient(patch: PatchCase) -> float | None:
    """The lift of the patch by the room here, less the lift that the reference frame has in it already."""
    if patch.room_stops is None:
        return None
    flash_alone = patch.level_stops - patch.unexplained_stops
    lift = mixed_light.added_stops(patch.room_stops - flash_alone)
    already = 0.0
    if patch.room_in_reference_stops is not None:
        reference_level = patch.level_stops - patch.measured_stops
        already = mixed_light.added_stops(patch.room_in_reference_stops - reference_level)
    return patch.predicted_stops + lift - already

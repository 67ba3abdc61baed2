"""What two frames are compared on: the camera's settings and each light's, with nothing else of the record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from webapp.ledger.set_up import FilterFigures, SetUp, ShinesOn
from webapp.ledger.set_up import Light as StandingLight
from webapp.optics import sources
from webapp.optics.scales import Marked
from webapp.quantities.powers import PowerDial

AMBIENT = "ambient"
ALL_LIGHTS = "all"


@dataclass(frozen=True, slots=True)
class Filters:
    """What stands in a beam. Two with the same `key` are the same glass, whatever is known of their loss; without
    `names` they are only counted. `learned_from` is how many readings the loss of a crossed pair was learned from."""

    key: tuple[str, ...] = ()
    loss_stops: float | None = 0.0
    names: tuple[str, ...] = ()
    learned_from: int = 0

    @property
    def name(self) -> str:
        """All of them in one line, "" for none."""
        return " + ".join(counted(self.names))


@dataclass(frozen=True, slots=True)
class LightState:
    """One light as it stood. `dial` is None where nothing is known of its range; `power_stops` None is unknown.

    `slope` is what one marked stop of this head gives, as read off `slope_from` changes of its power; `recycle_s` how
    long it recycles at full, which lasts at any power; None where that is unknown."""

    letter: str
    name: str
    lit: bool
    power_stops: float | None
    dial: PowerDial | None
    distance_mm: float | None = None
    source: sources.Source = sources.Point()
    kind: Literal["flash", "continuous"] = "flash"
    head_key: str = ""
    modifier: Filters = Filters()
    filters: Filters = Filters()
    slope: float = 1.0
    slope_from: int = 0
    recycle_s: float | None = None
    shines_on: ShinesOn = "subject"


@dataclass(frozen=True, slots=True)
class Exposure:
    """One frame's exposure. A value that is None is unknown; `magnification` 0 is a distant subject."""

    f_number: Marked | None
    shutter: Marked | None
    iso: Marked | None
    lights: tuple[LightState, ...]
    lens_filters: Filters = Filters()
    magnification: float | None = 0.0
    pupil_ratio: float = 1.0
    pops: int = 1

    def light(self, letter: str) -> LightState | None:
        return next((light for light in self.lights if light.letter == letter), None)

    @property
    def lit_flashes(self) -> tuple[LightState, ...]:
        return tuple(light for light in self.lights if light.lit and light.kind == "flash")


def exposure_of(set_up: SetUp) -> Exposure:
    """The exposure of a set-up."""
    return Exposure(
        f_number=set_up.f_number,
        shutter=set_up.shutter,
        iso=set_up.iso,
        lights=tuple(_light_state(light) for light in set_up.lights),
        lens_filters=_filters(set_up.lens_filters),
        magnification=set_up.magnification,
        pupil_ratio=set_up.lens.pupil_ratio,
        pops=set_up.pops,
    )


def _light_state(light: StandingLight) -> LightState:
    modifier = light.modifier
    return LightState(
        letter=light.letter,
        name=light.name,
        lit=light.lit,
        power_stops=light.power_stops,
        dial=light.head.dial,
        distance_mm=light.distance_mm,
        source=light.face.source(),
        kind=light.head.kind,
        head_key=light.head.id,
        modifier=Filters((modifier.id,), modifier.loss_stops, (modifier.name,)) if modifier else Filters(),
        filters=_filters(light.filters),
        slope=light.head.learned_slope,
        slope_from=light.head.learned_from,
        recycle_s=light.head.recycle_s,
        shines_on=light.shines_on,
    )


def _filters(fitted: tuple[FilterFigures, ...]) -> Filters:
    losses = [each.loss_stops for each in fitted]
    return Filters(
        key=tuple(sorted(each.id for each in fitted)),
        loss_stops=None if None in losses else sum(loss for loss in losses if loss is not None),
        names=tuple(each.name for each in fitted),
        learned_from=max((each.learned_from for each in fitted), default=0),
    )


def counted(names: Sequence[str]) -> list[str]:
    """Several of the same sheet are one line: "3 × ND 0.6"."""
    return [name if names.count(name) == 1 else f"{names.count(name)} × {name}" for name in dict.fromkeys(names)]

"""The set-up as it stands, or as a frame froze it: camera settings, and every light with its state.

Frozen values. A set-up copies the figures of the kit in use, so that editing or retiring kit never changes an
old frame. Power is in stops below full, lengths in millimetres; None is *unknown*, and never zero.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal, get_args

from webapp.optics import sources
from webapp.optics.scales import Dial, Marked
from webapp.plan.positions import HeldBy, Position, Thing
from webapp.quantities.powers import Marking, PowerDial

DISTANT_SUBJECT = 0.0
ShinesOn = Literal["subject", "panel", "background", "card"]
"""What a light is turned to. A panel is shone through, a card sends the light back."""
SHONE_ON: Final[tuple[ShinesOn, ...]] = get_args(ShinesOn)


@dataclass(frozen=True, slots=True)
class CameraFigures:
    """What the ledger needs of a camera. `sync_tv` is the sync speed on the shutter scale, in stops."""

    id: str
    name: str
    sensor_width_mm: float
    sensor_height_mm: float
    width_px: int
    height_px: int
    sync_mark: str | None
    sync_tv: float | None
    lowest_iso: float
    highest_iso: float
    shutter_dial: Dial = Dial.THIRD
    iso_dial: Dial = Dial.THIRD

    @property
    def pixel_pitch_um(self) -> float:
        return 1000.0 * self.sensor_width_mm / self.width_px


@dataclass(frozen=True, slots=True)
class LensFigures:
    """What the ledger needs of a lens. `records` says which f-number its camera writes into the file."""

    id: str
    name: str
    shortest_focal_mm: float
    longest_focal_mm: float
    widest_f_number: float
    smallest_f_number: float
    greatest_magnification: float | None
    pupil_ratio: float = 1.0
    f_number_dial: Dial = Dial.THIRD
    records: Literal["marked", "effective"] = "marked"


@dataclass(frozen=True, slots=True)
class FilterFigures:
    """A filter, gel, diffusing sheet or polariser. `loss_stops` is positive; None is unknown. Of a polariser that stands
    crossed to others, `learned_from` is how many readings its loss was learned from; 0 where it is the kit's."""

    id: str
    name: str
    kind: str
    loss_stops: float | None
    shift_mired: float = 0.0
    learned_from: int = 0


@dataclass(frozen=True, slots=True)
class EmittingFigures:
    """The face that the light leaves from. A disc has one diameter (`width_mm`); a ring also its hole."""

    shape: Literal["point", "disc", "ring", "rectangle"] = "point"
    width_mm: float | None = None
    height_mm: float | None = None
    inner_diameter_mm: float | None = None

    def source(self) -> sources.Source:
        """The same as an optical source."""
        if self.shape == "disc" and self.width_mm:
            return sources.Disc(self.width_mm)
        if self.shape == "ring" and self.width_mm:
            return sources.Ring(self.width_mm, self.inner_diameter_mm or 0.0)
        if self.shape == "rectangle" and self.width_mm and self.height_mm:
            return sources.Rectangle(self.width_mm, self.height_mm)
        return sources.Point()

    @property
    def largest_mm(self) -> float | None:
        return max((size for size in (self.width_mm, self.height_mm) if size), default=None)


@dataclass(frozen=True, slots=True)
class ModifierFigures:
    """What the ledger needs of a modifier. `cutoff_deg` is the angle off its axis from which a grid or snoot lets nothing
    through; None has none, or nobody said it."""

    id: str
    name: str
    loss_stops: float | None
    face: EmittingFigures = EmittingFigures()
    diffuses: bool = False
    cutoff_deg: float | None = None


@dataclass(frozen=True, slots=True)
class HeadFigures:
    """What the ledger needs of a light. `learned_slope` is what one marked stop of it gives, as read off
    `learned_from` changes of power; 1 until enough have been read. `spread_stops` is the standard deviation of its
    runs. `guide_number_m` holds at ISO 100 and full energy, with the modifier called `guide_reflector`, or with none."""

    id: str
    name: str
    kind: Literal["flash", "continuous"]
    form: Literal["head", "ring"]
    full_energy_j: float | None
    lowest_power_stops: float
    step_stops: float
    marking: Marking = Marking.FRACTION
    full_number: float = 10.0
    stops_per_number: float = 1.0
    face: EmittingFigures = EmittingFigures()
    recycle_s: float | None = None
    t_half_s: float | None = None
    kelvin: float | None = None
    learned_slope: float = 1.0
    learned_from: int = 0
    spread_stops: float | None = None
    guide_number_m: float | None = None
    guide_reflector: str = ""

    @property
    def dial(self) -> PowerDial:
        return PowerDial(
            self.lowest_power_stops,
            self.step_stops,
            self.marking,
            self.full_energy_j,
            self.full_number,
            self.stops_per_number,
        )


Piece = CameraFigures | LensFigures | HeadFigures | ModifierFigures | FilterFigures
"""A piece of kit, by the figures that a set-up copies."""


@dataclass(frozen=True, slots=True)
class IncidentReading:
    """What a meter read at the subject with this light and modifier alone, at ISO 100."""

    av: float
    mark: str
    power_stops: float
    distance_mm: float


@dataclass(frozen=True, slots=True)
class Light:
    """One light of the set. Off keeps its settings. `distance_mm` is that to what it shines on, and a position's `aim` is
    the place of that; what a meter read at the subject holds for a light that shines on the subject alone."""

    letter: str
    role: str
    head: HeadFigures
    modifier: ModifierFigures | None = None
    filters: tuple[FilterFigures, ...] = ()
    lit: bool = True
    modelling_lamp: bool = False
    power_stops: float | None = None
    distance_mm: float | None = None
    incident: IncidentReading | None = None
    intended_stops: float = 0.0
    position: Position | None = None
    shines_on: ShinesOn = "subject"
    held_by: HeldBy = "not said"

    @property
    def name(self) -> str:
        """As the page calls it: "key A"."""
        return f"{self.role} {self.letter}".strip()

    @property
    def face(self) -> EmittingFigures:
        """What the light leaves from: the modifier where one is fitted, else the head itself."""
        return self.modifier.face if self.modifier is not None else self.head.face

    @property
    def is_direct(self) -> bool:
        """Whether it shines on the subject, with nothing that turns or scatters its light on the way."""
        return self.shines_on == "subject"

    @property
    def guide_holds(self) -> bool:
        """Whether the head's guide number is stated for what is on it."""
        return self.modifier is None or self.modifier.name.casefold() == self.head.guide_reflector.casefold()

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """The kit that it is made of."""
        return (self.head, *((self.modifier,) if self.modifier is not None else ()), *self.filters)

    def power_mark(self, stops: float | None = None) -> str:
        place = self.power_stops if stops is None else stops
        return "unknown" if place is None else self.head.dial.mark(place)


@dataclass(frozen=True, slots=True)
class SetUp:
    """Camera settings and lights. `magnification` 0 is a distant subject, None unknown.

    `magnification_estimated` marks one that was worked out from a distance; `carried` has the paths of the figures
    that came over from another session or a recipe, and that nobody has said since.
    """

    camera: CameraFigures
    lens: LensFigures
    f_number: Marked | None = None
    shutter: Marked | None = None
    iso: Marked | None = None
    focal_length_mm: float | None = None
    magnification: float | None = DISTANT_SUBJECT
    magnification_estimated: bool = False
    subject_distance_mm: float | None = None
    lens_filters: tuple[FilterFigures, ...] = ()
    pops: int = 1
    lights: tuple[Light, ...] = ()
    things: tuple[Thing, ...] = ()
    carried: tuple[str, ...] = ()

    def light(self, letter: str) -> Light | None:
        """The light with this letter, or None where there is none."""
        return next((light for light in self.lights if light.letter == letter), None)

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """All the kit that it is made of."""
        of_lights = (piece for light in self.lights for piece in light.pieces)
        return (self.camera, self.lens, *self.lens_filters, *of_lights)

    def with_light(self, changed: Light) -> SetUp:
        """The same set with one light exchanged for its changed self."""
        return replace(
            self, lights=tuple(changed if light.letter == changed.letter else light for light in self.lights)
        )

    @property
    def is_dark(self) -> bool:
        """Whether every flash is off: what an ambient check needs."""
        return not any(light.lit and light.head.kind == "flash" for light in self.lights)


def kit_in(set_up: SetUp) -> tuple[str, ...]:
    """The ids of the kit that a set-up holds, each once."""
    return tuple(dict.fromkeys(piece.id for piece in set_up.pieces))

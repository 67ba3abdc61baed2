"""A recipe as it is published: fixed, versioned, and readable in ten years with a text editor.

The models here are the one description of the document; static/recipe.schema.json is written from them, and a
bundle is checked against the same limits on its way in. Lengths are millimetres, energies joules, angles degrees,
power stops below full; None is *unknown*, and never zero. What travels between kits is each light's incident reading
and angular size: joules rank only the settings of one head.
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Final, Literal, Self, get_args

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints, model_validator

from webapp.optics import macro
from webapp.plan.positions import HeldBy
from webapp.quantities.places import Known, read_known

FORMAT: Final = "stopledger-recipe/3"
"""Since 2 a document has places, things, patches and the ambient margin; since 3 its steps have a subject, a check and
what to look for, and its history has frames. An older one is read as one of 3, with what it does not say unknown."""
_OLDER_FORMATS: Final = ("stopledger-recipe/1", "stopledger-recipe/2")

# Text is text: no markup, and no control characters but line breaks and tabs. Written as a pattern so that the
# published schema says the same.
_CONTROL = r"\x00-\x08\x0b\x0c\x0e-\x1f\x7f"
PLAIN_TEXT = rf"^(?:[^<{_CONTROL}]|<+[^A-Za-z/!?<{_CONTROL}])*<*$"

Name = Annotated[str, StringConstraints(max_length=200, pattern=PLAIN_TEXT)]
LONGEST_LINE = 600
Line = Annotated[str, StringConstraints(max_length=LONGEST_LINE, pattern=PLAIN_TEXT)]
Words = Annotated[str, StringConstraints(max_length=8000, pattern=PLAIN_TEXT)]
Term = Annotated[str, StringConstraints(min_length=1, max_length=60, pattern=PLAIN_TEXT)]
Terms = Annotated[tuple[Term, ...], Field(max_length=30)]
Digest = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
Stops = Annotated[float, Field(ge=-60.0, le=60.0)]
Length = Annotated[float, Field(gt=0.0, le=1e6)]
Fraction = Annotated[float, Field(ge=0.0, le=1.0)]
Coordinate = Annotated[float, Field(ge=-1e5, le=1e5)]

Direction = Literal["on the lens axis", "front", "side", "back", "top", "below"]
DIRECTIONS: Final[tuple[Direction, ...]] = get_args(Direction)
ShinesOn = Literal["subject", "panel", "background", "card"]
Scale = Literal["full", "half", "third", "tenth"]


class Part(BaseModel):
    """What all parts have: fixed once made, nothing unknown in them, no number that is none."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    @classmethod
    def of(cls, value: object) -> Self:
        """A value of the ledger as it goes into the document: what has the same name in both."""
        return cls.model_validate(value, from_attributes=True)


class Setting(Part):
    """A mark of a dial and its place on the scale, in stops; the exact value follows from the place."""

    text: Name
    stops: Stops
    dial: Scale | None = None


class CameraPart(Part):
    """What matters of the camera."""

    name: Name
    sensor_width_mm: Length
    sensor_height_mm: Length
    width_px: Annotated[int, Field(gt=0, le=100_000)]
    height_px: Annotated[int, Field(gt=0, le=100_000)]
    sync_mark: Name | None = None
    sync_tv: Stops | None = None
    lowest_iso: Annotated[float, Field(gt=0, le=1e7)]
    highest_iso: Annotated[float, Field(gt=0, le=1e7)]


class LensPart(Part):
    """What matters of the lens."""

    name: Name
    shortest_focal_mm: Length
    longest_focal_mm: Length
    widest_f_number: Annotated[float, Field(gt=0, le=1000)]
    smallest_f_number: Annotated[float, Field(gt=0, le=1000)]
    greatest_magnification: Annotated[float, Field(gt=0, le=100)] | None = None
    pupil_ratio: Annotated[float, Field(gt=0, le=10)] = 1.0


class FilterPart(Part):
    """A filter, gel, diffusing sheet or polariser."""

    name: Name
    kind: Name
    loss_stops: Stops | None = None
    shift_mired: Annotated[float, Field(ge=-1000, le=1000)] = 0.0


class HeadPart(Part):
    """A light's own figures: its range and its dial."""

    name: Name
    kind: Literal["flash", "continuous"]
    form: Literal["head", "ring"]
    full_energy_j: Annotated[float, Field(gt=0, le=1e6)] | None = None
    lowest_power_stops: Stops
    step_stops: Annotated[float, Field(gt=0, le=4)]
    marking: Literal["fraction", "joules", "numbered"] = "fraction"
    full_number: Annotated[float, Field(ge=-1000, le=1000)] = 10.0
    stops_per_number: Annotated[float, Field(gt=0, le=100)] = 1.0


class PlacePart(Part):
    """A place from the middle of the subject: x to the right as the camera sees it, y away from the camera along the
    lens axis, z up."""

    x_mm: Coordinate = 0.0
    y_mm: Coordinate = 0.0
    z_mm: Coordinate = 0.0


class PositionPart(Part):
    """Where something stands, what it is turned towards, and how well that is known."""

    at: PlacePart
    aim: PlacePart = PlacePart()
    known: Literal["taped", "planned", "carried over", "estimated", "unknown", "measured"] = "estimated"

    @property
    def known_as(self) -> Known:
        """How well it is known, by its present name: "measured" stands in older documents for "taped"."""
        return read_known(self.known)

    @property
    def is_taped(self) -> bool:
        return self.known_as == "taped"


class ThingPart(Part):
    """What stands on the set beside the lights. `turned_deg` turns the subject about the upright, `tilted_deg`
    leans it back."""

    id: Term
    kind: Literal["camera", "subject", "flag", "reflector", "background", "table"]
    position: PositionPart
    width_mm: Annotated[float, Field(ge=0, le=1e6)]
    height_mm: Annotated[float, Field(ge=0, le=1e6)]
    depth_mm: Annotated[float, Field(ge=0, le=1e6)] = 0.0
    turned_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    tilted_deg: Annotated[float, Field(ge=-90, le=90)] = 0.0
    held_by: HeldBy = "not said"


class AmbientPart(Part):
    """How far the room's light lies below the wanted level of a patch at these settings, by a frame with every flash
    off. `at_least`: the patch could not be told from black, and the margin is a bound. `by_eye`: the eye judged that
    frame, and no file was measured."""

    margin_stops: Stops
    at_least: bool = False
    patch: Name
    by_eye: bool = False


class SharePart(Part):
    """How much of a patch's light came from one light."""

    letter: Annotated[str, StringConstraints(min_length=1, max_length=3, pattern=PLAIN_TEXT)]
    share: Fraction


class PatchPart(Part):
    """A named place in the result, in fractions of the upright picture from its top left, with the level it ought to
    have and the one it had, in stops about mid-tone. `read_stops` None: not measured, or not to be told from black.
    `kind` is that of the file, or "eye".
    `shares` are of the lit lights, in that frame; a light that is not named is unknown."""

    name: Annotated[str, StringConstraints(min_length=1, max_length=40, pattern=PLAIN_TEXT)]
    x: Annotated[float, Field(ge=-1, le=1)]
    y: Annotated[float, Field(ge=-1, le=1)]
    width: Annotated[float, Field(gt=0, le=2)]
    height: Annotated[float, Field(gt=0, le=2)]
    wanted_stops: Annotated[float, Field(ge=-12, le=6)] = 0.0
    bearing_deg: Annotated[float, Field(ge=-180, le=180)] | None = Field(
        None, description="where its face of the subject points; 0 is towards the camera, + to its right"
    )
    elevation_deg: Annotated[float, Field(ge=-90, le=90)] | None = None
    kind: Name = ""
    read_stops: Stops | None = None
    tolerance_stops: Annotated[float, Field(ge=0, le=20)] | None = None
    estimated: bool = False
    red_over_blue_stops: Stops | None = None
    shares: Annotated[tuple[SharePart, ...], Field(max_length=40)] = ()


class LightPart(Part):
    """One light: where it stands, how large it looks, and what a meter reads with it alone."""

    letter: Annotated[str, StringConstraints(min_length=1, max_length=3, pattern=PLAIN_TEXT)]
    role: Name = ""
    head: HeadPart
    modifier: Name | None = None
    modifier_loss_stops: Stops | None = None
    modifier_diffuses: bool = False
    modifier_cutoff_deg: Annotated[float, Field(gt=0, lt=90)] | None = Field(
        None, description="of a grid or snoot: the angle off its axis from which nothing comes through"
    )
    shape: Literal["point", "disc", "ring", "rectangle"] = "point"
    width_mm: Length | None = None
    height_mm: Length | None = None
    inner_diameter_mm: Annotated[float, Field(ge=0, le=1e6)] | None = None
    filters: Annotated[tuple[FilterPart, ...], Field(max_length=12)] = ()
    lit: bool = True
    modelling_lamp: bool = False
    power_stops: Stops | None = None
    power_mark: Name = "unknown"
    energy_j: Annotated[float, Field(gt=0, le=1e6)] | None = None
    shines_on: ShinesOn = "subject"
    held_by: HeldBy = "not said"
    distance_mm: Length | None = Field(None, description="from its face to what it shines on")
    direction: Direction | None = None
    position: PositionPart | None = None
    angular_size_deg: Annotated[float, Field(gt=0, lt=180)] | None = None
    incident_av: Stops | None = Field(None, description="2 log2 of the f-number metered at ISO 100, as it stands")
    metered_here: bool = Field(
        False, description="whether that rests on a reading taken on this set; else on one in the kit, carried over"
    )
    from_key_stops: Stops | None = None

    @property
    def name(self) -> str:
        """As it is called on the set: "key A"."""
        return f"{self.role} {self.letter}".strip()


class SettingsPart(Part):
    """The camera as it stood. `magnification` 0 is a distant subject."""

    f_number: Setting | None = None
    shutter: Setting | None = None
    iso: Setting | None = None
    focal_length_mm: Length | None = None
    magnification: Annotated[float, Field(ge=0, le=100)] | None = None
    magnification_estimated: bool = False
    subject_distance_mm: Length | None = None
    carried: Annotated[tuple[Name, ...], Field(max_length=60)] = Field(
        default=(),
        description="figures carried over from another set: magnification, subject_distance, lights.A.distance",
    )
    upright: bool | None = Field(default=None, description="whether the picture is taller than it is wide")
    pops: Annotated[int, Field(ge=1, le=10_000)] = 1
    lens_filters: Annotated[tuple[FilterPart, ...], Field(max_length=12)] = ()
    wanted_depth_mm: Length | None = None
    stack_frames: Annotated[int, Field(ge=2, le=100_000)] | None = None
    stack_step_mm: Length | None = None

    def distance_is_carried(self, letter: str) -> bool:
        """Whether the distance of a light was carried over from another set."""
        return f"lights.{letter}.distance" in self.carried


class Tolerance(Part):
    """How closely one thing has to be met for the recipe to hold."""

    what: Name
    within: Annotated[float, Field(gt=0, le=1e6)]
    unit: Name


class GivenPart(Part):
    """A number put into a formula."""

    symbol: Name
    meaning: Name
    value: float | None
    unit: Name


class WorkingPart(Part):
    """The formula behind a figure, with its numbers and its source."""

    result: Line
    value: float | None
    unit: Name
    formula: Line
    latex: Line
    given: Annotated[tuple[GivenPart, ...], Field(max_length=20)]
    assumptions: Annotated[tuple[Line, ...], Field(max_length=20)] = ()
    source: Name


StepAbout = Literal["subject", "camera", "background", "room", "light", "card", "stack", "together", "other"]


class StepPart(Part):
    """One step of building the set: what to do, what shows that it is right, and what to look for where it is not.
    `whose` is the letter of a light or the id of a thing, "" for the whole. `drafted`: in the words of the program, which
    say nothing but the figures of the document; else somebody wrote it."""

    about: StepAbout = "other"
    whose: Name = ""
    words: Line
    check: Line = ""
    otherwise: Line = ""
    drafted: bool = False

    @model_validator(mode="before")
    @classmethod
    def _of_a_line(cls, said: Any) -> Any:
        """Before 3 a step was a line."""
        return {"words": said} if isinstance(said, str) else said


class ChangePart(Part):
    """One step of how the picture was found: the frame, or the first and the last of a series, what was changed since
    the one before and what it did, and what was learned of it."""

    first_frame: Annotated[int, Field(ge=1, le=10_000_000)] | None = None
    last_frame: Annotated[int, Field(ge=1, le=10_000_000)] | None = None
    words: Line
    learned: Line = ""

    @model_validator(mode="before")
    @classmethod
    def _of_a_line(cls, said: Any) -> Any:
        """Before 3 it was a line."""
        return {"words": said} if isinstance(said, str) else said


class PostStep(Part):
    """One step after the camera, with its reason. A crop is a rectangle in fractions of the upright picture, after the
    rotation (clockwise positive). `words` name the profile, the clean-up, the file and its colours. Since 3 there are
    white balance, profile and delivered size."""

    kind: Literal[
        "white balance", "profile", "rotation", "crop", "spotting", "edge clean-up", "delivered size", "other"
    ]
    reason: Line = ""
    words: Line = ""
    rotation_deg: Annotated[float, Field(ge=-180, le=180)] | None = None
    kelvin: Annotated[float, Field(ge=1000, le=40_000)] | None = None
    width_px: Annotated[int, Field(gt=0, le=1_000_000)] | None = None
    height_px: Annotated[int, Field(gt=0, le=1_000_000)] | None = None
    left: Fraction | None = None
    top: Fraction | None = None
    right: Fraction | None = None
    bottom: Fraction | None = None


class PicturePart(Part):
    """A picture, by the SHA-256 of the JPEG that was made of it without metadata."""

    digest: Digest
    words: Line = ""


def _present_format(said: Any) -> Any:
    return FORMAT if said in _OLDER_FORMATS else said


class Recipe(Part):
    """The whole document."""

    format: Annotated[Literal["stopledger-recipe/3"], BeforeValidator(_present_format)] = Field(
        default=FORMAT,
        description="What goes out is always written so; documents of stopledger-recipe/1 and /2, whose steps and "
        "changes are lines, are read as well.",
    )
    title: Annotated[str, StringConstraints(min_length=1, max_length=200, pattern=PLAIN_TEXT)]
    subject: Line = ""
    subject_types: Terms = ()
    surfaces: Terms = ()
    looks: Terms = ()
    tags: Terms = ()
    background: Line = ""
    why: Words = ""
    made_on: dt.date
    camera: CameraPart | None = None
    lens: LensPart | None = None
    settings: SettingsPart = SettingsPart()
    lights: Annotated[tuple[LightPart, ...], Field(max_length=40)] = ()
    things: Annotated[tuple[ThingPart, ...], Field(max_length=100)] = ()
    ambient: AmbientPart | None = None
    patches: Annotated[tuple[PatchPart, ...], Field(max_length=40)] = ()
    steps: Annotated[tuple[StepPart, ...], Field(max_length=200)] = ()
    changes: Annotated[tuple[ChangePart, ...], Field(max_length=500)] = ()
    ratios: Annotated[tuple[Line, ...], Field(max_length=40)] = ()
    tolerances: Annotated[tuple[Tolerance, ...], Field(max_length=40)] = ()
    workings: Annotated[tuple[WorkingPart, ...], Field(max_length=100)] = ()
    post: Annotated[tuple[PostStep, ...], Field(max_length=60)] = ()
    result: PicturePart | None = None
    comparisons: Annotated[tuple[PicturePart, ...], Field(max_length=40)] = ()
    cautions: Annotated[tuple[Line, ...], Field(max_length=40)] = ()
    not_measured: Annotated[tuple[Name, ...], Field(max_length=60)] = ()
    open: Annotated[tuple[Line, ...], Field(max_length=100)] = Field(
        default=(),
        description="what contradicts itself or is doubted, as it was stated when the version was published",
    )

    @property
    def lit(self) -> tuple[LightPart, ...]:
        return tuple(light for light in self.lights if light.lit)

    @property
    def pictures(self) -> tuple[PicturePart, ...]:
        """Every picture that the document refers to, the result first."""
        return (*((self.result,) if self.result else ()), *self.comparisons)

    @property
    def f_number(self) -> float | None:
        """The exact f-number behind the mark."""
        return None if self.settings.f_number is None else 2.0 ** (self.settings.f_number.stops / 2)

    @property
    def effective_f_number(self) -> float | None:
        """None where the f-number or the magnification is unknown."""
        if self.f_number is None or self.settings.magnification is None:
            return None
        pupil = self.lens.pupil_ratio if self.lens else 1.0
        return macro.effective_f_number(self.f_number, self.settings.magnification, pupil)

    @property
    def field_mm(self) -> tuple[float, float] | None:
        """Width and height of the field at the subject; None for a distant or an unknown one."""
        if self.camera is None or not self.settings.magnification:
            return None
        m = self.settings.magnification
        return self.camera.sensor_width_mm / m, self.camera.sensor_height_mm / m

    @property
    def field_seen_mm(self) -> tuple[float, float] | None:
        """The same as the camera was turned, where the picture tells."""
        if self.field_mm is None or self.settings.upright is None:
            return self.field_mm
        longer, shorter = max(self.field_mm), min(self.field_mm)
        return (shorter, longer) if self.settings.upright else (longer, shorter)

    @property
    def energy_j(self) -> float | None:
        """What the lit lights take together; None where one of them is unknown."""
        energies = [light.energy_j for light in self.lit]
        return None if not energies or None in energies else sum(each for each in energies if each is not None)


def unknown_of(what: str, letter: str) -> str:
    """How `not_measured` names what nobody knows of a light: "power of B"."""
    return f"{what} of {letter}"


def unknown_what(not_measured: str) -> str:
    """The figure that an entry of `not_measured` is about, whichever light it is of: "power"."""
    return not_measured.partition(" of ")[0]


def letter_of(not_measured: str) -> str:
    """The light that an entry of `not_measured` is about; "" where it is about none."""
    return not_measured.partition(" of ")[2]


def read_recipe(text: str | bytes) -> Recipe:
    """A stored document."""
    return Recipe.model_validate_json(text)


def recipe_json(recipe: Recipe) -> str:
    """The document as it is stored and carried away: indented, for a reader with a text editor."""
    return recipe.model_dump_json(indent=1)

"""What follows from where the lights stand: shares, ratios, evenness, softness, shadows, reflections and flare.

A light's level comes from its incident reading, scaled by what has changed since: power, filters, distance by the
law of its face, and the slope on which it falls on the subject. Stored energy ranks the settings of one head only, so
without a reading a level stays unknown. The slope of the subject is square to the lens unless the subject is turned.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from webapp.optics import exposure, shadows, sources
from webapp.optics.sources import Point, Ring, Source
from webapp.optics.working import Relation, Step, Symbol
from webapp.plan.illumination import (
    Blocker,
    Face,
    Floats,
    blocker_of,
    face_of,
    facing,
    hidden_share,
    outline,
    per_intensity,
    vector,
)
from webapp.plan.positions import ORIGIN, Place, Position, Thing

ASSUMED_CAMERA: Final = Place(0.0, -1000.0, 0.0)
ASSUMED_SUBJECT_MM: Final = 100.0
"""Where nothing is said of the camera or the subject, the page says that it is assumed."""
_MAP_PLACES: Final = 13
_FLARE_MARGIN_DEG: Final = 30.0
"""Common practice: beyond this outside the picture's corner a hood deals with it."""
_AIM_CONE_DEG: Final = 60.0
_LEAST_OVERLAP: Final = 0.5
_UNKNOWN_AT_MM: Final = 1.0

LEVEL: Final = Relation(
    result="level at the subject, as the f-number of a meter at ISO 100, in stops above f/1",
    unit="",
    formula="A = A_m + Δp − F + log2(e / e_m)",
    latex=r"A = A_m + \Delta p - F + \log_2 \frac{e}{e_m}",
    symbols=(
        Symbol("A_m", "meter reading, in stops above f/1", ""),
        Symbol("Δp", "power against that at the reading", "stops"),
        Symbol("F", "filters on the light", "stops"),
        Symbol("e", "illuminance per intensity on the slope of the subject", "1/mm²"),
        Symbol("e_m", "illuminance per intensity at the reading, square to the light", "1/mm²"),
    ),
    source="lambert-cosine",
    assumptions=(
        "the meter was held towards the light",
        "the face glows evenly and alike in every forward direction",
    ),
)
SHARE: Final = Relation(
    result="modelled share of the light at the subject",
    unit="",
    formula="s = 2^A / sum of 2^A",
    latex=r"s = \frac{2^{A}}{\sum_i 2^{A_i}}",
    symbols=(Symbol("A", "level of this light", ""), Symbol("sum", "2^A of all lit lights added up", "")),
    source="definition",
    assumptions=("light adds",),
)
KEY_LESS_FILL: Final = Relation(
    result="key less fill",
    unit="stops",
    formula="Δ = A_key − A_fill",
    latex=r"\Delta = A_{key} - A_{fill}",
    symbols=(Symbol("A_key", "level of the key", ""), Symbol("A_fill", "level of the fill", "")),
    source="lighting-ratio",
)
BACKGROUND: Final = Relation(
    result="light on the background against the subject",
    unit="stops",
    formula="Δ = log2(E_b / E_s)",
    latex=r"\Delta = \log_2 \frac{E_b}{E_s}",
    symbols=(
        Symbol("E_b", "light of all lights in the middle of the background", ""),
        Symbol("E_s", "light of all lights on the subject", ""),
    ),
    source="lambert-cosine",
    assumptions=(
        "the subject itself shades nothing",
        "in the light, not in how it comes out: cloth and subject differ",
    ),
)
SHADOW_EDGE: Final = Relation(
    result="penumbra, along the way the shadow falls",
    unit="mm",
    formula="p = spread of q = T + (T − S) (T_n − n_0) / (S_n − T_n) over the edge S of the source",
    latex=r"q = T + (T - S) \frac{T_n - n_0}{S_n - T_n}",
    symbols=(
        Symbol("w", "width of the source", "mm"),
        Symbol("D", "from the source to the place T that throws the shadow", "mm"),
        Symbol("d", "from there to where the shadow falls", "mm"),
    ),
    source="definition",
    assumptions=("similar triangles, through one place of the subject",),
)
SEEN_SHIFT: Final = Relation(
    result="displacement of the shadow as the lens sees it",
    unit="mm",
    formula="x = |q_light − q_lens|",
    latex=r"x = \left| q_{light} - q_{lens} \right|",
    symbols=(
        Symbol("a", "the light's offset from the line through lens and subject", "mm"),
        Symbol("D", "from the light to the subject", "mm"),
        Symbol("d", "from the subject to the background", "mm"),
    ),
    source="definition",
    assumptions=("similar triangles, through the middle of the subject", "nothing on the lens axis"),
)
RING_FILLS_IN: Final = Relation(
    result="distance from which the middle of a ring's light is no dark spot",
    unit="mm",
    formula="d = √((R_o² − k R_i²) / (k − 1)), k = (R_o/R_i)^(2/3)",
    latex=r"d = \sqrt{\frac{R_o^2 - k R_i^2}{k - 1}}, \quad k = \left( \frac{R_o}{R_i} \right)^{2/3}",
    symbols=(Symbol("R_o", "outer radius of the ring", "mm"), Symbol("R_i", "radius of its hole", "mm")),
    source="howell",
    assumptions=("the curvature of the light in the middle changes its sign there",),
)


@dataclass(frozen=True, slots=True)
class Reading:
    """What a meter read with this light alone: f-number in stops above f/1 at ISO 100, and the distance."""

    av: float
    distance_mm: float


@dataclass(frozen=True, slots=True)
class PlanLight:
    """A light as geometry needs it. `power_stops` is against the power at the reading; None is unknown."""

    letter: str
    name: str
    role: str
    lit: bool
    source: Source
    position: Position | None = None
    reading: Reading | None = None
    power_stops: float | None = None
    filter_stops: float | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """A set: its lights and things, the field of the picture at the subject, and what the camera makes of a level.

    `field_mm` is width and height, None where the magnification is unknown or the subject far away.
    `camera_stops` is the level in stops above f/1 that the camera is set for, None where something of it is unknown.
    `lens_at_mm` is the distance of a camera that has no position of its own.
    """

    lights: tuple[PlanLight, ...] = ()
    things: tuple[Thing, ...] = ()
    field_mm: tuple[float, float] | None = None
    camera_stops: float | None = None
    lens_at_mm: float | None = None

    def thing(self, kind: str) -> Thing | None:
        return next((each for each in self.things if each.kind == kind), None)

    @property
    def placed(self) -> tuple[PlanLight, ...]:
        return tuple(light for light in self.lights if light.position is not None)

    @property
    def camera(self) -> Place:
        found = self.thing("camera")
        if found is not None and found.position.at.distance_mm > _UNKNOWN_AT_MM:
            return found.position.at
        return ASSUMED_CAMERA if self.lens_at_mm is None else Place(0.0, -self.lens_at_mm, 0.0)

    @property
    def camera_is_assumed(self) -> bool:
        return self.thing("camera") is None and self.lens_at_mm is None

    @property
    def subject_mm(self) -> tuple[float, float, float]:
        """Width, height and depth of the subject; assumed where nothing is said of it."""
        found = self.thing("subject")
        if found is None:
            return ASSUMED_SUBJECT_MM, ASSUMED_SUBJECT_MM, 0.0
        return found.width_mm, found.height_mm, found.depth_mm

    @property
    def subject_face(self) -> Face:
        """The plane of the subject: square to the lens, unless it is turned about the upright."""
        found = self.thing("subject")
        normal = vector(self.camera) / self.camera.distance_mm
        if found is not None and found.turned_deg:
            angle = math.radians(found.turned_deg)
            cos, sin = math.cos(angle), math.sin(angle)
            normal = np.array([normal[0] * cos - normal[1] * sin, normal[0] * sin + normal[1] * cos, normal[2]])
        return facing(np.zeros(3), normal)

    @property
    def support_z_mm(self) -> float:
        return -self.subject_mm[1] / 2.0 if self.thing("subject") else 0.0

    @property
    def blockers(self) -> tuple[Blocker, ...]:
        kinds = ("flag", "reflector", "camera")
        return tuple(blocker_of(each) for each in self.things if each.kind in kinds and each.width_mm > 0.0)


@dataclass(frozen=True, slots=True)
class Level:
    """The level of a light at the subject in stops above f/1 at ISO 100, or None with the reason in words. A `dark`
    one is known not to reach the face that the lens sees: its share is nothing, which is not unknown."""

    letter: str
    av: float | None
    why: str = ""
    step: Step | None = None
    hidden: float = 0.0
    dark: bool = False


@dataclass(frozen=True, slots=True)
class Shadow:
    """The shadow that one light throws: its soft edge, and where it falls as the lens sees it."""

    letter: str
    on: str
    penumbra_mm: float
    shift_mm: float | None
    halo_mm: tuple[float, float] | None
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Softness:
    """How large a light looks from the subject."""

    letter: str
    across_deg: float
    up_deg: float
    step: Step


@dataclass(frozen=True, slots=True)
class Mirrored:
    """What a flat glossy subject shows of a light or a card: the fraction of it that mirrors the face into the lens,
    and the bearings between which a thing at that distance shows in it."""

    name: str
    fraction: float
    from_deg: float | None
    to_deg: float | None


@dataclass(frozen=True, slots=True, eq=False)
class LightMap:
    """The light over the subject in stops against its middle, row by row from the bottom."""

    width_mm: float
    height_mm: float
    stops: Floats

    @property
    def range_stops(self) -> float:
        return float(self.stops.max() - self.stops.min())


@dataclass(frozen=True, slots=True)
class Ratio:
    key: str
    fill: str
    stops: float
    step: Step


@dataclass(frozen=True, slots=True)
class Caution:
    """Something about a place that will not do, or that has to be looked at."""

    about: str
    text: str


# --- levels and shares ----------------------------------------------------------------------------------------


def level_of(plan: Plan, light: PlanLight, blockers: Sequence[Blocker] | None = None) -> Level:
    """The level of a light on the slope of the subject. Unknown without a position, a reading, a power or a filter's
    loss; and where the light does not reach the subject's face at all."""
    missing = _missing(light)
    if missing:
        return Level(light.letter, None, missing)
    assert light.position is not None
    assert light.reading is not None
    assert light.power_stops is not None
    assert light.filter_stops is not None
    between = plan.blockers if blockers is None else blockers
    here = float(per_intensity(light.source, light.position, np.zeros((1, 3)), plan.subject_face.normal, between)[0])
    at_reading = sources.illuminance_per_intensity(light.source, light.reading.distance_mm)
    hidden = hidden_share(light.source, light.position, ORIGIN, between)
    if here <= 0.0:
        why = f"{light.letter} does not reach the face that the lens sees"
        why += ": something stands between." if hidden > 0.99 else "."
        return Level(light.letter, None, why, None, hidden, dark=True)
    av = light.reading.av + light.power_stops - light.filter_stops + math.log2(here / at_reading)
    assuming = (f"{hidden:.0%} of the face is hidden from the subject",) if hidden > 0.0 else ()
    step = LEVEL.worked(
        av,
        assuming=assuming,
        **{
            "A_m": light.reading.av,
            "Δp": light.power_stops,
            "F": light.filter_stops,
            "e": here,
            "e_m": at_reading,
        },
    )
    return Level(light.letter, av, "", step, hidden)


def _missing(light: PlanLight) -> str:
    if light.position is None or light.position.known == "unknown":
        return f"{light.letter} has no position."
    if light.reading is None:
        return f"{light.letter} has no meter reading; joules rank the settings of one head only."
    if light.power_stops is None:
        return f"The power of {light.letter} is unknown."
    return "" if light.filter_stops is not None else f"What the filters on {light.letter} take is unknown."


def shares(levels: Sequence[Level]) -> dict[str, tuple[float, Step]]:
    """The modelled shares by letter; none where a level is unknown, since every share rests on all of them. A light
    that is known not to reach the subject has none of it."""
    reaching = [each for each in levels if not each.dark]
    known = [(each.letter, each.av) for each in reaching if each.av is not None]
    if not known or len(known) < len(reaching):
        return {}
    found = exposure.shares([av for _, av in known])
    total = sum(2.0**av for _, av in known)
    told = {
        letter: (share, SHARE.worked(share, A=av, sum=total))
        for (letter, av), share in zip(known, found, strict=True)
    }
    nothing = SHARE.worked(0.0, assuming=("none of it reaches the subject",), A=None, sum=total)
    return told | {each.letter: (0.0, nothing) for each in levels if each.dark}


def key_to_fill(plan: Plan, levels: Sequence[Level]) -> Ratio | None:
    """Key less fill, for the first lit light of each role; None where there is no such pair or one is unknown."""
    by_letter = {each.letter: each.av for each in levels}
    pair = [
        next((light.letter for light in plan.lights if light.role == role and light.letter in by_letter), None)
        for role in ("key", "fill")
    ]
    key, fill = pair
    if key is None or fill is None:
        return None
    key_av, fill_av = by_letter[key], by_letter[fill]
    if key_av is None or fill_av is None:
        return None
    return Ratio(key, fill, key_av - fill_av, KEY_LESS_FILL.worked(key_av - fill_av, A_key=key_av, A_fill=fill_av))


def _emission(light: PlanLight) -> float | None:
    """What a light sends per unit of E/I, on the meter's scale; None where something of it is unknown."""
    if _missing(light):
        return None
    assert light.reading is not None
    assert light.power_stops is not None
    assert light.filter_stops is not None
    at_reading = sources.illuminance_per_intensity(light.source, light.reading.distance_mm)
    return float(2.0 ** (light.reading.av + light.power_stops - light.filter_stops) / at_reading)


def emissions(plan: Plan) -> list[tuple[PlanLight, float]] | None:
    """The lit lights with what they send. A single lit light needs no reading to be told relative to itself. None
    where one of several is unknown."""
    lit = [light for light in plan.lights if light.lit]
    found = [(light, _emission(light)) for light in lit]
    if len(lit) == 1 and lit[0].position is not None and found[0][1] is None:
        return [(lit[0], 1.0)]
    known = [(light, value) for light, value in found if value is not None]
    return known if known and len(known) == len(found) else None


def light_at(plan: Plan, sent: Sequence[tuple[PlanLight, float]], places: Floats, normal: Floats) -> Floats:
    """The light of all lights at places of one slope, on the meter's scale."""
    total = np.zeros(len(places))
    for light, value in sent:
        assert light.position is not None
        total += value * per_intensity(light.source, light.position, places, normal, plan.blockers)
    return total


def background_stops(plan: Plan) -> tuple[float, Step] | None:
    """The light in the middle of the background against that on the subject, in stops; None where a lit light is
    unknown, there is no background, or one of the two is dark."""
    background, sent = plan.thing("background"), emissions(plan)
    if background is None or sent is None:
        return None
    face = face_of(background.position)
    there = float(light_at(plan, sent, face.middle[np.newaxis, :], face.normal)[0])
    here = float(light_at(plan, sent, np.zeros((1, 3)), plan.subject_face.normal)[0])
    if there <= 0.0 or here <= 0.0:
        return None
    stops = math.log2(there / here)
    return stops, BACKGROUND.worked(stops, E_b=there, E_s=here)


def evenness(plan: Plan, places_per_side: int = _MAP_PLACES) -> LightMap | None:
    """The light over the plane of the subject against its middle. None where a lit light is unknown or the middle is
    dark; a place in full shadow is told as 20 stops down."""
    sent = emissions(plan)
    if sent is None:
        return None
    width_mm, height_mm, _ = plan.subject_mm
    if height_mm <= 0.0 and plan.thing("subject") is not None:
        height_mm = width_mm
    face = plan.subject_face
    across = np.linspace(-width_mm / 2.0, width_mm / 2.0, places_per_side)
    up = np.linspace(-height_mm / 2.0, height_mm / 2.0, places_per_side)
    grid = (across[np.newaxis, :, np.newaxis] * face.across + up[:, np.newaxis, np.newaxis] * face.up).reshape(-1, 3)
    light = light_at(plan, sent, np.vstack((grid, np.zeros((1, 3)))), face.normal)
    if light[-1] <= 0.0:
        return None
    stops = np.log2(np.maximum(light[:-1] / light[-1], 2.0**-20))
    return LightMap(width_mm, height_mm, stops.reshape(places_per_side, places_per_side))


# --- softness and shadows -------------------------------------------------------------------------------------


def size_mm(source: Source) -> tuple[float, float]:
    """Width and height of a face; nothing for a lamp without size."""
    if isinstance(source, Point):
        return 0.0, 0.0
    if isinstance(source, sources.Rectangle):
        return source.width_mm, source.height_mm
    return source.diameter_mm, source.diameter_mm


def softness(light: PlanLight) -> Softness | None:
    """How large the light looks from the subject; None without a size, or at no distance."""
    if light.position is None or light.position.at.distance_mm < _UNKNOWN_AT_MM or isinstance(light.source, Point):
        return None
    distance_mm = light.position.at.distance_mm
    across, up = (sources.angular_size_deg(size, distance_mm) for size in size_mm(light.source))
    larger_mm = max(size_mm(light.source))
    step = sources.ANGULAR_SIZE.worked(max(across, up), s=larger_mm, d=distance_mm)
    return Softness(light.letter, across, up, step)


def cast(through: Floats, starts: Floats, middle: Floats, normal: Floats) -> Floats | None:
    """Where rays from `starts` through one place meet a plane beyond it; None where one of them does not."""
    ways = through - starts
    along = ways @ normal
    to_plane = (middle - through) @ normal
    with np.errstate(divide="ignore", invalid="ignore"):
        part = to_plane / along
    if not np.all(np.isfinite(part)) or np.any(part <= 0.0):
        return None
    return np.asarray(through + part[:, np.newaxis] * ways)


def shadow(plan: Plan, light: PlanLight, on: str) -> Shadow | None:
    """The shadow of a light on the "support", thrown by the subject's top, or on the "background", thrown by its
    middle. None where there is no such plane, or the light throws none on it."""
    if light.position is None:
        return None
    if on == "support":
        through = np.array([0.0, 0.0, -plan.support_z_mm])
        middle, normal = np.array([0.0, 0.0, plan.support_z_mm]), np.array([0.0, 0.0, 1.0])
        if plan.support_z_mm >= 0.0:
            return None
    else:
        background = plan.thing("background")
        if background is None:
            return None
        face = face_of(background.position)
        through, middle, normal = np.zeros(3), face.middle, face.normal
    face = face_of(light.position)
    landed = cast(through, face.middle[np.newaxis, :], middle, normal)
    if landed is None:
        return None
    edge = cast(through, outline(light.source, face), middle, normal)
    if edge is None:
        return None
    seen = cast(through, vector(plan.camera)[np.newaxis, :], middle, normal)
    shift = None if seen is None else float(np.linalg.norm(landed[0] - seen[0]))
    width, height = size_mm(light.source)
    source_mm = max(width, height)
    from_light, beyond = (
        float(np.linalg.norm(through - face.middle)),
        float(np.linalg.norm(landed[0] - through)),
    )
    penumbra = _spread(edge, landed[0] - (seen[0] if seen is not None else _foot(through, middle, normal)))
    steps = [SHADOW_EDGE.worked(penumbra, w=source_mm, D=from_light, d=beyond)]
    if shift is not None:
        steps.append(SEEN_SHIFT.worked(shift, a=_off_line(face.middle, vector(plan.camera)), D=from_light, d=beyond))
    halo = None
    if on == "background" and isinstance(light.source, Ring) and shift is not None and shift < penumbra / 2.0:
        around = shadows.ring_halo(light.source, from_light, beyond)
        halo = (around.inner_mm, around.outer_mm)
        steps.append(
            shadows.RING_HALO.worked(around.outer_mm, R_o=light.source.diameter_mm / 2.0, D=from_light, d=beyond)
        )
    return Shadow(light.letter, on, penumbra, shift, halo, tuple(steps))


def _spread(places: Floats, direction: Floats) -> float:
    """How far places reach along a direction; without one, at their widest."""
    length = float(np.linalg.norm(direction))
    if length < 1e-6:
        return float(np.max(np.linalg.norm(places - places.mean(axis=0), axis=1)) * 2.0)
    along = places @ (direction / length)
    return float(along.max() - along.min())


def _foot(place: Floats, middle: Floats, normal: Floats) -> Floats:
    return np.asarray(place - ((place - middle) @ normal) * normal)


def _off_line(place: Floats, along: Floats) -> float:
    """How far a place lies from the line through the origin along a direction."""
    unit = along / np.linalg.norm(along)
    return float(np.linalg.norm(place - (place @ unit) * unit))


def ring_fills_in_mm(ring: Ring) -> float:
    """The distance from which the middle of a ring's light is no dark spot: √((R_o² − k R_i²)/(k − 1)) with
    k = (R_o/R_i)^(2/3). For a narrow ring √2 times its radius; 0 without a hole.

    The light beside the axis is 1/2 [..] of the annulus (howell); its second derivative in the middle is
    proportional to R_i²/(d² + R_i²)³ − R_o²/(d² + R_o²)³, and vanishes there.

    >>> round(ring_fills_in_mm(Ring(110.0001, 109.9999)), 1)
    77.8
    """
    if ring.inner_diameter_mm <= 0.0:
        return 0.0
    outer, inner = ring.diameter_mm / 2.0, ring.inner_diameter_mm / 2.0
    if outer - inner < 1e-9 * outer:
        return math.sqrt(2.0) * outer
    k = (outer / inner) ** (2.0 / 3.0)
    return math.sqrt((outer**2 - k * inner**2) / (k - 1.0))


# --- reflections and flare ------------------------------------------------------------------------------------


def mirrored(plan: Plan, name: str, source: Source, position: Position, per_side: int = 15) -> Mirrored:
    """How much of a flat glossy subject mirrors a face into the lens, and between which bearings a thing at this
    distance shows in it at the level of the lens's mirror image."""
    subject = plan.subject_face
    width_mm, height_mm, _ = plan.subject_mm
    across = np.linspace(-width_mm / 2.0, width_mm / 2.0, per_side)
    up = np.linspace(-height_mm / 2.0, height_mm / 2.0, per_side)
    grid = (across[np.newaxis, :, np.newaxis] * subject.across + up[:, np.newaxis, np.newaxis] * subject.up).reshape(
        -1, 3
    )
    camera = vector(plan.camera)
    incoming = grid - camera
    outgoing = incoming - 2.0 * (incoming @ subject.normal)[:, np.newaxis] * subject.normal
    face = face_of(position)
    to_face = (face.middle - grid) @ face.normal
    along = outgoing @ face.normal
    part = np.where(np.abs(along) < 1e-9, -1.0, to_face / np.where(np.abs(along) < 1e-9, 1.0, along))
    hits = grid + part[:, np.newaxis] * outgoing - face.middle
    inside = _inside(source, hits @ face.across, hits @ face.up)
    # A face that is turned away shows its dark back.
    seen = inside & (part > 0.0) & (along < 0.0)
    ends = _family(plan, position.at.distance_mm, camera, subject, width_mm)
    return Mirrored(name, float(np.count_nonzero(seen)) / len(grid), *ends)


def _inside(source: Source, across: Floats, up: Floats) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    if isinstance(source, sources.Rectangle):
        return np.asarray((np.abs(across) <= source.width_mm / 2.0) & (np.abs(up) <= source.height_mm / 2.0))
    squared = across**2 + up**2
    if isinstance(source, Point):
        # A lamp without size shows as a glint where the mirror comes within a centimetre of it.
        return np.asarray(squared <= 10.0**2)
    inner = source.inner_diameter_mm / 2.0 if isinstance(source, Ring) else 0.0
    return np.asarray((squared <= (source.diameter_mm / 2.0) ** 2) & (squared >= inner**2))


def _family(
    plan: Plan, distance_mm: float, camera: Floats, subject: Face, width_mm: float
) -> tuple[float | None, float | None]:
    """The bearings of the places at a distance that the left and right edge of the subject mirror into the lens."""
    if distance_mm < _UNKNOWN_AT_MM:
        return None, None
    found = []
    for side in (-1.0, 1.0):
        edge = side * width_mm / 2.0 * subject.across
        way = edge - camera
        way = way - 2.0 * (way @ subject.normal) * subject.normal
        way = way / np.linalg.norm(way)
        # From the edge along the mirrored way until the distance from the middle is reached.
        half = float(edge @ way)
        root = half**2 - float(edge @ edge) + distance_mm**2
        if root < 0.0:
            return None, None
        end = edge + (math.sqrt(root) - half) * way
        found.append(math.degrees(math.atan2(end[0], -end[1])))
    return min(found), max(found)


def _angle_deg(one: Floats, other: Floats) -> float:
    lengths = float(np.linalg.norm(one) * np.linalg.norm(other))
    return math.degrees(math.acos(max(-1.0, min(1.0, float(one @ other) / lengths)))) if lengths > 1e-9 else 0.0


def _flare(plan: Plan, light: PlanLight) -> Caution | None:
    if light.position is None or light.position.at.distance_mm < _UNKNOWN_AT_MM:
        return None
    camera, face = vector(plan.camera), face_of(light.position)
    edge = outline(light.source, face)
    axis = -camera
    if float(face.normal @ (camera - face.middle)) <= 0.0:
        return None
    off = min(_angle_deg(each - camera, axis) for each in edge)
    half = 0.0
    if plan.field_mm is not None:
        half = math.degrees(math.atan(math.hypot(*plan.field_mm) / 2.0 / plan.camera.distance_mm))
    if float((face.middle - camera) @ axis) <= 0.0:
        return None
    if off <= half:
        return Caution(light.letter, f"{light.letter} stands in the picture and shines into the lens.")
    if off - half <= _FLARE_MARGIN_DEG and half > 0.0:
        return Caution(
            light.letter,
            f"{light.letter} shines into the lens from {off - half:.0f}° outside the picture: shade the lens from it.",
        )
    return None


# --- cautions -------------------------------------------------------------------------------------------------


def cautions(plan: Plan) -> tuple[Caution, ...]:
    """What will not do about the places, in the order of the lights."""
    told: list[Caution] = []
    for light in plan.placed:
        told.extend(_cautions_of(plan, light))
        flare = _flare(plan, light) if light.lit else None
        told.extend([flare] if flare else [])
    told.extend(_overlaps(plan.placed))
    return tuple(told)


def _cautions_of(plan: Plan, light: PlanLight) -> list[Caution]:
    assert light.position is not None
    at, letter = light.position.at, light.letter
    width_mm, height_mm, depth_mm = plan.subject_mm
    if at.distance_mm < _UNKNOWN_AT_MM:
        return [Caution(letter, f"{letter} stands at no distance, in the middle of the subject.")]
    inside = (
        plan.thing("subject") is not None
        and abs(at.x_mm) < width_mm / 2.0
        and abs(at.y_mm) < max(depth_mm / 2.0, _UNKNOWN_AT_MM)
        and abs(at.z_mm) < height_mm / 2.0
    )
    if inside:
        return [Caution(letter, f"{letter} stands inside the subject.")]
    told = []
    face = face_of(light.position)
    off = _angle_deg(-face.middle, face.normal)
    if off >= 90.0:
        told.append(Caution(letter, f"{letter} is aimed away: its face sees nothing of the subject."))
    elif off > _AIM_CONE_DEG:
        told.append(Caution(letter, f"{letter} is aimed {off:.0f}° past the subject."))
    background = plan.thing("background")
    if background is not None:
        behind = face_of(background.position)
        if float((face.middle - behind.middle) @ behind.normal) < 0.0:
            told.append(Caution(letter, f"{letter} stands behind the background."))
    if at.z_mm < plan.support_z_mm - _UNKNOWN_AT_MM and plan.thing("table") is not None and _over_table(plan, at):
        told.append(Caution(letter, f"{letter} stands under the table."))
    hidden = hidden_share(light.source, light.position, ORIGIN, plan.blockers)
    if hidden > 0.01:
        told.append(Caution(letter, f"{hidden:.0%} of {letter} is hidden from the subject by what stands between."))
    if isinstance(light.source, Ring):
        fills = ring_fills_in_mm(light.source)
        if at.distance_mm < fills:
            told.append(
                Caution(
                    letter,
                    f"{letter} stands within {fills / 10:.1f} cm, where the middle of its light is darker.",
                )
            )
    return told


def _over_table(plan: Plan, at: Place) -> bool:
    table = plan.thing("table")
    assert table is not None
    middle = table.position.at
    return abs(at.x_mm - middle.x_mm) < table.width_mm / 2.0 and abs(at.y_mm - middle.y_mm) < table.depth_mm / 2.0


def _overlaps(lights: Sequence[PlanLight]) -> list[Caution]:
    told = []
    for index, one in enumerate(lights):
        for other in lights[index + 1 :]:
            assert one.position is not None
            assert other.position is not None
            apart = one.position.at.from_mm(other.position.at)
            room = _LEAST_OVERLAP * min(max(size_mm(one.source)), max(size_mm(other.source)))
            if apart <= max(room, 10.0):
                told.append(Caution(one.letter, f"{one.letter} and {other.letter} stand in one place."))
    return told


# --- the card behind ------------------------------------------------------------------------------------------


def card_behind(plan: Plan) -> tuple[float, float, Step] | None:
    """The width and height of a card that just fills the view at the background's place, for a glass or dark-field
    subject, with 1 cm on every side. None without a field, a background, or one that stands behind the subject."""
    background = plan.thing("background")
    if plan.field_mm is None or background is None:
        return None
    axis = -vector(plan.camera) / plan.camera.distance_mm
    behind_mm = float(vector(background.position.at) @ axis)
    if behind_mm <= 0.0:
        return None
    distance_mm = plan.camera.distance_mm
    width, height = (shadows.background_card_side_mm(side, distance_mm, behind_mm) for side in plan.field_mm)
    step = shadows.BACKGROUND_CARD.worked(
        max(width, height), F=max(plan.field_mm), u=distance_mm, b=behind_mm, m=10.0
    )
    return width, height, step

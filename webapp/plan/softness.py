"""How soft a light is: how large it looks from the subject, and the shadow that it throws, by similar triangles."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from webapp.optics import shadows, sources
from webapp.optics.arrays import Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.sources import Point, Ring, Source
from webapp.optics.working import Relation, Step, Symbol
from webapp.plan.illumination import face_of, outline, vector
from webapp.plan.staging import UNKNOWN_AT_MM, Plan, PlanLight

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
    assumptions=(Assumption.THROUGH_ONE_PLACE,),
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
    assumptions=(Assumption.THROUGH_MIDDLE, Assumption.NOTHING_ON_LENS_AXIS),
)
RING_FILLS_IN: Final = Relation(
    result="distance from which the middle of a ring's light is no dark spot",
    unit="mm",
    formula="d = √((R_o² − k R_i²) / (k − 1)), k = (R_o/R_i)^(2/3)",
    latex=r"d = \sqrt{\frac{R_o^2 - k R_i^2}{k - 1}}, \quad k = \left( \frac{R_o}{R_i} \right)^{2/3}",
    symbols=(Symbol("R_o", "outer radius of the ring", "mm"), Symbol("R_i", "radius of its hole", "mm")),
    source="howell",
    assumptions=(Assumption.CURVATURE_TURNS,),
)


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


def size_mm(source: Source) -> tuple[float, float]:
    """Width and height of a face; nothing for a lamp without size."""
    if isinstance(source, Point):
        return 0.0, 0.0
    if isinstance(source, sources.Rectangle):
        return source.width_mm, source.height_mm
    return source.diameter_mm, source.diameter_mm


def softness(light: PlanLight) -> Softness | None:
    """How large the light looks from the subject; None without a size, or at no distance."""
    if light.position is None or light.position.at.distance_mm < UNKNOWN_AT_MM or isinstance(light.source, Point):
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

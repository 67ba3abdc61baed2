"""Shadows and reflections: the edge of a shadow, where it falls, and what a glossy subject sees.

Distances along the axis: D from the source to the occluder, d from the occluder to the screen behind it; source,
occluder and screen are parallel. For a flat glossy subject the distances are measured from its centre.

Sources: the shadow relations are similar triangles, the reflections the law of reflection (euclid-catoptrics).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol

_SOURCE_WIDTH = Symbol("w", "width of the source", "mm")
_TO_OCCLUDER = Symbol("D", "distance from the source to the occluder", "mm")
_TO_SCREEN = Symbol("d", "distance from the occluder to the screen", "mm")
_OCCLUDER_WIDTH = Symbol("o", "width of the occluder", "mm")
_PARALLEL: Final = (Assumption.ALL_PARALLEL, Assumption.GLOWS_OVER_WIDTH)

PENUMBRA: Final = Relation(
    result="penumbra at each edge",
    unit="mm",
    formula="p = w d / D",
    latex=r"p = \frac{w d}{D}",
    symbols=(_SOURCE_WIDTH, _TO_OCCLUDER, _TO_SCREEN),
    source="definition",
    assumptions=_PARALLEL,
)
UMBRA: Final = Relation(
    result="umbra",
    unit="mm",
    formula="u = o (1 + d/D) − w d/D, 0 where negative",
    latex=r"u = o \left( 1 + \frac{d}{D} \right) - \frac{w d}{D}",
    symbols=(_SOURCE_WIDTH, _TO_OCCLUDER, _TO_SCREEN, _OCCLUDER_WIDTH),
    source="definition",
    assumptions=_PARALLEL,
)
UMBRA_LENGTH: Final = Relation(
    result="length of the umbra behind the occluder",
    unit="mm",
    formula="l = o D / (w − o), without end where w ≤ o",
    latex=r"l = \frac{o D}{w - o}",
    symbols=(_SOURCE_WIDTH, _TO_OCCLUDER, _OCCLUDER_WIDTH),
    source="definition",
    assumptions=_PARALLEL,
)
DISPLACEMENT: Final = Relation(
    result="displacement of the shadow, away from the light",
    unit="mm",
    formula="x = a d / D",
    latex=r"x = \frac{a d}{D}",
    symbols=(
        Symbol("a", "offset of the light from the normal through the occluder", "mm"),
        _TO_OCCLUDER,
        _TO_SCREEN,
    ),
    source="definition",
    assumptions=(Assumption.SCREEN_SQUARE,),
)
FAMILY_OF_ANGLES_WIDTH: Final = Relation(
    result="width of the family of angles in the plane of the light",
    unit="mm",
    formula="W' = W (D + s) / D",
    latex=r"W' = \frac{W (D + s)}{D}",
    symbols=(
        Symbol("W", "width of the subject", "mm"),
        Symbol("D", "distance from the camera to the subject", "mm"),
        Symbol("s", "distance from the subject to the plane of the light", "mm"),
    ),
    source="euclid-catoptrics",
    assumptions=(Assumption.FLAT_MIRROR_SQUARE,),
)
FAMILY_OF_ANGLES_TILTED: Final = Relation(
    result="width of the family of angles in the plane of the light",
    unit="mm",
    formula="W' = x(W/2) − x(−W/2), x(t) = (s − h(t)) · (t cos a + D sin 2a) / (h(t) + D cos 2a) + t cos a,"
    " h(t) = −t sin a",
    latex=r"W' = x(\tfrac{W}{2}) - x(-\tfrac{W}{2}), \quad x(t) = \frac{(s - h)(t \cos a + D \sin 2a)}"
    r"{h + D \cos 2a} + t \cos a, \quad h = -t \sin a",
    symbols=(
        Symbol("W", "width of the subject", "mm"),
        Symbol("D", "distance from the camera to the subject", "mm"),
        Symbol("s", "distance from the subject to the plane of the light", "mm"),
        Symbol("a", "tilt of the subject", "°"),
    ),
    source="euclid-catoptrics",
    assumptions=(
        Assumption.FLAT_MIRROR,
        Assumption.LIGHT_SQUARE_TO_CAMERA,
    ),
)
FAMILY_OF_ANGLES_CENTRE: Final = Relation(
    result="centre of the family of angles, away from the camera",
    unit="mm",
    formula="x = s tan(2a)",
    latex=r"x = s \tan 2a",
    symbols=(
        Symbol("s", "distance from the subject to the plane of the light", "mm"),
        Symbol("a", "tilt of the subject", "°"),
    ),
    source="euclid-catoptrics",
    assumptions=(
        Assumption.MIRROR_TURNS_TWICE,
        Assumption.LIGHT_SQUARE_TO_CAMERA,
    ),
)
BACKGROUND_CARD: Final = Relation(
    result="side of the background card",
    unit="mm",
    formula="S = F (u + b) / u + 2 m",
    latex=r"S = \frac{F (u + b)}{u} + 2 m",
    symbols=(
        Symbol("F", "side of the field in the subject's plane", "mm"),
        Symbol("u", "distance from the camera to the subject", "mm"),
        Symbol("b", "distance of the card behind the subject", "mm"),
        Symbol("m", "margin on every side", "mm"),
    ),
    source="definition",
    assumptions=(Assumption.FROM_ENTRANCE_PUPIL,),
)


def penumbra_mm(source_width_mm: float, source_distance_mm: float, screen_distance_mm: float) -> float:
    """The soft edge of a shadow, at each side: p = w d/D. It is the same where no full shadow is left.

    `source_distance_mm` D is from the source to the occluder, `screen_distance_mm` d from there to the screen.
    Raises ValueError for lengths out of their domain. Source: definition.

    >>> penumbra_mm(600.0, 1000.0, 100.0)
    60.0
    """
    domain.positive("width of the source", source_width_mm, "mm")
    domain.positive("distance from the source to the occluder", source_distance_mm, "mm")
    domain.positive("distance from the occluder to the screen", screen_distance_mm, "mm")
    return source_width_mm * screen_distance_mm / source_distance_mm


def umbra_mm(
    source_width_mm: float, source_distance_mm: float, screen_distance_mm: float, occluder_width_mm: float
) -> float:
    """The width of the full shadow on the screen: u = o(1 + d/D) − w d/D, and 0 where none is left.

    Distances as for `penumbra_mm`. Raises ValueError for lengths out of their domain. Source: definition.

    >>> round(umbra_mm(600.0, 1000.0, 100.0, 100.0), 6)
    50.0
    """
    domain.positive("width of the occluder", occluder_width_mm, "mm")
    penumbra = penumbra_mm(source_width_mm, source_distance_mm, screen_distance_mm)
    projected = occluder_width_mm * (1.0 + screen_distance_mm / source_distance_mm)
    return max(projected - penumbra, 0.0)


def umbra_length_mm(source_width_mm: float, source_distance_mm: float, occluder_width_mm: float) -> float:
    """How far behind the occluder the full shadow reaches: o D/(w − o); infinite where the source is no wider.

    Raises ValueError for lengths out of their domain. Source: definition.

    >>> umbra_length_mm(600.0, 1000.0, 100.0)
    200.0
    """
    domain.positive("width of the source", source_width_mm, "mm")
    domain.positive("distance from the source to the occluder", source_distance_mm, "mm")
    domain.positive("width of the occluder", occluder_width_mm, "mm")
    if source_width_mm <= occluder_width_mm:
        return math.inf
    return occluder_width_mm * source_distance_mm / (source_width_mm - occluder_width_mm)


def displacement_mm(offset_mm: float, source_distance_mm: float, screen_distance_mm: float) -> float:
    """How far a light beside the axis moves the shadow, away from the light: x = a d/D, never negative.

    `offset_mm` a is the light's, from the normal through the occluder, to either side. Raises ValueError for
    lengths out of their domain. Source: definition.

    >>> round(displacement_mm(500.0, 750.0, 50.0), 3)
    33.333
    """
    domain.not_negative("offset of the light", abs(offset_mm), "mm")
    domain.positive("distance from the source to the occluder", source_distance_mm, "mm")
    domain.positive("distance from the occluder to the screen", screen_distance_mm, "mm")
    return abs(offset_mm) * screen_distance_mm / source_distance_mm


def distant_displacement_mm(screen_distance_mm: float, angle_deg: float) -> float:
    """The same for a light so distant that its rays are parallel: x = d tan θ, θ from the screen's normal.

    Raises ValueError for a length out of its domain and for an angle of 90 degrees or more. Source: definition.

    >>> round(distant_displacement_mm(20.0, 30.0), 3)
    11.547
    """
    domain.positive("distance from the occluder to the screen", screen_distance_mm, "mm")
    if not abs(angle_deg) < 90.0:
        raise ValueError(f"A light at {angle_deg:g}° does not reach the screen; give an angle below 90°.")
    return screen_distance_mm * math.tan(math.radians(abs(angle_deg)))


@dataclass(frozen=True, slots=True)
class FamilyOfAngles:
    """The stretch of the light's plane that a flat glossy subject mirrors into the camera.

    Places run in that plane from the camera's axis; + is away from the camera, towards which the subject is
    tilted. `centre_mm` is what the middle of the subject mirrors; with a tilt it is not midway between the edges.
    """

    from_mm: float
    to_mm: float
    centre_mm: float

    @property
    def width_mm(self) -> float:
        return self.to_mm - self.from_mm


def family_of_angles(
    subject_width_mm: float, camera_distance_mm: float, light_distance_mm: float, tilt_deg: float = 0.0
) -> FamilyOfAngles:
    """Where a light is seen in a flat glossy subject: light it all to make the subject glow, none to make it black.

    Square on, width W(D + s)/D about the axis. Tilted by a, the middle goes to s tan(2a), because a mirror turns
    the reflection by twice its tilt, and the edges follow from the camera's mirror image.
    `camera_distance_mm` D and `light_distance_mm` s are from the middle of the subject; the light's plane is at
    right angles to the camera's axis, on the camera's side. `tilt_deg` is the subject's, from square on, either way.
    Raises ValueError for lengths out of their domain, for a tilt that turns part of the reflection past the
    light's plane (45 degrees at the latest), and for a subject that reaches through that plane.
    Source: euclid-catoptrics.

    >>> family_of_angles(200.0, 1000.0, 1000.0).width_mm
    400.0
    """
    domain.positive("width of the subject", subject_width_mm, "mm")
    domain.positive("distance from the camera", camera_distance_mm, "mm")
    domain.positive("distance to the light", light_distance_mm, "mm")
    if not abs(tilt_deg) < 45.0:
        raise ValueError(
            f"A tilt of {tilt_deg:g}° cannot be used: the reflection turns by twice the tilt, and from 45° on it "
            "never meets a light on the camera's side. Give less than 45°."
        )
    tilt = math.radians(abs(tilt_deg))
    if subject_width_mm / 2.0 * math.sin(tilt) >= light_distance_mm:
        raise ValueError(
            "The tilted subject reaches through the plane of the light; move the light further away or tilt it less."
        )

    def mirrored_mm(along_subject_mm: float) -> float:
        across = along_subject_mm * math.cos(tilt)
        towards_camera = -along_subject_mm * math.sin(tilt)
        from_image = towards_camera + camera_distance_mm * math.cos(2.0 * tilt)
        if from_image <= 0.0:
            raise ValueError(
                f"With a tilt of {tilt_deg:g}° the far edge of the subject turns its reflection past the plane of "
                "the light; tilt it less or move the camera further away."
            )
        slope = (across + camera_distance_mm * math.sin(2.0 * tilt)) / from_image
        return across + (light_distance_mm - towards_camera) * slope

    return FamilyOfAngles(
        from_mm=mirrored_mm(-subject_width_mm / 2.0),
        to_mm=mirrored_mm(subject_width_mm / 2.0),
        centre_mm=mirrored_mm(0.0),
    )


def ball_highlight_mm(ball_radius_mm: float, source_width_mm: float, source_distance_mm: float) -> float:
    """The width of the highlight of a source on a glossy ball, as a distant camera on the source's axis sees it.

    x = 2 r sin φ, where the ball's normal at φ halves the angle between the camera and the source's edge:
    (w/2) cos 2φ + r sin φ = d sin 2φ. `source_distance_mm` d is from the centre of the ball.
    Raises ValueError for lengths out of their domain and for a source that touches the ball.
    Source: euclid-catoptrics.

    >>> round(ball_highlight_mm(10.0, 300.0, 500.0), 3)
    2.932
    """
    _require_ball(ball_radius_mm, source_width_mm, source_distance_mm)
    low, high = 0.0, math.pi / 4.0
    for _ in range(_HALVINGS):
        angle = (low + high) / 2.0
        beyond_edge = source_distance_mm * math.sin(2.0 * angle) - ball_radius_mm * math.sin(angle)
        if beyond_edge < source_width_mm / 2.0 * math.cos(2.0 * angle):
            low = angle
        else:
            high = angle
    return 2.0 * ball_radius_mm * math.sin((low + high) / 2.0)


_HALVINGS: Final = 80


def ball_highlight_paraxial_mm(ball_radius_mm: float, source_width_mm: float, source_distance_mm: float) -> float:
    """The same for a small or distant source: w (r/2)/(d − r/2), the image in a mirror of focal length r/2.

    It comes out a few per cent too large where the source looks large. Raises ValueError as
    `ball_highlight_mm`. Source: hecht.

    >>> round(ball_highlight_paraxial_mm(10.0, 300.0, 500.0), 3)
    3.03
    """
    _require_ball(ball_radius_mm, source_width_mm, source_distance_mm)
    return source_width_mm * ball_radius_mm / 2.0 / (source_distance_mm - ball_radius_mm / 2.0)


def _require_ball(ball_radius_mm: float, source_width_mm: float, source_distance_mm: float) -> None:
    domain.positive("radius of the ball", ball_radius_mm, "mm")
    domain.positive("width of the source", source_width_mm, "mm")
    domain.positive("distance to the source", source_distance_mm, "mm")
    if source_distance_mm <= ball_radius_mm:
        raise ValueError(
            f"A source {source_distance_mm:g} mm from the centre of a ball of {ball_radius_mm:g} mm radius stands "
            "inside it; the distance is counted from the centre and must be larger than the radius."
        )


def background_card_side_mm(
    field_mm: float, camera_distance_mm: float, card_distance_mm: float, margin_mm: float = 10.0
) -> float:
    """The side of a card behind the subject that just fills the view: F(u + b)/u and a margin on every side.

    `field_mm` F is the side of the field in the subject's plane, `camera_distance_mm` u from the entrance pupil to
    the subject, `card_distance_mm` b from there to the card, `margin_mm` added at each of the two edges.
    Raises ValueError for lengths out of their domain and a negative margin. Source: definition.

    >>> round(background_card_side_mm(240.0, 775.0, 350.0, 0.0), 1)
    348.4
    """
    domain.positive("side of the field", field_mm, "mm")
    domain.positive("distance from the camera", camera_distance_mm, "mm")
    domain.positive("distance to the card", card_distance_mm, "mm")
    domain.not_negative("margin around the card", margin_mm, "mm")
    return field_mm * (camera_distance_mm + card_distance_mm) / camera_distance_mm + 2.0 * margin_mm

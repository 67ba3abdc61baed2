"""Depth of field.

A point off the plane of focus throws a disc on the sensor; where the disc is the circle of
confusion (c), the depth ends. Seen from the subject side this is a matter of the entrance pupil alone. Its
diameter is D = f / N, and it stands f (1 - 1/P) *in front of* the front principal plane (behind it for a
telephoto, P below 1), because the exit pupil is its image at magnification P. The plane of focus, u from the
front principal plane, is then s = u - f + f/P = f (1/m + 1/P) from the pupil; a point at x from the pupil throws a
disc of m D |x - s| / x, and with

    r = c / (m D) = N c / (f m)

the limits lie at s / (1 + r) and s / (1 - r) from the pupil; from r = 1 on everything behind is sharp enough.
For P = 1 this is the textbook's near = u (H - f) / (H + u - 2 f), far = u (H - f) / (H - u). The depth between
the limits is 2 s r / (1 - r^2), and what is left of it close up, where r is small, is 2 c N_eff / m^2.
"""

from __future__ import annotations

import math
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.macro import effective_f_number, magnification_at
from webapp.optics.working import Relation, Symbol

DIAGONAL_OVER_CIRCLE_OF_CONFUSION: Final = 1500.0
"""The circle of confusion as a part of the picture's diagonal. Source: circle-of-confusion."""


def circle_of_confusion_mm(sensor_width_mm: float, sensor_height_mm: float) -> float:
    """The usual circle of confusion of a format, in mm: its diagonal over 1500.

    A convention for a print seen whole, not a property of the sensor; 0.03 mm is as usual for 36 x 24 mm. Both
    sides are above 0. Raises ValueError. Source: circle-of-confusion.

    >>> round(circle_of_confusion_mm(36, 24), 5)
    0.02884
    """
    domain.positive("width of the sensor", sensor_width_mm, "mm")
    domain.positive("height of the sensor", sensor_height_mm, "mm")
    return math.hypot(sensor_width_mm, sensor_height_mm) / DIAGONAL_OVER_CIRCLE_OF_CONFUSION


CIRCLE_OF_CONFUSION: Final = Relation(
    result="circle of confusion",
    unit="mm",
    formula="c = sqrt(w² + h²) / 1500",
    latex=r"c = \frac{\sqrt{w^2 + h^2}}{1500}",
    symbols=(Symbol("w", "width of the sensor", "mm"), Symbol("h", "height of the sensor", "mm")),
    source="circle-of-confusion",
    assumptions=(Assumption.PRINT_SEEN_WHOLE,),
)


def hyperfocal_mm(focal_length_mm: float, f_number: float, circle_of_confusion_mm: float) -> float:
    """The nearest distance of focus at which infinity is still sharp enough: H = f^2 / (N c) + f, in mm.

    From the front principal plane, for any pupil magnification. `focal_length_mm` (f), `f_number` (N, the marked
    one) and `circle_of_confusion_mm` (c) are above 0. Raises ValueError. Source: thin-lens-dof.

    >>> round(hyperfocal_mm(25, 16, 0.015), 4)
    2629.1667
    """
    domain.positive("focal length", focal_length_mm, "mm")
    blur = domain.positive("f-number", f_number) * _circle(circle_of_confusion_mm)
    return focal_length_mm * focal_length_mm / blur + focal_length_mm


HYPERFOCAL: Final = Relation(
    result="hyperfocal distance",
    unit="mm",
    formula="H = f² / (N c) + f",
    latex=r"H = \frac{f^2}{N c} + f",
    symbols=(
        Symbol("f", "focal length", "mm"),
        Symbol("N", "f-number as marked"),
        Symbol("c", "circle of confusion", "mm"),
    ),
    source="thin-lens-dof",
    assumptions=(Assumption.FROM_PRINCIPAL_PLANE,),
)

_DEPTH_SYMBOLS: Final = (
    *HYPERFOCAL.symbols,
    Symbol("m", "magnification"),
    Symbol("P", "pupil magnification"),
)

_DEPTH_ASSUMPTIONS: Final = (
    Assumption.FROM_PRINCIPAL_PLANE,
    Assumption.NO_DIFFRACTION,
)


def near_limit_mm(
    focal_length_mm: float,
    f_number: float,
    circle_of_confusion_mm: float,
    subject_distance_mm: float,
    pupil_magnification: float = 1.0,
) -> float:
    """The near limit of the depth of field, in mm from the front principal plane.

    s / (1 + r) + f (1 - 1/P), see the head of the module; for P = 1 it is u (H - f) / (H + u - 2 f).
    `focal_length_mm` (f), `f_number` (N, marked), `circle_of_confusion_mm` (c), `pupil_magnification` (P) are above
    0; `subject_distance_mm` (u), from the front principal plane, is more than the focal length. For a telephoto
    (P below 1) with almost no aperture left the limit may come to lie behind that plane, and is negative.
    Raises ValueError. Sources: thin-lens-dof, pupil-dof.

    >>> round(near_limit_mm(50, 8, 0.03, 3000), 3)
    2337.905
    """
    s, r, pupil = _geometry(
        focal_length_mm, f_number, circle_of_confusion_mm, subject_distance_mm, pupil_magnification
    )
    return _near_from_pupil(s, r) + pupil


NEAR_LIMIT: Final = Relation(
    result="near limit of the depth of field",
    unit="mm",
    formula="near = f (1/m + 1/P) / (1 + r) + f (1 − 1/P), r = N c / (f m)",
    latex=r"\frac{f \left( \frac{1}{m} + \frac{1}{P} \right)}{1 + r} + f \left( 1 - \frac{1}{P} \right),"
    r" \quad r = \frac{N c}{f m}",
    symbols=_DEPTH_SYMBOLS,
    source="pupil-dof",
    assumptions=_DEPTH_ASSUMPTIONS,
)


def far_limit_mm(
    focal_length_mm: float,
    f_number: float,
    circle_of_confusion_mm: float,
    subject_distance_mm: float,
    pupil_magnification: float = 1.0,
) -> float:
    """The far limit of the depth of field, in mm from the front principal plane; infinity from the hyperfocal on.

    s / (1 - r) + f (1 - 1/P), see the head of the module; for P = 1 it is u (H - f) / (H - u). Arguments as for
    `near_limit_mm`. Raises ValueError. Sources: thin-lens-dof, pupil-dof.

    >>> round(far_limit_mm(50, 8, 0.03, 3000), 3)
    4185.268
    """
    s, r, pupil = _geometry(
        focal_length_mm, f_number, circle_of_confusion_mm, subject_distance_mm, pupil_magnification
    )
    return _far_from_pupil(s, r) + pupil if r < 1.0 else math.inf


FAR_LIMIT: Final = Relation(
    result="far limit of the depth of field",
    unit="mm",
    formula="far = f (1/m + 1/P) / (1 − r) + f (1 − 1/P), r = N c / (f m)",
    latex=r"\frac{f \left( \frac{1}{m} + \frac{1}{P} \right)}{1 - r} + f \left( 1 - \frac{1}{P} \right),"
    r" \quad r = \frac{N c}{f m}",
    symbols=_DEPTH_SYMBOLS,
    source="pupil-dof",
    assumptions=(*_DEPTH_ASSUMPTIONS, Assumption.INFINITE_PAST_HYPERFOCAL),
)


def depth_of_field_mm(
    focal_length_mm: float,
    f_number: float,
    circle_of_confusion_mm: float,
    subject_distance_mm: float,
    pupil_magnification: float = 1.0,
) -> float:
    """The whole depth of field, far minus near, in mm; infinity from the hyperfocal distance on.

    2 s r / (1 - r^2), the same as 2 N c (1 + m/P) / (m^2 - (N c / f)^2). Arguments as for `near_limit_mm`; for a
    magnification put in `macro.subject_distance_mm`. Raises ValueError. Sources: thin-lens-dof, pupil-dof.

    >>> round(depth_of_field_mm(100, 16, 0.03, 200), 5)
    1.92004
    """
    s, r, _ = _geometry(focal_length_mm, f_number, circle_of_confusion_mm, subject_distance_mm, pupil_magnification)
    return _between(_near_from_pupil(s, r), _far_from_pupil(s, r), r) if r < 1.0 else math.inf


DEPTH_OF_FIELD: Final = Relation(
    result="depth of field",
    unit="mm",
    formula="T = 2 N c (1 + m/P) / (m² − (N c / f)²)",
    latex=r"T = \frac{2 N c \left( 1 + \frac{m}{P} \right)}{m^2 - \left( \frac{N c}{f} \right)^2}",
    symbols=_DEPTH_SYMBOLS,
    source="pupil-dof",
    assumptions=(Assumption.NO_DIFFRACTION, Assumption.INFINITE_DEPTH),
)


def _geometry(
    focal_length_mm: float,
    f_number: float,
    circle_of_confusion_mm: float,
    subject_distance_mm: float,
    pupil_magnification: float,
) -> tuple[float, float, float]:
    # Refuses a subject within the focal length.
    magnification_at(focal_length_mm, subject_distance_mm)
    domain.positive("f-number", f_number)
    _circle(circle_of_confusion_mm)
    domain.positive("pupil magnification", pupil_magnification)
    return _from_pupil(focal_length_mm, f_number, circle_of_confusion_mm, subject_distance_mm, pupil_magnification)


def _from_pupil(
    focal_length_mm: float,
    f_number: float,
    circle_of_confusion_mm: float,
    subject_distance_mm: float,
    pupil_magnification: float,
) -> tuple[float, float, float]:
    """The plane of focus from the entrance pupil (s), r, and the pupil from the front principal plane."""
    s = subject_distance_mm - focal_length_mm
    r = f_number * (circle_of_confusion_mm / focal_length_mm / focal_length_mm) * s
    s += focal_length_mm / pupil_magnification
    return s, r, focal_length_mm * (1.0 - 1.0 / pupil_magnification)


def _near_from_pupil(s: float, r: float) -> float:
    return s / (1.0 + r)


def _far_from_pupil(s: float, r: float) -> float:
    return s / (1.0 - r)


def _between(near: float, far: float, r: float) -> float:
    # Far minus near, written so that a thin slice keeps its digits.
    return r * (near + far)


def close_up_depth_mm(
    f_number: float, circle_of_confusion_mm: float, magnification: float, pupil_magnification: float = 1.0
) -> float:
    """The whole depth of field close up, in mm: T = 2 c N_eff / m^2, without the focal length.

    What the exact form comes to where the subject is much nearer than the hyperfocal distance; always a little
    too small. `f_number` (N) is the marked one, `circle_of_confusion_mm` (c), `magnification` (m) and
    `pupil_magnification` (P) are above 0. Raises ValueError. Source: pupil-dof.

    >>> round(close_up_depth_mm(16, 0.03, 1), 4)
    1.92
    """
    m = domain.positive("magnification", magnification)
    effective = effective_f_number(f_number, m, pupil_magnification)
    return 2.0 * _circle(circle_of_confusion_mm) * effective / (m * m)


CLOSE_UP_DEPTH: Final = Relation(
    result="depth of field close up",
    unit="mm",
    formula="T = 2 c N_eff / m²",
    latex=r"T = \frac{2 c N_{\mathrm{eff}}}{m^2}",
    symbols=(
        Symbol("c", "circle of confusion", "mm"),
        Symbol("N_eff", "effective f-number"),
        Symbol("m", "magnification"),
    ),
    source="pupil-dof",
    assumptions=(Assumption.NEARER_THAN_HYPERFOCAL,),
)


def _circle(circle_of_confusion_mm: float) -> float:
    return domain.positive("circle of confusion", circle_of_confusion_mm, "mm")

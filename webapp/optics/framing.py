"""The angle of view, and the field at a distance: how far a lens has to stand for a subject to fill the sensor.

Distances are those of a thin lens, counted from its front principal plane; what lies between the two principal planes
of a real lens is added from sensor to subject.
"""

from __future__ import annotations

import math
from typing import Final

from webapp.optics import domain, macro
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol

_SENSOR = Symbol("s", "side of the sensor", "mm")
_FOCAL = Symbol("f", "focal length", "mm")
_MAGNIFICATION = Symbol("m", "magnification")

FIELD: Final = Relation(
    result="field at the subject",
    unit="mm",
    formula="F = s / m",
    latex=r"F = \frac{s}{m}",
    symbols=(_SENSOR, _MAGNIFICATION),
    source="definition",
)
FILLING: Final = Relation(
    result="magnification that fills the sensor",
    unit="",
    formula="m = s / F",
    latex=r"m = \frac{s}{F}",
    symbols=(_SENSOR, Symbol("F", "width of the field", "mm")),
    source="definition",
)
ANGLE_OF_VIEW: Final = Relation(
    result="angle of view",
    unit="°",
    formula="θ = 2 atan(s / (2 f (1 + m)))",
    latex=r"\theta = 2 \arctan \frac{s}{2 f (1 + m)}",
    symbols=(_SENSOR, _FOCAL, _MAGNIFICATION),
    source="thin-lens",
)
SENSOR_TO_SUBJECT: Final = Relation(
    result="from the sensor to the subject",
    unit="mm",
    formula="l = f (2 + m + 1 / m) + h",
    latex=r"l = f \left( 2 + m + \frac{1}{m} \right) + h",
    symbols=(_FOCAL, _MAGNIFICATION, Symbol("h", "distance between the principal planes", "mm")),
    source="thin-lens",
    assumptions=(Assumption.FOCAL_LENGTH_ESTIMATED,),
)


def angle_of_view_deg(sensor_mm: float, focal_length_mm: float, magnification: float = 0.0) -> float:
    """The angle that a side of the sensor sees: 2 atan(s / (2 f (1 + m))), seen from the front principal plane.

    Raises ValueError for lengths out of their domain. Source: thin-lens.

    >>> round(angle_of_view_deg(36.0, 50.0), 1)
    39.6
    """
    domain.positive("side of the sensor", sensor_mm, "mm")
    return math.degrees(
        2.0 * math.atan(sensor_mm / (2.0 * (focal_length_mm + macro.extension_mm(focal_length_mm, magnification))))
    )


def sensor_to_subject_mm(focal_length_mm: float, magnification: float, principal_planes_mm: float = 0.0) -> float:
    """From the sensor to the subject, with what lies between the lens's principal planes added.

    Raises ValueError. Source: thin-lens.

    >>> sensor_to_subject_mm(100.0, 1.0, 20.0)
    420.0
    """
    return macro.subject_to_sensor_mm(focal_length_mm, magnification) + domain.not_negative(
        "distance between the principal planes", principal_planes_mm, "mm"
    )

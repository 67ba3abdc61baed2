"""The same picture on another format: same framing, same depth, same light.

Everything follows from one number, the scale k: the size of the new sensor over the size of the old one. Same
framing from the same place needs the focal length, or close up the magnification, times k. Same depth and the
same share of diffraction need the *effective* f-number times k: the mark close up is then N_eff k / (1 + m k / P),
and scaling the mark itself would be wrong. With that the same light reaches the smaller sensor on a smaller area:
the exposure, which is light per area, rises by 1 / k^2, so the same brightness takes an ISO of k^2.

The crop factor of a format is 1 / k against 36 x 24 mm. Formats of other proportions agree in one measure only,
usually the diagonal; which one is chosen is part of the answer.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.macro import effective_f_number, marked_f_number
from webapp.optics.working import Relation, Symbol

FULL_FRAME_MM: Final = (36.0, 24.0)
"""The format that crop factors refer to, width and height. Source: common-practice."""


class Measure(StrEnum):
    """What is held to be the size of a format."""

    DIAGONAL = "diagonal"
    WIDTH = "width"
    HEIGHT = "height"


def format_scale(
    from_sensor_mm: tuple[float, float],
    to_sensor_mm: tuple[float, float],
    measure: Measure = Measure.DIAGONAL,
) -> float:
    """The scale k from one format to another: size of the new over size of the old; below 1 is a smaller sensor.

    Sensors are (width, height) in mm, above 0; `measure` says which size is held equal in the picture. Raises
    ValueError. Source: definition.

    >>> format_scale((36, 24), (18, 12))
    0.5
    """
    return _size_mm(to_sensor_mm, measure) / _size_mm(from_sensor_mm, measure)


SCALE: Final = Relation(
    result="scale of the formats",
    unit="",
    formula="k = a2 / a1",
    latex=r"k = \frac{a_2}{a_1}",
    symbols=(Symbol("a1", "size of the sensor before", "mm"), Symbol("a2", "size of the sensor after", "mm")),
    source="definition",
    assumptions=(Assumption.SIZES_ARE_DIAGONALS,),
)


def crop_factor(sensor_mm: tuple[float, float], measure: Measure = Measure.DIAGONAL) -> float:
    """The crop factor of a format, C: size of 36 x 24 mm over its own. Above 1 is a smaller sensor.

    `sensor_mm` is (width, height), above 0. Raises ValueError. Source: definition.

    >>> round(crop_factor((23.5, 15.6)), 4)
    1.5339
    """
    return format_scale(sensor_mm, FULL_FRAME_MM, measure)


def _size_mm(sensor_mm: tuple[float, float], measure: Measure) -> float:
    width = domain.positive("width of the sensor", sensor_mm[0], "mm")
    height = domain.positive("height of the sensor", sensor_mm[1], "mm")
    if measure is Measure.WIDTH:
        return width
    return height if measure is Measure.HEIGHT else math.hypot(width, height)


def equivalent_focal_length_mm(focal_length_mm: float, scale: float) -> float:
    """The focal length of the same angle of view on another format: f k, in mm. For distant subjects.

    `focal_length_mm` (f) and `scale` (k, `format_scale`) are above 0. Raises ValueError. Source: equivalence.

    >>> equivalent_focal_length_mm(50, 1.5)
    75.0
    """
    return domain.positive("focal length", focal_length_mm, "mm") * _scale(scale)


FOCAL_LENGTH: Final = Relation(
    result="focal length for the same framing",
    unit="mm",
    formula="f2 = f1 k",
    latex=r"f_2 = f_1 k",
    symbols=(Symbol("f1", "focal length before", "mm"), Symbol("k", "scale of the formats")),
    source="equivalence",
    assumptions=(Assumption.DISTANT_SUBJECT,),
)


def equivalent_magnification(magnification: float, scale: float) -> float:
    """The magnification of the same framing on another format: m k.

    `magnification` (m) is 0 or more, `scale` (k) above 0. Raises ValueError. Source: equivalence.

    >>> equivalent_magnification(1, 0.5)
    0.5
    """
    return domain.not_negative("magnification", magnification) * _scale(scale)


MAGNIFICATION: Final = Relation(
    result="magnification for the same framing",
    unit="",
    formula="m2 = m1 k",
    latex=r"m_2 = m_1 k",
    symbols=(Symbol("m1", "magnification before"), Symbol("k", "scale of the formats")),
    source="equivalence",
)


def equivalent_f_number(
    f_number: float, scale: float, magnification: float = 0.0, pupil_magnification: float = 1.0
) -> float:
    """The f-number to mark for the same depth, diffraction and total light: N_eff k / (1 + m k / P).

    `f_number` is the one marked before, `magnification` (m) the one before (0: a distant subject, and then it is
    N k), `scale` (k) above 0, `pupil_magnification` (P) that of both lenses. Not snapped to a dial. Raises
    ValueError. Source: equivalence.

    >>> round(equivalent_f_number(16, 0.5, magnification=1), 2)
    10.67
    """
    effective = effective_f_number(f_number, magnification, pupil_magnification)
    return marked_f_number(
        effective * _scale(scale), equivalent_magnification(magnification, scale), pupil_magnification
    )


F_NUMBER: Final = Relation(
    result="f-number to set for the same depth and light",
    unit="",
    formula="N2 = N1 (1 + m1 / P) k / (1 + m1 k / P)",
    latex=r"N_2 = \frac{N_1 \left( 1 + m_1 / P \right) k}{1 + m_1 k / P}",
    symbols=(
        Symbol("N1", "f-number marked before"),
        Symbol("m1", "magnification before"),
        Symbol("P", "pupil magnification"),
        Symbol("k", "scale of the formats"),
    ),
    source="equivalence",
)


def equivalent_iso(iso: float, scale: float) -> float:
    """The ISO that gives the same brightness at the equivalent f-number and the same time: S k^2.

    `iso` (S) and `scale` (k) are above 0. Raises ValueError. Source: equivalence.

    >>> equivalent_iso(100, 1.5)
    225.0
    """
    return domain.positive("ISO", iso) * _scale(scale) * scale


ISO: Final = Relation(
    result="ISO for the same brightness",
    unit="",
    formula="S2 = S1 k²",
    latex=r"S_2 = S_1 k^2",
    symbols=(Symbol("S1", "ISO before"), Symbol("k", "scale of the formats")),
    source="equivalence",
)


def total_light_change_stops(scale: float, from_effective_f_number: float, to_effective_f_number: float) -> float:
    """The change of the light that makes up the same picture, at the same time: 2 log2 k - 2 log2(N2 / N1).

    Both f-numbers are effective; + is more light. 0 at the equivalent f-number; 2 log2 k at the same effective
    f-number, as the area goes. It is the light from the same part of the scene: what a sensor of other
    proportions sees beyond it is not counted. Raises ValueError. Source: equivalence.

    >>> total_light_change_stops(2, 8, 16), total_light_change_stops(2, 8, 8)
    (0.0, 2.0)
    """
    domain.positive("effective f-number before", from_effective_f_number)
    domain.positive("effective f-number after", to_effective_f_number)
    return 2.0 * math.log2(_scale(scale) * from_effective_f_number / to_effective_f_number)


TOTAL_LIGHT: Final = Relation(
    result="change of total light",
    unit="stops",
    formula="Δ = 2 log2(k N1 / N2)",
    latex=r"\Delta = 2 \log_2 \frac{k N_1}{N_2}",
    symbols=(
        Symbol("k", "scale of the formats"),
        Symbol("N1", "effective f-number before"),
        Symbol("N2", "effective f-number after"),
    ),
    source="equivalence",
    assumptions=(Assumption.SAME_FRAMING,),
)


def _scale(scale: float) -> float:
    return domain.positive("scale of the formats", scale)

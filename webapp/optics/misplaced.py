"""What a light costs that is put up again not quite where it stood, or a dial that is not set as it was: in stops."""

from __future__ import annotations

import math
from typing import Final

from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol


def distance_error_stops(distance_mm: float, error_mm: float = 10.0) -> float:
    """What an error of the distance costs in a reshoot, by inverse square: 2 e/(d ln 2).

    `distance_mm` (d) is taped from the light to the subject, `error_mm` (e) what the tape is off. For errors that are
    small against the distance. Raises ValueError for a distance that is not above 0. Source: inverse-square.

    >>> round(distance_error_stops(120.0), 2), round(distance_error_stops(1500.0), 2)
    (0.24, 0.02)
    """
    if distance_mm <= 0.0:
        raise ValueError("A light at no distance has no error of its distance.")
    return 2.0 * error_mm / (distance_mm * math.log(2.0))


DISTANCE_ERROR: Final = Relation(
    result="error of the light in a reshoot",
    unit="stops",
    formula="Δ = 2 e / (d ln 2)",
    latex=r"\Delta = \frac{2 e}{d \ln 2}",
    symbols=(
        Symbol("e", "error of the distance", "mm"),
        Symbol("d", "distance from the light to the subject", "mm"),
    ),
    source="inverse-square",
    assumptions=(Assumption.SMALL_ERRORS,),
)


def direction_error_stops(angle_deg: float, error_deg: float) -> float:
    """What an error of a light's angle costs on a flat subject: log2(cos a/cos(a + e)), both below 90° together.

    `angle_deg` (a) lies between the light and the square to the subject. Raises ValueError where the light would graze
    the subject or come from behind it. Source: lambert-cosine.

    >>> direction_error_stops(45.0, 15.0)
    0.5
    """
    if not (angle_deg >= 0.0 and error_deg >= 0.0 and angle_deg + error_deg < 90.0):
        raise ValueError("The angle and its error lie below 90° together, or the light does not reach the subject.")
    return round(math.log2(math.cos(math.radians(angle_deg)) / math.cos(math.radians(angle_deg + error_deg))), 9)


DIRECTION_ERROR: Final = Relation(
    result="error of the light in a reshoot",
    unit="stops",
    formula="Δ = log2(cos a / cos(a + e))",
    latex=r"\Delta = \log_2 \frac{\cos a}{\cos (a + e)}",
    symbols=(Symbol("a", "angle of the light", "°"), Symbol("e", "error of the angle", "°")),
    source="lambert-cosine",
    assumptions=(Assumption.REBUILT_BESIDE,),
)

DIAL_ERROR: Final = Relation(
    result="error of the light in a reshoot",
    unit="stops",
    formula="Δ = r / 2",
    latex=r"\Delta = \frac{r}{2}",
    symbols=(Symbol("r", "range of the dial", "stops"),),
    source="definition",
    assumptions=(Assumption.MIDDLE_OF_DIAL,),
)

MAGNIFICATION_ERROR: Final = Relation(
    result="error of every light in a reshoot",
    unit="stops",
    formula="Δ = 2 log2((1 + m2 / P) / (1 + m1 / P))",
    latex=r"\Delta = 2 \log_2 \frac{1 + m_2 / P}{1 + m_1 / P}",
    symbols=(
        Symbol("m1", "the magnification that is set in the reshoot"),
        Symbol("m2", "the magnification as it may have been"),
        Symbol("P", "pupil magnification"),
    ),
    source="close-up-increase",
)

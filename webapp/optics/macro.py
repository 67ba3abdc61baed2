"""Close up: what magnification costs in light, and where lens, subject and sensor stand.

Magnification (m) is the size of the image over the size of the subject: 1 is life size, 0 a subject at infinity.
Pupil magnification (P) is the diameter of the exit pupil over that of the entrance pupil, as the lens is mounted
normally: 1 in a symmetrical lens, below 1 in a telephoto, above 1 in a retrofocus lens.

Distances are those of a thin lens with the focal length that the lens has *at that setting*. A lens that focuses
inside shortens its focal length close up: there, measure the magnification and leave the distances alone.
"""

from __future__ import annotations

import math
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol

MILLIMETRES_PER_METRE: Final = 1000.0


def effective_f_number(
    f_number: float, magnification: float, pupil_magnification: float = 1.0, *, reversed_lens: bool = False
) -> float:
    """The f-number that the sensor sees close up: N_eff = N (1 + m / P); reversed, N_eff = N (1 / P + m).

    `f_number` (N) is the marked one and `pupil_magnification` (P) that of the lens mounted normally, also when it
    is reversed. `magnification` (m) is 0 or more. A camera that records the effective f-number must not be
    charged again. Raises ValueError. Sources: pupil-dof; the reversed form follows by exchanging the pupils
    (from memory, checked by geometry).

    >>> effective_f_number(16, 1)
    32.0
    """
    domain.positive("f-number", f_number)
    return f_number * _bellows(magnification, pupil_magnification, reversed_lens)


EFFECTIVE_F_NUMBER: Final = Relation(
    result="effective f-number",
    unit="",
    formula="N_eff = N (1 + m / P)",
    latex=r"N_{\mathrm{eff}} = N \left( 1 + \frac{m}{P} \right)",
    symbols=(
        Symbol("N", "f-number as marked"),
        Symbol("m", "magnification"),
        Symbol("P", "pupil magnification"),
    ),
    source="pupil-dof",
)

EFFECTIVE_F_NUMBER_REVERSED: Final = Relation(
    result="effective f-number, lens reversed",
    unit="",
    formula="N_eff = N (1 / P + m)",
    latex=r"N_{\mathrm{eff}} = N \left( \frac{1}{P} + m \right)",
    symbols=EFFECTIVE_F_NUMBER.symbols,
    source="pupil-dof",
    assumptions=(Assumption.PUPILS_CHANGE_PLACES,),
)


def exposure_increase_stops(
    magnification: float, pupil_magnification: float = 1.0, *, reversed_lens: bool = False
) -> float:
    """The extra exposure that close focusing asks for, in stops and positive: 2 log2(1 + m / P).

    Arguments as for `effective_f_number`. Against the mark on the lens: reversing a lens with P above 1 gains
    light, and the result is then negative at small magnifications. Not to be added for a through-the-lens
    reading, which has it already. Raises ValueError. Sources: close-up-increase, pupil-dof.

    >>> exposure_increase_stops(1)
    2.0
    """
    return 2.0 * math.log2(_bellows(magnification, pupil_magnification, reversed_lens))


EXPOSURE_INCREASE: Final = Relation(
    result="exposure increase",
    unit="stops",
    formula="increase = 2 log2(N_eff / N)",
    latex=r"2 \log_2 \frac{N_{\mathrm{eff}}}{N}",
    symbols=(Symbol("N_eff", "effective f-number"), Symbol("N", "f-number as marked")),
    source="close-up-increase",
    assumptions=(Assumption.NOT_THROUGH_LENS,),
)


def marked_f_number(
    effective: float, magnification: float, pupil_magnification: float = 1.0, *, reversed_lens: bool = False
) -> float:
    """The mark to set for a wanted effective f-number; the inverse of `effective_f_number`, not snapped to a dial.

    Raises ValueError. Source: pupil-dof.

    >>> marked_f_number(32, 1)
    16.0
    """
    domain.positive("effective f-number", effective)
    return effective / _bellows(magnification, pupil_magnification, reversed_lens)


MARKED_F_NUMBER: Final = Relation(
    result="f-number to set",
    unit="",
    formula="N = N_eff / (1 + m / P)",
    latex=r"N = \frac{N_{\mathrm{eff}}}{1 + m / P}",
    symbols=(
        Symbol("N_eff", "effective f-number"),
        Symbol("m", "magnification"),
        Symbol("P", "pupil magnification"),
    ),
    source="pupil-dof",
)


def _bellows(magnification: float, pupil_magnification: float, reversed_lens: bool) -> float:
    m = domain.not_negative("magnification", magnification)
    p = domain.positive("pupil magnification", pupil_magnification)
    return 1.0 / p + m if reversed_lens else 1.0 + m / p


def extension_mm(focal_length_mm: float, magnification: float) -> float:
    """How far the lens is moved out from its infinity setting: f m, in mm.

    `focal_length_mm` (f) is above 0, `magnification` (m) 0 or more. Thin lens. Raises ValueError.
    Source: thin-lens.

    >>> extension_mm(100, 0.5)
    50.0
    """
    return _focal_length(focal_length_mm) * domain.not_negative("magnification", magnification)


EXTENSION: Final = Relation(
    result="extension",
    unit="mm",
    formula="extension = f m",
    latex=r"f m",
    symbols=(Symbol("f", "focal length", "mm"), Symbol("m", "magnification")),
    source="thin-lens",
    assumptions=(Assumption.WHOLE_LENS_MOVED,),
)


def subject_distance_mm(focal_length_mm: float, magnification: float) -> float:
    """The distance of the subject from the front principal plane: u = f (1 + 1 / m), in mm.

    `focal_length_mm` (f) and `magnification` (m) are above 0. Raises ValueError. Source: thin-lens.

    >>> subject_distance_mm(100, 1)
    200.0
    """
    return _focal_length(focal_length_mm) * (1.0 + 1.0 / domain.positive("magnification", magnification))


SUBJECT_DISTANCE: Final = Relation(
    result="subject distance from the front principal plane",
    unit="mm",
    formula="u = f (1 + 1 / m)",
    latex=r"u = f \left( 1 + \frac{1}{m} \right)",
    symbols=EXTENSION.symbols,
    source="thin-lens",
)


def subject_to_sensor_mm(focal_length_mm: float, magnification: float) -> float:
    """From the subject to the sensor: f (2 + m + 1 / m), in mm; shortest, 4 f, at life size.

    A real lens adds the distance between its principal planes. `focal_length_mm` (f) and `magnification` (m) are
    above 0. Raises ValueError. Source: thin-lens.

    >>> subject_to_sensor_mm(100, 0.5)
    450.0
    """
    image_distance_mm = focal_length_mm + extension_mm(focal_length_mm, magnification)
    return subject_distance_mm(focal_length_mm, magnification) + image_distance_mm


def magnification_at(focal_length_mm: float, subject_distance_mm: float) -> float:
    """The magnification of a subject in focus: m = f / (u - f); the inverse of `subject_distance_mm`.

    `subject_distance_mm` (u) is measured from the front principal plane. An estimate: the focal length of a lens
    that focuses inside is not the engraved one close up. Raises ValueError where the subject stands within the
    focal length, where nothing comes into focus on a sensor. Source: thin-lens.

    >>> magnification_at(50, 100)
    1.0
    """
    _focal_length(focal_length_mm)
    domain.positive("subject distance", subject_distance_mm, "mm")
    if subject_distance_mm <= focal_length_mm:
        raise ValueError(
            f"A subject {subject_distance_mm:g} mm from the lens is within its focal length of "
            f"{focal_length_mm:g} mm and cannot be brought into focus: it must stand farther away."
        )
    return focal_length_mm / (subject_distance_mm - focal_length_mm)


MAGNIFICATION: Final = Relation(
    result="magnification",
    unit="",
    formula="m = f / (u − f)",
    latex=r"m = \frac{f}{u - f}",
    symbols=(
        Symbol("f", "focal length", "mm"),
        Symbol("u", "subject distance from the front principal plane", "mm"),
    ),
    source="thin-lens",
    assumptions=(Assumption.FOCAL_LENGTH_ESTIMATED,),
)


def supplementary_lens_magnification(focal_length_mm: float, power_dioptres: float) -> float:
    """The magnification with a supplementary lens on a camera lens left at infinity: m = f D / 1000.

    `focal_length_mm` (f) is the camera lens's and `power_dioptres` (D, 1/m) the supplementary's, both above 0.
    The light between the two is parallel, so the f-number stays the marked one: the exposure increase is 0.
    Raises ValueError. Source: supplementary-lens.

    >>> supplementary_lens_magnification(100, 4)
    0.4
    """
    power = domain.positive("power of the supplementary lens", power_dioptres, "dioptres")
    return _focal_length(focal_length_mm) * power / MILLIMETRES_PER_METRE


def _focal_length(focal_length_mm: float) -> float:
    return domain.positive("focal length", focal_length_mm, "mm")

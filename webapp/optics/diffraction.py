"""Diffraction, and the f-number of least blur between it and defocus.

The Airy disc grows with the effective f-number as the disc of defocus shrinks, so every wanted depth
has an f-number of least blur. The balance takes the wavelength of the green mercury line, 546 nm, and counts
diffraction as N / 750 mm, as the published table does (largeformat-fstop): 2.442 wavelengths times N, where the
first dark ring has 2.4393. The tenth of a percent between them is 0.0016 stop in the f-number; the published
figures hold to the last digit. An Airy disc by itself is the ring's 2.4393.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.macro import effective_f_number, marked_f_number
from webapp.optics.working import Relation, Symbol

AIRY_FACTOR: Final = 2.4393397825330903
"""Diameter of the first dark ring of the Airy disc, in wavelengths times f-number: twice the first zero of the
Bessel function J1, 3.8317, over pi. Source: airy."""

GREEN_LINE_NM: Final = 546.0

DIFFRACTION_BLURS_PER_MM: Final = 750.0
"""At 546 nm, diffraction counts as N / 750 mm of blur in the balance with defocus. Source: largeformat-fstop."""

NANOMETRES_PER_MILLIMETRE: Final = 1e6

MICROMETRES_PER_MILLIMETRE: Final = 1e3


def airy_disc_mm(effective_f_number: float, wavelength_nm: float = GREEN_LINE_NM) -> float:
    """The diameter of the Airy disc to its first dark ring, in mm: 2.4393 wavelengths times N_eff.

    83.8 % of the light falls inside. `effective_f_number` (N_eff, not the mark) and `wavelength_nm` are above 0.
    Raises ValueError. Source: airy.

    >>> round(airy_disc_mm(64) * 1000, 2)
    85.24
    """
    wavelength_mm = domain.positive("wavelength", wavelength_nm, "nm") / NANOMETRES_PER_MILLIMETRE
    return AIRY_FACTOR * wavelength_mm * domain.positive("effective f-number", effective_f_number)


AIRY_DISC: Final = Relation(
    result="diameter of the Airy disc",
    unit="mm",
    formula="d = 2.4393 λ N_eff / 10⁶",
    latex=r"d = 2.4393 \, \lambda N_{\mathrm{eff}} \cdot 10^{-6}",
    symbols=(Symbol("λ", "wavelength", "nm"), Symbol("N_eff", "effective f-number")),
    source="airy",
)


def in_pixels(length_on_sensor_mm: float, pixel_pitch_um: float) -> float:
    """A length on the sensor in pixels: an Airy disc, a blur, a circle of confusion.

    The length is 0 or more, `pixel_pitch_um` (from one pixel to the next) above 0. Raises ValueError.
    Source: definition.

    >>> in_pixels(0.0625, 5)
    12.5
    """
    domain.not_negative("length on the sensor", length_on_sensor_mm, "mm")
    pitch_um = domain.positive("pixel pitch", pixel_pitch_um, "µm")
    return length_on_sensor_mm * MICROMETRES_PER_MILLIMETRE / pitch_um


IN_PIXELS: Final = Relation(
    result="length in pixels",
    unit="px",
    formula="n = 1000 x / p",
    latex=r"n = \frac{1000 \, x}{p}",
    symbols=(Symbol("x", "length on the sensor", "mm"), Symbol("p", "pixel pitch", "µm")),
    source="definition",
)


def focus_spread_mm(depth_mm: float, magnification: float) -> float:
    """How far apart, on the sensor side, the two ends of a wanted depth come to focus: m^2 D, in mm.

    `depth_mm` (D) is the depth of the subject and `magnification` (m) that of its middle, both above 0. Close up,
    where the magnification hardly changes over the depth. Raises ValueError. Source: thin-lens.

    >>> focus_spread_mm(10, 0.5)
    2.5
    """
    m = domain.positive("magnification", magnification)
    return m * m * domain.positive("wanted depth", depth_mm, "mm")


FOCUS_SPREAD: Final = Relation(
    result="focus spread on the sensor side",
    unit="mm",
    formula="v = m² D",
    latex=r"v = m^2 D",
    symbols=(Symbol("m", "magnification"), Symbol("D", "wanted depth of the subject", "mm")),
    source="thin-lens",
    assumptions=(Assumption.DEPTH_SMALL,),
)


def total_blur_mm(effective_f_number: float, focus_spread_mm: float, wavelength_nm: float = GREEN_LINE_NM) -> float:
    """The blur at both ends of a focus spread, in mm: defocus v / (2 N) and diffraction N / 750, added in square.

    Focus in the middle of the spread (v, sensor side, 0 or more); `effective_f_number` (N) above 0; diffraction is
    in proportion to `wavelength_nm`. Raises ValueError. Source: largeformat-fstop.

    >>> round(total_blur_mm(sharpest_f_number(2), 2), 4)
    0.0516
    """
    spread = domain.not_negative("focus spread", focus_spread_mm, "mm")
    effective = domain.positive("effective f-number", effective_f_number)
    return _root_of_squares(
        _defocus_blur(effective, spread), _diffraction_blur(effective, _diffraction_mm(wavelength_nm))
    )


TOTAL_BLUR: Final = Relation(
    result="blur at the ends of the depth",
    unit="mm",
    formula="blur = sqrt((v / (2 N_eff))² + (N_eff λ / (546 · 750))²)",
    latex=r"\sqrt{\left( \frac{v}{2 N_{\mathrm{eff}}} \right)^2"
    r" + \left( \frac{N_{\mathrm{eff}}}{750} \cdot \frac{\lambda}{546} \right)^2}",
    symbols=(
        Symbol("v", "focus spread on the sensor side", "mm"),
        Symbol("N_eff", "effective f-number"),
        Symbol("λ", "wavelength", "nm"),
    ),
    source="largeformat-fstop",
    assumptions=(Assumption.FOCUS_IN_MIDDLE, Assumption.BLURS_IN_SQUARE),
)


def _diffraction_mm(wavelength_nm: float) -> float:
    """The blur of diffraction for each unit of effective f-number."""
    return domain.positive("wavelength", wavelength_nm, "nm") / (GREEN_LINE_NM * DIFFRACTION_BLURS_PER_MM)


def _defocus_blur(effective: float, spread: float) -> float:
    return spread / (2.0 * effective)


def _diffraction_blur(effective: float, diffraction_mm: float) -> float:
    return effective * diffraction_mm


def _root_of_squares(one: float, other: float) -> float:
    return float((one * one + other * other) ** 0.5)


def sharpest_f_number(focus_spread_mm: float, wavelength_nm: float = GREEN_LINE_NM) -> float:
    """The *effective* f-number of least blur over a focus spread: sqrt(375 v) at 546 nm, not snapped to a dial.

    `focus_spread_mm` (v, sensor side) and `wavelength_nm` are above 0. The mark to set is
    `macro.marked_f_number` of it. Raises ValueError. Source: largeformat-fstop.

    >>> round(sharpest_f_number(1), 3)
    19.365
    """
    spread = domain.positive("focus spread", focus_spread_mm, "mm")
    return math.sqrt(spread / (2.0 * _diffraction_mm(wavelength_nm)))


SHARPEST: Final = Relation(
    result="effective f-number of least blur",
    unit="",
    formula="N_eff = sqrt(375 v · 546 / λ)",
    latex=r"N_{\mathrm{eff}} = \sqrt{375 \, v \cdot \frac{546}{\lambda}}",
    symbols=(Symbol("v", "focus spread on the sensor side", "mm"), Symbol("λ", "wavelength", "nm")),
    source="largeformat-fstop",
    assumptions=(Assumption.DIFFRACTION_RULE, Assumption.BLURS_IN_SQUARE),
)


def usable_f_numbers(
    focus_spread_mm: float, circle_of_confusion_mm: float, wavelength_nm: float = GREEN_LINE_NM
) -> tuple[float, float] | None:
    """The lowest and highest *effective* f-number whose blur is within a circle of confusion; None: there is none.

    `focus_spread_mm` (sensor side), `circle_of_confusion_mm` and `wavelength_nm` are above 0. Raises ValueError.
    Source: largeformat-fstop.

    >>> low, high = usable_f_numbers(2, 0.1) or (0, 0)
    >>> round(low, 2), round(high, 2)
    (10.09, 74.32)
    """
    spread = domain.positive("focus spread", focus_spread_mm, "mm")
    c = domain.positive("circle of confusion", circle_of_confusion_mm, "mm")
    k = _diffraction_mm(wavelength_nm)
    # blur^2 = c^2 is quadratic in N^2; its smaller root is taken from the product of the two, which loses nothing.
    within = (c * c - k * spread) * (c * c + k * spread)
    if within < 0.0:
        return None
    highest_squared = (c * c + math.sqrt(within)) / (2.0 * k * k)
    highest = math.sqrt(highest_squared)
    return spread / (2.0 * k) / highest, highest


@dataclass(frozen=True, slots=True)
class BlurAt:
    """The blur at the ends of a wanted depth for one f-number on the dial."""

    f_number: float
    effective_f_number: float
    defocus_mm: float
    diffraction_mm: float
    blur_mm: float


def blur_by_f_number(
    f_numbers: Iterable[float],
    depth_mm: float,
    magnification: float,
    pupil_magnification: float = 1.0,
    wavelength_nm: float = GREEN_LINE_NM,
) -> list[BlurAt]:
    """A table of the blur at the ends of a wanted depth for marked f-numbers; see `total_blur_mm`.

    `f_numbers` are marked (their exact values), the others as for `focus_spread_mm` and
    `macro.effective_f_number`. Raises ValueError. Source: largeformat-fstop.
    """
    spread = focus_spread_mm(depth_mm, magnification)
    rows = []
    for f_number in f_numbers:
        effective = effective_f_number(f_number, magnification, pupil_magnification)
        rows.append(
            BlurAt(
                f_number=f_number,
                effective_f_number=effective,
                defocus_mm=_defocus_blur(effective, spread),
                diffraction_mm=_diffraction_blur(effective, _diffraction_mm(wavelength_nm)),
                blur_mm=total_blur_mm(effective, spread, wavelength_nm),
            )
        )
    return rows


@dataclass(frozen=True, slots=True)
class SharpestAperture:
    """The f-number of least blur over a wanted depth. `f_number` is the mark, not snapped to a dial."""

    f_number: float
    effective_f_number: float
    blur_mm: float
    airy_mm: float


def sharpest_aperture(
    depth_mm: float,
    magnification: float,
    pupil_magnification: float = 1.0,
    wavelength_nm: float = GREEN_LINE_NM,
) -> SharpestAperture:
    """The f-number that gives the smallest total blur at both ends of a wanted depth of the subject.

    `depth_mm` and `magnification` are above 0; see `focus_spread_mm`, `sharpest_f_number`, `airy_disc_mm`. Raises
    ValueError. Source: largeformat-fstop.

    >>> round(sharpest_aperture(2, 1).f_number, 2)
    13.69
    """
    spread = focus_spread_mm(depth_mm, magnification)
    effective = sharpest_f_number(spread, wavelength_nm)
    return SharpestAperture(
        f_number=marked_f_number(effective, magnification, pupil_magnification),
        effective_f_number=effective,
        blur_mm=total_blur_mm(effective, spread, wavelength_nm),
        airy_mm=airy_disc_mm(effective, wavelength_nm),
    )

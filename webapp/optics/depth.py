"""Depth of field, diffraction, the f-number between the two, and focus stacks.

Depth of field. A point off the plane of focus throws a disc on the sensor; where the disc is the circle of
confusion (c), the depth ends. Seen from the subject side this is a matter of the entrance pupil alone. Its
diameter is D = f / N, and it stands f (1 - 1/P) *in front of* the front principal plane (behind it for a
telephoto, P below 1), because the exit pupil is its image at magnification P. The plane of focus, u from the
front principal plane, is then s = u - f + f/P = f (1/m + 1/P) from the pupil; a point at x from the pupil throws a
disc of m D |x - s| / x, and with

    r = c / (m D) = N c / (f m)

the limits lie at s / (1 + r) and s / (1 - r) from the pupil; from r = 1 on everything behind is sharp enough.
For P = 1 this is the textbook's near = u (H - f) / (H + u - 2 f), far = u (H - f) / (H - u). The depth between
the limits is 2 s r / (1 - r^2), and what is left of it close up, where r is small, is 2 c N_eff / m^2.

Diffraction. The Airy disc grows with the effective f-number as the disc of defocus shrinks, so every wanted depth
has an f-number of least blur. The balance takes the wavelength of the green mercury line, 546 nm, and counts
diffraction as N / 750 mm, as the published table does (largeformat-fstop): 2.442 wavelengths times N, where the
first dark ring has 2.4393. The tenth of a percent between them is 0.0016 stop in the f-number; the published
figures hold to the last digit. An Airy disc by itself is the ring's 2.4393.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeVar

from webapp.optics import domain
from webapp.optics.macro import effective_f_number, magnification_at, marked_f_number
from webapp.optics.working import Relation, Symbol

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    # One arithmetic for scalars and arrays.
    FloatOrArray = TypeVar("FloatOrArray", float, NDArray[np.float64])

DIAGONAL_OVER_CIRCLE_OF_CONFUSION: Final = 1500.0
"""The circle of confusion as a part of the picture's diagonal. Source: circle-of-confusion."""

AIRY_FACTOR: Final = 2.4393397825330903
"""Diameter of the first dark ring of the Airy disc, in wavelengths times f-number: twice the first zero of the
Bessel function J1, 3.8317, over pi. Source: airy."""

GREEN_LINE_NM: Final = 546.0
DIFFRACTION_BLURS_PER_MM: Final = 750.0
"""At 546 nm, diffraction counts as N / 750 mm of blur in the balance with defocus. Source: largeformat-fstop."""

NANOMETRES_PER_MILLIMETRE: Final = 1e6
MICROMETRES_PER_MILLIMETRE: Final = 1e3

# So that a depth of exactly seven steps is seven steps in floating point too.
_WHOLE_WITHIN: Final = 1e-9


# --- depth of field


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
    assumptions=("a print seen whole from the distance of its diagonal",),
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
    assumptions=("measured from the front principal plane",),
)

_DEPTH_SYMBOLS: Final = (
    *HYPERFOCAL.symbols,
    Symbol("m", "magnification"),
    Symbol("P", "pupil magnification"),
)
_DEPTH_ASSUMPTIONS: Final = (
    "measured from the front principal plane",
    "geometry alone, without diffraction",
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
    assumptions=(*_DEPTH_ASSUMPTIONS, "to infinity where r is 1 or more"),
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
    assumptions=("geometry alone, without diffraction", "to infinity where N c / f reaches m"),
)


def depth_limits_array(
    focal_length_mm: float,
    f_number: NDArray[np.float64] | float,
    circle_of_confusion_mm: float,
    subject_distance_mm: NDArray[np.float64] | float,
    pupil_magnification: float = 1.0,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Near limit, far limit and depth for many f-numbers or distances at once, as arrays; one of them is an array.

    The same as `near_limit_mm`, `far_limit_mm` and `depth_of_field_mm`, number for number. Raises ValueError
    where any number is out of their domain. Sources: thin-lens-dof, pupil-dof.
    """
    import numpy as np

    f_numbers = np.asarray(f_number, dtype=np.float64)
    distances = np.atleast_1d(np.asarray(subject_distance_mm, dtype=np.float64))
    for end in (np.min, np.max):
        _geometry(
            focal_length_mm,
            float(end(f_numbers)),
            circle_of_confusion_mm,
            float(end(distances)),
            pupil_magnification,
        )
    s, r, pupil = _from_pupil(focal_length_mm, f_numbers, circle_of_confusion_mm, distances, pupil_magnification)
    near = _near_from_pupil(s, r)
    with np.errstate(divide="ignore"):
        far = _far_from_pupil(s, r)
    np.copyto(far, np.inf, where=r >= 1.0)
    depth = _between(near, far, r)
    near += pupil
    far += pupil
    return near, far, depth


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
    f_number: FloatOrArray,
    circle_of_confusion_mm: float,
    subject_distance_mm: FloatOrArray,
    pupil_magnification: float,
) -> tuple[FloatOrArray, FloatOrArray, float]:
    """The plane of focus from the entrance pupil (s), r, and the pupil from the front principal plane."""
    s = subject_distance_mm - focal_length_mm
    r = f_number * (circle_of_confusion_mm / focal_length_mm / focal_length_mm) * s
    s += focal_length_mm / pupil_magnification
    return s, r, focal_length_mm * (1.0 - 1.0 / pupil_magnification)


def _near_from_pupil(s: FloatOrArray, r: FloatOrArray) -> FloatOrArray:
    return s / (1.0 + r)


def _far_from_pupil(s: FloatOrArray, r: FloatOrArray) -> FloatOrArray:
    return s / (1.0 - r)


def _between(near: FloatOrArray, far: FloatOrArray, r: FloatOrArray) -> FloatOrArray:
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
    assumptions=("the subject is much nearer than the hyperfocal distance",),
)


def _circle(circle_of_confusion_mm: float) -> float:
    return domain.positive("circle of confusion", circle_of_confusion_mm, "mm")


# --- diffraction, and the f-number of least blur


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
    assumptions=("the depth is small against the subject distance",),
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
    assumptions=("focus in the middle of the spread", "defocus and diffraction add in square"),
)


def total_blur_array(
    effective_f_number: NDArray[np.float64],
    focus_spread_mm: NDArray[np.float64] | float,
    wavelength_nm: float = GREEN_LINE_NM,
) -> NDArray[np.float64]:
    """`total_blur_mm` for many f-numbers or focus spreads at once. Raises ValueError. Source: largeformat-fstop."""
    import numpy as np

    effective = np.asarray(effective_f_number, dtype=np.float64)
    spread = np.asarray(focus_spread_mm, dtype=np.float64)
    for end in (np.min, np.max):
        total_blur_mm(float(end(effective)), float(end(spread)), wavelength_nm)
    return _root_of_squares(
        _defocus_blur(effective, spread), _diffraction_blur(effective, _diffraction_mm(wavelength_nm))
    )


def _diffraction_mm(wavelength_nm: float) -> float:
    """The blur of diffraction for each unit of effective f-number."""
    return domain.positive("wavelength", wavelength_nm, "nm") / (GREEN_LINE_NM * DIFFRACTION_BLURS_PER_MM)


def _defocus_blur(effective: FloatOrArray, spread: FloatOrArray) -> FloatOrArray:
    return spread / (2.0 * effective)


def _diffraction_blur(effective: FloatOrArray, diffraction_mm: float) -> FloatOrArray:
    return effective * diffraction_mm


def _root_of_squares(one: FloatOrArray, other: FloatOrArray) -> FloatOrArray:
    root: FloatOrArray = (one * one + other * other) ** 0.5
    return root


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
    assumptions=("diffraction counts as N / 750 mm at 546 nm", "defocus and diffraction add in square"),
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
    c = _circle(circle_of_confusion_mm)
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


# --- focus stacks


@dataclass(frozen=True, slots=True)
class FocusStack:
    """A focus stack. `slice_mm` is sharp in one frame; `step_mm` is the way from one to the next, at the subject.

    `frames` (count A) has the near limit of the first frame on the near edge of the subject; `frames_with_ends`
    (count B) has a plane of focus on both edges. `rail_travel_mm` moves the whole camera over the first count,
    `focus_travel_mm` moves the lens against the sensor instead.
    """

    slice_mm: float
    step_mm: float
    frames: int
    frames_with_ends: int
    rail_travel_mm: float
    focus_travel_mm: float


def focus_stack(
    depth_mm: float,
    magnification: float,
    f_number: float,
    circle_of_confusion_mm: float,
    overlap: float,
    pupil_magnification: float = 1.0,
) -> FocusStack:
    """The frames and the step that carry sharpness through a wanted depth.

    The slice is the close-up depth of field T = 2 c N_eff / m^2, the step T (1 - overlap). Count A is 1 where one
    slice holds the depth, else 1 + (D - T) / step rounded up; count B is 1 + D / step rounded up. `depth_mm` (D),
    `magnification` (m), `f_number` (marked) and `circle_of_confusion_mm` (c) are above 0; `overlap` is a part of
    the slice, 0 or more and below 1. How long it takes is `flash.series_duration_s`. Raises ValueError.
    Sources: pupil-dof for the slice, definition for the counts.

    >>> focus_stack(30, 0.5, 8, 0.02, 0.2).frames
    20
    """
    depth = domain.positive("wanted depth", depth_mm, "mm")
    if not 0.0 <= overlap < 1.0:
        raise ValueError(
            f"The overlap is a part of each slice, 0 or more and below 1, not {overlap:g}: "
            "at 1 the stack never gets on."
        )
    slice_mm = close_up_depth_mm(f_number, circle_of_confusion_mm, magnification, pupil_magnification)
    step_mm = slice_mm * (1.0 - overlap)
    frames = 1 if depth <= slice_mm else 1 + _steps_over(depth - slice_mm, step_mm)
    rail_travel_mm = (frames - 1) * step_mm
    return FocusStack(
        slice_mm=slice_mm,
        step_mm=step_mm,
        frames=frames,
        frames_with_ends=1 + _steps_over(depth, step_mm),
        rail_travel_mm=rail_travel_mm,
        focus_travel_mm=rail_travel_mm * magnification * magnification,
    )


STACK_STEP: Final = Relation(
    result="step at the subject",
    unit="mm",
    formula="step = T (1 − o)",
    latex=r"T \left( 1 - o \right)",
    symbols=(Symbol("T", "depth of field of one frame", "mm"), Symbol("o", "overlap")),
    source="definition",
)

STACK_FRAMES: Final = Relation(
    result="frames",
    unit="",
    formula="n = 1 + ceil((D − T) / step)",
    latex=r"n = 1 + \left\lceil \frac{D - T}{\mathrm{step}} \right\rceil",
    symbols=(
        Symbol("D", "wanted depth of the subject", "mm"),
        Symbol("T", "depth of field of one frame", "mm"),
        Symbol("step", "step at the subject", "mm"),
    ),
    source="definition",
    assumptions=("the near limit of the first frame stands on the near edge",),
)

STACK_FRAMES_WITH_ENDS: Final = Relation(
    result="frames, with both ends in the plane of focus",
    unit="",
    formula="n = 1 + ceil(D / step)",
    latex=r"n = 1 + \left\lceil \frac{D}{\mathrm{step}} \right\rceil",
    symbols=(
        Symbol("D", "wanted depth of the subject", "mm"),
        Symbol("step", "step at the subject", "mm"),
    ),
    source="definition",
    assumptions=("a plane of focus stands on both edges",),
)


def _steps_over(length_mm: float, step_mm: float) -> int:
    return math.ceil(length_mm / step_mm * (1.0 - _WHOLE_WITHIN))

"""The Airy disc by Bessel functions and by summing the light of the aperture."""

from __future__ import annotations

import math
from collections.abc import Callable

from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import j0, jn_zeros

from webapp.optics import diffraction


def amplitude(radius_mm: float, f_number: float, wavelength_mm: float) -> float:
    """The light's amplitude beside the axis: every ring of a circular aperture adds its share (Huygens)."""
    phase = math.pi * radius_mm / (wavelength_mm * f_number)
    return quad(lambda ring: 2 * ring * j0(phase * ring), 0, 1, epsabs=1e-13)[0]


def test_the_constant_is_the_first_zero_of_the_bessel_function(checked: Callable[..., None]) -> None:
    first_zero = float(jn_zeros(1, 1)[0])

    checked(
        "diffraction",
        "first zero of J1 by SciPy",
        "Airy factor",
        2 * first_zero / math.pi,
        diffraction.AIRY_FACTOR,
        1e-12,
        "factor",
    )


def test_the_first_dark_ring_of_a_round_aperture(checked: Callable[..., None]) -> None:
    for effective, wavelength_nm in ((8.0, 546.0), (32.0, 546.0), (64.0, 650.0)):
        got = diffraction.airy_disc_mm(effective, wavelength_nm)

        dark = brentq(
            lambda r, n=effective, nm=wavelength_nm: amplitude(r, n, nm / 1e6), 0.3 * got, 0.7 * got, xtol=1e-15
        )

        source = "Huygens sum over the aperture, root found by SciPy"
        checked("diffraction", source, "diameter of the Airy disc", 2 * dark, got, 1e-9, "relative")


def test_five_sixths_of_the_light_fall_into_the_disc(checked: Callable[..., None]) -> None:
    radius = diffraction.airy_disc_mm(16) / 2

    inside, _ = quad(lambda r: r * amplitude(r, 16, 546e-6) ** 2, 0, radius)
    # Parseval: the light of the whole pattern is that of the aperture, 2 (wavelength N / pi)^2.
    whole = 2 * (546e-6 * 16 / math.pi) ** 2

    checked(
        "diffraction",
        "textbook figure 83.8 % (from memory)",
        "light inside the Airy disc",
        0.838,
        inside / whole,
        5e-4,
        "part",
    )

"""Flash pulses by integration and root finding, from nothing but their shape."""

from __future__ import annotations

import math
from collections.abc import Callable

from scipy.integrate import quad
from scipy.optimize import brentq

from webapp.optics import flash
from webapp.optics.flash import Pulse

SOURCE = "pulse shape, root found and integrated by SciPy"
FALL_S = 0.0013


def exponential(time_s: float) -> float:
    return math.exp(-time_s / FALL_S)


def above(part: float) -> float:
    """The time that the pulse stays above a part of its peak."""
    return float(brentq(lambda t: exponential(t) - part, 0, 1))


def test_the_tenth_of_an_exponential_pulse(checked: Callable[..., None]) -> None:
    got = flash.tenth_duration_s(above(0.5), Pulse.EXPONENTIAL)

    checked("flash", SOURCE, "t0.1 from t0.5, exponential", above(0.1), got, 1e-9, "relative")


def test_half_of_the_light_comes_within_the_half_duration(checked: Callable[..., None]) -> None:
    whole, _ = quad(exponential, 0, math.inf)
    for part in (0.5, 0.25, 0.1, 0.9):
        given, _ = quad(exponential, 0, above(part))
        expected_stops = math.log2(given / whole)

        got = flash.cut_pulse_stops(above(part), above(0.5))

        checked("flash", SOURCE, "light left of a cut exponential pulse", expected_stops, got, 1e-6, "stop")


def test_a_square_pulse_is_above_half_and_above_a_tenth_for_the_same_time(checked: Callable[..., None]) -> None:
    checked(
        "flash",
        "definition of t0.5 and t0.1",
        "t0.1 from t0.5, cut",
        0.002,
        flash.tenth_duration_s(0.002, Pulse.CUT),
        0.0,
        "s",
    )

"""The tone curve of a camera, learned from exposure series whose light is known."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.optics.exposure_series import LearnedCurve, SeriesFrame, is_a_series, learned_curve
from webapp.optics.tone import linear_from_srgb, srgb_from_linear
from webapp.optics.tone_curve import ToneCurve, unknown

Rendered = Callable[[float], float]
"""From light to the level of a file, both against clipping."""

# Light of the places of a made scene at the first frame's exposure, against clipping.
PLACES = (0.17, 0.16, 0.18, 0.036, 0.054, 0.09, 0.22, 0.13, 0.24, 0.011)
EXPOSURES = (1.0, 0.0, -1.0, -2.0, -3.0, -4.0)


def straight(light: float) -> float:
    return light


def contrasty(light: float) -> float:
    """Steeper by 1.3 at mid-tone, with shoulder and toe (a straight line in log-odds)."""
    if light >= 1.0:
        return 1.0
    odds = (light / (1.0 - light)) ** 1.3 * (0.18 / 0.82) ** (1.0 - 1.3)
    return odds / (1.0 + odds)


def soft(light: float) -> float:
    return min(0.18 * (light / 0.18) ** 1.15, 1.0)


def film_like(light: float) -> float:
    """The filmic curve with fitted coefficients by Narkowicz (ACES Filmic Tone Mapping Curve, 2016), here as a curve that
    was made for another purpose than to be learned."""
    x = light * 0.8
    return x * (2.51 * x + 0.03) / (x * (2.43 * x + 0.59) + 0.14)


def stops_of(level: float) -> float | None:
    """The level in an 8-bit file, about mid-tone; None where it is clipped or black."""
    code = round(255 * srgb_from_linear(min(level, 1.0)))
    return math.log2(linear_from_srgb(code / 255) / 0.18) if 2 < code < 250 else None


def frames_of(
    rendered: Rendered, exposures: tuple[float, ...] = EXPOSURES, off: dict[int, float] | None = None, seed: int = 1
) -> tuple[SeriesFrame, ...]:
    """Frames at these exposures; `off` is by how much some gave another light than their exposure says."""
    noise = np.random.default_rng(seed).normal(0.0, 0.01, (len(exposures), len(PLACES)))
    return tuple(
        SeriesFrame(
            stops,
            0.04,
            tuple(
                stops_of(rendered(light * 2.0 ** (stops + (off or {}).get(frame, 0.0) + noise[frame, place])))
                for place, light in enumerate(PLACES)
            ),
        )
        for frame, stops in enumerate(exposures)
    )


def learned(*series: tuple[SeriesFrame, ...]) -> LearnedCurve:
    found = learned_curve(series)
    assert found is not None
    return found


def off_by(curve: ToneCurve, rendered: Rendered, light_stops: float) -> float:
    """By how much the curve is off at a light, against mid-tone, which the file may show at another level."""

    def found(stops: float) -> float:
        return curve.light_stops(math.log2(rendered(0.18 * 2.0**stops) / 0.18))

    return found(light_stops) - found(0.0) - light_stops


@pytest.mark.parametrize("rendered", [straight, contrasty, soft, film_like])
def test_a_curve_is_learned_within_a_twentieth_of_a_stop_where_it_was_read(rendered: Rendered) -> None:
    curve = learned(frames_of(rendered)).curve

    for light in np.arange(-4.0, 1.01, 0.25):
        assert abs(off_by(curve, rendered, float(light))) <= 0.05


@pytest.mark.parametrize("rendered", [straight, contrasty, soft, film_like])
def test_its_error_bar_holds_what_it_is_off_by(rendered: Rendered) -> None:
    within = []
    for seed in range(8):
        curve = learned(frames_of(rendered, seed=seed)).curve
        for light in np.arange(-5.0, 2.01, 0.5):
            level = math.log2(rendered(0.18 * 2.0 ** float(light)) / 0.18)
            at_mid_tone = math.log2(rendered(0.18) / 0.18)
            if not curve.lowest <= level <= curve.highest:
                continue
            error = curve.error_stops(level, at_mid_tone)
            within.append(abs(off_by(curve, rendered, float(light))) <= 2.0 * error + 0.01)

    assert np.mean(within) >= 0.95


def test_a_misfire_in_a_series_does_not_bend_the_curve_and_is_counted() -> None:
    found = learned(frames_of(contrasty, off={2: -0.6}))

    assert found.stood_out == 1
    for light in np.arange(-4.0, 1.01, 0.5):
        assert abs(off_by(found.curve, contrasty, float(light))) <= 0.08


def test_several_series_narrow_it_and_are_counted() -> None:
    one = learned(frames_of(soft))
    three = learned(*(frames_of(soft, seed=seed) for seed in (1, 2, 3)))

    assert (one.series, one.frames, three.series, three.frames) == (1, 6, 3, 18)
    assert three.curve.error_stops(-3.0) < one.curve.error_stops(-3.0)


def test_series_that_contradict_each_other_widen_it() -> None:
    agreed = learned(frames_of(soft), frames_of(soft, seed=2))
    at_odds = learned(frames_of(soft), frames_of(contrasty, seed=2))

    assert at_odds.curve.error_stops(-3.0) > agreed.curve.error_stops(-3.0)


def test_two_exposures_tell_nothing_since_a_frame_that_is_off_would_pass_for_a_curve() -> None:
    assert learned_curve([frames_of(soft, (0.0, -1.0, 0.0))]) is None
    assert not is_a_series(frames_of(soft, (0.0, -0.3, -0.6)))
    assert learned_curve([]) is None


def test_an_unknown_curve_takes_levels_for_light_and_knows_less_the_further_they_lie_apart() -> None:
    curve = unknown()
    errors = [curve.error_stops(-away) for away in (0.0, 0.1, 0.5, 1.0, 2.0, 4.0)]

    assert [curve.light_stops(level) for level in (-6.0, 0.0, 1.3)] == pytest.approx([-6.0, 0.0, 1.3])
    assert errors == sorted(errors)
    assert errors[0] == 0.0
    assert curve.known is None
    assert curve.error_stops(-3.0, -3.1) < 0.1 < curve.error_stops(-3.0, -1.0)


@given(st.integers(0, 2**32 - 1), st.sampled_from([straight, contrasty, soft, film_like]))
def test_a_learned_curve_always_rises(seed: int, rendered: Rendered) -> None:
    rng = np.random.default_rng(seed)
    wild = {int(frame): float(rng.normal(0.0, 0.5)) for frame in rng.integers(0, len(EXPOSURES), 3)}

    curve = learned(frames_of(rendered, off=wild, seed=seed)).curve

    rises = np.diff([curve.light_stops(level) for level in np.arange(-8.0, 2.48, 0.1)])
    assert (rises > 0.0).all()


def test_arrays_and_single_levels_are_straightened_alike() -> None:
    curve = learned(frames_of(contrasty)).curve
    levels = np.array([0.002, 0.03, 0.18, 0.4, 0.9])

    singly = [0.18 * 2.0 ** curve.light_stops(math.log2(level / 0.18)) for level in levels]

    assert curve.light(levels).tolist() == pytest.approx(singly)


@dataclass(frozen=True)
class Read:
    light: float
    error: float


def test_what_is_straightened_has_the_error_of_its_noise_and_of_the_curve() -> None:
    curve = learned(frames_of(soft)).curve

    grey, dark = (curve.straightened({"p": Read(level, 0.01 * level)})["p"] for level in (0.18, 0.003))

    assert grey.light == pytest.approx(0.18)
    assert grey.error / grey.light == pytest.approx(0.01 / 1.15, abs=0.001)
    assert dark.light == pytest.approx(0.18 * (0.003 / 0.18) ** (1 / 1.15), rel=0.05)
    assert dark.error / dark.light > grey.error / grey.light

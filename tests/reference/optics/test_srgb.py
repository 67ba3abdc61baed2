"""IEC 61966-2-1 against colour-science, level by level."""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType

import numpy as np

from webapp.optics import tone

SOURCE = "IEC 61966-2-1 as in colour-science (eotf_sRGB, eotf_inverse_sRGB)"


def test_every_8_bit_level_decodes_to_the_light_of_the_standard(
    checked: Callable[..., None], colour_science: ModuleType
) -> None:
    expected = colour_science.models.eotf_sRGB(np.arange(256) / 255)

    for level in range(256):
        got = tone.linear_from_srgb(level / 255)
        checked("pixel levels", SOURCE, "linear light of a level", float(expected[level]), got, 1e-12, "light")


def test_linear_light_encodes_to_the_level_of_the_standard(
    checked: Callable[..., None], colour_science: ModuleType
) -> None:
    # Between 0.0031308, the printed threshold, and 0.04045 / 12.92 the standard's two pieces miss by 1e-7.
    for light in (0.0, 0.001, 0.003, 0.004, 0.127, 0.18, 0.5, 0.9, 1.0):
        expected = float(colour_science.models.eotf_inverse_sRGB(light))
        got = tone.srgb_from_linear(light)
        checked("pixel levels", SOURCE, "encoded level of linear light", expected, got, 1e-12, "level / 255")


def test_differences_of_levels_in_stops(checked: Callable[..., None], colour_science: ModuleType) -> None:
    for from_level, to_level in ((1, 254), (5, 10), (64, 128), (100, 200), (118, 186), (200, 250)):
        light = colour_science.models.eotf_sRGB(np.array([from_level, to_level]) / 255)
        got = tone.level_difference_stops(from_level, to_level)
        checked(
            "pixel levels", SOURCE, "difference of two levels", float(np.log2(light[1] / light[0])), got, 1e-9, "stop"
        )

"""Two taps on a rule in the picture, and the length between them: the scale of the picture."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

CLOSEST_TAPS_PX: Final = 2.0
"""Taps nearer to each other than this say nothing: a tap is good to a pixel at best."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class RuleScale:
    """The scale of a picture from a rule in it. `magnification` is None where the pixel pitch is unknown."""

    taps_px: float
    mm_per_pixel: float
    field_width_mm: float
    field_height_mm: float
    magnification: float | None


def scale_from_rule(
    first: Point,
    second: Point,
    length_mm: float,
    *,
    width_px: int,
    height_px: int,
    pixel_pitch_mm: float | None = None,
) -> RuleScale:
    """Millimetres per pixel, field and magnification from two taps on a rule.

    The taps are fractions (0 to 1) of the width and height of the upright picture, which is `width_px` x `height_px`;
    `length_mm` is what the rule says between them. scale = length / taps; m = pitch / scale, with the pitch of the
    pixels of the sensor, which must be those of the picture. Holds in the plane of the rule, at right angles to the
    lens axis. Source: definition.

    Raises ValueError for taps outside the picture or on one spot, and for a length, size or pitch not above 0.

    >>> scale_from_rule((0.25, 0.5), (0.75, 0.5), 30, width_px=6000, height_px=4000).mm_per_pixel
    0.01
    """
    if not all(0.0 <= fraction <= 1.0 for fraction in (*first, *second)):
        raise ValueError("Both taps must lie inside the picture, between 0 and 1 of its width and height.")
    if width_px < 1 or height_px < 1:
        raise ValueError("The picture's width and height in pixels must be known to take a scale from it.")
    if not (0.0 < length_mm < math.inf):
        raise ValueError("The length between the taps must be above 0 mm.")
    if pixel_pitch_mm is not None and not (0.0 < pixel_pitch_mm < math.inf):
        raise ValueError("The pixel pitch must be above 0 mm, or left out where it is unknown.")
    taps_px = math.hypot((second[0] - first[0]) * width_px, (second[1] - first[1]) * height_px)
    if taps_px < CLOSEST_TAPS_PX:
        raise ValueError("The two taps are on the same spot; tap two marks of the rule, as far apart as can be seen.")
    mm_per_pixel = length_mm / taps_px
    return RuleScale(
        taps_px=taps_px,
        mm_per_pixel=mm_per_pixel,
        field_width_mm=mm_per_pixel * width_px,
        field_height_mm=mm_per_pixel * height_px,
        magnification=None if pixel_pitch_mm is None else pixel_pitch_mm / mm_per_pixel,
    )

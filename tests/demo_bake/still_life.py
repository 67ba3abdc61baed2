"""What a rendered scene hands to the camera: the light that each source alone brings, and where to read it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from tests.demo_bake.surfaces import Plane, Rect, as_plane

LUMINANCE: Final = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)
"""Weights of linear sRGB in luminance (IEC 61966-2-1)."""

AMBIENT: Final = "ambient"
"""The name under which the room's own reflection stands in `Scene.glare`."""


@dataclass(frozen=True, slots=True)
class Scene:
    """A set seen by the camera, in linear light at unit exposure.

    lights: what each light alone contributes at 0 stops, `(height, width, 3)` linear sRGB. Where two lights
        share a patch their contributions at 0 stops add up to its level.
    ambient: what the room alone contributes at 0 stops; it brings the first patch to 1.0.
    glare: mirror reflections that crossed polarisers take away, by light (or "ambient"), at 0 stops.
    patches: (left, top, width, height) in fractions of the picture, by name.
    height_mm: height of the surface over the lowest plane, towards the camera.

    A luminance of 1.0 is the wanted level of a mid-tone patch.
    """

    name: str
    lights: Mapping[str, Plane]
    ambient: Plane
    glare: Mapping[str, Plane]
    patches: Mapping[str, Rect]
    height_mm: Plane


def patch_of(picture: Plane, rect: Rect) -> Plane:
    """The pixels of a patch, given as (left, top, width, height) in fractions of the picture."""
    height, width = picture.shape[:2]
    left, top = round(rect[0] * width), round(rect[1] * height)
    right, bottom = round((rect[0] + rect[2]) * width), round((rect[1] + rect[3]) * height)
    return picture[top : max(bottom, top + 1), left : max(right, left + 1)]


def patch_level(picture: Plane, rect: Rect) -> float:
    """Mean luminance of a patch."""
    return float(np.mean(patch_of(picture, rect) @ LUMINANCE, dtype=np.float64))


def brought_to(level: float, picture: Plane, rect: Rect) -> Plane:
    """The picture with all its light scaled alike until the patch has the level."""
    return as_plane(picture * np.float32(level / patch_level(picture, rect)))

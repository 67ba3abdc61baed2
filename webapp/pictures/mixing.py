"""Pictures lit by one light each, added up in linear light, each at its level.

Light adds. A picture lit by several lights is the sum of those lit by each alone, and a light turned up by s stops
brings 2^s times its own picture:

    mix = sum of 2^s_i × I_i

with I_i the picture of light i alone in linear light, 1 at clipping. What is clipped in one of them is at least what
was read, and so is the sum there.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from webapp.pictures.readings import Patch

Light = NDArray[np.float32]
Mask = NDArray[np.bool_]

CLIPPED_FROM: Final = 0.985
"""A pixel of a reduced picture from here on holds clipped pixels of the file (common practice)."""
_QUALITY: Final = 88
_HATCH_PX: Final = 12
_HATCH_COLOUR: Final = (224, 64, 160)
_LUMINANCE: Final = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)
_CODES: Final = 1 << 16


def added(pictures: Sequence[Light], gains: Sequence[float]) -> Light:
    """The sum of pictures in linear light, each times its gain (0 leaves it out). Never below 0.

    Raises ValueError without a picture, for another number of gains, for pictures of different sizes and for a gain
    that is no number.

    >>> added([np.full((1, 1, 3), 0.25, np.float32)] * 2, [1.0, 2.0])[0, 0].tolist()
    [0.75, 0.75, 0.75]
    """
    if not pictures or len(pictures) != len(gains):
        raise ValueError("A sum needs at least one picture, and one gain for each.")
    if any(each.shape != pictures[0].shape for each in pictures):
        raise ValueError("The pictures have different sizes and cannot be added up.")
    if not all(math.isfinite(gain) for gain in gains):
        raise ValueError("A gain must be a number.")
    total = np.zeros_like(pictures[0])
    scratch = np.empty_like(total)
    for picture, gain in zip(pictures, gains, strict=True):
        if gain:
            total += np.multiply(picture, np.float32(gain), out=scratch)
    return np.maximum(total, 0.0, out=total)


def clipped(picture: Light) -> Mask:
    """Where any colour of a picture is clipped."""
    mask: Mask = np.any(picture >= CLIPPED_FROM, axis=2)
    return mask


def level_at(picture: Light, patch: Patch) -> float:
    """The mean luminance of a patch (Rec. 709 weights), as a share of clipping."""
    return float((_cut(picture, patch) @ _LUMINANCE).mean(dtype=np.float64))


def clipped_share_at(mask: Mask, patch: Patch) -> float:
    """How much of a patch is clipped."""
    return float(_cut(mask, patch).mean())


def _cut(plane: NDArray[Any], patch: Patch) -> NDArray[Any]:
    height, width = plane.shape[:2]
    left, right = _ends(patch.x, patch.width, width)
    top, bottom = _ends(patch.y, patch.height, height)
    return plane[top:bottom, left:right]


def _ends(start: float, size: float, length_px: int) -> tuple[int, int]:
    first = min(max(0, round(start * length_px)), length_px - 1)
    return first, min(max(first + 1, round((start + size) * length_px)), length_px)


def jpeg_of(picture: Light, marked: Mask | None = None) -> bytes:
    """A picture in linear light as a JPEG by the sRGB curve (iec-61966-2-1); what is `marked` is hatched over."""
    from PIL import Image

    index = np.minimum(picture * np.float32(_CODES - 1) + np.float32(0.5), np.float32(_CODES - 1)).astype(np.uint16)
    codes = _code_of_light().take(index)
    if marked is not None and marked.any():
        height, width = marked.shape
        diagonal = np.arange(height)[:, np.newaxis] + np.arange(width)
        codes[marked & (diagonal % _HATCH_PX < _HATCH_PX // 3)] = _HATCH_COLOUR
    out = io.BytesIO()
    Image.fromarray(codes).save(out, "JPEG", quality=_QUALITY)
    return out.getvalue()


@lru_cache(maxsize=1)
def _code_of_light() -> NDArray[np.uint8]:
    light = np.arange(_CODES) / (_CODES - 1.0)
    code = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 0.0031308) ** (1 / 2.4) - 0.055)
    codes: NDArray[np.uint8] = np.rint(code * 255).astype(np.uint8)
    return codes

"""A rendered picture made brighter or darker by so many stops, in linear light."""

from __future__ import annotations

import io
import math
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from webapp.pictures.colours import light_from_srgb, srgb_from_light

MOST_STOPS: Final = 10.0
_QUALITY: Final = 85


def lifted_codes(stops: float) -> NDArray[np.uint8]:
    """For each sRGB code of 8 bits the code of 2^stops times its light; what passes clipping is 255.

    Raises ValueError for more than 10 stops either way.

    >>> lifted_codes(1.0)[[0, 64, 100, 255]].tolist()
    [0, 90, 138, 255]
    """
    if not (math.isfinite(stops) and abs(stops) <= MOST_STOPS):
        raise ValueError(f"A picture is lifted by at most {MOST_STOPS:.0f} stops either way.")
    light = light_from_srgb(np.arange(256) / 255.0) * 2.0**stops
    return np.array([round(255 * srgb_from_light(min(each, 1.0))) for each in light.tolist()], dtype=np.uint8)


def lifted_jpeg(path: Path, stops: float) -> bytes:
    """A JPEG of ours (a preview or a tile) brought up or down by so many stops."""
    from PIL import Image

    table = lifted_codes(stops).tolist()
    with Image.open(path, formats=("JPEG",)) as image:
        lifted = image.point(table * len(image.getbands()))
    out = io.BytesIO()
    lifted.save(out, "JPEG", quality=_QUALITY)
    return out.getvalue()

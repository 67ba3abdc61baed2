"""The one door to the streaming library, which reads a picture from the top down and holds only a band of it."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from webapp.pictures.kinds import Kind

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from pyvips import Image as VipsImage

Access = Literal["sequential", "random"]
Rows = Callable[[int, int, int, int], "NDArray[Any]"]
"""Codes between two columns and two rows (left, top, right, bottom), height x width x channels; from the top down."""

_LOADERS: Final[dict[Kind, str]] = {
    "jpeg": "jpegload",
    "tiff": "tiffload",
    "png": "pngload",
    "webp": "webpload",
}
# Beyond this a picture that has to be read out of order is laid out on the disk.
_MOST_IN_MEMORY: Final = "100m"
_TYPES: Final = {"uchar": "uint8", "ushort": "uint16", "float": "float32", "double": "float64"}


def library() -> Any:
    """The streaming library, asked to keep nothing between pictures."""
    os.environ.setdefault("VIPS_DISC_THRESHOLD", _MOST_IN_MEMORY)
    import pyvips

    pyvips.cache_set_max(0)
    return pyvips


def opened(path: Path, kind: Kind, access: Access = "sequential") -> VipsImage:
    """A picture as it is stored. Raises the library's own error for what it cannot read."""
    load = getattr(library().Image, _LOADERS[kind])
    return load(str(path), access=access, fail_on="truncated")


def image_of(codes: NDArray[Any]) -> VipsImage:
    """Codes that were decoded otherwise, as the library has them."""
    import numpy as np

    image = library().Image.new_from_array(np.ascontiguousarray(codes))
    return image if image.bands == 3 else image.copy(interpretation="b-w")


def with_profile(image: VipsImage, profile: bytes) -> VipsImage:
    """A picture that says what its codes mean."""
    said = image.copy()
    said.set_type(library().GValue.blob_type, "icc-profile-data", profile)
    return said


def rows_of(image: VipsImage) -> Rows:
    """How the codes of a picture are fetched."""
    import numpy as np

    region = library().Region.new(image)

    def rows(left: int, top: int, right: int, bottom: int) -> NDArray[Any]:
        pixels = region.fetch(left, top, right - left, bottom - top)
        return np.frombuffer(pixels, dtype=_TYPES[image.format]).reshape(bottom - top, right - left, image.bands)

    return rows

"""The one door to Pillow: opened for the expected format only, with the pixels counted before any is decoded."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, Final

from webapp.errors import PartMissing, PictureRefused, StopledgerError, TooLarge
from webapp.facts import Fact, fact
from webapp.pictures.kinds import MOST_PIXELS, Kind
from webapp.pictures.reasons import Reason

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from PIL import Image

_FORMATS: Final[dict[Kind, tuple[str, ...]]] = {
    "jpeg": ("JPEG", "MPO"),
    "tiff": ("TIFF",),
    "png": ("PNG",),
    "webp": ("WEBP",),
    "heic": ("HEIF",),
}
_NAMES: Final[dict[Kind, str]] = {
    "jpeg": "JPEG",
    "tiff": "TIFF",
    "png": "PNG",
    "webp": "WebP",
    "heic": "HEIC",
    "raw": "raw file",
}


def open_picture(source: Path | IO[bytes], kind: Kind) -> Image.Image:
    """Open a rendered picture without decoding it. The caller closes it.

    Raises PictureRefused where the header cannot be read, TooLarge past `MOST_PIXELS`.
    """
    from PIL import Image

    # What Pillow warns of (corrupt metadata, a malformed second picture) is answered here or by the caller.
    warnings.filterwarnings("ignore", category=UserWarning, module=r"PIL\.")
    # Pillow's own limit warns before it refuses, and the warning is a global; the count below takes its place.
    Image.MAX_IMAGE_PIXELS = None
    if kind == "heic":
        _register_heic()
    with refusing(PictureRefused(f"The {_NAMES[kind]} is broken or cut short: its header cannot be read.")):
        image = Image.open(source, formats=_FORMATS[kind])
    try:
        check_pixels(*image.size)
    except PictureRefused:
        image.close()
        raise
    return image


def size_px(path: Path) -> tuple[int, int]:
    """Width and height of a kept JPEG in pixels, from its header. Raises PictureRefused where that cannot be read."""
    with open_picture(path, "jpeg") as image:
        return image.size


def decoded(path: Path, kind: Kind) -> tuple[NDArray[Any], bool, tuple[Fact, ...]]:
    """A whole picture by Pillow, which reads what the streaming library does not (HEIC, Lab, 12 bits): the codes of red,
    green and blue, or of grey; whether its profile was done with; and what has to be said of it.

    Raises as `open_picture` does, and PictureRefused where the pixels cannot be decoded.
    """
    import numpy as np
    from PIL import ImageCms

    with open_picture(path, kind) as image, refusing(broken(kind)):
        image.load()
        if image.mode == "LAB":
            lab, srgb = ImageCms.createProfile("LAB"), ImageCms.createProfile("sRGB")
            converted = ImageCms.profileToProfile(image, lab, srgb, outputMode="RGB")
            return np.asarray(converted), True, (fact(Reason.LAB_CONVERTED),)
        if image.mode.startswith("I;16"):
            bits = image.tag_v2.get(_BITS_PER_SAMPLE, (16,))[0] if hasattr(image, "tag_v2") else 16
            deep = np.asarray(image).astype(np.float64) * (65535 / (2**bits - 1))
            return np.rint(deep).clip(0, 65535).astype(np.uint16), False, ()
        has_alpha = image.mode in ("RGBA", "LA", "PA", "RGBa", "La") or "transparency" in image.info
        notes = (fact(Reason.TRANSPARENCY_LEFT_OUT),) if has_alpha else ()
        plain = image.convert("L" if image.mode in ("1", "L", "LA", "La") else "RGB")
        return np.asarray(plain), False, notes


_BITS_PER_SAMPLE: Final = 258  # the TIFF tag


def check_pixels(width_px: int, height_px: int) -> None:
    """Raises TooLarge past `MOST_PIXELS`, PictureRefused where there is no pixel at all."""
    if width_px < 1 or height_px < 1:
        raise PictureRefused("The picture holds no pixels.")
    if width_px * height_px > MOST_PIXELS:
        most = MOST_PIXELS // 1_000_000
        raise TooLarge(f"The picture is {width_px} x {height_px} pixels; at most {most} megapixels are taken.")


def broken(kind: Kind) -> PictureRefused:
    """The refusal of a file whose pixels cannot be decoded."""
    return PictureRefused(f"The {_NAMES[kind]} is broken or cut short: its pixels cannot be decoded.")


@contextmanager
def refusing(refusal: PictureRefused) -> Iterator[None]:
    """Turn whatever a decoder raises over a broken file into this refusal.

    Decoders raise TypeError, SyntaxError, struct.error and many others besides their own errors.
    """
    try:
        yield
    except StopledgerError:
        raise
    except MemoryError as problem:
        raise TooLarge("Decoding the picture needs more memory than it may have.") from problem
    except Exception as problem:
        if _OUT_OF_MEMORY in str(problem):
            raise TooLarge("Decoding the picture needs more memory than it may have.") from problem
        raise refusal from problem


_OUT_OF_MEMORY: Final = "out of memory"  # as the streaming library says it


def _register_heic() -> None:
    try:
        import pillow_heif
    except ImportError as problem:
        raise PartMissing(
            "This is a HEIC picture, and the part of Stopledger that reads those is not installed. Stop the server, run "
            "pip install 'stopledger[heic]' where it is installed, and start it again; or have the camera write JPEG or "
            "raw."
        ) from problem
    pillow_heif.register_heif_opener()

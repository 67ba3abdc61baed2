"""What a rendered picture says of itself before any pixel is decoded: its size, how it stands, and what its codes mean."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from webapp.errors import PictureRefused
from webapp.pictures.icc import adobe_rgb
from webapp.pictures.kinds import Kind
from webapp.pictures.pillow import check_pixels, open_picture
from webapp.pictures.vips import opened

if TYPE_CHECKING:
    from PIL import Image
    from pyvips import Image as VipsImage

_ORIENTATION, _EXIF, _INTEROPERABILITY, _COLOUR_SPACE = 0x0112, 0x8769, 0xA005, 0xA001
_INTEROPERABILITY_INDEX: Final = 1
_MP_ENTRIES: Final = 0xB002
# DCF 2.0 (CIPA DC-009): R03 is its optional colour space, Adobe RGB. Some cameras write 2 for it in ColorSpace.
_OPTIONAL_SPACE: Final = "R03"
_ADOBE_RGB_SPACE: Final = 2


@dataclass(frozen=True, slots=True)
class Header:
    """`width_px` and `height_px` are as the picture is stored, `orientation` is the Exif number (1 is upright).
    `profile` is the embedded one, or that of the colour space that the Exif data name; None is sRGB. `streams` is
    whether the streaming library reads the file; one that it does not read, Pillow does."""

    width_px: int
    height_px: int
    orientation: int
    profile: bytes | None
    streams: bool


def header_of(path: Path, kind: Kind) -> Header:
    """Read the header of a rendered picture.

    Raises PictureRefused where it is broken, TooLarge past the limit of pixels.
    """
    if kind == "tiff" and (image := _opened_tiff(path)) is not None:
        check_pixels(image.width, image.height)
        orientation = image.get("orientation") if image.get_typeof("orientation") else 1
        embedded = image.get("icc-profile-data") if image.get_typeof("icc-profile-data") else None
        return Header(image.width, image.height, orientation, embedded or _profile_by_exif(path), streams=True)
    with open_picture(path, kind) as by_pillow:
        # Pillow turns a TIFF, and nothing else, as it decodes it.
        orientation = 1 if kind == "tiff" else orientation_of(by_pillow)
        return Header(*by_pillow.size, orientation, profile_of(by_pillow), streams=kind not in ("heic", "tiff"))


def orientation_of(image: Image.Image) -> int:
    """How an opened picture stands, by its Exif data."""
    value = _exif(image).get(_ORIENTATION, 1)
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def profile_of(image: Image.Image) -> bytes | None:
    """The profile of an opened picture: see `Header`."""
    return image.info.get("icc_profile") or (adobe_rgb() if _says_adobe_rgb(_exif(image)) else None)


def end_of_pictures(image: Image.Image) -> int:
    """How many bytes a multi-picture file has by its own index (CIPA DC-007); 0 for any other."""
    begins = image.info.get("mpoffset", 0)
    entries = getattr(image, "mpinfo", {}).get(_MP_ENTRIES, ())
    # The place of the first picture is written as nought.
    return max((begins + each["DataOffset"] + each["Size"] for each in entries if each["DataOffset"]), default=0)


def _opened_tiff(path: Path) -> VipsImage | None:
    """None for what the streaming library cannot open (Lab, 12 bits); Pillow may. It opens what Pillow does not:
    floating-point colours, two channels of 16 bits, planes."""
    with suppress(Exception):
        return opened(path, "tiff")
    return None


def _profile_by_exif(path: Path) -> bytes | None:
    with suppress(PictureRefused), open_picture(path, "tiff") as image:
        return profile_of(image)
    return None


def _exif(image: Image.Image) -> Any:
    # A PNG may carry its metadata after the pixels; all of them would have to be decoded to find out.
    if image.format == "PNG" and "exif" not in image.info:
        return {}
    # The picture can be measured without its metadata, whatever is wrong with them.
    with suppress(Exception):
        return image.getexif()
    return {}


def _says_adobe_rgb(exif: Any) -> bool:
    with suppress(Exception):
        space = exif.get_ifd(_EXIF).get(_COLOUR_SPACE)
        index = str(exif.get_ifd(_INTEROPERABILITY).get(_INTEROPERABILITY_INDEX, ""))
        return space == _ADOBE_RGB_SPACE or index.startswith(_OPTIONAL_SPACE)
    return False

"""A small upright picture for the page: sRGB, JPEG, and nothing in it but pixels."""

from __future__ import annotations

import io
import re
from contextlib import suppress
from pathlib import Path
from typing import IO, TYPE_CHECKING, Final, cast

from webapp.errors import PictureRefused
from webapp.pictures.header import orientation_of, profile_of
from webapp.pictures.icc import opened_profile
from webapp.pictures.kinds import Kind, kind_of
from webapp.pictures.pillow import broken, open_picture, refusing
from webapp.pictures.stored import view_of

if TYPE_CHECKING:
    from PIL import Image

    from webapp.pictures.decode import RawPicture

SMALLEST_PX: Final = 16
LARGEST_PX: Final = 4096
_QUALITY: Final = 85
# ITU-T T.81, table B.1: frames of the baseline, extended and progressive kinds, and what they are decoded by.
_SCAN: Final = b"\xda"
_TABLES: Final = (b"\xc0", b"\xc1", b"\xc2", b"\xc4", b"\xdb", b"\xdd", _SCAN)
_JFIF_BYTES: Final = 16
# In a scan a byte of 255 is followed by a nought, or begins a restart.
_MARKER: Final = re.compile(rb"\xff[^\x00\xd0-\xd7]")


def make_preview(path: Path, longest_px: int) -> bytes:
    """A JPEG of the whole picture, upright, its longer side at most `longest_px`; never larger than the picture.

    Raises PictureRefused where the file is broken, TooLarge past the limit of pixels, and ValueError for a length
    outside 16 to 4096 pixels.
    """
    check_length(longest_px)
    kind = kind_of(path)
    if kind == "raw":
        from webapp.pictures.decode import raw_picture

        with raw_picture(path) as raw:
            return preview_of_raw(raw, longest_px)
    return _preview_of_jpeg(path, longest_px) if kind == "jpeg" else _preview_of_stream(path, kind, longest_px)


def _preview_of_jpeg(source: Path | IO[bytes], longest_px: int) -> bytes:
    """A JPEG is decoded at the smallest of its sizes that is large enough."""
    with open_picture(source, "jpeg") as image, refusing(broken("jpeg")):
        orientation, profile = orientation_of(image), profile_of(image)
        reduce_by = max(1, min(8, max(image.size) // longest_px))
        image.draft(None, (max(1, image.width // reduce_by), max(1, image.height // reduce_by)))
        small = _shrunk(image, longest_px)
    return _jpeg(_in_srgb(small, profile), orientation)


def _in_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    from PIL import ImageCms

    if profile is None:
        return image
    # A profile that is broken, or for other channels than these, is left out.
    with suppress(ImageCms.PyCMSError, OSError, ValueError, TypeError):
        srgb = ImageCms.createProfile("sRGB")
        intent = ImageCms.Intent.RELATIVE_COLORIMETRIC
        converted = ImageCms.profileToProfile(image, opened_profile(profile), srgb, intent, outputMode="RGB")
        return cast("Image.Image", converted)
    return image


def _preview_of_stream(path: Path, kind: Kind, longest_px: int) -> bytes:
    from PIL import Image

    with view_of(path, kind) as view, refusing(broken(kind)):
        scale = min(1.0, longest_px / max(view.width, view.height))
        small = view.resize(scale) if scale < 1 else view
        codes = small.numpy()
    return _jpeg(Image.fromarray(codes), orientation=1)


def bare_jpeg(content: bytes, longest_px: int) -> bytes:
    """A JPEG with nothing in it but pixels: as it came where it is that, and else made anew from these, upright, in
    sRGB and no longer than `longest_px`.

    Raises PictureRefused where it is broken or no JPEG, TooLarge past the limit of pixels.
    """
    with open_picture(io.BytesIO(content), "jpeg") as image:
        if is_bare(content) and max(image.size) <= longest_px:
            with refusing(broken("jpeg")):
                image.load()
            return content
    return _preview_of_jpeg(io.BytesIO(content), longest_px)


def is_bare(content: bytes) -> bool:
    """Whether a JPEG is its tables and its pixels alone: no metadata, profile, comment or small picture, and nothing
    after its end."""
    if content[:2] != b"\xff\xd8":
        return False
    at = 2
    while content[at : at + 1] == b"\xff":
        kind, length = content[at + 1 : at + 2], int.from_bytes(content[at + 2 : at + 4], "big")
        if kind == b"\xd9":
            return at + 2 == len(content)
        is_plain_head = kind == b"\xe0" and length == _JFIF_BYTES and content[at + 4 : at + 9] == b"JFIF\0"
        if kind not in _TABLES and not is_plain_head:
            return False
        at += 2 + length
        if kind == _SCAN:
            found = _MARKER.search(content, at)
            at = found.start() if found else len(content)
    return False


def check_length(longest_px: int) -> None:
    """Raises ValueError for a length that no preview has."""
    if not SMALLEST_PX <= longest_px <= LARGEST_PX:
        raise ValueError(f"A preview is {SMALLEST_PX} to {LARGEST_PX} pixels on its longer side, not {longest_px}.")


def preview_of_raw(raw: RawPicture, longest_px: int) -> bytes:
    """The preview of a raw file: the picture that the camera put into it where it is large enough, else its own."""
    from PIL import Image

    from webapp.pictures.decode import developed

    embedded = _embedded_picture(raw, longest_px)
    if embedded is not None:
        return embedded
    pixels = developed(raw, bits=8)
    return _jpeg(_shrunk(Image.fromarray(pixels.squeeze()), longest_px), orientation=1)


def _embedded_picture(raw: RawPicture, longest_px: int) -> bytes | None:
    import rawpy

    try:
        thumbnail = raw.decoder.extract_thumb()
    except (rawpy.LibRawError, rawpy.NotSupportedError):
        return None
    if thumbnail.format is not rawpy.ThumbFormat.JPEG:
        return None
    try:
        with open_picture(io.BytesIO(thumbnail.data), "jpeg") as image, refusing(broken("raw")):
            if max(image.size) < longest_px:
                return None
            orientation = image.getexif().get(0x0112, raw.orientation)
            image.draft("RGB", (longest_px, longest_px))
            return _jpeg(_shrunk(image, longest_px), orientation)
    except PictureRefused:
        return None


def _shrunk(image: Image.Image, longest_px: int) -> Image.Image:
    from PIL import Image as PilImage

    if max(image.size) <= longest_px:
        return image.copy()
    scale = longest_px / max(image.size)
    size = (max(1, round(image.width * scale)), max(1, round(image.height * scale)))
    return image.resize(size, PilImage.Resampling.BILINEAR, reducing_gap=1.01)


def _jpeg(image: Image.Image, orientation: int) -> bytes:
    from PIL import Image as PilImage

    turns = {
        2: PilImage.Transpose.FLIP_LEFT_RIGHT,
        3: PilImage.Transpose.ROTATE_180,
        4: PilImage.Transpose.FLIP_TOP_BOTTOM,
        5: PilImage.Transpose.TRANSPOSE,
        6: PilImage.Transpose.ROTATE_270,
        7: PilImage.Transpose.TRANSVERSE,
        8: PilImage.Transpose.ROTATE_90,
    }
    upright = image.transpose(turns[orientation]) if orientation in turns else image
    if upright.mode not in ("RGB", "L"):
        upright = upright.convert("RGB")
    # Comments, profiles and metadata ride along in `info`; none of it may leave with a preview.
    upright.info.clear()
    out = io.BytesIO()
    upright.save(out, "JPEG", quality=_QUALITY)
    return out.getvalue()

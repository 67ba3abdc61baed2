"""Pixels, from the file to linear light.

A rendered file (JPEG, TIFF, PNG, WebP, HEIC) holds codes that the sRGB curve of IEC 61966-2-1 or an embedded
profile turns into light; what the camera's own tone curve did before cannot be undone, so light read from such
a file is an estimate. A raw file holds counts that are light already, once the black level is taken off and the
white level divided by; no tone curve is ever put on them.

Light is a share of saturation: 0 is black, 1 is where the file clips.

Source: iec-61966-2-1 for the curve; the rest is common practice.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, Final, cast

from webapp.errors import PictureRefused
from webapp.facts import Fact, fact
from webapp.optics.arrays import Floats, np
from webapp.pictures.kinds import Kind, kind_of
from webapp.pictures.metadata import ORIENTATION_OF_FLIP, turned
from webapp.pictures.pillow import broken, check_pixels, open_picture, refusing
from webapp.pictures.reasons import Reason

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from PIL import Image, ImageCms

Light = Floats

MOST_DECODED_PIXELS: Final = 16_000_000
"""A JPEG of more pixels is decoded at a half, a quarter or an eighth of its size, whichever first fits in here.

The mean of a patch moves by a few thousandths of a stop through that; time and memory fall by the square.
"""


def light_from_srgb(code: Light) -> Light:
    """Linear light from an sRGB value between 0 and 1.

    V / 12.92 up to 0.04045, ((V + 0.055) / 1.055)^2.4 above it, with V the value (source: iec-61966-2-1).

    >>> round(float(light_from_srgb(np.array(128 / 255))), 6)
    0.215861
    """
    light: Light = np.where(code <= 0.04045, code / 12.92, ((np.maximum(code, 0.04045) + 0.055) / 1.055) ** 2.4)
    return light


def srgb_from_light(light: float) -> float:
    """The sRGB value between 0 and 1 of linear light; the inverse of `light_from_srgb` (source: iec-61966-2-1).

    12.92 L up to 0.0031308, 1.055 L^(1/2.4) - 0.055 above it, with L the light.

    >>> round(srgb_from_light(0.18) * 255, 3)
    117.646
    """
    return 12.92 * light if light <= 0.0031308 else 1.055 * math.pow(light, 1 / 2.4) - 0.055


@lru_cache
def _light_of_8_bits() -> Light:
    return light_from_srgb(np.arange(256) / 255.0)


@lru_cache
def _light_of_upper_8_of_16_bits() -> Light:
    """The mean light of the 256 codes of 16 bits that share their upper 8."""
    light: Light = light_from_srgb(np.arange(65536) / 65535.0).reshape(256, 256).mean(axis=1)
    return light


def check_whole(path: Path) -> None:
    """Decode a picture file to its end, a JPEG at an eighth of its size.

    Raises PictureRefused where that cannot be done, TooLarge past the limit of pixels.
    """
    kind = kind_of(path)
    if kind == "raw":
        with raw_picture(path):
            return
    with rendered_picture(path, kind, reduce_jpeg_by=8):
        return


# --- rendered files -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class RenderedPicture:
    """The codes of a rendered picture as they are stored (not yet upright), and what they mean.

    `image` has mode RGB or L with 8 bits, or I;16 with `white_code` for white. `upper_bits_only` says that the
    file has 16 bits of each colour, of which the upper 8 were kept. `profile` is an embedded profile that is
    not sRGB.
    """

    image: Image.Image
    orientation: int
    reduced_by: int
    white_code: int
    upper_bits_only: bool
    profile: ImageCms.ImageCmsProfile | None
    notes: tuple[Fact, ...]

    @property
    def light_of_codes(self) -> Light:
        """The light of each code of an 8-bit picture without a profile of its own."""
        return _light_of_upper_8_of_16_bits() if self.upper_bits_only else _light_of_8_bits()

    @property
    def code_steps(self) -> int:
        """How many steps of code the file really has between black and white."""
        return 65535 if self.upper_bits_only else self.white_code


@contextmanager
def rendered_picture(source: Path | IO[bytes], kind: Kind, *, reduce_jpeg_by: int = 1) -> Iterator[RenderedPicture]:
    """Decode a rendered picture; a JPEG at 1/2, 1/4 or 1/8 of its size where that is asked for.

    Raises PictureRefused where the file is broken, TooLarge past the limit of pixels.
    """
    with open_picture(source, kind) as image:
        with refusing(broken(kind)):
            picture = _decoded(image, kind, reduce_jpeg_by)
        yield picture


def _decoded(image: Image.Image, kind: Kind, reduce_jpeg_by: int) -> RenderedPicture:
    orientation = _orientation(image)
    stored_width_px = image.width
    if kind == "jpeg" and reduce_jpeg_by > 1:
        image.draft(None, (max(1, image.width // reduce_jpeg_by), max(1, image.height // reduce_jpeg_by)))
    sixteen_bits = any(";16" in str(tile[3]) for tile in getattr(image, "tile", ()))
    tag_bits = image.tag_v2.get(_BITS_PER_SAMPLE, (16,)) if hasattr(image, "tag_v2") else (16,)
    image.load()
    notes: list[Fact] = []
    codes, profile = _with_profile(image, _plain(image, notes), notes)
    upper_bits_only = sixteen_bits and codes.mode == "RGB"
    if upper_bits_only:
        notes.append(fact(Reason.UPPER_BITS_READ))
    return RenderedPicture(
        image=codes,
        orientation=orientation,
        reduced_by=round(stored_width_px / image.width),
        white_code=2 ** int(tag_bits[0]) - 1 if codes.mode.startswith("I;16") else 255,
        upper_bits_only=upper_bits_only,
        profile=profile,
        notes=tuple(notes),
    )


_BITS_PER_SAMPLE = 258  # the TIFF tag


def reduction_for(width_px: int, height_px: int) -> int:
    """By how much a JPEG is reduced in decoding so that it fits in `MOST_DECODED_PIXELS`."""
    for reduce_by in (1, 2, 4):
        if width_px * height_px <= MOST_DECODED_PIXELS * reduce_by**2:
            return reduce_by
    return 8


def _orientation(image: Image.Image) -> int:
    if image.format == "PNG" and "exif" not in image.info:
        return 1
    try:
        value = image.getexif().get(0x0112, 1)
    # The picture can be measured without its metadata, whatever is wrong with them.
    except Exception:
        return 1
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def _plain(image: Image.Image, notes: list[Fact]) -> Image.Image:
    """The picture with nothing but its codes: mode RGB, L or I;16."""
    mode = image.mode
    if mode in ("RGB", "L") or mode.startswith("I;16"):
        return image
    if mode in ("I", "F"):
        raise PictureRefused(
            "A picture of 32-bit numbers says nowhere which of them is white; save it with 8 or 16 bits."
        )
    if mode == "LAB":
        from PIL import ImageCms

        notes.append(fact(Reason.LAB_CONVERTED))
        lab, srgb = ImageCms.createProfile("LAB"), ImageCms.createProfile("sRGB")
        return cast("Image.Image", ImageCms.profileToProfile(image, lab, srgb, outputMode="RGB"))
    if mode == "CMYK" and image.info.get("icc_profile"):
        return image
    if mode == "CMYK":
        notes.append(fact(Reason.PRINTING_COLOURS))
    if mode in ("RGBA", "LA", "PA", "RGBa", "La") or "transparency" in image.info:
        notes.append(fact(Reason.TRANSPARENCY_LEFT_OUT))
    return image.convert("L" if mode in ("1", "LA", "La") else "RGB")


_SAME_COLOUR_CODES: Final = 2


def _with_profile(
    image: Image.Image, codes: Image.Image, notes: list[Fact]
) -> tuple[Image.Image, ImageCms.ImageCmsProfile | None]:
    """The picture with its embedded profile, where there is one that gives other colours than sRGB would."""
    import io

    from PIL import ImageCms

    embedded = image.info.get("icc_profile")
    if not embedded:
        return codes, None
    if codes.mode.startswith("I;16"):
        notes.append(fact(Reason.GREY_PROFILE_UNUSED))
        return codes, None
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(embedded))
        is_srgb = _is_srgb(profile, codes.mode)
    # Broken profiles come out of the colour library as its own error, OSError, TypeError or ValueError.
    except Exception:
        if codes.mode == "CMYK":
            notes.append(fact(Reason.PRINTING_COLOURS))
            return codes.convert("RGB"), None
        notes.append(fact(Reason.PROFILE_BROKEN))
        return codes, None
    if is_srgb:
        return codes, None
    description = " ".join(ImageCms.getProfileDescription(profile).split())[:80]
    notes.append(fact(Reason.PROFILE_CONVERTED, profile=description))
    return codes, profile


def _is_srgb(profile: ImageCms.ImageCmsProfile, mode: str) -> bool:
    """Whether greys and three colours stay what they are under this profile."""
    from PIL import Image as PilImage

    bands = {"L": 1, "RGB": 3, "CMYK": 4}[mode]
    codes = np.arange(256, dtype=np.uint8)[np.newaxis, :, np.newaxis].repeat(bands, axis=2)
    if mode == "RGB":
        codes[0, :3] = [(160, 96, 96), (96, 160, 96), (96, 96, 160)]
    wedge = PilImage.fromarray(codes.squeeze(axis=2) if bands == 1 else codes, mode if mode == "CMYK" else None)
    converted = np.asarray(to_srgb(wedge, profile), dtype=np.int16)
    return mode != "CMYK" and bool(np.abs(converted - codes).max() <= _SAME_COLOUR_CODES)


def to_srgb(image: Image.Image, profile: ImageCms.ImageCmsProfile) -> Image.Image:
    """The picture in sRGB, by its own profile (relative colorimetric, 8 bits)."""
    from PIL import ImageCms

    transform = ImageCms.buildTransform(
        profile,
        ImageCms.createProfile("sRGB"),
        image.mode,
        "RGB",
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
    )
    return cast("Image.Image", ImageCms.applyTransform(image, transform))


# --- raw files ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class RawPicture:
    """The counts of a raw file as they are stored (not yet upright), and what they mean.

    `counts` is height x width (one colour a place, told by `pattern`, which repeats) or height x width x colours.
    `channel_names` and `black` go by the colour index that `pattern` holds.
    """

    counts: NDArray[np.uint16]
    pattern: NDArray[np.uint8] | None
    channel_names: tuple[str, ...]
    black: tuple[float, ...]
    white: float
    orientation: int
    decoder: Any = field(repr=False)


_CHANNEL_OF_LETTER: Final = {"R": "red", "G": "green", "B": "blue"}


@contextmanager
def raw_picture(path: Path) -> Iterator[RawPicture]:
    """Open a raw file and unpack its counts.

    Raises PictureRefused where it cannot be decoded, TooLarge past the limit of pixels.
    """
    import rawpy

    with refusing(broken("raw")):
        decoder = rawpy.imread(str(path))
    with decoder:
        with refusing(broken("raw")):
            picture = _unpacked(decoder)
        yield picture


def _unpacked(decoder: Any) -> RawPicture:
    sizes = decoder.sizes
    check_pixels(sizes.raw_width, sizes.raw_height)
    pattern = decoder.raw_pattern
    if pattern is not None:
        pattern = np.roll(pattern, (-sizes.top_margin, -sizes.left_margin), axis=(0, 1))
    letters = decoder.color_desc.decode("ascii", "replace")
    names = tuple(_CHANNEL_OF_LETTER.get(letter, letter) for letter in letters)
    if decoder.num_colors == 1:
        names = ("grey",)
    elif pattern is None:
        names = names[: decoder.num_colors]
    return RawPicture(
        counts=decoder.raw_image_visible,
        pattern=pattern,
        channel_names=names,
        black=tuple(float(level) for level in decoder.black_level_per_channel),
        white=float(decoder.white_level),
        orientation=ORIENTATION_OF_FLIP.get(sizes.flip, 1),
        decoder=decoder,
    )


def developed(raw: RawPicture, *, bits: int) -> NDArray[Any]:
    """A raw file at half size in sRGB colours, upright, with the white balance of the camera.

    With 16 bits the values are linear light, with 8 the sRGB codes for it. Nothing is brightened or stretched, so
    that two frames keep the difference they were exposed with.
    """
    import rawpy

    curve = (1.0, 1.0) if bits == 16 else (2.4, 12.92)
    with refusing(broken("raw")):
        result: NDArray[Any] = raw.decoder.postprocess(
            half_size=True,
            use_camera_wb=True,
            no_auto_bright=True,
            adjust_maximum_thr=0.0,
            gamma=curve,
            output_bps=bits,
            output_color=rawpy.ColorSpace.sRGB,
        )
    return result


# --- the whole picture, small -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LinearPicture:
    """A whole picture at reduced size, upright, in linear light: height x width x (red, green, blue).

    1 is where the file clips. Such pictures of one set add up as the lights in them do.
    """

    rgb: NDArray[np.float32]
    kind: Kind
    estimated: bool
    clipped_share: float
    notes: tuple[Fact, ...]


def linear_picture(path: Path, longest_px: int = 1024) -> LinearPicture:
    """Decode a whole picture to linear light, averaged in linear light down to `longest_px` on its longer side.

    Raises PictureRefused where the file is broken, TooLarge past the limit of pixels, ValueError for a length
    below 1.
    """
    if longest_px < 1:
        raise ValueError(f"{longest_px} is no length of a picture: it has at least 1 pixel.")
    kind = kind_of(path)
    if kind == "raw":
        with raw_picture(path) as raw:
            counts = developed(raw, bits=16)
        codes = counts.reshape(*counts.shape[:2], -1)
        light = _shrunk(codes, np.arange(65536) / 65535.0, longest_px)
        clipped = float((codes >= _CLIPPED_ABOVE * 65535).any(axis=2).mean())
        return LinearPicture(_three(light), kind, estimated=False, clipped_share=clipped, notes=())
    with open_picture(path, kind) as image:
        longest_stored_px = max(image.size)
    # The decoder's own reduction averages codes, not light: it is left twice the size that is asked for.
    reduce_by = max(1, min(8, longest_stored_px // (2 * longest_px)))
    with rendered_picture(path, kind, reduce_jpeg_by=reduce_by) as picture, refusing(broken(kind)):
        codes = np.asarray(picture.image)
        codes = codes.reshape(*codes.shape[:2], -1)
        clipped = float((codes >= _CLIPPED_ABOVE * picture.white_code).any(axis=2).mean())
        if picture.profile is not None:
            codes = np.asarray(to_srgb(picture.image, picture.profile))
            table = _light_of_8_bits()
        elif picture.white_code == 255:
            table = picture.light_of_codes
        else:
            table = light_from_srgb(np.minimum(np.arange(65536) / picture.white_code, 1.0))
        light = _shrunk(codes, table, longest_px)
        return LinearPicture(
            np.ascontiguousarray(upright(_three(light), picture.orientation)),
            kind,
            estimated=True,
            clipped_share=clipped,
            notes=picture.notes,
        )


# The end of the scale with a code of 8 bits to spare, by which a JPEG's own rounding moves a blown highlight.
_CLIPPED_ABOVE: Final = 253.5 / 255.0


def _shrunk(codes: NDArray[Any], light_of_codes: Light, longest_px: int) -> NDArray[np.float32]:
    from PIL import Image

    height, width = codes.shape[:2]
    scale = min(1.0, longest_px / max(height, width))
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    table = light_of_codes.astype(np.float32)
    planes = [
        Image.fromarray(table[codes[:, :, band]]).resize(size, Image.Resampling.BOX) for band in range(codes.shape[2])
    ]
    return np.stack([np.asarray(plane) for plane in planes], axis=2)


def _three(light: NDArray[np.float32]) -> NDArray[np.float32]:
    return light if light.shape[2] == 3 else np.repeat(light[:, :, :1], 3, axis=2)


def upright(stored: NDArray[Any], orientation: int) -> NDArray[Any]:
    """Turn and mirror a picture as its Exif orientation says."""
    upright = stored.transpose(1, 0, 2) if turned(orientation) else stored
    if orientation in (2, 3, 6, 7):
        upright = upright[:, ::-1]
    if orientation in (3, 4, 7, 8):
        upright = upright[::-1]
    return upright

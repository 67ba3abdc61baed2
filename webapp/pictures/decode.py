"""Whole pictures in linear light, and the counts of raw files.

A rendered file (JPEG, TIFF, PNG, WebP, HEIC) holds codes that `colours` turns into light; what the camera's own tone
curve did before cannot be undone, so light read from such a file is an estimate. A raw file holds counts that are light
already, once the black level is taken off and the white level divided by; no tone curve is ever put on them.

Light is a share of saturation: 0 is black, 1 is where the file clips.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import reduce
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from webapp.facts import Fact
from webapp.optics.arrays import np
from webapp.pictures.colours import clipped_codes
from webapp.pictures.header import end_of_pictures
from webapp.pictures.kinds import Kind, kind_of
from webapp.pictures.metadata import ORIENTATION_OF_FLIP, turned
from webapp.pictures.pillow import broken, check_pixels, open_picture, refusing
from webapp.pictures.stored import StoredPicture, stored_picture

if TYPE_CHECKING:
    from numpy.typing import NDArray


def check_whole(path: Path) -> bool:
    """Decode a picture file to its end, a JPEG at an eighth of its size. False where a multi-picture file says that it
    holds pictures behind its end: they may still come, or were cut off by a program that did not know of them.

    Raises PictureRefused where that cannot be done, TooLarge past the limit of pixels.
    """
    kind = kind_of(path)
    if kind == "raw":
        with raw_picture(path):
            return True
    if kind == "jpeg":
        with open_picture(path, kind) as image, refusing(broken(kind)):
            image.draft(None, (max(1, image.width // 8), max(1, image.height // 8)))
            image.load()
            return path.stat().st_size >= end_of_pictures(image)
    with stored_picture(path, kind) as picture:
        for top in range(0, picture.height_px, STRIP_PX):
            picture.rows(0, top, 1, min(top + STRIP_PX, picture.height_px))
    return True


STRIP_PX: Final = 64
"""How many rows of a picture are at hand at a time."""


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
        light = codes.astype(np.float32) / np.float32(65535)
        clipped = float((codes >= clipped_codes(65535)[0]).any(axis=2).mean())
        small = _resized(light, _fitting(codes.shape[1], codes.shape[0], longest_px))
        return LinearPicture(_three(small), kind, estimated=False, clipped_share=clipped, notes=())
    with stored_picture(path, kind) as picture:
        light, clipped = _averaged(picture, longest_px)
        return LinearPicture(
            np.ascontiguousarray(upright(_three(light), picture.orientation)),
            kind,
            estimated=True,
            clipped_share=clipped,
            notes=picture.notes,
        )


def _averaged(picture: StoredPicture, longest_px: int) -> tuple[NDArray[np.float32], float]:
    """A picture averaged in linear light, never in codes, and the share of its pixels of which a channel is clipped."""
    width, height, colours = picture.width_px, picture.height_px, picture.colours
    channels = len(colours.curves)
    blown, _ = clipped_codes(picture.clipping_white)
    # Averaged over whole pixels first, to twice the size that is wanted, band by band.
    by = max(1, max(width, height) // (2 * longest_px))
    step = by * max(1, STRIP_PX // by)
    bands: list[NDArray[np.float32]] = []
    clipped = 0
    for top in range(0, height, step):
        codes = picture.rows(0, top, width, min(top + step, height))
        highest = reduce(np.maximum, (codes[:, :, -channel] for channel in range(1, channels + 1)))
        clipped += int(np.count_nonzero(highest >= blown))
        bands.append(_boxed(colours.own_light(codes[:, :, :channels], np.float32), by))
    light = colours.in_linear_srgb(np.concatenate(bands)).astype(np.float32, copy=False)
    return _resized(light, _fitting(width, height, longest_px)), clipped / (width * height)


def _boxed(light: NDArray[np.float32], by: int) -> NDArray[np.float32]:
    """Means over squares of so many pixels a side; what is left over at an edge is mirrored to fill its square."""
    if by == 1:
        return light
    height, width = light.shape[:2]
    if height % by or width % by:
        light = np.pad(light, ((0, -height % by), (0, -width % by), (0, 0)), mode="symmetric")
    rows: NDArray[np.float32] = reduce(np.add, (light[number::by] for number in range(by)))
    boxes: NDArray[np.float32] = reduce(np.add, (rows[:, number::by] for number in range(by)))
    return boxes / np.float32(by * by)


def _fitting(width: int, height: int, longest_px: int) -> tuple[int, int]:
    scale = min(1.0, longest_px / max(height, width))
    return max(1, round(width * scale)), max(1, round(height * scale))


def _resized(light: NDArray[np.float32], size: tuple[int, int]) -> NDArray[np.float32]:
    from PIL import Image

    planes = [
        Image.fromarray(np.ascontiguousarray(light[:, :, band])).resize(size, Image.Resampling.BOX)
        for band in range(light.shape[2])
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
